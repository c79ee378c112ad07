"""A table of puzzles to their keys: a head, then a line a cell, or a line a cage; each key has its place there."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from types import MappingProxyType

from cagework.solver.crossing import WAYS, runs
from cagework.solver.model import SIZES, Cell, Shape
from cagework.typeset.choices import Kind
from cagework.typeset.faults import Fault, Severity, listed, nearest, quoted
from cagework.typeset.manifest.characters import settled
from cagework.typeset.manifest.document import YamlDocument, document_of, parse_document
from cagework.typeset.manifest.nodes import (
    Node,
    Pairs,
    Scalar,
    Spot,
    pairs_at,
    plain_scalar,
    sequence_at,
    text_at,
)
from cagework.typeset.manifest.nodes import Sequence as Listed
from cagework.typeset.manifest.notation import BLACK, NO_CAGE, number_hint, written_digit
from cagework.typeset.manifest.puzzle import NO_REGIONS
from cagework.typeset.manifest.records import Field, records, separator_of

CELLS = ("row", "column", "cage", "sum")
"""The columns of a table with a line a cell that there have to be."""
CAGES = ("cells", "sum")
"""Those of a table with a line a cage."""
OF_A_CELL = ("given", "region", "answer", *WAYS)
"""What else a line may say of its cell; of crossing sums what the runs make that begin there."""
OF_A_PUZZLE = ("title", "short_title", "by", "grade", "note", "kind", "size", "rules", "houses")
"""What else it may say of its puzzle: once, or in each of its lines."""
COLUMNS = ("puzzle", *CELLS, "cells", *OF_A_CELL, *OF_A_PUZZLE)

_ALSO: Mapping[str, str] = MappingProxyType({
    "id": "puzzle", "col": "column", "total": "sum",
    "rätsel": "puzzle", "zeile": "row", "spalte": "column", "käfig": "cage", "summe": "sum", "felder": "cells",
    "vorgabe": "given", "block": "region", "lösung": "answer", "waagerecht": "across", "senkrecht": "down",
    "titel": "title", "von": "by", "größe": "size"})
"""Other names of columns, German ones among them."""
_FLOW = ("rules", "houses")
"""What is written as a manifest's list in brackets."""
_NUMBERS = ("size",)

Line = Mapping[str, Field]
"""A line of the table: its fields that are not empty, by column."""


@dataclass(slots=True)
class _Puzzle:
    """A puzzle as far as its lines have been read; `spot` is where it begins."""

    spot: Spot
    keys: dict[str, Node] = field(default_factory=dict)
    cages: dict[str, list[Node]] = field(default_factory=dict)
    sums: dict[str, Scalar] = field(default_factory=dict)
    cells: dict[Cell, Spot] = field(default_factory=dict)
    givens: dict[str, Node] = field(default_factory=dict)
    blocks: dict[str, dict[Cell, Field]] = field(default_factory=dict)
    black: set[Cell] = field(default_factory=set)


def is_table(line: str) -> bool:
    """Whether a text's first line is the head of a table."""
    head = set(_head(line, separator_of(line)))
    return {"row", "cage"} <= head or ("cells" in head and len(head) > 1)


def _head(line: str, separator: str) -> list[str]:
    names = [settled(one.text).casefold() for one in next(records(line, 0, separator))]
    return [_ALSO.get(name, name) for name in names]


def read_table(file: Path, text: str, start: int) -> YamlDocument:
    """A list of the puzzles of a table whose head stands at an offset, as far as they could be read, with faults
    for all that could not. Only with more than one have they all an `id`.
    """
    return _Table(file, text, start).read()


