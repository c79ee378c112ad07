"""The ledger: which puzzles were printed when, so that none comes twice, turned or mirrored or as it was."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from cagework.solver import model
from cagework.solver.crossing import DIGITS
from cagework.solver.model import BOXES, SIZES, Answer, Cell, grid_cells
from cagework.typeset.choices import Kind
from cagework.typeset.columns.issue import Earlier, ProvedPuzzle, earlier_of
from cagework.typeset.columns.schema import LedgerFile, UsePart
from cagework.typeset.columns.series import Day, Helping
from cagework.typeset.entry import Entry
from cagework.typeset.faults import Fault, in_order
from cagework.typeset.manifest.document import read_document
from cagework.typeset.manifest.notation import digit_of
from cagework.typeset.manifest.notes import Notes
from cagework.typeset.manifest.twins import key_of
from cagework.typeset.manifest.violations import findings

_HEAD = """\
# Puzzles printed before, by date. cagework reads this to print none of them again, and adds to it.
# 'key' stands for a puzzle and all that it becomes turned, mirrored or complemented.
"""


BLACK = "."
"""Stands in an answer for a black square."""


@dataclass(frozen=True, slots=True)
class Use:
    """One use of a puzzle: the series and date, its place in a helping of `of`, in which slot if in one alone, its
    key, and its answer.
    """

    series: str
    place: int
    of: int
    puzzle: str
    key: str
    earlier: Earlier
    slot: str = ""

    @property
    def helping(self) -> Helping:
        """What puzzles of its date it is among."""
        return Helping(self.of, self.earlier.kind, self.slot)


@dataclass(frozen=True, slots=True)
class Ledger:
    """All uses known, in the order of the file; `text` is the file as it stands, None where there is none."""

    uses: tuple[Use, ...]
    text: str | None
    faults: tuple[Fault, ...] = ()

    def unused(self, pool: Sequence[Entry], series: str) -> tuple[Entry, ...]:
        """The puzzles that no other series has printed, turned, mirrored or complemented."""
        gone = {use.key for use in self.uses if use.series != series}
        return tuple(one for one in pool if key_of(one.puzzle) not in gone)

    def helping(
        self, date: dt.date | None, before: dt.date, helping: Helping, other_than: str,
    ) -> tuple[Earlier, ...]:
        """The puzzles another series printed on a date, or on the last one before `before` where it is None."""
        uses = [use for use in self.uses if use.series != other_than and use.helping == helping]
        known = [use.earlier.date for use in uses if use.earlier.date < before]
        wanted = date or max(known, default=None)
        found = [use for use in uses if use.earlier.date == wanted]
        found.sort(key=lambda use: (use.series, use.place))
        return tuple(use.earlier for use in found if use.series == found[0].series)


def uses_of(series: str, day: Day, helping: Helping, puzzles: Sequence[ProvedPuzzle]) -> tuple[Use, ...]:
    """A date's puzzles as the ledger keeps them."""
    return tuple(
        Use(series, place, helping.of, one.entry.id, key_of(one.entry.puzzle), earlier, helping.slot)
        for place, (one, earlier) in enumerate(zip(puzzles, earlier_of(day, puzzles), strict=True), 1)
    )


def read_ledger(path: Path | None) -> Ledger:
    """Read a ledger; an empty one where there is no such file. UnreadableManifest where it is none."""
    if path is None or not path.exists():
        return Ledger((), None)
    document = read_document(path)
    notes = Notes(document, faults=list(document.faults))
    notes.add_findings(findings(LedgerFile, document.data))
    if notes.failed:
        return Ledger((), document.text, in_order(notes.faults))
    uses = []
    for number, part in enumerate(LedgerFile.model_validate(document.data).used):
        use = _use(part)
        if use is None:
            notes.add(notes.spot("used", number, "answer"),
                      f"the answer is not one of {part.size} by {part.size} digits, or the regions are not"
                      if part.kind is Kind.CAGES else f"the answer is not one of rows of {part.size} squares")
        else:
            uses.append(use)
    return Ledger(tuple(uses), document.text, in_order(notes.faults))


def _use(part: UsePart) -> Use | None:
    if part.kind is Kind.CROSSING_SUMS:
        return _crossing_use(part)
    digits = [digit_of(char) for char in part.answer]
    least = 0 if 0 in digits else 1
    whole = part.size in (SIZES if part.regions else BOXES) and len(digits) == part.size**2
    if not whole or any(digit is None or digit >= least + part.size for digit in digits):
        return None
    regions: tuple[tuple[Cell, ...], ...] = ()
    if part.regions is not None:
        if len(part.regions) != part.size**2:
            return None
        cells = dict(zip(grid_cells(part.size), part.regions, strict=True))
        regions = tuple(tuple(cell for cell, char in cells.items() if char == letter)
                        for letter in sorted(set(part.regions)))
    answer = Answer(part.size, tuple(digit for digit in digits if digit is not None))
    return _used(part, answer, regions)


def _crossing_use(part: UsePart) -> Use | None:
    """Of crossing sums: rows of `size` squares, of which the black ones have no digit."""
    digits = [model.BLACK if char == BLACK else digit_of(char) or DIGITS + 1 for char in part.answer]
    if len(digits) % part.size or part.regions or max(digits) > DIGITS:
        return None
    return _used(part, Answer(part.size, tuple(digits)), ())


def _used(part: UsePart, answer: Answer, regions: tuple[tuple[Cell, ...], ...]) -> Use:
    return Use(part.series, part.place, part.of, part.puzzle, part.key,
               Earlier(part.date, part.number, part.title or "", answer, regions, part.kind), part.slot or "")


def ledger_text(ledger: Ledger, series: str, uses: Iterable[Use]) -> str:
    """The ledger with a series' uses in place of those it had before, all by date."""
    kept = [use for use in ledger.uses if use.series != series]
    lines = [_line(use) for use in sorted([*kept, *uses],
                                          key=lambda use: (use.earlier.date, use.series, use.helping, use.place))]
    return _HEAD + "used:\n" + "".join(lines) if lines else _HEAD + "used: []\n"


def _line(use: Use) -> str:
    """One use as a YAML flow mapping; JSON strings are YAML."""
    earlier = use.earlier
    said = {
        "date": earlier.date.isoformat(), "series": use.series, "place": use.place, "of": use.of,
        "number": earlier.number, "puzzle": use.puzzle, "title": earlier.title,
        "size": earlier.answer.columns,
        "answer": str(earlier.answer), "key": use.key,
    }
    if earlier.kind is not Kind.CAGES:
        said["kind"] = earlier.kind
    if use.slot:
        said["slot"] = use.slot
    if earlier.regions:
        letter = {cell: chr(ord("a") + number) for number, region in enumerate(earlier.regions) for cell in region}
        said["regions"] = "".join(letter[cell] for cell in sorted(letter))
    if not earlier.title:
        del said["title"]
    shown = ", ".join(f"{key}: {json.dumps(value, ensure_ascii=False)}" for key, value in said.items())
    return f"  - {{{shown}}}\n"
