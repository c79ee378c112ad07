"""The finished book read back with pypdf and pikepdf: boxes, fonts, ink, sums, answers, numbers and links."""

from __future__ import annotations

import io
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import pikepdf
import pypdfium2
import pytest
from pypdf import PageObject, PdfReader

from cagework.typeset.entry import Entry, Solutions

MM = 72 / 25.4


@dataclass(frozen=True)
class Run:
    """A piece of text as pypdf finds it: where its baseline starts (pt, y up), its font and size."""

    text: str
    x: float
    y: float
    font: str
    size: float


def runs(page: PageObject) -> tuple[Run, ...]:
    """What stands on a page; read once, as it takes long."""
    assert page.indirect_reference is not None
    reader = page.indirect_reference.pdf
    return _runs(reader, reader.get_page_number(page))


@lru_cache(maxsize=1024)
def _runs(reader: PdfReader, number: int) -> tuple[Run, ...]:
    found: list[Run] = []

    def visit(text: str, _cm: list[float], tm: list[float], font: Any, size: float) -> None:
        if text.strip():
            found.append(Run(text.strip(), tm[4], tm[5], font["/BaseFont"] if font else "", size))

    reader.pages[number].extract_text(visitor_text=visit)
    return tuple(found)


@pytest.fixture(scope="module")
def reader(built: Any) -> PdfReader:
    return PdfReader(io.BytesIO(built.pdf.read_bytes()))


def links(page: PageObject) -> Iterator[tuple[tuple[float, ...], Any, float]]:
    """Yield (rectangle, page object led to, y led to) for each link."""
    for item in page.get("/Annots", []):
        link = item.get_object()
        assert link["/Subtype"] == "/Link"
        target, kind, _, y, _ = link["/Dest"]
        assert kind == "/XYZ"
        yield tuple(map(float, link["/Rect"])), target.get_object(), float(y)


def number_of(reader: PdfReader, page: Any) -> int:
    return next(n for n, one in enumerate(reader.pages, 1) if one.indirect_reference == page.indirect_reference)


def puzzle_page(reader: PdfReader, entry: Entry) -> tuple[int, PageObject]:
    """Find the page by its title, set large and alone, past the front matter."""
    for number, page in enumerate(reader.pages, 1):
        if any(run.text == entry.title and run.size > 12 for run in runs(page)) and number > 5:
            return number, page
    raise AssertionError(f"no page for {entry.title}")


def place_of(page: PageObject, title: str) -> tuple[float, float]:
    """How high a puzzle's place on its page reaches: the baseline of its title, and that of the next one below."""
    found = [run for run in runs(page) if run.size > 12 and not run.text.isdigit()]
    high = next(run.y for run in found if run.text == title)
    return high, max((run.y for run in found if run.y < high), default=0.0)


def test_every_page_has_the_boxes_of_a5(reader: PdfReader) -> None:
    """ISO 216: A5 is 148 x 210 mm. Trim, bleed and media are alike: no marks and no bleed in this file."""
    for page in reader.pages:
        for box in (page.mediabox, page.trimbox, page.bleedbox):
            assert [float(edge) / MM for edge in box] == pytest.approx([0, 0, 148, 210], abs=0.01)


def test_every_font_is_embedded_and_subset_and_none_is_a_standard_one(built: Any) -> None:
    names = set()
    with pikepdf.open(built.pdf) as pdf:
        for page in pdf.pages:
            for font in page.Resources.get("/Font", {}).values():
                base = str(font.BaseFont)
                assert re.match(r"/[A-Z]{6}\+", base), f"{base} is not a subset"
                assert "/FontFile2" in font.FontDescriptor, f"{base} is not embedded"
                names.add(base.split("+")[1].split("-")[0])
    assert names == {"SourceSerifPro", "SourceSansPro"}


