"""The finished book before the trade's own tools: qpdf, poppler and Ghostscript."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

Tool = Callable[..., Any]


def test_qpdf_finds_no_fault(built: Any, tool: Tool) -> None:
    done = tool("qpdf", "--check", built.pdf)
    assert done.returncode == 0, done.stderr
    assert "No syntax or stream encoding errors found" in done.stdout


def test_poppler_finds_every_font_embedded_subset_and_mapped_to_unicode(built: Any, tool: Tool) -> None:
    done = tool("pdffonts", built.pdf)
    rows = done.stdout.splitlines()[2:]
    assert len(rows) >= 4
    for row in rows:
        assert re.search(r"TrueType\s+\S+\s+yes yes yes", row), row
    assert "Helvetica" not in done.stdout


def test_poppler_reads_a5_boxes_on_every_page(built: Any, tool: Tool) -> None:
    done = tool("pdfinfo", "-box", "-f", "1", "-l", "999", built.pdf)
    boxes = re.findall(r"Page +\d+ (Media|Trim|Bleed)Box: +0\.00 +0\.00 +419\.53 +595\.28", done.stdout)
    assert len(boxes) == 3 * built.built.pages


def test_ghostscript_opens_every_page_without_a_word_and_finds_ink_on_black_only(built: Any, tool: Tool) -> None:
    done = tool("gs", "-q", "-o", "-", "-sDEVICE=inkcov", built.pdf)
    assert done.returncode == 0 and done.stderr == ""
    rows = re.findall(r"^ *([\d.]+) +([\d.]+) +([\d.]+) +([\d.]+) CMYK OK$", done.stdout, re.MULTILINE)
    assert len(rows) == built.built.pages == len(done.stdout.strip().splitlines()), done.stdout
    assert all(float(c) == float(m) == float(y) == 0 for c, m, y, _ in rows)
    assert any(float(k) > 0.01 for *_, k in rows)
