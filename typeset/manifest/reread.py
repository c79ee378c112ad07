"""What reading a manifest leaves behind, so that reading it again after a small change is quick."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from cagework.solver.model import Puzzle
from cagework.solver.symmetry import Key, likeness
from cagework.typeset.entry import Entry
from cagework.typeset.manifest.document import YamlDocument, parse_document, read_text
from cagework.typeset.manifest.nodes import KeyPath
from cagework.typeset.manifest.puzzle import PuzzleReading


@dataclass(slots=True)
class _Kept:
    documents: dict[Path, YamlDocument] = field(default_factory=dict)
    puzzles: dict[object, PuzzleReading] = field(default_factory=dict)
    keys: dict[int, tuple[Puzzle, Key]] = field(default_factory=dict)


class Reread:
    """Documents by their text, puzzles by their place and text, and what tells twins apart.

    What one reading does not use the next does not find. What is kept is what would be read anew: a puzzle whose
    place or text is another, or that borrows from elsewhere in its file by an alias, is read again. `whole` has
    each puzzle as it was when all of it could be read, by its id: what a draft may show of it since.
    """

    def __init__(self) -> None:
        self._last = _Kept()
        self._now = _Kept()
        self.whole: dict[str, Entry] = {}

    def begin(self) -> None:
        """Start another reading."""
        self._last, self._now = self._now, _Kept()

    def document(self, file: Path) -> YamlDocument:
        """A YAML file, parsed. Raises UnreadableManifest."""
        text = read_text(file)
        known = self._last.documents.get(file)
        document = known if known is not None and known.text == text else parse_document(file, text)
        self._now.documents[file] = document
        return document

    def puzzle(
        self, document: YamlDocument, path: KeyPath, terms: object, read: Callable[[], PuzzleReading],
    ) -> PuzzleReading:
        """The puzzle at a key path, read on some terms."""
        text = _lines_of(document, path)
        key = (document.file, document.place(document.spot(path)), text, terms)
        reading = self._last.puzzles.get(key) if "*" not in text else None
        if reading is None:
            reading = read()
            if reading.entry is not None:
                self.whole[reading.entry.id] = reading.entry
        if "*" not in text:
            self._now.puzzles[key] = reading
        return reading

    def likeness(self, puzzle: Puzzle) -> Key:
        """`symmetry.likeness`, remembered for the puzzles kept."""
        known = self._last.keys.get(id(puzzle))
        key = known[1] if known is not None and known[0] is puzzle else likeness(puzzle)
        self._now.keys[id(puzzle)] = (puzzle, key)
        return key


def _lines_of(document: YamlDocument, path: KeyPath) -> str:
    """The whole lines that the value at a path stands on, and those up to the next item of its list."""
    text = document.text
    start, end = document.spot(path).start, -1
    last = path[-1] if path else None
    beside = document.find((*path[:-1], last + 1)) if isinstance(last, int) else None
    if beside is not None:
        end = text.find("\n", beside.spot.start)
    return text[text.rfind("\n", 0, start) + 1:end if end >= 0 else None]
