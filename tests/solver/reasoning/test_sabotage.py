"""Broken techniques on purpose: the proof, which shares no code with them, refuses what they say."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

import pytest

from cagework.solver.editing.compose import Composed
from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning import balancing, filling, state
from cagework.solver.reasoning.reason import Path, PathOutcome, explain
from cagework.solver.reasoning.state import Balance, State
from cagework.solver.reasoning.techniques import TECHNIQUES, locked
from cagework.solver.step import Cites, Step


def refused(here: Any, technique: str) -> list[Step]:
    prover = Prover(here.puzzle)
    return [step for step in here.found(technique) if not prover.prove(here.state.candidates, step)]


def accepted(here: Any, technique: str) -> bool:
    return bool(here.found(technique)) and not refused(here, technique)


def test_outies_taken_as_distinct(position: Callable[..., Any], monkeypatch: pytest.MonkeyPatch) -> None:
    cages = ["20: r5c3-r5c6", "12: r4c1 r5c1 r5c2", "17: r6c9 r5c7-r5c9"]
    assert accepted(position(cages), "outies")

    def distinct(balance: Balance, groups: tuple[int, ...]) -> list[tuple[int, tuple[int, ...]]]:
        return [(sign, part) for sign, part in ((1, balance.plus), (-1, balance.minus)) if part]

    monkeypatch.setattr(balancing, "balance_parts", distinct)
    assert refused(position(cages), "outies")


def test_a_cage_dropped_from_a_45_sum(position: Callable[..., Any], monkeypatch: pytest.MonkeyPatch) -> None:
    cages = ["20: r1c1-r1c4", "17: r1c5-r1c7", "1: r1c8"]
    assert accepted(position(cages), "innie")
    honest = State.balance

    def careless(self: State, number: int) -> Balance:
        found = honest(self, number)
        last = self.frame.totals[found.taken[-1]] or 0
        return replace(found, taken=found.taken[:-1], total=found.total + last) if last == 1 else found

    monkeypatch.setattr(State, "balance", careless)
    assert refused(position(cages), "innie")


def test_a_total_misread(position: Callable[..., Any], monkeypatch: pytest.MonkeyPatch) -> None:
    cages = ["20: r1c1-r1c4", "17: r1c5-r1c8"]
    honest = State.balance
    monkeypatch.setattr(
        State, "balance", lambda self, n: replace(honest(self, n), total=honest(self, n).total - 1))
    assert refused(position(cages), "innie")


def test_cages_that_may_repeat_a_digit(position: Callable[..., Any], monkeypatch: pytest.MonkeyPatch) -> None:
    """10 in two with 5 and 5: nothing is impossible any more, but 9 and 9 are in 18."""
    assert accepted(position(["10: r1c1 r1c2"]), "impossible_digit")

    def too_few(masks: tuple[int, ...], total: int) -> tuple[tuple[int, ...], tuple[int, ...]]:
        kept, left = filling.fits(masks, total)
        return tuple(mask & ~left[0] for mask in kept), left[1:]

    monkeypatch.setattr(state, "fits", too_few)
    assert refused(position(["10: r1c1 r1c2"]), "impossible_digit")


def test_a_digit_locked_that_is_not(position: Callable[..., Any], monkeypatch: pytest.MonkeyPatch) -> None:
    lack = ["r1c5-r1c9 = 5"]
    assert refused(position(lack=lack), "locked") == []

    def careless(self: locked.Locked, here: State, place: int) -> Iterable[Step]:
        if place == 0:
            frame = here.frame
            inside = frame.house_sets[0]
            eliminated = here.missing(inside, 1 << 4)
            box = next(n for n, house in enumerate(frame.puzzle.houses) if house.name == "box 1")
            cites = Cites(eliminated, (frame.puzzle.houses[0], frame.puzzle.houses[box]))
            yield self.step(here, "removes", cites, {}, removes=((frame.index[frame.cells[9]], 1 << 4),))

    monkeypatch.setattr(locked.Locked, "find", careless)
    assert refused(position(lack=lack), "locked")


def test_a_missing_digit_that_is_not_missing(position: Callable[..., Any]) -> None:
    """The board is asked too: a step may not claim that a cell lacks what it still has."""
    here = position(lack=["r1c1-r1c8 = 7"])
    (step,) = here.found("hidden_single")
    prover = Prover(here.puzzle)
    assert prover.prove(here.state.candidates, step)
    assert not prover.prove(position().state.candidates, step)


def test_a_cage_the_puzzle_does_not_have(position: Callable[..., Any]) -> None:
    here = position(["17: r1c1 r1c2"])
    (step,) = here.found("fixed_combination")
    other = position(["16: r1c1 r1c2"])
    assert not Prover(other.puzzle).prove(other.state.candidates, step)


@pytest.fixture(scope="module")
def path(corpus: list[Composed]) -> Path:
    """A solved 9 x 9 path."""
    return next(p for p in map(explain, (c.puzzle for c in corpus if c.puzzle.size == 9))
                if p.outcome is PathOutcome.SOLVED)


def test_no_step_may_stand_before_what_it_rests_on(path: Path) -> None:
    steps = [stage.step for stage in path.stages]
    prover = Prover(path.puzzle)
    assert prover.first_unproved(steps) is None
    late = [i for i, stage in enumerate(path.stages) if stage.follows_from_last]
    assert len(late) > 20
    for i in late[::7]:
        swapped = [*steps[:i - 1], steps[i], steps[i - 1], *steps[i + 1:]]
        assert prover.first_unproved(swapped) is steps[i]


def test_every_step_that_is_left_is_needed(path: Path) -> None:
    """Nothing can be dropped from a trimmed path: some later step is then unproved."""
    steps = [stage.step for stage in path.stages]
    prover = Prover(path.puzzle)
    removing = [i for i, step in enumerate(steps) if not step.places]
    assert removing
    for i in removing[::5]:
        assert prover.first_unproved(steps[:i] + steps[i + 1:]) is not None


def test_a_what_if_without_its_argument_is_refused(position: Callable[..., Any]) -> None:
    here = position(hold=["r1c1 = 12", "r1c2 = 13", "r2c1 = 13"])
    (step,) = here.found("what_if")
    prover = Prover(here.puzzle)
    assert prover.prove(here.state.candidates, step)
    for i in range(len(step.parts)):
        assert not prover.prove(here.state.candidates, replace(step, parts=step.parts[:i] + step.parts[i + 1:]))
    assert max(TECHNIQUES, key=lambda name: TECHNIQUES[name].cost) == "trial"
