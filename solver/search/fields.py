"""A grid's candidates as one int: a field of bits for each cell. One operation then does all cells at once.

Cell c, from 0 in the puzzle's order, has its digits at bits c * width .. c * width + size - 1, digit 1 lowest.
The highest bit of each field, its guard, is 0 in a grid; it takes the carry where something is added to all fields
at once.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache


@dataclass(frozen=True, slots=True)
class Fields:
    """The shape of a grid's int: `low` has the lowest bit of every field, `every` all digits, `guard` the guards,
    `lowest` the lowest bit of each cell's field."""

    size: int
    width: int
    low: int
    every: int
    guard: int
    lowest: tuple[int, ...]

    def of(self, cells: Iterable[int]) -> int:
        """All digits of these cells."""
        low = 0
        for cell in cells:
            low |= self.lowest[cell]
        return (low << self.size) - low

    def pack(self, candidates: Sequence[int]) -> int:
        """A mask for each cell -> the grid."""
        grid = 0
        for mask in reversed(candidates):
            grid = grid << self.width | mask
        return grid

    def masks(self, grid: int) -> list[int]:
        """The grid -> a mask for each cell."""
        digits, width = (1 << self.size) - 1, self.width
        return [grid >> shift & digits for shift in range(0, len(self.lowest) * width, width)]

    def digits(self, grid: int) -> list[int]:
        """The grid -> the digit of each cell that has only one, 0 for the others; empty where all are open."""
        if self.open(grid) == self.guard:
            return []
        return [0 if mask & mask - 1 else mask.bit_length() for mask in self.masks(grid)]

    def placed(self, grid: int, cell: int, index: int) -> int:
        """The grid with digit `index` + 1 alone in its cell."""
        return grid & ~(((1 << self.size) - 1 ^ 1 << index) << cell * self.width)

    def open(self, grid: int) -> int:
        """The guards of the cells with more than one digit."""
        filled = grid + self.every
        return (grid & filled) + self.every & self.guard

    def cells(self, bits: int) -> list[int]:
        """The cells in whose fields a bit is set."""
        found = []
        while bits:
            cell = (bits.bit_length() - 1) // self.width
            found.append(cell)
            bits &= self.lowest[cell] - 1
        return found


@lru_cache(maxsize=16)
def fields(size: int, count: int | None = None) -> Fields:
    """The shape for so many cells with digits from 1 to `size`; those of a square of that side if left out."""
    width = size + 1
    lowest = tuple([1 << cell * width for cell in range(size**2 if count is None else count)])
    low = sum(lowest)
    return Fields(size, width, low, (low << size) - low, low << size, lowest)
