"""Narrowing against the plain meaning of each deduction, and against answers that it must never lose."""

from __future__ import annotations

import functools
import random
import sys
from collections.abc import Iterator, Sequence
from dataclasses import replace

import pytest

from cagework.solver import support
from cagework.solver.editing.compose import Composed, Recipe, compose
from cagework.solver.model import BOXES, Cage, Cell, HouseKind, Sum, standard_houses
from cagework.solver.recheck import obeys
from cagework.solver.rules import RULES
from cagework.solver.search import barring
from cagework.solver.search.exact import Outcome, solve
from cagework.solver.search.fields import fields
from cagework.solver.search.ground import Ground, ground, locked, singles
from cagework.solver.search.kernel import lower, stated, with_pairs, with_remainders
from cagework.solver.search.propagate import propagate

SIZES = sorted(BOXES)


def bare(size: int) -> Ground:
    return ground(size, standard_houses(size), ())


def houses(size: int, *kinds: HouseKind) -> list[list[int]]:
    """The cells of the houses of these kinds, as numbers."""
    return [[(row - 1) * size + col - 1 for row, col in house.cells]
            for house in standard_houses(size) if house.kind in kinds]


def around(size: int, digits: Sequence[int], rng: random.Random, share: float) -> list[int]:
    """Masks that hold a grid's digits and, of all others, about this share."""
    return [1 << digit - 1 | sum(1 << other for other in range(size) if rng.random() < share) for digit in digits]


