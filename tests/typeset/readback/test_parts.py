"""A book read in ranges of pages, in this process or in others: the same is told, and no page is kept."""

from __future__ import annotations

import gc
import io
import pickle
import weakref
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, overload

import pikepdf
import pytest

from cagework.layouts.flow import chunks
from cagework.solver.model import Cell
from cagework.typeset.draw.shown import GridKind
from cagework.typeset.editions import screen_edition
from cagework.typeset.marks import Page, groups
from cagework.typeset.readback.compare import Original, read_back
from cagework.typeset.readback.page_range import RangeRead
from cagework.typeset.reader.document import read_document


@pytest.fixture(scope="module")
def worn(little: Any, spoiled: Callable[..., bytes]) -> bytes:
    """The little book with something amiss in each of its parts: pages swapped, a tint and a link lost."""
    answer = little.grid(GridKind.ANSWER, "four-windows")
    data = spoiled(answer.page, lambda page: page.blanch(answer, Cell(1, 2)))
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(data)) as pdf:
        for one, other in ((3, 5), (-2, -3)):
            first, second = pdf.pages[one], pdf.pages[other]
            first.Contents, second.Contents = second.Contents, first.Contents
            first.Resources, second.Resources = second.Resources, first.Resources
        pdf.pages[little.grid(GridKind.PUZZLE, "crossed-rails").page - 1].Annots = pikepdf.Array([])
        pdf.Root.Outlines.First.Title = pikepdf.String("Elsewhere")
        pdf.save(out)
    return out.getvalue()


def pickled(jobs: Sequence[Callable[[], RangeRead]]) -> list[RangeRead]:
    """What comes back from other processes, the last job run first."""
    made = [pickle.dumps(job()) for job in reversed(jobs)]
    return [pickle.loads(one) for one in reversed(made)]


def apart(book: Any, parts: int) -> tuple[range, ...]:
    """The places of a book's pages in at most so many runs."""
    pages = len(book.original.laid.pages)
    return chunks(pages, -(-pages // parts))


@pytest.mark.parametrize("parts", [2, 3, 7, 1000])
def test_ranges_read_apart_tell_what_one_tells(parts: int, little: Any, worn: bytes) -> None:
    document = read_document(worn, little.original.shapes().chars)
    whole = read_back(document, little.original, screen_edition(little.original.laid)).differences
    assert len(whole) > 20
    assert len({one.of for one in whole}) > 6
    assert read_back(document, little.original, screen_edition(little.original.laid), runs=apart(little, parts),
                     share=pickled).differences == whole


def test_fonts_are_read_before_the_work_is_shared(little: Any) -> None:
    """Else each process would read them anew."""
    chars = little.original.shapes().chars
    asked: list[Any] = []
    before: list[int] = []

    def counting(font: Any) -> Any:
        asked.append(font)
        return chars(font)

    def counted(jobs: Sequence[Callable[[], RangeRead]]) -> list[RangeRead]:
        before.append(len(asked))
        return [job() for job in jobs]

    document = read_document(little.data, counting)
    found = read_back(document, little.original, screen_edition(little.original.laid), runs=apart(little, 3),
                      share=counted)
    assert found.differences == ()
    assert before == [len(asked)]
    assert asked


def test_the_original_is_told_of_too(little: Any) -> None:
    """A diagram that was never drawn, another drawn twice, an answer that is not the puzzle's."""
    original = little.original
    number = little.grid(GridKind.STAGE, "platform-nine").page
    pages = list(original.laid.pages)
    stages = [mark for mark in groups(pages[number - 1].marks)
              if getattr(mark.shows, "kind", None) is GridKind.STAGE]
    pages[-1] = replace(pages[-1], marks=(stages[0], *pages[-1].marks))
    wrong = Original(original.solved, replace(original.laid, pages=tuple(pages)))
    document = read_document(little.data, original.shapes().chars)
    found = read_back(document, wrong, screen_edition(wrong.laid), runs=apart(little, 4))
    told = [str(one) for one in found.differences]
    assert told[0] == "diagram of 'platform-nine': it stands in 2 places"


class _Kept(Page):
    """A page that can be watched."""


class Drawn(Sequence[Page]):
    """Pages drawn anew at each look and kept by no one here: how often each was, and how many live at once."""

    def __init__(self, pages: Sequence[Page]) -> None:
        self._pages = pages
        self.looks: Counter[int] = Counter()
        self.most = 0
        self._drawn: list[weakref.ref[Page]] = []

    def __len__(self) -> int:
        return len(self._pages)

    @overload
    def __getitem__(self, index: int) -> Page: ...
    @overload
    def __getitem__(self, index: slice) -> Sequence[Page]: ...
    def __getitem__(self, index: Any) -> Any:
        assert isinstance(index, int)
        page = self._pages[index]
        drawn = _Kept(page.width, page.height, page.marks, page.links, page.anchors)
        gc.collect()
        self.looks[index] += 1
        self._drawn.append(weakref.ref(drawn))
        self.most = max(self.most, sum(one() is not None for one in self._drawn))
        return drawn


def test_each_page_is_looked_at_once_and_let_go(little: Any) -> None:
    original = little.original
    pages = Drawn(original.laid.pages)
    document = read_document(little.data, original.shapes().chars)
    lazy = Original(original.solved, replace(original.laid, pages=pages))
    found = read_back(document, lazy, screen_edition(lazy.laid), runs=apart(little, 3))
    assert found.differences == ()
    assert pages.looks == dict.fromkeys(range(len(pages)), 1)
    assert pages.most <= 2
    assert all(sheet.walk.cache_info().currsize == 0 for sheet in document.sheets)