class _Table:
    """A table being read."""

    def __init__(self, file: Path, text: str, start: int) -> None:
        end = text.find("\n", start)
        line = text[start:end if end >= 0 else None]
        self._separator = separator_of(line)
        self._head = _head(line, self._separator)
        self._blank = document_of(file, text, Scalar(Spot(start), "", None, ""))
        self._start = start
        self._puzzles: dict[str, _Puzzle] = {}
        self._faults: list[Fault] = []
        self._last = ""

    def read(self) -> YamlDocument:
        if not self._check_head():
            return replace(self._blank, faults=tuple(self._faults))
        take = self._take_cell if "row" in self._head else self._take_cage
        for line in self._lines():
            puzzle = self._puzzle_of(line)
            if puzzle is not None:
                take(puzzle, line)
        root = sequence_at(Spot(self._start), [self._keys(one) for one in self._puzzles.values()])
        document = document_of(self._blank.file, self._blank.text, root)
        return replace(document, faults=tuple(self._faults))

    def _check_head(self) -> bool:
        needed = CELLS if "row" in self._head else CAGES
        missing = [name for name in needed if name not in self._head]
        twice = {name for name in self._head if name and self._head.count(name) > 1}
        for name in missing:
            self._add(Spot(self._start), f"the table has no column {quoted(name)}",
                      f"a line a cell has {listed(CELLS, 'and')}; a line a cage {listed(CAGES, 'and')}")
        for name in sorted(twice):
            self._add(Spot(self._start), f"the table has two columns {quoted(name)}", "keep one of them")
        for name in self._head:
            if name and name not in COLUMNS:
                near = nearest(name, COLUMNS)
                self._add(Spot(self._start), f"the column {quoted(name)} is not read",
                          f"did you mean {near}?" if near else "", Severity.WARNING)
        return not missing and not twice

    def _add(self, spot: Spot, message: str, hint: str = "", severity: Severity = Severity.ERROR) -> None:
        self._faults.append(self._blank.fault(spot, message, hint, severity))

    def _lines(self) -> Iterator[Line]:
        """The lines after the head that say anything."""
        _, *rows = records(self._blank.text, self._start, self._separator)
        for row in rows:
            for one in row:
                if one.flaw:
                    self._add(one.spot, one.flaw, 'write "" for a quotation mark in a field that stands in them')
            for one in row[len(self._head):]:
                if one.text:
                    self._add(one.spot, "a field more than the head of the table has columns",
                              "put a text that holds a separator in quotation marks")
            found = {name: one for name, one in zip(self._head, row, strict=False) if one.text and not one.flaw}
            if found:
                yield found

    def _puzzle_of(self, line: Line) -> _Puzzle | None:
        """The puzzle that a line belongs to; where it does not say, that of the line above."""
        first = next(iter(line.values()))
        named = line.get("puzzle")
        if named is None and "puzzle" in self._head and not self._last:
            self._add(first.spot, "this line does not say which puzzle it belongs to", "fill in 'puzzle'")
            return None
        self._last = named.text if named else self._last
        puzzle = self._puzzles.setdefault(self._last, _Puzzle(first.spot))
        if named is not None:
            puzzle.keys.setdefault("id", text_at(named.spot, named.text))
        for key in OF_A_PUZZLE:
            if (said := line.get(key)) is not None:
                self._take_key(puzzle, key, said)
        return puzzle

    def _take_key(self, puzzle: _Puzzle, key: str, said: Field) -> None:
        known = puzzle.keys.get(key)
        node = self._flow(key, said) if key in _FLOW else (
            plain_scalar if key in _NUMBERS else text_at)(said.spot, said.text)
        if known is None:
            puzzle.keys[key] = node
        elif _shown(known) != _shown(node):
            line = self._blank.place(known.spot).line
            self._add(said.spot, f"this puzzle has another {key} in line {line}", "say it once, or always alike")

    def _flow(self, key: str, said: Field) -> Node:
        """A manifest's list; a name alone is a list of one. What is no list is left to the reader of manifests."""
        from cagework.typeset.faults import UnreadableManifest
        text = said.text if said.text.startswith("[") else f"[{said.text}]"
        try:
            return _moved(parse_document(self._blank.file, text).root, said.spot)
        except UnreadableManifest as error:
            self._add(said.spot, error.fault.message, f"write {key} as a manifest has them, such as [diagonals]")
            return sequence_at(said.spot, ())

    def _take_cage(self, puzzle: _Puzzle, line: Line) -> None:
        """A line a cage; one without cells says something of the puzzle alone."""
        cells = line.get("cells")
        if cells is None:
            if "sum" in line:
                self._add(line["sum"].spot, "a sum, but no cells that make it", "fill in the column 'cells'")
            return
        name = str(len(puzzle.cages))
        puzzle.cages[name] = [text_at(cells.spot, cells.text, verbatim=cells.text in self._source(cells.spot))]
        self._take_sum(puzzle, name, line)

    def _source(self, spot: Spot) -> str:
        return self._blank.text[spot.start:spot.start + spot.length]

    def _take_cell(self, puzzle: _Puzzle, line: Line) -> None:
        row, column = line.get("row"), line.get("column")
        if row is None and column is None and not {"cage", "sum", *OF_A_CELL} & line.keys():
            return
        for number in (row, column):
            if number is None or not re.fullmatch("0*[1-9][0-9]?", number.text, re.ASCII):
                self._add((number or next(iter(line.values()))).spot, "row and column are numbers from 1 on")
                return
        assert row is not None and column is not None, "both were looked at"
        cell = Cell(int(row.text), int(column.text))
        if cell in puzzle.cells:
            self._add(row.spot, f"{cell} stands in the table twice",
                      f"it first stands in line {self._blank.place(puzzle.cells[cell]).line}")
            return
        puzzle.cells[cell] = row.spot
        if "given" in line:
            puzzle.givens[str(cell)] = plain_scalar(line["given"].spot, line["given"].text)
        for key in ("region", "answer"):
            if key in line:
                self._take_symbol(puzzle, key, cell, line[key])
        for way in WAYS:
            if way in line and self._is_sum(line[way]):
                puzzle.blocks.setdefault(way, {})[cell] = line[way]
        if "cage" in line and line["cage"].text == BLACK:
            puzzle.black.add(cell)
        elif "cage" in line:
            name = line["cage"].text
            puzzle.cages.setdefault(name, []).append(text_at(row.spot, str(cell)))
            self._take_sum(puzzle, name, line)
        elif "sum" in line:
            self._add(line["sum"].spot, "a sum, but no cage that it belongs to", "fill in the column 'cage'")

    def _take_symbol(self, puzzle: _Puzzle, key: str, cell: Cell, said: Field) -> None:
        """A character that stands for the cell in a block of text; digits above 9 may be numbers."""
        text = said.text
        if key == "answer" and re.fullmatch("1[0-6]", text, re.ASCII):
            text = written_digit(int(text))
        if len(text) == 1 or (key, text) == ("region", NO_REGIONS):
            puzzle.blocks.setdefault(key, {})[cell] = replace(said, text=text)
        else:
            what = f"named by one character, or {NO_REGIONS}" if key == "region" else "a digit"
            self._add(said.spot, f"the {key} of a cell is {what}, and not {quoted(text)}")

    def _take_sum(self, puzzle: _Puzzle, name: str, line: Line) -> None:
        """The sum of a cage, which may stand in each of its lines."""
        said = line.get("sum")
        if said is None or said.text == "~":
            return
        if not self._is_sum(said):
            return
        known = puzzle.sums.setdefault(name, plain_scalar(said.spot, said.text))
        if int(known.text) != int(said.text):
            self._add(said.spot, f"the cage {quoted(name)} has the sum {known.text} further up",
                      "say it once, or always alike")


    def _is_sum(self, said: Field) -> bool:
        if re.fullmatch("[0-9]{1,4}", said.text, re.ASCII):
            return True
        self._add(said.spot, f"the sum {quoted(said.text)} is not a whole number",
                  number_hint(said.text) or "leave it empty for none")
        return False

    def _keys(self, puzzle: _Puzzle) -> Node:
        """A puzzle's keys."""
        kind = puzzle.keys.get("kind")
        if isinstance(kind, Scalar) and kind.text == Kind.CROSSING_SUMS:
            return pairs_at(puzzle.spot, puzzle.keys | self._crossing(puzzle))
        for cell in sorted(puzzle.black)[:1]:
            self._add(puzzle.cells[cell], f"{cell} is a black square, which only crossing sums have",
                      f"write {Kind.CROSSING_SUMS} in a column 'kind'")
        return pairs_at(puzzle.spot, puzzle.keys | _in_cages(puzzle))

    def _crossing(self, puzzle: _Puzzle) -> dict[str, Node]:
        """The keys of crossing sums: squares that no line names are black."""
        white = tuple(sorted(puzzle.cells.keys() - puzzle.black))
        rows, columns = (max((cell[at] for cell in puzzle.cells), default=1) for at in (0, 1))
        lines = ("".join(NO_CAGE if (row, col) in white else BLACK for col in range(1, columns + 1))
                 for row in range(1, rows + 1))
        keys: dict[str, Node] = {"map": text_at(puzzle.spot, "".join(f"{line}\n" for line in lines))}
        for way, found in zip(WAYS, runs(Shape(rows, columns, white)), strict=True):
            said = puzzle.blocks.get(way, {})
            for cell in said.keys() - {run[0] for run in found}:
                self._add(said[cell].spot, f"no run {way} begins at {cell}", "give a sum where its run begins")
            sums = (plain_scalar(said[run[0]].spot, said[run[0]].text) if run[0] in said
                    else plain_scalar(puzzle.cells[run[0]], "~") for run in found)
            keys[way] = sequence_at(puzzle.spot, sums)
        if answer := puzzle.blocks.get("answer"):
            keys["answer"] = _block(puzzle, answer, rows, columns)
        if puzzle.givens:
            keys["givens"] = pairs_at(puzzle.spot, puzzle.givens)
        return keys


