"""Every page of whole books, in all layouts of the shelf and both languages: the sample, and three that strain it.

`test_full_columns` has how full columns are, and that their feet and baselines are level.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import NamedTuple

import pytest

from cagework.layouts.load import shelf_layout, shelf_names
from cagework.solver.model import Answer, Cage, Cell, Given, Puzzle, standard_houses
from cagework.typeset.book import Book, Section
from cagework.typeset.build import lay
from cagework.typeset.draw.look import LEAST_NOTE
from cagework.typeset.draw.setting import Setting
from cagework.typeset.entry import Entry, Solutions
from cagework.typeset.layout_cache import LayoutCache
from cagework.typeset.manifest.load import load_book
from cagework.typeset.marks import MM, Group, Mark, Tag, Text
from cagework.typeset.plan import Solved, plan_book
from cagework.typeset.solving.cache import Cache
from cagework.typeset.solving.crew import Crew
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.words import languages, load_words

LARGE = {"a4-large-print": 14.4}
"""The least type, in pt, of pictures in worked solutions where all other type has 16 pt or more (UKAAF G003)."""

LONG = "The Station Master of Brindlemoor and His Seven Most Patient Cats, Who Waited All of One Winter Night"
CREDIT = "the stoker of the northern line, the lamp boy, both porters and everybody else who has ever waited there"


class Line(NamedTuple):
    """A line of type: how far below the top of the text block and right of it, in pt, and what groups it is in."""

    y: float
    x: float
    size: float
    inside: tuple[Group, ...]

    @property
    def is_heading(self) -> bool:
        return any(group.tag in (Tag.HEADING, Tag.SUBHEADING, Tag.MINOR) for group in self.inside)

    @property
    def is_pictured(self) -> bool:
        return any(group.name == "diagram" for group in self.inside)


@pytest.fixture(scope="module")
def solved(sample: Path) -> tuple[Book, Solved]:
    """The sample, rated, and what was found of it."""
    reading = load_book(sample)
    assert reading.book is not None
    original = lay(reading.book, reading, None, crew=Crew(Cache()))
    return original.laid.setting.book, original.solved


@pytest.fixture(scope="module")
def gallery(solved: tuple[Book, Solved]) -> dict[str, tuple[Book, Solved]]:
    """Book by name: the sample, one of long names, one of one puzzle, one with 16 by 16 cells and givens."""
    book, found = solved
    entries = book.sections[-1].entries[:4]
    answer = Answer(16, tuple(1 + (4 * (row % 4) + row // 4 + col) % 16 for row in range(16) for col in range(16)))
    big = replace(entries[0], id="big", puzzle=sixteen(answer), solutions=Solutions.NONE)
    named = [replace(entry, title=LONG, by=CREDIT) for entry in entries]
    return {
        "sample": (book, found),
        "names": (of_section(replace(book, title=LONG), named, title=LONG), found),
        "one": (of_section(book, entries[:1]), found),
        "sixteen": (of_section(book, [entries[0], big, entries[1]]),
                    Solved({**found.answers, "big": answer}, found.works, draft=True)),
    }


def of_section(book: Book, entries: list[Entry] | tuple[Entry, ...], **more: str) -> Book:
    section: Section = replace(book.sections[-1], entries=tuple(entries), **more)
    return replace(book, sections=(section,))


def sixteen(answer: Answer) -> Puzzle:
    """Cages of four cells of a row, and two givens of three."""
    cages = [tuple(Cell(row, col + step) for step in range(4)) for row in range(1, 17) for col in range(1, 17, 4)]
    digit = dict(zip(Puzzle(16, standard_houses(16), ()).cells, answer.digits, strict=True))
    summed = tuple(Cage(cells, sum(digit[cell] for cell in cells)) for cells in cages)
    return Puzzle(16, standard_houses(16), summed,
                  tuple(Given(cell, value) for cell, value in digit.items() if (cell.row + cell.col) % 3))


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("name", shelf_names())
def test_pages_begin_alike_and_nothing_is_small_or_stranded(
    name: str, language: str, gallery: dict[str, tuple[Book, Solved]],
) -> None:
    layout, words = shelf_layout(name), load_words(language)
    fonts, least = Fonts(layout), {False: layout.type.label, True: LARGE.get(name, LEAST_NOTE)}
    for title, (book, found) in gallery.items():
        if title == "sample" and language != "en":
            book = of_section(book, [*book.entries][::3])
        plan = plan_book(replace(book, layout=layout, language=language), found, fonts, words, LayoutCache())
        starts: defaultdict[str, set[int]] = defaultdict(set)
        for number, leaf in enumerate(plan.leaves, 1):
            lines = list(lines_of(plan.setting, number, plan.page(number).marks))
            where = (title, number, leaf.head)
            for line in lines:
                assert line.size >= least[line.is_pictured] - 1e-6, (*where, line)
            body = [line for line in lines if 0 <= line.y <= plan.setting.block(number).height]
            if leaf.head in (words.hints, words.worked, words.techniques):
                assert not stranded(plan.setting, body), (*where, "a heading stands at the foot of its column")
                if number < len(plan.leaves) and plan.leaves[number].head == leaf.head:
                    assert len({round(line.y) for line in body}) >= 5, (*where, "hardly anything on a page")
                if not any(group.name == "title" for line in body for group in line.inside):
                    starts[leaf.head].add(round(min(line.y for line in body if line.x < plan.setting.column)))
        for head, tops in starts.items():
            assert len(tops) <= 2, (title, head, tops)


def lines_of(setting: Setting, number: int, marks: tuple[Mark, ...]) -> Iterator[Line]:
    block = setting.block(number)

    def within(some: tuple[Mark, ...], inside: tuple[Group, ...]) -> Iterator[Line]:
        for mark in some:
            if isinstance(mark, Group):
                yield from within(mark.marks, (*inside, mark))
            elif isinstance(mark, Text) and not mark.angle:
                yield Line(mark.y - block.y, mark.x - block.x, mark.size, inside)

    return within(marks, ())


def stranded(setting: Setting, lines: list[Line]) -> list[Line]:
    """The headings under which less than two lines, or a picture, stand in their column."""
    step = setting.column + setting.layout.solutions.gap * MM
    return [head for head in lines if head.is_heading and len({
        round(line.y) for line in lines
        if line.y > head.y + 1 and int(line.x / step + 0.01) == int(head.x / step + 0.01)}) < 2]
