"""Manifest to finished files. The only module that knows the order of stages; it writes all files or none."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from cagework.solver.model import Answer
from cagework.typeset.book import Book, Entry, Order, Solutions
from cagework.typeset.check import Checked, check_puzzles, why_not
from cagework.typeset.draw.grid import answer_look, puzzle_look
from cagework.typeset.faults import Fault, fault_at
from cagework.typeset.manifest.load import Reading
from cagework.typeset.marks import MM
from cagework.typeset.pdf import About, pdf_bytes
from cagework.typeset.plan import Solved, lay_out
from cagework.typeset.single import grid_svg
from cagework.typeset.text import Fonts, packaged_faces
from cagework.typeset.words import Words, load_words
from cagework.typeset.work import UnprovedError, prove

Step = Callable[[str], None]


@dataclass(frozen=True, slots=True)
class Built:
    """What a build wrote, for the closing summary."""

    pages: int
    puzzles: int
    files: tuple[Path, ...]
    seconds: float


class NotBuilt(Exception):  # noqa: N818 - it says what did not happen
    """The book cannot be printed as it is; nothing was written."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        super().__init__(f"{len(faults)} faults")
        self.faults = faults


def build(book: Book, reading: Reading, out: Path, seconds: float | None, tick: Step = lambda _: None) -> Built:
    """Check every puzzle, draw the book and write it under `out`; `tick` names each finished piece of work.

    Raises NotBuilt where a puzzle is not sound or a character cannot be set, OSError where a file cannot be
    written. Either way the files of an earlier build stay as they were.
    """
    start = time.perf_counter()
    fonts = Fonts(book.layout)
    words = _words(book)
    printed = {entry.id for entry in book.entries}
    readings = tuple(one for one in reading.puzzles if one.id in printed)
    checked = tuple(check_puzzles(readings, seconds, lambda: tick("checked")))
    faults = [_unsound(one) for one in checked if not one.is_sound]
    faults += [fault for one in checked for fault in one.faults if fault.is_error]
    book = _rated(book, checked)
    faults += _untold(book, checked)
    faults += _unset(book, fonts)
    if faults:
        raise NotBuilt(tuple(faults))
    answers = {one.reading.id: one.verdict.answer for one in checked
               if one.reading.id and one.verdict and one.verdict.answer}
    rated = {entry.id: entry for entry in book.entries}
    works = {one.worked.entry.id: replace(one.worked, entry=rated[one.worked.entry.id])
             for one in checked if one.worked}
    laid = lay_out(book, Solved(answers, works), fonts, words)
    about = About(book.title, book.by or "", book.subtitle or "", book.language)
    files = {Path("book.pdf"): pdf_bytes(laid.pages, laid.bookmarks, about, fonts)}
    tick("paged")
    files.update(_grid_files(book, answers, fonts, tick))
    written = write_all(out, files)
    return Built(len(laid.pages), len(answers), written, time.perf_counter() - start)


def _rated(book: Book, checked: Iterable[Checked]) -> Book:
    """The book with each puzzle's grade filled in, and sections that ask for it in order of grade."""
    ratings = {one.reading.id: one for one in checked}
    sections = []
    for section in book.sections:
        entries = [replace(entry, grade=ratings[entry.id].grade or entry.grade) for entry in section.entries]
        if section.order is Order.GRADE:
            entries.sort(key=lambda entry: _score(ratings[entry.id]))
        sections.append(replace(section, entries=tuple(entries)))
    return replace(book, sections=tuple(sections))


def _score(checked: Checked) -> float:
    return checked.worked.rating.score if checked.worked else float("inf")


def _untold(book: Book, checked: Iterable[Checked]) -> Iterator[Fault]:
    """Worked solutions that may not be printed: unproved, unfinished, or ending elsewhere than the answer."""
    hints = book.pages.first_hints
    wanted = {entry.id for entry in book.entries if hints or entry.solutions is not Solutions.NONE}
    for one in checked:
        if one.reading.id in wanted and one.worked and one.verdict and one.verdict.answer:
            try:
                prove(one.worked, one.verdict.answer)
            except UnprovedError as error:
                yield fault_at(one.reading.place, f"puzzle '{one.reading.id}': {error}",
                               "print it without its worked solution (solutions: none)")


