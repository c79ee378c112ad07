"""Which marks of a page are printed in the book's second ink, as the layout says."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from cagework.typeset.draw.setting import Setting
from cagework.typeset.marks import Fill, Group, Mark, Picture, Ring
from cagework.typeset.spot import SpotInk

_GROUPS = {"tab": "tabs", "motif": "openers", "sums": "labels", "marked": "diagrams", "squares": "squares"}
"""Names of groups -> what the layout calls them."""


def in_second_ink(setting: Setting, marks: Iterable[Mark]) -> tuple[Mark, ...]:
    """A page's marks, those that the layout wants so in the second ink; as they are where the book has none.

    White stays white. A patch that lets a figure stand out from a tinted cell of a diagram is of the cell's ink.
    """
    spot = setting.book.ink
    if spot is None:
        return tuple(marks)
    return tuple(_inked(mark, spot, frozenset(setting.layout.second_ink), ()) for mark in marks)


def _inked(mark: Mark, spot: SpotInk, wanted: frozenset[str], tinted: Sequence[Fill]) -> Mark:
    if isinstance(mark, Group):
        if _GROUPS.get(mark.name) in wanted:
            return _whole(mark, spot)
        if mark.name in ("diagram", "grid") and "diagrams" in wanted:
            tinted = tinted or tuple(_marked(mark))
        if mark.name == "tints":        # below the marked cells
            return mark
        return replace(mark, marks=tuple(_inked(one, spot, wanted, tinted) for one in mark.marks))
    if isinstance(mark, Fill) and any(mark.ink == cell.ink and _within(mark.rings, cell.rings) for cell in tinted):
        return mark._replace(spot=spot)
    return mark


def _whole(mark: Mark, spot: SpotInk) -> Mark:
    if isinstance(mark, Group):
        return replace(mark, marks=tuple(_whole(one, spot) for one in mark.marks))
    return mark if isinstance(mark, Picture) or not mark.ink else mark._replace(spot=spot)


def _marked(group: Group) -> Iterable[Fill]:
    for mark in group.marks:
        if isinstance(mark, Group):
            cells = (one for one in mark.marks if isinstance(one, Fill))
            yield from cells if mark.name == "marked" else _marked(mark)


def _within(rings: Sequence[Ring], cells: Sequence[Ring]) -> bool:
    """Whether a shape's middle lies in one of some upright rectangles."""
    xs, ys = zip(*(point for ring in rings for point in ring), strict=True)
    x, y = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    return any(min(point[0] for point in cell) <= x <= max(point[0] for point in cell)
               and min(point[1] for point in cell) <= y <= max(point[1] for point in cell) for cell in cells)