def test_black_is_one_ink_on_every_page(built: Any) -> None:
    """Only gray operators (ISO 32000-1, table 74): no RGB, no CMYK, no colour space, no image, no shading."""
    with pikepdf.open(built.pdf) as pdf:
        for page in pdf.pages:
            used = {str(item.operator) for item in pikepdf.parse_content_stream(page)}
            assert used & {"g", "G"}
            assert not used & {"rg", "RG", "k", "K", "cs", "CS", "sc", "SC", "scn", "SCN", "sh", "Do", "gs"}


def test_the_file_is_clean_to_qpdf_and_is_pdf_1_4(built: Any) -> None:
    """pikepdf carries qpdf; `check_pdf_syntax` is what `qpdf --check` runs."""
    with pikepdf.open(built.pdf) as pdf:
        assert pdf.check_pdf_syntax() == []
        assert pdf.pdf_version == "1.4"
        assert not pdf.is_encrypted


def test_sums_on_each_puzzle_page_are_the_manifests_in_reading_order(reader: PdfReader, built: Any) -> None:
    for entry in built.book.entries:
        _, page = puzzle_page(reader, entry)
        high, low = place_of(page, entry.title)
        shown = [run for run in runs(page) if "SansPro-Semibold" in run.font and max(low, 80) < run.y < high - 5
                 and run.text.isdigit() and run.size < 12]
        shown.sort(key=lambda run: (-round(run.y, 1), run.x))
        cages = sorted(entry.puzzle.cages, key=lambda cage: cage.first)
        assert [int(run.text) for run in shown] == [cage.total for cage in cages], entry.id
        _on_the_lattice([(run.x, run.y) for run in shown], [cage.first for cage in cages])


def _on_the_lattice(points: list[tuple[float, float]], cells: list[Any]) -> None:
    """Every sum stands at the same spot of its own cell: differences of positions are whole cells."""
    (x0, y0), first = points[0], cells[0]
    last = max(range(len(cells)), key=lambda n: cells[n].row)
    cell = (y0 - points[last][1]) / (cells[last].row - first.row)
    for (x, y), spot in zip(points, cells, strict=True):
        assert (x - x0) / cell == pytest.approx(spot.col - first.col, abs=0.06)
        assert (y0 - y) / cell == pytest.approx(spot.row - first.row, abs=0.01)


def test_answer_pages_show_the_answers_an_outside_solver_finds(
    reader: PdfReader, built: Any, cp_answers: Any,
) -> None:
    seen = set()
    pages = {item.title: reader.get_destination_page_number(item) for item in reader.outline
             if not isinstance(item, list)}
    for page in reader.pages[pages["Answers"]:pages["Ways of reasoning"]]:
        text = runs(page)
        for (left, low, right, _), target, led_to in links(page):
            page_led_to = reader.pages[number_of(reader, target) - 1]
            puzzle = max((run for run in runs(page_led_to) if run.size > 12 and not run.text.isdigit()
                          and run.y < led_to), key=lambda run: run.y)
            entry = next(entry for entry in built.book.entries if entry.title == puzzle.text)
            size = entry.puzzle.size
            digits = [run for run in text if run.text.isdigit() and left - 1 <= run.x <= right and run.y < low]
            digits.sort(key=lambda run: (-round(run.y, 1), run.x))
            got = tuple(int(run.text) for run in digits[:size * size])
            assert got == cp_answers[entry.id].digits, entry.id
            seen.add(entry.id)
    assert seen == {entry.id for entry in built.book.entries}


def test_page_numbers_in_the_contents_and_under_the_grids_are_true(reader: PdfReader, built: Any) -> None:
    contents = {}
    for page in reader.pages[2:4]:
        rows: dict[float, list[Run]] = {}
        for run in runs(page):
            rows.setdefault(round(run.y, 1), []).append(run)
        for row in rows.values():
            row.sort(key=lambda run: run.x)
            if len(row) >= 3 and row[-1].text.isdigit():
                contents[row[1].text] = int(row[-1].text)
    for entry in built.book.entries:
        number, page = puzzle_page(reader, entry)
        assert contents[entry.title] == number
        said = next(run.text for run in runs(page) if run.text.startswith("Answer "))
        answers = reader.pages[int(said.split()[-1]) - 1]
        assert any(run.text == entry.title for run in runs(answers)), "the answer is on the page named"
        assert any(run.text == f"page {number}" for run in runs(answers)), "and names this page"


