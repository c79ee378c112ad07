"""What cells of a sum, of several sums, of a house and of cages together can hold, against plain enumeration."""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from itertools import product

import pytest

from cagework.solver.combine import digits_of
from cagework.solver.editing.compose import Recipe, compose
from cagework.solver.model import Cage, Cell, Puzzle, standard_houses
from cagework.solver.proving import subset_sums
from cagework.solver.reasoning import filling
from cagework.solver.reasoning.agenda import Agenda
from cagework.solver.reasoning.cage_sums import told_masks
from cagework.solver.reasoning.filling import balances, distinct_ends, ends_apart, fits, supported
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.step import Cites, Step

Filling = tuple[int, ...]


def drawn(rng: random.Random, count: int, size: int) -> Filling:
    """A random mask for each cell; few are full, none is empty."""
    return tuple(rng.randrange(1, 1 << size) for _ in range(count))


def fillings(masks: Sequence[int]) -> Iterator[Filling]:
    """Every way to give the cells different digits of theirs."""
    return (digits for digits in product(*map(digits_of, masks)) if len(set(digits)) == len(digits))


def held(count: int, ways: Sequence[Filling]) -> list[int]:
    """What each cell holds in some of these fillings."""
    kept = [0] * count
    for way in ways:
        for cell, digit in enumerate(way):
            kept[cell] |= 1 << digit - 1
    return kept


@pytest.mark.parametrize("count", [1, 2, 3, 4, 5])
def test_cells_of_one_sum(count: int) -> None:
    rng = random.Random(count)
    none = 0
    for _ in range(150):
        size = rng.choice([4, 6, 7])
        masks, total = drawn(rng, count, size), rng.randrange(1, 7 * count)
        ways = [way for way in fillings(masks) if sum(way) == total]
        kept, left = fits(masks, total)
        assert list(kept) == held(count, ways)
        assert sorted(left) == sorted({sum(1 << digit - 1 for digit in way) for way in ways})
        assert supported(masks, total) == (kept if ways else ())
        none += not ways
    assert 0 < none < 150


def test_signed_parts_that_balance() -> None:
    rng = random.Random(1)
    none = 0
    for _ in range(200):
        parts = [(rng.choice([1, -1]), drawn(rng, rng.choice([1, 2, 3]), 5)) for _ in range(rng.choice([1, 2]))]
        total = rng.randrange(-8, 16)
        ways = [
            sum(way, ()) for way in product(*(list(fillings(masks)) for _, masks in parts))
            if sum(sign * sum(digits) for (sign, _), digits in zip(parts, way, strict=True)) == total
        ]
        found = [mask for part in balances(parts, total) for mask in part]
        assert found == held(len(found), ways)
        none += not ways
    assert 0 < none < 200


def test_sums_with_signs_listed() -> None:
    """Cells to add and to take away, some pairs of which differ: every way, once; None for more than asked for."""
    rng = random.Random(6)
    most = 0
    for _ in range(150):
        count = rng.randrange(1, 5)
        masks = drawn(rng, count, 6)
        signs = tuple(rng.choice((1, 1, -1)) for _ in masks)
        apart = [[before for before in range(number) if rng.random() < 0.5] for number in range(count)]
        total = rng.randrange(-4, 15)
        ways = [
            tuple(1 << digit - 1 for digit in way) for way in product(*map(digits_of, masks))
            if sum(sign * digit for sign, digit in zip(signs, way, strict=True)) == total
            and all(way[number] != way[before] for number in range(count) for before in apart[number])
        ]
        found = filling.fillings(masks, total, 1_000, signs, apart)
        assert found is not None
        assert sorted(found) == sorted(ways)
        if ways:
            assert filling.fillings(masks, total, len(ways) - 1, signs, apart) is None
        most = max(most, len(ways))
    assert most > 10


@pytest.mark.parametrize("count", [1, 2, 3, 4])
def test_what_the_proof_takes_cells_of_a_sum_to_hold(count: int) -> None:
    rng = random.Random(count)
    none = 0
    for _ in range(150):
        masks, total = drawn(rng, count, 7), rng.randrange(1, 7 * count)
        ways = [way for way in fillings(masks) if sum(way) == total]
        assert subset_sums.held(masks, total) == (tuple(held(count, ways)) if ways else ())
        none += not ways
    assert 0 < none < 150


def changes(state: State, steps: Sequence[Step]) -> set[tuple[Cell, int]]:
    """The cells and digits that some of these steps place or remove and that are still to be."""
    return {(cell, digit) for step in steps for cell, digit in step.places} | {
        (cell, -digit) for step in steps for cell, mask in step.removes
        for digit in digits_of(mask & state.candidates[state.frame.index[cell]])
    }


@pytest.mark.parametrize("rules", [(), ("knight",), ("nonconsecutive",)])
def test_looking_again_only_where_something_changed_misses_nothing(rules: tuple[str, ...]) -> None:
    """A scout that has been there all the way finds, at each step, what one that looks everywhere finds."""
    made = compose(3000, Recipe(sizes={2: 4.0, 3: 4.0, 4: 2.0, 5: 0.5}, rules=rules))
    state = State(Frame(made.puzzle))
    tools = [tool for tool in TECHNIQUES.values() if tool.cost < 600]
    assert {Scope.HOUSE_FILLED, Scope.CAGE_FILLED, Scope.RELATED} <= {tool.look for tool in tools}
    scout = Agenda(state, tools)
    for _ in range(120):
        found, anew = scout.cheapest(), Agenda(state, tools).cheapest()
        assert [step.cost for step in found[:1]] == [step.cost for step in anew[:1]]
        assert changes(state, found) == changes(state, anew)
        if not found:
            break
        state.apply(found[0])
    assert state.placed


def test_a_cage_with_a_cell_that_holds_nothing_is_told_by_what_is_cited() -> None:
    """A supposition may empty a cell before all that follows from it is told; the cage's sum says nothing then."""
    frame = Frame(Puzzle(4, standard_houses(4), (Cage((Cell(1, 1), Cell(1, 2), Cell(1, 3)), 7),)))
    cited = Cites(((Cell(1, 1), 0b1000),), (), frame.puzzle.cages)
    step = Step("fixed_combination", 20, "only", (), (), cited)
    held = [frame.full] * 16
    assert told_masks(frame, step, held) is held
    held[frame.index[Cell(1, 2)]] = 0
    assert told_masks(frame, step, held)[:3] == [0b0111, frame.full, frame.full]


def test_the_ends_of_cells_that_differ_are_those_of_all_their_fillings() -> None:
    """Tried in every way: where all differ, and where only some do."""
    rng = random.Random(11)
    kinds = set()
    for _ in range(400):
        masks = tuple(rng.randrange(1, 1 << 6) & rng.randrange(1, 1 << 6) or 3 for _ in range(rng.randint(1, 4)))
        apart = [[other for other in range(cell) if rng.random() < 0.5] for cell in range(len(masks))]
        held = [[digit for digit in range(1, 7) if mask >> digit - 1 & 1] for mask in masks]
        sums = [sum(way) for way in product(*held) if len(set(way)) == len(way)]
        assert distinct_ends(masks) == ((min(sums), max(sums)) if sums else None)
        some = [sum(way) for way in product(*held)
                if all(way[cell] != way[other] for cell, others in enumerate(apart) for other in others)]
        assert ends_apart(masks, apart) == ((min(some), max(some)) if some else None)
        kinds.add((bool(sums), bool(some)))
    assert kinds == {(True, True), (False, True), (False, False)}
