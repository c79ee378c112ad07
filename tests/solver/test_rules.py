"""Every rule in the registry: its meaning and its lowering say the same, and both refuse and accept."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from itertools import permutations, product

import pytest

from cagework.solver.model import Cell, House, Pair, Puzzle, grid_cells, standard_houses
from cagework.solver.rule import Fact, Rule, RuleError
from cagework.solver.rules import RULES
from cagework.solver.search.exact import random_answer

Filling = Mapping[Cell, int]


def holds(fact: Fact, digits: Filling) -> bool:
    if isinstance(fact, House):
        return len({digits[cell] for cell in fact.cells}) == len(fact.cells)
    return bool(fact.allowed[digits[fact.first] - 1] >> digits[fact.second] - 1 & 1)


def latin_squares() -> Iterator[Filling]:
    """All 576 fillings of a 4 x 4 grid whose rows and columns hold each digit once."""
    for rows in product(permutations(range(1, 5)), repeat=4):
        if all(len(set(column)) == 4 for column in zip(*rows, strict=True)):
            yield dict(zip(grid_cells(4), [digit for row in rows for digit in row], strict=True))


def sampled(rule: Rule) -> Iterator[Filling]:
    """Grids made for the rule, made without it, and with two cells of one row exchanged."""
    rng = random.Random(5)
    size = rule.size
    plain = standard_houses(size)
    facts = rule.facts()
    ruled = Puzzle(size, (*plain, *(fact for fact in facts if isinstance(fact, House))), (),
                   pairs=tuple(fact for fact in facts if isinstance(fact, Pair)))
    for plan in [ruled, Puzzle(size, plain, ())] * 6:
        answer = random_answer(plan, rng)
        assert answer is not None
        digits = dict(zip(grid_cells(size), answer.digits, strict=True))
        yield digits
        one, two = rng.sample([cell for cell in digits if cell.row == rng.choice((3, 4, 5)) or cell.row == 2], 2)
        yield {**digits, one: digits[two], two: digits[one]}


def read(name: str, size: int) -> Rule | None:
    try:
        return RULES[name].read(size, None)
    except RuleError:
        return None


@pytest.mark.parametrize("name", RULES)
def test_meaning_and_lowering_agree(name: str) -> None:
    verdicts = set()
    rule = next(rule for size in (4, 6, 9) if (rule := read(name, size)))
    fillings = latin_squares() if rule.size == 4 else sampled(rule)
    facts = rule.facts()
    for digits in fillings:
        allowed = rule.allows(digits)
        assert allowed == all(holds(fact, digits) for fact in facts)
        verdicts.add(allowed)
    assert verdicts == {True, False}


@pytest.mark.parametrize("name", RULES)
def test_every_rule_has_a_sentence_for_every_size(name: str) -> None:
    sentence = RULES[name].sentence.format(size=9)
    assert sentence.endswith(".")
    assert "{" not in sentence


@pytest.mark.parametrize("name", RULES)
def test_a_value_is_refused_where_none_is_taken(name: str) -> None:
    with pytest.raises(RuleError):
        RULES[name].read(9, ["r1c1"])
