"""Fitting: matter as wished where there is room, tighter where there is not, and parts sacrificed in order."""

from __future__ import annotations

from dataclasses import dataclass

from cagework.layouts.column import Part
from cagework.typeset.columns.issue import Issue
from cagework.typeset.columns.matter import Matter, Tightness
from cagework.typeset.columns.pieces import Piece
from cagework.typeset.faults import listed
from cagework.typeset.marks import MM, Page
from cagework.typeset.text import Fonts

_GRADES = 16
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
    dropped: tuple[Part, ...]


class DoesNotFit(Exception):  # noqa: N818 - it says what is the matter
    """The matter is larger than the slot, at the smallest sizes and without all that may go. The text says by how
    much and what to drop.
    """


def fit(issue: Issue, fonts: Fonts) -> Fitted:
    """Set an issue in its slot. DoesNotFit where that cannot be."""
    slot = issue.setting.slot
    width, height = slot.width * MM, slot.height * MM
    for count in range(len(slot.sacrifice) + 1):
        dropped = tuple(slot.sacrifice[:count])
        gone = frozenset(dropped)
        if not _fits(Matter(issue, Tightness(1.0, gone), fonts).whole(), height):
            continue
        squeeze = _least_squeeze(issue, gone, fonts, height)
        piece = Matter(issue, Tightness(squeeze, gone), fonts).whole()
        page = Page(width, height, piece.draw(0.0, 0.0, height))
        return Fitted(issue, page, squeeze, tuple(part for part in dropped if _carried(issue, part)))
    raise DoesNotFit(_why(issue, fonts, height))


def _fits(piece: Piece, height: float) -> bool:
    return piece.height <= height + _SLACK and piece.over <= _SLACK


def _least_squeeze(issue: Issue, gone: frozenset[Part], fonts: Fonts, height: float) -> float:
    """The least degree of tightness that fits, by halving; the greatest is known to."""
    low, high = -1, _GRADES
    while high - low > 1:
        middle = (low + high) // 2
        if _fits(Matter(issue, Tightness(middle / _GRADES, gone), fonts).whole(), height):
            high = middle
        else:
            low = middle
    return high / _GRADES


def _carried(issue: Issue, part: Part) -> bool:
    """Whether there was anything to drop: on a first date there is no earlier answer."""
    return part is not Part.ANSWER or bool(issue.earlier)


def _why(issue: Issue, fonts: Fonts, height: float) -> str:
    slot = issue.setting.slot
    gone = frozenset(slot.sacrifice)
    piece = Matter(issue, Tightness(1.0, gone), fonts).whole()
    paper = f"at the smallest sizes {slot.stock} holds"
    after = f", without {listed([str(part) for part in slot.sacrifice], 'and')}" if slot.sacrifice else ""
    if piece.over > _SLACK:
        return f"the matter is {piece.over / MM:.2f} mm too wide {paper}{after}"
    over = piece.height - height
    said = f"the matter is {over / MM:.2f} mm too high {paper}{after}"
    saved = sorted(
        (piece.height - Matter(issue, Tightness(1.0, gone | {part}), fonts).whole().height, part)
        for part in sorted(set(slot.parts) - gone - {Part.GRID})
    )
    enough = next(((saving, part) for saving, part in saved if saving >= over - _SLACK), None)
    if enough is not None:
        return f"{said}; dropping '{enough[1]}' would save {enough[0] / MM:.2f} mm"
    return f"{said}; no one part would save as much: {_several(issue, fonts, over, saved)}"


def _several(issue: Issue, fonts: Fonts, over: float, saved: list[tuple[float, Part]]) -> str:
    """The parts to drop, largest first, until the rest fits."""
    gone = frozenset(issue.setting.slot.sacrifice)
    whole = Matter(issue, Tightness(1.0, gone), fonts).whole().height
    chosen: list[Part] = []
    for _, part in reversed(saved):
        chosen.append(part)
        saving = whole - Matter(issue, Tightness(1.0, gone | set(chosen)), fonts).whole().height
        if saving >= over - _SLACK:
            named = listed([f"'{one}'" for one in chosen], "and")
            return f"drop {named}, {saving / MM:.2f} mm together"
    return "the grid alone is too high"
