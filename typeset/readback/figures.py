"""The figures in one grid, cell by cell: sums in their corners, digits in the middle, and nothing else."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from enum import StrEnum
from functools import lru_cache
from typing import NamedTuple

from cagework.solver.model import Cell
from cagework.typeset.draw.shown import GridKind
from cagework.typeset.draw.squares import Squares
from cagework.typeset.readback.difference import Difference
from cagework.typeset.readback.expected import Expected
from cagework.typeset.readback.grid_area import GridArea
from cagework.typeset.readback.grid_places import GridPlace
from cagework.typeset.readback.page_content import HIGH, MIDDLE, Glyph
from cagework.typeset.reader.paint import made

_CORNER = 0.13, 0.17
"""How far from its cell's left and top a sum may begin, in cells."""

_SMALL = 0.42
"""Type smaller than this share of a cell is no digit in the middle of it."""

_APART = 0.3, 0.05
"""Letters further apart are no word, in ems; of a diagram's small figures, which stand near, no number."""

_MIDDLE = 0.1
"""How far from the middle of its cell a digit may stand, in cells."""

_UNDER_A_SUM = 0.3
"""How far below the middle a digit may stand in a cell that has a sum, in cells: clear of it, within the cell."""


class CellPart(StrEnum):
    """Where in its cell a figure stands."""

    CORNER = "corner"
    MIDDLE = "middle"
    SMALL = "small"      # small figures of a diagram
    ASTRAY = "astray"


class Figure(NamedTuple):
    """Letters that stand together in a cell."""

    text: str
    spot: CellPart


def compare_figures(area: GridArea, wanted: Expected) -> Iterator[Difference]:
    """What the figures of a grid say that they should not, and the other way round."""
    place = area.place
    found = {cell: _figures(place, cell, glyphs, _UNDER_A_SUM if cell in wanted.sums else _MIDDLE)
             for cell, glyphs in glyphs_by_cell(area).items()}
    known = {str(digit): digit for digit in wanted.puzzle.digits}
    for cell in wanted.puzzle.cells:
        there, due = found.get(cell, []), _due(wanted, cell)
        if there != due and not (cell in wanted.small and _is_noted(there, due, wanted.small[cell], known)):
            for message in _amiss(place.shown.kind, wanted, cell, there):
                yield Difference(place.page, place.name, cell, message)


def _is_noted(
    figures: Sequence[Figure], due: Sequence[Figure], least: frozenset[int], known: Mapping[str, int],
) -> bool:
    """Whether a cell shows what is due and, besides, notes alone, as they should be."""
    notes = [known.get(figure.text, -1) for figure in figures if figure.spot is CellPart.SMALL]
    different = set(notes)
    return (-1 not in different and len(different) == len(notes) and least <= different
            and [figure for figure in figures if figure.spot is not CellPart.SMALL] == due)


def _due(wanted: Expected, cell: Cell) -> list[Figure]:
    """What a cell shows where it has no small figures: a sum over a digit."""
    due = [Figure(str(wanted.sums[cell]), CellPart.CORNER)] if cell in wanted.sums else []
    return [*due, Figure(str(wanted.digits[cell]), CellPart.MIDDLE)] if cell in wanted.digits else due


def glyphs_by_cell(area: GridArea) -> dict[Cell, list[Glyph]]:
    """The letters that can be seen in a grid, by the cell that holds their middle: neither clipped away nor
    painted over.
    """
    place, latest = area.place, area.latest
    left, right, top, bottom = place.x, place.x + place.width, place.y, place.y + place.height
    side, last, rows = place.cell, place.squares.across - 1, _rows(place.squares)
    found: dict[Cell, list[Glyph]] = {}
    for said, starts, ends, _, shown, hidden, base, size, order in area.runs:
        y = base - MIDDLE * size
        if not top <= y <= bottom:
            continue
        row, over = rows[min(int((y - top) / side), len(rows) - 1)], order < latest
        for char, start, end in zip(said, starts, ends, strict=True):
            x = (start + end) / 2
            if left <= x <= right and shown <= x <= hidden:
                column = int((x - left) / side)
                cell = row[column if column < last else last]
                if over and area.hides(cell, x, y, order):
                    continue
                glyph = made(Glyph, (char, start, end, base, size))
                if cell in found:
                    found[cell].append(glyph)
                else:
                    found[cell] = [glyph]
    return found


