"""Crossing sums from their map and their sums across and down, with everything wrong in them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from cagework.solver.combine import sum_range
from cagework.solver.crossing import DIGITS, WAYS, Run, crossing_sums, runs, way_of
from cagework.solver.model import Given, Puzzle, Shape
from cagework.typeset.faults import counted, listed
from cagework.typeset.manifest.givens import givens_by_cell, unlike
from cagework.typeset.manifest.notation import Grid, read_squares
from cagework.typeset.manifest.notes import Notes
from cagework.typeset.manifest.plain import PlainPuzzle
from cagework.typeset.manifest.values import NOT_OF_CROSSING_SUMS

if TYPE_CHECKING:
    from cagework.typeset.manifest.schema import PuzzlePart


def read_crossing(notes: Notes, part: PlainPuzzle | PuzzlePart, data: Mapping[str, Any]) -> Puzzle | None:
    """The puzzle, with runs without a sum where that is not known yet; None where its map or its sums cannot be
    read. Faults go to `notes`.
    """
    for key in NOT_OF_CROSSING_SUMS:
        if data.get(key) is not None:
            notes.add(notes.spot(key, key=True), f"crossing sums have no {key}",
                      "their sums stand under across and down" if key in ("sums", "cages") else "take it out")
    missing = [key for key in ("map", *WAYS) if data.get(key) is None]
    if missing:
        notes.add(notes.spot("kind", key=True), f"crossing sums need {listed(missing, 'and')}",
                  "a map of '#' and '.', then the sums of its runs across, row by row, and down, column by column")
    if part.map is None:
        return None
    grid, slips = read_squares(part.map)
    notes.add_slips(("map",), slips)
    if grid is None:
        return None
    rows, columns = max(cell.row for cell in grid), max(cell.col for cell in grid)
    shape = Shape(rows, columns, tuple(cell for cell, symbol in grid.items() if symbol.char == "."))
    found = runs(shape)
    _check_cells(notes, grid, shape, found)
    sums = [_read_sums(notes, key, getattr(part, key), each)
            for key, each in zip(WAYS, found, strict=True)]
    failed = notes.failed
    known = _check_known(notes, found, sums)
    if failed or None in sums:
        return None
    across, down = (one or [] for one in sums)
    if known:
        _check_both(notes, shape, found, sum(filter(None, across)), sum(filter(None, down)))
    puzzle = crossing_sums(shape, across, down)
    return replace(puzzle, givens=_read_givens(notes, data.get("givens"), puzzle))


def _check_cells(notes: Notes, grid: Grid, shape: Shape, found: Sequence[Sequence[Run]]) -> None:
    """No run of more cells than there are digits, and no cell in none."""
    if not shape.cells:
        notes.add(notes.spot("map"), "the map has no white squares", "write '.' for each")
    for way, each in zip(WAYS, found, strict=True):
        for run in each:
            if len(run) > DIGITS:
                notes.add(notes.spot_in(("map",), grid[run[0]].offset),
                          f"{_named(way, run)} has {len(run)} cells, but there are only {DIGITS} digits",
                          "break it by a black square")
    crossed = {cell for each in found for run in each for cell in run}
    for cell in shape.cells:
        if cell not in crossed:
            notes.add(notes.spot_in(("map",), grid[cell].offset), f"{cell} is in no run of two cells or more",
                      "make it black, or a square beside it white")


def _read_sums(
    notes: Notes, way: str, totals: list[int | None] | None, found: Sequence[Run],
) -> list[int | None] | None:
    """The sums of the runs one way; None where they are not as many, or could not be read."""
    if totals is None:
        return None
    if len(totals) != len(found):
        line, name = (0, "row") if way == "across" else (1, "column")
        last = max((run[-1][line] for run in found), default=0)
        counts = [sum(run[0][line] == number for run in found) for number in range(1, last + 1)]
        notes.add(notes.spot(way, key=True),
                  f"{counted(len(totals), 'sum')} {way} for {counted(len(found), 'run')} of two cells or more",
                  f"{name} by {name} the map has {listed(list(map(str, counts)), 'and')}" if counts else "")
        return None
    for number, (run, total) in enumerate(zip(found, totals, strict=True)):
        if total is not None and len(run) <= DIGITS:
            least, most = sum_range(DIGITS, len(run))
            if not least <= total <= most:
                notes.add(notes.spot(way, number), f"{_named(way, run)} cannot add to {total}: "
                                                   f"{len(run)} different digits make {least} to {most}")
    return totals


def _check_known(
    notes: Notes, found: Sequence[Sequence[Run]], sums: Sequence[Sequence[int | None] | None],
) -> bool:
    """Whether each run has its sum. One fault, at the first that has none, says of all that they are missing."""
    missing = [(way, number, run) for way, each, totals in zip(WAYS, found, sums, strict=True)
               for number, (run, total) in enumerate(zip(each, totals or (), strict=False)) if total is None]
    if missing:
        way, number, run = missing[0]
        more = f", nor {'is that' if len(missing) == 2 else 'are those'} of {counted(len(missing) - 1, 'other')}"
        notes.add(notes.spot(way, number),
                  f"the sum of {_named(way, run)} is not known yet{more if len(missing) > 1 else ''}",
                  "write the number here, or type it into the grid on the desk")
    return not missing


def _check_both(notes: Notes, shape: Shape, found: Sequence[Sequence[Run]], across: int, down: int) -> None:
    """Where every cell is in a run both ways, all sums across make as much as all down."""
    if across != down and all({cell for run in each for cell in run} == set(shape.cells) for each in found):
        notes.add(notes.spot("down", key=True),
                  f"the sums across add to {across}, those down to {down}: every cell is in both, so one is wrong")


def _read_givens(notes: Notes, written: object, puzzle: Puzzle) -> tuple[Given, ...]:
    """The givens by cell."""
    if isinstance(written, str):
        notes.add(notes.spot("givens"), "the givens of crossing sums are named by cell", "write them as {r5c5: 7}")
    read = [(given, notes.spot("givens", key, key=True))
            for given, key in (givens_by_cell(notes, written, puzzle) if isinstance(written, dict) else ())]
    return unlike(notes, read, [(_named(way_of(run.cells), run.cells), run.cells)
                                for run in puzzle.cages])


def _named(way: str, run: Run) -> str:
    return f"the run {way} at {run[0]}"
