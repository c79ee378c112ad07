"""What one slot says on one date, before any of it is measured or drawn."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from dataclasses import dataclass, replace

from babel.dates import format_date, format_skeleton

from cagework.solver.crossing import DIGITS
from cagework.solver.model import BLACK, Answer, Cell, Puzzle, Shape, standard_houses
from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.grade import NARROW
from cagework.solver.reasoning.reason import PathOutcome, Stage
from cagework.typeset.choices import Kind
from cagework.typeset.columns.series import Day, SeriesSlot, kind_of
from cagework.typeset.draw.describe import digits_met, rules_in_words, run_in_words
from cagework.typeset.entry import Entry
from cagework.typeset.solving.story import is_single
from cagework.typeset.solving.worked import Worked
from cagework.typeset.words import Words, locale_of
from cagework.typeset.words.as_printed import printed_entry
from cagework.typeset.words.phrases import CROSSING
from cagework.typeset.words.punctuation import printed
from cagework.typeset.words.sentences import Sentences


@dataclass(frozen=True, slots=True)
class ProvedPuzzle:
    """A puzzle fit for print: rated, its one answer known."""

    entry: Entry
    worked: Worked
    answer: Answer

    @property
    def hint(self) -> Stage | None:
        """The first deduction that is more than a look."""
        stages = self.worked.path.stages
        return next((stage for stage in stages if not is_single(stage.step)), next(iter(stages), None))

    @property
    def key_step(self) -> int | None:
        """The number of the stage worth a picture: the first besides the hint that is worth a thought and rests
        on the printed puzzle, or else the hint's.
        """
        if self.hint is None:
            return None
        stages = self.worked.path.stages
        return next((number for number, stage in enumerate(stages)
                     if stage.printed and stage.step is not self.hint.step and stage.step.cost >= NARROW),
                    stages.index(self.hint))

    def untold(self) -> str:
        """What stands against printing its hint and its key step, each proved from what it cites; empty where
        nothing does.
        """
        path = self.worked.path
        if path.outcome is PathOutcome.SOLVED and path.answer != self.answer:
            return "the worked path ends in another grid than the solver's answer"
        if self.hint is None or self.key_step is None:
            return ""
        last = max(path.stages.index(self.hint), self.key_step)
        bad = Prover(self.entry.puzzle, self.answer).first_unproved(stage.step for stage in path.stages[:last + 1])
        return "" if bad is None else f"a step of the worked path, {bad.technique}, is not proved"


@dataclass(frozen=True, slots=True)
class Earlier:
    """The answer to a puzzle printed before: all that is needed to draw it. The usual boxes are no `regions`,
    and a grid without regions is one. Crossing sums have none, and 0 in black squares."""

    date: dt.date
    number: int
    title: str
    answer: Answer
    regions: tuple[tuple[Cell, ...], ...]
    kind: Kind = Kind.CAGES

    @property
    def puzzle(self) -> Puzzle:
        """The bare grid, without cages."""
        columns = self.answer.columns
        if self.kind is Kind.CAGES:
            return Puzzle(columns, standard_houses(columns, self.regions or None), (),
                          least=min(1, *self.answer.digits))
        places = (divmod(number, columns) for number, digit in enumerate(self.answer.digits) if digit != BLACK)
        cells = tuple(Cell(row + 1, col + 1) for row, col in places)
        return Puzzle(DIGITS, (), (), shape=Shape(len(self.answer.digits) // columns, columns, cells))


@dataclass(frozen=True, slots=True)
class Phrases:
    """The words of one language."""

    language: str
    words: Words
    sentences: Sentences

    def printed(self, one: ProvedPuzzle) -> ProvedPuzzle:
        """A puzzle with its words as they are printed in this language."""
        entry = printed_entry(one.entry, self.language)
        return replace(one, entry=entry, worked=replace(one.worked, entry=entry))

    def date(self, date: dt.date, *, short: bool = False) -> str:
        """A date with its weekday, as CLDR has it for the language."""
        locale = locale_of(self.language)
        return str(format_skeleton("yMMMEd", date, locale=locale) if short
                   else format_date(date, "full", locale=locale))


@dataclass(frozen=True, slots=True)
class Issue:
    """A date in a slot: the puzzles, and the answers to earlier ones (none where none is known)."""

    slot: SeriesSlot
    day: Day
    puzzles: tuple[ProvedPuzzle, ...]
    earlier: tuple[Earlier, ...]
    phrases: Phrases

    @property
    def stem(self) -> str:
        """The name of its files, without their endings."""
        return f"{self.day.date.isoformat()}-{self.slot.name}"

    @property
    def heading(self) -> str:
        """The column's heading."""
        if self.slot.heading:
            return printed(self.slot.heading, self.phrases.language)
        words = self.phrases.words.columns
        return words.heading if self.slot.kind is Kind.CAGES else words.heading_of_crossing_sums

    @property
    def rules(self) -> str:
        """The short rules line: what holds for all the puzzles."""
        if self.slot.kind is Kind.CROSSING_SUMS:
            return self.phrases.sentences.text(CROSSING)
        words = self.phrases.words
        runs = digits_met([one.entry.puzzle for one in self.puzzles])
        ranges = words.listed([run_in_words(run, words) for run in runs], self.phrases.language)
        bare = not any(one.entry.puzzle.regions for one in self.puzzles)
        return (words.columns.rules_without_regions if bare else words.columns.rules).format(range=ranges)

    def own_rules(self, one: ProvedPuzzle) -> str:
        """A puzzle's own rules: without them it cannot be solved, so they are never left out."""
        said = rules_in_words(one.entry, self.phrases.sentences)
        return " ".join(rule for rule in said if rule != self.rules)

    @property
    def answer_caption(self) -> str:
        """Whose answer is printed."""
        words, earlier = self.phrases.words.columns, self.earlier[0]
        days = (self.day.date - earlier.date).days
        when = {1: words.answer_yesterday, 7: words.answer_last_week}.get(days)
        if when is None:
            date = format_skeleton("MMMMd", earlier.date, locale=locale_of(self.phrases.language))
            when = words.answer_of.format(date=date)
        return f"{when}, {words.number.format(number=earlier.number)}"


def _drawn(puzzle: Puzzle) -> tuple[tuple[Cell, ...], ...]:
    if puzzle.shape is not None:
        return ()
    return puzzle.own_regions if puzzle.regions else (puzzle.cells,)


def earlier_of(day: Day, proved: Sequence[ProvedPuzzle]) -> tuple[Earlier, ...]:
    """A date's puzzles as a later date prints their answers."""
    return tuple(
        Earlier(day.date, day.number, one.entry.title or "", one.answer, _drawn(one.entry.puzzle),
                kind_of(one.entry.puzzle))
        for one in proved
    )
