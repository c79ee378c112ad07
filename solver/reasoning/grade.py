"""Path -> grade: how hard the hardest step is, and how much there is to do with how few openings.

The formula, in one place:

    score = hardest + effort
    effort = (cost of each step, divided by its openings, added up) / number of cells

Pelánek (arXiv 1403.7373) measured two sources of difficulty in thousands of hours of people solving the
classic puzzle: how complex single steps are, and how the steps depend on each other, that is, how few
ways on there are at a time. `hardest` stands for the first and `effort` for both: a step that is one of
five to be had at the time counts for a fifth, one that everything waits for counts in full. Dividing by
the cells keeps a large grid from being hard for its size alone.

The path is the chosen one, the lightest that was found; a step's openings are those of the time when it was first
taken, cheapest first. Load, how many cases a step asks a reader to hold at once, does not enter but by that
choice and by a supposition's cost, which grows with its links; `Path.reach` tells whether a load is more than one
can hold.

Each technique states its cost, in hundredths of the easiest step there is: the last cell of a house costs 100,
and a naked pair, at 440, is worth a little more than four of them. The order follows two findings, of which we
read the abstracts: a tactic is harder the more constraints it depends on (Lee, Goodwin and Johnson-Laird,
Thinking & Reasoning 14(4), 2008), and puzzles that need only easy rules of inference get solved while others
tend not to (Haraguchi, Abe and Maruoka, J. Information Processing 20(3), 2012). So: 100 to 190 one house or
cage that needs a look; 200 to 390 the arithmetic of one cage or one lone cell; 400 to 590 a few cells or houses
at once; 600 to 950 many at once; 700 and more supposing, 80 more for each link of the argument; 2000 trying a
cell. The scale's numbers are our judgement and its limits were set by looking at composed puzzles, so that each
grade occurs. No study of the times people take on cage puzzles was found: nothing here claims to correlate with
them.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from cagework.solver.reasoning.reason import Path, PathOutcome


class Grade(StrEnum):
    """How hard a puzzle is, in the project's own four words; the order of definition is the order of effort."""

    STROLL = "stroll"
    CLIMB = "climb"
    SCRAMBLE = "scramble"
    SUMMIT = "summit"


LIMITS = ((450.0, Grade.STROLL), (700.0, Grade.CLIMB), (1100.0, Grade.SCRAMBLE))
"""The score a grade stays below, easiest first; anything more is a summit."""

NEAR = 10.0
"""A score no further from a limit is near the grade on its other side."""

NARROW = 200
"""A step of at least this cost that is the only opening is a bottleneck."""


@dataclass(frozen=True, slots=True)
class Rating:
    """A grade with what it is made of.

    `hardest` and `total` are costs, of the costliest step and of all; `technique` is the costliest step's
    (None for a path of no steps); `effort` is the cost per cell with each step's divided by its openings;
    `bottlenecks` counts the steps beyond singles that were the only way on.
    """

    grade: Grade
    score: float
    hardest: int
    technique: str | None
    total: int
    effort: float
    bottlenecks: int
    steps: int
    what_ifs: int

    @property
    def near(self) -> Grade | None:
        """The grade on the other side of a limit that the score is near; None where it is near none."""
        grades = list(Grade)
        for limit, below in LIMITS:
            if abs(self.score - limit) <= NEAR:
                above = grades[grades.index(below) + 1]
                return {below: above, above: below}.get(self.grade)
        return None


def rate(path: Path) -> Rating:
    """Grade a puzzle from its path. One that the path does not solve is a summit, whatever its score."""
    steps = [stage.step for stage in path.stages]
    top = max(steps, key=lambda step: step.cost, default=None)
    hardest = top.cost if top else 0
    effort = sum(stage.step.cost / stage.openings for stage in path.stages) / len(path.puzzle.cells)
    score = hardest + effort
    grade = next((grade for limit, grade in LIMITS if score < limit), Grade.SUMMIT)
    return Rating(
        grade=grade if path.outcome is PathOutcome.SOLVED else Grade.SUMMIT,
        score=score,
        hardest=hardest,
        technique=top.technique if top else None,
        total=sum(step.cost for step in steps),
        effort=effort,
        bottlenecks=sum(stage.openings == 1 and stage.step.cost >= NARROW for stage in path.stages),
        steps=len(steps),
        what_ifs=path.what_ifs,
    )
