"""A drawing into the file where its puzzle stands, or a new one into a file of its own: shown, then written."""

from __future__ import annotations

import difflib
import os
import re
import shutil
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from fnmatch import fnmatchcase
from pathlib import Path, PurePath
from typing import Any

from cagework.typeset.desk.guard import Refused
from cagework.typeset.faults import UnreadableManifest, quoted
from cagework.typeset.host.disk import digest, real
from cagework.typeset.host.files import write_all
from cagework.typeset.host.locks import TakenError, alone_at
from cagework.typeset.manifest.document import (
    YamlDocument,
    parse_document,
    plain_newlines,
    read_raw,
    text_of,
)
from cagework.typeset.manifest.drawn import Drawing, NotDrawn, drawing_of
from cagework.typeset.manifest.edits import NotSpliced
from cagework.typeset.manifest.emit import emitted
from cagework.typeset.manifest.keyed import ORDER, keys_of
from cagework.typeset.manifest.own import book_of, patterns_of
from cagework.typeset.manifest.puzzle_files import find_puzzle
from cagework.typeset.manifest.splice import spliced
from cagework.typeset.manifest.values import ID, Unfit

CHANGED = "the file was changed since it was read here"


@dataclass(frozen=True, slots=True)
class Stands:
    """A puzzle where it stands: its file, from which line on, its keys drawn, and the file's digest."""

    file: Path
    line: int
    digest: str
    drawing: Drawing


@dataclass(frozen=True, slots=True)
class Change:
    """What a save writes: each file as it was (None for a new one) and as it will be, the puzzle's first. Where
    that takes another name, `former` is the one it has, and what it holds.
    """

    id: str
    files: Mapping[Path, tuple[bytes | None, bytes]]
    former: tuple[Path, bytes] | None = None

    @property
    def file(self) -> Path:
        """The file of the puzzle."""
        return next(iter(self.files))

    @property
    def digest(self) -> str:
        """What the puzzle's file will be known by."""
        return digest(self.files[self.file][1])

    def line(self) -> int:
        """On which line the puzzle will stand."""
        document = parsed(self.file, self.files[self.file][1])
        found = find_puzzle(document, self.id)
        return document.place(document.spot(found[0])).line if found else 1

    def difference(self, folder: Path) -> str:
        """As a unified diff; files are named from a folder."""
        said = []
        for file, (before, after) in self.files.items():
            name = named(file, folder)
            old = "/dev/null" if before is None else name
            if self.former and file == self.file:
                old, before = named(self.former[0], folder), self.former[1]
            if before != after or old != name:
                said.append(_difference(old, name, before, after))
        return "".join(said)

    @property
    def known(self) -> str:
        """What all files together are known by before they change."""
        before = [self.former[1] if self.former else b"", *(old or b"" for old, _ in self.files.values())]
        return digest("".join(map(digest, before)).encode())


def named(file: Path, folder: Path) -> str:
    """A file as it is called from a folder."""
    try:
        return file.resolve().relative_to(folder.resolve()).as_posix()
    except ValueError:
        return str(file)


@contextmanager
def refusing(what: str) -> Iterator[None]:
    """Refuse, with the reason, what cannot be changed, or cannot be read any more; `what` it is called."""
    try:
        yield
    except (NotDrawn, NotSpliced, Unfit) as error:
        raise Refused(400, str(error)) from error
    except UnreadableManifest as error:
        raise Refused(409, f"{what} cannot be read: {error.fault.message}") from error


def stands(file: Path, id: str) -> Stands:
    """A puzzle as its file has it now. Raises Refused, UnreadableManifest, NotDrawn."""
    raw = read(file)
    document = parsed(file, raw)
    found = find_puzzle(document, id)
    if found is None:
        raise Refused(404, f"there is no puzzle {quoted(id)} in {file.name}")
    path, keys = found
    return Stands(file, document.place(document.spot(path)).line, digest(raw), drawing_of(keys, id))


def changed(file: Path, id: str, drawing: Drawing, known: str | None) -> Change:
    """The change of a puzzle in its file, which must be as it was when `known` was its digest. Raises Refused."""
    raw = read(file)
    if digest(raw) != known:
        raise Refused(409, CHANGED)
    if drawing.id not in (None, id):
        raise Refused(400, "its id may stand in other places too: Rename…, on the puzzle's panel, changes all")
    with refusing(file.name):
        document = parsed(file, raw)
        found = find_puzzle(document, id)
        if found is None:
            raise Refused(409, f"there is no puzzle {quoted(id)} in {file.name} any more")
        path, keys = found
        drawing = replace(drawing, id=id)
        wanted = keys_of(drawing, keys)
        after = spliced(document, raw, path, wanted, ORDER)
        _hold(drawing, parsed(file, after), id)
    return Change(id, {file: (raw, after)})


