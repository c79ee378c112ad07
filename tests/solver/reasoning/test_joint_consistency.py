"""Cages, a house and a sum filled all at once: what no filling has, against OR-Tools CP-SAT."""

from __future__ import annotations

import random
from collections.abc import Sequence
from itertools import product

import pytest
from ortools.sat.python import cp_model

from cagework.solver.bitset import members
from cagework.solver.editing.compose import Recipe, compose
from cagework.solver.model import Puzzle, standard_houses
from cagework.solver.reasoning import forward_checking
from cagework.solver.reasoning.forward_checking import search
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.joint_consistency import Facts, joint_problem
from cagework.solver.reasoning.state import Balance
from cagework.solver.reasoning.table_constraints import Tables

MADE = compose(5, Recipe(sizes={2: 3.0, 3: 4.0, 4: 3.0, 5: 1.0, 6: 1.0}))


def possible(frame: Frame, facts: Facts, sees: Sequence[int], masks: Sequence[int]) -> dict[int, int]:
    """For each cell concerned, the candidates that some filling has, as CP-SAT finds them."""
    model = cp_model.CpModel()
    cells = members(facts.cells(frame))
    at = {cell: model.new_int_var_from_domain(
        cp_model.Domain.from_values([index + 1 for index in members(masks[cell])]), str(cell)) for cell in cells}
    for cell in cells:
        for other in cells:
            if cell < other and sees[cell] >> other & 1:
                model.add(at[cell] != at[other])
    for number in facts.cages:
        model.add(sum(at[cell] for cell in frame.cages[number]) == (frame.totals[number] or 0))
    if facts.balance:
        model.add(sum(at[cell] for cell in facts.balance.plus) - sum(at[cell] for cell in facts.balance.minus)
                  == facts.balance.total)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    found = dict.fromkeys(cells, 0)
    for cell in cells:
        for index in members(masks[cell]):
            if not found[cell] >> index & 1:
                asked = model.clone()
                asked.add(asked.get_int_var_from_proto_index(at[cell].index) == index + 1)
                status = solver.solve(asked)
                assert status in (cp_model.OPTIMAL, cp_model.INFEASIBLE)
                if status == cp_model.OPTIMAL:
                    for other in cells:
                        found[other] |= 1 << solver.value(asked.get_int_var_from_proto_index(at[other].index)) - 1
    return found


@pytest.mark.parametrize("total", [-2, 0, 3, 7])
def test_a_filling_satisfies_a_sum_that_it_makes(total: int) -> None:
    """Two cells added and one taken away, by plain arithmetic, whatever stands in the other cells."""
    frame = Frame(Puzzle(4, standard_houses(4), ()))
    constraint = Tables(frame).sum((2, 5), (14,), total, frame.sees)
    for digits in product(range(1, 5), repeat=3):
        filling = sum(1 << 4 * cell + digit - 1 for cell, digit in zip((2, 5, 14), digits, strict=True))
        assert constraint.is_satisfied(filling) is (digits[0] + digits[1] - digits[2] == total)
        assert constraint.is_satisfied(filling | 1 << 4 * 7) is (digits[0] + digits[1] - digits[2] == total)


def drawn(frame: Frame, rng: random.Random, facts: Facts, count: int) -> list[int]:
    """Candidates that leave the answer: of this many cells, less than all."""
    masks = [frame.full] * len(frame.cells)
    for _ in range(count):
        cell = rng.choice(members(facts.cells(frame)))
        masks[cell] &= rng.randrange(1 << 9) | 1 << MADE.answer.digits[cell] - 1
    return masks


def around(frame: Frame, house: int) -> tuple[int, ...]:
    """The cages that reach into a house."""
    return tuple(n for n, cells in enumerate(frame.cage_sets) if cells & frame.house_sets[house])


def some_sum(rng: random.Random, cells: Sequence[int]) -> Balance:
    """Two cells less one, as the answer has them."""
    plus, minus = tuple(rng.sample(cells, 2)), (rng.choice(cells),)
    while minus[0] in plus:
        minus = (rng.choice(cells),)
    digits = MADE.answer.digits
    return Balance(0, plus, minus, sum(digits[c] for c in plus) - digits[minus[0]], (), ())