def _words(book: Book) -> Words:
    try:
        return load_words(book.language)
    except LookupError:
        return load_words("en")


def _unsound(checked: Checked) -> Fault:
    return fault_at(checked.reading.place, f"puzzle '{checked.reading.id}' is not sound: {why_not(checked)}")


def _unset(book: Book, fonts: Fonts) -> Iterator[Fault]:
    """Characters the layout's faces have no glyph for: a hole in the page, so it never gets that far."""
    faces = sorted(packaged_faces())
    for where, text in _texts(book):
        lacking = "".join(dict.fromkeys(char for face in faces for char in fonts[face].lacks(text)))
        if lacking:
            shown = " ".join(f"{char} (U+{ord(char):04X})" for char in lacking)
            yield Fault(where, f"the layout's faces cannot set {shown} in '{text[:40]}'",
                        "write it another way, or give the layout a face that has it (fonts)")


def _texts(book: Book) -> Iterator[tuple[Path, str]]:
    file = next(book.entries).place.file
    said = (book.title, book.subtitle, book.by, book.introduction, *book.imprint)
    for text in said:
        if text:
            yield file, " ".join(text.split())
    for section in book.sections:
        for text in (section.title, section.intro):
            if text:
                yield file, " ".join(text.split())
        for entry in section.entries:
            for text in (entry.title, entry.by, entry.note):
                if text:
                    yield entry.place.file, " ".join(text.split())


def _grid_files(book: Book, answers: Mapping[str, Answer], fonts: Fonts, tick: Step) -> dict[Path, bytes]:
    """One SVG a puzzle and one an answer."""
    files = {}
    cell = book.layout.puzzles.cell * MM
    for entry in book.entries:
        for folder, look, shown in (("puzzles", puzzle_look(book.layout, cell), None),
                                    ("answers", answer_look(book.layout, cell), answers[entry.id])):
            text = grid_svg(entry, look, fonts, describe(entry, shown), shown)
            files[Path(folder) / f"{entry.id}.svg"] = text.encode()
        tick("drawn")
    return files


def describe(entry: Entry, answer: Answer | None = None) -> str:
    """A puzzle, or its answer, in words for those who cannot see the drawing."""
    puzzle = entry.puzzle
    size = f"{puzzle.size} by {puzzle.size} grid"
    if answer is not None:
        rows = (answer.digits[start:start + puzzle.size] for start in range(0, len(answer.digits), puzzle.size))
        return f"{size}, completed. " + " ".join(
            f"Row {number}: {' '.join(map(str, row))}." for number, row in enumerate(rows, 1)
        )
    cages = "; ".join(
        f"{'no sum' if cage.total is None else cage.total} in {' '.join(map(str, cage.cells))}"
        for cage in puzzle.cages
    )
    givens = "; ".join(f"{given.digit} in {given.cell}" for given in puzzle.givens)
    rules = " ".join(rule.sentence.format(size=puzzle.size) for rule in entry.rules)
    return " ".join(part for part in (
        f"{size}.", f"Cages: {cages}." if cages else "", f"Givens: {givens}." if givens else "", rules,
    ) if part)


def write_all(out: Path, files: Mapping[Path, bytes]) -> tuple[Path, ...]:
    """Write all files under `out`, or none: each goes to a temporary name first, is flushed to disk, and only
    when all are there do they take their places. Raises OSError.
    """
    waiting: list[tuple[Path, Path]] = []
    try:
        for name, content in files.items():
            target = out / name
            target.parent.mkdir(parents=True, exist_ok=True)
            part = target.with_name(f".{target.name}.part")
            waiting.append((part, target))
            with part.open("wb") as file:
                file.write(content)
                file.flush()
                os.fsync(file.fileno())
        for _, target in waiting:
            if target.is_dir():
                raise IsADirectoryError(f"{target} is a folder; a file of that name is to be written")
        for part, target in waiting:
            part.replace(target)
    except BaseException:
        for part, _ in waiting:
            part.unlink(missing_ok=True)
        raise
    return tuple(target for _, target in waiting)
