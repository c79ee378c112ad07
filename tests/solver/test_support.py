"""Support and propagators against plain enumeration of every filling."""

from __future__ import annotations

import itertools
import random
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from itertools import product

import pytest

from cagework.solver.bitset import members
from cagework.solver.combine import digits_of
from cagework.solver.editing.compose import Recipe, irregular_regions, tile
from cagework.solver.model import Cell, Pair, Puzzle, boxes, grid_cells, standard_houses
from cagework.solver.search import propagators, relations, totals
from cagework.solver.search.exact import random_answer
from cagework.solver.search.fields import fields
from cagework.solver.search.ground import ground
from cagework.solver.search.kernel import lower, stated
from cagework.solver.search.propagate import propagate
from cagework.solver.search.rule_of_45 import areas, most_cells, remainders

Test = Callable[[Sequence[int]], bool]


def enumerated(masks: Sequence[int], holds: Test) -> list[int] | None:
    """What each cell keeps, by trying all fillings."""
    kept = [0] * len(masks)
    for digits in product(*map(digits_of, masks)):
        if holds(digits):
            for index, digit in enumerate(digits):
                kept[index] |= 1 << digit - 1
    return kept if kept and kept[0] else None


def narrowed_once(size: int, propagator: Callable[[int], int], masks: Sequence[int]) -> list[int] | None:
    """What the propagator leaves; None for a contradiction, whether it says so or leaves a cell empty."""
    shape = fields(size)
    held = shape.pack(masks)
    lost = propagator(held)
    kept = [(held & ~lost) >> cell * shape.width & (1 << size) - 1 for cell in range(len(masks))]
    return None if lost < 0 or not all(kept) else kept


def narrowed(size: int, propagator: Callable[[int], int], masks: Sequence[int]) -> list[int] | None:
    """As `narrowed_once`, where a second look at what is left finds nothing more."""
    kept = narrowed_once(size, propagator, masks)
    assert kept is None or narrowed_once(size, propagator, kept) == kept
    return kept


def narrowed_pair(size: int, couple: propagators.Couple, masks: Sequence[int]) -> list[int] | None:
    """As `narrowed`, for two cells, which have no propagator of their own: on a grid without houses."""
    kernel = replace(stated(Puzzle(size, (), ())), couples=[couple])
    left = propagate(kernel, fields(size).pack([*masks, *[(1 << size) - 1] * (size**2 - len(masks))]), None)
    return None if left < 0 else fields(size).masks(left)[:len(masks)]


def draws(size: int, count: int, times: int) -> list[list[int]]:
    """Random masks, none empty; some cells with all digits, some with one."""
    rng = random.Random(f"{size} {count}")
    full = (1 << size) - 1
    kinds = (lambda: rng.randint(1, full), lambda: full, lambda: 1 << rng.randrange(size),
             lambda: rng.randint(1, full) & rng.randint(1, full) or 1)
    return [[rng.choice(kinds)() for _ in range(count)] for _ in range(times)]


def seen_from_placed(masks: list[int]) -> list[int]:
    """Take each placed digit from all other cells, until no more are placed; a clash leaves a cell empty."""
    while True:
        placed = [1 << mask.bit_length() - 1 if mask.bit_count() == 1 else 0 for mask in masks]
        left = [mask & ~(sum({*placed[:i], *placed[i + 1 :]})) for i, mask in enumerate(masks)]
        if left == masks:
            return masks
        masks = left


def by_combinations(size: int, masks: Sequence[int], total: int) -> list[int] | None:
    """What cells keep of the combinations out of their digits that each of the cells can take a digit of."""
    held = set()
    for some in itertools.combinations(range(1, size + 1), len(masks)):
        can = [{*digits_of(mask)} & {*some} for mask in masks]
        if sum(some) == total and all(can) and set().union(*can) == {*some}:
            held |= {*some}
    return [mask & sum(1 << digit - 1 for digit in held) for mask in masks] if held else None


