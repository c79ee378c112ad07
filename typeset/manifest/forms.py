"""Puzzles in any of the forms that people have them in to keys of a manifest, each with its place in the text:
keys, a map with sums, black and white squares, digits, a table, JSON.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import takewhile
from pathlib import Path
from typing import Any

from cagework.solver.crossing import WAYS, runs
from cagework.solver.model import SIZES, Shape
from cagework.typeset.choices import Kind
from cagework.typeset.faults import Fault, UnreadableManifest, counted, quoted
from cagework.typeset.manifest.document import YamlDocument, document_of, parse_document, refuse_unprintable
from cagework.typeset.manifest.nodes import (
    KeyPath,
    Node,
    Scalar,
    Spot,
    pairs_at,
    plain_scalar,
    sequence_at,
    text_at,
)
from cagework.typeset.manifest.notation import BLACK, NO_CAGE, digit_of, number_hint, read_squares
from cagework.typeset.manifest.plain import KEYS
from cagework.typeset.manifest.tables import is_table, read_table

_EMPTY = ".0-_*"
"""What stands for an empty cell among digits."""
_SUM = re.compile(r"(?<![^\s,{;])([^\s,:={};])(?:\s*[:=]\s*([^\s,};]+)|\s*(~|[lIOo]*\d{1,4}[lIOo]*)(?=[\s,};]|$))")
"""A cage's letter and its sum; after a sign between them whatever stands there, else what has digits."""
_WHOLE = re.compile(r"\d{1,4}|~", re.ASCII)
_RUNS = re.compile(rf"\s*({'|'.join(WAYS)})\b\s*[:=]?(.*)", re.IGNORECASE)
_ABOVE = re.compile(r"\s*(id|title|by|grade|note)\s*:\s*(\S.*?)\s*")
"""What may be said of a puzzle in the lines above its map."""
_TITLE = re.compile(r"[\s#*]*([^\W_].*?)[\s*:]*")
"""A line above a map that is its title: a heading, as one is typed."""
_KEY = re.compile(r"[\s-]*(\w+)\s*:.*|.*:\s*[|>][-+0-9]*\s*")
"""A line that may be one of a manifest's keys."""
_IS_SUMS = re.compile(r"[=:,;]|[^\W\d]\s*\d|sums", re.IGNORECASE)
"""In a line of as many characters as a map's rows: it is none of them."""
_RULED = re.compile(r"---\s*")
"""A line that parts puzzles; a row of empty cells is longer."""
_PAIR = re.compile(r"(?<!\\)((?:\\\\)*)\\u(d[89ab][0-9a-f]{2})\\u(d[c-f][0-9a-f]{2})", re.IGNORECASE)
"""A character beyond U+FFFF as JSON escapes it, which YAML does not."""
_FORMS = ("keys of a manifest, a map with its sums, a map of '#' and '.', digits, or a table with row, column, "
          "cage and sum")


@dataclass(frozen=True, slots=True)
class Form:
    """Some puzzles: the document that has their keys, whose faults are those of the form, and the paths there.
    `is_keys` tells whether they were written as keys.
    """

    document: YamlDocument
    paths: tuple[KeyPath, ...]
    is_keys: bool = False

    def keys(self, path: KeyPath) -> Any:
        """The keys of the puzzle there."""
        data: Any = self.document.data
        for key in path:
            data = data[key]
        return data


def read_forms(file: Path, text: str) -> Iterator[Form]:
    """The puzzles of a text with plain newlines: one, or several, parted by lines `---`, or in a table or JSON.
    Raises UnreadableManifest where a part of it is in none of the forms.
    """
    text = text.removeprefix("\ufeff")
    whole = document_of(file, text, Scalar(Spot(0), "", None, ""))
    refuse_unprintable(whole)
    if text.lstrip()[:1] in ("{", "[") and _is_json(text):
        yield _of_json(file, text)
        return
    first = re.search(r"\S", text)
    if first is None:
        raise UnreadableManifest(whole.fault(Spot(0), "there is nothing to read", f"give {_FORMS}"))
    start = text.rfind("\n", 0, first.start()) + 1
    if is_table(text[start:].split("\n", 1)[0]):
        document = read_table(file, text, start)
        listed = document.data if isinstance(document.data, list) else []
        yield Form(document, tuple((number,) for number in range(len(listed))))
        return
    for part in _parts(text):
        yield _of_lines(file, part)


