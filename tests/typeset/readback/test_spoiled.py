"""Each way to spoil a finished file, by pikepdf, is caught and told by its own words, and nothing else is told."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Name, Operator, String

from cagework.solver.model import Cell
from cagework.typeset.draw.shown import GridKind

GIVEN, WINDOWS, RAILS = "platform-nine", "four-windows", "crossed-rails"


def changed(data: bytes, change: Callable[[Any], None]) -> bytes:
    """A file changed outside its pages' contents."""
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(data)) as pdf:
        change(pdf)
        pdf.save(out)
    return out.getvalue()


def test_the_finished_file_is_the_book(little: Any) -> None:
    assert little.told(little.data) == []


def test_a_file_rewritten_by_qpdf_is_the_book(little: Any, spoiled: Any) -> None:
    """With object streams and all page contents written anew."""
    assert little.told(changed(spoiled(1, lambda page: None), lambda pdf: None)) == []


def test_an_answer_digit_changed(little: Any, spoiled: Any) -> None:
    """Its glyph code swapped for another's in the content stream."""
    place, cell = little.grid(GridKind.ANSWER, RAILS), Cell(2, 3)
    right = little.original.solved.answers[RAILS].at(cell)
    wrong = right % 9 + 1

    def swap(page: Any) -> None:
        at = page.in_cell(place, cell)
        assert bytes(page.code[at][0][0]) == str(right).encode()
        page.code[at] = ([String(str(wrong))], Operator("Tj"))

    assert little.told(spoiled(place.page, swap)) == [
        f"page {place.page}, answer of '{RAILS}', r2c3: '{wrong}' stands where the digit {right} should"]


def test_an_answer_digit_lost(little: Any, spoiled: Any) -> None:
    place = little.grid(GridKind.ANSWER, RAILS)
    right = little.original.solved.answers[RAILS].at(Cell(9, 9))
    assert little.told(spoiled(place.page, lambda page: page.code.pop(page.in_cell(place, Cell(9, 9))))) == [
        f"page {place.page}, answer of '{RAILS}', r9c9: the digit {right} does not stand where it should"]


@pytest.mark.parametrize(("value", "operator"), [(1, "g"), (0.9, "g"), (3, "Tr")])
def test_an_answer_digit_that_cannot_be_seen(value: float, operator: str, little: Any, spoiled: Any) -> None:
    """Set in white, in the faintest grey, or in the mode that paints nothing (ISO 32000-1, table 106)."""
    place, cell = little.grid(GridKind.ANSWER, RAILS), Cell(5, 5)

    def fade(page: Any) -> None:
        at = page.in_cell(place, cell)
        page.code.insert(at + 1, ([0], Operator(operator)))
        page.code.insert(at, ([value], Operator(operator)))

    right = little.original.solved.answers[RAILS].at(cell)
    said = [f"page {place.page}, answer of '{RAILS}', r5c5: the digit {right} does not stand where it should"]
    if operator == "Tr":
        said.append(f"page {place.page}, content: letters are set that leave no ink")
    assert little.told(spoiled(place.page, fade)) == said


def test_an_answer_digit_painted_over(little: Any, spoiled: Any) -> None:
    place, cell = little.grid(GridKind.ANSWER, RAILS), Cell(5, 5)
    left, top = place.corner(cell)
    right = little.original.solved.answers[RAILS].at(cell)
    inner = (left + 3, top + 3, place.cell - 6, place.cell - 6)
    assert little.told(spoiled(place.page, lambda page: page.cover(*inner)))[0] == (
        f"page {place.page}, answer of '{RAILS}', r5c5: the digit {right} does not stand where it should")


def test_a_sum_changed(little: Any, spoiled: Any) -> None:
    place = little.grid(GridKind.PUZZLE, WINDOWS)

    def swap(page: Any) -> None:
        page.code[page.in_cell(place, Cell(1, 1), corner=True)] = ([String("32")], Operator("Tj"))

    assert little.told(spoiled(place.page, swap)) == [
        f"page {place.page}, puzzle '{WINDOWS}', r1c1: '32' stands where the sum 23 should"]


def test_a_sum_moved_to_the_next_cell(little: Any, spoiled: Any) -> None:
    place = little.grid(GridKind.PUZZLE, WINDOWS)

    def move(page: Any) -> None:
        page.move(page.in_cell(place, Cell(1, 2), corner=True), place.cell, 0)

    assert little.told(spoiled(place.page, move)) == [
        f"page {place.page}, puzzle '{WINDOWS}', r1c2: the sum 18 does not stand in its corner",
        f"page {place.page}, puzzle '{WINDOWS}', r1c3: '18' stands in its corner where no sum should"]


