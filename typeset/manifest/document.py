"""YAML text to data in which every value, key and character still knows its place in the file.

The data follow the core schema of YAML 1.2 (yaml.org/spec/1.2.2, chapter 10.3) less its octal, hexadecimal,
infinite and not-a-number forms: `no`, `12:30` and `2026-01-02` are text, as an editor means them. Anchors,
aliases and merge keys work; tags other than `!!str` do not.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import NoReturn

import yaml

from cagework.typeset.entry import Place
from cagework.typeset.faults import Fault, Severity, UnreadableManifest, listed, quoted
from cagework.typeset.manifest.nodes import (
    QUOTES,
    KeyPath,
    Node,
    Pairs,
    Scalar,
    Sequence,
    Spot,
    extent,
    plain_scalar,
    scalar,
)
from cagework.typeset.manifest.yaml_slips import as_quoted, slip_at, unclosed

MAX_BYTES = 2_000_000
"""The greatest file read, in bytes: some thousands of puzzles."""
MAX_DEPTH = 40
"""How deep lists and mappings may nest."""
MAX_VALUES = 200_000
"""How many values a file may hold once every alias is written out."""

_FEW = 3
"""How many files of a folder are named."""

_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
_CUT = re.compile(r"[ \t]*(#[^\W_][^\n]*)")
"""A comment right after a value that has no space after its '#'."""
_TIGHT = re.compile(r"([^\s:]+):([^\s:]+)")
_UNPRINTABLE = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_PLAIN_WORDS = (
    ("mapping values are not allowed", "a ':' that cannot be placed here",
     "put quotes around a text that holds ': ', and line keys up under each other"),
    ("could not find expected ':'", "a key with no ':' after it", "write it as key: value"),
    ("did not find expected key", "this line does not fit the ones above it", "check how far it is indented"),
    ("expected <block end>", "this line does not fit the ones above it", "check how far it is indented"),
    ("did not find expected '-'", "this line does not fit the ones above it", "check how far it is indented"),
    ("nesting depth", "lists and keys nest too deeply", ""),
    ("cannot start any token", "a character that cannot start a value", "put quotes around the value"),
)
"""What the YAML parsers say (part of it) -> what we say, and the way out, where the lines show no plainer slip."""

_UNCLOSED = ("unexpected end of stream", "expected ',' or")
"""What they say of a bracket or a quotation mark that is not closed."""


@dataclass(frozen=True, slots=True)
class YamlDocument:
    """A YAML file that could be read: its data and the places in it. `faults` holds what is wrong
    with it as YAML though it can still be read (a key given twice).
    """

    file: Path
    text: str
    root: Node
    data: object
    faults: tuple[Fault, ...]
    _starts: tuple[int, ...] = field(repr=False)
    lines: tuple[str, ...] = field(repr=False)

    def find(self, path: KeyPath) -> Node | None:
        """The value at a path; None where there is no such value."""
        node: Node = self.root
        for key in path:
            below = _step(node, key)
            if below is None:
                return None
            node = below[1]
        return node

    def spot(self, path: KeyPath, *, key: bool = False) -> Spot:
        """Where the value at a path stands; its key where it is a collection or empty, or by wish.
        Where the path leads nowhere, the nearest value above it.
        """
        node: Node = self.root
        at = node.spot
        for step in path:
            below = _step(node, step)
            if below is None:
                break
            key_spot, node = below
            whole = isinstance(node, Scalar) and node.text != ""
            at = node.spot if key_spot is None or (whole and not key) else key_spot
        return at

    def spot_in(self, path: KeyPath, offset: int, length: int = 1) -> Spot:
        """Where character `offset` of the text at a path stands; the text's start where the way it is
        written hides that (escapes, folded lines).
        """
        node = self.find(path)
        if not isinstance(node, Scalar):
            return self.spot(path)
        if node.style == "|":
            return self._spot_in_block(node, offset, length) or node.spot
        inner = node.spot.start + (1 if node.style in QUOTES else 0)
        return Spot(inner + offset, length) if node.verbatim else node.spot

    def _spot_in_block(self, node: Scalar, offset: int, length: int) -> Spot | None:
        row = node.text.count("\n", 0, offset)
        begin = node.text.rfind("\n", 0, offset) + 1
        content = node.text[begin:].split("\n", 1)[0]
        line = bisect_right(self._starts, node.spot.start) + row
        if line >= len(self._starts):
            return None
        source = self.lines[line]
        if not source.endswith(content):
            return None
        return Spot(self._starts[line] + len(source) - len(content) + offset - begin, length)

    def place(self, spot: Spot) -> Place:
        """Line and column of a spot, and the line as it stands: one text for all its spots, however long it is."""
        line = bisect_right(self._starts, spot.start) - 1
        return Place(self.file, line + 1, spot.start - self._starts[line] + 1, self.lines[line])

    def fault(self, spot: Spot, message: str, hint: str = "", severity: Severity = Severity.ERROR) -> Fault:
        """A fault at a spot, with the line it stands on."""
        place = self.place(spot)
        span = max(1, min(spot.length, len(place.source) - place.column + 1))
        return Fault(place, message, hint, severity, span)

    def spot_on(self, line: int, column: int, length: int) -> Spot:
        """A run of characters of a line, both counted from 0."""
        return Spot(self._starts[line] + column, length)

    def writing(self, path: KeyPath) -> Writing:
        """The text at a path, for whoever finds fault with it later."""
        return Writing(self, path)


@dataclass(frozen=True, slots=True, eq=False)
class Writing:
    """The text at a key path of a document."""

    document: YamlDocument
    path: KeyPath

    def place(self, part: str = "") -> Place:
        """Where a part of the text first stands; where the text begins, if it is not there."""
        node = self.document.find(self.path)
        at = node.text.find(part) if part and isinstance(node, Scalar) else -1
        return self.document.place(
            self.document.spot(self.path) if at < 0 else self.document.spot_in(self.path, at, len(part)))


def _step(node: Node, key: str | int) -> tuple[Spot | None, Node] | None:
    if isinstance(node, Pairs) and isinstance(key, str):
        return node.entries.get(key)
    if isinstance(node, Sequence) and isinstance(key, int) and key < len(node.items):
        return None, node.items[key]
    return None


def read_document(file: Path) -> YamlDocument:
    """Read a YAML file. Raises UnreadableManifest where it is missing, not UTF-8, or not YAML."""
    return parse_document(file, read_text(file))


def read_text(file: Path) -> str:
    """The text of a file, its newlines plain. Raises UnreadableManifest where it is missing, or not UTF-8."""
    return text_of(file, read_raw(file))


def read_raw(file: Path) -> bytes:
    """All the bytes of a file. Raises UnreadableManifest where it is missing, or larger than MAX_BYTES."""
    try:
        with file.open("rb") as stream:
            raw = stream.read(MAX_BYTES + 1)
    except OSError as error:
        if file.is_dir():
            inside = sorted(one.name for one in file.glob("*.yaml"))[:_FEW]
            hint = f"name a file in it, such as {listed(inside)}" if inside else "name a file, such as a book.yaml"
            raise UnreadableManifest(Fault(file, "cannot be read: it is a folder", hint)) from error
        reason = "there is no such file" if isinstance(error, FileNotFoundError) else error.strerror
        raise UnreadableManifest(Fault(file, f"cannot be read: {reason}")) from error
    if len(raw) > MAX_BYTES:
        raise UnreadableManifest(Fault(
            file, f"is larger than {MAX_BYTES // 1_000_000} MB", "move puzzles into files of their own"))
    return raw


def text_of(file: Path, raw: bytes) -> str:
    """The text of a file's bytes, its newlines plain. Raises UnreadableManifest where it is not UTF-8."""
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        where = _place_of_byte(file, raw, error.start)
        raise UnreadableManifest(Fault(where, "this is not UTF-8 text", "save the file as UTF-8")) from error
    return plain_newlines(text)


