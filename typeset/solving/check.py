"""Every puzzle of some files solved: what is known of each, in the order met."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from cagework.solver.reasoning.grade import Grade, rate
from cagework.solver.reasoning.reason import PathOutcome, Reach
from cagework.solver.reasoning.technique import MOST_CASES, MOST_LINKS
from cagework.solver.search.exact import Outcome, Verdict
from cagework.typeset.faults import Fault, Severity
from cagework.typeset.manifest.puzzle import PuzzleReading
from cagework.typeset.solving.crew import Crew
from cagework.typeset.solving.record import Result
from cagework.typeset.solving.setters import setters_faults
from cagework.typeset.solving.worked import Worked
from cagework.typeset.words import technique_name

INVALID = "invalid"
"""What is said of a puzzle that cannot be solved because it is not well-formed."""


@dataclass(frozen=True, slots=True)
class Checked:
    """One puzzle and its verdict, None where it is not well-formed; `ms` is the time the solver took, when it did.

    `worked` is the path of a sound puzzle; `faults` are its own and those of its grade.
    """

    reading: PuzzleReading
    verdict: Verdict | None
    ms: float
    worked: Worked | None
    faults: tuple[Fault, ...]

    @property
    def outcome(self) -> str:
        """One word for the editor and for programs."""
        return self.verdict.outcome.value if self.verdict else INVALID

    @property
    def grade(self) -> Grade | None:
        """The grade its path earns; None where there is no path, or not in time."""
        if self.worked is None or self.worked.path.outcome is PathOutcome.OUT_OF_BUDGET:
            return None
        return self.worked.rating.grade

    @property
    def score(self) -> float | None:
        """What the grade is taken from, to a tenth; None where there is no grade."""
        return round(self.worked.rating.score, 1) if self.worked and self.grade else None

    @property
    def near(self) -> Grade | None:
        """The grade on the other side of a limit that the score is close to; None where it is close to none."""
        return self.worked.rating.near if self.worked and self.grade else None

    @property
    def reach(self) -> Reach | None:
        """How far its path goes; None where the puzzle is not sound."""
        return self.worked.path.reach if self.worked else None

    @property
    def is_sound(self) -> bool:
        """Whether the puzzle has exactly one answer."""
        return self.verdict is not None and self.verdict.outcome is Outcome.SOUND


def check_puzzles(
    readings: Sequence[PuzzleReading], seconds: float | None, tick: Callable[[], None] = lambda: None,
    crew: Crew | None = None, *, again: bool = False,
) -> tuple[Checked, ...]:
    """Solve each puzzle, giving up on one after `seconds`; `tick` is called after each, in any order. With
    `again`, as for print, none is taken for sound because the cache says so.

    Without a crew they are solved here, one after another, and nothing is kept.
    """
    entries = [(number, reading.entry) for number, reading in enumerate(readings) if reading.entry is not None]
    found: dict[int, Result] = {}
    for place, finding in (crew or Crew()).find([entry.puzzle for _, entry in entries], seconds, again=again):
        found[entries[place][0]] = finding
        tick()
    return tuple(judged(reading, found.get(number)) for number, reading in enumerate(readings))


def judged(reading: PuzzleReading, finding: Result | None) -> Checked:
    """A puzzle with what was found of it; None where it is not well-formed."""
    if finding is None or reading.entry is None:
        return Checked(reading, None, 0.0, None, reading.faults)
    worked = Worked(reading.entry, finding.path, rate(finding.path)) if finding.path else None
    faults = (*reading.faults, *setters_faults(reading, finding.verdict), *_pathless(reading, worked))
    return _graded(Checked(reading, finding.verdict, finding.ms, worked, faults))


def _pathless(reading: PuzzleReading, worked: Worked | None) -> Iterator[Fault]:
    """A warning where no path that a reader can hold in mind leads through a sound puzzle."""
    match worked.path.reach if worked else None:
        case Reach.TRIAL:
            yield Fault(
                reading.place,
                f"'{reading.id}' needs trial: at some point no argument of {MOST_CASES} cases, or {MOST_LINKS} "
                "links, goes on", "its worked solution says which cell is tried", Severity.WARNING,
            )
        case Reach.STUCK:
            yield Fault(reading.place, f"'{reading.id}' has no path: trying a cell does not go on everywhere", "",
                        Severity.WARNING)
        case Reach.OUT_OF_BUDGET:
            yield Fault(reading.place, f"the path of '{reading.id}' was given up in the time allowed",
                        "allow it more with --seconds", Severity.WARNING)


def _graded(one: Checked) -> Checked:
    """With a fault added where the manifest demands another grade than the path earns."""
    reading, grade = one.reading, one.grade
    if reading.entry is None or reading.entry.grade in (None, grade):
        return one
    if grade is None:
        return replace(one, faults=(*one.faults, *_ungraded(one, reading.entry.grade)))
    rating = one.worked.rating if one.worked else None
    technique = f" (hardest step: {technique_name(rating.technique)})" if rating and rating.technique else ""
    fault = Fault(
        reading.grade_place or reading.place,
        f"the manifest calls '{reading.id}' a {reading.entry.grade}, but its path makes it a {grade}{technique}",
        "change the grade or the puzzle, or leave the grade out to print the path's",
    )
    return replace(one, faults=(*one.faults, fault))


def _ungraded(one: Checked, wanted: Grade | None) -> Iterator[Fault]:
    """What is not known is not printed as known: a sound puzzle whose path was given up has no grade yet."""
    if one.is_sound:
        yield Fault(
            one.reading.grade_place or one.reading.place,
            f"the manifest calls '{one.reading.id}' a {wanted}, but its path was not found in the time allowed, "
            "so its grade is not known",
            "allow it more with --seconds, or leave the grade out",
        )


def why_not(checked: Checked) -> str:
    """Why a puzzle may not be printed, in a few plain words; empty where it may."""
    verdict = checked.verdict
    if verdict is None:
        errors = [fault for fault in checked.faults if fault.is_error]
        more = f", and {len(errors) - 1} more" if len(errors) > 1 else ""
        return (errors[0].message if errors else "not well-formed") + more
    match verdict.outcome:
        case Outcome.SOUND:
            return next((fault.message for fault in checked.faults if fault.is_error), "")
        case Outcome.NO_ANSWER:
            puzzle = checked.reading.entry and checked.reading.entry.puzzle
            stated = "cages, givens and houses"
            if puzzle and puzzle.shape:
                stated = "sums and givens" if puzzle.givens else "sums"
            return f"its {stated} contradict each other"
        case Outcome.UNDECIDED:
            return f"not decided within the time allowed, after {verdict.nodes:,} choices"
        case Outcome.TWO_ANSWERS:
            from cagework.solver.editing.why import differing
            assert verdict.answer and verdict.second, "two answers were promised"
            cells = differing(verdict.answer, verdict.second)
            shown = " ".join(map(str, cells[:6])) + (" …" if len(cells) > 6 else "")
            return f"two answers differ in {len(cells)} cells: {shown}"


def as_json(checked: Checked) -> dict[str, Any]:
    """One puzzle of `cagework check --json`."""
    verdict = checked.verdict
    return {
        "id": checked.reading.id,
        "file": str(checked.reading.place.file),
        "outcome": checked.outcome,
        "answer": str(verdict.answer) if verdict and verdict.answer and checked.outcome != "undecided" else None,
        "second": str(verdict.second) if verdict and verdict.second else None,
        "nodes": verdict.nodes if verdict else 0,
        "ms": round(checked.ms, 3),
        "grade": checked.grade.value if checked.grade else None,
        "score": checked.score,
        "near": near.value if (near := checked.near) else None,
        "path": checked.reach.value if checked.reach else None,
        "faults": [fault_json(fault) for fault in checked.faults],
    }


def fault_json(fault: Fault) -> dict[str, Any]:
    """A fault as programs read it. `file` is where it lies: a puzzle may draw on more than one."""
    return {
        "file": str(fault.file), "line": fault.line, "column": fault.column, "severity": fault.severity.value,
        "message": fault.message, "hint": fault.hint,
    }
