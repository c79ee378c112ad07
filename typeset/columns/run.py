"""A series manifest to a folder of columns. The only module here that knows the order of stages."""

from __future__ import annotations

import datetime as dt
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import nullcontext
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from cagework.layouts.column import Element, WhoseAnswer
from cagework.solver.reasoning.grade import Grade
from cagework.typeset.columns.beside import in_words, index_text, plain_text
from cagework.typeset.columns.contact import contact_pages
from cagework.typeset.columns.fit import Fitted, Fitter
from cagework.typeset.columns.issue import Earlier, Issue, Phrases, ProvedPuzzle, earlier_of
from cagework.typeset.columns.ledger import Ledger, ledger_text, read_ledger, uses_of
from cagework.typeset.columns.matter import BODY, HEAD
from cagework.typeset.columns.norms import stock_of
from cagework.typeset.columns.pool import Proofs, prove_puzzles, read_pool
from cagework.typeset.columns.schedule import Demand, Schedule, demands, schedule
from cagework.typeset.columns.schema import Fallback
from cagework.typeset.columns.series import Day, Helping, Series, SeriesSlot, grids_in_words
from cagework.typeset.columns.store import CONTACT, INDEX, Stored, check_free, mend, store
from cagework.typeset.entry import Place
from cagework.typeset.faults import Fault, NotBuilt, Severity, counted, listed
from cagework.typeset.host.disk import real
from cagework.typeset.host.files import Hold
from cagework.typeset.host.locks import TakenError, alone_at
from cagework.typeset.marks import Sheet
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.report import preflight
from cagework.typeset.solving.crew import Crew
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.text.missing_glyphs import lacking_in, named, stand_ins, stood_in
from cagework.typeset.words import load_words
from cagework.typeset.words.sentences import Sentences
from cagework.typeset.write.pdf import About, pdf_bytes
from cagework.typeset.write.press import PressSpec, press_bytes
from cagework.typeset.write.svg import svg_text

Tick = Callable[[], None]
Helpings = Mapping[tuple[Day, Helping], tuple[ProvedPuzzle, ...]]
"""(date, how many puzzles) -> the puzzles that the date's slots of so many share, in their places."""


@dataclass(frozen=True, slots=True)
class Made:
    """What a run made, and what the editor should know of it."""

    dates: int
    stored: Stored
    notes: tuple[str, ...]
    faults: tuple[Fault, ...]
    seconds: float


def make_columns(
    series: Series, out: Path, seconds: float | None, tick: Tick = lambda: None, crew: Crew | None = None,
    hold: Hold = nullcontext,
) -> Made:
    """Choose, fit, draw, preflight and store a whole series under `out`; `tick` is called for each puzzle read
    and each slot drawn, and `hold` entered while folder and ledger change.

    Raises NotBuilt, OSError and UnreadableManifest; whichever it is, folder and ledger stay as they were.
    """
    out = real(out)
    check_free(out, series.ledger)
    try:
        with alone_at(out, *([series.ledger] if series.ledger else [])):
            return _made(series, out, seconds, tick, crew, hold)
    except TakenError as error:
        raise NotBuilt([Fault(error.path, "another run is writing it at this moment",
                             "run this one again when that has ended")]) from None


def _made(
    series: Series, out: Path, seconds: float | None, tick: Tick, crew: Crew | None, hold: Hold,
) -> Made:
    """The whole run, once folder and ledger are ours alone."""
    start = time.perf_counter()
    mend((out, *([series.ledger] if series.ledger else [])))
    ledger = read_ledger(series.ledger)
    pool = read_pool(series.pool, series.helpings, seconds, tick, crew)
    if ledger.faults or pool.failed:
        raise NotBuilt((*ledger.faults, *pool.faults))
    days = tuple(series.dates())
    free = ledger.unused(pool.entries, series.id)
    planned = schedule(tuple(demands(series)), free, nearest=series.fallback is Fallback.NEAREST)
    if planned.wanting:
        raise NotBuilt((*pool.faults, *_wanting(series, planned.wanting, len(pool.entries) - len(free))))
    proofs = prove_puzzles(pool, tuple(planned.chosen.values()), seconds, tick, crew)
    if any(fault.is_error for fault in proofs.faults):
        raise NotBuilt((*pool.faults, *proofs.faults))
    helpings = _helpings(planned, proofs)
    issues = tuple(_issues(series, days, helpings, ledger))
    fitted, unset = _fitted(series, issues)
    files = _files(series, fitted, tick)
    uses = [use for day in days for helping in series.helpings
            for use in uses_of(series.id, day, helping, helpings[day, helping])]
    stored = store(out, files, series.ledger, ledger_text(ledger, series.id, uses), hold)
    notes = (*_fallen(planned), *_given_way(fitted), *_unanswered(issues))
    return Made(len(days), stored, notes, (*pool.faults, *proofs.faults, *unset), time.perf_counter() - start)


