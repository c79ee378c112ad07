"""The order of a book's puzzles: where its manifest says it, a puzzle moved there, and moves taken back."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cagework.typeset.book import Order
from cagework.typeset.desk.asked import Move, TakeBack
from cagework.typeset.desk.guard import Refused
from cagework.typeset.desk.saving import CHANGED, Change, parsed, read, refusing, write
from cagework.typeset.faults import UnreadableManifest, quoted
from cagework.typeset.host.disk import digest
from cagework.typeset.manifest.document import YamlDocument
from cagework.typeset.manifest.edits import Edit, applied, hold
from cagework.typeset.manifest.emit import flow
from cagework.typeset.manifest.nodes import KeyPath
from cagework.typeset.manifest.relist import Seat, relisted
from cagework.typeset.manifest.values import as_text

_MOST_BACK = 50
"""How many moves can be taken back."""


@dataclass(frozen=True, slots=True)
class Group:
    """Puzzles that stand together: a section's; all of a book without sections; those that no section names.

    `path` is that of their list, None where the manifest has no such list. `graded` ones stand by their grades,
    `loose` ones are not printed.
    """

    title: str
    ids: tuple[str, ...]
    path: KeyPath | None
    graded: bool = False
    loose: bool = False


def groups_of(document: YamlDocument, ids: Iterable[str]) -> tuple[Group, ...]:
    """The groups of a manifest, in its order; `ids` are those of all puzzles of the book, in the order read."""
    data: Any = document.data
    data = data if isinstance(data, dict) else {}
    book = data.get("book")
    named = data.get("sections")
    ids = tuple(ids)
    if not isinstance(named, list) or not named:
        if isinstance(book, dict) and book.get("puzzles_from") is not None:
            return (Group("", ids, None),)
        inside = data.get("puzzles")
        return (Group("", tuple(_text(one.get("id")) if isinstance(one, dict) else ""
                                for one in (inside if isinstance(inside, list) else ())), ("puzzles",)),)
    groups = []
    for number, one in enumerate(named):
        section: Mapping[str, Any] = one if isinstance(one, dict) else {}
        listed = section.get("puzzles")
        groups.append(Group(
            _text(section.get("title")), tuple(map(_text, listed if isinstance(listed, list) else ())),
            ("sections", number, "puzzles"), section.get("order") == Order.GRADE))
    taken = {name for group in groups for name in group.ids}
    loose = tuple(name for name in ids if name not in taken)
    return (*groups, Group("", loose, None, loose=True))


def _text(value: object) -> str:
    text = as_text(value)
    return text if isinstance(text, str) else ""


def moved(manifest: Path, raw: bytes, ids: Iterable[str], asked: Move) -> bytes:
    """The manifest's bytes with a puzzle put among the others of a group. Raises Refused."""
    with refusing(manifest.name):
        document = parsed(manifest, raw)
        groups = groups_of(document, ids)
        source = next((group for group in groups if asked.id in group.ids), None)
        if source is None:
            raise Refused(404, f"the book has no puzzle {quoted(asked.id)}")
        if asked.group >= len(groups):
            raise Refused(400, "the book has no such section")
        return _rewritten(document, raw, source, groups[asked.group], asked)


def _rewritten(document: YamlDocument, raw: bytes, source: Group, goal: Group, asked: Move) -> bytes:
    if source is goal and (source.loose or source.graded):
        raise Refused(400, f"{quoted(source.title)} stands in order of grade, easiest first; without "
                           "'order: grade' it has an order of its own" if source.graded else
                           "puzzles that no section names have no order")
    if source is not goal and not source.loose and len(source.ids) == 1:
        raise Refused(400, f"a section has one puzzle at least, and {quoted(source.title)} has no other")
    others = [name for name in goal.ids if name != asked.id]
    number = len(others) if goal.graded else min(asked.place, len(others))
    if source is goal and source.path is None:
        return _with_sections(document, raw, [*others[:number], asked.id, *others[number:]])
    return relisted(document, raw, Seat(source.path, source.ids.index(asked.id)) if source.path else None,
                    Seat(goal.path, number) if goal.path else None, asked.id)


