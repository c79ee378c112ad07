"""How a repair is written in a puzzle's file, ready to paste as far as that is short."""

from __future__ import annotations

import string
from collections.abc import Mapping

from cagework.solver.editing.repair import Repair
from cagework.solver.model import Cage, Cell
from cagework.typeset.faults import listed
from cagework.typeset.manifest.notation import NO_CAGE, read_grid
from cagework.typeset.manifest.puzzle import PuzzleReading

_FEW_GIVENS = 8
"""Where a puzzle comes to have more of them, those that are there already are not written again."""


def letters_of(reading: PuzzleReading) -> Mapping[Cell, str]:
    """The letters of a puzzle's map of cages, by cell; none where it has no such map."""
    if reading.map is None or reading.entry is None or reading.entry.puzzle.shape:
        return {}
    grid, _ = read_grid(reading.map, reading.entry.puzzle.size, "the map")
    return {cell: symbol.char for cell, symbol in (grid or {}).items() if symbol.char != NO_CAGE}


def as_written(repair: Repair, letters: Mapping[Cell, str]) -> str:
    """What to write for it under which keys; empty for what its words say already."""
    said = []
    if repair.parts and letters and (names := _names(repair, letters)):
        named = dict(zip(names, repair.parts, strict=True))
        moved = [f"{name} at {listed(cells, 'and')}" for name, cage in named.items()
                 if (cells := [cell for cell in cage.cells if letters[cell] != name])]
        said += [f"in map: {', '.join(moved)}"] if moved else []
        said += [f"in sums: {', '.join(f'{name}: {cage.total}' for name, cage in named.items())}"]
    if repair.givens:
        few = len(repair.repaired.givens) <= _FEW_GIVENS
        shown = ", ".join(f"{one.cell}: {one.digit}" for one in (repair.repaired.givens if few else repair.givens))
        said += [f"givens: {{{shown}}}" if few else f"in givens: {shown}"]
    return "; ".join(said)


def _names(repair: Repair, letters: Mapping[Cell, str]) -> tuple[str, ...]:
    """A letter for each new cage: that of the cage whose place it takes; the smaller half of one has a new one.
    None where no letter is left for it.
    """
    own = letters[repair.gone[0].first]
    if len(repair.gone) == 1 < len(repair.parts):
        new = next((one for one in string.ascii_letters if one not in letters.values()), None)
        if new is None:
            return ()
        kept = max(repair.parts, key=_size)
        return tuple(own if part == kept else new for part in repair.parts)
    return tuple(letters[cage.first] for cage in repair.gone)


def _size(cage: Cage) -> int:
    return len(cage.cells)
