"""A drawing: a puzzle by its cells alone, however its keys are written; from those keys, and back to them."""

from __future__ import annotations

import string
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from cagework.solver.model import BOXES, SIZES, Answer, Cage, Cell, Given, Puzzle, boxes, grid_cells
from cagework.solver.symmetry import canonical
from cagework.typeset.choices import Kind
from cagework.typeset.faults import quoted
from cagework.typeset.manifest.document import parse_document
from cagework.typeset.manifest.emit import emitted
from cagework.typeset.manifest.notation import NO_CAGE, digit_of, read_cells, read_grid, written_digit
from cagework.typeset.manifest.puzzle import NO_REGIONS, PuzzleReading, read_puzzle
from cagework.typeset.manifest.values import as_text

_LETTERS = string.ascii_letters
_FEW_GIVENS = 6
"""More of them stand in a block."""
_TEXTS = ("id", "title", "by", "grade", "note", "remark")
_LONG_TEXTS = ("note", "remark")

ORDER = ("id", "title", "short_title", "by", "grade", "note", "remark", "solutions", "kind", "size", "map", "sums",
         "cages", "regions", "givens", "houses", "rules", "answer")
"""The keys of a puzzle as they follow each other in the sample books."""


class NotDrawn(Exception):  # noqa: N818 - it says what is the matter
    """What a puzzle's keys say cannot be drawn, or what is drawn cannot be written. The text is for the editor."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """A puzzle as it is drawn, whole or not.

    Cages by first cell, their cells by row and column, and givens by cell; `regions` is None for the usual boxes,
    and empty where there are none; `rules` and `houses` are the manifest's own values; `answer` has a text of
    digits a row. It may be wrong in any way, but it has no cell twice in the regions.
    """

    size: int
    cages: tuple[Cage, ...] = ()
    givens: tuple[Given, ...] = ()
    regions: tuple[tuple[Cell, ...], ...] | None = None
    rules: tuple[object, ...] = ()
    houses: tuple[object, ...] = ()
    answer: tuple[str, ...] = ()
    id: str | None = None
    title: str | None = None
    by: str | None = None
    grade: str | None = None
    note: str | None = None
    remark: str | None = None

    @property
    def uncaged(self) -> tuple[Cell, ...]:
        """The cells in no cage."""
        caged = {cell for cage in self.cages for cell in cage.cells}
        return tuple(cell for cell in grid_cells(self.size) if cell not in caged)


def cages_in_order(cages: Iterable[Cage]) -> tuple[Cage, ...]:
    """Cages by first cell, the cells of each by row and column."""
    return tuple(sorted((Cage(tuple(sorted(cage.cells)), cage.total) for cage in cages),
                        key=lambda cage: (cage.cells, cage.total or 0)))


def settled_regions(size: int, regions: Iterable[Iterable[Cell]]) -> tuple[tuple[Cell, ...], ...] | None:
    """Regions by first cell; None where they are the usual boxes."""
    found = tuple(sorted(tuple(sorted(one)) for one in regions))
    return None if found and size in BOXES and found == tuple(sorted(boxes(size))) else found


def drawing_of(data: Mapping[str, Any], default_id: str | None = None) -> Drawing:
    """The drawing that a puzzle's keys amount to. Raises NotDrawn."""
    if data.get("kind") == Kind.CROSSING_SUMS:
        raise NotDrawn("crossing sums are not drawn here; their map and sums stand in the file")
    size = data.get("size", 9)
    if not isinstance(size, int) or isinstance(size, bool) or size not in SIZES:
        raise NotDrawn(f"a puzzle's size is a number from {SIZES[0]} to {SIZES[-1]}")
    size = int(size)
    texts = {key: _text(data.get(key), key not in _LONG_TEXTS) for key in _TEXTS}
    texts["id"] = texts["id"] or default_id
    return Drawing(
        size, cages_in_order(_cages(data, size)), _givens(data.get("givens"), size),
        _regions(data.get("regions"), size), _listed(data, "rules"), _listed(data, "houses"),
        _answer(data.get("answer")), **texts)


def _text(value: object, one_line: bool) -> str | None:
    text = as_text(value)
    if not isinstance(text, str):
        return None
    return " ".join(text.split()) if one_line else text.strip()


def _listed(data: Mapping[str, Any], key: str) -> tuple[object, ...]:
    value = data.get(key)
    if value is not None and not isinstance(value, list):
        raise NotDrawn(f"'{key}' is not a list")
    return tuple(value or ())


def _answer(value: object) -> tuple[str, ...]:
    text = as_text(value)
    return tuple("".join(row.split()) for row in text.split("\n") if row.strip()) if isinstance(text, str) else ()


def digits_in_rows(answer: Answer) -> list[str]:
    """An answer as a manifest has it, a text a row."""
    texts = [written_digit(digit) for digit in answer.digits]
    return ["".join(texts[at:at + answer.columns]) for at in range(0, len(texts), answer.columns)]


def _grid(value: object, size: int, what: str) -> Mapping[Cell, str]:
    grid, slips = read_grid(value, size, what) if isinstance(value, str) else (None, ())
    if grid is None:
        raise NotDrawn(slips[0].message if slips else f"{what} is not a block of text")
    return {cell: symbol.char for cell, symbol in grid.items()}


def _cages(data: Mapping[str, Any], size: int) -> list[Cage]:
    if data.get("cages") is not None:
        return _cages_listed(data["cages"], size)
    if data.get("map") is None:
        return []
    cells: dict[str, list[Cell]] = {}
    for cell, letter in _grid(data["map"], size, "the map").items():
        if letter != NO_CAGE:
            cells.setdefault(letter, []).append(cell)
    sums = data.get("sums")
    return [Cage(tuple(part), _total(sums.get(letter) if isinstance(sums, dict) else None))
            for letter, part in cells.items()]


