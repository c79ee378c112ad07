"""What a book was when its files were last built, kept beside the cache, and what has changed in it since.

All is told by content: by what a puzzle, a text or a setting says, and by how a page looks; never by when a file
was written.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass, fields, is_dataclass, replace
from enum import Enum
from pathlib import Path
from typing import Any

from pydantic import BaseModel

from cagework.solver.model import Puzzle
from cagework.typeset.book import Book, Section
from cagework.typeset.draw.setting import Setting
from cagework.typeset.entry import Entry, Place
from cagework.typeset.host.disk import digest, name_of, real, write_whole
from cagework.typeset.host.files import RECORD
from cagework.typeset.marks import MM, Page
from cagework.typeset.raster import Raster
from cagework.typeset.solving.record import puzzle_key
from cagework.typeset.write.svg import svg_text

_FOLDER = "built"
_TEXTS = ("title", "short_title", "subtitle", "by", "imprint", "introduction", "grade_words")
_ELSEWHERE = (*_TEXTS, "sections", "text_pages", "written")
"""Fields of a book that are no settings."""


@dataclass(frozen=True, slots=True)
class State:
    """What a book is, each part by a name for people and a digest: its puzzles by their ids; its texts; its
    settings; and its pages' looks, in order.
    """

    puzzles: Mapping[str, str]
    texts: Mapping[str, str]
    settings: Mapping[str, str]
    pages: Sequence[str]


@dataclass(frozen=True, slots=True)
class Changes:
    """What is not as it was: names of puzzles, texts and settings, and numbers of pages that look another way;
    `gone` and `added` are puzzles, `before` is how many pages there were.
    """

    puzzles: tuple[str, ...]
    added: tuple[str, ...]
    gone: tuple[str, ...]
    texts: tuple[str, ...]
    settings: tuple[str, ...]
    pages: tuple[int, ...]
    before: int


def picture_of(setting: Setting, page: Page, number: int) -> str:
    """A page as SVG, with what bleeds."""
    return svg_text(page.marks, page.width, page.height, setting.fonts, f"Page {number}",
                    around=setting.book.press.bleed * MM)


def look_of(picture: str) -> str:
    """What tells one drawing of a page from another."""
    return digest(picture.encode())[:20]


def looks_of(setting: Setting, pages: Sequence[Page], run: range) -> list[str]:
    """The looks of some pages, by their places from 0."""
    return [look_of(picture_of(setting, pages[place], place + 1)) for place in run]


def state_of(book: Book, pages: Sequence[str]) -> State:
    """A book as it is now, with its pages' looks."""
    return State({entry.id: _digest(_of_puzzle(entry)) for entry in book.entries},
                 {name: _digest(text) for name, text in _texts(book)},
                 {name: _digest(value) for name, value in _settings(book)}, tuple(pages))


def changes(then: State, now: State) -> Changes:
    """What has become of a book."""
    puzzles = _differing(then.puzzles, now.puzzles)
    pages = tuple(number for number, look in enumerate(now.pages, 1)
                  if number > len(then.pages) or then.pages[number - 1] != look)
    return Changes(
        tuple(name for name in puzzles if name in then.puzzles and name in now.puzzles),
        tuple(name for name in puzzles if name not in then.puzzles),
        tuple(name for name in puzzles if name not in now.puzzles),
        _differing(then.texts, now.texts), _differing(then.settings, now.settings), pages, len(then.pages))


def keep(top: Path, manifest: Path, out: Path, state: State) -> None:
    """Note in the cache folder `top` what the book of a manifest was when the files under `out` were built."""
    place = _place(top, manifest)
    said = {"out": str(real(out)), "files": _record(out), "state": asdict(state)}
    with suppress(OSError):
        place.parent.mkdir(parents=True, exist_ok=True)
        write_whole(place, json.dumps(said, separators=(",", ":")).encode())


def kept(top: Path, manifest: Path) -> State | None:
    """What the book of a manifest was when its last files were built; None where that is not known, or these are
    no longer what was built.
    """
    try:
        said = json.loads(_place(top, manifest).read_bytes())
        files = _record(Path(said["out"]))
        known = said["state"]
        state = State(dict(known["puzzles"]), dict(known["texts"]), dict(known["settings"]), tuple(known["pages"]))
    except (OSError, ValueError, TypeError, KeyError):
        return None
    return state if files and files == said["files"] else None


def _place(top: Path, manifest: Path) -> Path:
    return top / _FOLDER / f"{name_of(manifest)}.json"


def _record(out: Path) -> str:
    """What tells the files of one build from those of another; nothing where there are none."""
    with suppress(OSError):
        return digest((real(out) / RECORD).read_bytes())
    return ""


def _differing(then: Mapping[str, str], now: Mapping[str, str]) -> tuple[str, ...]:
    return tuple(name for name in dict.fromkeys((*now, *then)) if then.get(name) != now.get(name))


def _of_puzzle(entry: Entry) -> object:
    """All that a puzzle says, but not where: what its grade came to is not the editor's to change."""
    return [puzzle_key(entry.puzzle), _plain(entry.rules), entry.title, entry.short_title, entry.by, entry.note,
            entry.solutions.value]


def _texts(book: Book) -> Iterator[tuple[str, object]]:
    yield from ((name.replace("_", " "), _plain(getattr(book, name))) for name in _TEXTS)
    if book.cover:
        yield "blurb", book.cover.blurb
    for section in book.sections:
        yield f"section “{section.title}”", [section.short_title, section.intro, _plain(section.picture)]
    for page in book.text_pages:
        yield f"page “{page.title or page.position}”", _plain(page)


def _settings(book: Book) -> Iterator[tuple[str, object]]:
    for field in fields(book):
        if field.name not in _ELSEWHERE:
            value = getattr(book, field.name)
            if field.name == "cover" and book.cover:
                value = replace(book.cover, blurb="", places={})
            yield field.name.replace("_", " "), _plain(value)
    yield "order of puzzles", [[entry.id for entry in section.entries] for section in book.sections]
    yield "sections", [_plain(_bare(section)) for section in book.sections]


def _bare(section: Section) -> Section:
    """A section's settings alone."""
    return replace(section, title="", short_title=None, intro=None, picture=None, entries=())


def _plain(value: object) -> Any:
    """A value as JSON can hold it, in one way only; where things stand in files is left out."""
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, Puzzle):
        return puzzle_key(value)
    if isinstance(value, Raster):
        return value.digest
    if isinstance(value, BaseModel):
        return json.loads(value.model_dump_json())
    if is_dataclass(value):
        return [type(value).__name__, *(_plain(getattr(value, one.name)) for one in fields(value)
                                        if one.compare and not isinstance(getattr(value, one.name), Place))]
    if isinstance(value, Mapping):
        return sorted([str(key), _plain(one)] for key, one in value.items())
    if isinstance(value, set | frozenset):
        return sorted((_plain(one) for one in value), key=str)
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    return value if value is None or isinstance(value, bool | int | float | str) else str(value)


def _digest(value: object) -> str:
    return digest(json.dumps(value, sort_keys=True).encode())[:20]
