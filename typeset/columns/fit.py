"""Fitting: matter as wished where there is room, tighter where there is not, and parts sacrificed in order."""

from __future__ import annotations

from dataclasses import dataclass

from cagework.layouts.column import Element
from cagework.typeset.columns.issue import Issue
from cagework.typeset.columns.matter import EDGE, ColumnMatter, Tightness
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


class DoesNotFit(Exception):  # noqa: N818 - it says what is the matter
    """The matter is larger than the slot, at the smallest sizes and without all that may go. The text says by how
    much and what to drop.
    """


class Fitter:
    """Sets issues in one slot."""

    def __init__(self, slot: SeriesSlot, fonts: Fonts) -> None:
        self._design, self._without, self._fonts = slot.design, slot.without, fonts
        self._least_cells = LeastCells(slot.design, fonts)
        self._room = slot.design.height * MM - 2 * EDGE

    def fit(self, issue: Issue) -> Fitted:
        """Set an issue in the slot. DoesNotFit where that cannot be."""
        design = self._design
        for count in range(len(design.sacrifice) + 1):
            dropped = tuple(design.sacrifice[:count])
            gone = self._without | set(dropped)
            found = self._loosest(issue, gone)
            if found is not None:
                squeeze, piece = found
                page = Page(design.width * MM, design.height * MM, piece.draw(EDGE, EDGE, self._room))
                return Fitted(issue, page, squeeze, tuple(part for part in dropped if _is_there(issue, part)))
        raise DoesNotFit(self._why(issue))

    def _loosest(self, issue: Issue, gone: frozenset[Element]) -> tuple[float, ColumnPiece] | None:
        """The least degree of tightness that fits, by halving, and the matter at it; None where none does."""
        if self._fits(piece := self._piece(issue, 0.0, gone)):
            return 0.0, piece
        if not self._fits(best := self._piece(issue, 1.0, gone)):
            return None
        low, high = 0, _DEGREES
        while high - low > 1:
            middle = (low + high) // 2
            if self._fits(piece := self._piece(issue, middle / _DEGREES, gone)):
                high, best = middle, piece
            else:
                low = middle
        return high / _DEGREES, best

    def _piece(self, issue: Issue, squeeze: float, gone: frozenset[Element]) -> ColumnPiece:
        return ColumnMatter(issue, Tightness(squeeze, gone), self._fonts, self._least_cells).whole()

    def _fits(self, piece: ColumnPiece) -> bool:
        return piece.height <= self._room + _SLACK and piece.over <= _SLACK

    def _why(self, issue: Issue) -> str:
        """By how much the matter is too large, and what to drop."""
        design, gone = self._design, self._without | set(self._design.sacrifice)
        piece = self._piece(issue, 1.0, gone)
        paper = f"at the smallest sizes {design.stock} holds"
        after = f", without {listed([str(part) for part in design.sacrifice], 'and')}" if design.sacrifice else ""
        if piece.over > _SLACK:
            return f"the matter is {piece.over / MM:.2f} mm too wide {paper}{after}"
        over = piece.height - self._room
        said = f"the matter is {over / MM:.2f} mm too high {paper}{after}"
        saved = sorted(
            (piece.height - self._piece(issue, 1.0, gone | {part}).height, part)
            for part in sorted(set(design.parts) - gone - {Element.GRID})
        )
        enough = next(((saving, part) for saving, part in saved if saving >= over - _SLACK), None)
        if enough is not None:
            return f"{said}; dropping '{enough[1]}' would save {enough[0] / MM:.2f} mm"
        chosen: list[Element] = []
        for _, part in reversed(saved):
            chosen.append(part)
            saving = piece.height - self._piece(issue, 1.0, gone | set(chosen)).height
            if saving >= over - _SLACK:
                named = listed([f"'{one}'" for one in chosen], "and")
                return f"{said}; dropping {named} would save {saving / MM:.2f} mm"
        return f"{said}; with the grid alone it would still be too high"


def _is_there(issue: Issue, part: Element) -> bool:
    """Whether there was anything to drop: on a first date there is no earlier answer."""
    return issue.slot.carries(part) and (part is not Element.ANSWER or bool(issue.earlier))
