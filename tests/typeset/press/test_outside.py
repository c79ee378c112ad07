"""Press files of a small book, A5 and 6 x 9 in, with and without marks, before tools that know nothing of us."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pikepdf
import pypdfium2
import pytest

from cagework.layouts.load import shelf_layout
from cagework.typeset.build import build
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.report import preflight

MM = 72 / 25.4
SIZES = {"a5-one-up": (148.0, 210.0), "6x9-one-up": (152.4, 228.6)}
"""ISO 216; 25.4 mm to the inch."""
BLEED = 3.0
CLEAR = 3.175
"""Marks keep 1/8 in from the trim (designforprint.co.za printer's marks)."""


@dataclass(frozen=True)
class Pressed:
    """A press file on disk, and what it was asked to be."""

    path: Path
    trim: tuple[float, float]
    marks: bool


@pytest.fixture(scope="module", params=[(name, marks) for name in SIZES for marks in (False, True)],
                ids=lambda one: f"{one[0]}-{'marks' if one[1] else 'plain'}")
def pressed(request: Any, built: Any, tmp_path_factory: pytest.TempPathFactory) -> Pressed:
    """Two sections of one puzzle each, built by the command's own stages."""
    layout, marks = request.param
    folder = tmp_path_factory.mktemp("press")
    press = replace(built.book.press, marks=marks, slug=marks)
    first, second = built.book.sections[:2]
    sections = (replace(first, entries=first.entries[:1]), replace(second, entries=first.entries[1:2]))
    book = replace(built.book, layout=shelf_layout(layout), press=press, sections=sections)
    build(book, built.reading, folder, None, press=True)
    return Pressed(folder / "book-press.pdf", SIZES[layout], marks)


def test_qpdf_finds_no_error(pressed: Pressed) -> None:
    """pikepdf carries qpdf; `check_pdf_syntax` is what `qpdf --check` runs."""
    with pikepdf.open(pressed.path) as pdf:
        assert pdf.check_pdf_syntax() == []
        assert len(pdf.pages) % 4 == 0


def test_every_rule_is_silent(pressed: Pressed) -> None:
    report = preflight(pressed.path.read_bytes(), Profile(trim_mm=pressed.trim, multiple=4))
    assert report.findings == ()


def test_poppler_names_the_standard_and_the_boxes(pressed: Pressed, tool: Callable[..., Any]) -> None:
    said = tool("pdfinfo", "-box", "-f", "1", "-l", "999", pressed.path).stdout
    assert "PDF/X-1a:2003" in said
    assert "ISO 15930-4" in said
    assert re.search(r"PDF version:\s+1\.4\b", said)
    boxes = {kind: {tuple(float(edge) / MM for edge in edges.split())
                    for edges in re.findall(rf"^Page +\d+ {kind}Box: +(.+)$", said, re.MULTILINE)}
             for kind in ("Media", "Bleed", "Trim")}
    ((left, low, right, top),) = boxes["Trim"]
    assert (right - left, top - low) == pytest.approx(pressed.trim, abs=0.01)
    ((*bleed,),) = boxes["Bleed"]
    assert bleed == pytest.approx([left - BLEED, low - BLEED, right + BLEED, top + BLEED], abs=0.01)
    ((*media,),) = boxes["Media"]
    assert media[:2] == [0, 0]
    assert left == pytest.approx(media[2] - right, abs=0.01)
    assert left == pytest.approx(BLEED, abs=0.01) if not pressed.marks else left > CLEAR + 5


def test_poppler_finds_every_font_embedded_and_subset(pressed: Pressed, tool: Callable[..., Any]) -> None:
    rows = tool("pdffonts", pressed.path).stdout.splitlines()[2:]
    assert rows
    for row in rows:
        assert re.search(r"TrueType\s+\S+\s+yes\s+yes\s+yes", row), row


def test_ghostscript_opens_every_page_and_finds_ink_on_black_alone(
    pressed: Pressed, tool: Callable[..., Any],
) -> None:
    done = tool("gs", "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=inkcov", "-r36", "-o", "-", pressed.path)
    assert done.returncode == 0
    assert done.stderr == ""
    rows = re.findall(r"^\s*([\d.]+)\s+([\d.]+)\s+([\d.]+)\s+([\d.]+) CMYK OK$", done.stdout, re.MULTILINE)
    assert len(rows) == len(done.stdout.strip().splitlines()), "not a word beside"
    with pikepdf.open(pressed.path) as pdf:
        assert len(rows) == len(pdf.pages)
    assert {(float(c), float(m), float(y)) for c, m, y, _ in rows} == {(0.0, 0.0, 0.0)}
    assert any(float(k) > 0 for *_, k in rows)


def test_tabs_run_to_the_edge_of_the_bleed_and_marks_keep_clear_of_it(pressed: Pressed) -> None:
    """Rendered by pdfium, some 150 pixels to the inch: what is inked in the bleed, beyond it, and where."""
    scale = 6 / MM
    tabbed = 0
    for number, page in enumerate(pypdfium2.PdfDocument(pressed.path), 1):
        dark = page.render(scale=scale, grayscale=True).to_numpy() < 250
        pixels = dark.shape[1] / (page.get_width() / MM)
        room = (page.get_width() / MM - pressed.trim[0]) / 2
        at = [round((room + off) * pixels) for off in (-BLEED, 0.0)]
        fore = dark[:, ::-1] if number % 2 else dark
        bleed = fore[at[0] + 1:-at[0] - 1, at[0] + 1:at[1] - 1]
        tall = bleed.any(axis=1).sum() / pixels
        if tall:
            tabbed += 1
            assert bleed.any(axis=1).sum() == bleed.all(axis=1).sum(), "from the trim to the edge of the bleed"
            assert 10 < tall < 30
        inside = slice(at[0] + 1, -at[0] - 1)
        for side in (fore[inside, -at[1] + 1:-at[0] - 1], dark[at[0] + 1:at[1] - 1, inside],
                     dark[-at[1] + 1:-at[0] - 1, inside]):
            assert not side.any(), "nothing else bleeds"
        beyond = dark.copy()
        beyond[at[0]:-at[0] or None, at[0]:-at[0] or None] = False
        assert beyond.any() == pressed.marks
    assert tabbed > 5
