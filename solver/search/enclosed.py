"""The propagator of lines whose ends bound the cells between: the grid -> what it loses by one, as `propagators`
have it.
"""

from __future__ import annotations

from collections.abc import Sequence

from cagework.solver.between import held_between
from cagework.solver.search.fields import Fields
from cagework.solver.search.propagators import Propagator


def line(shape: Fields, ends: Sequence[int], inner: Sequence[int], seen: Sequence[int]) -> Propagator:
    """Two ends and the cells between them; `seen` as for `propagators.cage`."""
    width, full = shape.width, (1 << shape.size) - 1
    first, last = (end * width for end in ends)
    places = [cell * width for cell in inner]
    apart = _apart(shape, inner, seen)

    def lost(grid: int) -> int:
        masks = grid >> first & full, grid >> last & full, *[grid >> place & full for place in places]
        kept = held_between(masks[0], masks[1], masks[2:], apart)
        if not kept:
            return -1
        gone = 0
        for before, after, place in zip(masks, kept, (first, last, *places), strict=True):
            gone |= (before ^ after) << place
        return gone

    return lost


def _apart(shape: Fields, inner: Sequence[int], seen: Sequence[int]) -> list[list[int]]:
    """Numbers of the cells in sets that see each other, of two or more."""
    parts: list[list[int]] = []
    for number, cell in enumerate(inner):
        for part in parts:
            if all(seen[inner[other]] & shape.lowest[cell] for other in part):
                part.append(number)
                break
        else:
            parts.append([number])
    return [part for part in parts if len(part) > 1]
