"""Manifest to finished files. The only module that knows the order of stages; it writes all files or none."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import nullcontext
from dataclasses import dataclass, replace
from functools import partial
from itertools import chain, repeat
from pathlib import Path

from cagework.typeset.book import Book
from cagework.typeset.choices import Purpose
from cagework.typeset.draw.describe import describe
from cagework.typeset.draw.look import answer_look, puzzle_look
from cagework.typeset.draw.outside import sheet_of
from cagework.typeset.editions import (
    about_of,
    booklet_edition,
    cover_edition,
    for_press,
    outside_look,
    press_edition,
    screen_edition,
    spec_of,
)
from cagework.typeset.entry import Place, Solutions
from cagework.typeset.extras import Extra, ExtraError, booklet_file, booklet_sheet, cover_file
from cagework.typeset.faults import Fault, NotBuilt
from cagework.typeset.host.files import Hold, replace_all
from cagework.typeset.host.locks import TakenError, alone_at
from cagework.typeset.host.parallel import Share, in_turn, page_runs, sharing
from cagework.typeset.last_build import State, looks_of, state_of
from cagework.typeset.manifest.load import Reading
from cagework.typeset.marks import MM
from cagework.typeset.no_room import (
    no_room,
    too_large,
    too_narrow,
    unfit_on_cover,
    unfit_pictures,
    yielding,
)
from cagework.typeset.plan import DrawnOnDemand, Pages, Solved, lay_out
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.report import Inspection, inspect
from cagework.typeset.preflight.rule import Finding
from cagework.typeset.readback.asked import Asked
from cagework.typeset.readback.compare import Original, ReadBack, read_back, read_flat
from cagework.typeset.readback.glyph_shapes import Shapes
from cagework.typeset.readback.page_range import PageLook
from cagework.typeset.reader.document import PdfDocument, UnreadablePdf, read_document
from cagework.typeset.solving.check import Checked, check_puzzles, why_not
from cagework.typeset.solving.crew import Crew
from cagework.typeset.solving.rated import rated
from cagework.typeset.solving.worked import UnprovedError, prove
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.text.missing_glyphs import missing_glyphs
from cagework.typeset.words import words_or_english
from cagework.typeset.words.sentences import Sentences
from cagework.typeset.write.booklet import ImposedSides
from cagework.typeset.write.dates import moment_of
from cagework.typeset.write.pdf import pdf_bytes
from cagework.typeset.write.press import PressError, press_bytes
from cagework.typeset.write.single import grid_svg

Step = Callable[[str], None]

BOOK_PDF = Path("book.pdf")
PRESS_PDF = Path("book-press.pdf")
"""The book for a screen, and for a press, under the output folder."""

_OURS = "this is no fault of the manifest's: cagework drew the file wrong and will not let it stand"


@dataclass(frozen=True, slots=True)
class Built:
    """What a build wrote, for the closing summary, with notes and warnings for the editor."""

    pages: int
    puzzles: int
    files: tuple[Path, ...]
    seconds: float
    notes: tuple[str, ...] = ()
    warnings: tuple[Fault, ...] = ()

    def __repr__(self) -> str:
        return (f"Built({self.pages} pages, {self.puzzles} puzzles, {len(self.files)} files, "
                f"{len(self.warnings)} warnings)")


@dataclass(frozen=True, slots=True)
class ProvedBook:
    """A book whose every puzzle is sound: puzzles rated and in their order, with what was found of them, and what
    the editor is warned of.
    """

    book: Book
    solved: Solved
    warnings: tuple[Fault, ...] = ()


def build(book: Book, reading: Reading, out: Path, seconds: float | None, tick: Step = lambda _: None, *,
          press: bool = False, booklet: bool = False, sheet: str | None = None,
          crew: Crew | None = None, hold: Hold = nullcontext,
          remember: Callable[[State], None] | None = None) -> Built:
    """Check every puzzle, draw the book and write it under `out`, with `press` a press file and the cover too,
    with `booklet` the pages imposed on `sheet`; `tick` names each finished piece of work, `hold` is entered
    while the files take their places, and `remember` is then told what the book was.

    Raises NotBuilt where a puzzle is not sound, a character cannot be set, a finished file is not as it must be,
    or another run writes there, OSError where a file cannot be written. Either way the files of an earlier build
    stay as they were.
    """
    try:
        with alone_at(out):
            return _built(book, reading, out, seconds, tick, press, booklet, sheet, crew, hold, remember)
    except TakenError:
        raise NotBuilt((Fault(out, "another run is writing into this folder at this moment",
                              "run this one again when that has ended"),)) from None


def _built(book: Book, reading: Reading, out: Path, seconds: float | None, tick: Step, press: bool, booklet: bool,
           sheet: str | None, crew: Crew | None, hold: Hold,
           remember: Callable[[State], None] | None) -> Built:
    """The whole build, once the folder is ours alone."""
    start = time.perf_counter()
    try:
        moment_of(book.press.date)
    except ValueError as error:
        raise NotBuilt((Fault(Path("SOURCE_DATE_EPOCH"), str(error), "set it to whole seconds, or unset it"),)) \
            from error
    try:
        paper = booklet_sheet(book, sheet) if booklet else None
    except ExtraError as error:
        raise NotBuilt((error.fault,)) from error
    fonts = Fonts(book.layout)
    proved = _proved(book, reading, fonts, seconds, tick, crew)
    share = shared_by(crew)
    untold = share([partial(_untold, proved.book, proved.solved)])
    grids = share([partial(_grid_files, proved, fonts)])
    original = _laid(proved, fonts)
    if faults := next(untold):
        raise NotBuilt(tuple(faults))
    laid = original.laid
    tick("paged")
    files = {BOOK_PDF: pdf_bytes(laid.pages, laid.bookmarks, about_of(book), fonts, share=share)}
    files.update(next(grids))
    tick("drawn")
    extras: list[Extra] = []
    notes: list[str] = []
    unfit = tuple(unfit_pictures(laid.setting, laid.pages, laid.numbers, press))
    if any(fault.is_error for fault in unfit):
        raise NotBuilt(unfit)
    warnings = [*proved.warnings, *unfit,
                *yielding(laid.setting, laid.places, len(laid.pages), outside_look(book) if press else None)]
    try:
        if press:
            files[PRESS_PDF] = _press_file(laid, share)
            notes.append(_press_note(laid.setting.book))
            extras += _cover(laid, warnings)
        if paper:
            extras.append(booklet_file(laid.pages, about_of(book), laid.setting.fonts, paper))
    except ExtraError as error:
        raise NotBuilt((error.fault,)) from error
    for extra in extras:
        files[extra.name] = extra.pdf
        notes += extra.notes
    state = _state(laid, share) if remember else None       # drawn now: once the files are new, it is soon kept
    written = replace_all(out, files, partial(_prove_files, original, extras, warnings, share, tick), hold)
    if remember and state:
        remember(state)
    return Built(len(laid.pages), len(original.solved.answers), written, time.perf_counter() - start,
                 tuple(notes), tuple(warnings))


def _state(laid: Pages, share: Share) -> State:
    """What the book is, with every page's look."""
    runs = [partial(looks_of, laid.setting, laid.pages, run) for run in page_runs(len(laid.pages))]
    return state_of(laid.setting.book, [look for looks in share(runs) for look in looks])