def test_folios_count_the_pages(reader: PdfReader) -> None:
    for number, page in enumerate(reader.pages, 1):
        foot = [run for run in runs(page) if run.y < 40 and run.text.isdigit() and "Semibold" in run.font]
        assert [run.text for run in foot] in ([], [str(number)])
        if foot:
            middle = float(page.mediabox.width) / 2
            assert (foot[0].x > middle) == (number % 2 == 1), "on the outer edge"


def test_links_lead_from_puzzle_to_answer_and_back(reader: PdfReader, built: Any) -> None:
    for entry in built.book.entries:
        number, page = puzzle_page(reader, entry)
        high, low = place_of(page, entry.title)
        led_to = [target for (_, foot, _, _), target, _ in links(page) if low < foot < high]
        assert len(led_to) == 2 + (entry.solutions is not Solutions.NONE), "hints, answer, worked solution"
        assert number in [number_of(reader, back) for _, back, _ in links(led_to[1])]


def test_bookmarks_name_sections_and_puzzles(reader: PdfReader, built: Any) -> None:
    titles = [item.title if not isinstance(item, list) else [inner.title for inner in item]
              for item in reader.outline]
    for section in built.book.sections:
        at = titles.index(section.title)
        assert [title.split("  ")[1] for title in titles[at + 1]] == [entry.title for entry in section.entries]


def test_nothing_but_tabs_stands_near_the_trim(built: Any) -> None:
    """Rendered by pdfium with a margin's width of white left at every edge; at the fore-edge the tint of a tab,
    which the trim cuts: it is as dark at the very edge as anywhere.
    """
    pdf = pypdfium2.PdfDocument(built.pdf)
    tint = round(255 * (1 - built.book.layout.tabs.tint))
    tabbed = 0
    for number, page in enumerate(pdf, 1):
        image = page.render(scale=1, grayscale=True).to_numpy()
        edge = int(5 * MM)
        fore, spine = (image[:, -edge:], image[:, :edge]) if number % 2 else (image[:, :edge], image[:, -edge:])
        for strip in (image[:edge], image[-edge:], spine):
            assert strip.min() > 250, "live matter within 5 mm of the trim"
        assert fore.min() > 250 or abs(int(fore.min()) - tint) <= 1
        if fore.min() < 250:
            tabbed += 1
            outermost = fore[:, -1] if number % 2 else fore[:, 0]
            assert (outermost < 250).sum() / MM == pytest.approx(built.book.layout.tabs.height, abs=0.8)
    assert tabbed > 40


def test_two_builds_are_byte_identical_whatever_the_day_place_and_hash_seed(
    built: Any, tmp_path: Path, sample: Path,
) -> None:
    """In a fresh process with another time zone, locale, hash seed and working folder, all worked out anew."""
    environment = os.environ | {"TZ": "Asia/Kathmandu", "LC_ALL": "C", "PYTHONHASHSEED": "7"}
    environment.pop("SOURCE_DATE_EPOCH", None)
    done = subprocess.run(
        [sys.executable, "-m", "cagework.typeset", "build", str(sample), "--out",
         str(tmp_path / "again"), "--press", "--booklet", "--no-cache"],
        cwd=tmp_path, env=environment, capture_output=True, text=True, check=False,
    )
    assert done.returncode == 0, done.stderr
    first, again = contents(built.folder), contents(tmp_path / "again")
    assert first.keys() == again.keys()
    assert [name for name in first if first[name] != again[name]] == []


def contents(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