def _shown(node: Node) -> object:
    if isinstance(node, Scalar):
        return node.text
    if isinstance(node, Listed):
        return [_shown(one) for one in node.items]
    return {key: _shown(one) for key, (_, one) in node.entries.items()}


def _moved(node: Node, spot: Spot) -> Node:
    """A value, all of which stands in one field."""
    if isinstance(node, Scalar):
        return replace(node, spot=spot, verbatim=False)
    if isinstance(node, Listed):
        return replace(node, spot=spot, items=tuple(_moved(one, spot) for one in node.items))
    return Pairs(spot, {key: (spot, _moved(one, spot)) for key, (_, one) in node.entries.items()}, node.weight)


def _in_cages(puzzle: _Puzzle) -> dict[str, Node]:
    """The keys of a puzzle of cages."""
    size = _size(puzzle)
    keys: dict[str, Node] = {} if "size" in puzzle.keys else {"size": plain_scalar(puzzle.spot, str(size))}
    cages = []
    for name, cells in puzzle.cages.items():
        total = {"sum": puzzle.sums[name]} if name in puzzle.sums else {}
        cages.append(pairs_at(cells[0].spot, {**total, "cells": sequence_at(cells[0].spot, cells)}))
    if cages:
        keys["cages"] = sequence_at(puzzle.spot, cages)
    if puzzle.givens:
        keys["givens"] = pairs_at(puzzle.spot, puzzle.givens)
    regions = puzzle.blocks.get("region")
    if regions:
        none = {one.text for one in regions.values()} == {NO_REGIONS}
        keys["regions"] = text_at(_first(regions).spot, NO_REGIONS) if none else _block(
            puzzle, regions, size, size)
    if answer := puzzle.blocks.get("answer"):
        keys["answer"] = _block(puzzle, answer, size, size)
    return keys


