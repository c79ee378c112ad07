"""A path -> how it is told: thoughts in chapters, the shape of the solve, the way to its first digit."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cached_property
from itertools import groupby, islice, pairwise, product
from string import ascii_uppercase

from cagework.solver.model import Cage, Cell, Domain, House, Sum
from cagework.solver.reasoning.grade import NARROW
from cagework.solver.reasoning.ideas import FAR_COST, suppose_of_one_cell
from cagework.solver.reasoning.reason import Path
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.step import Block, Step, area_of
from cagework.typeset.solving.untold import Strikes
from cagework.typeset.words.breaths import BREATH

LETTERS = "abcd"
"""What the steps of one picture are called, as many as it shows: a letter is not taken for a note."""

_MOST_BEHIND = 3
"""The most steps that a digit told by itself rests on besides."""

_TOLD_BEFORE = ("again", "cut")
"""The sentences of a step by a sum that was told before: as it was, or without cells that are filled by now."""

_MOST_HINTED, _FEW_HINTED = 5, 4
"""The most steps that hints tell to the first digit, and where these would be more, to the first thing seen."""

class Wish(StrEnum):
    """What a picture of a path is to show."""

    STEPS = "steps"
    FULL_NOTES = "full notes"    # the notes of every open cell, too


@dataclass(frozen=True, slots=True)
class Picture:
    """A picture of stages `first` up to `last` (not included), taken as one thought: the grid as it stands before
    the first, with what they all rest on and all they conclude. There may be none of them: then it is the grid as
    it stands. `lettered` where the text tells several by letters, from a.
    """

    first: int
    last: int
    wish: Wish = Wish.STEPS
    lettered: bool = False

    def steps(self, path: Path) -> tuple[Step, ...]:
        """What it is of."""
        return tuple(stage.step for stage in path.stages[self.first:self.last])


class Chapter(StrEnum):
    """A part of a told solution, by what it does for the reader."""

    FIRST_SUMS = "first-sums"    # what the printed puzzle gives away
    ONWARD = "onward"            # what that leads to
    BREAK_IN = "break-in"        # the last idea that costs most
    AFTER = "after"              # what follows from it
    FINISH = "finish"            # nothing more that looks further than a cage or a house


@dataclass(frozen=True, slots=True)
class Thought:
    """Stages `first` up to `last` (not included), told in one paragraph, before a picture of its own, if any. Both
    have its `name`, for one may stand in the next column: A to Z, AA, AB.

    A `brief` one is told by the digits it finds alone. `begins` where the chapter does. `behind` are the stages
    that a brief one's placements rest on besides, as (placement, those that nobody has told), by number; `digits`
    are the placements that it tells, in their order: of several brief ones in a row, each may tell another's.
    """

    first: int
    last: int
    chapter: Chapter
    begins: bool
    picture: Picture | None = None
    brief: bool = False
    behind: tuple[tuple[int, tuple[int, ...]], ...] = ()
    name: str = ""
    digits: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Shape:
    """Where a solve opens, what breaks it, what it needs and how it ends.

    `areas`, each of houses or a block of runs, are added up and `cages` looked at before anything is known;
    `break_in` is the dearest step; `needs` are the techniques that look at more than a cage or house, `tried`
    the cells of trials; from `last_from` on `last_digits` are found by single cages and houses, or, where
    `ends_in_singles`, have one place each. By `marks` rules say what single cells can hold; where it
    `is_ruled`, one ties cells on the way. It `turns` where others that look far come before the dearest step;
    the last digits are `all_last` where there are no others.
    """

    areas: tuple[tuple[House, ...] | Block, ...]
    cages: tuple[Cage, ...]
    break_in: Step | None
    needs: tuple[str, ...]
    tried: tuple[Cell, ...]
    last_from: Cell | None
    last_digits: int
    ends_in_singles: bool
    marks: tuple[Domain, ...]
    is_ruled: bool
    turns: bool
    all_last: bool


def is_single(step: Step) -> bool:
    """Whether a step is one that any reader takes without thinking."""
    return TECHNIQUES[step.technique].single


def _looks_far(step: Step) -> bool:
    """Whether a step looks further than a cage or a house: at several houses, if only to add them up anew."""
    several = sum(not isinstance(one, Sum) for one in step.cites.added) > 1
    return step.cost >= FAR_COST or (several and step.key.split("+")[0] not in _TOLD_BEFORE)


def _of_one_thing(one: Step, other: Step) -> bool:
    """Whether two steps of an idea are one thought: they look at one sum, one cage, one house or the same cells,
    or are listed together.
    """
    if suppose_of_one_cell(one, other) or (one.technique == other.technique and TECHNIQUES[one.technique].lead):
        return True
    if one.cites.added or other.cites.added:
        same = one.cites.additions == other.cites.additions
    elif isinstance(one.why.get("house"), House) or isinstance(other.why.get("house"), House):
        same = one.why.get("house") == other.why.get("house")
    else:
        same = bool(one.cites.cages) and one.cites.cages[:1] == other.cites.cages[:1]
    return same or (bool(one.why.get("cells")) and one.why.get("cells") == other.why.get("cells"))


def letters_of(steps: Sequence[Step]) -> tuple[str, ...]:
    """The letter of each of a few steps; one that the next says all of has the same as that."""
    said = [after is not None and TECHNIQUES[step.technique].is_said_by(step, after)
            for step, after in zip(steps, [*steps[1:], None], strict=False)]
    return tuple([LETTERS[number - sum(said[:number])] for number in range(len(steps))])


class Story:
    """A path cut into the thoughts that it is told by: `ideas` are the stages of each, cut where the `finish`
    begins, where nothing is left but singles, and where an idea that looks far goes on to another thing.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.steps = [stage.step for stage in path.stages]
        self._looks_far = list(map(_looks_far, self.steps)).__getitem__
        count = len(self.steps)
        end = next((number + 1 for number in reversed(range(count)) if not is_single(self.steps[number])), 0)
        self.finish = range(self._last_far_end(end), count)
        runs = (list(run) for _, run in groupby(range(count), lambda number: (
            number in self.finish, number >= end, path.stages[number].idea)))
        whole = [range(run[0], run[-1] + 1) for run in runs]
        self._far = {number for idea in whole if any(map(self._looks_far, idea)) for number in idea}
        self.ideas = [part for idea in whole for part in self._cut(idea)]
        self._leads = [next(filter(self._looks_far, idea), max(idea, key=self._dearness)) for idea in self.ideas]
        dearest = max(range(count), key=lambda number: (self.steps[number].cost, number), default=-1)
        self._way_in = next((lead for lead, idea in zip(self._leads, self.ideas, strict=True)
                             if dearest in idea and self._looks_far(dearest)), -1)

    @cached_property
    def _rests(self) -> list[set[int]]:
        """The stages that each rests on."""
        return self._strikes.rests()

    @cached_property
    def _strikes(self) -> Strikes:
        """Asked only where something is told: pictures need none of it."""
        return Strikes(self.path)

    def _last_far_end(self, end: int) -> int:
        """Where nothing that looks far is left to do, and a digit that it leads to is placed; `end` for none."""
        count = len(self.steps)
        last = max(filter(self._looks_far, range(count)), default=count)
        first = next((number for number in range(last, count) if is_single(self.steps[number])), end)
        return first + 1 if first < end and self.path.stages[first].follows_from_last else first

    def _dearness(self, number: int) -> tuple[int, int]:
        """Orders stages by what they cost, the first of several the most."""
        return self.steps[number].cost, -number

    def _cut(self, idea: range) -> Iterator[range]:
        """An idea cut where it goes on from what looks far, or to it, and not to the same thing."""
        first, far = idea.start, self._looks_far(idea.start)
        for number in idea[1:]:
            step, far = self.steps[number], far or self._looks_far(number)
            if far and not is_single(step) and not any(
                    _of_one_thing(one, step) for one in self.steps[first:number]):
                yield range(first, number)
                first, far = number, self._looks_far(number)
        yield range(first, idea.stop)

    @property
    def chapters(self) -> tuple[Chapter, ...]:
        """The chapter of each stage."""
        found: list[Chapter] = []
        chapter = Chapter.FIRST_SUMS
        for idea, lead in zip(self.ideas, self._leads, strict=True):
            if idea.start in self.finish:
                chapter = Chapter.FINISH
            elif lead == self._way_in:
                chapter = Chapter.BREAK_IN
            elif chapter is Chapter.BREAK_IN:
                chapter = Chapter.AFTER
            elif chapter is Chapter.FIRST_SUMS and not all(self.path.stages[number].printed for number in idea):
                chapter = Chapter.ONWARD
            found += [chapter] * len(idea)
        return tuple(found)

    @property
    def pictures(self) -> tuple[Picture, ...]:
        """In their order: one of each idea that looks further than a cage or a house, but where all of it is a sum
        that was seen; where there is none, of the dearest step. The way in shows the notes of the whole grid.
        """
        drawn = [self._picture(number, idea) for idea, number in zip(self.ideas, self._leads, strict=True)
                 if self._looks_far(number)]
        found = [one for one in drawn if one.last - one.first > 1 or one.wish is Wish.FULL_NOTES
                 or self.steps[one.first].key.split("+")[0] != _TOLD_BEFORE[0]]
        if found or not self._leads:
            return tuple(found)
        best = max(self._leads, key=self._dearness)
        return (Picture(best, best + 1),) if self.steps[best].cost >= NARROW else ()

    def _picture(self, number: int, idea: range) -> Picture:
        """Of a stage and what follows from it at a glance, where that is little and each told by itself."""
        last = next((other for other in idea if other > number and is_single(self.steps[other])), idea.stop)
        run = [self.steps[other].technique for other in range(number, last)]
        several = 1 < len(run) <= len(LETTERS) and not any(
            one == other and TECHNIQUES[one].lead for one, other in pairwise(run))
        return Picture(number, last if several else number + 1,
                       Wish.FULL_NOTES if number == self._way_in else Wish.STEPS, lettered=several)

    def thoughts(self, *, briefly: bool) -> tuple[Thought, ...]:
        """The path as it is told; `briefly` where ideas without a picture are told by the digits they find, but
        for what something told in full rests on.
        """
        where, drawn = self.chapters, {picture.first: picture for picture in self.pictures}
        apart = {number: idea.start for idea, lead in zip(self.ideas, self._leads, strict=True)
                 if not briefly or lead in self._far or any(one in drawn for one in idea) for number in idea}
        full = self._in_full(where, apart) if briefly else apart
        behind = self._strikes.untold(full, naming=True) if briefly else []
        found: list[Thought] = []
        names = _names()
        for run in self._runs(where, apart, full):
            brief = run[0] not in full
            placed = [number for number in run if brief and self.steps[number].places]
            digits = self._by_house(placed, behind)
            for first, last in self._paragraphs(run, drawn, full):
                told = tuple(islice(digits, sum(first <= number < last for number in placed)))
                found.append(Thought(
                    first, last, where[first], not found or found[-1].chapter is not where[first],
                    drawn.get(first), brief,
                    behind=tuple([(number, tuple(behind[number])) for number in told if behind[number]]),
                    name=next(names) if first in drawn else "", digits=told))
        return tuple(found)

    def _runs(
        self, where: Sequence[Chapter], apart: Mapping[int, int], full: Container[int],
    ) -> Iterator[list[int]]:
        """Stages in order: ideas that stand `apart` (stage -> where its idea begins), and what lies between
        them in a chapter, in full or not.
        """
        for _, run in groupby(range(len(self.steps)), lambda number: (
                where[number], number in full, apart.get(number))):
            yield list(run)

    def _by_house(self, placed: Sequence[int], behind: Sequence[Sequence[int]]) -> Iterator[int]:
        """Digits that are told by themselves, in an order in which many come from one house after one another. One
        that names what it rests on besides stays in its place.
        """
        waiting: list[int] = []
        for number in (*placed, None):
            if number is not None and not behind[number]:
                waiting.append(number)
                continue
            while waiting:
                ready = [one for one in waiting if self._rests[one].isdisjoint(waiting)]
                best = max([self._of_house(one, waiting) for one in ready], key=lambda row: (len(row), -row[0]))
                yield from best
                waiting = [one for one in waiting if one not in best]
            if number is not None:
                yield number

    def _of_house(self, first: int, waiting: Sequence[int]) -> list[int]:
        """A digit and those that may follow it at once and have one place left in the same house."""
        row, house = [first], self.steps[first].why.get("house")
        for one in waiting:
            later = set(waiting).difference(row)
            if one != first and house is not None and self.steps[one].why.get("house") == house and (
                    self._rests[one].isdisjoint(later)):
                row.append(one)
        return row

    def _in_full(self, where: Sequence[Chapter], apart: Mapping[int, int]) -> set[int]:
        """The stages of ideas that stand `apart`, what these rest on besides digits, what many have to say of a
        digit or one cannot say in passing, and what leads to no digit before something that is told.
        """
        full: set[int] = set()
        more = set(apart)
        while not more <= full:
            full |= more
            lacks = self._strikes.untold(full, naming=False)
            more = {number for told in full for number in lacks[told]}
            for number, behind in enumerate(self._strikes.untold(full, naming=True)):
                said = [self.steps[one].key in TECHNIQUES[self.steps[one].technique].in_passing for one in behind]
                if self.steps[number].places and (len(behind) > _MOST_BEHIND or not all(said)):
                    more.update(behind)
            more.update(number for run in self._runs(where, apart, full)
                        if not any(self.steps[one].places for one in run) for number in run)
        return full

    def _paragraphs(
        self, run: Sequence[int], drawn: Container[int], full: Container[int],
    ) -> Iterator[tuple[int, int]]:
        """Stages cut where a picture stands, and where a paragraph has a sentence full of digits, or as many steps
        as one follows.
        """
        first, digits, told = run[0], 0, 0
        for number in run:
            step = self.steps[number]
            digit = bool(step.places) and (number not in full or is_single(step))
            long = told == BREATH and not digit and not suppose_of_one_cell(self.steps[number - 1], step)
            if number > first and (number in drawn or long or (digit and digits == BREATH)):
                yield first, number
                first, digits, told = number, 0, 0
            told += number in full and not digit
            digits += digit
        yield first, run[-1] + 1

    @property
    def shape(self) -> Shape:
        """Where it opens, what breaks it, what it needs and how it ends."""
        steps = self.steps
        finish = steps[self.finish.start:]
        last = [cell for step in finish for cell, _ in step.places]
        opening = [step for step, chapter in zip(steps, self.chapters, strict=True)
                   if chapter is Chapter.FIRST_SUMS and not is_single(step)]
        return Shape(
            tuple(dict.fromkeys(area_of(added) for step in opening for added, _ in step.cites.additions)),
            tuple(dict.fromkeys(cage for step in opening if not step.cites.added for cage in step.cites.cages)),
            None if self._way_in < 0 else steps[self._way_in],
            tuple(dict.fromkeys(step.technique for number, step in enumerate(steps)
                                if self._looks_far(number) and not step.is_trial)),
            tuple(cell for step in steps if step.is_trial for cell, _ in step.places),
            last[0] if last else None, len(last), all(map(is_single, finish)), self.path.puzzle.domains,
            any(step.cites.ruled for step in steps),
            any(map(self._looks_far, range(max(self._way_in, 0)))),
            not any(step.places for step in steps[:self.finish.start]),
        )

    @property
    def opening_chain(self) -> tuple[int, ...]:
        """The stages that lead to a first digit by the least load, in order, that digit's last; none where there
        is no digit.
        """
        rests = self._rests
        chains = [_chain(rests, number) for number, step in enumerate(self.steps)
                  if step.places and not step.is_trial]
        return min(chains, key=lambda chain: (sum(self.steps[number].load for number in chain), chain), default=())

    @property
    def hinted(self) -> tuple[int, ...]:
        """The stages that hints tell: the opening chain or, where it is long, what leads to the dearest stage of
        it that few lead to.
        """
        whole, rests = self.opening_chain, self._rests
        if len(whole) <= _MOST_HINTED:
            return whole
        few = [chain for number in whole if len(chain := _chain(rests, number)) <= _FEW_HINTED]
        return max(few, key=lambda chain: self._dearness(chain[-1]))


def _names() -> Iterator[str]:
    """A to Z, then AA to ZZ."""
    for count in (1, 2):
        yield from map("".join, product(ascii_uppercase, repeat=count))


def _chain(rests: Sequence[set[int]], last: int) -> tuple[int, ...]:
    """The stages that lead to one, in order, and that one."""
    chain, waiting = {last}, [last]
    while waiting:
        more = rests[waiting.pop()] - chain
        chain |= more
        waiting += more
    return tuple(sorted(chain))
