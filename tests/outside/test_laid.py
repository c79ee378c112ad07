"""Rules laid over a random answer: CP-SAT, told each rule by name, finds that answer and no other."""

from __future__ import annotations

from itertools import combinations
from types import ModuleType

import pytest

from cagework.solver.editing.compose import Recipe, compose
from cagework.solver.editing.laying import HOUSES, usual_count
from cagework.solver.model import HouseKind
from cagework.solver.rule import Takes
from cagework.solver.rules import RULES
from cagework.solver.search.exact import Outcome

ON_CELLS = [name for name, rule in RULES.items() if rule.takes is not Takes.NOTHING]


@pytest.mark.parametrize("name", ON_CELLS)
def test_a_rule_laid_over_an_answer_leaves_it_alone(name: str, cpsat: ModuleType) -> None:
    made = compose(2, Recipe(size=6, laid=((name, usual_count(name, 6)),)))
    assert made.laid and {rule for rule, _ in made.laid} == {name}
    verdict = cpsat.verdict(made.puzzle, made.laid)
    assert verdict.outcome is Outcome.SOUND and verdict.answer == made.answer


def test_rules_together_and_one_all_over_the_grid(cpsat: ModuleType) -> None:
    recipe = Recipe(size=6, rules=("king",), laid=(("rising", 2), ("greater", 4), ("greater_cage", 1)))
    made = compose(1, recipe)
    told = (*made.laid, ("king", None))
    assert [rule for rule, _ in made.laid] == ["rising"] * 2 + ["greater"] * 4 + ["greater_cage"]
    verdict = cpsat.verdict(made.puzzle, told)
    assert verdict.outcome is Outcome.SOUND and verdict.answer == made.answer
    assert any(cage.total is None for cage in made.puzzle.cages), "a sign stands for what a sum would say"


def test_what_is_laid_lies_apart() -> None:
    recipe = Recipe(laid=(
        (HOUSES, 2), ("rising", 4), ("sum_line", 2), ("odd", 6), ("consecutive", 8), ("greater", 8)))
    for seed in range(4):
        laid = compose(seed, recipe).laid
        cells = [cell for name, named in laid if name not in ("consecutive", "greater") for cell in named.cells]
        assert len(set(cells)) == len(cells)
        sides = [frozenset(named.cells) for name, named in laid if name in ("consecutive", "greater")]
        assert len(set(sides)) == len(sides)


def test_extra_houses_hold_each_digit_and_are_no_house_there_is(cpsat: ModuleType) -> None:
    made = compose(1, Recipe(size=6, laid=((HOUSES, 2),)))
    extra = [house for house in made.puzzle.houses if house.kind is HouseKind.EXTRA]
    assert len(extra) == len(made.laid) == 2
    for house in extra:
        assert sorted(map(made.answer.at, house.cells)) == [1, 2, 3, 4, 5, 6]
        assert all(len(set(house.cells) & set(other.cells)) <= 4 for other in made.puzzle.houses if other != house)
    assert all(not set(one.cells) & set(other.cells) for one, other in combinations(extra, 2))
    verdict = cpsat.verdict(made.puzzle)
    assert verdict.outcome is Outcome.SOUND and verdict.answer == made.answer
