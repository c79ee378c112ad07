"""The sample book's pages as pdfium finds them: nothing over anything else, nothing outside its place."""

from __future__ import annotations

import ctypes
from dataclasses import replace
from itertools import cycle, islice
from typing import Any

import pypdfium2
import pytest
import shapely
from pypdfium2 import raw

from cagework.typeset.draw.matter import contents_links
from cagework.typeset.draw.setting import PageNumbers, Setting
from cagework.typeset.pages import contents_pages
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.words import load_words

MM = 72 / 25.4
Bounds = tuple[float, float, float, float]
"""Left, bottom, right, top in pt, y up."""


@pytest.fixture(scope="module")
def pages(built: Any) -> list[Any]:
    return list(pypdfium2.PdfDocument(built.pdf))


def bounds(page: Any, kind: int) -> list[Bounds]:
    return [thing.get_bounds() for thing in page.get_objects(filter=[kind])]


def test_no_two_pieces_of_text_run_into_each_other(pages: list[Any]) -> None:
    """Letters that lean or are kerned may reach into the next piece by a quarter of a point; those of rows of
    figures stand between others.
    """
    for number, page in enumerate(pages, 1):
        text = page.get_textpage()
        places = [index for index in range(text.count_chars()) if text.get_text_range(index, 1).strip()]
        letters = [text.get_charbox(index) for index in places]
        pieces = [ctypes.addressof(raw.FPDFText_GetTextObject(text, index).contents) for index in places]
        boxes = [shapely.box(*edges) for edges in letters]
        for at, beside in shapely.STRtree(boxes).query(boxes, predicate="intersects").T.tolist() if boxes else ():
            one, other = letters[at], letters[beside]
            across = min(one[2], other[2]) - max(one[0], other[0])
            down = min(one[3], other[3]) - max(one[1], other[1])
            assert pieces[at] == pieces[beside] or min(across, down) < 0.25, (number, one, other)


def test_all_keeps_to_the_text_block(built: Any, pages: list[Any]) -> None:
    """Lines may reach out by half their weight, letters by the blank beside them, and the f of a subtitle by its
    tail; a folio and a running head stand over and under the block, and a tab at the fore-edge.
    """
    margins = built.book.layout.margins
    for number, page in enumerate(pages, 1):
        width, height = page.get_size()
        left, right = (margins.inside, margins.outside) if number % 2 else (margins.outside, margins.inside)
        low, high = margins.bottom * MM - 1, height - margins.top * MM + 1
        for kind in (raw.FPDF_PAGEOBJ_TEXT, raw.FPDF_PAGEOBJ_PATH):
            for box in bounds(page, kind):
                if box[0] >= 0 and box[2] <= width:      # no tab
                    tail = 1.5 if number == 1 and kind == raw.FPDF_PAGEOBJ_TEXT else 0.0
                    assert left * MM - 1 - tail < box[0] and box[2] < width - right * MM + 1, (number, box)
                if kind == raw.FPDF_PAGEOBJ_PATH:
                    assert low < box[1] and box[3] < high, (number, box)


def weights(page: Any) -> list[float]:
    """The weights of the lines on a page, in pt."""
    found = []
    for thing in page.get_objects(filter=[raw.FPDF_PAGEOBJ_PATH]):
        fill, stroked, weight = ctypes.c_int(), ctypes.c_int(), ctypes.c_float()
        raw.FPDFPath_GetDrawMode(thing, fill, stroked)
        raw.FPDFPageObj_GetStrokeWidth(thing, weight)
        found += [weight.value] if stroked.value else []
    return found


def test_lines_of_answers_are_half_as_heavy(built: Any, pages: list[Any]) -> None:
    """And none is finer than 0.25 pt, which still prints (common practice)."""
    puzzle = next(page for page in pages if said(page).startswith("1 Platform Ticket"))
    answers = [page for page in pages if said(page).startswith("Answers")]
    assert len(answers) == 1
    assert max(weights(answers[0])) == pytest.approx(max(weights(puzzle)) / 2)
    assert min(weights(answers[0])) == 0.25


def said(page: Any) -> str:
    return str(page.get_textpage().get_text_range())


def test_a_chapter_of_a_worked_solution_begins_a_paragraph_of_its_own(pages: list[Any]) -> None:
    """By a line of white, or two where that levels columns, and on the same grid of baselines."""
    gaps = [(before, leading) for page in pages for before, leading in above(page, "Step by step. ")
            if leading > 6]     # and not the notes of a picture
    leading = min(one for _, one in gaps)       # of lines in one paragraph: some chapters have one line
    assert {round(before / leading, 2) for before, _ in gaps} <= {2, 3}


def above(page: Any, words: str) -> list[tuple[float, float]]:
    """How far above these words the last baseline before them is, and the one before that above it, where both are
    in the same column.
    """
    found, text = [], page.get_textpage()
    search = text.search(words)
    while place := search.get_next():
        lines: list[float] = []
        x, y = ctypes.c_double(), ctypes.c_double()
        for index in range(place[0], -1, -1):
            raw.FPDFText_GetCharOrigin(text, index, x, y)
            if text.get_text_range(index, 1).strip() and (not lines or y.value - lines[-1] > 1):
                lines.append(y.value)
            if len(lines) == 3 or (lines and y.value < lines[-1] - 1):
                break
        if len(lines) == 3:
            found.append((lines[1] - lines[0], lines[2] - lines[1]))
    return found


def test_no_page_of_the_contents_has_a_few_rows_alone(built: Any) -> None:
    """At least five on the last, however many puzzles there are, and on no other so few."""
    seen = set()
    many = [replace(entry, id=f"p{number}") for number, entry in enumerate(islice(cycle(built.book.entries), 60))]
    for count in range(20, 60):
        section = replace(built.book.sections[0], entries=tuple(many[:count]))
        setting = Setting.of(replace(built.book, sections=(section,)), Fonts(built.book.layout), load_words("en"))
        numbers = PageNumbers(dict.fromkeys(contents_links(setting).values(), 100))
        rows = [len(leaf.draw(numbers, setting.block(1)).links) for leaf in contents_pages(setting)]
        assert min(rows) >= 5, (count, rows)
        seen.add(len(rows))
    assert seen == {1, 2}