def lay(book: Book, reading: Reading, seconds: float | None, tick: Step = lambda _: None,
        crew: Crew | None = None) -> Original:
    """Check every puzzle and lay the book out, as a file is to be or is held against. NotBuilt as for `build`."""
    fonts = Fonts(book.layout)
    proved = _proved(book, reading, fonts, seconds, tick, crew)
    if faults := _untold(proved.book, proved.solved):
        raise NotBuilt(tuple(faults))
    return _laid(proved, fonts)


def _laid(proved: ProvedBook, fonts: Fonts) -> Original:
    words = words_or_english(proved.book.language)
    laid = lay_out(proved.book, proved.solved, fonts, words)
    if faults := (*too_large(laid.setting), *too_narrow(laid.setting, proved.solved.works)):
        raise NotBuilt(faults)
    return Original(proved.solved, laid)


def shared_by(crew: Crew | None) -> Share:
    """How the work on the pages is shared, once the solving is done: the crew's own processes are ended, since a
    process with threads that wait for them could not fork.
    """
    if crew is None:
        return in_turn
    crew.rest()
    return sharing(crew.workers)


def _proved(
    book: Book, reading: Reading, fonts: Fonts, seconds: float | None, tick: Step, crew: Crew | None,
) -> ProvedBook:
    """Solve, recheck and rate every puzzle. NotBuilt with all that stands against printing the book.

    Where nothing else does, the paths are still to be proved (`_untold`).
    """
    printed = {entry.id for entry in book.entries}
    readings = tuple(one for one in reading.puzzles if one.id in printed)
    checked = check_puzzles(readings, seconds, lambda: tick("checked"), crew, again=True)
    faults = [_unsound(one) for one in checked if not one.is_sound]
    faults += [fault for one in checked for fault in one.faults if fault.is_error]
    book = rated(book, checked)
    entries = {entry.id: entry for entry in book.entries}
    answers = {one.reading.id: one.verdict.answer for one in checked
               if one.reading.id and one.verdict and one.verdict.answer}
    works = {one.worked.entry.id: replace(one.worked, entry=entries[one.worked.entry.id])
             for one in checked if one.worked}
    solved = Solved(answers, works)
    unset = list(missing_glyphs(book, fonts))
    if faults or any(fault.is_error for fault in unset):
        raise NotBuilt((*faults, *_untold(book, solved), *unset))
    warnings = [fault for one in checked for fault in one.faults
                if not fault.is_error and fault not in one.reading.faults] + unset
    return ProvedBook(book, solved, tuple(warnings))


