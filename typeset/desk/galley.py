"""The book as the desk shows it: read, solved and planned anew after a save, as little of it as has changed."""

from __future__ import annotations

import threading
from dataclasses import dataclass, replace
from pathlib import Path

from cagework.layouts.load import Layout
from cagework.typeset.book import Book
from cagework.typeset.desk.pictures import PagePictures
from cagework.typeset.desk.results import KeptResults, Progress
from cagework.typeset.faults import Fault, UnreadableManifest
from cagework.typeset.layout_cache import LayoutCache
from cagework.typeset.manifest.load import Reading, load_book
from cagework.typeset.manifest.reread import Reread
from cagework.typeset.no_room import unfit_pictures, yielding
from cagework.typeset.plan import DrawnOnDemand, Plan, Solved, plan_book
from cagework.typeset.solving.check import Checked
from cagework.typeset.solving.crew import Crew
from cagework.typeset.solving.rated import rated
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.text.missing_glyphs import missing_glyphs
from cagework.typeset.words import words_or_english


@dataclass(frozen=True, slots=True)
class Galley:
    """The book at one moment. It holds all that its pages need, and a refresh makes another: whoever has a galley
    may draw from it.

    `number` counts the refreshes. `folders` hold what the manifest names. `checked` are all puzzles of the files,
    in the order read. `pictures` are of the last book without faults, and `fresh` tells whether it is this one.
    """

    number: int = 0
    folders: frozenset[Path] = frozenset()
    checked: tuple[Checked, ...] = ()
    faults: tuple[Fault, ...] = ()
    pictures: PagePictures | None = None
    fresh: bool = False

    @property
    def plan(self) -> Plan | None:
        """The plan of the book shown."""
        return self.pictures.plan if self.pictures else None

    @property
    def book(self) -> Book | None:
        """The book shown, its layout as the number of its pages made it."""
        return self.pictures.plan.setting.book if self.pictures else None


class Compositor:
    """Makes a galley, and then the next one out of what has changed. Any thread may call any method.

    Each stage has its own memory of the last refresh: documents and puzzles read, results, faces, columns set.
    """

    def __init__(self, manifest: Path, crew: Crew, seconds: float | None) -> None:
        self.manifest = manifest
        self.galley = Galley()
        self._reread = Reread()
        self._results = KeptResults(crew, seconds)
        self._faces = _KeptFaces()
        self._columns = LayoutCache()
        self._refreshing = threading.Lock()

    def refresh(self, progress: Progress = lambda _done, _of: None) -> Galley:
        """Read the files again, solve what has to be, and plan the book; keep the last one where it has faults."""
        with self._refreshing:
            self.galley = self._next(self.galley, progress)
            return self.galley

    def forget_faces(self) -> None:
        """Read the font files again at the next refresh."""
        self._faces.forget()

    def folders(self) -> frozenset[Path]:
        """The folders that hold the manifest and all that it names."""
        return frozenset(folder.resolve() for folder in (self.manifest.parent, *self.galley.folders))

    def _next(self, last: Galley, progress: Progress) -> Galley:
        stale = replace(last, number=last.number + 1, fresh=False)
        try:
            reading = load_book(self.manifest, reread=self._reread, draft=True)
        except UnreadableManifest as error:
            return replace(stale, faults=(error.fault,), checked=tuple(
                _unread(one, error.fault) for one in last.checked))
        checked = self._results.check(reading.draft.puzzles if reading.draft else reading.puzzles, progress)
        stale = replace(stale, folders=reading.folders, checked=checked, faults=reading.faults)
        return self._planned(stale, reading, checked)

    def _planned(self, stale: Galley, reading: Reading, checked: tuple[Checked, ...]) -> Galley:
        """The galley with the book just read, or as it stands where that cannot be set."""
        book = reading.draft.book if reading.draft else reading.book
        if book is None:
            return stale
        fonts = self._faces.of(book.layout)
        faults = tuple(missing_glyphs(book, fonts))
        stale = replace(stale, faults=(*stale.faults, *faults))
        if any(fault.is_error for fault in faults):
            return stale
        book = rated(book, checked, self._results.scores)
        plan = plan_book(book, _solved(book, checked), fonts, words_or_english(book.language), self._columns)
        yielded = yielding(plan.setting, plan.places, len(plan.leaves), None)
        pages = DrawnOnDemand(len(plan.leaves), plan.page)
        unfit = unfit_pictures(plan.setting, pages, plan.pages, press=False)
        return replace(stale, faults=(*stale.faults, *yielded, *unfit), pictures=PagePictures(plan), fresh=True)


_ROUND = 32
"""So many refreshes, and what the faces measured is let go: else every title ever typed would be held."""


class _KeptFaces:
    """The faces of the last layout, for as long as its font files are the same and are not to be forgotten."""

    def __init__(self) -> None:
        self._forgotten = 0
        self._asked = 0
        self._kept: tuple[object, Fonts] | None = None

    def forget(self) -> None:
        self._forgotten += 1

    def of(self, layout: Layout) -> Fonts:
        files = (self._forgotten, dict(layout.fonts))
        if self._kept is None or self._kept[0] != files:
            self._kept = files, Fonts(layout)
        self._asked += 1
        if self._asked % _ROUND == 0:
            self._kept[1].forget()
        return self._kept[1]


def _solved(book: Book, checked: tuple[Checked, ...]) -> Solved:
    """The answers and paths there are: a draft shows the other puzzles too."""
    entries = {entry.id: entry for entry in book.entries}
    sound = [one for one in checked if one.is_sound and one.reading.id in entries]
    works = [one.worked for one in sound if one.worked]
    return Solved(
        {one.reading.id: one.verdict.answer
         for one in sound if one.reading.id and one.verdict and one.verdict.answer},
        {work.entry.id: replace(work, entry=entries[work.entry.id]) for work in works},
        draft=True, pathless=frozenset(entries) - {work.entry.id for work in works},
    )


def _unread(one: Checked, fault: Fault) -> Checked:
    """A puzzle as it is known of a file that cannot be read now; itself where it stands in another."""
    reading = one.reading
    if reading.file != fault.file or reading.entry is None:
        return one
    return Checked(replace(reading, entry=None, rough=reading.entry, faults=(fault,)), None, 0.0, None, (fault,))