def _total(value: object) -> int | None:
    if value is None:
        return None
    if isinstance(value, int) and not isinstance(value, bool):
        return int(value)
    raise NotDrawn("a sum is not a whole number")


def _cages_listed(items: object, size: int) -> list[Cage]:
    found = []
    for one in items if isinstance(items, list) else [None]:
        if not isinstance(one, dict):
            raise NotDrawn("'cages' is not a list of mappings with sum and cells")
        found.append(Cage(_cells(one.get("cells"), size), _total(one.get("sum"))))
    return found


def _cells(written: object, size: int) -> tuple[Cell, ...]:
    texts = written if isinstance(written, list) else [written]
    cells: dict[Cell, None] = {}
    for text in texts:
        listed, slips = read_cells(text, size) if isinstance(text, str) else ((), ())
        if slips or not listed:
            raise NotDrawn(slips[0].message if slips else "cells are written as r1c1 r1c2")
        cells |= dict.fromkeys(one.cell for one in listed)
    return tuple(sorted(cells))


def _givens(written: object, size: int) -> tuple[Given, ...]:
    if written is None or written == "":
        return ()
    if isinstance(written, dict):
        pairs = [(_cells(key, size), digit) for key, digit in written.items()]
        if any(len(cells) != 1 or not isinstance(digit, int) for cells, digit in pairs):
            raise NotDrawn("a given is one digit in one cell")
        return tuple(Given(cells[0], int(digit)) for cells, digit in sorted(pairs))
    digits = {cell: digit_of(char) for cell, char in _grid(written, size, "the givens block").items()
              if char != NO_CAGE}
    if None in digits.values():
        raise NotDrawn("the givens block holds what is no digit")
    return tuple(Given(cell, digit) for cell, digit in sorted(digits.items()) if digit)


def _regions(written: object, size: int) -> tuple[tuple[Cell, ...], ...] | None:
    if written is None:
        return None
    if isinstance(written, str) and written.strip() == NO_REGIONS:
        return ()
    parts: dict[str, list[Cell]] = {}
    for cell, letter in _grid(written, size, "the regions block").items():
        if letter != NO_CAGE:
            parts.setdefault(letter, []).append(cell)
    return settled_regions(size, parts.values())


def keys_of(drawing: Drawing, old: Mapping[str, Any] | None = None) -> dict[str, object]:
    """A puzzle's keys for a drawing, in their order; what `old` says already it goes on saying as it does, letters
    of cages among it. Raises NotDrawn where no keys can say it.
    """
    before = drawing_of(old, drawing.id) if old is not None else None
    data = dict(old or {})
    for key in _TEXTS:
        if before is None or getattr(drawing, key) != getattr(before, key):
            data[key] = getattr(drawing, key)
    if data.get("size", 9) != drawing.size:
        data["size"] = drawing.size
    if before is None or drawing.size != before.size or drawing.cages != before.cages:
        data |= _as_cages(drawing, data)
    for key, write in (("givens", _as_givens), ("regions", _as_regions)):
        resized = before is not None and drawing.size != before.size
        if before is None or resized or getattr(drawing, key) != getattr(before, key):
            data[key] = write(drawing)
    for key in ("rules", "houses"):
        if before is None or getattr(drawing, key) != getattr(before, key):
            data[key] = list(getattr(drawing, key)) or None
    if before is None or drawing.answer != before.answer:
        data["answer"] = "\n".join(drawing.answer) + "\n" if drawing.answer else None
    empty = {key for key, value in (old or {}).items() if value is None}
    gone = [key for key, value in data.items() if value is None and key not in empty]
    place = {key: number for number, key in enumerate(ORDER)}
    return {key: data[key] for key in sorted(data, key=lambda key: place.get(key, len(place))) if key not in gone}


def _as_givens(drawing: Drawing) -> object:
    givens = drawing.givens
    if len(givens) > _FEW_GIVENS and all(1 <= given.digit <= drawing.size for given in givens):
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


def _block(size: int, symbols: Mapping[Cell, str]) -> str:
    return "".join("".join(symbols.get(Cell(row, col), NO_CAGE) for col in range(1, size + 1)) + "\n"
                   for row in range(1, size + 1))


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
    return {"map": _as_map(drawing.size, letters, old.get("map")), "cages": None,
            "sums": {letter: by_letter[letter].total for letter in dict.fromkeys((*first, *by_letter))}}


def _as_map(size: int, letters: Mapping[Cage, str], old: object) -> str:
    """The map; spaces that an old one of this size has between its letters stay."""
    symbols = {cell: letter for cage, letter in letters.items() for cell in cage.cells}
    grid = read_grid(old, size, "")[0] if isinstance(old, str) else None
    if grid is None or not isinstance(old, str):
        return _block(size, symbols)
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
    written = {_cells(one["cells"], drawing.size): one for one in old if isinstance(one, dict)} if isinstance(
        old, list) and _readable(old, drawing.size) else {}
    left = {cage.cells: cage for cage in drawing.cages}
    kept = [left[cells] for cells in written if cells in left]
    order = [*kept, *(cage for cage in drawing.cages if cage not in kept)] if written else drawing.cages
    return [_listed_cage(cage, written.get(cage.cells)) for cage in order]


def _readable(items: list[object], size: int) -> bool:
    try:
        _cages_listed(items, size)
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
