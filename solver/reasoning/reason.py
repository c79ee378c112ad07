"""Puzzle -> path: the steps a person could take, cheapest first, near the last one, and none for nothing.

It works from what the puzzle states alone: it knows neither the answer nor the exact search.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from types import MappingProxyType

from cagework.solver.model import Answer, Puzzle
from cagework.solver.reasoning.agenda import Agenda
from cagework.solver.reasoning.choose import Chooser
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.glance import SEEN, Grid
from cagework.solver.reasoning.ideas import Teller, united
from cagework.solver.reasoning.ledger import Ledger
from cagework.solver.reasoning.prune import Pruner, Trail
from cagework.solver.reasoning.retrace import Retracer
from cagework.solver.reasoning.sharpen import sharpened
from cagework.solver.reasoning.state import State, Work, WorkSpentError
from cagework.solver.reasoning.technique import MOST_CASES, MOST_LINKS, Technique
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.recheck import obeys
from cagework.solver.step import Step


class PathOutcome(StrEnum):
    """How a path ends."""

    SOLVED = "solved"
    STUCK = "stuck"                # no technique finds anything more
    OUT_OF_BUDGET = "out-of-budget"
    NO_ANSWER = "no-answer"        # the puzzle contradicts itself


class Kept(StrEnum):
    """What of a walk is told."""

    WALKED = "walked"              # every step, in the order taken
    PRUNED = "pruned"              # those that something needs
    CHOSEN = "chosen"              # where it is solved those of the lightest way found


class Reach(StrEnum):
    """How far a path takes a person through a puzzle that does not contradict itself."""

    WHOLE = "whole"                # to the end, by steps that a reader can hold in mind
    TRIAL = "trial"                # to the end, but a cell has to be tried on the way
    STUCK = "stuck"
    OUT_OF_BUDGET = "out-of-budget"


_STRIKES = 1
"""What choosing may cost, in digits struck, for each look of the walk. Twice as much made paths a tenth dearer and
their load a fiftieth less."""


_FAR = 1_000
"""More than any two cells lie apart."""


_SHORTER = 6
"""Looking for shorter arguments may cost this part of the walk's looks."""


@dataclass(frozen=True, slots=True)
class Stage:
    """A step in its place on the path.

    `openings` counts the different conclusions that were to be had at the step's own cost when it was
    taken. `follows_from_last` tells whether it uses what the stage before brought about, `idea` numbers the
    thought it belongs to, from 0, and `printed` tells whether it rests on the printed puzzle and that thought
    alone.
    """

    step: Step
    openings: int
    follows_from_last: bool
    idea: int
    printed: bool


@dataclass(frozen=True, slots=True)
class Path:
    """A worked path from the printed puzzle as far as it goes.

    `answer` is the grid it fills, where it fills it all; `what_ifs` counts its suppositions and trials; `tried` is
    the number of steps taken before those that nothing needed were dropped.
    """

    puzzle: Puzzle
    stages: tuple[Stage, ...]
    outcome: PathOutcome
    answer: Answer | None
    tried: int

    def __repr__(self) -> str:
        return f"Path({self.puzzle!r}, {len(self.stages)} steps, {self.outcome})"

    @property
    def what_ifs(self) -> int:
        """The number of steps of last resort: those that suppose something, and trials."""
        return sum(TECHNIQUES[stage.step.technique].last_resort for stage in self.stages)

    @property
    def reach(self) -> Reach | None:
        """How far it goes; None where the puzzle contradicts itself."""
        if self.outcome is PathOutcome.SOLVED:
            return Reach.TRIAL if any(map(_is_beyond, self.stages)) else Reach.WHOLE
        return {PathOutcome.STUCK: Reach.STUCK, PathOutcome.OUT_OF_BUDGET: Reach.OUT_OF_BUDGET}.get(self.outcome)


def _is_beyond(stage: Stage) -> bool:
    """Whether a step is a trial, or asks a reader to hold more than one can."""
    step = stage.step
    return step.is_trial or step.load > (MOST_LINKS if step.parts else MOST_CASES)


def explain(
    puzzle: Puzzle, *, seconds: float | None = None, what_ifs: int | None = None,
    techniques: Mapping[str, Technique] = TECHNIQUES, kept: Kept = Kept.CHOSEN,
) -> Path:
    """Return the worked path of a puzzle.

    `seconds` bounds the work, which is counted and not timed (`Work`), and `what_ifs` the suppositions; either
    running out is OUT_OF_BUDGET and the path goes as far as it got. Less than the chosen is `kept` to compare.
    """
    return _Walk(puzzle, techniques, Work(seconds)).path(what_ifs, kept)