def _helpings(planned: Schedule, proofs: Proofs) -> Helpings:
    found: dict[tuple[Day, Helping], tuple[ProvedPuzzle, ...]] = {}
    for demand, entry in planned.chosen.items():
        key = (demand.day, demand.helping)
        found[key] = (*found.get(key, ()), proofs.puzzles[entry.id])
    return found


def _wanting(series: Series, wanting: Sequence[Demand], used: int) -> Iterator[Fault]:
    """One fault for each date that goes wanting."""
    short: dict[tuple[Day, Helping, tuple[int, ...], Grade], int] = {}
    for demand in wanting:
        key = (demand.day, demand.helping, demand.sizes, demand.grade)
        short[key] = short.get(key, 0) + 1
    past = f" ({counted(used, 'puzzle')} of it printed before)" if used else ""
    for (day, (of, kind, slot), sizes, grade), count in short.items():
        many = "" if of == 1 else f", {counted(count, 'puzzle')} of {of}"
        where = f" in {slot}" if slot else ""
        yield Fault(series.written["days"].place(),
                    f"{day.date:%A} {day.date.isoformat()} goes wanting{where}: the pool{past} has no {grade} of "
                    f"{grids_in_words(kind, sizes)} left{many}",
                    "" if series.fallback is Fallback.NEAREST else "add puzzles, or allow 'fallback: nearest'")


def _issues(series: Series, days: Sequence[Day], helpings: Helpings, ledger: Ledger) -> Iterator[Issue]:
    """Every date in every slot, date by date."""
    phrases = [phrases_of(slot.language, slot.grade_words) for slot in series.slots]
    for number, day in enumerate(days):
        for slot, said in zip(series.slots, phrases, strict=True):
            yield Issue(slot, day, tuple(map(said.printed, helpings[day, slot.helping])),
                        _earlier(series, slot, days[:number], day, helpings, ledger), said)


def _earlier(
    series: Series, slot: SeriesSlot, before: Sequence[Day], day: Day, helpings: Helpings, ledger: Ledger,
) -> tuple[Earlier, ...]:
    """The answers a slot prints: from the series itself, or else from the ledger."""
    helping, whose = slot.helping, slot.design.answer.of
    week = dt.timedelta(days=7)
    if whose is WhoseAnswer.WEEK and day.date - dt.date.min < week:
        return ()       # the calendar begins later
    date = day.date - week if whose is WhoseAnswer.WEEK else None
    own = [one for one in before if date is None or one.date == date]
    if own:
        return earlier_of(own[-1], helpings[own[-1], helping])
    return ledger.helping(date, day.date, helping, series.id)


def phrases_of(language: str, grade_words: Mapping[Grade, str] | None) -> Phrases:
    """The words of a language, and those of one's own for the grades."""
    words = load_words(language)
    words = words._replace(grades=grade_words) if grade_words else words
    return Phrases(language, words, Sentences(language, in_print=True))


def _fitted(series: Series, issues: Sequence[Issue]) -> tuple[tuple[Fitted, ...], tuple[Fault, ...]]:
    """Every issue in its slot, and what an editor is warned of. NotBuilt with every one that does not fit, or that
    no face can set.
    """
    fonts = {slot.name: Fonts(slot.design) for slot in series.slots}
    unset = dict.fromkeys(fault for issue in issues for fault in _unset(series, issue, fonts[issue.slot.name]))
    if any(fault.is_error for fault in unset):
        raise NotBuilt(unset)
    faults: list[Fault] = []
    done: dict[str, Fitted] = {}
    for slot in series.slots:
        run = Fitter(slot, fonts[slot.name]).fit([issue for issue in issues if issue.slot.name == slot.name])
        done |= {one.issue.stem: one for one in run.fitted}
        faults += [Fault(series.slot_place(slot), f"{one.issue.stem}: {one.why}", one.hint)
                   for one in run.too_large]
    if faults:
        raise NotBuilt(faults)
    return tuple(done[issue.stem] for issue in issues), tuple(unset)


