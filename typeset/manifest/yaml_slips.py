"""What a beginner's slip in YAML is called: found in the lines around the place where the parser gave up.

The parser says what it could not go on with, often a line after the slip. Each answer here says what is wrong with
the line itself, and shows it as it should be.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

_PAIR = re.compile(r"(?P<before> *(?:- +)*)(?P<key>[A-Za-z_][\w-]*):(?: +(?P<value>.*\S))? *")
_TIGHT = re.compile(r"(?P<before> *(?:- +)*)(?P<key>[A-Za-z_]\w*):(?P<value>[^\s:/].*)")
_DASH = re.compile(r"(?P<before> *)-(?P<rest>[A-Za-z_]\w*:(?: .*)?)")
_BARE = re.compile(r"(?P<before> *(?:- +)*)(?P<key>[A-Za-z_]\w*)(?:\s*[=;]\s*|\s+)(?P<value>[^\s=;].*)")
_WORD = re.compile(r" *(?:- +)*([A-Za-z_]\w*) *")
_BLOCK = re.compile(r".*:\s*[|>][-+0-9]*\s*(#.*)?")
_CLOSING = {"{": "}", "[": "]"}
_RESERVED = "@`%&*!|>?"


@dataclass(frozen=True, slots=True)
class LineSlip:
    """What is wrong with a line (from 0), from which column on (from 0), how far, and the way out."""

    line: int
    column: int
    length: int
    message: str
    hint: str


def slip_at(lines: Sequence[str], at: int) -> LineSlip | None:
    """The slip in a line, or in the one above, where the parser stopped at it; None where none is known."""
    return next(_slips(lines, at), None)


def unclosed(lines: Sequence[str], at: int, column: int) -> LineSlip | None:
    """What is wrong with the bracket or quotation mark that opens in a line; None where it is none."""
    text = lines[at][column:].rstrip()
    opened = text[:1]
    if opened in ('"', "'"):
        return LineSlip(at, column, 1, "a quotation mark opened here is never closed",
                        f"close it: {text}{opened}" if text.count(opened) == 1 else "")
    if opened not in _CLOSING:
        return None
    if text.count(opened) > text.count(_CLOSING[opened]):
        return LineSlip(at, column, 1, f"the '{opened}' opened here is never closed",
                        f"close it: {text.rstrip(',')}{_CLOSING[opened]}")
    if text.rfind(_CLOSING[opened]) < len(text) - 1:
        return next(_in_value(lines, at), None)
    return LineSlip(at, column, 1, f"a comma is missing between this '{opened}' and its '{_CLOSING[opened]}'",
                    "part what is listed by commas, as in {sum: 12, cells: r1c1 r1c2}")


def as_quoted(text: str) -> str:
    """A text in quotes, as YAML has it."""
    return f"'{text}'" if '"' in text and "'" not in text else json.dumps(text, ensure_ascii=False)


def _slips(lines: Sequence[str], at: int) -> Iterator[LineSlip]:
    above = next((number for number in range(at - 1, -1, -1) if lines[number].strip()), None)
    yield from _tab(lines, at)
    yield from _in_value(lines, at)
    for number in (at, above):
        if number is not None:
            yield from _no_space(lines, number)
    if above is not None:
        yield from _left_of_its_block(lines, at)
        yield from _no_colon(lines, above, at)
        yield from _indented(lines, at)


def _tab(lines: Sequence[str], at: int) -> Iterator[LineSlip]:
    line = lines[at]
    indent = line[:len(line) - len(line.lstrip())]
    if "\t" in indent:
        spaces = indent.replace("\t", "  ")
        yield LineSlip(at, indent.index("\t"), 1, "this line is indented by a tab; YAML takes spaces only",
                       f"put spaces in its place, two for each step: '{spaces}{line.strip()}'")


def _in_value(lines: Sequence[str], at: int) -> Iterator[LineSlip]:
    """A text that needs quotes."""
    pair = _PAIR.fullmatch(lines[at])
    value = pair and pair["value"]
    if not pair or not value or _BLOCK.fullmatch(lines[at]):
        return
    column, first = pair.start("value"), value[0]
    whole = f"put quotes around all of it: {pair['key']}: {as_quoted(value)}"
    if first in _RESERVED or (first in _CLOSING and _CLOSING[first] in value[:-1]):
        yield LineSlip(at, column, 1, f"a text that begins with '{first}' needs quotes", whole)
    elif first in ('"', "'") and first in value[1:-1]:
        yield LineSlip(at, column + value.index(first, 1), 1, "this text goes on after its closing quotation mark",
                       whole)
    elif first not in ('"', "'", *_CLOSING) and (colon := re.search(r":(\s|$)", value)):
        yield LineSlip(at, column + colon.start(), 1, "a text that holds ': ' needs quotes", whole)


def _no_space(lines: Sequence[str], at: int) -> Iterator[LineSlip]:
    if dash := _DASH.fullmatch(lines[at]):
        yield LineSlip(at, len(dash["before"]), 1, "there is no space after this '-'", f"write - {dash['rest']}")
    elif tight := _TIGHT.fullmatch(lines[at]):
        yield LineSlip(at, tight.end("key"), 1, "there is no space after this ':'",
                       f"write {tight['key']}: {tight['value']}")


def _left_of_its_block(lines: Sequence[str], at: int) -> Iterator[LineSlip]:
    """A row of a map or text that is indented less than the rows above it."""
    rows: list[int] = []
    for number in range(at - 1, -1, -1):
        if _BLOCK.fullmatch(lines[number]):
            break
        if ":" in lines[number]:
            return
        if lines[number].strip():
            rows.insert(0, number)
    else:
        return
    if not rows:
        return
    wanted = _indent(lines[rows[0]])
    for number in rows[1:]:
        if _indent(lines[number]) < wanted:
            yield LineSlip(number, _indent(lines[number]), len(lines[number].strip()),
                           "this row stands further left than the first one, so it is no part of the block",
                           f"indent all its rows alike, by {wanted} spaces")
            return


def _no_colon(lines: Sequence[str], above: int, at: int) -> Iterator[LineSlip]:
    """A key without its ':', above a line that goes on beside it, or under it."""
    line, here = lines[above], _indent(lines[at])
    if bare := _BARE.fullmatch(line):
        if len(bare["before"]) == here and ": " not in line and not line.rstrip().endswith(":"):
            yield LineSlip(above, bare.start("key"), len(bare["key"]), f"there is no ':' after '{bare['key']}'",
                           f"write {bare['key']}: {bare['value'].rstrip()}")
    elif (word := _WORD.fullmatch(line)) and here >= word.start(1):
        key = word[1]
        yield LineSlip(above, word.start(1), len(key), f"there is no ':' after '{key}'", f"write {key}:")


def _indented(lines: Sequence[str], at: int) -> Iterator[LineSlip]:
    """A key that stands neither under those above it nor further in by right."""
    pair = _PAIR.fullmatch(lines[at])
    if not pair:
        return
    here = _indent(lines[at])
    beside: list[tuple[int, int, str]] = []
    for number in range(at - 1, -1, -1):
        other = _PAIR.fullmatch(lines[number])
        if other and (not beside or len(other["before"]) < beside[-1][0]):
            beside.append((len(other["before"]), number, other["key"]))
    if not beside or here in [indent for indent, _, _ in beside]:
        return
    wanted, number, key = min(beside, key=lambda one: abs(one[0] - here))
    yield LineSlip(at, here, len(pair["key"]),
                   f"this line is indented by {here} spaces, '{key}' on line {number + 1} by {wanted}",
                   f"indent it by {wanted} spaces, to stand under '{key}'")


def _indent(line: str) -> int:
    return len(line) - len(line.lstrip(" "))