def grids(size: int, times: int) -> Iterator[tuple[list[int], random.Random]]:
    """Grids with usual boxes, as digits: rows of one pattern, relabelled and mixed within their bands."""
    high, wide = BOXES[size]
    for seed in range(times):
        rng = random.Random(seed)
        names = rng.sample(range(1, size + 1), size)
        bands = rng.sample(range(wide), wide)
        rows = [band * high + row for band in bands for row in rng.sample(range(high), high)]
        yield [names[(row % high * wide + row // high + col) % size] for row in rows for col in range(size)], rng


@pytest.mark.parametrize("size", SIZES)
def test_hidden_singles_of_all_houses_are_found_and_no_others(size: int) -> None:
    found = 0
    for digits, rng in grids(size, 12):
        masks = around(size, digits, rng, rng.choice((0.1, 0.25, 0.5)))
        expected = masks[:]
        for cells in houses(size, *HouseKind):
            for digit in range(size):
                places = [cell for cell in cells if masks[cell] >> digit & 1]
                if len(places) == 1:
                    expected[places[0]] = 1 << digit
        found += expected != masks
        assert fields(size).masks(singles(bare(size), fields(size).pack(masks))) == expected
    assert found


@pytest.mark.parametrize("size", SIZES)
def test_a_digit_without_a_place_and_two_digits_with_one_are_seen(size: int) -> None:
    """Every house in turn; with the house left out nothing is wrong."""
    shape = fields(size)
    for number, house in enumerate(standard_houses(size)):
        cells = [(row - 1) * size + col - 1 for row, col in house.cells]
        without = ground(size, tuple(h for h in standard_houses(size) if h != house), ())
        grid = shape.every & ~(shape.of(cells) & shape.low << number % size)
        two = shape.every & ~(shape.of(cells[1:]) & (shape.low | shape.low << size - 1))
        # In a grid that is otherwise open, houses that cross this one still have the digit elsewhere.
        assert sorted(shape.cells(~singles(bare(size), grid))) == sorted(cells)
        assert shape.cells(~singles(bare(size), two)) == cells[:1]
        assert singles(without, grid) >= 0
        assert singles(without, two) >= 0


@pytest.mark.parametrize("size", SIZES)
def test_locked_digits_leave_the_rest_of_the_line_or_box(size: int) -> None:
    """Locked candidates both ways, each by its definition, on the grid as it was."""
    found = 0
    for digits, rng in grids(size, 12):
        masks = around(size, digits, rng, rng.choice((0.1, 0.25, 0.5)))
        expected = masks[:]
        for line in houses(size, HouseKind.ROW, HouseKind.COLUMN):
            for box in houses(size, HouseKind.REGION):
                for one, other in ((line, box), (box, line)):
                    for digit in range(size):
                        places = [cell for cell in one if masks[cell] >> digit & 1]
                        if set(places) <= set(other):
                            for cell in set(other) - set(one):
                                expected[cell] &= ~(1 << digit)
        found += expected != masks
        assert fields(size).masks(locked(bare(size), fields(size).pack(masks))) == expected
    assert found


@pytest.mark.parametrize("kind", [HouseKind.ROW, HouseKind.COLUMN, HouseKind.REGION])
def test_a_house_that_is_not_there_locks_nothing(kind: HouseKind) -> None:
    """Of digit 1 in one row of one box: with the rows or the boxes gone, nothing follows from rows and boxes."""
    shape = fields(9)
    left = ground(9, tuple(house for house in standard_houses(9) if house.kind is not kind), ())
    grid = shape.every & ~(shape.of((9, 10, 11, 18, 19, 20)) & shape.low)
    narrowed = {*shape.cells(grid & ~locked(left, grid))}
    assert narrowed == ({*range(3, 9)} if kind is HouseKind.COLUMN else set())


def made(name: str) -> Composed:
    recipes = {"irregular": Recipe(irregular=True), "size 6": Recipe(size=6), "size 12": Recipe(size=12),
               "without boxes": Recipe(size=7, boxless=True),
               **{rule: Recipe(size=9 if rule in ("windows", "knight", "nonconsecutive") else 6, rules=(rule,))
                  for rule in RULES}}
    return compose(1, recipes[name])


@pytest.mark.parametrize("name", ["irregular", "size 6", "size 12", "without boxes", *RULES])
def test_no_digit_of_an_answer_is_lost(name: str) -> None:
    """From the answer's digits and some others, with all facts and with few; step by step as well as at once."""
    one = made(name)
    puzzle, answer = one.puzzle, one.answer
    assert obeys(puzzle, answer)
    facts = stated(puzzle)
    shape = facts.ground.fields
    digits = [digit - puzzle.least + 1 for digit in answer.digits]
    right = shape.pack([1 << digit - 1 for digit in digits])
    narrowed = 0
    for seed in range(6):
        rng = random.Random(seed)
        grid = facts.grid & shape.pack(around(puzzle.size, digits, rng, rng.choice((0.1, 0.4, 0.8))))
        for kernel in (facts, with_remainders(facts, grid, 2), lower(puzzle)):
            left = propagate(kernel, grid, None)
            assert left & right == right
            narrowed += left != grid
            further = left & shape.pack(around(puzzle.size, digits, rng, 0.6))
            assert propagate(kernel, further, left) & right == right
    assert narrowed


@pytest.mark.parametrize("name", ["irregular", "size 6", "without boxes", *RULES])
def test_a_complete_grid_that_breaks_the_puzzle_is_refused(name: str) -> None:
    """The answer with two digits changed for one another."""
    one = made(name)
    kernel = stated(one.puzzle)
    masks = [1 << digit - one.puzzle.least for digit in one.answer.digits]
    right = kernel.ground.fields.pack(masks)
    assert propagate(kernel, right, None) == right
    for cell in range(1, len(masks), 7):
        if masks[cell] != masks[0]:
            wrong = [masks[cell], *masks[1:cell], masks[0], *masks[cell + 1:]]
            assert propagate(kernel, kernel.ground.fields.pack(wrong), None) < 0


def empty_caches() -> None:
    for module in [module for name, module in sys.modules.items() if name.startswith("cagework.solver")]:
        for value in vars(module).values():
            if isinstance(value, functools._lru_cache_wrapper):
                value.cache_clear()


def test_tables_kept_between_puzzles_change_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither the verdict nor the choices tried hang on what was solved before, or on how much is remembered."""
    puzzles = [made(name).puzzle for name in ("size 6", "irregular", "knight", "nonconsecutive")]
    puzzles += [replace(puzzle, cages=puzzle.cages[::2]) for puzzle in puzzles]
    alone = []
    for puzzle in puzzles:
        empty_caches()
        alone.append(solve(puzzle, nodes=60))
    assert {Outcome.SOUND, Outcome.TWO_ANSWERS} <= {verdict.outcome for verdict in alone}
    assert max(verdict.nodes for verdict in alone) > 6
    empty_caches()
    assert [solve(puzzle, nodes=60) for puzzle in puzzles] == alone
    assert [solve(puzzle, nodes=60) for puzzle in reversed(puzzles)] == alone[::-1]
    monkeypatch.setattr("cagework.solver.search.propagate._REMEMBERED", 1)
    monkeypatch.setattr(support, "_REMEMBERED", 1)
    assert [solve(puzzle, nodes=60) for puzzle in puzzles] == alone


@pytest.mark.parametrize("size", [6, 9])
def test_what_no_place_of_a_digit_goes_with_is_lost(size: int) -> None:
    """By trying each candidate beside each place, where neighbours hold no consecutive digits."""
    made = compose(1, Recipe(size=size, rules=("nonconsecutive",))).puzzle
    base, shape = stated(made).ground, fields(size)
    near = {(size * (pair.first.row - 1) + pair.first.col - 1, size * (pair.second.row - 1) + pair.second.col - 1)
            for pair in made.pairs}
    sight = [{other for cells in houses(size, *HouseKind) if cell in cells for other in cells}
             for cell in range(size**2)]

    def together(one: int, digit: int, other: int, second: int) -> bool:
        if one == other:
            return digit == second
        if digit == second:
            return other not in sight[one]
        return abs(digit - second) > 1 or not {(one, other), (other, one)} & near

    bars, found = barring.bars(base), 0
    candidates = [(cell, digit) for cell in range(size**2) for digit in range(size)]
    for seed in range(3):
        rng = random.Random(seed)
        for cells in houses(size, *HouseKind):
            masks = [rng.randrange(1, 1 << size) & rng.randrange(1, 1 << size) for _ in range(size**2)]
            expected = 0
            for digit in range(size):
                places = [cell for cell in cells if masks[cell] >> digit & 1]
                if 2 <= len(places) <= 4:
                    found += 1
                    for other, second in candidates:
                        if not any(together(one, digit, other, second) for one in places):
                            expected |= 1 << other * shape.width + second
            held = shape.pack(masks) & shape.of(cells)
            assert barring.places(shape, cells, bars)(held) == expected
    assert found > 20


def test_two_cells_of_a_sum_hold_to_what_pairs_say_of_them() -> None:
    whole = made("nonconsecutive").puzzle
    size = whole.size
    for total in range(3, 2 * size):
        for cells in (((4, 4), (4, 5)), ((4, 4), (5, 4)), ((4, 4), (6, 4))):
            cage = Cage(tuple(Cell(*cell) for cell in cells), total)
            kernel = with_pairs(stated(replace(whole, cages=(cage,), givens=())))
            grid = propagate(kernel, kernel.grid, None)
            beside = cells[1] != (6, 4)
            kept = {digit for digit in range(1, size + 1)
                    if 0 < total - digit <= size and abs(total - 2 * digit) > beside}
            if kept:
                for row, col in cells:
                    mask = kernel.ground.fields.masks(grid)[(row - 1) * size + col - 1]
                    assert {digit for digit in range(1, size + 1) if mask >> digit - 1 & 1} == kept
            else:
                assert grid < 0


def test_two_cells_with_a_difference_may_be_in_a_pair() -> None:
    whole = made("nonconsecutive").puzzle
    apart = replace(whole, cages=(), givens=(), sums=(Sum((Cell(1, 1),), (Cell(1, 2),), (2,)),))
    assert solve(apart, nodes=0).outcome is Outcome.UNDECIDED
    close = replace(apart, sums=(Sum((Cell(1, 1),), (Cell(1, 2),), (1,)),))
    assert solve(close).outcome is Outcome.NO_ANSWER
