"""Every page number the pages print, held against where the thing it speaks of was found to stand."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from cagework.typeset.draw.setting import (
    Setting,
    answer_anchor,
    hints_anchor,
    puzzle_anchor,
    section_anchor,
    text_anchor,
    worked_anchor,
)
from cagework.typeset.draw.shown import GridKind
from cagework.typeset.entry import Entry, Solutions
from cagework.typeset.readback.difference import Difference
from cagework.typeset.readback.grid_places import Standing
from cagework.typeset.readback.page_references import (
    ContentsRow,
    Head,
    Said,
    Told,
    named_row,
    numbers_of,
    parts_of,
)
from cagework.typeset.readback.text_lines import squeezed


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """What is where: the page of each anchor, and of each puzzle's grid and answer by id; pages with anchors, but
    for those of one puzzle's hints or worked solution.
    """

    anchors: Mapping[str, int]
    puzzles: Mapping[str, int]
    answers: Mapping[str, int]
    anchored: frozenset[int]

    def leads(self) -> dict[str, int]:
        """The page each anchor should lead to: that of its grid, where it has one."""
        return {**self.anchors, **{puzzle_anchor(name): page for name, page in self.puzzles.items()},
                **{answer_anchor(name): page for name, page in self.answers.items()}}

    def span(self, anchor: str, pages: int) -> range:
        """The pages of a part of the book, up to the next anchor; none where there is no such part."""
        first = self.anchors.get(anchor)
        if first is None:
            return range(0)
        last = next((page for page in range(first + 1, pages + 1) if page in self.anchored), pages + 1)
        return range(first, last)


def whereabouts(anchors: Sequence[tuple[str, int]], standing: Iterable[Standing]) -> Whereabouts:
    """Where everything a reference can speak of stands, by the grids rather than by what the pages say."""
    grids: dict[GridKind, dict[str, int]] = {kind: {} for kind in GridKind}
    for grid in standing:
        grids[grid.kind].setdefault(grid.id, grid.page)
    told = {anchor(name) for name in grids[GridKind.PUZZLE] for anchor in (hints_anchor, worked_anchor)}
    return Whereabouts(dict(anchors), grids[GridKind.PUZZLE], grids[GridKind.ANSWER],
                       frozenset(page for name, page in anchors if name not in told))


class References:
    """What pages say of one another, judged; `heads` are all headings that name a puzzle and its page."""

    def __init__(self, setting: Setting, where: Whereabouts, pages: int, heads: Sequence[Head]) -> None:
        self._book, self._words = setting.book, setting.words
        self._where, self._pages = where, pages
        self._heads = {part: self._first(heads, part) for part in ("hints", "worked")}
        self._stands: Mapping[Told, Mapping[str, int]] = {
            Told.PUZZLE: where.puzzles, Told.ANSWER: where.answers,
            Told.HINTS: {name: head.page for name, head in self._heads["hints"].items()},
            Told.WORKED: {name: head.page for name, head in self._heads["worked"].items()}}

    def _first(self, heads: Iterable[Head], part: str) -> Mapping[str, Head]:
        """The first heading of each puzzle in a part of the book, by its id."""
        span = self._where.span(part, self._pages)
        return {head.id: head for head in reversed([head for head in heads if head.page in span])}

    def turned(self, sayings: Iterable[Difference | Said]) -> Iterator[Difference]:
        """Page numbers that stand with a grid and are wrong, or not there."""
        for one in sayings:
            if isinstance(one, Difference):
                yield one
                continue
            where = self._stands[one.told].get(one.id)
            if one.said is None:
                yield Difference(one.page, one.of, None, f"the page of {one.told} is not printed with it")
            elif one.said != where:
                yield Difference(one.page, one.of, None,
                                 f"page {one.said} is named as that of {one.told}; it is on page {where}")

    def contents(self, rows: Iterable[ContentsRow]) -> Iterator[Difference]:
        """Each row of the contents: what it names, and the page where that is."""
        span = self._where.span("contents", self._pages)
        if not self._book.pages.contents or not span:
            return
        first: dict[str, ContentsRow] = {}
        for row in rows:
            if row.page in span:
                first.setdefault(row.title, row)
        for title, page in self._due():
            found = first.get(squeezed(title))
            if found is None:
                yield Difference(span[0], "contents", None, f"'{title}' is not among them, with its page")
            elif found.said != str(page):
                yield Difference(found.page, "contents", None,
                                 f"'{title}' is sent to page {found.said}; it is on page {page}")

    def _due(self) -> Iterator[tuple[str, int]]:
        where = self._where
        yield from ((title, where.anchors[anchor]) for anchor, title in parts_of(self._words).items()
                    if anchor in where.anchors)
        numbers = numbers_of(self._book)
        yield from ((page.title or "", where.anchors[text_anchor(number)])
                    for number, page in enumerate(self._book.text_pages)
                    if page.listed and text_anchor(number) in where.anchors)
        for index, section in enumerate(self._book.sections):
            if section_anchor(index) in where.anchors:
                yield section.title, where.anchors[section_anchor(index)]
            for row in section.rows:
                if row[0].id in where.puzzles:
                    yield named_row(numbers, row, self._words), where.puzzles[row[0].id]

    def heads(self) -> Iterator[Difference]:
        """Over hints and worked solutions: number and title of a puzzle, and its page."""
        told = tuple(entry for entry in self._book.entries if entry.solutions is not Solutions.NONE)
        for part, of, entries in (("hints", "hints for", tuple(self._book.entries)),
                                  ("worked", "worked solution of", told)):
            span = self._where.span(part, self._pages)
            if span:
                yield from self._headed(of, entries, self._heads[part], span[0])

    def _headed(
        self, of: str, entries: Iterable[Entry], first: Mapping[str, Head], start: int,
    ) -> Iterator[Difference]:
        for entry in entries:
            if entry.id in first:
                page, _, said = first[entry.id]
                yield from self.turned([Said(page, f"{of} '{entry.id}'", Told.PUZZLE, entry.id, said)])
            else:
                yield Difference(start, f"{of} '{entry.id}'", None,
                                 "its heading, with the page of the puzzle, is nowhere to be found")