class _Walk:
    """One way through one puzzle."""

    def __init__(self, puzzle: Puzzle, techniques: Mapping[str, Technique], work: Work) -> None:
        """Put the givens in."""
        self.techniques = techniques
        self._has_simple = all(name in techniques for name, technique in TECHNIQUES.items() if technique.simple)
        self.frame, self.work = Frame(puzzle), work
        self.state = _start(self.frame, self.work)
        self.clash = 0 in self.state.candidates
        self.trail = Trail(self.state)
        self.openings: list[int] = []
        self.near: list[int] = []

    def path(self, what_ifs: int | None, kept: Kept) -> Path:
        """Walk until nothing more is found or a budget ends."""
        try:
            outcome = PathOutcome.NO_ANSWER if self.clash else self._walked(what_ifs)
        except WorkSpentError:
            outcome = PathOutcome.OUT_OF_BUDGET
        return self._trimmed(outcome, kept)

    def _walked(self, what_ifs: int | None) -> PathOutcome:
        """Take steps to the end. WorkSpentError where a search for one costs more than there is."""
        cheap = [technique for technique in self.techniques.values() if not technique.last_resort]
        scout = Agenda(self.state, cheap)
        supposed = 0
        while True:
            steps = scout.cheapest()
            self.state.is_settled = not steps and self._has_simple
            if not steps and not self._filled():
                if supposed == what_ifs:
                    return PathOutcome.OUT_OF_BUDGET
                steps = self._supposed()
                supposed += 1
            ending = self._take(steps) if steps else self._ending()
            if ending is not None:
                return ending

    def _supposed(self) -> list[Step]:
        """A step of the last resorts: the first that finds any, cheapest first."""
        last = [technique for technique in self.techniques.values() if technique.last_resort]
        for technique in sorted(last, key=lambda technique: technique.cost):
            step = next(technique.find(self.state, 0), None)
            if step is not None:
                return [step]
        return []

    def _ending(self) -> PathOutcome:
        """What it means that nothing more is found. A full grid may still break a cage that no step looked at."""
        if not self._filled():
            return PathOutcome.STUCK
        return PathOutcome.SOLVED if obeys(self.state.frame.source, self._answer()) else PathOutcome.NO_ANSWER

    def _filled(self) -> bool:
        return self.state.placed == (1 << len(self.state.candidates)) - 1

    def _take(self, steps: list[Step]) -> PathOutcome | None:
        """Take the cheapest step, of several the nearest to the last placement.

        NO_ANSWER where it leaves a cell nothing.
        """
        first = min(steps, key=lambda step: (step.cost, self._distance(step))) if len(steps) > 1 else steps[0]
        step = _up_to_date(first, self.state)
        self.openings.append(len({(step.places, step.removes) for step in steps}) if len(steps) > 1 else 1)
        before = len(self.state.log)
        self.trail.add(step)
        if step.places:
            self.near = [self.state.frame.index[cell] for cell, _ in step.places]
        if any(not self.state.candidates[cell] for cell, _ in self.state.log[before:]):
            return PathOutcome.NO_ANSWER
        return None

    def _distance(self, step: Step) -> int:
        """How far a step lies from the last placement: sharing a house or cage first, then by cells."""
        frame, least = self.frame, 2 * _FAR
        for last in self.near:
            (row, col), sees = frame.cells[last], frame.sees[last]
            for name, _ in step.places or step.removes:
                away = abs(row - name[0]) + abs(col - name[1])
                if not sees >> frame.index[name] & 1:
                    away += _FAR
                if away < least:
                    least = away
        return least

    def _trimmed(self, outcome: PathOutcome, what: Kept) -> Path:
        """The path, without the steps that no placement needs where it is solved."""
        trail = self.trail
        solved = outcome is PathOutcome.SOLVED
        board = _start(self.frame, self.work)
        kept = dict(enumerate(trail.steps))
        if what is not Kept.WALKED:
            goals = [number for number, step in kept.items() if step.places or not solved]
            kept = {number: self.techniques[step.technique].whole(self.frame, step)
                    for number, step in Pruner(trail, goals, self.techniques).run().items()}
        chosen = [(step, number) for number, step in kept.items()]
        if solved and what is Kept.CHOSEN:
            chosen = self._chosen(kept, board.candidates) or chosen
            now = board.copy()
            now.work = Work()
            chosen = sharpened(chosen, now, self.techniques, self.work.spent // _SHORTER)
        steps, openings = [step for step, _ in chosen], [self.openings[number] for _, number in chosen]
        teller = Teller(self.frame, board.candidates[:], steps, self.techniques)
        ledger = Ledger(self.frame)
        stages: list[Stage] = []
        ideas: set[int] = set()
        order = teller.tell(as_given=outcome is PathOutcome.NO_ANSWER or what is Kept.WALKED)
        for one, told in united(order, steps, self.techniques, self.frame):
            if one.removes and not one.places and not _up_to_date(one, board).removes:
                continue            # one before it said as much
            ledger.at = len(stages)
            step, more = self._as_it_stands(one, board, ledger)
            board.apply(step)
            ideas.add(told.idea)
            stages.append(Stage(step, openings[told.number], told.follows, len(ideas) - 1,
                                told.printed and not more))
        answer = self._answer() if solved else None
        return Path(self.state.frame.source, tuple(stages), outcome, answer, len(trail.steps))

    def _chosen(self, kept: Mapping[int, Step], start: Sequence[int]) -> list[tuple[Step, int]]:
        """The steps that the lightest way found needs from what cells hold at the start, in order, each with the
        number of the one it was; none where none was found.
        """
        index, answer = self.frame.index, self.state.candidates
        chooser = Chooser(self.frame, kept, self.techniques, _STRIKES * self.work.spent)
        events = chooser.events(Grid(self.frame)) if self.techniques.keys() >= SEEN else None
        if events is None:
            return []
        loads = {lead.number: lead.load for lead in chooser.leads}
        was = {index[cell]: number for number, step in kept.items() for cell, _ in step.places}
        retraced = Retracer(self.frame, kept, loads, events, start, answer, self.techniques).run()
        return [(step, event if event >= 0 else was[~event]) for step, event in retraced]

    def _as_it_stands(self, step: Step, board: State, ledger: Ledger) -> tuple[Step, bool]:
        """The step as its turn comes: with its load, what is still to be struck, no sum told twice; and whether
        its words rest on more than it did.
        """
        step = ledger.by_what_was_told(step)
        step = self.techniques[step.technique].by_notes(self.frame, step, board.candidates)
        load = self.techniques[step.technique].load(self.frame, board.candidates, step)
        if step.is_trial:       # on from what the steps that are left have found
            known = board.missing((1 << len(board.candidates)) - 1, self.frame.full)
            step = replace(step, cites=replace(step.cites, eliminated=known))
        said = _retold(_up_to_date(step, board), board, ledger, self.techniques)
        told = self.techniques[step.technique].as_told(self.frame, said, board.candidates)
        return told if told.load == load else replace(told, load=load), told.cites != said.cites

    def _answer(self) -> Answer:
        """The grid as filled."""
        source = self.frame.source
        return source.answer([source.least - 1 + mask.bit_length() for mask in self.state.candidates])


def _up_to_date(step: Step, state: State) -> Step:
    """The step with only the removals that are still to be made."""
    if not step.removes:
        return step
    candidates, index = state.candidates, state.frame.index
    removes = tuple([(cell, left) for cell, mask in step.removes if (left := mask & candidates[index[cell]])])
    return step if removes == step.removes else replace(step, removes=removes)


def _start(frame: Frame, work: Work) -> State:
    """The printed puzzle."""
    state = State(frame, work)
    for given in frame.puzzle.givens:
        state.place(frame.index[given.cell], 1 << given.digit - 1)
    return state


def told_apart(
    path: Path, numbers: Iterable[int], alone: Mapping[int, Iterable[Step]] = MappingProxyType({}),
) -> Mapping[int, Step]:
    """Return stages of a path by number, as they are told where no others are: each sum in full the first time.
    Those told `alone`, each right after some steps, tell nothing that another may go by.
    """
    wanted = set(numbers)
    frame = Frame(path.puzzle)
    board, ledger = _start(frame, Work()), Ledger(frame)
    told: dict[int, Step] = {}
    for number, stage in enumerate(path.stages[:max(wanted, default=-1) + 1]):
        ledger.at = number
        for behind in alone.get(number, ()):
            board.apply(behind)
        if number in wanted:
            book = Ledger(frame, ledger) if number in alone else ledger
            told[number] = _retold(stage.step, board, book, TECHNIQUES)
        board.apply(stage.step)
    return told


def _retold(step: Step, board: State, ledger: Ledger, techniques: Mapping[str, Technique]) -> Step:
    """The step in the words that fit what is known, and what was told; so each part of a what-if."""
    technique, masks = techniques[step.technique], board.candidates
    step = ledger.tell(technique.retell(board.frame, step, masks), technique.sentences, masks)
    if not step.parts:
        return step
    below, inner = board.copy(), Ledger(board.frame, ledger)
    if not step.parts[0].supposes:
        ((cell, bit),) = step.removes
        below.place(board.frame.index[cell], bit)
    parts = []
    for part in step.parts:
        if part.supposes:
            ledger.keep(inner, masks)
            below, inner = board.copy(), Ledger(board.frame, ledger)
        parts.append(_retold(part, below, inner, techniques))
        below.apply(part)
    ledger.keep(inner, masks)       # but not what the supposition alone has brought
    return replace(step, parts=tuple(parts))