def test_a_sum_moved_within_its_cell(little: Any, spoiled: Any) -> None:
    place = little.grid(GridKind.PUZZLE, WINDOWS)

    def move(page: Any) -> None:
        page.move(page.in_cell(place, Cell(1, 2), corner=True), 0.3 * place.cell, 0.4 * place.cell)

    assert little.told(spoiled(place.page, move)) == [
        f"page {place.page}, puzzle '{WINDOWS}', r1c2: the sum 18 does not stand in its corner",
        f"page {place.page}, puzzle '{WINDOWS}', r1c2: '18' stands where nothing should"]


def test_a_given_lost(little: Any, spoiled: Any) -> None:
    place = little.grid(GridKind.PUZZLE, GIVEN)
    assert little.told(spoiled(place.page, lambda page: page.code.pop(page.in_cell(place, Cell(2, 1))))) == [
        f"page {place.page}, puzzle '{GIVEN}', r2c1: the given 1 does not stand where it should"]


def test_a_digit_leaked_into_a_puzzle(little: Any, spoiled: Any) -> None:
    """Where it is the answer's, that is said."""
    place, cell = little.grid(GridKind.PUZZLE, WINDOWS), Cell(5, 5)
    digit = little.original.solved.answers[WINDOWS].at(cell)
    for put, said in ((digit, f"'{digit}', its answer, stands in a cell the reader is to fill"),
                      (digit % 9 + 1, f"'{digit % 9 + 1}' stands where no given should")):
        def leak(page: Any, put: int = put) -> None:
            left, top = place.corner(cell)
            page.write(str(put), left + 0.36 * place.cell, top + 0.73 * place.cell, 0.7 * place.cell)

        assert f"page {place.page}, puzzle '{WINDOWS}', r5c5: {said}" in little.told(spoiled(place.page, leak))


def test_two_words_more_in_a_puzzle(little: Any, spoiled: Any) -> None:
    place = little.grid(GridKind.PUZZLE, WINDOWS)

    def scribble(page: Any) -> None:
        page.write("see r1c1", place.x + 2.1 * place.cell, place.y + 6.9 * place.cell, 5)

    told = little.told(spoiled(place.page, scribble))
    assert told[0] == f"page {place.page}, puzzle '{WINDOWS}', r7c3: 'seer1c1' stands where nothing should"


def test_a_cage_edge_erased(little: Any, spoiled: Any) -> None:
    """The side between r4c1 and r4c2, on the left cell's right, taken out of its path."""
    place = little.grid(GridKind.PUZZLE, WINDOWS)
    left, top = place.corner(Cell(4, 1))
    told = little.told(spoiled(place.page, lambda page: page.cut(
        left + 0.93 * place.cell, top + 0.1 * place.cell, top + 0.9 * place.cell)))
    assert told == [f"page {place.page}, puzzle '{WINDOWS}', r4c1: its cage's outline is missing on the right"]


def test_a_cage_edge_rubbed_out(little: Any, spoiled: Any) -> None:
    place = little.grid(GridKind.PUZZLE, WINDOWS)
    left, top = place.corner(Cell(5, 1))
    told = little.told(spoiled(place.page, lambda page: page.cover(
        left + 0.88 * place.cell, top + 0.05 * place.cell, 0.1 * place.cell, 0.9 * place.cell)))
    assert told == [f"page {place.page}, puzzle '{WINDOWS}', r5c1: its cage's outline is missing on the right"]


def test_a_cage_line_too_many(little: Any, spoiled: Any) -> None:
    place = little.grid(GridKind.PUZZLE, WINDOWS)
    left, top = place.corner(Cell(1, 1))
    line = (left + 0.07 * place.cell, top + 0.93 * place.cell, left + 0.93 * place.cell, top + 0.93 * place.cell)
    assert little.told(spoiled(place.page, lambda page: page.line(*line))) == [
        f"page {place.page}, puzzle '{WINDOWS}', r1c1: a cage's outline runs along its bottom, where no cage ends"]


