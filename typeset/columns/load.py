"""A series manifest to a Series: every file it names found, and every fault located."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from cagework.layouts.column import ColumnSlot, read_slot, slot_names, slot_path
from cagework.layouts.load import LayoutError
from cagework.solver.reasoning.grade import Grade
from cagework.typeset.choices import SvgText
from cagework.typeset.columns.norms import shortcomings
from cagework.typeset.columns.schema import WEEKDAYS, SeriesManifest, SeriesPart, SlotPart
from cagework.typeset.columns.series import Series, SeriesSlot
from cagework.typeset.entry import Written
from cagework.typeset.faults import Fault, Severity, UnreadableManifest, in_order, listed, quoted
from cagework.typeset.manifest.design import read_design
from cagework.typeset.manifest.document import YamlDocument, read_document
from cagework.typeset.manifest.nodes import Sequence
from cagework.typeset.manifest.notes import Notes
from cagework.typeset.manifest.violations import findings
from cagework.typeset.manifest.whole import matching_files
from cagework.typeset.words import base_of, languages
from cagework.typeset.words.copies import copied
from cagework.typeset.words.punctuation import printed


@dataclass(frozen=True, slots=True)
class SeriesReading:
    """What came of reading a series manifest; `series` is None where there is an error."""

    series: Series | None
    faults: tuple[Fault, ...]


def load_series(path: Path) -> SeriesReading:
    """Read the series manifest at `path` and the slots it names. UnreadableManifest where it is none."""
    return read_series(read_document(path))


def read_dates(document: YamlDocument) -> SeriesReading:
    """The series that a document's `series` and `slots` make without a pool. UnreadableManifest where they do not.
    """
    data = document.data if isinstance(document.data, dict) else {}
    own = {key: data[key] for key in ("series", "slots") if key in data}
    return _read(document, {**own, "pool": "*"}, pooled=False)


def read_series(document: YamlDocument) -> SeriesReading:
    """The series of a document. UnreadableManifest where it is none."""
    return _read(document, document.data)


def _read(document: YamlDocument, data: object, *, pooled: bool = True) -> SeriesReading:
    if not isinstance(data, dict) or "series" not in data:
        raise UnreadableManifest(document.fault(
            document.spot(()), "this file is not a series manifest: it has no 'series'",
            "a series manifest has series:, pool: and slots:"))
    notes = Notes(document, faults=list(document.faults))
    notes.add_findings(findings(SeriesManifest, data))
    if notes.failed:
        return SeriesReading(None, in_order(notes.faults))
    manifest = SeriesManifest.model_validate(data)
    _check_language(notes, manifest.series.language, "series", "language")
    pool = _pool(notes, document, manifest) if pooled else ()
    read = (_series_slot(notes, number, part, manifest.series) for number, part in enumerate(manifest.slots))
    known = tuple(slot for slot in read if slot is not None)
    written = {**notes.writings(("start", "days", "title"), "series"),
               **{f"slots.{number}": document.writing(("slots", number, "slot"))
                  for number in range(len(manifest.slots))}}
    _check_ledger(notes, manifest.series.ledger)
    series = _series(document, manifest.series, pool, known, written)
    if not notes.failed:
        _check_together(notes, series)
    return SeriesReading(None if notes.failed else series, in_order(notes.faults))


def _series(
    document: YamlDocument, part: SeriesPart, pool: tuple[Path, ...], slots: tuple[SeriesSlot, ...],
    written: Mapping[str, Written],
) -> Series:
    ledger = document.file.parent / part.ledger if part.ledger else None
    return Series(
        document.file, part.id, printed(part.title, part.language), part.language, part.start, part.count,
        part.days, part.fallback, part.first_number, ledger, part.svg_text is SvgText.LIVE, pool, slots,
        _printed_words(part.grade_words, part.language), written,
    )


def _pool(notes: Notes, document: YamlDocument, manifest: SeriesManifest) -> tuple[Path, ...]:
    """The files of the pool, in the order named."""
    many = isinstance(document.find(("pool",)), Sequence)
    files: dict[Path, None] = {}
    for index, pattern in enumerate(manifest.pool):
        found, message, hint = matching_files(pattern, document.file)
        files |= dict.fromkeys(found)
        if message:
            notes.add(notes.spot(*(("pool", index) if many else ("pool",))), message, hint)
    return tuple(files)


def _series_slot(notes: Notes, number: int, part: SlotPart, series: SeriesPart) -> SeriesSlot | None:
    design = _design(notes, number, part)
    if design is None:
        return None
    if part.sizes is not None:
        design = design.model_copy(update={"sizes": part.sizes})
    language = part.language or series.language
    if part.language:
        _check_language(notes, language, "slots", number, "language")
    if part.days is not None and set(part.days) != set(series.days):
        notes.add(notes.spot("slots", number, "days", key=True),
                  "these are not the publication days of the series",
                  f"say a grade for each of {listed([WEEKDAYS[day] for day in series.days], 'and')}")
    words = part.grade_words or (series.grade_words if language == series.language else None)
    return SeriesSlot(design, part.name or design.name, language, part.heading, frozenset(part.without), part.kind,
                      part.days, _printed_words(words, language))


def _printed_words(words: Mapping[Grade, str] | None, language: str) -> Mapping[Grade, str] | None:
    return {grade: printed(word, language) for grade, word in words.items()} if words else None


def _check_language(notes: Notes, language: str, *key: str | int) -> None:
    if base_of(language) not in languages():
        notes.add(notes.spot(*key), f"there are no words for columns in {quoted(language)}",
                  f"there are words in {listed(languages(), 'and')}")
    elif (copy := copied(language)) is not None:
        notes.add(notes.spot(*key), copy.message, "", Severity.WARNING)


def _design(notes: Notes, number: int, part: SlotPart) -> ColumnSlot | None:
    """The slot's design; None, reported, where it cannot be used."""
    return read_design(
        notes, ("slots", number, "slot"), part.slot, ColumnSlot, slot_path, slot_names(), _whole_slot)