@pytest.mark.parametrize(("size", "count", "times"), [(6, 4, 60), (9, 4, 40), (6, 5, 30), (6, 6, 6), (9, 6, 12)])
def test_more_open_cells_of_a_cage_keep_the_digits_of_combinations(size: int, count: int, times: int) -> None:
    """Three of the cells may be placed, which leaves them to the test of exact support."""
    seen, dearer = [], 0
    for masks in draws(size, count, times):
        masks = seen_from_placed(masks)
        rng = random.Random(sum(masks))
        for total in (rng.randint(0, count * size + 1), sum(m.bit_length() for m in masks)) if all(masks) else ():
            kept = narrowed_once(size, propagators.cage(fields(size), range(count), total, [0] * count), masks)
            open_ = [index for index, mask in enumerate(masks) if mask & mask - 1]
            left = total - sum(mask.bit_length() for mask in masks if not mask & mask - 1)
            if len(open_) > 3:
                by_sets = by_combinations(size, [masks[index] for index in open_], left)
                assert (kept and [kept[index] for index in open_]) == by_sets
            if count < 6:
                exact = enumerated(masks, lambda d, t=total: sum(d) == t and len(set(d)) == len(d))
                assert exact is None or (kept and all(a & ~b == 0 for a, b in zip(exact, kept, strict=True)))
                dearer += exact != kept
            seen.append(kept is None)
    assert {*seen} == {True, False}
    assert dearer or (size, count) != (6, 4)


@pytest.mark.parametrize(("size", "count", "times"), [
    (4, 2, 60), (4, 3, 60), (9, 1, 20), (9, 2, 80), (9, 3, 60), (16, 2, 30), (12, 3, 12),
])
def test_cage_support_is_exact(size: int, count: int, times: int) -> None:
    """Up to three cells. Digits already placed leave the others first, as peers do before a cage is looked at."""
    seen = []
    for masks in draws(size, count, times):
        masks = seen_from_placed(masks)
        made = (random.Random(sum(masks)).randint(0, count * size + 1), sum(m.bit_length() for m in masks))
        for total in made if all(masks) else ():
            expected = enumerated(masks, lambda d, t=total: sum(d) == t and len(set(d)) == len(d))
            told = fields(size), range(count), total, [0] * count
            makers = {1: [propagators.cage], 2: [propagators.cage], 3: [propagators.cage, propagators.triple]}
            for make in makers.get(count, [propagators.cage]):
                assert narrowed(size, make(*told), masks) == expected
            if count == 2:
                domino = propagators.domino(fields(size), 0, 1, total, [0, 0])
                assert narrowed_pair(size, domino, masks) == expected
            seen.append(expected is None)
    assert {*seen} == {True, False}


@pytest.mark.parametrize(("size", "plus", "minus"), [
    (4, 1, 1), (4, 2, 1), (9, 2, 0), (9, 1, 1), (9, 1, 2), (9, 3, 0), (9, 2, 1), (16, 1, 1), (12, 1, 2),
])
def test_balance_is_exact_up_to_three_cells(size: int, plus: int, minus: int) -> None:
    seen = []
    for masks in draws(size, plus + minus, 60):
        for total in range(-size, 2 * size, 3):
            told = fields(size), range(plus), range(plus, plus + minus), total
            expected = enumerated(masks, lambda d, t=total: sum(d[:plus]) - sum(d[plus:]) == t)
            if plus + minus == 2:
                assert narrowed_pair(size, propagators.couple(*told), masks) == expected
            else:
                assert narrowed(size, propagators.balance(*told, [0] * 3), masks) == expected
            seen.append(expected is None)
    assert {*seen} == {True, False}


@pytest.mark.parametrize(("size", "plus"), [(4, 2), (6, 3), (9, 1), (9, 2), (9, 3), (12, 2)])
def test_balance_of_three_keeps_cells_that_see_each_other_different(size: int, plus: int) -> None:
    """Exactly, whichever of the three do."""
    told_apart, lowest = set(), fields(size).lowest
    for number, masks in enumerate(draws(size, 3, 60)):
        apart = [pair for place, pair in enumerate(itertools.combinations(range(3), 2)) if number >> place & 1]
        seen = [sum(lowest[other] for pair in apart if cell in pair for other in pair if other != cell)
                for cell in range(3)]
        for total in range(-size, 2 * size, 3):
            repeated = enumerated(masks, lambda d, t=total: sum(d[:plus]) - sum(d[plus:]) == t)
            expected = enumerated(masks, lambda d, t=total, pairs=tuple(apart): sum(d[:plus]) - sum(d[plus:]) == t
                                  and all(d[one] != d[other] for one, other in pairs))
            propagator = propagators.balance(fields(size), range(plus), range(plus, 3), total, seen)
            assert narrowed(size, propagator, masks) == expected
            if repeated != expected:
                told_apart.update(apart)
    assert told_apart == {(0, 1), (0, 2), (1, 2)}


