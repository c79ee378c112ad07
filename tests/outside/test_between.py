"""Puzzles with lines whose digits lie between those at their ends: verdicts and steps beside CP-SAT."""

from __future__ import annotations

import random
from dataclasses import replace
from types import ModuleType

from cagework.solver.editing.compose import Recipe, compose, harden
from cagework.solver.editing.laying import holding
from cagework.solver.model import Puzzle, standard_houses
from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.reason import Reach, explain
from cagework.solver.rule import Named
from cagework.solver.rules import RULES
from cagework.solver.search.exact import Outcome, random_answer, solve


def drawn_lines(size: int, rng: random.Random) -> tuple[Named, ...]:
    """Up to four lines apart from each other that hold in some grid."""
    plain, lines = Puzzle(size, standard_houses(size), ()), list[Named]()
    answer = random_answer(plain, rng)
    assert answer is not None
    for named in holding("between", plain, answer, rng, range(3, 7)):
        if all(set(named.cells).isdisjoint(line.cells) for line in lines):
            lines.append(named)
    return tuple(lines[:4])


def test_they_are_decided_and_told_as_cp_sat_has_it(
    cpsat: ModuleType, step_oracle: ModuleType,
) -> None:
    """Each step by a line follows from what it cites, and most puzzles hang on their lines."""
    keys, hanging = set(), 0
    for seed in range(12):
        named = drawn_lines(6, random.Random(seed))
        rules = tuple([RULES["between"].read(6, one) for one in named])
        made = harden(compose(seed, Recipe(size=6, rules=rules)), seed,
                      lambda puzzle: solve(puzzle, nodes=300).outcome is Outcome.SOUND)
        plain, path = replace(made.puzzle, betweens=()), explain(made.puzzle)
        theirs = cpsat.verdict(plain, tuple([("between", one) for one in named]))
        assert theirs.outcome is Outcome.SOUND and theirs.answer == path.answer == made.answer
        assert path.reach is Reach.WHOLE
        assert Prover(made.puzzle).first_unproved(stage.step for stage in path.stages) is None
        steps = [stage.step for stage in path.stages if stage.step.technique == "between"]
        assert all(step_oracle.follows(6, step) for step in steps)
        keys |= {step.key for step in steps}
        ours = solve(plain).outcome
        assert ours is cpsat.verdict(plain).outcome
        hanging += ours is Outcome.TWO_ANSWERS
    assert keys >= {"between", "held", "apart_held"} and hanging > 6
