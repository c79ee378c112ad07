"""Pieces of a column: something of a known height that can be drawn; stacked, set side by side, turned round."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from cagework.typeset.marks import Group, Mark, half_turned

Draw = Callable[[float, float, float], tuple[Mark, ...]]
"""(x, y, height) -> marks: the top left corner in pt, and the height to fill."""


_MOST_STRETCH = 2.5
"""How many times its wish the white between pieces may become; what is left over stays at the foot."""


@dataclass(frozen=True, slots=True)
class ColumnPiece:
    """Matter `height` pt high at least; `over` is how much wider it is than its measure, 0 where it fits.

    `before` is the white wanted above it, dropped at the head of a stack; where it is `kept`, it never stretches.
    """

    height: float
    draw: Draw
    before: float = 0.0
    over: float = 0.0
    kept: bool = False


def solid(
    height: float, draw: Callable[[float, float], tuple[Mark, ...]], before: float, over: float = 0.0,
) -> ColumnPiece:
    """A piece that keeps its height whatever room it is given."""
    return ColumnPiece(height, lambda x, y, _room: draw(x, y), before, max(0.0, over))


def stacked(pieces: Sequence[ColumnPiece], before: float = 0.0) -> ColumnPiece:
    """Pieces under each other; room left over goes into the white between them, as far as that looks well."""
    white = sum(piece.before for piece in pieces[1:] if not piece.kept)
    height = sum(piece.height for piece in pieces) + sum(piece.before for piece in pieces[1:])

    def draw(x: float, y: float, room: float) -> tuple[Mark, ...]:
        stretch = min(_MOST_STRETCH, 1.0 + max(0.0, room - height) / white) if white else 1.0
        marks: list[Mark] = []
        for number, piece in enumerate(pieces):
            y += (1.0 if piece.kept else stretch) * piece.before if number else 0.0
            marks += piece.draw(x, y, piece.height)
            y += piece.height
        return tuple(marks)

    return ColumnPiece(height, draw, before, max((piece.over for piece in pieces), default=0.0))


def kept_high(piece: ColumnPiece, height: float) -> ColumnPiece:
    """A piece that stands at the top of at least so much height."""
    return solid(max(piece.height, height), lambda x, y: piece.draw(x, y, piece.height), piece.before, piece.over)


def side_by_side(pieces: Sequence[tuple[float, ColumnPiece]], before: float) -> ColumnPiece:
    """Pieces beside each other, each at its x, level at the top."""
    height = max(piece.height for _, piece in pieces)

    def draw(x: float, y: float, _room: float) -> tuple[Mark, ...]:
        return tuple(mark for at, piece in pieces for mark in piece.draw(x + at, y, piece.height))

    return ColumnPiece(height, draw, before, max(piece.over for _, piece in pieces))


def upside_down(piece: ColumnPiece, width: float) -> ColumnPiece:
    """A piece turned by half within its own box."""
    def draw(x: float, y: float, _room: float) -> tuple[Mark, ...]:
        middle = (x + width / 2, y + piece.height / 2)
        return (Group("turned", tuple(half_turned(mark, *middle) for mark in piece.draw(x, y, piece.height))),)

    return ColumnPiece(piece.height, draw, piece.before, piece.over)
