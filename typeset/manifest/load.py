"""A manifest, or a file of puzzles, to a Book: every file it draws on read, and every fault located.

Rooms below report what is wrong by key path or character; only here and in `notes` does that become a
file, a line and a column.
"""

from __future__ import annotations

from pathlib import Path

from cagework.typeset.faults import Severity
from cagework.typeset.manifest.notes import Notes
from cagework.typeset.manifest.puzzle_files import Reading as Reading
from cagework.typeset.manifest.puzzle_files import check_unique, gather, read_puzzle_file, unreadable
from cagework.typeset.manifest.reread import Reread


def load_book(
    path: Path, *, puzzles_suffice: bool = False, twins_are: Severity = Severity.ERROR,
    reread: Reread | None = None, draft: bool = False,
) -> Reading:
    """Read the manifest at `path` and every file it names.

    With `puzzles_suffice`, a file that holds a puzzle, a list of them, or `puzzles:` alone is read too.
    `twins_are` is how grave it is that one puzzle is another turned, mirrored or complemented.
    What `reread` holds of an earlier reading is used again. With `draft`, a book whose puzzles alone are at fault
    can be looked at all the same. Raises UnreadableManifest where the file is neither.
    """
    reread = reread or Reread()
    reread.begin()
    document = reread.document(path)
    data = document.data
    of_a_manifest = {"book", "sections"} if puzzles_suffice else {"book", "sections", "puzzles"}
    if isinstance(data, dict) and not of_a_manifest.isdisjoint(data):
        from cagework.typeset.manifest.whole import read_manifest
        return read_manifest(document, data, twins_are, reread, draft=draft)
    if puzzles_suffice:
        around = Notes(document)
        found = read_puzzle_file(document, False, around, reread)
        check_unique(found, twins_are, reread)
        return gather(around, found)
    raise unreadable(document, "this file is not a manifest: it has no 'book'")