def _parts(text: str) -> Iterator[str]:
    """The text again and again, each time with one of its puzzles alone, on the lines where it stands."""
    lines = text.split("\n")
    rules = [number for number, line in enumerate(lines) if _RULED.fullmatch(line)]
    begin = 0
    for end in (*rules, len(lines)):
        if "".join(lines[begin:end]).strip():
            yield "\n".join([*("" for _ in range(begin)), *lines[begin:end]])
        begin = end + 1


class _Lines:
    """The lines of a text, from the first that says anything."""

    def __init__(self, file: Path, text: str) -> None:
        self.text = text.expandtabs(1)      # as many characters
        self.lines = self.text.split("\n")
        self.file = file
        self.start = next(number for number, line in enumerate(self.lines) if line.strip())
        self._blank = document_of(file, text, Scalar(Spot(0), "", None, ""))
        self.faults: list[Fault] = []
        self.keys: dict[str, Node] = {}

    def take_what_stands_above(self) -> None:
        """Lines that name the puzzle, before its map: with a key, or its title alone."""
        for number in range(self.start, len(self.lines)):
            self.start = number
            if found := _ABOVE.fullmatch(self.lines[number]):
                self.keys[found[1]] = text_at(self.spot(number, found.start(2), len(found[2])), found[2])
            elif title := self._title(number):
                self.keys["title"] = text_at(self.spot(number, title.start(1), len(title[1])), title[1])
            elif self.lines[number].strip():
                return

    def _title(self, number: int) -> re.Match[str] | None:
        """The title that a line is, above a map or more lines with keys."""
        line = self.lines[number]
        key = _KEY.fullmatch(line)
        if "title" in self.keys or (key and (key[1] is None or key[1] in KEYS)):
            return None
        below = [one for one in self.lines[number + 1:] if one.strip() and not _ABOVE.fullmatch(one)]
        return _TITLE.fullmatch(line) if _is_map(below, but="".join(line.split())) else None

    def spot(self, line: int, column: int = 0, length: int = 1) -> Spot:
        """Where characters of a line stand, both counted from 0."""
        return Spot(sum(len(one) + 1 for one in self.lines[:line]) + column, max(1, length))

    def add(self, spot: Spot, message: str, hint: str = "") -> None:
        self.faults.append(self._blank.fault(spot, message, hint))

    def add_no_sum(self, line: int, column: int, text: str, hint: str) -> None:
        """What stands there is taken for a sum, and is none."""
        self.add(self.spot(line, column, len(text)), f"the sum {quoted(text)} is not a whole number",
                 number_hint(text) or hint)

    def form(self) -> Form:
        """One puzzle of the keys found so far."""
        root = sequence_at(self.spot(self.start), [pairs_at(self.spot(self.start), self.keys)])
        document = document_of(self.file, self._blank.text, root)
        return Form(replace(document, faults=tuple(self.faults)), ((0,),))

    def nothing(self) -> Form:
        """No puzzle, for the faults found."""
        return Form(replace(self._blank, faults=tuple(self.faults)), ())


def _of_lines(file: Path, text: str) -> Form:
    lines = _Lines(file, text)
    lines.take_what_stands_above()
    return _black_and_white(lines) or _square(lines) or _of_keys(file, text)


