"""A pick as the manifest of a book or of a series, which then builds.

A file all of whose puzzles were picked is named; of others those picked are copied, key by key, and read again.
"""

from __future__ import annotations

import glob
import os
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cagework.typeset.columns.load import read_series
from cagework.typeset.faults import Fault, Severity
from cagework.typeset.manifest.document import parse_document, read_document
from cagework.typeset.manifest.emit import entry, flow
from cagework.typeset.manifest.own import FileKind, read_own
from cagework.typeset.manifest.puzzle_files import find_puzzle
from cagework.typeset.manifest.reread import Reread
from cagework.typeset.manifest.twins import key_of
from cagework.typeset.manifest.whole import read_manifest
from cagework.typeset.pool.ask import Listed
from cagework.typeset.pool.index import Index
from cagework.typeset.pool.pick import Pick
from cagework.typeset.pool.recipe import Recipe

_HEAD = "# Picked by cagework from a pool, by {recipe}.\n"


@dataclass(frozen=True, slots=True)
class Written:
    """The text of a manifest, and of a file of copied puzzles beside it, where a series needs one; how many
    puzzles were copied.
    """

    manifest: str
    beside: Mapping[Path, str]
    copied: int


def what_is_missing(recipe: Recipe, *, build: bool = False) -> Fault | None:
    """Why nothing can be written by a recipe, or its columns made; None where something can."""
    data = _data(recipe)
    book, series, document = data.get("book"), data.get("series"), recipe.document
    if (book is None) is (series is None):
        return document.fault(document.spot(("pick",), key=True), "the recipe does not say what is to be written",
                              "give it book: {title: ...}, or series: and slots: as a series has them; not both")
    if book is not None and "puzzles_from" in book:
        return document.fault(document.spot(("book", "puzzles_from"), key=True),
                              "which puzzles the book has is for the pick to say", "take it out")
    if build and series is None:
        return document.fault(document.spot(("book",), key=True), "only a series is built at once",
                              "leave out --build, and run: cagework build FILE")
    if series is not None and not data.get("slots"):
        return document.fault(document.spot(("series",), key=True), "a series needs slots",
                              "list them under slots, as a series manifest does")
    return None


def as_manifest(index: Index, folder: Path, picked: Pick, recipe: Recipe, target: Path) -> Written:
    """The manifest that is to stand at `target`. Raises UnreadableManifest where a file has changed meanwhile, and
    ValueError with the reason where a copy would not be the same puzzle.
    """
    data = _data(recipe)
    whole, others = _by_file(index, picked.puzzles, data.get("series") is not None)
    names = [glob.escape(Path(os.path.relpath(folder / file, target.parent)).as_posix()) for file in whole]
    copies = "".join(_copied(folder, one) for one in others)
    uncaged = any(one.uncaged for one in picked.puzzles)
    head = _HEAD.format(recipe=recipe.document.file.name)
    if "book" in data:
        book: dict[str, Any] = dict(data["book"])
        book |= {"puzzles_from": names} if names else {}
        book |= {"allow_uncaged": True} if uncaged else {}
        title = recipe.part.title or book.get("title") or target.stem
        section = (f"sections:\n  - {entry('title', title, 4)}\n    puzzles:\n"
                   + "".join(f"      - {one.id}\n" for one in picked.puzzles))
        return Written(f"{head}{_mapping('book', book)}{section}" + (f"puzzles:\n{copies}" if copies else ""), {},
                       len(others))
    beside = target.with_name(f"{target.stem}-puzzles.yaml")
    around = _mapping("book", {"title": target.stem, **({"allow_uncaged": True} if uncaged else {})})
    names += [glob.escape(beside.name)] if copies else []
    listed = "".join(f"  - {flow(name)}\n" for name in names)
    slots = "".join(f"  - {flow(slot)}\n" for slot in data["slots"])
    return Written(f"{head}{_mapping('series', data['series'])}pool:\n{listed}slots:\n{slots}",
                   {beside: f"{head}{around}puzzles:\n{copies}"} if copies else {}, len(others))


def _data(recipe: Recipe) -> dict[str, Any]:
    assert isinstance(recipe.document.data, dict), "it was read as a recipe"
    return recipe.document.data


def _by_file(index: Index, picked: Sequence[Listed], series: bool) -> tuple[list[str], list[Listed]]:
    """The files to be named, and the puzzles to be copied. A series has no way to allow cells in no cage."""
    counts = Counter(one.file for one in picked)
    whole = [file for file, number in counts.items() if index.one(
        "SELECT kind, (SELECT count(*) FROM puzzle WHERE file = file.id) FROM file WHERE path = ?", file)
        == (FileKind.PUZZLES, number) and not (series and any(one.uncaged for one in picked if one.file == file))]
    return whole, [one for one in picked if one.file not in whole]


def _copied(folder: Path, one: Listed) -> str:
    """A puzzle as an item of a list, held against what the index has."""
    document = read_document(folder / one.file)
    found = find_puzzle(document, one.id or "")
    keys = {"id": one.id, **found[1]} if found else {}
    lines = [entry(key, value, 4) for key, value in keys.items()]
    text = "  - " + "\n    ".join(lines) + "\n" if lines else ""
    again = read_own(parse_document(folder / one.file, f"puzzles:\n{text}"), one.uncaged).puzzles if text else ()
    if len(again) != 1 or again[0].entry is None or key_of(again[0].entry.puzzle) != one.key:
        raise ValueError(f"{folder / one.file}: puzzle '{one.id}' cannot be copied: it is not as it was indexed")
    return text


def _mapping(key: str, values: Mapping[str, object]) -> str:
    return f"{key}:\n" + "".join(f"  {entry(name, value, 2)}\n" for name, value in values.items())


def faults_of(written: Written, target: Path) -> Iterable[Fault]:
    """What is wrong with a manifest before it is written; files beside it have to stand there. Raises
    UnreadableManifest.
    """
    document = parse_document(target, written.manifest)
    if isinstance(document.data, dict) and "series" in document.data:
        return read_series(document).faults
    assert isinstance(document.data, dict), "it begins with book:"
    return read_manifest(document, document.data, Severity.ERROR, Reread(), draft=False).faults
