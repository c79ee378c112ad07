"""The sample book's press file before tools that know nothing of us."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any


def test_qpdf_finds_no_error(pressed_file: Path, tool: Any) -> None:
    done = tool("qpdf", "--check", pressed_file)
    assert done.returncode == 0, done.stderr
    assert "No syntax or stream encoding errors found" in done.stdout


def test_poppler_names_the_standard_and_the_boxes(pressed_file: Path, tool: Any) -> None:
    said = tool("pdfinfo", "-box", pressed_file).stdout
    assert "PDF/X-1a:2003" in said
    assert "ISO 15930-4" in said
    assert re.search(r"PDF version:\s+1\.4\b", said)
    assert re.search(r"TrimBox:\s+0\.00\s+0\.00\s+419\.53\s+595\.28", said), "ISO 216: A5"


def test_poppler_finds_every_font_embedded_and_subset(pressed_file: Path, tool: Any) -> None:
    rows = tool("pdffonts", pressed_file).stdout.splitlines()[2:]
    assert rows
    for row in rows:
        assert re.search(r"TrueType\s+\S+\s+yes\s+yes\s+yes", row), row


def test_ghostscript_opens_every_page_and_finds_ink_on_black_alone(pressed_file: Path, tool: Any) -> None:
    done = tool("gs", "-q", "-dSAFER", "-dBATCH", "-dNOPAUSE", "-sDEVICE=inkcov", "-r36", "-o", "-", pressed_file)
    assert done.returncode == 0
    assert done.stderr == ""
    rows = re.findall(r"^\s*([\d.]+)\s+([\d.]+)\s+([\d.]+)\s+([\d.]+) CMYK OK$", done.stdout, re.MULTILINE)
    assert len(rows) > 50
    assert len(rows) == len(done.stdout.strip().splitlines()), "not a word beside"
    assert {(float(c), float(m), float(y)) for c, m, y, _ in rows} == {(0.0, 0.0, 0.0)}
    assert any(float(k) > 0 for *_, k in rows)