def _press_file(laid: Pages, share: Share) -> bytes:
    """The same pages on a press sheet, as the standard the manifest names. NotBuilt where that cannot be."""
    book = laid.setting.book
    pages = DrawnOnDemand(len(laid.pages), lambda number: for_press(laid, laid.pages[number - 1], number))
    drawn = pdf_bytes(pages, laid.bookmarks, about_of(book), laid.setting.fonts, sheet_of(book), share,
                      plates=True)
    try:
        return press_bytes(drawn, spec_of(book))
    except PressError as error:
        raise NotBuilt((Fault(PRESS_PDF, str(error)),)) from error


def _cover(laid: Pages, warnings: list[Fault]) -> Iterator[Extra]:
    """The cover, where there is one. NotBuilt where its picture is not fit for a press; `warnings` takes less."""
    setting = laid.setting
    book, pages = setting.book, len(laid.pages)
    if book.cover:
        made = cover_file(book, book.cover, pages, about_of(book), spec_of(book), setting.fonts, setting.words)
        unfit = tuple(unfit_on_cover(book.cover, made.pages[0]))
        if any(fault.is_error for fault in unfit):
            raise NotBuilt(unfit)
        warnings += unfit
        yield made


def _press_note(book: Book) -> str:
    press = book.press
    inks = f", 2 inks (black and {book.ink.name})" if book.ink else ""
    assumed = "" if press.stated else " (assumed; ask your printer, and say it under press)"
    return (f"{PRESS_PDF}: {press.standard.claim} for {press.stock} paper, {press.bleed:g} mm of bleed{inks}"
            f"{assumed}; passes the preflight")


@dataclass(frozen=True, slots=True)
class _Proof:
    """What is wrong with a file that was read back; and the pages of the book, from 1, that are crowded."""

    faults: tuple[Fault, ...]
    crowded: tuple[int, ...] = ()


def _prove_files(
    original: Original, extras: Iterable[Extra], warnings: list[Fault], share: Share, tick: Step,
    waiting: Mapping[Path, Path],
) -> None:
    """Read the files back from disk before they take their places. NotBuilt with every way they fall short, or
    with the words that have no room: pages they run out of are wrong in many other ways. `warnings` takes what is
    worth a word and no more.
    """
    shapes = original.shapes()
    proofs = [_book_proof(waiting[name], name, original, edition(original.laid), purpose, shapes, share)
              for name, edition, purpose in ((BOOK_PDF, screen_edition, Purpose.SCREEN),
                                             (PRESS_PDF, press_edition, Purpose.PRESS)) if name in waiting]
    if crowded := sorted({number for proof in proofs for number in proof.crowded}):
        raise NotBuilt(tuple(dict.fromkeys(no_room(original.laid, number) for number in crowded)))
    proofs += [_extra_proof(waiting[extra.name], extra, original, shapes, share) for extra in extras]
    found = [fault for proof in proofs for fault in proof.faults]
    if errors := tuple(fault for fault in found if fault.is_error):
        raise NotBuilt(errors)
    warnings += found
    tick("read back")


