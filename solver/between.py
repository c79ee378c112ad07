"""What two cells can hold, and cells whose digits lie between theirs; digits are masks (bit d - 1 is digit d)."""

from __future__ import annotations

from collections.abc import Sequence

from cagework.solver.bitset import members

Apart = Sequence[Sequence[int]]
"""Cells that hold different digits, by their numbers."""


def held_between(first: int, last: int, inner: Sequence[int], apart: Apart = ()) -> tuple[int, ...]:
    """Return what each end can still hold, then each of `inner`, as every digit of these is greater than the one
    end's and less than the other's; nothing where no digits do. Those of each set of `apart` differ.

    Exact but for what `apart` says: of such cells only their number is reckoned with.
    """
    up = _rising(first, last, inner, apart)
    down = _rising(last, first, inner, apart)
    gap = up[2] | down[2]
    return (up[0] | down[1], up[1] | down[0], *[mask & gap for mask in inner]) if gap else ()


def orders(first: int, last: int, inner: Sequence[int], apart: Apart = ()) -> int:
    """Return in how many of two ways, the first end the less or the greater, digits can lie between."""
    return bool(_rising(first, last, inner, apart)[2]) + bool(_rising(last, first, inner, apart)[2])


def _rising(low: int, high: int, inner: Sequence[int], apart: Apart) -> tuple[int, int, int]:
    """What the less end and the greater can hold, and the digits of the widest gap; noughts where there is none.

    A gap that has room leaves it in every wider one, so each end is tried against the utmost of the other.
    """
    least, most = (low & -low).bit_length() - 1, high.bit_length() - 1

    def has_room(bottom: int, top: int) -> bool:
        gap = _gap(bottom, top)
        return all(mask & gap for mask in inner) and all(
            _union(inner, cells, gap).bit_count() >= len(cells) for cells in apart)

    if not low or not has_room(least, most):
        return 0, 0, 0
    lows = sum([1 << bottom for bottom in members(low) if bottom < most and has_room(bottom, most)])
    highs = sum([1 << top for top in members(high) if top > least and has_room(least, top)])
    return lows, highs, _gap(least, most)


def _gap(bottom: int, top: int) -> int:
    """All digits between two, by their bits."""
    return (1 << top) - (2 << bottom) if top > bottom else 0


def _union(inner: Sequence[int], cells: Sequence[int], gap: int) -> int:
    held = 0
    for cell in cells:
        held |= inner[cell]
    return held & gap