def _whole_slot(data: object, name: str, beside: Path) -> ColumnSlot:
    """A slot that its paper can take. LayoutError where it cannot."""
    slot = read_slot(data, name, beside)
    if problems := tuple(shortcomings(slot)):
        raise LayoutError(problems)
    return slot


def _check_ledger(notes: Notes, name: str | None) -> None:
    if name and "\0" in name:
        notes.add(notes.spot("series", "ledger"), f"no file can be called {quoted(name)}", "write it without \\0")
    elif name and not Path(name).name:
        notes.add(notes.spot("series", "ledger"), f"no file can be called {quoted(name)}",
                  "name a file, as printed.yaml")


def _check_together(notes: Notes, series: Series) -> None:
    """What slots may not do beside each other, and a run of dates that never ends."""
    names: dict[str, int] = {}
    for number, slot in enumerate(series.slots):
        first = names.setdefault(slot.name.casefold(), number)
        if first != number:
            notes.add(notes.spot("slots", number, "slot"), f"a slot is called {quoted(slot.name)} already",
                      "give this one a 'name' of its own: files are called by it")
    for number, slot in enumerate(series.slots):
        shared = series.helpings[slot.helping]
        if not shared:
            sizes = listed([f"{size}" for size in slot.design.sizes])
            notes.add(notes.spot("slots", number, "slot"),
                      f"slots of {slot.design.puzzles} puzzle(s) share them on a date, and no size fits them all",
                      f"this one takes grids of {sizes}; state 'sizes' that they have in common")
            break
    try:
        tuple(series.dates())
    except OverflowError:
        notes.add(notes.spot("series", "start"), f"the calendar ends before {series.count} dates are found",
                  f"start well before {dt.date.max.year}")


def with_text(series: Series, kind: SvgText | None) -> Series:
    """The series with its SVG text live or outlined; as its manifest says where `kind` is None."""
    return series if kind is None else replace(series, live_text=kind is SvgText.LIVE)