def new(manifest: Path, drawing: Drawing, taken: Iterable[str | None]) -> Change:
    """A new puzzle in a file of its own beside the others, reached by the manifest: a line more of it where
    none of its patterns does. Raises Refused.
    """
    name = drawing.id or ""
    if not re.fullmatch(ID, name):
        raise Refused(400, "a new puzzle needs an id: letters and digits, '-' and '_'")
    if name.casefold() in {(one or "").casefold() for one in taken}:
        raise Refused(400, f"the id {quoted(name)} is taken already")
    with refusing(manifest.name):
        content = emitted(keys_of(drawing)).encode()
        raw = read(manifest)
        document = parsed(manifest, raw)
        file = reached(document, name)
        files: dict[Path, tuple[bytes, bytes]] = {}
        if file is None:
            file, files = _reached_after(document, raw, name)
        _hold(drawing, parsed(file, content), name)
    if os.path.lexists(file):
        raise Refused(409, f"there is a file {file.name} already")
    return Change(name, {file: (None, content), **files})


def write(change: Change) -> None:
    """Write all of it or nothing. Raises Refused where a file is not what it was, or cannot be written."""
    if all(before == after for before, after in change.files.values()):
        return
    gone = [change.former[0]] if change.former else []
    out = Path(os.path.commonpath([file.parent.absolute() for file in (*change.files, *gone)]))
    names = {file.absolute().relative_to(out): file for file in change.files}
    leaving = {change.former[0].absolute().relative_to(out): digest(change.former[1])} if change.former else {}

    def hold(waiting: Mapping[Path, Path]) -> None:
        """At the last moment: what is to be replaced is what it was, and what replaces it has its rights."""
        if change.former and read(change.former[0]) != change.former[1]:
            raise Refused(409, CHANGED)
        for name, part in waiting.items():
            file, before = names[name], change.files[names[name]][0]
            if (before is None) == os.path.lexists(file) or (before is not None and read(file) != before):
                raise Refused(409, CHANGED)
            source = file if before is not None else change.former[0] if change.former else None
            if source is not None:
                shutil.copymode(real(source), part)

    try:
        with alone_at(out):
            write_all(out, {name: change.files[file][1] for name, file in names.items()}, hold,
                      leaving=leaving)
    except TakenError as error:
        raise Refused(409, "another run is writing into this folder at this moment") from error
    except OSError as error:
        raise Refused(403, f"cannot write {change.file.name}: {error.strerror or error}") from error


def reached(document: YamlDocument, name: str) -> Path | None:
    """The file of this puzzle that a pattern of the manifest takes in already; None where none does."""
    home = document.file.parent
    for pattern in patterns_of(document):
        written = PurePath(pattern)
        folders = [part for part in written.parent.parts if part != "**"]
        if written.is_absolute() or any(set(part) & set("*?[") for part in folders):
            continue
        file = home.joinpath(*folders, f"{name}.yaml")
        inside = ".." in written.parts or real(file).is_relative_to(real(home))
        if inside and fnmatchcase(file.name, written.name) and real(file) != real(document.file):
            return file
    return None


def _reached_after(document: YamlDocument, raw: bytes, name: str) -> tuple[Path, dict[Path, tuple[bytes, bytes]]]:
    """A file beside the manifest, and the manifest with a line that names it."""
    book = book_of(document)
    if book is None:
        raise Refused(409, f"{document.file.name} has no 'book' that could name another file")
    patterns: Any = [*patterns_of(document), f"{name}.yaml"]
    keys = {**book, "puzzles_from": patterns if len(patterns) > 1 else patterns[0]}
    after = spliced(document, raw, ("book",), keys, ("title", "subtitle", "by", "language", "layout",
                                                     "puzzles_from"))
    return document.file.parent / f"{name}.yaml", {document.file: (raw, after)}


def _hold(drawing: Drawing, document: YamlDocument, id: str) -> None:
    """Refuse to write what would not be read as it was drawn."""
    found = find_puzzle(document, id)
    if found is None or drawing_of(found[1], id) != drawing:
        raise NotDrawn("it would not be read from the file as it is drawn here; write it into the file by hand")


def read(file: Path) -> bytes:
    """The bytes of a file of the book. Raises Refused."""
    try:
        return read_raw(file)
    except UnreadableManifest as error:
        raise Refused(409, f"{file.name} {error.fault.message}") from error


def parsed(file: Path, raw: bytes) -> YamlDocument:
    """The same as a document. Raises UnreadableManifest."""
    return parse_document(file, text_of(file, raw))


def _difference(former: str, name: str, before: bytes | None, after: bytes) -> str:
    old, new = (plain_newlines((text or b"").decode("utf-8-sig")).splitlines(keepends=True)
                for text in (before, after))
    if old == new:
        return f"--- {former}\n+++ {name}\n"
    lines = difflib.unified_diff(old, new, former, name)
    return "".join(line if line.endswith("\n") else f"{line}\n\\ No newline at end of file\n" for line in lines)
