"""Entries to pairs whose puzzles are one another turned, mirrored or complemented."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from itertools import compress

from cagework.solver.model import Puzzle
from cagework.solver.symmetry import Key, Relation, canonical, likeness, relation
from cagework.typeset.entry import Entry


def twins(
    entries: Iterable[Entry], like: Callable[[Puzzle], Key] = likeness,
) -> Iterator[tuple[Entry, Entry, Relation]]:
    """Yield each entry whose puzzle is an earlier one turned, mirrored or complemented: the earlier one,
    the entry, and how to make the second of the first. Only puzzles that `like` takes to be alike are compared.
    """
    listed = list(entries)
    likes = [like(entry.puzzle) for entry in listed]
    alike = Counter(likes)
    seen: dict[Key, Entry] = {}
    for entry in compress(listed, [alike[one] > 1 for one in likes]):
        first = seen.setdefault(canonical(entry.puzzle), entry)
        if first is not entry:
            how = relation(first.puzzle, entry.puzzle)
            assert how is not None, "equal keys mean a relation"
            yield first, entry, how


def key_of(puzzle: Puzzle) -> str:
    """64 hexadecimal figures (SHA-256) that stand for a puzzle and all that it becomes turned, mirrored or
    complemented.
    """
    return hashlib.sha256(repr(canonical(puzzle)).encode()).hexdigest()