def _unset(series: Series, issue: Issue, fonts: Fonts) -> Iterator[Fault]:
    """Letters that no face of the slot can set; and, as warnings, those for which another face stands in."""
    def faults(words: str, face: str, place: Callable[[str], Place]) -> Iterator[Fault]:
        if lacking := lacking_in((words,), face, fonts):
            yield Fault(place(lacking[0]), f"the slot's faces cannot set {named(lacking)}",
                        "write it another way, or give the slot a face that has it (fonts)")
        for chars, other in stand_ins((words,), face, fonts):
            yield Fault(place(chars[0]), stood_in(chars, face, other),
                        f"give the slot a {face} that has it (fonts)", Severity.WARNING)

    yield from faults(issue.heading, HEAD, lambda _: series.slot_place(issue.slot))
    for one in issue.puzzles:
        for key, text, face in (("title", one.entry.title or "", HEAD), ("by", one.entry.by or "", BODY)):
            yield from faults(text, face, partial(one.entry.place_of, key))


def _files(series: Series, fitted: Sequence[Fitted], tick: Tick) -> Mapping[str, bytes]:
    """Every file by name, the PDFs held to the stock's rules. NotBuilt with what the preflight finds."""
    fonts = {slot.name: Fonts(slot.design) for slot in series.slots}
    files: dict[str, bytes] = {}
    faults: list[Fault] = []
    for one in fitted:
        issue, face = one.issue, fonts[one.issue.slot.name]
        pdf = column_pdf(series, one, face)
        faults += _refused(series, issue, pdf)
        described = " ".join(in_words(issue.phrases, puzzle.entry) for puzzle in issue.puzzles)
        svg = svg_text(one.page.marks, one.page.width, one.page.height, face, _title(series, issue), described,
                       live_text=series.live_text)
        files |= {f"{issue.stem}.pdf": pdf, f"{issue.stem}.svg": svg.encode(),
                  f"{issue.stem}.txt": plain_text(issue).encode()}
        tick()
    if faults:
        raise NotBuilt(faults)
    phrases = phrases_of(series.language, series.grade_words)
    about = About(series.title, "", "", series.language)
    face = fonts[series.slots[0].name]
    files[INDEX] = index_text(fitted).encode()
    files[CONTACT] = pdf_bytes(contact_pages(series, fitted, phrases, face), (), about, face)
    return files


def _title(series: Series, issue: Issue) -> str:
    return f"{series.title}: {', '.join(one.entry.title or one.entry.id for one in issue.puzzles)}"


def column_pdf(series: Series, one: Fitted, fonts: Fonts) -> bytes:
    """One issue as a press file for its stock, trimmed to the slot; dated by its day, never by the clock."""
    issue = one.issue
    about = About(_title(series, issue), ", ".join(filter(None, (puzzle.entry.by for puzzle in issue.puzzles))),
                  in_words(issue.phrases, issue.puzzles[0].entry), issue.slot.language)
    noon = dt.datetime.combine(issue.day.date, dt.time(), dt.UTC)
    return press_bytes(pdf_bytes((one.page,), (), about, fonts, Sheet(0.0, 0.0)),
                       PressSpec(about.title, noon, noon, stock=stock_of(issue.slot.design)))


def profile_of(slot: SeriesSlot) -> Profile:
    """What a slot's PDF is held to: its stock's rules and its size. It is placed on a page, not cut, so on any
    stock its matter may reach to its edge.
    """
    design = slot.design
    return Profile(stock=stock_of(design), trim_mm=(design.width, design.height), safety_mm=0.0)


def _refused(series: Series, issue: Issue, pdf: bytes) -> Iterator[Fault]:
    for finding in preflight(pdf, profile_of(issue.slot)).findings:
        yield Fault(series.slot_place(issue.slot),
                    f"{issue.stem}.pdf: {finding.message} (preflight rule {finding.number}, {finding.rule})")


def _fallen(planned: Schedule) -> Iterator[str]:
    for demand in planned.fallen:
        one = planned.chosen[demand]
        yield (f"{demand.day.date.isoformat()}: no {demand.grade} was left; '{one.id}', a {one.grade}, "
               "stands in")


def _given_way(fitted: Iterable[Fitted]) -> Iterator[str]:
    for one in fitted:
        if one.dropped:
            parts = listed([str(part) for part in one.dropped], "and")
            yield f"{one.issue.stem}: {parts} left out for want of room"


def _unanswered(issues: Iterable[Issue]) -> Iterator[str]:
    for issue in issues:
        if not issue.earlier and issue.slot.carries(Element.ANSWER):
            whose = "a week before" if issue.slot.design.answer.of is WhoseAnswer.WEEK else "before"
            yield f"{issue.stem}: no answer is printed, as no puzzle of the date {whose} is known"
