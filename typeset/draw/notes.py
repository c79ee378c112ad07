"""Where notes, the digits still open, stand in a cell: each in a place of its own, clear of sum and lines."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import accumulate

from cagework.typeset.draw.labels import sum_end, sum_foot
from cagework.typeset.draw.look import GridLook
from cagework.typeset.text.fonts import Fonts

FACE, LETTER_FACE = "sans", "sans-semibold"
_ACROSS = {4: (2,), **dict.fromkeys(range(5, 7), (3, 2)), **dict.fromkeys(range(7, 10), (3,)),
           **dict.fromkeys(range(10, 13), (4, 3)), **dict.fromkeys(range(13, 17), (4,))}
"""Size -> how many notes may stand side by side."""

_BESIDE, _BELOW = 0.08, 0.1
"""Least white between notes side by side (from pen to pen), and between one and the next below, in ems."""

_WELL = 0.3
"""White between notes side by side that reads well, in ems."""

_LOOSE, _LOW, _HIGH = 0.5, 0.25, 0.16
"""White at the most: side by side, and one below the other, under a sum and beside it, in ems."""

_OVER, _UNDER = 0.02, 0.02
"""How far round figures reach over their flat height and under the baseline, in ems."""

_LARGEST = 0.3
"""The largest type of notes, as a share of the cell."""

_MARGIN, _CLEAR = 0.3, 0.4
"""White between notes and the cage's line, and between notes and a sum, in pt."""

_BETTER = 1.08
"""Notes stand beside the sum, not under it, where they are so many times as large there."""

_FINE = 0.05
"""By so much a cell is made larger until notes have room, in pt."""


@dataclass(frozen=True, slots=True)
class NotePlaces:
    """Notes of one type size in one kind of cell, in pt from the cell's top left: the middle of each column, the
    baseline of each row. The letter of a step ends over the notes or the digit at
    `over`; where notes are beside the sum, it starts at `under` it.
    """

    size: float
    columns: tuple[float, ...]
    rows: tuple[float, ...]
    over: tuple[float, float]
    under: tuple[float, float] | None

    def at(self, digit: int) -> tuple[float, float]:
        """The middle and the baseline of a digit."""
        row, column = divmod(digit - 1, len(self.columns))
        return self.columns[column], self.rows[row]


def note_places(fonts: Fonts, look: GridLook, digits: int, figures: int) -> NotePlaces:
    """Notes for the digits from 1 to `digits` in cells with a sum of so many figures at the most: the largest that
    are well apart, or, where that is too small, the least that the look has.

    They may be smaller than its `least_note`: then there is no room for them.
    """
    tried = [(box, _Table(fonts, digits, across)) for across in _ACROSS[digits]
             for box in _boxes(fonts, look, figures)]

    def worth(one: tuple[_Box, _Table]) -> float:
        return one[1].size_in(one[0], look) / (_BETTER if one[0].beside else 1.0)

    roomy = [(box, table) for box, table in tried if table.size_in(box, look) >= look.least_note]
    box, table = max(roomy or tried, key=worth)
    size = table.size_in(box, look)
    columns, rows = table.set_in(box, size)
    edge = _edge(look)
    return NotePlaces(size, columns, rows, (box.right, _letter_foot(fonts, look)),
                      (edge, rows[-1]) if box.beside else None)


def least_cell(fonts: Fonts, look_at: Callable[[float], GridLook], digits: int, figures: int) -> float:
    """The least cell side, in pt, of the looks that `look_at` gives for it, in which notes have room."""
    cell = 8.0
    while True:
        look = look_at(cell)
        if note_places(fonts, look, digits, figures).size >= look.least_note:
            return cell
        cell += _FINE


@dataclass(frozen=True, slots=True)
class _Box:
    """Room for notes in a cell: under the sum, or `beside` it."""

    left: float
    top: float
    right: float
    bottom: float
    beside: bool


def _boxes(fonts: Fonts, look: GridLook, figures: int) -> tuple[_Box, ...]:
    edge = _edge(look)
    far = look.cell - edge
    aside = max(sum_end(look, fonts, figures), edge + fonts[LETTER_FACE].width("d", look.step_letter))
    foot = sum_foot(look, fonts) if figures else 0.0
    return (_Box(edge, max(foot, _letter_foot(fonts, look)) + _CLEAR, far, far, False),
            _Box(aside + _CLEAR, edge, far, far, True))


def _edge(look: GridLook) -> float:
    """How far from its cell's edges what stands clear of the heaviest outline of a cage begins, in pt."""
    return look.cause_inset + max(look.cause_line, look.cage_line) / 2 + _MARGIN


def _letter_foot(fonts: Fonts, look: GridLook) -> float:
    """How far below the top of its cell the letter of a step ends, in pt."""
    return _edge(look) + fonts[LETTER_FACE].bounds("d", look.step_letter).top + _OVER * look.step_letter


class _Table:
    """Digits in rows, in ems: how wide each column is, and the whole."""

    def __init__(self, fonts: Fonts, digits: int, across: int) -> None:
        face = fonts[FACE]
        self._across, self._down = across, -(-digits // across)
        self._widths = [max(face.width(str(digit), 1.0) for digit in range(first, digits + 1, across))
                        for first in range(1, across + 1)]
        ink = face.bounds("4", 1.0)
        self._bearing = ink.left + face.width("4", 1.0) - ink.right
        self._high = face.figure_height + _OVER + _UNDER

    def _wide(self, gap: float) -> float:
        return sum(self._widths) + (self._across - 1) * gap - self._bearing

    def _tall(self, gap: float) -> float:
        return self._down * self._high + (self._down - 1) * gap

    def size_in(self, box: _Box, look: GridLook) -> float:
        """The size of type that goes into a box, in pt: the largest well apart, else the least, if at all."""
        def largest(beside: float, below: float) -> float:
            return min((box.right - box.left) / self._wide(beside), (box.bottom - box.top) / self._tall(below))

        close, well = largest(_BESIDE, _BELOW), largest(_WELL, _BELOW)
        return min(close, max(look.least_note, min(well, _LARGEST * look.cell)))

    def set_in(self, box: _Box, size: float) -> tuple[tuple[float, ...], tuple[float, ...]]:
        """Columns and rows of notes, in the middle of the room under a sum, at the foot of that beside it."""
        wide, tall = (box.right - box.left) / size, (box.bottom - box.top) / size
        beside = _between(_BESIDE, (wide - self._wide(0.0)) / max(1, self._across - 1), _LOOSE)
        below = _between(_BELOW, (tall - self._tall(0.0)) / max(1, self._down - 1), _HIGH if box.beside else _LOW)
        left = (box.left + box.right - size * (self._wide(beside) + self._bearing)) / 2
        top = box.top + (box.bottom - box.top - size * self._tall(below)) * (1.0 if box.beside else 0.5)
        starts = accumulate(self._widths[:-1], lambda at, width: at + width + beside, initial=0.0)
        columns = [left + size * (start + width / 2) for start, width in zip(starts, self._widths, strict=True)]
        rows = [top + size * (row * (self._high + below) + self._high - _UNDER) for row in range(self._down)]
        return tuple(columns), tuple(rows)


def _between(least: float, wish: float, most: float) -> float:
    return max(least, min(wish, most))
