"""One file's own puzzles: those that stand in it, whatever files it may name besides."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from cagework.typeset.faults import Fault, Severity, in_order
from cagework.typeset.manifest.document import YamlDocument
from cagework.typeset.manifest.notes import Notes
from cagework.typeset.manifest.plain import KEYS
from cagework.typeset.manifest.puzzle import PuzzleReading
from cagework.typeset.manifest.puzzle_files import check_unique, found_puzzle, gather, read_puzzle_file, unreadable
from cagework.typeset.manifest.reread import Reread


class FileKind(StrEnum):
    """What a YAML file is for."""

    MANIFEST = "manifest"    # of a book
    PUZZLES = "puzzles"
    SERIES = "series"
    LEDGER = "ledger"
    RECIPE = "recipe"        # what a pick from a pool is to be
    DESIGN = "design"        # a layout or a slot
    OTHER = "other"


_MARKS: Mapping[FileKind, frozenset[str]] = {
    FileKind.RECIPE: frozenset({"pick"}),
    FileKind.SERIES: frozenset({"series"}),
    FileKind.LEDGER: frozenset({"used"}),
    FileKind.DESIGN: frozenset({"trim", "carries"}),
    FileKind.MANIFEST: frozenset({"book", "sections"}),
    FileKind.PUZZLES: frozenset({"puzzles", *KEYS}),
}
"""Keys of which one is enough, in the order they are looked for."""


@dataclass(frozen=True, slots=True)
class OwnPuzzles:
    """The puzzles of a file, each with its faults, and those faults of the file that belong to none of them."""

    kind: FileKind
    puzzles: tuple[PuzzleReading, ...] = ()
    faults: tuple[Fault, ...] = ()


def kind_of_file(document: YamlDocument) -> FileKind:
    """What a file is for, by its keys."""
    data = document.data
    if not isinstance(data, dict):
        return FileKind.PUZZLES
    return next((kind for kind, marks in _MARKS.items() if not marks.isdisjoint(data)), FileKind.OTHER)


def read_own(document: YamlDocument, allow_uncaged: bool) -> OwnPuzzles:
    """The puzzles that stand in a document; `allow_uncaged` says whether those of a file of puzzles may leave
    cells in no cage. Raises UnreadableManifest for a file that could hold none.
    """
    kind, data, reread = kind_of_file(document), document.data, Reread()
    around = Notes(document)
    if kind is FileKind.OTHER:
        odd = unreadable(document, "this file is neither a manifest nor a puzzle, and is passed over").fault
        return OwnPuzzles(kind, (), (replace(odd, severity=Severity.WARNING),))
    if kind is FileKind.PUZZLES:
        found = read_puzzle_file(document, allow_uncaged, around, reread)
    elif kind is FileKind.MANIFEST and isinstance(data, dict):
        around.faults += document.faults
        listed = data.get("puzzles")
        if listed is not None and not isinstance(listed, list):
            from cagework.typeset.manifest.schema import PuzzleFile
            from cagework.typeset.manifest.violations import findings
            around.add_findings(findings(PuzzleFile, {"puzzles": listed}))
        found = [found_puzzle(document, ("puzzles", index), item, allows_uncaged(document), reread)
                 for index, item in enumerate(listed if isinstance(listed, list) else ())]
    else:
        return OwnPuzzles(kind)
    check_unique(found, Severity.WARNING, reread)
    return OwnPuzzles(kind, gather(around, found).puzzles, in_order(around.faults))


def uncaged_in(document: YamlDocument) -> tuple[str, ...]:
    """The patterns of a book's manifest for files whose puzzles may leave cells in no cage."""
    if kind_of_file(document) is not FileKind.MANIFEST or not allows_uncaged(document):
        return ()
    return tuple(one for one in patterns_of(document) if one.strip())


def book_of(document: YamlDocument) -> dict[str, Any] | None:
    """The keys under 'book'; None where a file has none."""
    data: Any = document.data
    book = data.get("book") if isinstance(data, dict) else None
    return book if isinstance(book, dict) else None


def patterns_of(document: YamlDocument) -> list[str]:
    """What a manifest names its files of puzzles by."""
    written = (book_of(document) or {}).get("puzzles_from")
    return [one for one in (written if isinstance(written, list) else [written]) if isinstance(one, str)]


def allows_uncaged(document: YamlDocument) -> bool:
    """Whether the book of a manifest means cells in no cage."""
    return (book_of(document) or {}).get("allow_uncaged") is True
