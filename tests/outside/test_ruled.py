"""Puzzles with several rules at once, on cells of their own: CP-SAT and the prover agree with what we say of each.

`tests/bench/rules.py` draws as many as it is asked for, larger ones among them.
"""

from __future__ import annotations

from collections import Counter
from types import ModuleType

SIZES = 4, 5, 6, 6, 7
SEEDS = range(1000, 1040)


def test_verdicts_and_steps_hold(ruled: ModuleType, cpsat: ModuleType) -> None:
    seen: Counter[str] = Counter()
    for seed in SEEDS:
        seen += ruled.held(seed, cpsat.verdict, SIZES) or Counter()
    assert {"sound", "two-answers", "no-answer", "a group", "without cages"} <= {key for key in seen if seen[key]}
    assert seen["steps by a rule"] > 50 and not seen["undecided"]
    assert {name for name in seen if name in cpsat.RULE_MODELS} >= set(ruled.ON_CELLS), "each was drawn"


def test_an_engine_that_is_not_told_of_rules_disagrees(ruled: ModuleType, cpsat: ModuleType) -> None:
    unlike, some = 0, SEEDS[:12]
    for seed in some:
        try:
            ruled.held(seed, lambda puzzle, _: cpsat.verdict(puzzle), SIZES)
        except AssertionError:
            unlike += 1
    assert unlike > len(some) / 2


def test_what_is_drawn_holds_in_its_answer(ruled: ModuleType) -> None:
    """Or the givens that mend a puzzle would not leave one answer."""
    for seed in SEEDS:
        if found := ruled.drawn(seed, SIZES):
            made, answer = found
            digits = dict(zip(made.plain.cells, answer.digits, strict=True))
            size, least = answer.columns, made.plain.least
            assert all(ruled.RULES[name].of(size, named, least).allows(digits) for name, named in made.rules)