def _black_and_white(lines: _Lines) -> Form | None:
    """Crossing sums: a map of black and white squares, of two rows or more, alone or with the sums of its runs
    after it, across and down. None where it is none.
    """
    rows, start = lines.lines, lines.start
    end = next((number for number in range(start, len(rows)) if set(rows[number]) - {BLACK, NO_CAGE, " "}),
               len(rows))
    block, height = "\n".join(rows[start:end]), sum(map(bool, map(str.strip, rows[start:end])))
    if BLACK not in block or height < 2 or any(
            line.strip() and not _RUNS.fullmatch(line) for line in rows[end:]):
        return None
    begin = lines.spot(start).start
    grid, wrong = read_squares(block)
    if grid is None:
        for one in wrong:
            lines.add(Spot(begin + one.offset, one.length), one.message, one.hint)
        return lines.nothing()
    lines.keys["kind"] = text_at(Spot(begin), Kind.CROSSING_SUMS.value)
    lines.keys["map"] = text_at(Spot(begin, len(block)), block, verbatim=True)
    last = max(grid)
    shape = Shape(last.row, last.col, tuple(cell for cell, symbol in grid.items() if symbol.char != BLACK))
    many = dict(zip(WAYS, map(len, runs(shape)), strict=True))
    for number, line in enumerate(rows[end:], end):
        if (said := _RUNS.fullmatch(line)) is not None:
            _take_sums(lines, number, said, many[said[1].casefold()])
    return lines.form()


def _take_sums(lines: _Lines, number: int, said: re.Match[str], many: int) -> None:
    """The sums of the runs one way, if they are as many as the runs; one that is no number is taken for none."""
    way, at = said[1].casefold(), lines.spot(number, said.start(1))
    found = []
    for one in re.finditer(r"[^\s,;\[\]]+", said[2]):
        column, text = said.start(2) + one.start(), one[0]
        if not _WHOLE.fullmatch(text):
            lines.add_no_sum(number, column, text, "write ~ for one that is not known yet")
            text = "~"
        found.append(plain_scalar(lines.spot(number, column, len(one[0])), text))
    if len(found) != many:
        lines.add(at, f"{counted(len(found), 'sum')} {way} for {counted(many, 'run')} of two cells or more")
    else:
        lines.keys[way] = sequence_at(at, found)


def _square(lines: _Lines) -> Form | None:
    """Digits in one line, or as many lines as characters; letters in such lines, with sums after them. None where
    it is neither.
    """
    start = lines.start
    first = "".join(lines.lines[start].split())
    size = round(len(first) ** 0.5)
    if size in SIZES and size * size == len(first) and not "".join(
            lines.lines[start + 1:]).strip() and _are_digits(first, size):
        rows = [first[at:at + size] for at in range(0, len(first), size)]
        return _givens(lines, size, text_at(lines.spot(start), _bare("\n".join(rows))))
    size = len(first)
    found = [number for number, line in enumerate(lines.lines) if number >= start and line.strip()][:size]
    texts = ["".join(lines.lines[number].split()) for number in found]
    if size not in SIZES or len(texts) < size or any(len(row) != size for row in texts):
        return None
    after = found[-1] + 1
    block = "\n".join(lines.lines[start:after])
    spot = Spot(lines.spot(start).start, len(block))
    if "".join(lines.lines[after:]).strip() == "" and all(_are_digits(row, size) for row in texts):
        return _givens(lines, size, text_at(spot, _bare(block), verbatim=True))
    lines.keys |= {"size": plain_scalar(spot, str(size)), "map": text_at(spot, block, verbatim=True)}
    if sums := dict(_sums(lines, after, "".join(texts))):
        lines.keys["sums"] = pairs_at(lines.spot(after), sums)
    return lines.form()


def _is_map(lines: Sequence[str], but: str) -> bool:
    """Whether lines begin with all rows of a map, and a line `but` above them is none of its rows."""
    rows = ["".join(line.split()) for line in lines]
    squares = list(takewhile(lambda row: set(row) <= {BLACK, NO_CAGE}, rows))
    if len(squares) > 1 and any(BLACK in row for row in squares):
        return True
    size = len(rows[0]) if rows else 0
    rows = rows[:size]
    if size not in SIZES or len(rows) < size or any(len(row) != size for row in rows):
        return False
    if len(but) == size and set(but) <= set("".join(rows)):
        return False
    return all(_are_digits(row, size) for row in rows) or not any(map(_IS_SUMS.search, lines[:size]))


