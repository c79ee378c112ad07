"""Changes of a YAML text made in its bytes as they are, and held against what the whole is to say afterwards."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NoReturn

from cagework.typeset.faults import UnreadableManifest
from cagework.typeset.manifest.document import YamlDocument, parse_document, plain_newlines
from cagework.typeset.manifest.extents import Part
from cagework.typeset.manifest.nodes import KeyPath

_BOM = b"\xef\xbb\xbf"


class NotSpliced(Exception):  # noqa: N818 - it says what is the matter
    """The text cannot be changed without touching more than was asked for. The message is for the editor."""


@dataclass(frozen=True, slots=True)
class Edit:
    """What takes the place of the characters from `start` up to `end`."""

    start: int
    end: int
    text: str


def part_at(root: Part, path: KeyPath) -> Part:
    """The value at a path. Raises NotSpliced where an alias stands for it."""
    part = root
    for step in path:
        if part.kind == "mapping":
            part = next((value for key, value in part.pairs if key.text == step), part)
        elif part.kind == "list" and isinstance(step, int):
            part = part.parts[step]
        if part.kind == "alias":
            raise NotSpliced(f"this stands in another place of the file, under &{part.anchor}: change it there")
    return part


def data_at(data: object, path: KeyPath) -> object:
    """What stands at a path."""
    for step in path:
        data = data[step]  # type: ignore[index]
    return data


def dash_at(text: str, part: Part, number: int) -> int:
    """Where an item of a list begins: its dash, where it has one."""
    if part.flow:
        return part.parts[number].start
    first = text.rindex("-", part.start, part.parts[0].start)
    if number == 0:
        return first
    column = first - text.rfind("\n", 0, first) - 1
    at = part.parts[number - 1].end
    while True:
        at = text.index("\n", at) + 1
        if text[at + column:at + column + 1] == "-" and not text[at:at + column].strip():
            return at + column


def applied(raw: bytes, edits: Sequence[Edit]) -> bytes:
    """Make edits, whose offsets are those of the text with plain newlines, in the bytes as they are."""
    text = raw.decode("utf-8-sig")
    pairs: list[int] = []       # where a newline of two characters stands in the plain text
    at = text.find("\r\n")
    while at >= 0:
        pairs.append(at - len(pairs))
        at = text.find("\r\n", at + 2)
    alone = {"\n": text.count("\n") - len(pairs), "\r": text.count("\r") - len(pairs), "\r\n": len(pairs)}
    newline = max(alone, key=lambda one: alone[one])
    order = sorted(range(len(edits)), key=lambda number: (edits[number].start, edits[number].end, number))
    pieces, done = [], 0
    for number in order:
        edit = edits[number]
        start, end = (one + bisect_left(pairs, one) for one in (edit.start, edit.end))
        if start < done:
            raise NotSpliced("two changes meet in one place of the file; make one of them there")
        pieces += [text[done:start], edit.text.replace("\n", newline)]
        done = end
    bom = _BOM if raw.startswith(_BOM) else b""
    return bom + "".join([*pieces, text[done:]]).encode("utf-8")


def hold(document: YamlDocument, changed: bytes, wanted: object) -> None:
    """Refuse a text that does not say what is wanted, all of it. Raises NotSpliced."""
    try:
        after = parse_document(document.file, plain_newlines(changed.decode("utf-8-sig")))
    except UnreadableManifest as error:
        _refuse(error.fault.message)
    if len(after.faults) > len(document.faults):
        _refuse(after.faults[-1].message)
    if not _alike(wanted, after.data):
        _refuse("something else in the file would change with it")


def _refuse(why: str) -> NoReturn:
    raise NotSpliced(f"it cannot be changed where it stands ({why}); change it in the file")


def with_value(data: Any, path: KeyPath, new: object) -> object:
    """Data with another value at a path."""
    if not path:
        return new
    step, rest = path[0], path[1:]
    inner = with_value(data[step], rest, new)
    if isinstance(data, dict):
        return {**data, step: inner}
    return [inner if number == step else one for number, one in enumerate(data)]


def _alike(one: object, other: object) -> bool:
    """Whether two values mean the same; blank lines around a text mean nothing."""
    if isinstance(one, str) and isinstance(other, str):
        return one.strip() == other.strip()
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        return one.keys() == other.keys() and all(_alike(one[key], other[key]) for key in one)
    if isinstance(one, list) and isinstance(other, list):
        return len(one) == len(other) and all(map(_alike, one, other))
    return one == other and isinstance(one, bool) == isinstance(other, bool)