def _profile(book: Book, purpose: Purpose) -> Profile:
    """What a book's file is held to. At the spine half a line's weight of a frame may stand in the margin."""
    trim, margins = book.layout.trim, book.layout.margins
    frame = max(book.layout_in(section).weights.frame for section in book.sections)
    return Profile(purpose, book.press.stock, (trim.width, trim.height), book.press.multiple,
                   gutter_mm=margins.inside - max(frame, book.layout.weights.frame) / MM,
                   spots=frozenset((book.ink.name,) if book.ink else ()))


def _book_proof(
    file: Path, name: Path, original: Original, asked: Asked, purpose: Purpose, shapes: Shapes, share: Share,
) -> _Proof:
    """What a press would refuse in one of the book's own files, and where it is not the book."""
    place = original.book.place_of("press" if purpose is Purpose.PRESS else "layout")
    return _proof(file, name, _profile(original.book, purpose), place, shapes, share,
                  lambda document, look: read_back(document, original, asked, share=share, look=look))


def _extra_proof(file: Path, extra: Extra, original: Original, shapes: Shapes, share: Share) -> _Proof:
    """The same for a file that is not the book's pages."""
    book, fonts = original.book, original.laid.setting.fonts
    asked = cover_edition(book, extra.sheet) if extra.profile.purpose is Purpose.PRESS else booklet_edition(book)
    frames = extra.pages.frames if isinstance(extra.pages, ImposedSides) else lambda _: ()
    return _proof(file, extra.name, extra.profile, book.place_of("press"), shapes, share,
                  lambda document, look: read_flat(document, extra.pages, asked, fonts, frames, share=share,
                                                   look=look))


def _proof(
    file: Path, name: Path, profile: Profile, place: Place, shapes: Shapes, share: Share,
    compare: Callable[[PdfDocument, PageLook], ReadBack],
) -> _Proof:
    """A file read once, for the preflight and the comparison."""
    try:
        document = read_document(file.read_bytes(), shapes.chars)
        inspection = Inspection(document, profile)
        read = compare(document, inspection.page)
        report = inspect(document, profile, share) if read.findings is None else inspection.report(read.findings)
    except UnreadablePdf as error:
        return _Proof((Fault(name, str(error)),))
    hints = chain((_OURS,), repeat(""))
    return _Proof((*(_refused(finding, name, place) for finding in report.findings),
                   *(Fault(name, str(one), hint) for one, hint in zip(read.differences, hints, strict=False))),
                  read.crowded)


def _refused(finding: Finding, name: Path, place: Place) -> Fault:
    """What the preflight finds in a file of ours: its layout is too fine for the paper, or too tight."""
    page = "" if finding.page is None else f"page {finding.page} of "
    return Fault(place, f"{page}{name}: {finding.message} (preflight rule {finding.number}, {finding.rule})",
                 "choose another layout or stock, or change the layout's own file", finding.severity)


def _untold(book: Book, solved: Solved) -> list[Fault]:
    """Worked solutions that may not be printed: unproved, unfinished, or ending elsewhere than the answer."""
    faults = []
    for entry in book.entries:
        wanted = book.pages.first_hints or entry.solutions is not Solutions.NONE
        if wanted and entry.id in solved.works and entry.id in solved.answers:
            try:
                prove(solved.works[entry.id], solved.answers[entry.id])
            except UnprovedError as error:
                faults.append(Fault(entry.place, f"puzzle '{entry.id}': {error}",
                                       "print it without its worked solution (solutions: none)"))
    return faults


def _unsound(checked: Checked) -> Fault:
    return Fault(checked.reading.place, f"puzzle '{checked.reading.id}' is not sound: {why_not(checked)}")


def _grid_files(proved: ProvedBook, fonts: Fonts) -> dict[Path, bytes]:
    """One SVG a puzzle and one an answer."""
    files = {}
    book, answers = proved.book, proved.solved.answers
    words, sentences = words_or_english(book.language).described, Sentences(book.language)
    for entry in book.entries:
        layout = book.layout_of(entry.id)
        cell = layout.puzzles.cell * MM
        for folder, look, shown in (("puzzles", puzzle_look(layout, cell), None),
                                    ("answers", answer_look(book.layout, cell), answers[entry.id])):
            text = grid_svg(entry, look, fonts, describe(entry, words, sentences, shown), shown)
            files[Path(folder) / f"{entry.id}.svg"] = text.encode()
    return files