def test_pairs_with_a_cell_in_common_say_what_the_third_leaves_open() -> None:
    """By trying all digits of three cells that see each other, or of which the last two do not."""
    size, digits = 6, range(1, 7)
    rules = (lambda x, y: abs(x - y) == 1, lambda x, y: x == 2 * y or y == 2 * x, lambda x, y: abs(x - y) != 1)
    found = 0
    for near, rule, other in itertools.product((True, False), rules, rules):
        first, middle, last = Cell(1, 1), Cell(1, 2), Cell(1, 3) if near else Cell(4, 2)
        span = range(1, size + 1)
        pairs = (Pair.of(middle, first, span, rule), Pair.of(middle, last, span, other))
        base = ground(size, standard_houses(size), pairs)
        bound = relations.in_common(base)
        one, two = base.number[first], base.number[last]
        both = {(x, z) for x, y, z in product(digits, repeat=3) if x != z and rule(y, x) and other(y, z)}
        assert {*bound} in ({one, two}, set())
        for here, there, allowed in ((one, two, both), (two, one, {(z, x) for x, z in both})):
            for cell, forbidden in bound.get(here, ()):
                assert near and cell == there
                assert {pair for pair in product(digits, digits)
                        if not forbidden[pair[0] - 1] >> pair[1] - 1 & 1} == allowed
                found += 1
    assert found > 6


@pytest.mark.parametrize(("plus", "minus"), [(4, 0), (2, 2), (1, 4), (5, 0)])
def test_longer_balance_loses_no_filling(plus: int, minus: int) -> None:
    trimmed = refused = 0
    for masks in draws(6, plus + minus, 40):
        for total in range(-12, 26, 4):
            propagator = propagators.balance(
                fields(6), range(plus), range(plus, plus + minus), total, [0] * (plus + minus))
            expected = enumerated(masks, lambda d, t=total: sum(d[:plus]) - sum(d[plus:]) == t)
            found = narrowed(6, propagator, masks)
            if expected is None:
                refused += found is None
            else:
                assert found is not None
                assert all(kept & ~left == 0 for kept, left in zip(expected, found, strict=True))
                trimmed += found != masks
    assert trimmed
    assert refused


@pytest.mark.parametrize(("size", "plus", "minus"), [(4, 3, 0), (9, 0, 2), (6, 2, 2), (6, 4, 1), (9, 1, 3)])
def test_a_sum_with_several_totals_is_exact(size: int, plus: int, minus: int) -> None:
    seen = []
    for masks in draws(size, plus + minus, 12):
        rng = random.Random(sum(masks))
        some = sorted(rng.sample(range(-2 * size, 3 * size), 3))
        for made in ([some[0]], some, range(1, plus * size)):
            told = totals.total(fields(size), [[cell] for cell in range(plus)],
                                [[cell] for cell in range(plus, plus + minus)], made)
            expected = enumerated(masks, lambda d, made=made: sum(d[:plus]) - sum(d[plus:]) in made)
            assert narrowed(size, told, masks) == expected
            apart = totals.total(fields(size), [range(plus)][:plus], [range(plus, plus + minus)][:minus], made)
            expected = enumerated(masks, lambda d, made=made: sum(d[:plus]) - sum(d[plus:]) in made and len(
                {*d[:plus]}) == plus and len({*d[plus:]}) == minus)
            assert narrowed(size, apart, masks) == expected
            seen.append(expected is None)
    assert {*seen} == {True, False}


def test_pair_is_exact() -> None:
    """What the digits of one cell forbid the other, and then the other way round."""
    rng = random.Random(3)
    for masks in draws(9, 2, 80):
        allowed = tuple([rng.randint(0, 511) & rng.randint(0, 511) for _ in range(9)])
        expected = enumerated(masks, lambda d, a=allowed: bool(a[d[0] - 1] >> d[1] - 1 & 1))
        bound = ground(9, (), (Pair(Cell(1, 1), Cell(1, 2), allowed),)).relations
        kept: list[int] | None = masks
        for cell in (0, 1):
            kept = narrowed(9, relations.relation(fields(9), cell, bound[cell]), kept) if kept else None
        assert kept == expected


