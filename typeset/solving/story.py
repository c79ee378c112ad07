"""A path -> how it is told: thoughts in chapters, the shape of the solve, the way to its first digit."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import groupby, pairwise

from cagework.solver.model import Cage, Cell, House
from cagework.solver.reasoning.grade import NARROW
from cagework.solver.reasoning.ideas import GLANCE_COST
from cagework.solver.reasoning.reason import Path
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.step import Step
from cagework.typeset.solving.worked import moments

_MOST_SINGLES = 18
"""The most placements that a paragraph tells."""

_MOST_NUMBERED = 4
"""The most steps that one picture shows."""

class Wish(StrEnum):
    """What a picture of a path is to show."""

    STEPS = "steps"
    FULL_NOTES = "full notes"    # the notes of every open cell, too


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture of stages `first` up to `last` (not included), taken as one thought: the grid as it stands before
    the first, with what they all rest on and all they conclude. There may be none of them: then it is the grid as
    it stands. `numbered` where the text tells several by numbers, from 1.
    """

    first: int
    last: int
    wish: Wish = Wish.STEPS
    numbered: bool = False

    def steps(self, path: Path) -> tuple[Step, ...]:
        """What it is of."""
        return tuple(stage.step for stage in path.stages[self.first:self.last])


class Chapter(StrEnum):
    """A part of a told solution, by what it does for the reader."""

    FIRST_SUMS = "first-sums"    # what the printed puzzle gives away
    ONWARD = "onward"            # what that leads to
    BREAK_IN = "break-in"        # the last idea that costs most
    AFTER = "after"              # what follows from it
    FINISH = "finish"            # one place, one digit, to the end


@dataclass(frozen=True, slots=True)
class Thought:
    """Stages `first` up to `last` (not included), told in one paragraph, after a picture of its own, if any. A
    `brief` one is told by the digits it finds alone. `begins` where the chapter does.
    """

    first: int
    last: int
    chapter: Chapter
    begins: bool
    picture: Picture | None = None
    brief: bool = False


@dataclass(frozen=True, slots=True)
class Shape:
    """Where a solve opens, what breaks it, what it needs and how it ends.

    `houses` are added up and `cages` looked at before anything is known; `break_in` is the dearest step; `needs`
    are the techniques that look at more than a cage or house, `tried` the cells of trials; single places fill
    `last_digits` from `last_from` on.
    """

    houses: tuple[House, ...]
    cages: tuple[Cage, ...]
    break_in: Step | None
    needs: tuple[str, ...]
    tried: tuple[Cell, ...]
    last_from: Cell | None
    last_digits: int


def is_single(step: Step) -> bool:
    """Whether a step is one that any reader takes without thinking."""
    return TECHNIQUES[step.technique].single