def plain_newlines(text: str) -> str:
    """A text with newlines of one kind, a character each."""
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _place_of_byte(file: Path, raw: bytes, at: int) -> Place:
    """Where a byte stands among characters, those before and after it read as well as they can be."""
    begin, end = raw.rfind(b"\n", 0, at) + 1, raw.find(b"\n", at)
    before = raw[begin:at].decode("utf-8", "replace").removeprefix("\ufeff")
    source = raw[begin:end if end >= 0 else None].decode("utf-8", "replace")
    return Place(file, raw.count(b"\n", 0, at) + 1, len(before) + 1, source)


def parse_document(file: Path, text: str) -> YamlDocument:
    """Make a document of YAML text with plain newlines. Raises UnreadableManifest."""
    blank = document_of(file, text, Scalar(Spot(0), "", None, ""))
    refuse_unprintable(blank)
    composer = _Composer(blank)
    try:
        for event in yaml.parse(text, Loader=_LOADER):
            composer.take(event)
    except yaml.MarkedYAMLError as error:
        raise UnreadableManifest(_in_plain_words(blank, error)) from error
    if composer.root is None:
        raise UnreadableManifest(Fault(file, "is empty", "a manifest starts with book:"))
    return replace(blank, root=composer.root, data=plain(composer.root), faults=tuple(composer.faults))