@pytest.mark.parametrize("size", [4, 9])
def test_pairs_all_over_the_grid_are_exact_from_the_first_cell_to_the_second(size: int) -> None:
    """Whether they are looked at together or one by one."""
    rng, shape, full = random.Random(size), fields(size), (1 << size) - 1
    cells = range(size**2)
    for count in (1, 3, 20):
        forbidden = tuple([rng.randint(0, full) | rng.randint(0, full) for _ in range(size)])
        pairs = rng.sample(list(itertools.permutations(cells, 2)), count)
        bound = {cell: [(other, forbidden) for one, other in pairs if one == cell] for cell, _ in pairs}
        facts = relations.relations(shape, bound)
        assert (len(facts) == 1) >= (count == 20)
        assert sorted(itertools.chain(*[firsts for *_, firsts in facts])) == sorted(cell for cell, _ in pairs)
        for masks in draws(size, size**2, 12):
            left = masks[:]
            for one, other in pairs:
                left[other] &= ~(full & _both(forbidden[digit - 1] for digit in digits_of(masks[one])))
            grid = shape.pack(masks)
            for mask, _, propagator, _ in facts:
                grid &= ~propagator(shape.pack(masks) & mask)
            assert shape.masks(grid) == left


def _both(masks: Iterable[int]) -> int:
    common = -1
    for mask in masks:
        common &= mask
    return common


def test_house_finds_hidden_singles() -> None:
    house = propagators.house(fields(4), (0, 1, 2, 3))
    assert narrowed(4, house, [0b1011, 0b0011, 0b0011, 0b0111]) == [0b1000, 0b0011, 0b0011, 0b0100]
    assert narrowed(4, house, [0b0111, 0b0011, 0b0011, 0b0111]) is None
    assert narrowed(4, house, [0b1111, 0b0011, 0b0011, 0b0011]) is None


def test_digits_a_cage_needs_leave_the_cells_that_see_all_its_places() -> None:
    """Cells 0 to 2 add to 7 with digits from 1..9: only 1, 2 and 4, so all three leave cell 3, which sees them."""
    shape = fields(9)
    seen = [sum(1 << other * shape.width for other in others) for others in
            ((1, 2, 3, 4), (0, 2, 3, 4), (0, 1, 3), (0, 1, 2), (0, 1))]
    for make in (propagators.triple, propagators.cage):
        cage = make(shape, (0, 1, 2), 7, seen)
        everywhere = shape.pack([511] * 5)
        assert everywhere & ~cage(shape.of((0, 1, 2))) == shape.pack([0b1011] * 3 + [511 ^ 0b1011, 511])
        # With 4 kept out of cell 2, cell 4 sees both its places as well.
        assert shape.pack([511, 511, 0b11, 511, 511]) & ~cage(shape.pack([511, 511, 0b11])) == shape.pack(
            [0b1011, 0b1011, 0b11, 511 ^ 0b1011, 511 ^ 0b1000])


def test_two_cells_with_two_digits_take_them_from_the_cells_that_see_both() -> None:
    """Cells 0 and 1 add to 3, which leaves 1 and 2; cell 2 sees both, cell 3 only one."""
    shape = fields(9)
    seen = [sum(1 << other * shape.width for other in others) for others in ((1, 2, 3), (0, 2), (0, 1), (0,))]
    kept = narrowed_pair(9, propagators.domino(shape, 0, 1, 3, seen), [511] * 4)
    assert kept == [0b11, 0b11, 511 ^ 0b11, 511]


