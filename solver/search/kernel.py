"""Puzzle -> kernel: the facts as tables, fields of bits and propagators, laid out for the search."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from cagework.solver.bitset import members, set_of
from cagework.solver.model import Cell, House, Pair, Puzzle, Sum, counted
from cagework.solver.search import barring, crossed, enclosed, propagators, totals
from cagework.solver.search.fields import Fields
from cagework.solver.search.ground import Ground, Houses, ground
from cagework.solver.search.propagators import Couple, Fact, Propagator, whole_sum
from cagework.solver.search.relations import in_common, relations
from cagework.solver.search.rule_of_45 import Remainder, areas, most_cells, remainders

Tier = list[Fact]


@dataclass(frozen=True, slots=True)
class Kernel:
    """What propagation works on; cells are numbers from 0, in the puzzle's order.

    `possible` is False where the facts contradict each other as they stand. `grid` is what to start from, and
    `placed` are the guards of the cells whose digits, the given ones, have left all cells that see them. `seen` is
    the ground's, with what the cages add. `sums` are the cells, as bits, of which the total is known: those of
    cages and of sums that take nothing off. `known` are the remainders among the facts. `couples` are the sums and
    differences of two cells, which come first; `tiers` are the other facts, cheapest first.
    """

    ground: Ground
    possible: bool
    grid: int
    placed: int
    seen: Sequence[int]
    sums: list[tuple[int, int]]
    couples: list[Couple]
    tiers: tuple[Tier, ...]
    known: frozenset[tuple[int, int]] = frozenset()

    def constraints(self) -> list[int]:
        """How many facts each cell is in, other than houses."""
        counts = [0] * len(self.ground.fields.lowest)
        tiers: list[Sequence[Fact | Couple]] = [self.couples, *self.tiers]
        for number, tier in enumerate(tiers, -1):
            if number != HOUSES:
                for fact in tier:
                    for cell in fact[-1]:
                        counts[cell] += 1
        return counts


_SHORT, HOUSES, LONG, _LAST = range(4)
"""Tiers: sums of three cells come before houses, longer cages after, what only trims bounds last (measured)."""


def lower(puzzle: Puzzle) -> Kernel:
    """Lay a puzzle out, with all that the 45 rule gives."""
    facts = stated(puzzle)
    return with_remainders(facts, facts.grid, most_cells(puzzle.size))


def stated(puzzle: Puzzle) -> Kernel:
    """What a puzzle states, and no more."""
    puzzle, size = counted(puzzle), puzzle.size
    base, on_ground = _facts_on_ground(
        size, puzzle.houses, puzzle.pairs, puzzle.shape.cells if puzzle.shape else None)
    shape, number = base.fields, base.number
    width, possible = shape.width, base.possible
    tiers: tuple[Tier, ...] = ([], [], [], [])
    sums = []
    seen = list(base.seen)
    cages = []
    lowest = shape.lowest
    for cage in puzzle.cages:
        cells = [number[cell] for cell in cage.cells]
        low = bits = 0
        for cell in cells:
            low |= lowest[cell]
            bits |= 1 << cell
        for cell in cells:
            seen[cell] |= low ^ lowest[cell]
        if len(cells) > size:
            possible = False
        if cage.total is not None:
            sums.append((bits, cage.total))
            cages.append((cells, low, cage.total))
    couples: list[Couple] = []
    full = (1 << size) - 1
    gone = placed = digits = 0
    for cells, low, total in cages:
        held, all_said = whole_sum(size, len(cells), total)
        known: dict[int, int] = {low * held: 0} if all_said else {}
        _add_sum(couples, tiers, shape, cells, low, total, seen, known)
        gone |= low * (held ^ full)
    for given in puzzle.givens:
        cell, digit = number[given.cell], given.digit - 1
        if not 0 <= digit < size:
            possible = False    # none of the puzzle's
            continue
        digits |= 1 << cell * width + digit
        placed |= lowest[cell]
        gone |= seen[cell] << digit
    for one in puzzle.sums:
        sums += _add_total(couples, tiers, shape, one, number, seen)
    for line in puzzle.betweens:
        ends, inner = ([number[cell] for cell in cells] for cells in (line.ends, line.inner))
        tiers[_SHORT if len(inner) < 3 else LONG].append((
            shape.of(ends + inner), {}, enclosed.line(shape, ends, inner, seen), ends + inner))
    for domain in puzzle.domains:
        gone |= (full & ~domain.digits) << number[domain.cell] * width
    if digits.bit_count() > placed.bit_count():
        possible = False    # a cell is given two digits
    for tier, common in zip(tiers, on_ground, strict=True):
        tier += common
    grid = (shape.every ^ placed * full | digits) & ~gone
    return Kernel(base, possible, grid, placed << size, seen, sums, couples, tiers)


def with_remainders(facts: Kernel, grid: int, most: int) -> Kernel:
    """The facts with remainders of at most `most` cells, for the cells that are open yet: by the 45 rule, or of
    areas where sums cross.
    """
    shape, seen, possible = facts.ground.fields, facts.seen, facts.possible
    size, lowest = shape.size, shape.lowest
    digits = shape.digits(grid)
    open_ = ~set_of([cell for cell, digit in enumerate(digits) if digit])
    known = set(facts.known)
    cages = {cells & open_ for cells, _ in facts.sums}
    couples, tiers = facts.couples[:], tuple([tier[:] for tier in facts.tiers])
    for plus, minus, total in _left_over(facts, most, digits):
        if not plus:
            possible = False
            continue
        added = members(plus)
        low = 0
        for cell in added:
            low |= lowest[cell]
        distinct = not minus and [cell for cell in added if low & ~seen[cell] != lowest[cell]] == []
        if (plus, minus) in facts.known or (distinct and plus in cages):
            continue
        known.add((plus, minus))
        if distinct:
            _add_sum(couples, tiers, shape, added, low, total, seen, {})
        else:
            taken = members(minus)
            both = added + taken
            if len(both) == 2:
                couples.append(propagators.couple(shape, added, taken, total))
            else:
                tiers[_SHORT if len(both) < 4 else _LAST].append(
                    (shape.of(both), {}, propagators.balance(shape, added, taken, total, seen), both))
    if most == most_cells(size):
        tiers[_LAST].extend(_further(facts.ground))
    return Kernel(facts.ground, possible, grid, facts.placed, seen, facts.sums, couples, tiers, frozenset(known))


def _left_over(facts: Kernel, most: int, digits: Sequence[int]) -> list[Remainder]:
    """What areas leave; without sums nothing but what houses say themselves."""
    if not facts.sums:
        return []
    if facts.ground.has_whole_houses:
        known = areas(facts.ground.fields.size, facts.ground.families, facts.ground.bands)
        return remainders(known, facts.sums, most, digits)
    return crossed.remainders(facts.sums, most, digits)


def with_pairs(facts: Kernel) -> Kernel:
    """What a puzzle states, with cages of two cells held to what pairs say of the two."""
    bound, made = facts.ground.relations, dict(facts.sums)
    if not bound:
        return facts
    couples = []
    for couple in facts.couples:
        first, second = couple[-1]
        total = made.get(1 << first | 1 << second)
        for other, forbidden in bound.get(first, ()):
            # A difference of two cells has no total.
            if other == second and total is not None:
                fits = propagators.partnered(forbidden, total)
                couple = (*couple[:8], couple[8] & fits, *couple[9:])
        couples.append(couple)
    return replace(facts, couples=couples)


@lru_cache(maxsize=8)
def _facts_on_ground(
    size: int, houses: tuple[House, ...], pairs: tuple[Pair, ...], every: tuple[Cell, ...] | None
) -> tuple[Ground, tuple[Tier, ...]]:
    """A ground with the facts that hang on nothing else; kept, with their results, for the puzzles to come."""
    base = ground(size, houses, pairs, every)
    shape = base.fields
    tiers: tuple[Tier, ...] = ([], [], [], [])
    for apart in base.apart:
        tiers[HOUSES].append((shape.of(apart), {}, propagators.house(shape, apart), apart))
    tiers[_SHORT].extend(relations(shape, base.relations))
    return base, tiers


@lru_cache(maxsize=8)
def _further(base: Ground) -> Tier:
    """What else houses and pairs say, for who searches long."""
    shape, tier = base.fields, []
    if base.apart:
        tier += _leftovers(shape, base.bands, base.families[0])
    if base.relations:
        tier += relations(shape, in_common(base))
        bars = barring.bars(base)
        for bits, _ in itertools.chain(*base.bands, *base.families):
            cells = members(bits)
            tier.append((shape.of(cells), {}, barring.places(shape, cells, bars), cells))
    return tier


def _leftovers(shape: Fields, bands: tuple[Houses, Houses], regions: Houses) -> Tier:
    """Rows and as many irregular regions hold the same digits, and so does what each has beside the other.

    This is the 45 rule with regions for cages: where that leaves nought there are as many rows as regions. A side
    as large as a house says nothing new.
    """
    facts: Tier = []
    for plus, minus, total in remainders(areas(shape.size, (), bands), regions, shape.size - 1):
        if total == 0:
            ones, others = members(plus), members(minus)
            facts.append((shape.of(ones + others), {}, propagators.same(shape, ones, others), ones + others))
    return facts


def _add_total(
    couples: list[Couple], tiers: Sequence[Tier], shape: Fields, one: Sum,
    number: Mapping[Cell, int], seen: Sequence[int],
) -> list[tuple[int, int]]:
    """A sum whose digits may repeat; where its cells see each other they do not. Returns it, where it has one
    total and takes nothing off: cells as bits, for the 45 rule.
    """
    plus, minus = ([number[cell] for cell in cells] for cells in (one.plus, one.minus))
    both, exact = plus + minus, len(one.totals) == 1
    low = sum([shape.lowest[cell] for cell in both])
    if exact and not minus and len(plus) > 1 and all(low & ~seen[cell] == shape.lowest[cell] for cell in plus):
        _add_sum(couples, tiers, shape, plus, low, one.totals[0], seen, {})
    elif exact and len(both) == 2 and plus:
        couples.append(propagators.couple(shape, plus, minus, one.totals[0]))
    elif exact and len(both) == 3:
        balance = propagators.balance(shape, plus, minus, one.totals[0], seen)
        tiers[_SHORT].append((shape.of(both), {}, balance, both))
    else:
        added, taken = totals.parts_of(shape, plus, seen), totals.parts_of(shape, minus, seen)
        fact: Fact = (shape.of(both), {}, totals.total(shape, added, taken, one.totals), both)
        tiers[_SHORT if len(both) < 4 else LONG].append(fact)
    return [(set_of(plus), one.totals[0])] if exact and not minus else []


def _add_sum(
    couples: list[Couple], tiers: Sequence[Tier], shape: Fields, cells: Sequence[int], low: int, total: int,
    seen: Sequence[int], known: dict[int, int],
) -> None:
    """A sum of distinct digits: two cells and three have propagators of their own."""
    count = len(cells)
    if count == 2:
        couples.append(propagators.domino(shape, cells[0], cells[1], total, seen))
    else:
        make: Propagator = (propagators.triple if count == 3 else propagators.cage)(shape, cells, total, seen)
        tiers[_SHORT if count < 4 else LONG].append(((low << shape.size) - low, known, make, cells))