def test_a_border_of_regions_thinned(little: Any, spoiled: Any) -> None:
    """All of them, made as thin as cell lines."""
    place = little.grid(GridKind.PUZZLE, WINDOWS)
    layout = little.original.book.layout

    def thin(page: Any) -> None:
        for at, (operands, operator) in enumerate(page.code):
            if str(operator) == "w" and float(operands[0]) == layout.weights.region:
                page.code[at] = ([layout.weights.cell], operator)

    assert little.told(spoiled(place.page, thin)) == [
        f"page {place.page}, puzzle '{WINDOWS}': the borders of its regions are no heavier than its cell lines"]


def test_a_tint_lost(little: Any, spoiled: Any) -> None:
    """A cage's in an answer, a window's in a puzzle."""
    answer, puzzle = little.grid(GridKind.ANSWER, WINDOWS), little.grid(GridKind.PUZZLE, WINDOWS)
    told = little.told(spoiled(answer.page, lambda page: page.blanch(answer, Cell(1, 2))))
    assert any("its tint is that of" in one or "its tint is not that of" in one for one in told)
    assert all(one.startswith(f"page {answer.page}, answer of '{WINDOWS}'") for one in told)
    told = little.told(spoiled(puzzle.page, lambda page: page.blanch(puzzle, Cell(2, 2))))
    assert told == [f"page {puzzle.page}, puzzle '{WINDOWS}', r2c2: its rule's tint is missing"]


def test_a_rules_line_lost(little: Any, spoiled: Any) -> None:
    place = little.grid(GridKind.PUZZLE, RAILS)
    told = little.told(spoiled(place.page, lambda page: page.unslant()))
    assert [one.split(": ")[1] for one in told] == ["its rule's line is not drawn"] * 2


def test_a_folio_in_the_contents_wrong(little: Any, spoiled: Any) -> None:
    """The last digit of the page of a puzzle whose title itself ends in a figure."""
    page = little.original.laid.pages
    contents = next(number for number, one in enumerate(page, 1) if any(a.name == "contents" for a in one.anchors))
    where = little.grid(GridKind.PUZZLE, GIVEN).page

    def swap(one: Any) -> None:
        at = one.row_end(str(where), "Platform 9")
        one.code[at] = ([String(str(where + 1))], Operator("Tj"))

    assert little.told(spoiled(contents, swap))[0] == (
        f"page {contents}, contents: '1 Platform 9' is sent to page {where + 1}; it is on page {where}")


@pytest.mark.parametrize(("kind", "says"), [(GridKind.PUZZLE, "its answer"), (GridKind.ANSWER, "its puzzle")])
def test_a_page_number_beside_a_grid_wrong(kind: GridKind, says: str, little: Any, spoiled: Any) -> None:
    place = little.grid(kind, RAILS)
    other = little.grid(GridKind.ANSWER if kind is GridKind.PUZZLE else GridKind.PUZZLE, RAILS)
    told = little.told(spoiled(place.page, lambda page: page.renumber(other.page, other.page + 3)))
    of = f"puzzle '{RAILS}'" if kind is GridKind.PUZZLE else f"answer of '{RAILS}'"
    assert told[0] == (f"page {place.page}, {of}: page {other.page + 3} is named as that of {says}; it is on page "
                       f"{other.page}")


@pytest.mark.parametrize(("part", "says"), [("hints", "its hints"), ("worked", "its worked solution")])
def test_a_page_number_of_hints_or_worked_solution_wrong(part: str, says: str, little: Any, spoiled: Any) -> None:
    """Each is held against the page where its heading is found, not against what the page was laid out with."""
    place = little.grid(GridKind.PUZZLE, RAILS)
    where = next(number for number, page in enumerate(little.original.laid.pages, 1)
                 if any(anchor.name == f"{part}-{RAILS}" for anchor in page.anchors))
    told = little.told(spoiled(place.page, lambda page: page.renumber(where, where + 3)))
    assert told[0] == (f"page {place.page}, puzzle '{RAILS}': page {where + 3} is named as that of {says}; it is "
                       f"on page {where}")


def test_a_page_number_over_a_worked_solution_wrong(little: Any, spoiled: Any) -> None:
    where = little.grid(GridKind.PUZZLE, GIVEN).page
    pages = little.original.laid.pages
    worked = next(number for number, one in enumerate(pages, 1) if any(a.name == "worked" for a in one.anchors))
    told = little.told(spoiled(worked, lambda page: page.renumber(where, where + 1)))
    assert told[0] == (f"page {worked}, worked solution of '{GIVEN}': page {where + 1} is named as that of its "
                       f"puzzle; it is on page {where}")


