"""Givens as they are written, in a block or by cell, with everything wrong in them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from cagework.solver.model import Cell, Given, Puzzle
from cagework.typeset.faults import counted, quoted
from cagework.typeset.manifest.nodes import Spot
from cagework.typeset.manifest.notation import (
    BLACK,
    NO_CAGE,
    Grid,
    digit_of,
    read_cells,
    read_grid,
    rows_of,
    written_digit,
)
from cagework.typeset.manifest.notes import Notes


def digits_in_block(notes: Notes, text: str, digits: range, key: str) -> list[tuple[Given, Spot]]:
    """The digits of a block under a key, each with its spot; it has as many lines as there are digits."""
    grid, slips = read_grid(text, len(digits), f"the {key} block")
    notes.add_slips((key,), slips)
    return _digits(notes, grid or {}, digits, key)


def answer_in_block(notes: Notes, text: str, puzzle: Puzzle) -> list[tuple[Given, Spot]]:
    """The digits of a setter's answer, a line a row; what it has for black squares does not count."""
    if puzzle.shape is None:
        return digits_in_block(notes, text, puzzle.digits, "answer")
    rows = [row for row in rows_of(text) if row]
    if [len(row) for row in rows] != [puzzle.columns] * puzzle.rows:
        notes.add(notes.spot("answer", key=True), f"the answer is not {puzzle.extent} squares",
                  f"write a line a row, '{BLACK}' for black squares")
        return []
    grid = {cell: rows[cell.row - 1][cell.col - 1] for cell in puzzle.cells}
    return _digits(notes, grid, puzzle.digits, "answer")


def _digits(notes: Notes, grid: Grid, digits: range, key: str) -> list[tuple[Given, Spot]]:
    read = []
    for cell, symbol in grid.items():
        if symbol.char == NO_CAGE:
            continue
        spot = notes.spot_in((key,), symbol.offset)
        digit = digit_of(symbol.char)
        if digit is None or digit not in digits:
            run = f"digits run from {digits[0]} to {written_digit(digits[-1])}"
            notes.add(spot, f"{quoted(symbol.char)} is not a digit of this puzzle",
                      f"{run}, and '{NO_CAGE}' is an empty cell")
        else:
            read.append((Given(cell, digit), spot))
    return read


def givens_by_cell(notes: Notes, written: Mapping[str, object], puzzle: Puzzle) -> list[tuple[Given, str]]:
    """The givens of a mapping, each with the key it is written under."""
    read: dict[Cell, tuple[Given, str]] = {}
    for key, digit in written.items():
        if not isinstance(digit, int) or isinstance(digit, bool):
            continue
        spot = notes.spot("givens", key, key=True)
        cells, slips = read_cells(key, max(puzzle.rows, puzzle.columns))
        for slip in slips:
            notes.add(spot, slip.message, slip.hint)
        if not slips and len(cells) != 1:
            notes.add(spot, f"a given stands in one cell, and {quoted(key)} is {counted(len(cells), 'cell')}")
        elif not slips and cells[0].cell not in puzzle.cells:
            notes.add(spot, f"a given stands in one white cell, and {quoted(key)} is none")
        elif not slips and cells[0].cell in read:
            notes.add(spot, f"{cells[0].cell} has a given already", "keep one of them")
        elif digit not in puzzle.digits:
            notes.add(notes.spot("givens", key), f"the given {digit} is not a digit of this puzzle",
                      f"digits run from {puzzle.least} to {puzzle.digits[-1]}")
        elif not slips:
            read[cells[0].cell] = Given(cells[0].cell, int(digit)), key
    return list(read.values())


def unlike(
    notes: Notes, read: Sequence[tuple[Given, Spot]], groups: Sequence[tuple[str, tuple[Cell, ...]]],
) -> tuple[Given, ...]:
    """The givens by cell. Two equal ones in one of these groups, each called by a name, are reported."""
    for second, (given, spot) in enumerate(read):
        clash = next((
            (first.cell, name) for first, _ in read[:second] for name, cells in groups
            if first.digit == given.digit and first.cell in cells and given.cell in cells), None)
        if clash is not None:
            notes.add(spot, f"{given.cell} and {clash[0]} both have the given {given.digit}, in {clash[1]}")
    return tuple(sorted((given for given, _ in read), key=lambda given: given.cell))
