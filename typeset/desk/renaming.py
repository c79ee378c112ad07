"""A puzzle's id changed wherever its book names it: in its file, the file's own name, and the manifest."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Iterator
from pathlib import Path, PurePath
from typing import Any

from cagework.typeset.desk.guard import Refused
from cagework.typeset.desk.saving import Change, parsed, reached, read, refusing
from cagework.typeset.faults import quoted
from cagework.typeset.host.disk import real
from cagework.typeset.manifest.document import YamlDocument
from cagework.typeset.manifest.keyed import ORDER
from cagework.typeset.manifest.nodes import KeyPath
from cagework.typeset.manifest.own import book_of, patterns_of
from cagework.typeset.manifest.puzzle_files import find_puzzle
from cagework.typeset.manifest.splice import respelled, spliced
from cagework.typeset.manifest.values import ID, as_text


def named_at(document: YamlDocument, id: str) -> Iterator[KeyPath]:
    """Where a manifest names a puzzle that stands elsewhere: in its sections, and for its cover."""
    data: Any = document.data
    sections = data.get("sections") if isinstance(data, dict) else None
    for number, section in enumerate(sections if isinstance(sections, list) else ()):
        listed = section.get("puzzles") if isinstance(section, dict) else None
        for place, name in enumerate(listed if isinstance(listed, list) else ()):
            if as_text(name) == id:
                yield "sections", number, "puzzles", place
    cover = (book_of(document) or {}).get("cover")
    if isinstance(cover, dict) and as_text(cover.get("puzzle")) == id:
        yield "book", "cover", "puzzle"


def renamed(manifest: Path, file: Path, id: str, new: str, ids: Iterable[str]) -> Change:
    """The change that gives a puzzle another id. Its file goes by that too where it went by the old one, has no
    other puzzle, and the manifest names it as well by the new name. Raises Refused.
    """
    if not re.fullmatch(ID, new):
        raise Refused(400, f"{quoted(new)} cannot be an id: letters and digits, '-' and '_'")
    if new.casefold() in {one.casefold() for one in ids if one != id}:
        raise Refused(400, f"the id {quoted(new)} is taken already")
    if new == id:
        raise Refused(400, f"its id is {quoted(id)} already")
    with refusing("a file of the book"):
        return _change(manifest, file, id, new)


def _change(manifest: Path, file: Path, id: str, new: str) -> Change:
    raw = read(manifest)
    book = parsed(manifest, raw)
    values = dict.fromkeys(named_at(book, id), new)
    inside = real(file) == real(manifest)
    own_raw = raw if inside else read(file)
    own = book if inside else parsed(file, own_raw)
    found = find_puzzle(own, id)
    if found is None:
        raise Refused(409, f"there is no puzzle {quoted(id)} in {file.name} any more")
    path, keys = found
    if inside:
        return Change(new, {manifest: (raw, respelled(book, raw, {**values, (*path, "id"): new}))})
    goal = None if path or file.stem != id else _goal(book, file, new)
    if goal is not None:
        patterns = [_beside(one, goal) if _is(book, one, file) else one for one in patterns_of(book)]
        values |= _patterns_changed(book, patterns)
    if "id" in keys:
        after = respelled(own, own_raw, {(*path, "id"): new})
    else:
        after = own_raw if goal is not None else spliced(own, own_raw, path, {"id": new, **keys}, ORDER)
    named = {manifest: (raw, respelled(book, raw, values))} if values else {}
    if goal is None:
        return Change(new, {file: (own_raw, after), **named})
    return Change(new, {goal: (None, after), **named}, (file, own_raw))


def _goal(book: YamlDocument, file: Path, new: str) -> Path | None:
    """The name that a file goes by from then on, beside its old one; None where it has to keep that."""
    goal = file.with_name(new + file.suffix)
    if file.is_symlink() or os.path.lexists(goal):
        return None
    if any(_is(book, one, file) for one in patterns_of(book)):
        return goal
    found = reached(book, new)
    return goal if found is not None and real(found) == real(goal) else None


def _is(book: YamlDocument, pattern: str, file: Path) -> bool:
    """Whether a pattern is the name of this one file."""
    return not set(pattern) & set("*?[") and real(book.file.parent / pattern) == real(file)


def _beside(pattern: str, goal: Path) -> str:
    return PurePath(pattern).with_name(goal.name).as_posix()


def _patterns_changed(book: YamlDocument, patterns: list[str]) -> dict[KeyPath, str]:
    """The patterns of a manifest that are others now, by where they stand."""
    written: Any = (book_of(book) or {}).get("puzzles_from")
    if not isinstance(written, list):
        return {("book", "puzzles_from"): patterns[0]} if patterns != [written] else {}
    new = iter(patterns)
    changed: dict[KeyPath, str] = {}
    for number, old in enumerate(written):
        if isinstance(old, str) and (pattern := next(new)) != old:
            changed["book", "puzzles_from", number] = pattern
    return changed