def _are_digits(text: str, size: int) -> bool:
    return all(char in _EMPTY or 1 <= (digit_of(char) or 0) <= size for char in text)


def _bare(text: str) -> str:
    """A block of digits as a manifest has it, as many characters."""
    return re.sub(f"[{re.escape(_EMPTY)}]", NO_CAGE, text)


def _givens(lines: _Lines, size: int, block: Scalar) -> Form:
    lines.keys |= {"size": plain_scalar(block.spot, str(size)), "givens": block}
    return lines.form()


def _sums(lines: _Lines, after: int, letters: str) -> Iterator[tuple[str, Node]]:
    """Letter and sum of each pair in the lines after a map; a letter that the map has not is a fault, and so is a
    sum that is no number, which is taken for none.
    """
    for number, line in enumerate(lines.lines[after:], after):
        for found in _SUM.finditer(re.sub(r"^\s*sums\s*:", lambda found: " " * len(found[0]), line)):
            said = found[2] or found[3]
            whole = _WHOLE.fullmatch(said) is not None
            if found[1] in letters:
                if not whole:
                    lines.add_no_sum(number, found.end() - len(said), said, "write it in digits, or ~ for none")
                    said = "~"
                yield found[1], plain_scalar(lines.spot(number, found.start(1), len(found[0])), said)
            elif whole:
                lines.add(lines.spot(number, found.start(1)),
                          f"there is a sum for {quoted(found[1])}, but no such cage")


def _of_keys(file: Path, text: str) -> Form:
    """Keys of a manifest: a puzzle, a list, or a file of them."""
    document = parse_document(file, text)
    paths = tuple(_paths(document.data))
    if not paths:
        raise UnreadableManifest(document.fault(
            Spot(0), "this is no puzzle that can be read here", f"give {_FORMS}"))
    return Form(document, paths, is_keys=True)


def _paths(data: object) -> Iterator[KeyPath]:
    """The way to each puzzle; what `export` writes has its keys under `puzzle`."""
    base: KeyPath = ()
    if isinstance(data, dict) and isinstance(data.get("puzzles"), list):
        data, base = data["puzzles"], ("puzzles",)
    if not isinstance(data, list):
        if isinstance(data, Mapping) and KEYS & data.keys():
            yield base
        return
    if not any(isinstance(one, Mapping) and (KEYS | {"puzzle"}) & one.keys() for one in data):
        return
    for number, one in enumerate(data):
        yield (*base, number, "puzzle") if isinstance(one, dict) and "puzzle" in one else (*base, number)


def _is_json(text: str) -> bool:
    """Whether a text in brackets is to be taken for JSON: keys in quotation marks, which a manifest seldom has."""
    return re.match(r'\s*(\[\s*)?\{\s*("|\})|\s*\[\s*\]', text) is not None


def _of_json(file: Path, text: str) -> Form:
    """JSON, which is YAML but for one kind of escape; what is wrong with it as JSON is said as such."""
    try:
        json.loads(text)
    except ValueError as error:
        at = getattr(error, "pos", 0)
        blank = document_of(file, text, Scalar(Spot(0), "", None, ""))
        said = getattr(error, "msg", str(error))
        raise UnreadableManifest(blank.fault(Spot(min(at, len(text))), f"this is not JSON: {said}")) from error
    return _of_keys(file, _PAIR.sub(_one_character, text))


def _one_character(found: re.Match[str]) -> str:
    high, low = int(found[2], 16), int(found[3], 16)
    return found[1] + chr(0x10000 + ((high - 0xD800) << 10) + (low - 0xDC00))
