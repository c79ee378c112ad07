"""The book as the desk shows it: read, solved and planned anew after a save, as little of it as has changed."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

from cagework.solver.model import Puzzle
from cagework.typeset.book import Book
from cagework.typeset.faults import Fault, UnreadableManifest
from cagework.typeset.layout_cache import LayoutCache
from cagework.typeset.manifest.load import Reading, load_book
from cagework.typeset.manifest.puzzle import PuzzleReading
from cagework.typeset.manifest.reread import Reread
from cagework.typeset.marks import MM
from cagework.typeset.plan import Plan, Solved, plan_book
from cagework.typeset.solving.check import Checked, judged, rated
from cagework.typeset.solving.crew import Crew
from cagework.typeset.solving.record import Result
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.text.missing_glyphs import missing_glyphs
from cagework.typeset.words import words_or_english
from cagework.typeset.write.svg import svg_text

Progress = Callable[[int, int], None]
"""How many puzzles are solved, of how many that have to be."""

_DRAWN = 300
"""How many drawn pages are kept."""


@dataclass(frozen=True, slots=True)
class Galley:
    """The book at one moment. `plan` is that of the last book without faults, and `fresh` whether it is this one.

    `number` counts the refreshes. `checked` are all puzzles of the files, in the order read.
    """

    number: int = 0
    checked: tuple[Checked, ...] = ()
    faults: tuple[Fault, ...] = ()
    book: Book | None = None
    plan: Plan | None = None
    fresh: bool = False


class Compositor:
    """Makes a galley, and then the next one out of what has changed. Any thread may call any method."""

    def __init__(self, manifest: Path, crew: Crew, seconds: float | None) -> None:
        self.manifest = manifest
        self.galley = Galley()
        self._crew = crew
        self._seconds = seconds
        self._reread = Reread()
        self._memory = LayoutCache()
        self._found: dict[int, tuple[Puzzle, Result]] = {}
        self._judged: dict[int, tuple[PuzzleReading, Result | None, Checked]] = {}
        self._fonts: Fonts | None = None
        self._refreshing = threading.Lock()
        self._drawing = threading.Lock()    # pages are drawn from the plan and the faces that a refresh replaces
        self._digests: dict[int, str] = {}
        self._drawn: dict[str, str] = {}

    def refresh(self, progress: Progress = lambda _done, _of: None) -> Galley:
        """Read the files again, solve what has to be, and plan the book; keep the last one where it has faults."""
        with self._refreshing:
            try:
                reading = load_book(self.manifest, reread=self._reread)
            except UnreadableManifest as error:
                self.galley = replace(
                    self.galley, number=self.galley.number + 1, faults=(error.fault,), fresh=False)
                return self.galley
            checked = self._checked(reading, progress)
            self.galley = self._planned(reading, checked)
            return self.galley

    def forget_faces(self) -> None:
        """Read the font files again at the next refresh."""
        self._fonts = None

    def folders(self) -> frozenset[Path]:
        """The folders that hold the manifest and the puzzles' files."""
        files = {self.manifest, *(one.reading.file for one in self.galley.checked)}
        return frozenset(file.resolve().parent for file in files)

    def _checked(self, reading: Reading, progress: Progress) -> tuple[Checked, ...]:
        last, self._found = self._found, {}
        new: list[Puzzle] = []
        for one in reading.puzzles:
            if one.entry is not None:
                puzzle = one.entry.puzzle
                same = last.get(id(puzzle))
                if same is None or same[0] is not puzzle:   # read anew, but its title may be all that changed
                    same = next((known for known in last.values() if known[0] == puzzle), None)
                if same is None:
                    new.append(puzzle)
                else:
                    self._found[id(puzzle)] = (puzzle, same[1])
        if new:
            progress(0, len(new))
        for done, (number, finding) in enumerate(self._crew.find(new, self._seconds), 1):
            self._found[id(new[number])] = (new[number], finding)
            progress(done, len(new))
        self._judged = {id(one): self._judge(one) for one in reading.puzzles}
        return tuple(checked for _, _, checked in self._judged.values())

    def _judge(self, one: PuzzleReading) -> tuple[PuzzleReading, Result | None, Checked]:
        """A puzzle with what was found of it; as it was judged last where neither is new."""
        found, last = self._finding(one), self._judged.get(id(one))
        if last is not None and last[0] is one and last[1] is found:
            return last
        return one, found, judged(one, found)

    def _finding(self, reading: PuzzleReading) -> Result | None:
        return self._found[id(reading.entry.puzzle)][1] if reading.entry is not None else None

    def _planned(self, reading: Reading, checked: tuple[Checked, ...]) -> Galley:
        last = self.galley
        now = Galley(last.number + 1, checked, reading.faults, last.book, last.plan)
        if reading.book is None:
            return now
        with self._drawing:
            if self._fonts is None or last.book is None or last.book.layout != reading.book.layout:
                self._fonts = Fonts(reading.book.layout)
            faults = tuple(missing_glyphs(reading.book, self._fonts))
            if faults:
                return replace(now, faults=(*now.faults, *faults))
            book = rated(reading.book, checked)
            words = words_or_english(book.language)
            plan = plan_book(book, _solved(book, checked), self._fonts, words, self._memory)
            self._digests.clear()
        return replace(now, book=book, plan=plan, fresh=True)

    def digest(self, number: int) -> str | None:
        """What tells one drawing of a page from another; None where there is no such page."""
        with self._drawing:
            plan = self.galley.plan
            if plan is None or not 0 < number <= len(plan.leaves):
                return None
            if number not in self._digests:
                self._draw(plan, number)
            return self._digests[number]

    def page(self, number: int, digest: str) -> str | None:
        """The SVG of a page by its digest; None where it has changed since."""
        if self.digest(number) != digest:
            return None
        with self._drawing:
            plan = self.galley.plan
            if plan is not None and digest not in self._drawn:
                self._draw(plan, number)
            return self._drawn.get(digest)

    def _draw(self, plan: Plan, number: int) -> None:
        page = plan.page(number)
        text = svg_text(page.marks, page.width, page.height, plan.setting.fonts, f"Page {number}",
                        around=plan.setting.book.press.bleed * MM)
        digest = hashlib.sha256(text.encode()).hexdigest()[:20]
        self._digests[number] = digest
        self._drawn.pop(digest, None)
        self._drawn[digest] = text
        while len(self._drawn) > _DRAWN:
            del self._drawn[next(iter(self._drawn))]

    def with_faces(self, draw: Callable[[Fonts], str]) -> str:
        """What `draw` makes with the book's faces, held against other threads. LookupError without a book."""
        with self._drawing:
            if self._fonts is None:
                raise LookupError("no book could be set yet")
            return draw(self._fonts)


def _solved(book: Book, checked: tuple[Checked, ...]) -> Solved:
    """The answers and paths there are: a draft shows the other puzzles too."""
    entries = {entry.id: entry for entry in book.entries}
    sound = [one for one in checked if one.is_sound and one.reading.id in entries]
    works = [one.worked for one in sound if one.worked]
    return Solved(
        {one.reading.id: one.verdict.answer
         for one in sound if one.reading.id and one.verdict and one.verdict.answer},
        {work.entry.id: replace(work, entry=entries[work.entry.id]) for work in works},
        draft=True,
    )
