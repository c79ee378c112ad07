"""A text from the clipboard to a drawing: keys of a manifest, a map with sums, black and white squares, digits, or
a table of cells.
"""

from __future__ import annotations

import csv
import re
import textwrap
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cagework.solver.crossing import WAYS, runs
from cagework.solver.model import SIZES, Cage, Cell, Given
from cagework.typeset.choices import Kind
from cagework.typeset.faults import Fault, UnreadableManifest, counted, quoted
from cagework.typeset.manifest.document import YamlDocument, parse_document, plain_newlines
from cagework.typeset.manifest.drawn import Drawing, NotDrawn, cages_in_order, drawing_of
from cagework.typeset.manifest.notation import BLACK, NO_CAGE, digit_of, read_squares
from cagework.typeset.manifest.plain import KEYS
from cagework.typeset.manifest.puzzle import read_puzzle

_EMPTY = ".0-_*"
"""What stands for an empty cell among digits."""
_SUM = re.compile(r"(?<![^\s,{;])([^\s,:={};])\s*[:=]?\s*(\d{1,4}|~)(?=[\s,};]|$)")
_RUNS = re.compile(rf"\s*({'|'.join(WAYS)})\b\s*[:=]?(.*)", re.IGNORECASE)
_COLUMNS = ("row", "column", "cage", "sum")


@dataclass(frozen=True, slots=True)
class Slip:
    """Something wrong in the text, by line and column from 1."""

    line: int
    column: int
    message: str
    hint: str = ""


@dataclass(frozen=True, slots=True)
class Pasted:
    """What came of a text: a drawing, or none, and what is wrong."""

    drawing: Drawing | None
    slips: tuple[Slip, ...] = ()


def read_pasted(text: str) -> Pasted:
    """Read a text in whichever of these forms it is."""
    records = plain_newlines(text).removeprefix("\ufeff").split("\n")
    start = next((number for number, line in enumerate(records) if line.strip()), None)
    if start is None:
        return _nothing("there is nothing to read")
    table = [one.strip().casefold() for one in re.split("[,;\t]", records[start])]
    if "row" in table and "cage" in table:
        return _of_table(records, start)
    lines = [line.expandtabs(1) for line in records]
    black = _black_and_white(lines, start)
    if black is not None:
        return black
    square = _square(lines, start)
    if square is not None:
        return square
    return _of_keys(lines)


def _nothing(message: str, line: int = 1, column: int = 1) -> Pasted:
    return Pasted(None, (Slip(
        line, column, message,
        "paste keys of a manifest, a map with its sums, a map of '#' and '.', digits, or a table with row, "
        "column, cage and sum"),))


def _black_and_white(lines: list[str], start: int) -> Pasted | None:
    """Crossing sums: a map of black and white squares, of two rows or more, alone or with the sums of its runs
    after it, across and down. None where it is none.
    """
    end = next((number for number in range(start, len(lines)) if set(lines[number]) - {BLACK, NO_CAGE, " "}),
               len(lines))
    block, rows = "\n".join(lines[:end]), sum(map(bool, map(str.strip, lines[:end])))
    if BLACK not in block or rows < 2 or any(
            line.strip() and not _RUNS.fullmatch(line) for line in lines[end:]):
        return None
    grid, wrong = read_squares(block)
    if grid is None:
        return Pasted(None, tuple(
            Slip(block.count("\n", 0, one.offset) + 1, one.offset - block.rfind("\n", 0, one.offset),
                 one.message, one.hint) for one in wrong))
    keys: dict[str, Any] = {"kind": Kind.CROSSING_SUMS, "map": block}
    bare = drawing_of(keys)
    slips = []
    for number, line in enumerate(lines[end:], end):
        if (said := _RUNS.fullmatch(line)) is None:
            continue
        way, listed = said[1].casefold(), re.sub(r"[\s,;\[\]]+", " ", said[2]).split()
        many = len(runs(bare.shape)[WAYS.index(way)]) if bare.shape else 0
        at = said.start(1) + 1
        if not all(re.fullmatch(r"\d{1,4}|~", one, re.ASCII) for one in listed):
            slips.append(Slip(number + 1, at, f"the sums {way} are not all whole numbers",
                              "write ~ for one that is not known yet"))
        elif len(listed) != many:
            slips.append(Slip(number + 1, at, f"{counted(len(listed), 'sum')} {way} for "
                                              f"{counted(many, 'run')} of two cells or more"))
        else:
            keys[way] = [None if one == "~" else int(one) for one in listed]
    return Pasted(drawing_of(keys), tuple(slips))


def _square(lines: list[str], start: int) -> Pasted | None:
    """Digits in one line, or as many lines as characters; letters in such lines, with sums after them. None where
    it is neither.
    """
    first = "".join(lines[start].split())
    rest = lines[start + 1:]
    size = round(len(first) ** 0.5)
    if size in SIZES and size * size == len(first) and not "".join(rest).strip() and _are_digits(first, size):
        return Pasted(_givens([first[at:at + size] for at in range(0, len(first), size)]))
    size = len(first)
    rows = [(number, "".join(line.split())) for number, line in enumerate(lines) if line.strip()][:size]
    if size not in SIZES or len(rows) < size or any(len(row) != size for _, row in rows):
        return None
    texts = [row for _, row in rows]
    after = rows[-1][0] + 1
    if not "".join(lines[after:]).strip():
        return Pasted(_givens(texts)) if all(_are_digits(row, size) for row in texts) else _map(texts, {}, ())
    sums: dict[str, int | None] = {}
    slips = []
    for number, column, letter, total in _sums(lines, after):
        if letter not in "".join(texts):
            slips.append(Slip(number + 1, column + 1, f"there is a sum for {quoted(letter)}, but no such cage"))
        sums[letter] = total
    return _map(texts, sums, slips)


