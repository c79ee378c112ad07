"""A drawing back to a puzzle's keys, however those that it had are written, and read as they are."""

from __future__ import annotations

import string
from collections import Counter
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from cagework.solver.crossing import WAYS, runs
from cagework.solver.model import SIZES, Cage, Cell, Puzzle, Shape
from cagework.solver.symmetry import canonical
from cagework.typeset.choices import Kind
from cagework.typeset.faults import quoted
from cagework.typeset.manifest.document import parse_document
from cagework.typeset.manifest.drawn import (
    TEXTS,
    Drawing,
    NotDrawn,
    cages_in_order,
    cages_listed,
    cells_named,
    drawing_of,
    is_crossing,
)
from cagework.typeset.manifest.emit import emitted
from cagework.typeset.manifest.notation import (
    BLACK,
    NO_CAGE,
    Grid,
    read_grid,
    read_squares,
    rows_of,
    written_digit,
)
from cagework.typeset.manifest.puzzle import NO_REGIONS, PuzzleReading, read_puzzle

_LETTERS = string.ascii_letters
_OF_ANY_KIND = ("short_title", "solutions")
"""Keys that no drawing has, and that a puzzle keeps which becomes one of another kind."""
_FEW_GIVENS = 6
"""More of them stand in a block."""

ORDER = ("id", "title", "short_title", "by", "grade", "note", "remark", "solutions", "kind", "size", "map",
         "across", "down", "sums", "cages", "regions", "givens", "houses", "rules", "answer")
"""The keys of a puzzle as they follow each other in the sample books."""


def keys_of(drawing: Drawing, old: Mapping[str, Any] | None = None) -> dict[str, object]:
    """A puzzle's keys for a drawing, in their order; what `old` says already it goes on saying as it does, letters
    of cages among it. Raises NotDrawn where no keys can say it.
    """
    if old is not None and is_crossing(old) is (drawing.shape is None):     # another kind: nothing of its grid
        return in_order({key: value for key, value in old.items() if key in _OF_ANY_KIND} | keys_of(drawing))
    before = drawing_of(old, drawing.id) if old is not None else None
    data = dict(old or {})
    for key in TEXTS:
        if before is None or getattr(drawing, key) != getattr(before, key):
            data[key] = getattr(drawing, key)
    if drawing.shape is not None:
        data |= _as_crossing(drawing, drawing.shape, before, data)
    else:
        data |= _as_grid(drawing, before, data)
    empty = {key for key, value in (old or {}).items() if value is None}
    return in_order({key: value for key, value in data.items() if value is not None or key in empty})


def in_order(data: Mapping[str, object]) -> dict[str, object]:
    """A puzzle's keys in the order of the sample books."""
    place = {key: number for number, key in enumerate(ORDER)}
    return {key: data[key] for key in sorted(data, key=lambda key: place.get(key, len(place)))}


def _as_crossing(
    drawing: Drawing, shape: Shape, before: Drawing | None, old: Mapping[str, Any],
) -> dict[str, object]:
    """What changes in the keys of crossing sums."""
    data: dict[str, object] = {"kind": Kind.CROSSING_SUMS.value}
    if before is None or shape != before.shape:
        data["map"] = _as_map(dict.fromkeys(shape.black, BLACK), old.get("map"), shape.rows, shape.columns)
    if before is None or (shape, drawing.cages) != (before.shape, before.cages):
        totals = {cage.cells: cage.total for cage in drawing.cages}
        data |= {way: [totals.get(run) for run in found] for way, found in zip(WAYS, runs(shape), strict=True)}
    if before is None or drawing.givens != before.givens:
        data["givens"] = {str(given.cell): given.digit for given in drawing.givens} or None
    return data | _as_answer(drawing, before, old)


def _as_grid(drawing: Drawing, before: Drawing | None, old: Mapping[str, Any]) -> dict[str, object]:
    """What changes in the keys of a puzzle of cages."""
    data: dict[str, object] = {"size": drawing.size} if old.get("size", 9) != drawing.size else {}
    if before is None or drawing.size != before.size or drawing.cages != before.cages:
        data |= _as_cages(drawing, old)
    for key, write in (("givens", _as_givens), ("regions", _as_regions)):
        resized = before is not None and drawing.size != before.size
        if before is None or resized or getattr(drawing, key) != getattr(before, key):
            data[key] = write(drawing)
    for key in ("rules", "houses"):
        if before is None or getattr(drawing, key) != getattr(before, key):
            data[key] = list(getattr(drawing, key)) or None
    return data | _as_answer(drawing, before, old)


def _as_answer(drawing: Drawing, before: Drawing | None, old: Mapping[str, Any]) -> dict[str, object]:
    """What changes in the answer: of one whose rows stay as long, only the characters that are others now."""
    if before is not None and drawing.answer == before.answer:
        return {}
    if not drawing.answer:
        return {"answer": None}
    written, former = old.get("answer"), before.answer if before else ()
    if not isinstance(written, str) or list(map(len, former)) != list(map(len, drawing.answer)):
        return {"answer": "\n".join(drawing.answer) + "\n"}
    text = list(written)
    for symbols, was, now in zip(filter(None, rows_of(written)), former, drawing.answer, strict=True):
        for symbol, one, other in zip(symbols, was, now, strict=True):
            text[symbol.offset] = symbol.char if one == other else other
    return {"answer": "".join(text)}


def _as_givens(drawing: Drawing) -> object:
    givens = drawing.givens
    if len(givens) > _FEW_GIVENS and all(given.digit in drawing.digits for given in givens):
        return _block(drawing.size, {given.cell: written_digit(given.digit) for given in givens})
    return {str(given.cell): given.digit for given in givens} or None


