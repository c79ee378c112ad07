"""Fitting: matter as wished where there is room, tighter where there is not, and parts sacrificed in order."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from cagework.layouts.column import Element, over_grids
from cagework.typeset.columns.issue import Issue
from cagework.typeset.columns.matter import EDGE, ColumnMatter, Fixed, Tightness, Where
from cagework.typeset.columns.norms import LeastCells
from cagework.typeset.columns.pieces import ColumnPiece
from cagework.typeset.columns.series import SeriesSlot
from cagework.typeset.faults import listed
from cagework.typeset.marks import MM, Page
from cagework.typeset.text.fonts import Fonts

_DEGREES = 16
"""Into how many degrees the way from wished to least sizes is divided."""

_SLACK = 0.01


@dataclass(frozen=True, slots=True)
class Fitted:
    """One issue as a page of exactly the slot's size, and what had to give for it: `squeeze` from 0, nothing,
    to 1, everything at the least the paper holds.
    """

    issue: Issue
    page: Page
    squeeze: float
    dropped: tuple[Element, ...]


_HIGHER = "or make the slot higher, or let it name that part under 'sacrifice'"


@dataclass(frozen=True, slots=True)
class TooLarge:
    """An issue that its slot has no room for: by how much, and the way out."""

    issue: Issue
    why: str
    hint: str


@dataclass(frozen=True, slots=True)
class Run:
    """The issues of a run in one slot; for those that are larger than it, at the smallest sizes and without all
    that may go, by how much and what to drop. Where there are any of these, none is set.
    """

    fitted: tuple[Fitted, ...]
    too_large: tuple[TooLarge, ...] = ()


class Fitter:
    """Sets issues in one slot."""

    def __init__(self, slot: SeriesSlot, fonts: Fonts) -> None:
        self._design, self._without, self._fonts = slot.design, slot.without, fonts
        self._least_cells = LeastCells(slot.design, fonts)
        self._over = over_grids(slot.design.carries)
        self._room = slot.design.height * MM - 2 * EDGE

    def fit(self, issues: Sequence[Issue]) -> Run:
        """Set issues in the slot: headings, grids and all that stands over these are alike in size and place on
        all dates, as large as the tightest date allows; what comes after yields, date by date.
        """
        last = len(self._design.sacrifice)
        counts = [next((count for count in range(last + 1)
                        if self._fits(self._piece(issue, 1.0, self._gone(count)))), last + 1) for issue in issues]
        fixed: Fixed | None = None
        while True:
            if lost := [issue for issue, count in zip(issues, counts, strict=True) if count > last]:
                return Run((), tuple(self._too_large(issue, fixed) for issue in lost))
            gone = [self._gone(count, max(counts)) for count in counts]
            fixed = self._fixed(issues, gone, 1.0)
            room = [self._fits(self._piece(issue, 1.0, parts, fixed))
                    for issue, parts in zip(issues, gone, strict=True)]
            if all(room):
                break
            counts = [count if fits else count + 1 for count, fits in zip(counts, room, strict=True)]
        gone = [self._needed(issue, parts, fixed) for issue, parts in zip(issues, gone, strict=True)]
        fixed = self._fixed(issues, gone, _least(lambda degree: self._all_fit(issues, gone, degree)))
        return Run(tuple(self._fitted(issue, parts, fixed) for issue, parts in zip(issues, gone, strict=True)))

    def _gone(self, count: int, most: int = 0) -> frozenset[Element]:
        """What is left out where an issue gives up `count` parts: over the grids, what any issue gives up."""
        sacrifice = self._design.sacrifice
        return self._without | set(sacrifice[:count]) | (self._over & set(sacrifice[:most]))

    def _needed(self, issue: Issue, gone: frozenset[Element], fixed: Fixed) -> frozenset[Element]:
        """Of what an issue gives up all but what has room after all, beside or in the place of what went later."""
        for part in reversed(self._design.sacrifice):
            fewer = gone - {part}
            if part in gone - self._without - self._over and self._fits(self._piece(issue, 1.0, fewer, fixed)):
                gone = fewer
        return gone

    def _fixed(self, issues: Sequence[Issue], gone: Sequence[frozenset[Element]], squeeze: float) -> Fixed:
        """What is alike on all dates at some tightness."""
        heights: dict[Where, float] = {}
        for issue, parts in zip(issues, gone, strict=True):
            matter = self._matter(issue, squeeze, parts)
            matter.whole()
            heights |= {where: max(high, heights.get(where, 0.0)) for where, high in matter.over.items()}
        return Fixed(squeeze, heights)

    def _all_fit(self, issues: Sequence[Issue], gone: Sequence[frozenset[Element]], squeeze: float) -> bool:
        """Whether all can be set where what is alike is only so tight."""
        fixed = self._fixed(issues, gone, squeeze)
        return all(self._fits(self._piece(issue, 1.0, parts, fixed))
                   for issue, parts in zip(issues, gone, strict=True))

    def _fitted(self, issue: Issue, gone: frozenset[Element], fixed: Fixed) -> Fitted:
        design = self._design
        squeeze = _least(lambda degree: self._fits(self._piece(issue, degree, gone, fixed)))
        marks = self._piece(issue, squeeze, gone, fixed).draw(EDGE, EDGE, self._room)
        page = Page(design.width * MM, design.height * MM, marks)
        dropped = (part for part in design.sacrifice if part in gone - self._without)
        return Fitted(issue, page, max(squeeze, fixed.squeeze),
                      tuple(part for part in dropped if _is_there(issue, part)))

    def _matter(
        self, issue: Issue, squeeze: float, gone: frozenset[Element], fixed: Fixed | None = None,
    ) -> ColumnMatter:
        return ColumnMatter(issue, Tightness(squeeze, gone), self._fonts, self._least_cells, fixed)

    def _piece(
        self, issue: Issue, squeeze: float, gone: frozenset[Element], fixed: Fixed | None = None,
    ) -> ColumnPiece:
        return self._matter(issue, squeeze, gone, fixed).whole()

    def _fits(self, piece: ColumnPiece) -> bool:
        return piece.height <= self._room + _SLACK and piece.over <= _SLACK

    def _too_large(self, issue: Issue, fixed: Fixed | None) -> TooLarge:
        """By how much the matter is too large, with what is alike on all dates, where that is known; and what to
        drop.
        """
        design, gone = self._design, self._without | set(self._design.sacrifice)
        piece = self._piece(issue, 1.0, gone, fixed)
        paper = f"at the smallest sizes {design.stock} holds"
        after = f", without {listed([str(part) for part in design.sacrifice], 'and')}" if design.sacrifice else ""
        if piece.over > _SLACK:
            return TooLarge(issue, f"the matter is {piece.over / MM:.2f} mm too wide {paper}{after}",
                            "make the slot wider, or let it take only smaller grids (sizes)")
        return TooLarge(issue, self._too_high(piece, gone, issue, fixed, f"{paper}{after}"), _HIGHER)

    def _too_high(
        self, piece: ColumnPiece, gone: frozenset[Element], issue: Issue, fixed: Fixed | None, at: str,
    ) -> str:
        over = piece.height - self._room
        said = f"the matter is {over / MM:.2f} mm too high {at}"
        saved = sorted(
            (piece.height - self._piece(issue, 1.0, gone | {part}, fixed).height, part)
            for part in sorted(set(self._design.parts) - gone - {Element.GRID})
        )
        enough = next(((saving, part) for saving, part in saved if saving >= over - _SLACK), None)
        if enough is not None:
            return f"{said}; dropping '{enough[1]}' would save {enough[0] / MM:.2f} mm"
        chosen: list[Element] = []
        for _, part in reversed(saved):
            chosen.append(part)
            saving = piece.height - self._piece(issue, 1.0, gone | set(chosen), fixed).height
            if saving >= over - _SLACK:
                named = listed([f"'{one}'" for one in chosen], "and")
                return f"{said}; dropping {named} would save {saving / MM:.2f} mm"
        return f"{said}; with the grid alone it would still be too high"


def _least(fits: Callable[[float], bool]) -> float:
    """The least degree of tightness at which something fits, by halving; it fits at 1."""
    if fits(0.0):
        return 0.0
    low, high = 0, _DEGREES
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if fits(middle / _DEGREES) else (middle, high)
    return high / _DEGREES


def _is_there(issue: Issue, part: Element) -> bool:
    """Whether there was anything to drop: on a first date there is no earlier answer."""
    return issue.slot.carries(part) and (part is not Element.ANSWER or bool(issue.earlier))