@lru_cache(maxsize=64)
def _rows(squares: Squares) -> tuple[tuple[Cell, ...], ...]:
    """The squares of a frame, row by row."""
    return tuple(tuple(Cell(row, col) for col in range(squares.left, squares.right + 1))
                 for row in range(squares.top, squares.bottom + 1))


def _figures(place: GridPlace, cell: Cell, glyphs: Sequence[Glyph], lowest: float) -> list[Figure]:
    """A cell's letters, those that stand together joined; a digit stands at most `lowest` below the middle."""
    left, top = place.corner(cell)
    side = place.cell
    if len(glyphs) == 1:
        return [_figure(glyphs, left, top, side, lowest)]
    in_diagram = place.shown.kind is GridKind.STAGE
    figures: list[Figure] = []
    joined: list[Glyph] = []
    line, reached = 0.0, 0.0
    for base, start, _, glyph in sorted([
            (round(glyph[3], 1), glyph[1], number, glyph) for number, glyph in enumerate(glyphs)]):
        if joined:
            size = glyph.size
            apart = _APART[in_diagram and size < _SMALL * side]
            if base != line or start - reached > apart * size:
                figures.append(_figure(joined, left, top, side, lowest))
                joined = []
        line, reached = base, glyph.right
        joined.append(glyph)
    figures.append(_figure(joined, left, top, side, lowest))
    return figures


def _figure(glyphs: Sequence[Glyph], left: float, top: float, side: float, lowest: float) -> Figure:
    said, start, end, base, size = glyphs[0]
    if len(glyphs) > 1:
        said, end = "".join([glyph.said for glyph in glyphs]), glyphs[-1].right
    over, down = (start - left) / side, (base - HIGH * size - top) / side
    if -0.05 < over < _CORNER[0] and -0.05 < down < _CORNER[1]:
        spot = CellPart.CORNER
    elif size < _SMALL * side:
        spot = CellPart.SMALL
    elif (abs(((start + end) / 2 - left) / side - 0.5) < _MIDDLE
          and -_MIDDLE < (base - MIDDLE * size - top) / side - 0.5 < lowest):
        spot = CellPart.MIDDLE
    else:
        spot = CellPart.ASTRAY
    return made(Figure, (said, spot))


def _amiss(kind: GridKind, wanted: Expected, cell: Cell, figures: Sequence[Figure]) -> Iterator[str]:
    """What is wrong in one cell, in words."""
    yield from _stands(figures, CellPart.CORNER, "sum", wanted.sums.get(cell))
    word = {GridKind.PUZZLE: "given", GridKind.ANSWER: "digit", GridKind.STAGE: "digit"}[kind]
    digit = wanted.digits.get(cell)
    middle = [figure.text for figure in figures if figure.spot is CellPart.MIDDLE]
    if kind is GridKind.PUZZLE and digit is None and str(wanted.answer.at(cell)) in middle:
        yield f"'{wanted.answer.at(cell)}', its answer, stands in a cell the reader is to fill"
    else:
        yield from _stands(figures, CellPart.MIDDLE, word, digit)
    small = [figure.text for figure in figures if figure.spot is CellPart.SMALL]
    letters = [text for text in small if text.isalpha()]
    notes = [text for text in small if not text.isalpha()]
    stray = [figure.text for figure in figures if figure.spot is CellPart.ASTRAY]
    if cell not in wanted.small:
        stray += notes
    elif notes:
        yield from _notes(notes, wanted.small[cell], wanted.puzzle.digits)
    if letters and letters != [wanted.lettered.get(cell)]:
        stray += letters
    yield from (f"'{text}' stands where nothing should" for text in stray)


def _stands(figures: Sequence[Figure], spot: CellPart, word: str, want: int | None) -> Iterator[str]:
    there = [figure.text for figure in figures if figure.spot is spot]
    where = "in its corner " if spot is CellPart.CORNER else ""
    if want is None:
        yield from (f"'{text}' stands {where}where no {word} should" for text in there)
    elif not there:
        yield f"the {word} {want} does not stand {where or 'where it should'}".rstrip()
    elif there != [str(want)]:
        yield f"'{' '.join(there)}' stands where the {word} {want} should"


def _notes(said: Sequence[str], least: frozenset[int], digits: range) -> Iterator[str]:
    """Notes are different digits, the answer's and the struck ones among them."""
    known = set(map(str, digits))
    if len(set(said)) < len(said) or not known.issuperset(said) or not least.issubset(map(int, said)):
        needed = " ".join(map(str, sorted(least)))
        yield f"the small figures '{' '.join(said)}' should be different digits, {needed} among them"
