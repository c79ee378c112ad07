"""A PDF, ours or not, looked into: what a press would refuse in it, and where it differs from a book."""

from __future__ import annotations

import logging
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cagework.typeset.choices import Purpose
from cagework.typeset.faults import NotBuilt, counted
from cagework.typeset.host.parallel import sharing
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.report import Report, as_json, inspect, locked
from cagework.typeset.reader.document import EncryptedPdf, read_document

if TYPE_CHECKING:
    from cagework.typeset.readback.difference import Difference
    from cagework.typeset.solving.crew import Crew


@dataclass(frozen=True, slots=True)
class Returned:
    """What was found in a PDF: by the preflight, and against a book, where `differences` is not None, with what
    could not be compared; and which of the book's files it was held against.
    """

    file: Path
    profile: Profile
    report: Report
    against: Path | None
    differences: tuple[Difference, ...] | None
    not_compared: tuple[str, ...]
    part: str = "the book"

    @property
    def passes(self) -> bool:
        """Whether a press would take it, and it is the book."""
        return self.report.passes and not self.differences

    def as_data(self) -> dict[str, Any]:
        """As programs read it."""
        told = {} if self.differences is None else {
            "differences": [one.as_data() for one in self.differences], "not_compared": list(self.not_compared)}
        return {"file": str(self.file)} | as_json(self.report) | told

    def summary(self) -> Iterator[str]:
        """The closing lines."""
        report = self.report
        held_to = (f"a press and {self.profile.stock} paper" if self.profile.purpose is Purpose.PRESS
                   else "a screen")
        yield (f"{self.file}: {counted(report.pages, 'page')}, {counted(len(report.rules_run), 'rule')} for "
               f"{held_to}: {'passes' if report.passes else 'would be refused'}, "
               f"{counted(len(report.findings), 'finding')}")
        if self.differences is not None:
            found = f"{counted(len(self.differences), 'difference')}" if self.differences else f"it is {self.part}"
            yield f"{self.file}: held against {self.against}: {found}"
            if self.not_compared:
                yield f"{self.file}: not compared: {'; '.join(self.not_compared)}"


def look_into(file: Path, profile: Profile, against: Path | None, seconds: float, crew: Crew) -> Returned:
    """Read a PDF, hold it to a profile and, where a manifest is given, against the book laid out again.

    UnreadablePdf and OSError where the file cannot be read, NotBuilt where the book has faults,
    UnreadableManifest where there is none. What a file may do without that another program wrote is not asked for.
    """
    data = file.read_bytes()
    if against is not None:
        return _held_against(file, data, profile, against, seconds, crew)
    with _hushed("pypdf"):
        try:
            alone = inspect(read_document(data), profile, sharing(crew.workers))
        except EncryptedPdf as error:
            alone = locked(error)
    return Returned(file, profile, alone, None, None, ())


def _held_against(
    file: Path, data: bytes, profile: Profile, against: Path, seconds: float, crew: Crew,
) -> Returned:
    from cagework.typeset.build import lay, shared_by
    from cagework.typeset.extras import ExtraError
    from cagework.typeset.manifest.load import load_book
    from cagework.typeset.which_file import compare_returned
    reading = load_book(against)
    if reading.book is None:
        raise NotBuilt(reading.faults)
    original = lay(reading.book, reading, seconds, crew=crew)
    if reading.book.ink:
        profile = replace(profile, spots=profile.spots | {reading.book.ink.name})
    share = shared_by(crew)
    with _hushed("pypdf"):
        document = read_document(data, original.shapes().chars)
        report = inspect(document, profile, share)
        try:
            part, found = compare_returned(document, original, share)
        except ExtraError as error:
            raise NotBuilt((error.fault,)) from error
        return Returned(file, profile, report, against, found.differences, found.not_compared, part)


@contextmanager
def _hushed(logger: str) -> Iterator[None]:
    """Keep a library from writing to the terminal meanwhile: what pypdf has to mend, preflight rule 1 reports."""

    log = logging.getLogger(logger)
    before, log.disabled = log.disabled, True
    try:
        yield
    finally:
        log.disabled = before