class Story:
    """A path cut into the ideas that it is told by: `ideas` are the stages of each; singles to the end are one of
    their own, the last.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.steps = [stage.step for stage in path.stages]
        count = len(self.steps)
        end = next((number + 1 for number in reversed(range(count)) if not is_single(self.steps[number])), 0)
        runs = (list(run) for _, run in groupby(range(end), lambda number: path.stages[number].idea))
        self.ideas = [range(run[0], run[-1] + 1) for run in runs]
        self.finish = range(end, count)
        if self.finish:
            self.ideas.append(self.finish)
        self._dearest = [max(idea, key=lambda number: (self.steps[number].cost, -number)) for idea in self.ideas]
        self._way_in = max(self._dearest, key=lambda number: (self.steps[number].cost, number), default=-1)
        if self._way_in >= 0 and not self._looks_far(self._way_in):
            self._way_in = -1

    def _looks_far(self, number: int) -> bool:
        """Whether a stage looks further than a cage or a house."""
        return self.steps[number].cost >= GLANCE_COST

    @property
    def chapters(self) -> tuple[Chapter, ...]:
        """The chapter of each stage."""
        found: list[Chapter] = []
        chapter = Chapter.FIRST_SUMS
        for idea, dearest in zip(self.ideas, self._dearest, strict=True):
            if idea is self.finish:
                chapter = Chapter.FINISH
            elif dearest == self._way_in:
                chapter = Chapter.BREAK_IN
            elif chapter is Chapter.BREAK_IN:
                chapter = Chapter.AFTER
            elif chapter is Chapter.FIRST_SUMS and not all(self.path.stages[number].printed for number in idea):
                chapter = Chapter.ONWARD
            found += [chapter] * len(idea)
        return tuple(found)

    @property
    def pictures(self) -> tuple[Picture, ...]:
        """In their order: one of each idea that looks further than a cage or a house, and where there is none, of
        the dearest step. The way in shows the notes of the whole grid.
        """
        found = [self._picture(number, idea) for idea, number in zip(self.ideas, self._dearest, strict=True)
                 if self._looks_far(number)]
        if found or not self._dearest:
            return tuple(found)
        best = max(self._dearest, key=lambda number: (self.steps[number].cost, -number))
        return (Picture(best, best + 1),) if self.steps[best].cost >= NARROW else ()

    def _picture(self, number: int, idea: range) -> Picture:
        """Of a stage and what follows from it at a glance, where that is little and each told by itself."""
        last = next((other for other in idea if other > number and is_single(self.steps[other])), idea.stop)
        run = [self.steps[other].technique for other in range(number, last)]
        several = 1 < len(run) <= _MOST_NUMBERED and not any(
            one == other and TECHNIQUES[one].lead for one, other in pairwise(run))
        return Picture(number, last if several else number + 1,
                       Wish.FULL_NOTES if number == self._way_in else Wish.STEPS, numbered=several)

    def thoughts(self, *, briefly: bool) -> tuple[Thought, ...]:
        """The path as it is told; `briefly` where ideas without a picture are told by their digits alone."""
        where, drawn = self.chapters, {picture.first: picture for picture in self.pictures}
        found: list[Thought] = []
        for idea in self.ideas:
            brief = briefly and not any(number in drawn for number in idea)
            for first, last in self._paragraphs(idea, drawn):
                begins = not found or found[-1].chapter is not where[first]
                thought = Thought(first, last, where[first], begins, drawn.get(first), brief)
                if brief and found and found[-1].brief and not begins:
                    found[-1] = replace(found[-1], last=last)
                else:
                    found.append(thought)
        return tuple(found)

    def _paragraphs(self, idea: range, drawn: Mapping[int, Picture]) -> Iterator[tuple[int, int]]:
        """An idea cut where a picture stands, and where too many digits would be told in a breath."""
        first, singles = idea.start, 0
        for number in idea:
            single = is_single(self.steps[number])
            if number > first and (number in drawn or (single and singles == _MOST_SINGLES)):
                yield first, number
                first, singles = number, 0
            singles += single
        yield first, idea.stop

    @property
    def shape(self) -> Shape:
        """Where it opens, what breaks it, what it needs and how it ends."""
        steps = self.steps
        opening = [step for step, chapter in zip(steps, self.chapters, strict=True)
                   if chapter is Chapter.FIRST_SUMS and not is_single(step)]
        return Shape(
            tuple(dict.fromkeys(house for step in opening for house in step.cites.added)),
            tuple(dict.fromkeys(cage for step in opening if not step.cites.added for cage in step.cites.cages)),
            None if self._way_in < 0 else steps[self._way_in],
            tuple(dict.fromkeys(step.technique for number, step in enumerate(steps)
                                if self._looks_far(number) and not step.is_trial)),
            tuple(cell for step in steps if step.is_trial for cell, _ in step.places),
            steps[self.finish.start].places[0][0] if self.finish else None, len(self.finish),
        )

    @property
    def opening_chain(self) -> tuple[int, ...]:
        """The stages that lead to a first digit by the least load, in order, that digit's last; none where there
        is no digit.
        """
        rests = _rests(self.path)
        chains: list[list[int]] = []
        for number, step in enumerate(self.steps):
            if step.places and not step.is_trial:
                chain = {number}
                waiting = [number]
                while waiting:
                    more = rests[waiting.pop()] - chain
                    chain |= more
                    waiting += more
                chains.append(sorted(chain))
        return tuple(min(chains, key=lambda chain: (sum(self.steps[number].load for number in chain), chain),
                         default=()))


def _rests(path: Path) -> list[set[int]]:
    """For each stage, the stages that it rests on."""
    known = moments(path)
    place = {cell: number for number, cell in enumerate(path.puzzle.cells)}
    authors: list[list[tuple[int, int]]] = [[] for _ in place]
    found: list[set[int]] = []
    for number, stage in enumerate(path.stages):
        found.append({author for cell, mask in stage.step.cites.eliminated
                      for gone, author in authors[place[cell]] if gone & mask})
        for cell, (before, after) in enumerate(zip(known[number].candidates, known[number + 1].candidates,
                                                   strict=True)):
            if before != after:
                authors[cell].append((before ^ after, number))
    return found
