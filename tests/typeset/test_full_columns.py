"""Pages filled as a typographer would: columns full, their feet level, and all text on one grid of baselines."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import pytest

from cagework.layouts.load import shelf_layout, shelf_names
from cagework.typeset.book import Book
from cagework.typeset.draw.setting import PageNumbers, Setting, puzzle_anchor
from cagework.typeset.entry import Entry, Solutions
from cagework.typeset.layout_cache import LayoutCache
from cagework.typeset.manifest.load import load_book
from cagework.typeset.marks import MM, Fill, Group, Line, Mark, Outline, Text, flatten
from cagework.typeset.pages import PlannedPage, hint_pages, worked_pages
from cagework.typeset.solving.worked import Worked
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.words import languages, load_words

FULL = defaultdict(lambda: 0.9, {"a4-large-print": 0.85})
"""The least share of a text block's height that a column of any page but the last is filled to, by layout. Of 28
lines of a page in large print a picture takes 21: a paragraph of three, which none divides, may have no room.
"""

HAIR = 0.1
"""Points by which baselines may be off their grid: less than can be seen."""


@pytest.fixture(scope="module")
def book(sample: Path) -> Book:
    found = load_book(sample).book
    assert found is not None
    return found


@pytest.fixture(scope="module")
def works(book: Book, work: Callable[[Entry], Worked]) -> list[Worked]:
    """Every third puzzle of the sample, worked out."""
    return [work(entry) for entry in [*book.entries][::3]]


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("name", shelf_names())
def test_columns_are_full_and_level_and_on_the_grid(
    name: str, language: str, book: Book, works: list[Worked],
) -> None:
    """Worked solutions, in full in one language and short in the other, and first hints, as pages are drawn. Each
    column but those of the last page is filled to `FULL`, those of a page end within a line of each other, and no
    two baselines are other than whole lines apart. All lengths are in pt, from the top of the text block.
    """
    solutions = Solutions.FULL if language == "en" else Solutions.KEY
    told = [replace(work, entry=replace(work.entry, solutions=solutions)) for work in works]
    setting = Setting.of(replace(book, layout=shelf_layout(name), language=language), Fonts(shelf_layout(name)),
                         load_words(language))
    offsets: list[float] = []
    for leaves in (worked_pages(setting, told, LayoutCache()), hint_pages(setting, told, LayoutCache())):
        pages = [list(columns(setting, leaf, number)) for number, leaf in enumerate(leaves, 1)]
        height = setting.block(1).height
        for number, page in enumerate(pages, 1):
            feet = [max(map(foot, column)) for column in page if column]
            assert max(feet) <= height + 1, (number, "over the foot of the page")
            if number < len(pages):
                assert len(feet) == setting.layout.solutions.columns
                assert min(feet) >= FULL[name] * height, (number, feet)
                assert max(feet) - min(feet) <= setting.line, (number, feet)
            offsets += [mark.y % setting.line for column in page for mark in flatten(column)
                        if isinstance(mark, Text) and mark.size == setting.layout.solutions.size
                        and mark.face.startswith(setting.roman)]
    assert len(offsets) > 500 and max(offsets) - min(offsets) < HAIR


def columns(setting: Setting, leaf: PlannedPage, number: int) -> Iterator[list[Mark]]:
    """The marks of each column of a page but its title, moved to where the text block begins."""
    block, step = setting.block(number), setting.column + setting.layout.solutions.gap * MM
    pages = PageNumbers({puzzle_anchor(entry.id): 100 for entry in setting.book.entries})
    marks = [mark for mark in leaf.draw(pages, replace(block, x=0.0, y=0.0)).marks
             if not (isinstance(mark, Group) and mark.name == "title")]
    for place in range(setting.layout.solutions.columns):
        yield [mark for mark in marks if place * step - 1 <= left(mark) < (place + 1) * step - 1]


def left(mark: Mark) -> float:
    return min(x for part in flatten((mark,)) for x, _ in points(part))


def foot(mark: Mark) -> float:
    return max(y for part in flatten((mark,)) for _, y in points(part))


def points(mark: Mark) -> Sequence[tuple[float, float]]:
    """What tells how far a mark reaches to the left and down; letters that hang below their line do not count."""
    match mark:
        case Line():
            return (mark.x1, mark.y1), (mark.x2, mark.y2)
        case Text():
            return ((mark.x, mark.y),)
        case Fill() | Outline():
            return [point for ring in mark.rings for point in ring]
    raise AssertionError(mark)