def _are_digits(text: str, size: int) -> bool:
    return all(char in _EMPTY or 1 <= (digit_of(char) or 0) <= size for char in text)


def _givens(rows: list[str]) -> Drawing:
    return Drawing(len(rows), givens=tuple(
        Given(Cell(row, col), digit_of(char) or 0) for row, line in enumerate(rows, 1)
        for col, char in enumerate(line, 1) if char not in _EMPTY))


def _sums(lines: list[str], after: int) -> Iterator[tuple[int, int, str, int | None]]:
    """Line, column, letter and sum of each pair in some lines."""
    for number, line in enumerate(lines[after:], after):
        said = re.sub(r"^\s*sums\s*:", lambda found: " " * len(found[0]), line)
        for found in _SUM.finditer(said):
            yield number, found.start(1), found[1], None if found[2] == "~" else int(found[2])


def _map(rows: list[str], sums: Mapping[str, int | None], slips: Iterable[Slip]) -> Pasted:
    return Pasted(drawing_of({"size": len(rows), "map": "\n".join(rows), "sums": sums}), tuple(slips))


def _of_keys(lines: list[str]) -> Pasted:
    """Keys of a manifest: a puzzle, a list, or a file of them, of which the first counts."""
    cut = min((len(line) - len(line.lstrip(" ")) for line in lines if line.strip()), default=0)
    try:
        document = parse_document(Path("pasted"), textwrap.dedent("\n".join(lines)))
    except UnreadableManifest as error:
        return Pasted(None, (_slip(error.fault, cut),))
    data: Any = document.data
    path: tuple[str | int, ...] = ()
    if isinstance(data, dict) and isinstance(data.get("puzzles"), list):
        data, path = data["puzzles"], ("puzzles",)
    if isinstance(data, list) and data:
        data, path = data[0], (*path, 0)
    if not isinstance(data, dict) or not KEYS & data.keys():
        return _nothing("this is no puzzle that can be read here")
    try:
        drawing = drawing_of(data)
    except NotDrawn as error:
        slips = _slips(document, path, data, cut)
        return Pasted(None, slips or (Slip(1, 1, str(error)),))
    return Pasted(drawing, _slips(document, path, data, cut))


def _slips(document: YamlDocument, path: tuple[str | int, ...], data: object, cut: int) -> tuple[Slip, ...]:
    reading = read_puzzle(document, path, data, True, "pasted")
    return tuple(_slip(fault, cut) for fault in (*document.faults, *reading.faults) if fault.is_error)


def _slip(fault: Fault, cut: int) -> Slip:
    return Slip(max(1, fault.line), max(1, fault.column) + cut, fault.message, fault.hint)


def _of_table(lines: list[str], start: int) -> Pasted:
    """A table with a line a cell: its row and column, its cage by any name, the cage's sum once or each time."""
    delimiter = max(",;\t", key=lines[start].count)
    head = [one.strip().casefold() for one in lines[start].split(delimiter)]
    if missing := [name for name in _COLUMNS if name not in head]:
        return _nothing(f"the table has no column {quoted(missing[0])}", start + 1)
    cages: dict[str, list[Cell]] = {}
    sums: dict[str, int] = {}
    slips: list[Slip] = []
    seen: set[Cell] = set()
    records = csv.reader(lines[start + 1:], delimiter=delimiter)
    for fields in records:
        line = start + 1 + records.line_num
        found = {name: field.strip() for name, field in zip(head, fields, strict=False)}
        if not any(found.values()):
            continue
        wrong = _record(found, cages, sums, seen)
        slips += [Slip(line, 1, wrong)] if wrong else []
    greatest = max((max(cell) for cell in seen), default=0)
    size = next((one for one in SIZES if one >= greatest), SIZES[-1])
    listed = cages_in_order(Cage(tuple(cells), sums.get(name)) for name, cells in cages.items())
    return Pasted(Drawing(size, listed) if listed else None, tuple(slips))


def _record(
    found: Mapping[str, str], cages: dict[str, list[Cell]], sums: dict[str, int], seen: set[Cell],
) -> str:
    """Take a line of a table in; what is wrong with it, or nothing."""
    row, column, cage, total = (found.get(name, "") for name in _COLUMNS)
    if not all(re.fullmatch("0*([1-9]|1[0-6])", number, re.ASCII) for number in (row, column)):
        return f"row and column are numbers from 1 to {SIZES[-1]}"
    cell = Cell(int(row), int(column))
    if cell in seen:
        return f"{cell} stands in the table twice"
    seen.add(cell)
    if not cage:
        return ""
    cages.setdefault(cage, []).append(cell)
    if total and not re.fullmatch("[0-9]{1,4}", total, re.ASCII):
        return f"the sum {quoted(total)} is not a whole number"
    if total and sums.setdefault(cage, int(total)) != int(total):
        return f"the cage {quoted(cage)} has the sum {sums[cage]} further up"
    return ""