def _with_sections(document: YamlDocument, raw: bytes, ids: Iterable[str]) -> bytes:
    """A book without sections given one of its own title, which prints the same, for the list it has."""
    data: Any = document.data
    book = data.get("book")
    section = {key: _text(book[key]) for key in ("title", "short_title") if book.get(key) is not None}
    heads = "\n    ".join(f"{key}: {flow(text)}" for key, text in section.items())
    listed = "".join(f"\n      - {flow(name)}" for name in ids)
    text = document.text
    lines = f"{'' if text.endswith(chr(10)) else chr(10)}\nsections:\n  - {heads}\n    puzzles:{listed}\n"
    changed = applied(raw, [Edit(len(text), len(text), lines)])
    hold(document, changed, {**data, "sections": [{**section, "puzzles": list(ids)}]})
    return changed


@dataclass(frozen=True, slots=True)
class _Done:
    """A move that was made: the manifest before it and after it."""

    id: str
    before: bytes
    after: bytes


class Moves:
    """Moves of one book made, taken back and made again, each where the manifest is as the one before left it."""

    def __init__(self, manifest: Path) -> None:
        self._manifest = manifest
        self._known: tuple[object, tuple[Group, ...]] = (None, ())
        self._done: deque[_Done] = deque(maxlen=_MOST_BACK)
        self._undone: list[_Done] = []

    def state(self, ids: Iterable[str]) -> dict[str, Any] | None:
        """The groups and by what the manifest is known, as the page reads them; None where it cannot be read."""
        try:
            raw = read(self._manifest)
            known, now = digest(raw), tuple(ids)
            if self._known[0] != (known, now):
                self._known = (known, now), groups_of(parsed(self._manifest, raw), now)
        except (Refused, UnreadableManifest):
            return None
        back, again = self._last(known), self._next(known)
        return {"digest": known, "back": back.id if back else None, "again": again.id if again else None,
                "groups": [{"title": group.title, "ids": list(group.ids), "graded": group.graded,
                            "loose": group.loose} for group in self._known[1]]}

    def do(self, asked: Move | TakeBack, ids: Iterable[str]) -> dict[str, Any]:
        """A move, or the last one taken back; what `state` says then. Raises Refused."""
        raw = read(self._manifest)
        if digest(raw) != asked.digest:
            raise Refused(409, CHANGED)
        last, following = self._last(asked.digest), self._next(asked.digest)
        if isinstance(asked, Move):
            joined = last if last and asked.joins and last.id == asked.id else None
            base = joined.before if joined else raw
            after = moved(self._manifest, base, ids, asked)
            self._write(asked.id, raw, after)
            if joined:
                self._done.pop()
            if after != base:
                self._done.append(_Done(asked.id, base, after))
            self._undone.clear()
        elif asked.again:
            if following is None:
                raise Refused(409, "there is no move to make again, or the file was changed since")
            self._write(following.id, raw, following.after)
            self._done.append(self._undone.pop())
        elif last is None:
            raise Refused(409, "there is no move to take back, or the file was changed since")
        else:
            self._write(last.id, raw, last.before)
            self._undone.append(self._done.pop())
        return {"order": self.state(ids)}

    def _last(self, known: str) -> _Done | None:
        """The move after which the manifest was what it is."""
        return self._done[-1] if self._done and digest(self._done[-1].after) == known else None

    def _next(self, known: str) -> _Done | None:
        """The move, taken back, before which it was that."""
        return self._undone[-1] if self._undone and digest(self._undone[-1].before) == known else None

    def _write(self, id: str, before: bytes, after: bytes) -> None:
        write(Change(id, {self._manifest: (before, after)}))
