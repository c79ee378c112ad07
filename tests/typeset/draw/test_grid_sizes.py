"""Grids of one size are alike all through a book, whatever stands over and under them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import groupby
from pathlib import Path

import pytest

from cagework.layouts.load import Layout, Slots, shelf_names
from cagework.solver.model import Answer, Puzzle, standard_houses
from cagework.typeset.book import Book
from cagework.typeset.draw.setting import PageNumbers, Setting, puzzle_anchor
from cagework.typeset.draw.slots import PENCILLED
from cagework.typeset.manifest.load import load_book
from cagework.typeset.marks import MM, Group, Mark, Text
from cagework.typeset.no_room import yielding
from cagework.typeset.pages import allotted, answer_pages, puzzle_pages
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.words import load_words

PAGES_OF_FEW = {"6x9-one-up": 3, "a4-four-up": 1, "a4-large-print": 4, "a4-six-up": 1, "a4-two-up": 1,
                "a5-one-up": 3, "letter-four-up": 1}
"""Layout -> how many pages the sample's two fours and two sixes take."""

LONG = "Half a page of what the constructor would have the solver know before a pencil is picked up. " * 20


@pytest.fixture(scope="module")
def book(sample: Path) -> Book:
    found = load_book(sample).book
    assert found is not None
    return found


def setting_of(book: Book, layout: Layout, notes: dict[str, str]) -> Setting:
    sections = tuple(replace(section, entries=tuple(
        replace(entry, note=notes.get(entry.id, entry.note)) for entry in section.entries
    )) for section in book.sections)
    return Setting.of(replace(book, layout=layout, sections=sections), Fonts(layout), load_words("en"))


@pytest.mark.parametrize("name", shelf_names())
def test_grids_of_a_size_are_alike(name: str, book: Book, layout_of: Callable[[str], Layout]) -> None:
    """And begin at one height. Puzzles of few cells share a page where that saves one, in cells no smaller than a
    nine's and in their order; the sample has two fours and two sixes before its nines.
    """
    setting = setting_of(book, layout_of(name), {})
    found, stated = allotted(setting), setting.layout.puzzles
    by_size = sorted(setting.book.entries, key=lambda entry: entry.puzzle.size)
    for size, entries in groupby(by_size, key=lambda entry: entry.puzzle.size):
        alike = {found[entry.id] for entry in entries}
        assert len(alike) == 1 and (size < 9 or {one.plan for one in alike} == {stated})
    for plan in {one.plan for one in found.values()}:
        assert len({one.placing.top for one in found.values() if one.plan == plan}) == 1
    nine = min(found[entry.id].placing.cell for entry in setting.book.entries if entry.puzzle.size == 9)
    assert min(one.placing.cell for one in found.values()) >= nine
    few = [entry for entry in setting.book.sections[0].entries if entry.puzzle.size < 9]
    pages = puzzle_pages(setting, few, found, "", lambda _: None)
    assert len(pages) == PAGES_OF_FEW[name]
    assert [anchor for page in pages for anchor in page.anchors] == [puzzle_anchor(entry.id) for entry in few]


@pytest.mark.parametrize("name", ["a4-six-up", "a5-one-up"])
def test_one_long_note_leaves_the_others_as_they_were(
    name: str, book: Book, layout_of: Callable[[str], Layout],
) -> None:
    """It has a larger slot, where the layout has one; else its own grid alone is smaller. The editor is warned."""
    settings = [setting_of(book, layout_of(name), notes) for notes in ({}, {"echo": LONG})]
    plain, noted = map(allotted, settings)
    assert {key: one for key, one in noted.items() if key != "echo"} == {
        key: one for key, one in plain.items() if key != "echo"}
    if layout_of(name).puzzles.columns > 1:
        assert noted["echo"].plan.columns < plain["echo"].plan.columns
    else:
        assert noted["echo"].placing.cell < plain["echo"].placing.cell
    assert noted["echo"].placing.cell >= PENCILLED * MM
    before, after = ([fault.message for fault in yielding(setting, allotted(setting), 100, None)]
                     for setting in settings)
    sides = [9 * places["echo"].placing.cell / MM for places in (noted, plain)]
    assert [message for message in after if message not in before] == [
        "the words of 'echo' leave its grid other room than the rest have: it is {:.0f} mm wide, others of its "
        "size {:.0f} mm".format(*sides)]


@pytest.mark.parametrize("name", shelf_names())
def test_no_digit_of_an_answer_is_smaller_than_the_layouts_least_sum(
    name: str, book: Book, layout_of: Callable[[str], Layout],
) -> None:
    """Sixteen cells a side, whose digits have two figures, take a larger slot where theirs would be."""
    first, *_ = book.sections[0].entries
    entry = replace(first, puzzle=Puzzle(16, standard_houses(16), ()))
    setting = setting_of(book, layout_of(name), {})
    span = range(16)
    answer = Answer(16, tuple(1 + (4 * (row % 4) + row // 4 + column) % 16 for row in span for column in span))
    (page,) = answer_pages(setting, [entry], lambda _: answer)
    drawn = page.draw(PageNumbers({puzzle_anchor(entry.id): 1}), setting.block(1))
    sizes = [mark.size for mark in texts(drawn.marks, "answer")]
    assert len(sizes) == 256 and min(sizes) >= setting.layout.type.label


def test_answers_whose_titles_turn_over_here_and_there_do_not_take_a_page_each(
    book: Book, layout_of: Callable[[str], Layout],
) -> None:
    """Where every other one needs a larger slot, all of a size have it."""
    shelf = layout_of("a5-one-up")
    layout = shelf.model_copy(update={"answers": Slots(columns=2, rows=4, gap=7, cell=5.6),
                                      "type": shelf.type.model_copy(update={"label": 6.0})})
    setting, nines = setting_of(book, layout, {}), [one for one in book.entries if one.puzzle.size == 9][:16]

    def pages(title: str) -> int:
        named = [replace(one, title=title if number % 2 else "Echo") for number, one in enumerate(nines)]
        return len(answer_pages(setting, named, lambda _: None))

    assert (pages("Echo"), pages("The Extraordinarily Long Name of a Puzzle")) == (16 / 8, 16 / 2)


def texts(marks: Sequence[Mark], name: str, *, inside: bool = False) -> Iterator[Text]:
    """The texts of the groups of some name."""
    for mark in marks:
        if isinstance(mark, Group):
            yield from texts(mark.marks, name, inside=inside or mark.name == name)
        elif inside and isinstance(mark, Text):
            yield mark
