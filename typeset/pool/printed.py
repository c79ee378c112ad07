"""What was printed where and when, as ledgers, series and books say it."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

from cagework.typeset.faults import Fault, NotBuilt, Severity
from cagework.typeset.manifest.document import YamlDocument, read_document
from cagework.typeset.manifest.own import FileKind, kind_of_file
from cagework.typeset.manifest.twins import key_of
from cagework.typeset.pool.index import Index


@dataclass(frozen=True, slots=True)
class Printing:
    """One use of a puzzle, which `key` stands for: the date, where it is known, and the series or book."""

    key: str
    date: dt.date | None
    where: str


def printings(file: Path) -> tuple[Printing, ...]:
    """What a ledger, the ledger of a series, or the sections of a book have printed.

    Raises UnreadableManifest, and NotBuilt with the faults of a file that cannot be read as a whole: what is left
    out of it would be taken for unprinted.
    """
    document = read_document(file)
    kind = kind_of_file(document)
    if kind is FileKind.LEDGER:
        return printed_by(file)
    if kind is FileKind.SERIES:
        ledger = ledger_of(document)
        if ledger is None:
            raise NotBuilt([no_ledger(document, Severity.ERROR)])
        return printed_by(ledger)
    return tuple(_of_book(file))


def no_ledger(series: YamlDocument, severity: Severity) -> Fault:
    """That a series manifest names none."""
    return series.fault(series.spot(("series",), key=True),
                        "this series keeps no ledger: what it printed is not known",
                        "give it one, under series: ledger", severity)


def ledger_of(series: YamlDocument) -> Path | None:
    """The ledger that a series manifest names."""
    data = series.data
    part = data.get("series") if isinstance(data, dict) else None
    name = part.get("ledger") if isinstance(part, dict) else None
    return series.file.parent / name if isinstance(name, str) and name.strip() and "\0" not in name else None


def printed_by(ledger: Path) -> tuple[Printing, ...]:
    """What a ledger has; nothing where there is no such file yet. Raises UnreadableManifest and NotBuilt."""
    from cagework.typeset.columns.ledger import read_ledger
    found = read_ledger(ledger)
    if found.faults:
        raise NotBuilt(found.faults)
    return tuple(Printing(use.key, use.earlier.date, use.series) for use in found.uses)


def _of_book(file: Path) -> Iterator[Printing]:
    from cagework.typeset.manifest.load import load_book
    reading = load_book(file, puzzles_suffice=True)
    if reading.failed:
        raise NotBuilt([fault for fault in reading.faults if fault.is_error])
    book = reading.book
    entries = book.entries if book else (one.entry for one in reading.puzzles if one.entry)
    for entry in entries:
        yield Printing(key_of(entry.puzzle), book.press.date if book else None, book.title if book else file.stem)


def put_printings(index: Index, found: Iterable[Printing], file: int | None) -> None:
    """Put down what was printed, as a file of the folder says, or for this run alone."""
    for one in found:
        index.put("printing", key=one.key, date=one.date and one.date.isoformat(), place=one.where, file=file)


def mark_printed(index: Index, given: Iterable[Path]) -> tuple[Fault, ...]:
    """Put down, for this run, what these files and ledgers outside the folder have printed; return what is wrong
    with them. Raises UnreadableManifest.

    What a ledger that is wrong has printed would be taken for unprinted.
    """
    outside = [Path(ledger) for ledger, in index.all("SELECT DISTINCT ledger FROM file WHERE ledger IS NOT NULL")]
    faults: list[Fault] = []
    found: list[Printing] = []
    for read, files in ((printings, given), (printed_by, outside)):
        for file in files:
            try:
                found += read(file)
            except NotBuilt as error:
                faults += error.faults
    with index.change():
        index.all("DELETE FROM printing WHERE file IS NULL")
        put_printings(index, found, None)
    return tuple(faults)
