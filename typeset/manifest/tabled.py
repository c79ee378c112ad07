"""Puzzles to the table that `tables` reads: a line a cell."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from cagework.solver.crossing import WAYS, way_of
from cagework.solver.model import Cell, grid_cells
from cagework.typeset.choices import Kind
from cagework.typeset.manifest.drawn import Drawing, drawing_of
from cagework.typeset.manifest.emit import flow
from cagework.typeset.manifest.notation import BLACK, NO_CAGE
from cagework.typeset.manifest.puzzle import NO_REGIONS
from cagework.typeset.manifest.tables import OF_A_PUZZLE

HEAD = ("puzzle", "row", "column", "cage", "sum", *WAYS, "given", "region", "answer", *OF_A_PUZZLE)
"""The columns, in order."""

_LETTERS = "ABCDEFGHIJKLMNOP"
"""Names of regions: no digit, which is what cells hold."""


def cell_rows(keys: Mapping[str, Any], answer: str | None) -> Iterator[list[object]]:
    """The lines of a puzzle, by its keys and its answer, a character a cell row by row; what is the puzzle's own
    stands in its first line. Raises NotDrawn.
    """
    drawing = drawing_of(keys)
    of_cell = _of_cells(drawing)
    own = {key: _own(key, keys.get(key)) for key in OF_A_PUZZLE} | {
        "size": drawing.size if drawing.shape is None else None,
        "kind": Kind.CROSSING_SUMS.value if drawing.shape else None}
    rows, columns = (drawing.shape.rows, drawing.shape.columns) if drawing.shape else (drawing.size,) * 2
    for number, cell in enumerate(Cell(row, col) for row in range(1, rows + 1) for col in range(1, columns + 1)):
        said = of_cell.get(cell, {}) | (own if number == 0 else {}) | {
            "puzzle": drawing.id, "row": cell.row, "column": cell.col}
        if answer and answer[number] not in (NO_CAGE, BLACK):
            said["answer"] = answer[number]
        yield [said.get(column) for column in HEAD]


def _own(key: str, value: object) -> object:
    """What a puzzle says of itself, lists as a manifest has them in brackets."""
    if value is None or isinstance(value, list):
        return value and flow(value)
    return str(getattr(value, "text", value))


def _of_cells(drawing: Drawing) -> dict[Cell, dict[str, object]]:
    """What there is to say of each cell."""
    found: dict[Cell, dict[str, object]] = {}
    if drawing.shape:
        found = {cell: {"cage": BLACK} for cell in drawing.shape.black}
        for run in drawing.cages:
            found.setdefault(run.cells[0], {})[way_of(run.cells)] = run.total
    else:
        for number, cage in enumerate(drawing.cages, 1):
            found |= {cell: {"cage": number, "sum": cage.total} for cell in cage.cells}
    for given in drawing.givens:
        found.setdefault(given.cell, {})["given"] = given.digit
    regions = dict(zip(_LETTERS, drawing.regions, strict=False)) if drawing.regions else {}
    if drawing.regions == ():
        regions = {NO_REGIONS: grid_cells(drawing.size)}
    for name, cells in regions.items():
        for cell in cells:
            found.setdefault(cell, {})["region"] = name
    return found
