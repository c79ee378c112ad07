"""A mapping of a YAML file changed where it stands: what changes in meaning is written anew, other bytes stay.

A round trip through a library that keeps comments was no choice: it lays out anew what it does not touch.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from difflib import SequenceMatcher
from typing import Any

from cagework.typeset.manifest.document import YamlDocument
from cagework.typeset.manifest.edits import (
    Edit,
    NotSpliced,
    applied,
    dash_at,
    data_at,
    hold,
    part_at,
    with_value,
)
from cagework.typeset.manifest.emit import block, entry, flow, item, tail
from cagework.typeset.manifest.extents import Part, extents
from cagework.typeset.manifest.nodes import QUOTES, KeyPath

_MANY = 4
"""So many keys or items that come or go in brackets are no small change: the whole is written anew, unless there
are comments in it.
"""


def spliced(document: YamlDocument, raw: bytes, path: KeyPath, new: Mapping[str, object],
            order: Sequence[str]) -> bytes:
    """The bytes `raw` of the document's file with the mapping at `path` saying what `new` says.

    A key that says the same stays as it is written; a new one comes after those before it in `order`. The result
    is read again, and must say `new` there and elsewhere what it said. Raises NotSpliced.
    """
    part = part_at(extents(document.text), path)
    splicer = _Splicer(document.text, order)
    old = data_at(document.data, path)
    if part.kind != "mapping" or not isinstance(old, dict):
        raise NotSpliced("this is not written as a mapping of keys")
    splicer.mapping(part, old, new)
    changed = applied(raw, splicer.edits)
    hold(document, changed, with_value(document.data, path, new))
    return changed


def respelled(document: YamlDocument, raw: bytes, values: Mapping[KeyPath, str]) -> bytes:
    """The bytes `raw` of the document's file with other words where single ones stand, between the quotes they
    have. The result is read again, as in `spliced`. Raises NotSpliced.
    """
    root, wanted, edits = extents(document.text), document.data, []
    for path, new in values.items():
        part = part_at(root, path)
        if part.kind != "scalar":
            raise NotSpliced("it does not stand here itself: change it in the file")
        if part.anchor:
            raise NotSpliced(f"it is marked &{part.anchor}, for use elsewhere in the file: change it there")
        said = f"{part.style}{new}{part.style}" if part.style in QUOTES else flow(new)
        edits.append(Edit(part.start, part.end, said))
        wanted = with_value(wanted, path, new)
    changed = applied(raw, edits)
    hold(document, changed, wanted)
    return changed


_COMMENTS = "there are comments within what is to be written anew, which would go: change it in the file"


class _Splicer:
    """Gathers edits of a text."""

    def __init__(self, text: str, order: Sequence[str]) -> None:
        self.text = text
        self.edits: list[Edit] = []
        self._order = {key: number for number, key in enumerate(order)}

    def mapping(self, part: Part, old: Mapping[str, Any], new: Mapping[str, object]) -> None:
        """Change a mapping key by key."""
        if any(key.text == "<<" and not key.style for key, _ in part.pairs):
            raise NotSpliced("it takes keys from elsewhere in the file (<<): change it there")
        pairs: dict[str, tuple[Part, Part]] = {}
        for key, value in part.pairs:
            pairs.setdefault(key.text, (key, value))        # of two equal keys the first counts
        spans = [(key.start, max(key.end + 1, value.end)) for key, value in pairs.values()]
        names = list(pairs)
        for name, (key, value) in pairs.items():
            if name in new and old[name] != new[name]:
                self._value(part, key, value, old[name], new[name])
        self._take_out(part, spans, [number for number, name in enumerate(names) if name not in new])
        for name in new:
            if name not in pairs:
                after = self._place(name, names, new)
                text = f"{flow(name)}: {flow(new[name])}" if part.flow else entry(
                    name, new[name], self._indent(part))
                self._put_in(part, spans, after, text)

    def _place(self, name: str, names: Sequence[str], new: Mapping[str, object]) -> int:
        """After how many of the keys that are there a new one comes: the last of them stays."""
        last = len(self._order)
        here = self._order.get(name, last + 1)
        return max((number for number, one in enumerate(names, 1)
                    if one in new and self._order.get(one, last) < here), default=0)

    def _value(self, part: Part, key: Part, value: Part, old: object, new: object) -> None:
        """Change the value of a key."""
        if self._inside(value, old, new):
            return
        self._refuse_loss(value)
        if part.flow:
            self._replace(value.start, value.end, flow(new) if value.end > value.start else f" {flow(new)}")
            return
        column = self._column(key.start)
        said = tail(new, column, key.end - key.start + 1)
        if value.style == "|" and said.startswith(" |") and self._block(value, str(new)):
            return
        colon = self.text.index(":", key.end) + 1
        gap, rest = self.text[colon:value.start], self._rest(value.end)
        comment = self._beside_block(value)
        if "\n" in gap or value.start == value.end:
            comment, *more_comments = gap.strip().split("\n")
            if more_comments:
                raise NotSpliced(_COMMENTS)
            start = colon
        elif said.startswith("\n"):
            start = colon
        else:
            said, start = said[1:], value.start
        end = value.end
        if "|\n" in said[:3] and rest.strip():      # a comment cannot follow a block, but its first line
            comment, end = rest.strip(), value.end + len(rest)
        first, newline, more = said.partition("\n")
        self._replace(start, max(start, end), first + ("  " + comment if comment else "") + newline + more)

    def _inside(self, value: Part, old: object, new: object) -> bool:
        """Whether the change could be made further down."""
        if value.kind == "mapping" and isinstance(old, dict) and isinstance(new, Mapping) and value.parts and new:
            many = value.flow and len(old.keys() ^ new.keys()) >= _MANY
            if old.keys().isdisjoint(new) or (many and not self._holds_comments(value)):
                return False
            self.mapping(value, old, new)
            return True
        if value.kind == "list" and isinstance(old, list) and isinstance(new, list) and value.parts and new:
            matcher = SequenceMatcher(None, [repr(one) for one in old], [repr(one) for one in new], autojunk=False)
            changes = [one for one in matcher.get_opcodes() if one[0] != "equal"]
            many = value.flow and sum(max(b - a, d - c) for _, a, b, c, d in changes) >= _MANY
            if many and not self._holds_comments(value):
                return False
            self._list(value, old, new, changes)
            return True
        return False

    def _list(self, part: Part, old: Sequence[object], new: Sequence[object],
              changes: Sequence[tuple[str, int, int, int, int]]) -> None:
        spans = [(dash_at(self.text, part, number), one.end) for number, one in enumerate(part.parts)]
        for _, a, b, c, d in changes:
            both = min(b - a, d - c)
            for number in range(both):
                self._item(part, part.parts[a + number], old[a + number], new[c + number])
            for number in range(c + both, d):
                said = flow(new[number]) if part.flow else f"- {item(new[number], self._indent(part) + 2)}"
                self._put_in(part, spans, b, said)
        self._take_out(part, spans, [
            number for _, a, b, c, d in changes for number in range(a + min(b - a, d - c), b)])

    def _item(self, part: Part, value: Part, old: object, new: object) -> None:
        """Change an item of a list."""
        if self._inside(value, old, new):
            return
        self._refuse_loss(value)
        said = flow(new) if part.flow else item(new, self._column(value.start))
        self._replace(value.start, value.end, said)

    def _block(self, value: Part, new: str) -> bool:
        """Change the lines of a literal block, its first line and its indentation left as they are."""
        head = self.text.find("\n", value.start)
        if not 0 <= head < value.end:
            return False
        line = next(line for line in self.text[head + 1:value.end].split("\n") if line.strip())
        indent = line[:len(line) - len(line.lstrip(" "))]
        self._replace(head + 1, value.end, block(new, indent))
        return True

    def _take_out(self, part: Part, spans: Sequence[tuple[int, int]], numbers: Sequence[int]) -> None:
        """Take out keys with their values, or items, by number."""
        kept = [number for number in range(len(spans)) if number not in numbers]
        if numbers and not kept:
            raise NotSpliced("nothing would be left of it")
        for number in numbers:
            for one in part.pairs[number] if part.kind == "mapping" else (part.parts[number],):
                self._refuse_anchors(one)
            start, end = spans[number]
            if part.flow:
                self._take_out_of_brackets(spans, number, last=number > kept[-1])
                continue
            line = self.text.rfind("\n", 0, start) + 1
            alone = not self.text[line:start].strip()       # or on one line with the dash of a list
            end = end + len(self._rest(end)) if alone else spans[number + 1][0]
            if alone and line:      # with the newline before: what is put in after it comes to stand there
                start = line - 1
            elif alone:
                start, end = 0, min(len(self.text), end + 1)
            self._replace(start, end, "")

    def _take_out_of_brackets(self, spans: Sequence[tuple[int, int]], number: int, *, last: bool) -> None:
        """Take out one with its comma: that after it, or before it where it is the last. Where a comment stands
        between, that stays, and the last leaves its comma, which may end a list (YAML 1.2.2, 7.4).
        """
        start, end = spans[number]
        first, second = (spans[number - 1][1], start) if last else (end, spans[number + 1][0])
        between = self.text[first:second]
        if "#" not in between:
            start, end = (first, end) if last else (start, second)
        elif not last:
            comma = between.index(",")
            if "#" in between[:comma]:
                raise NotSpliced(_COMMENTS)
            end += comma + 1
        self._replace(start, end, "")

    def _put_in(self, part: Part, spans: Sequence[tuple[int, int]], after: int, text: str) -> None:
        """Put in a key or an item after so many of those that are there."""
        if part.flow:
            at, text = (spans[after - 1][1], ", " + text) if after else (
                (spans[0][0], text + ", ") if spans else (part.start + 1, text))
        elif after:
            at = spans[after - 1][1]
            at, text = at + len(self._rest(at)), "\n" + " " * self._indent(part) + text
        else:
            at, text = spans[0][0], text + "\n" + " " * self._indent(part)
        self._replace(at, at, text)

    def _refuse_loss(self, value: Part) -> None:
        """Refuse to write a value anew with which more would go than it says."""
        self._refuse_anchors(value)
        if value.kind in ("list", "mapping") and self._holds_comments(value):
            raise NotSpliced(_COMMENTS)

    def _holds_comments(self, value: Part) -> bool:
        """Whether there are comments between the words of a collection, or beside a block's first line."""
        at = value.start
        for part in value.within():
            if part.kind in ("scalar", "alias"):
                if "#" in self.text[at:part.start] or self._beside_block(part):
                    return True
                at = part.end
        return "#" in self.text[at:value.end]

    def _beside_block(self, value: Part) -> str:
        """The comment on the first line of a block of text."""
        first = self.text[value.start:value.end].split("\n", 1)[0] if value.style in ("|", ">") else ""
        return first[first.index("#"):] if "#" in first else ""

    def _refuse_anchors(self, value: Part) -> None:
        for one in value.within():
            if one.anchor and one.kind != "alias":
                raise NotSpliced(f"what changes is marked &{one.anchor}, for use elsewhere in the file: "
                                 "change it there, or take the mark away")

    def _rest(self, at: int) -> str:
        """What follows on a line."""
        end = self.text.find("\n", at)
        return self.text[at:end if end >= 0 else None]

    def _indent(self, part: Part) -> int:
        """In which column the keys of a block mapping begin, or the dashes of a block list."""
        return self._column(part.pairs[0][0].start if part.kind == "mapping" else dash_at(self.text, part, 0))

    def _column(self, at: int) -> int:
        return at - self.text.rfind("\n", 0, at) - 1

    def _replace(self, start: int, end: int, text: str) -> None:
        self.edits.append(Edit(start, end, text))