def refuse_unprintable(document: YamlDocument) -> None:
    """Raise UnreadableManifest for a text with characters that no YAML can hold."""
    if strange := _UNPRINTABLE.search(document.text):
        raise UnreadableManifest(document.fault(
            Spot(strange.start()), f"a control character (U+{ord(strange[0]):04X}) has no place in YAML",
            "delete it"))


def document_of(file: Path, text: str, root: Node) -> YamlDocument:
    """A text with plain newlines, and what was found in it, whatever form it is in."""
    starts = (0, *(found.end() for found in re.finditer("\n", text)))
    return YamlDocument(file, text, root, plain(root), (), starts, tuple(text.split("\n")))


def plain(node: Node) -> object:
    """A node as str, bool, None, WrittenInt, WrittenFloat, list and dict (its keys always text)."""
    if isinstance(node, Pairs):
        return {key: plain(value) for key, (_, value) in node.entries.items()}
    if isinstance(node, Sequence):
        return [plain(item) for item in node.items]
    return node.value


def _in_plain_words(document: YamlDocument, error: yaml.MarkedYAMLError) -> Fault:
    said, stopped, begun = str(error.problem or ""), error.problem_mark, error.context_mark
    offset = min(stopped.index, len(document.text)) if stopped else 0
    slip = None
    if begun and any(words in said for words in _UNCLOSED):
        place = document.place(Spot(min(begun.index, len(document.text))))
        slip = unclosed(document.lines, place.line - 1, place.column - 1)
    slip = slip or slip_at(document.lines, document.place(Spot(offset)).line - 1)
    if slip:
        return document.fault(document.spot_on(slip.line, slip.column, slip.length), slip.message, slip.hint)
    message, hint = next(
        ((ours, way) for theirs, ours, way in _PLAIN_WORDS if theirs in said), (f"not YAML: {said}", ""))
    return document.fault(Spot(offset), message, hint)


@dataclass(slots=True)
class _Frame:
    """A collection still open: its parts so far, keys and values alternating for a mapping."""

    event: yaml.CollectionStartEvent
    parts: list[Node]
    weight: int = 1


