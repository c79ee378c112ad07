"""A drawing: a puzzle by its cells alone, however its keys are written."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from cagework.solver.crossing import DIGITS, WAYS, runs
from cagework.solver.model import BOXES, SIZES, Answer, Cage, Cell, Given, Shape, boxes, grid_cells
from cagework.typeset.choices import Kind
from cagework.typeset.faults import counted
from cagework.typeset.manifest.notation import (
    BLACK,
    NO_CAGE,
    digit_of,
    read_cells,
    read_grid,
    read_squares,
    written_digit,
)
from cagework.typeset.manifest.puzzle import NO_REGIONS
from cagework.typeset.manifest.rule_names import least_digit
from cagework.typeset.manifest.values import as_text

TEXTS = ("id", "title", "by", "grade", "note", "remark")
"""The keys that name a puzzle and say something of it."""
_LONG_TEXTS = ("note", "remark")


class NotDrawn(Exception):  # noqa: N818 - it says what is the matter
    """What a puzzle's keys say cannot be drawn, or what is drawn cannot be written. The text is for the editor."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """A puzzle as it is drawn, whole or not.

    Cages by first cell, their cells by row and column, and givens by cell; `regions` is None for the usual boxes,
    and empty where there are none; `rules` and `houses` are the manifest's own values; `answer` has a text of
    digits a row. It may be wrong in any way, but it has no cell twice in the regions.

    Crossing sums have a `shape`, and their runs for cages, and no regions, rules or houses; their `answer` has
    black squares as their map has them.
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
    shape: Shape | None = None

    @property
    def digits(self) -> range:
        """The digits of the puzzle, as its rules let them run."""
        least = least_digit(list(self.rules)) if self.rules else 1
        return range(least, least + self.size)

    @property
    def uncaged(self) -> tuple[Cell, ...]:
        """The cells in no cage."""
        caged = {cell for cage in self.cages for cell in cage.cells}
        cells = self.shape.cells if self.shape else grid_cells(self.size)
        return tuple(cell for cell in cells if cell not in caged)


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
    texts: dict[str, Any] = {key: _text(data.get(key), key not in _LONG_TEXTS) for key in TEXTS}
    texts["id"] = texts["id"] or default_id
    if is_crossing(data):
        return _crossing(data, texts)
    size = data.get("size", 9)
    if not isinstance(size, int) or isinstance(size, bool) or size not in SIZES:
        raise NotDrawn(f"a puzzle's size is a number from {SIZES[0]} to {SIZES[-1]}")
    size = int(size)
    return Drawing(
        size, cages_in_order(_cages(data, size)), _givens(data.get("givens"), size),
        _regions(data.get("regions"), size), _listed(data, "rules"), _listed(data, "houses"),
        _answer(data.get("answer")), **texts)


def is_crossing(data: Mapping[str, Any]) -> bool:
    """Whether a puzzle's keys are those of crossing sums."""
    return data.get("kind") == Kind.CROSSING_SUMS


def _crossing(data: Mapping[str, Any], texts: Mapping[str, Any]) -> Drawing:
    written = data.get("map")
    grid, slips = read_squares(written) if isinstance(written, str) else (None, ())
    if grid is None:
        raise NotDrawn("; ".join(filter(None, (slips[0].message, slips[0].hint)))
                       if slips else "the map is not a block of text")
    rows, columns = max(cell.row for cell in grid), max(cell.col for cell in grid)
    shape = Shape(rows, columns, tuple(cell for cell, symbol in grid.items() if symbol.char != BLACK))
    cages: list[Cage] = []
    for way, found in zip(WAYS, runs(shape), strict=True):
        sums = data.get(way)
        listed = sums if isinstance(sums, list) else [None] * len(found)
        if len(listed) != len(found):
            raise NotDrawn(f"there are {counted(len(listed), 'sum')} {way} for {counted(len(found), 'run')}")
        cages += map(Cage, found, map(_total, listed))
    givens = _givens(data.get("givens"), max(rows, columns))
    answer = answer_in_squares(_answer(data.get("answer")), shape)
    return Drawing(DIGITS, cages_in_order(cages), givens, answer=answer, **texts, shape=shape)


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


def answer_in_squares(rows: Iterable[str], shape: Shape) -> tuple[str, ...]:
    """The rows of an answer, whatever they have for black squares, with these as a map has them."""
    black = set(shape.black)
    return tuple("".join(BLACK if (row, col) in black else char for col, char in enumerate(line, 1))
                 for row, line in enumerate(rows, 1))


def digits_in_rows(answer: Answer) -> list[str]:
    """An answer as a manifest has it, a text a row."""
    texts = [BLACK if digit < 0 else written_digit(digit) for digit in answer.digits]
    return ["".join(texts[at:at + answer.columns]) for at in range(0, len(texts), answer.columns)]


def _grid(value: object, size: int, what: str) -> Mapping[Cell, str]:
    grid, slips = read_grid(value, size, what) if isinstance(value, str) else (None, ())
    if grid is None:
        raise NotDrawn(slips[0].message if slips else f"{what} is not a block of text")
    return {cell: symbol.char for cell, symbol in grid.items()}


def _cages(data: Mapping[str, Any], size: int) -> list[Cage]:
    if data.get("cages") is not None:
        return cages_listed(data["cages"], size)
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


def cages_listed(items: object, size: int) -> list[Cage]:
    """Cages from the items of a list. Raises NotDrawn."""
    found = []
    for one in items if isinstance(items, list) else [None]:
        if not isinstance(one, dict):
            raise NotDrawn("'cages' is not a list of mappings with sum and cells")
        found.append(Cage(cells_named(one.get("cells"), size), _total(one.get("sum"))))
    return found


def cells_named(written: object, size: int) -> tuple[Cell, ...]:
    """Cells from a list of them, or a text that names them. Raises NotDrawn."""
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
        pairs = [(cells_named(key, size), digit) for key, digit in written.items()]
        if any(len(cells) != 1 or not isinstance(digit, int) for cells, digit in pairs):
            raise NotDrawn("a given is one digit in one cell")
        return tuple(Given(cells[0], int(digit)) for cells, digit in sorted(pairs))
    digits = {cell: digit_of(char) for cell, char in _grid(written, size, "the givens block").items()
              if char != NO_CAGE}
    if None in digits.values():
        raise NotDrawn("the givens block holds what is no digit")
    return tuple(Given(cell, digit) for cell, digit in sorted(digits.items()) if digit is not None)


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
