"""The sample puzzles with rules of their own: sound by CP-SAT from the rules alone, and only by them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from types import ModuleType

import pytest

from cagework.solver.model import HouseKind
from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.reason import Reach, explain
from cagework.solver.rule import RuleOnCells
from cagework.solver.rules import RULES
from cagework.solver.search.exact import Outcome, solve
from cagework.typeset.manifest.load import load_book
from cagework.typeset.manifest.puzzle import PuzzleReading

BOOK = load_book(Path(__file__).parents[2] / "books" / "clear-skies" / "book.yaml")
NAMES = {rule: name for name, rule in RULES.items()}


CAGED = [one for one in BOOK.puzzles if one.entry and one.entry.puzzle.shape is None]


@pytest.mark.parametrize("reading", CAGED, ids=lambda reading: reading.id)
def test_a_sample_hangs_on_its_rule_and_is_told_by_reasoning(reading: PuzzleReading, cpsat: ModuleType) -> None:
    assert reading.entry is not None
    puzzle, rules = reading.entry.puzzle, reading.entry.rules
    stated = tuple((NAMES[type(rule)], rule.named if isinstance(rule, RuleOnCells) else None)
                   for rule in rules if type(rule) in NAMES)
    ours, theirs = solve(puzzle), cpsat.verdict(puzzle, stated)
    assert ours.outcome is theirs.outcome is Outcome.SOUND and ours.answer == theirs.answer
    if rules:
        usual = tuple([one for one in puzzle.houses if one.kind is not HouseKind.EXTRA])
        without = replace(puzzle, houses=usual, pairs=(), sums=(), domains=(), betweens=(), least=1)
    else:
        assert not puzzle.regions
        without = replace(puzzle, houses=tuple(one for one in puzzle.houses if one.kind is not HouseKind.ROW))
    outcomes = {solve(without).outcome, cpsat.verdict(without).outcome}
    # Where digits run from 0, sums are too small for others.
    assert outcomes == {Outcome.TWO_ANSWERS if puzzle.least else Outcome.NO_ANSWER}
    found = explain(puzzle)
    assert found.reach is Reach.WHOLE and found.answer == ours.answer
    assert Prover(puzzle).first_unproved(stage.step for stage in found.stages) is None
    if rules and not puzzle.domains and puzzle.least:
        cited = [stage.step.cites for stage in found.stages]
        assert any(one.ruled or set(one.houses) - set(without.houses) for one in cited)


def test_every_rule_on_cells_and_on_cages_has_a_sample() -> None:
    shown = {NAMES.get(type(rule)) for one in BOOK.puzzles if one.entry for rule in one.entry.rules}
    assert shown >= {name for name, rule in RULES.items() if issubclass(rule, RuleOnCells)} | {"king"}