def _as_regions(drawing: Drawing) -> str | None:
    if not drawing.regions:
        return None if drawing.regions is None else NO_REGIONS
    if len(drawing.regions) > len(_LETTERS):
        raise NotDrawn("there are more regions than letters to name them")
    digits = "".join(written_digit(number) for number in range(1, SIZES[-1] + 1))
    symbols = digits if len(drawing.regions) <= len(digits) else _LETTERS
    return _block(drawing.size, {
        cell: symbol for symbol, region in zip(symbols, drawing.regions, strict=False) for cell in region})


def _block(rows: int, symbols: Mapping[Cell, str], columns: int | None = None) -> str:
    return "".join("".join(symbols.get(Cell(row, col), NO_CAGE) for col in range(1, (columns or rows) + 1)) + "\n"
                   for row in range(1, rows + 1))


def _as_cages(drawing: Drawing, old: Mapping[str, Any]) -> dict[str, object]:
    """Cages as a list where they are one already, or there are too many for a map, or they overlap."""
    counts = Counter(cell for cage in drawing.cages for cell in cage.cells)
    if old.get("cages") is not None or len(drawing.cages) > len(_LETTERS) or any(
            count > 1 for count in counts.values()):
        return {"map": None, "sums": None, "cages": _as_list(drawing, old.get("cages"))}
    letters = _named(drawing, old.get("map"))
    by_letter = {letter: cage for cage, letter in letters.items()}
    sums = old.get("sums")
    first = [letter for letter in sums if letter in by_letter] if isinstance(sums, dict) else []
    symbols = {cell: letter for cage, letter in letters.items() for cell in cage.cells}
    return {"map": _as_map(symbols, old.get("map"), drawing.size, drawing.size), "cages": None,
            "sums": {letter: by_letter[letter].total for letter in dict.fromkeys((*first, *by_letter))}}


def _as_map(symbols: Mapping[Cell, str], old: object, rows: int, columns: int) -> str:
    """The map; spaces that an old one of this size has between its letters stay."""
    grid: Grid | None = None
    if isinstance(old, str):
        grid = read_grid(old, rows, "")[0] if rows == columns else read_squares(old)[0]
    if grid is None or not isinstance(old, str) or max(grid) != (rows, columns):
        return _block(rows, symbols, columns)
    text = list(old)
    for cell, symbol in grid.items():
        text[symbol.offset] = symbols.get(cell, NO_CAGE)
    return "".join(text)


def _named(drawing: Drawing, old: object) -> dict[Cage, str]:
    """A letter for each cage: the one that most of its cells have already, where no other cage has more of it."""
    grid = read_grid(old, drawing.size, "")[0] if isinstance(old, str) else None
    held = {cell: symbol.char for cell, symbol in (grid or {}).items() if symbol.char != NO_CAGE}
    wishes = sorted(
        ((count, -number, letter) for number, cage in enumerate(drawing.cages)
         for letter, count in Counter(held[cell] for cell in cage.cells if cell in held).items()), reverse=True)
    named: dict[int, str] = {}
    for _, number, letter in wishes:
        if -number not in named and letter not in named.values():
            named[-number] = letter
    free = iter([letter for letter in _LETTERS if letter not in named.values()])
    return {cage: named.get(number) or next(free) for number, cage in enumerate(drawing.cages)}


def _as_list(drawing: Drawing, old: object) -> list[object]:
    """Cages as a list: those of an old one in its order and as their cells are written there."""
    written = {cells_named(one["cells"], drawing.size): one for one in old if isinstance(one, dict)} if isinstance(
        old, list) and _readable(old, drawing.size) else {}
    left = {cage.cells: cage for cage in drawing.cages}
    kept = [left[cells] for cells in written if cells in left]
    order = [*kept, *(cage for cage in drawing.cages if cage not in kept)] if written else drawing.cages
    return [_listed_cage(cage, written.get(cage.cells)) for cage in order]


def _readable(items: list[object], size: int) -> bool:
    try:
        cages_listed(items, size)
    except NotDrawn:
        return False
    return True


def _listed_cage(cage: Cage, old: Mapping[str, Any] | None) -> dict[str, object]:
    cells = " ".join(map(str, cage.cells))
    if old is not None:
        kept = {key: value for key, value in old.items() if key != "sum"}
        return {"sum": cage.total, **kept} if cage.total is not None else kept
    return {"cells": cells} if cage.total is None else {"sum": cage.total, "cells": cells}


def reading_of(drawing: Drawing, allow_uncaged: bool) -> PuzzleReading:
    """A drawing read as the keys of a manifest are, with its faults. Cages are listed one a line, by first cell;
    the setter's answer, which may be half written, is left out. Raises NotDrawn, UnreadableManifest.
    """
    keys = keys_of(replace(drawing, answer=()), {"cages": []}) | {"id": drawing.id or "drawing"}
    document = parse_document(Path(quoted("the drawing")), emitted(keys))
    return read_puzzle(document, (), document.data, allow_uncaged)


def redrawn(drawing: Drawing, puzzle: Puzzle) -> Drawing:
    """A drawing with the cages and givens of a puzzle of its size."""
    return replace(drawing, cages=cages_in_order(puzzle.cages), givens=puzzle.givens)


def reads_so(drawing: Drawing, puzzle: Puzzle) -> bool:
    """Whether the keys of `redrawn` would be read as this puzzle: a rule may not fit its cages any more."""
    reading = reading_of(redrawn(drawing, puzzle), True)
    return reading.entry is not None and canonical(reading.entry.puzzle) == canonical(puzzle) and not any(
        fault.is_error for fault in reading.faults)
