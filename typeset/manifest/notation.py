"""The small written forms inside a manifest: letter maps, cell lists, digit grids, language tags.

Each reader returns what it could read and a slip for everything it could not, by character offset
in the text, so that a caret can stand under the very letter.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cagework.solver.model import SIZES, Cell
from cagework.typeset.faults import counted, listed, quoted

if TYPE_CHECKING:
    from cagework.solver.rule import Named

NO_CAGE = "."
"""Stands in a letter map for a cell in no cage, and in a digit grid for an empty cell."""

ROW_BY_ROW = "start it with '|', as in map: |, and put each row on a line of its own below"
"""How a block is written."""

BLACK = "#"
"""Stands in the map of crossing sums for a black square; a white one is as a cell in no cage."""

_DIGITS = "0123456789ABCDEFG"
_LOOKS_LIKE_DIGITS = re.compile("[0-9lIOo]{1,4}", re.ASCII)
_DIGITS_MEANT = str.maketrans("lIOo", "1100")
_TOKEN = re.compile(r"[^\s,]+")
_CELL = re.compile(r"r([0-9]{1,3})c([0-9]{1,3})", re.IGNORECASE | re.ASCII)
_LANGUAGE = re.compile(
    r"[a-z]{2,3}(-[a-z]{3}){0,3}(-[a-z]{4})?(-([a-z]{2}|\d{3}))?(-([a-z0-9]{5,8}|\d[a-z0-9]{3}))*"
    r"(-[a-wy-z0-9](-[a-z0-9]{2,8})+)*(-x(-[a-z0-9]{1,8})+)?",
    re.IGNORECASE | re.ASCII,
)


@dataclass(frozen=True, slots=True)
class Slip:
    """Something wrong in a text: the offset and length of the characters at fault, what, the way out."""

    offset: int
    length: int
    message: str
    hint: str = ""


@dataclass(frozen=True, slots=True)
class MapSymbol:
    """One character of a grid text, and its offset in the text."""

    char: str
    offset: int


@dataclass(frozen=True, slots=True)
class Listed:
    """A cell of a cell list, with the offset and length of the words that name it."""

    cell: Cell
    offset: int
    length: int


Grid = Mapping[Cell, MapSymbol]
"""A block text of size x size characters, by cell."""


def read_grid(text: str, size: int, what: str) -> tuple[Grid | None, tuple[Slip, ...]]:
    """Read a block text, one character per cell; spaces and blank lines do not count.

    None, with a slip for each misshapen row, where it is not size x size. `what` names the text in
    messages: 'the map'.
    """
    rows = [row for row in rows_of(text) if row]
    slips = tuple(_shape_slips(rows, size, what))
    if slips:
        return None, slips
    return {
        Cell(r, c): symbol for r, row in enumerate(rows, 1) for c, symbol in enumerate(row, 1)
    }, ()


WIDEST = 30
"""The most rows or columns of crossing sums."""


def read_squares(text: str) -> tuple[Grid | None, tuple[Slip, ...]]:
    """Read a map of black and white squares, a line a row. None, with a slip for each row at fault, where one is
    not as long as most, or holds anything else.
    """
    rows = [row for row in rows_of(text) if row]
    slips = tuple(_square_slips(rows))
    if slips:
        return None, slips
    return {Cell(r, c): symbol for r, row in enumerate(rows, 1) for c, symbol in enumerate(row, 1)}, ()


def _square_slips(rows: list[tuple[MapSymbol, ...]]) -> Iterator[Slip]:
    if not rows:
        yield Slip(0, 1, "the map is empty",
                   f"write a line a row, '{BLACK}' for black and '{NO_CAGE}' for white squares")
        return
    lengths = [len(row) for row in rows]
    usual = max(lengths, key=lengths.count)
    for number, row in enumerate(rows, 1):
        if len(row) != usual:
            yield Slip(row[0].offset, _extent(row),
                       f"row {number} of the map has {counted(len(row), 'square')}; most rows have {usual}")
        for symbol in row:
            if symbol.char not in (BLACK, NO_CAGE):
                yield Slip(symbol.offset, 1, f"{quoted(symbol.char)} in row {number} is no square",
                           f"'{BLACK}' is a black square and '{NO_CAGE}' a white one")
                break
    if max(len(rows), usual) > WIDEST:
        yield Slip(rows[0][0].offset, _extent(rows[0]), f"the map is {len(rows)} x {usual} squares",
                   f"there is room for {WIDEST} x {WIDEST}")


def rows_of(text: str) -> Iterator[tuple[MapSymbol, ...]]:
    """The characters of each line of a text, blanks left out."""
    offset = 0
    for line in text.split("\n"):
        yield tuple(MapSymbol(char, offset + i) for i, char in enumerate(line) if not char.isspace())
        offset += len(line) + 1


def _shape_slips(rows: list[tuple[MapSymbol, ...]], size: int, what: str) -> Iterator[Slip]:
    grid = f"a {size} x {size} grid"
    if not rows:
        yield Slip(0, 1, f"{what} is empty", f"write {size} rows of {size} characters")
        return
    if len(rows) == 1:
        yield Slip(rows[0][0].offset, _extent(rows[0]), f"{what} is one line; {grid} has {size} rows",
                   ROW_BY_ROW)
        return
    if {len(row) for row in rows} == {len(rows)} and size != len(rows) in SIZES:
        yield Slip(rows[0][0].offset, _extent(rows[0]),
                   f"{what} is {len(rows)} x {len(rows)}, but the puzzle's size is {size}",
                   f"write size: {len(rows)} for this puzzle")
        return
    for number, row in enumerate(rows[:size], 1):
        if len(row) != size:
            yield Slip(row[0].offset, _extent(row),
                       f"row {number} of {what} has {counted(len(row), 'cell')}; {grid} needs {size}",
                       "a block holds no comments" if any(symbol.char == "#" for symbol in row) else "")
    if len(rows) > size:
        extra = rows[size]
        yield Slip(extra[0].offset, _extent(extra), f"{what} has {len(rows)} rows; {grid} has {size}")
    elif len(rows) < size:
        last = rows[-1]
        yield Slip(last[0].offset, _extent(last), f"{what} ends after {len(rows)} rows; {grid} has {size}")


def _extent(row: tuple[MapSymbol, ...]) -> int:
    return row[-1].offset - row[0].offset + 1


def read_cells(text: str, size: int) -> tuple[tuple[Listed, ...], tuple[Slip, ...]]:
    """Read cells and runs parted by spaces or commas: `r1c1 r2c1-r2c4`. A run between corners out of
    line is the filled rectangle. Cells stand in the order written, repeats included. Words that are no cells are
    one slip.
    """
    cells: list[Listed] = []
    slips: list[Slip] = []
    strange = []
    for found in _TOKEN.finditer(text):
        offset, length = found.start(), len(found[0])
        ends: list[Cell] = []
        for part in found[0].split("-", 1):
            cell = _CELL.fullmatch(part)
            if not cell:
                strange.append(found)
                break
            row, col = int(cell[1]), int(cell[2])
            if not (1 <= row <= size and 1 <= col <= size):
                slips.append(Slip(offset, length, f"r{row}c{col} is off the grid",
                                  f"rows and columns run from 1 to {size}"))
                break
            ends.append(Cell(row, col))
        else:
            cells += (Listed(cell, offset, length) for cell in _block(ends[0], ends[-1]))
    if strange:
        slips.append(_no_cells(strange))
    elif not cells and not slips:
        slips.append(Slip(0, max(1, len(text)), "no cell is named here", "write cells as r1c1 r1c2"))
    return tuple(cells), tuple(slips)


def _no_cells(words: Sequence[re.Match[str]]) -> Slip:
    """Words of a cell list that name no cell, as one slip at the first."""
    named = [quoted(word[0]) for word in words[:2]] + ([f"{len(words) - 2} more"] if len(words) > 2 else [])
    return Slip(words[0].start(), len(words[0][0]),
                f"{listed(named, 'and')} {'is not a cell' if len(words) == 1 else 'are not cells'}",
                "write a cell by its row and column, as r1c1, and a run of them as r1c1-r1c4")


def _block(a: Cell, b: Cell) -> Iterator[Cell]:
    """All cells between two corners, starting from the first."""
    down = 1 if b.row >= a.row else -1
    right = 1 if b.col >= a.col else -1
    for row in range(a.row, b.row + down, down):
        for col in range(a.col, b.col + right, right):
            yield Cell(row, col)


def named_as_data(named: Named) -> str | dict[str, object]:
    """What stands beside a rule's name for these cells, as a manifest's data."""
    cells = " ".join(map(str, named.cells))
    return cells if named.number is None else {"cells": cells, "number": named.number}


def named_as_text(named: Named) -> str:
    """The same as it is written."""
    data = named_as_data(named)
    return data if isinstance(data, str) else f"{{cells: {data['cells']}, number: {data['number']}}}"


def digit_of(char: str) -> int | None:
    """The digit a character of a grid text stands for (letters from A = 10); None for any other."""
    return _DIGITS.index(char) if char in _DIGITS else None


def number_hint(text: str) -> str:
    """A hint for a number with letters typed for digits, such as `l0`; empty for any other text."""
    if not _LOOKS_LIKE_DIGITS.fullmatch(text):
        return ""
    meant = text.translate(_DIGITS_MEANT)
    return f"did you mean {meant}?" if int(meant) else f"write it in digits: {quoted(text)} is a letter"


def written_digit(digit: int) -> str:
    """How a grid text writes a digit."""
    return _DIGITS[digit]


def is_language(text: str) -> bool:
    """Whether a text is a well-formed BCP 47 language tag (RFC 5646) that starts with a language of two
    or three letters.
    """
    return _LANGUAGE.fullmatch(text) is not None