class _Composer:
    """Events to nodes, without recursion, so that no input can exhaust the stack or the memory."""

    def __init__(self, blank: YamlDocument) -> None:
        self.root: Node | None = None
        self.faults: list[Fault] = []
        self._blank = blank
        self._frames: list[_Frame] = []
        self._anchors: dict[str, Node] = {}

    def take(self, event: yaml.Event) -> None:
        if isinstance(event, yaml.DocumentStartEvent) and self.root is not None:
            self._stop(event, "a second document in one file", "keep one document, and delete the '---'")
        elif isinstance(event, yaml.ScalarEvent):
            self._check_tag(event, "tag:yaml.org,2002:str")
            self._add(self._heard(scalar(event, self._blank.text), event), event.anchor)
        elif isinstance(event, yaml.AliasEvent):
            known = self._anchors.get(event.anchor or "")
            if known is None:
                self._stop(event, f"*{event.anchor} stands for nothing above it",
                           f"mark what it stands for with &{event.anchor}; an anchor cannot hold itself")
            self._add(known, None)
        elif isinstance(event, yaml.CollectionStartEvent):
            self._check_tag(event, "tag:yaml.org,2002:seq", "tag:yaml.org,2002:map")
            if len(self._frames) == MAX_DEPTH:
                self._stop(event, "lists and keys nest too deeply", f"{MAX_DEPTH} levels are read")
            self._frames.append(_Frame(event, []))
        elif isinstance(event, yaml.CollectionEndEvent):
            frame = self._frames.pop()
            self._add(self._close(frame), frame.event.anchor)

    def _heard(self, read: Scalar, event: yaml.ScalarEvent) -> Scalar:
        """A scalar; what is cut off by a '#' that most likely was meant as text is told."""
        if read.style == "" and (read.value is None or isinstance(read.value, str)):
            _, end = extent(event)
            lost = _CUT.match(self._blank.text, end)
            if lost:
                whole = f"{read.text}{lost[0]}".strip()
                self.faults.append(self._blank.fault(
                    Spot(lost.start(1), len(lost[1])), f"{quoted(lost[1])} is taken for a comment, and left out",
                    f"put quotes around the text: {as_quoted(whole)}; or a space after '#', if it is a comment",
                    Severity.WARNING))
        return read

    def _stop(self, event: yaml.Event, message: str, hint: str) -> NoReturn:
        start, end = extent(event)
        spot = Spot(start, max(1, end - start))
        raise UnreadableManifest(self._blank.fault(spot, message, hint))

    def _check_tag(self, event: yaml.ScalarEvent | yaml.CollectionStartEvent, *known: str) -> None:
        if event.tag not in (None, "!", *known):
            self._stop(event, f"the tag {quoted(_short(str(event.tag)))} has no meaning here", "delete it")

    def _add(self, node: Node, anchor: str | None) -> None:
        if anchor is not None:
            self._anchors[anchor] = node
        if not self._frames:
            self.root = node
            return
        frame = self._frames[-1]
        frame.parts.append(node)
        frame.weight += node.weight
        if frame.weight > MAX_VALUES:
            self._stop(frame.event, f"holds more than {MAX_VALUES:,} values once aliases are written out",
                       "use fewer aliases, or several files")

    def _close(self, frame: _Frame) -> Node:
        event = frame.event
        start, _ = extent(event)
        if isinstance(event, yaml.SequenceStartEvent):
            return Sequence(Spot(start), tuple(frame.parts), frame.weight)
        entries: dict[str, tuple[Spot, Node]] = {}
        merged: dict[str, tuple[Spot, Node]] = {}
        tells = False
        for key, value in zip(frame.parts[::2], frame.parts[1::2], strict=True):
            if not isinstance(key, Scalar):
                raise UnreadableManifest(
                    self._blank.fault(key.spot, "a key must be text, not a list or mapping"))
            if tight := _tight(key, value):
                if not tells:
                    self.faults.append(self._blank.fault(
                        key.spot, f"there is no space after the ':' of {quoted(key.text)}",
                        f"write {tight[1]}: {tight[2]}, and so each"))
                tells = True
                key, value = plain_scalar(key.spot, tight[1]), plain_scalar(key.spot, tight[2])
            if key.text == "<<" and key.style == "":
                merged |= self._merged(key, value)
            elif key.text in entries:
                first = self._blank.place(entries[key.text][0]).line
                self.faults.append(self._blank.fault(
                    key.spot, f"the key {quoted(key.text)} is given twice; it first stands on line {first}",
                    "keep one of them"))
            else:
                entries[key.text] = (key.spot, value)
        spot = frame.parts[0].spot if frame.parts and not event.flow_style else Spot(start)
        return Pairs(spot, merged | entries, frame.weight)

    def _merged(self, key: Scalar, value: Node) -> dict[str, tuple[Spot, Node]]:
        """What a merge key brings in; of several mappings the earlier ones win."""
        found: dict[str, tuple[Spot, Node]] = {}
        for part in reversed(value.items if isinstance(value, Sequence) else (value,)):
            if not isinstance(part, Pairs):
                raise UnreadableManifest(self._blank.fault(
                    key.spot, "'<<' merges mappings, and this is not one", "write <<: *name"))
            found |= part.entries
        return found


def _tight(key: Scalar, value: Node) -> re.Match[str] | None:
    """The parts of a key of a mapping in braces that was meant as key and value, `a:12`."""
    empty = isinstance(value, Scalar) and value.text == value.style == ""
    return _TIGHT.fullmatch(key.text) if empty and key.style == "" else None


def _short(tag: str) -> str:
    """A tag as it is written."""
    return tag.replace("tag:yaml.org,2002:", "!!", 1)