def _first(block: Mapping[Cell, Field]) -> Field:
    return block[min(block)]


def _block(puzzle: _Puzzle, symbols: Mapping[Cell, Field], rows: int, columns: int) -> Scalar:
    """A block of text, a character a cell."""
    lines = ("".join(symbols[cell].text if (cell := Cell(row, col)) in symbols else
                     BLACK if cell in puzzle.black else NO_CAGE
                     for col in range(1, columns + 1)) for row in range(1, rows + 1))
    return text_at(_first(symbols).spot, "".join(f"{line}\n" for line in lines))


def _size(puzzle: _Puzzle) -> int:
    """The size that it says, or the least that holds all of its cells."""
    said = puzzle.keys.get("size")
    if isinstance(said, Scalar) and isinstance(said.value, int) and said.value in SIZES:
        return int(said.value)
    greatest = max((max(cell) for cell in puzzle.cells), default=0) or _greatest_named(puzzle.cages)
    return next((one for one in SIZES if one >= greatest), SIZES[-1])


def _greatest_named(cages: Mapping[str, Sequence[Node]]) -> int:
    texts = [cell.text for cells in cages.values() for cell in cells if isinstance(cell, Scalar)]
    return max((int(one) for text in texts for one in re.findall(r"[rc](\d{1,2})", text.casefold())), default=0)