@pytest.mark.parametrize("with_house", [True, False], ids=["house", "no-house"])
@pytest.mark.parametrize("with_sum", [True, False], ids=["sum", "no-sum"])
def test_what_no_filling_has_is_struck_and_nothing_else(
    monkeypatch: pytest.MonkeyPatch, with_house: bool, with_sum: bool
) -> None:
    """Asked over and over, so that what is remembered of fillings and lists is put to the test as well."""
    monkeypatch.setattr(forward_checking, "MOST_TRIES", 100_000)
    frame = Frame(MADE.puzzle)
    rng = random.Random(3)
    struck = 0
    for house in (0, 10, 20):
        facts = Facts(around(frame, house), (house,) if with_house else ())
        if with_sum:
            facts = Facts(facts.cages, facts.houses, some_sum(rng, members(facts.cells(frame))))
        for count in (25, 15, 35):
            masks = drawn(frame, rng, facts, count)
            can = possible(frame, facts, frame.sees, masks)
            wrong = {cell: masks[cell] & ~mask for cell, mask in can.items() if masks[cell] & ~mask}
            assert joint_problem(frame, facts).impossible(masks) == wrong
            struck += len(wrong)
    assert struck


def test_with_less_in_sight_no_more_is_barred(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where only some houses count, cells of the others may hold the same digit."""
    monkeypatch.setattr(forward_checking, "MOST_TRIES", 100_000)
    frame = Frame(MADE.puzzle)
    rng = random.Random(4)
    barred = 0
    for house in (3, 13, 23):
        facts = Facts(around(frame, house), (house,))
        counting = [frame.house_sets[house], *frame.cage_sets]
        sees = [0] * len(frame.cells)
        for cells in counting:
            for cell in members(cells):
                sees[cell] |= cells & ~(1 << cell)
        masks = drawn(frame, rng, facts, 30)
        can = possible(frame, facts, sees, masks)
        problem = joint_problem(frame, facts, tuple(sees))
        for cell, mask in can.items():
            for index in members(masks[cell]):
                says = problem.bars(masks, cell, 1 << index)
                assert says == (not mask >> index & 1)
                barred += says
    assert barred


def test_what_is_remembered_changes_no_answer() -> None:
    """Facts asked again and again as the grid loses candidates say what those never asked before do."""
    frame = Frame(MADE.puzzle)
    rng = random.Random(3)
    barred = 0
    for house in (0, 10, 20):
        facts = Facts(around(frame, house), (house,))
        kept = joint_problem(frame, facts)
        cells = members(facts.cells(frame))
        masks = [frame.full] * len(frame.cells)
        for _ in range(60):
            cell = rng.choice(cells)
            masks[cell] &= rng.randrange(1 << 9) | 1 << MADE.answer.digits[cell] - 1
            asked, digit = rng.choice(cells), 1 << rng.randrange(9)
            answer = joint_problem(Frame(MADE.puzzle), facts).bars(masks, asked, digit)
            assert kept.bars(masks, asked, digit) == answer
            assert not (answer and digit == 1 << MADE.answer.digits[asked] - 1)
            barred += answer
    assert 20 < barred < 160


def test_what_is_not_settled_is_not_struck(monkeypatch: pytest.MonkeyPatch) -> None:
    """With no guess allowed, only what takes none is struck; all of it is right."""
    frame = Frame(MADE.puzzle)
    rng = random.Random(5)
    facts = Facts(around(frame, 4), (4,))
    masks = drawn(frame, rng, facts, 40)
    monkeypatch.setattr(forward_checking, "MOST_TRIES", 100_000)
    all_ = joint_problem(frame, facts).impossible(masks)
    monkeypatch.setattr(forward_checking, "MOST_TRIES", 0)
    few = joint_problem(Frame(MADE.puzzle), facts).impossible(masks)
    assert set(few) <= set(all_)
    assert all(not mask & ~all_[cell] for cell, mask in few.items())


def test_a_search_finds_a_filling_in_as_many_tries_as_it_says_and_in_none_fewer(
    monkeypatch: pytest.MonkeyPatch
) -> None:
    """The same position searched again with just enough tries, and with one too few."""
    monkeypatch.setattr(forward_checking, "MOST_TRIES", 100_000)
    frame = Frame(MADE.puzzle)
    for house in range(len(frame.houses)):
        facts = Facts(around(frame, house), (house,))
        cells = members(facts.cells(frame))
        position = joint_problem(frame, facts).position(sum(frame.full << frame.size * cell for cell in cells))
        assert position is not None
        found = search(position)
        assert found.filling is not None
        digits = {cell: (found.filling >> frame.size * cell & frame.full).bit_length() for cell in cells}
        assert all(sum(digits[cell] for cell in frame.cages[n]) == frame.totals[n] for n in facts.cages)
        assert all(digits[one] != digits[other] for one in cells for other in cells
                   if frame.sees[one] >> other & 1)
        assert found.tries > 0
        with monkeypatch.context() as patch:
            patch.setattr(forward_checking, "MOST_TRIES", found.tries)
            assert search(position) == found
            patch.setattr(forward_checking, "MOST_TRIES", found.tries - 1)
            short = search(position)
            assert short.filling is None and not short.proved and short.tries == found.tries
