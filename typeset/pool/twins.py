"""Puzzles of an index that are one another turned, mirrored or complemented."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

from cagework.solver.symmetry import Relation, relation
from cagework.typeset.manifest.document import read_document
from cagework.typeset.manifest.own import OwnPuzzles, read_own
from cagework.typeset.pool.ask import Listed, Wanted, listed
from cagework.typeset.pool.index import Index


@dataclass(frozen=True, slots=True)
class Pair:
    """A puzzle, one that comes after it, and how to make the second of the first."""

    first: Listed
    second: Listed
    how: Relation

    def as_json(self) -> dict[str, Any]:
        """As programs read it."""
        one, other = ({"id": one.id, "file": one.file, "line": one.line} for one in (self.first, self.second))
        return {"first": one, "second": other, "how": str(self.how)}


def twins(index: Index, folder: Path, wanted: Wanted) -> Iterator[Pair]:
    """Each puzzle asked for that is an earlier one of them again, with the first that it is. Their files are read
    once more. Raises UnreadableManifest.
    """
    @lru_cache(maxsize=4)
    def read(file: str, uncaged: bool) -> OwnPuzzles:
        return read_own(read_document(folder / file), uncaged)

    def puzzle_of(one: Listed) -> Any:
        place, uncaged = index.one("SELECT place, file.uncaged FROM puzzle JOIN file ON file.id = puzzle.file "
                                   "WHERE puzzle.id = ?", one.number)
        entry = read(one.file, bool(uncaged)).puzzles[place].entry
        assert entry is not None, "it has a key, so it could be read"
        return entry.puzzle

    seen: dict[str, Listed] = {}
    for one in listed(index, wanted, "puzzle.key IN (SELECT key FROM puzzle GROUP BY key HAVING count(*) > 1)"):
        assert one.key is not None, "it was counted by its key"
        first = seen.setdefault(one.key, one)
        if first is not one:
            how = relation(puzzle_of(first), puzzle_of(one))
            assert how is not None, "equal keys mean a relation"
            yield Pair(first, one, how)