def test_a_folio_wrong(little: Any, spoiled: Any) -> None:
    place = little.grid(GridKind.PUZZLE, WINDOWS)

    def swap(page: Any) -> None:
        at = next(index for index, _, y in page.texts()
                  if y > page.height - 40 and bytes(page.code[index][0][0]) == str(place.page).encode())
        page.code[at] = ([String("88")], Operator("Tj"))

    assert little.told(spoiled(place.page, swap))[0] == (
        f"page {place.page}, folio: '88' stands where {place.page} should")


def test_a_word_misspelt_in_a_worked_solution(little: Any, spoiled: Any) -> None:
    pages = little.original.laid.pages
    worked = next(number for number, one in enumerate(pages, 1) if any(a.name == "worked" for a in one.anchors))

    def swap(page: Any) -> None:
        at = next(index for index, _, _ in page.texts() if re.search("r[1-4]c[1-4]", page.said(index)))
        page.code[at] = ([String(re.sub("r[1-4]c", "r5c", page.said(at)))], Operator("Tj"))

    (told,) = little.told(spoiled(worked, swap))
    assert told.startswith(f"page {worked}, words: '")
    assert "r5c" in told.split("; ")[1]


def test_two_pages_swapped(little: Any) -> None:
    """Two puzzles in each other's places: both grids are wrong, and the numbers over them."""
    one, other = (little.grid(GridKind.PUZZLE, name).page for name in (WINDOWS, RAILS))

    def swap(pdf: Any) -> None:
        first, second = pdf.pages[one - 1], pdf.pages[other - 1]
        first.Contents, second.Contents = second.Contents, first.Contents
        first.Resources, second.Resources = second.Resources, first.Resources

    told = little.told(changed(little.data, swap))
    assert any(f"puzzle '{WINDOWS}', r1c" in line for line in told)
    assert any("its number and title, '2 Four Windows', do not stand over it" in line for line in told)
    assert any("more differences here" in line for line in told)


def test_a_link_to_the_wrong_page(little: Any) -> None:
    place, answer = little.grid(GridKind.PUZZLE, WINDOWS), little.grid(GridKind.ANSWER, WINDOWS)

    def turn(pdf: Any) -> None:
        _hints, note, _worked = pdf.pages[place.page - 1].Annots
        note.Dest = Array([pdf.pages[0].obj, Name.Fit])

    assert little.told(changed(little.data, turn)) == [
        f"page {place.page}, links: the link on 'Answer {answer.page}' leads to page 1; it should to page "
        f"{answer.page}"]


def test_a_link_lost_and_one_to_elsewhere(little: Any) -> None:
    place, answer = little.grid(GridKind.PUZZLE, WINDOWS), little.grid(GridKind.ANSWER, WINDOWS)

    def lose(pdf: Any) -> None:
        pdf.pages[place.page - 1].Annots = Array([])

    def lead_off(pdf: Any) -> None:
        _hints, note, _worked = pdf.pages[place.page - 1].Annots
        del note["/Dest"]
        note.A = pikepdf.Dictionary(S=Name.URI, URI=String("http://example.org"))

    lost = f"page {place.page}, links: the link on 'Answer {answer.page}' is missing"
    told = little.told(changed(little.data, lose))
    assert lost in told and len(told) == 3, "hints, answer and worked solution"
    assert "leads to http://example.org; it should to page" in little.told(changed(little.data, lead_off))[0]


def test_a_bookmark_to_the_wrong_page(little: Any) -> None:
    def turn(pdf: Any) -> None:
        entry = pdf.Root.Outlines.First
        entry.Dest = Array([pdf.pages[1].obj, Name.Fit])

    (told,) = little.told(changed(little.data, turn))
    assert told == "bookmarks: 'Contents' leads to page 2; it should to page 3"


def test_a_page_lost(little: Any) -> None:
    count = len(little.original.laid.pages)

    def lose(pdf: Any) -> None:
        del pdf.pages[-1]

    assert little.told(changed(little.data, lose)) == [f"the file has {count - 1} pages; the book has {count}"]


def test_pages_cut_to_another_size(little: Any) -> None:
    def cut(pdf: Any) -> None:
        pdf.pages[4].TrimBox = Array([0, 0, 300, 400])

    (told,) = little.told(changed(little.data, cut))
    assert told == "page 5, size: it is 105.8 x 141.1 mm; it should be 148.0 x 210.0 mm"