@pytest.mark.parametrize("size", [4, 6, 9, 12])
def test_remainders_hold_in_the_answer(size: int) -> None:
    """The 45 rule derives nothing that the grid behind the totals breaks; outies may repeat a digit."""
    def area(cells: Sequence[tuple[int, int]]) -> int:
        return sum(1 << (row - 1) * size + col - 1 for row, col in cells)

    span = range(1, size + 1)
    whole = size * (size + 1) // 2
    rows = [(area([(row, col) for col in span]), whole) for row in span]
    columns = [(area([(row, col) for row in span]), whole) for col in span]
    regions = [(area(box), whole) for box in boxes(size)]
    shapes = set()
    for seed in range(12):
        rng = random.Random(seed)
        answer = random_answer(Puzzle(size, standard_houses(size), ()), rng)
        assert answer is not None
        groups = tile(answer, Recipe(size=size, lone=True, dominoes=1), rng) or []
        cages = [(area(cells), sum(map(answer.at, cells))) for cells in groups if rng.random() < 0.95]
        known, grid = areas(size, (tuple(regions),), (tuple(rows), tuple(columns))), answer.digits
        for share in (0.0, 0.3):
            placed = [digit if rng.random() < share else 0 for digit in grid]
            for plus, minus, total in remainders(known, cages, most_cells(size), placed):
                assert 0 < plus.bit_count() + minus.bit_count() <= most_cells(size)
                assert not any(placed[cell] for cell in members(plus | minus))
                made = sum(grid[cell] for cell in members(plus)) - sum(grid[cell] for cell in members(minus))
                assert made == total
                shapes.add((plus.bit_count() > 0, minus.bit_count() > 0))
    assert shapes == {(True, False), (True, True)}


@pytest.mark.parametrize("size", [6, 9])
def test_what_rows_and_irregular_regions_leave_holds_the_same_digits(size: int) -> None:
    found = 0
    for seed in range(6):
        rng = random.Random(seed)
        puzzle = Puzzle(size, standard_houses(size, irregular_regions(size, rng)), ())
        answer = random_answer(puzzle, rng, nodes=2000)
        if answer is None:
            continue
        for _, _, propagator, cells in itertools.chain(*lower(puzzle).tiers):
            if propagator.__qualname__.startswith("same."):
                half = len(cells) // 2
                one, other = (sorted([answer.digits[cell] for cell in side])
                              for side in (cells[:half], cells[half:]))
                assert one == other
                found += 1
    assert found > 10


def test_the_same_digits_on_either_side() -> None:
    """No filling is lost in which both sides hold the same digits; what one side lacks leaves the other."""
    for masks in draws(5, 4, 60):
        expected = enumerated(masks, lambda d: sorted(d[:2]) == sorted(d[2:]))
        kept = narrowed(5, propagators.same(fields(5), (0, 1), (2, 3)), masks)
        assert kept is not None or expected is None
        for index, mask in enumerate(kept or ()):
            assert mask & (kept[0] | kept[1]) & (kept[2] | kept[3]) == mask  # type: ignore[index]
            assert expected is None or expected[index] & ~mask == 0


def test_cages_over_the_whole_grid_make_its_total() -> None:
    """A 4 x 4 grid holds 40: cages of two cells each, whose totals make 41, leave a total for no cell."""
    rows = [(0b1111 << 4 * row, 10) for row in range(4)]
    upright = [0b10001 << col + 8 * half for half in (0, 1) for col in range(4)]
    right = [(cells, 5) for cells in upright]
    known = areas(4, (), (tuple(rows),))
    assert not any(plus == minus == 0 for plus, minus, _ in remainders(known, right, 3))
    wrong = [(upright[0], 6), *right[1:]]
    assert any(plus == minus == 0 and total for plus, minus, total in remainders(known, wrong, 3))


def test_houses_that_overlap_make_no_area() -> None:
    """Whatever their kind: rows 1 and 2 of a 4 x 4 grid make 20, but not with the diagonal that crosses both."""
    rows, diagonal = [(0b1111 << 4 * row, 10) for row in range(2)], (1 | 1 << 5 | 1 << 10 | 1 << 15, 10)
    assert sorted(areas(4, (), ((*rows, diagonal),)).sums) == sorted([*rows, diagonal, (0xff, 20)])


def test_remainder_by_hand() -> None:
    """Row 1 of a 4 x 4 grid holds 10: cages of 3 (inside) and 9 (r1c3, r1c4, r2c4) leave r2c4 = 3 + 9 - 10."""
    cages = [(0b11, 3), (0b1100 | 1 << 7, 9)]
    assert remainders(areas(4, (), (((0b1111, 10),),)), cages, 3) == [(1 << 7, 0, 2)]
    # With 4 in r1c3 the cage of 9 has r1c4 in the row, and r1c4 = 10 - 3 - 4.
    assert remainders(areas(4, (), (((0b1111, 10),),)), cages, 3, [0, 0, 4, 0] + [0] * 12) == [(1 << 3, 0, 3)]
    assert grid_cells(4)[7] == (2, 4)
