"""Our verdicts beside those of two engines that share nothing with us, on puzzles of every size and kind."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from types import ModuleType

import pytest

from cagework.solver.editing.compose import Recipe, compose, irregular_regions, tile
from cagework.solver.model import (
    Answer,
    Cage,
    Cell,
    Given,
    House,
    HouseKind,
    Pair,
    Puzzle,
    grid_cells,
    standard_houses,
)
from cagework.solver.rule import Named, with_facts
from cagework.solver.rules import RULES
from cagework.solver.search.exact import Outcome, Verdict, random_answer, solve

COUNTS = {4: 100, 6: 120, 8: 20, 9: 30, 10: 9, 12: 8, 16: 4}
"""How many puzzles of each size; with the composed ones below more than three hundred in all."""


def drawn(seed: int, size: int) -> Puzzle:
    """A random puzzle made without asking any solver whether it is sound.

    Some cells lose their cage, some cages their total; some puzzles get irregular regions, an extra house
    shorter or as long as a row, givens, relations between neighbours; every third gets a fact that may be wrong.
    """
    rng = random.Random(f"{size} {seed}")
    regions = irregular_regions(size, rng) if rng.random() < 0.3 else None
    houses = standard_houses(size, regions)
    plan = Puzzle(size, houses, ())
    answer = random_answer(plan, rng, nodes=400)
    if answer is None:
        houses = standard_houses(size)
        answer = random_answer(Puzzle(size, houses, ()), rng)
    assert answer is not None
    groups = None
    while groups is None:
        groups = tile(answer, Recipe(size=size, lone=True, dominoes=1), rng)
    cages = [Cage(cells, sum(map(answer.at, cells))) for cells in groups]
    if rng.random() < 0.5:
        cages = [cage for cage in cages if rng.random() < (0.95 if size < 16 else 0.6)]
        cages = [replace(cage, total=None) if rng.random() < 0.05 else cage for cage in cages]
    # The larger the grid, the more digits are given, so that every engine decides in a moment.
    share = rng.choice({10: (0.05, 0.2), 12: (0.1, 0.25), 16: (0.2, 0.3)}.get(size, (0, 0.04, 0.12)))
    givens = [Given(cell, answer.at(cell)) for cell in grid_cells(size) if rng.random() < share]
    if rng.random() < 0.3:
        houses = (*houses, extra_house(answer, rng))
    pairs = relations(answer, rng) if rng.random() < 0.3 else ()
    puzzle = Puzzle(size, houses, tuple(cages), tuple(givens), pairs)
    return flawed(puzzle, rng) if seed % 3 == 0 else puzzle


def extra_house(answer: Answer, rng: random.Random) -> House:
    """Up to `size` cells that differ in the answer, from anywhere."""
    kept: dict[int, Cell] = {}
    for cell in sorted(grid_cells(answer.columns), key=lambda _: rng.random()):
        kept.setdefault(answer.at(cell), cell)
    return House("stray", HouseKind.EXTRA, tuple(sorted(list(kept.values())[: rng.randint(2, answer.columns)])))


def relations(answer: Answer, rng: random.Random) -> tuple[Pair, ...]:
    """A few relations that the answer obeys: less, different, not consecutive."""
    found, digits = [], range(1, answer.columns + 1)
    for cell in grid_cells(answer.columns):
        beside = Cell(cell.row, cell.col % answer.columns + 1)
        low, high = sorted((cell, beside), key=answer.at)
        if rng.random() < 0.08 and low != high:
            found.append(Pair.of(low, high, digits, lambda x, y: x < y))
        elif rng.random() < 0.04:
            found.append(Pair.of(cell, beside, digits, lambda x, y: x != y))
        elif rng.random() < 0.08 and abs(answer.at(cell) - answer.at(beside)) > 1:
            found.append(Pair.of(cell, beside, digits, lambda x, y: abs(x - y) > 1))
    return tuple(found)


def flawed(puzzle: Puzzle, rng: random.Random) -> Puzzle:
    """One total moved by one, or two so that the sum of all stays, or a digit given at random."""
    cages = list(puzzle.cages)
    chosen = [index for index, cage in enumerate(cages) if cage.total is not None]
    which = rng.random()
    if len(chosen) > 1 and which < 0.7:
        one, two = rng.sample(chosen, 2)
        cages[one] = replace(cages[one], total=(cages[one].total or 0) + 1)
        if which < 0.5:
            cages[two] = replace(cages[two], total=(cages[two].total or 0) - 1)
        return replace(puzzle, cages=tuple(cages))
    given = Given(rng.choice(puzzle.cells), rng.randint(1, puzzle.size))
    return replace(puzzle, givens=(*puzzle.givens, given))


def assert_same(puzzle: Puzzle, ours: Verdict, theirs: Verdict, sat: ModuleType) -> None:
    assert ours.outcome is theirs.outcome, puzzle
    if ours.outcome is Outcome.SOUND:
        assert ours.answer == theirs.answer
        assert ours.second is None
    elif ours.outcome is Outcome.TWO_ANSWERS:
        assert ours.answer != ours.second
        assert sat.accepts(puzzle, ours.answer)
        assert sat.accepts(puzzle, ours.second)
    else:
        assert ours.answer is ours.second is None


@pytest.mark.parametrize("size", COUNTS)
def test_drawn_puzzles(size: int, cpsat: ModuleType, sat: ModuleType) -> None:
    outcomes: Counter[Outcome] = Counter()
    for seed in range(COUNTS[size]):
        puzzle = drawn(seed, size)
        ours = solve(puzzle)
        assert_same(puzzle, ours, sat.verdict(puzzle), sat)
        # CP-SAT takes long over large open grids; there it decides every other puzzle.
        if size < 10 or seed % 2 == 0:
            assert_same(puzzle, ours, cpsat.verdict(puzzle), sat)
        outcomes[ours.outcome] += 1
    assert set(outcomes) >= {Outcome.SOUND, Outcome.NO_ANSWER, Outcome.TWO_ANSWERS}, outcomes


KINDS = {
    **{f"size {size}": Recipe(size=size) for size in (4, 6, 8, 9, 10)},
    "irregular 6": Recipe(size=6, irregular=True),
    "irregular 9": Recipe(irregular=True),
    "lone cells": Recipe(sizes={1: 1.0, 2: 2.0, 3: 2.0}, lone=True, dominoes=1),
    "large cages": Recipe(size=6, sizes={4: 1.0, 5: 2.0, 6: 2.0}),
    **{f"size {size} without boxes": Recipe(size=size, boxless=True) for size in (5, 6, 7)},
    **{name: Recipe(size=9 if name == "windows" else 6, rules=(name,)) for name in RULES},
}


def stated(names: tuple[str, ...], size: int) -> tuple[tuple[str, Named | None], ...]:
    """Rules as CP-SAT is told them, each on its example."""
    return tuple((name, RULES[name].example(size)) for name in names)


@pytest.mark.parametrize("kind", KINDS)
def test_composed_puzzles_are_sound(kind: str, cpsat: ModuleType, sat: ModuleType) -> None:
    """What the composer calls sound is sound, and an extra rule means what CP-SAT is told it means."""
    recipe = KINDS[kind]
    for seed in range(2):
        composed = compose(seed, recipe)
        rules = stated(recipe.rules, recipe.size)
        for theirs in (cpsat.verdict(composed.puzzle, rules), sat.verdict(composed.puzzle)):
            assert theirs.outcome is Outcome.SOUND
            assert theirs.answer == composed.answer


def test_every_rule_is_stated_to_the_oracle(cpsat: ModuleType) -> None:
    assert set(cpsat.RULE_MODELS) == set(RULES)


@pytest.mark.parametrize("name", RULES)
def test_rules_beside_their_own_statement(name: str, cpsat: ModuleType, sat: ModuleType) -> None:
    """Digits given at random from grids that keep the rule and grids that do not: the verdicts agree."""
    outcomes = set()
    plain = Puzzle(9, standard_houses(9), ())
    ruled = with_facts(plain, RULES[name].exemplar(9).facts())
    rng = random.Random(name)
    for plan in (ruled, plain):
        for share in (0.3, 0.5, 0.9):
            answer = random_answer(plan, rng)
            assert answer is not None
            givens = tuple(Given(cell, answer.at(cell)) for cell in grid_cells(9) if rng.random() < share)
            puzzle = replace(ruled, givens=givens)
            ours = solve(puzzle)
            assert_same(puzzle, ours, cpsat.verdict(puzzle, stated((name,), 9)), sat)
            outcomes.add(ours.outcome)
    assert Outcome.NO_ANSWER in outcomes
    assert len(outcomes) > 1
