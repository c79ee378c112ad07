"""A sum of cells by the 45 rule: what it rests on, what its cells can hold, and how many cases that takes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from itertools import combinations
from math import prod
from operator import or_

from cagework.solver.bitset import members, set_of
from cagework.solver.combine import combinations_within
from cagework.solver.model import Cage, House, Sum
from cagework.solver.reasoning.cage_sums import Masks, Reach
from cagework.solver.reasoning.filling import balances, distinct_range, fillings, union_of
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import FEW, Balance, State
from cagework.solver.step import Cites, Step, Summand, joined, summing

_MOST_TRIED = 600
"""Ways to fill the cells of a sum that are gone through one by one."""

Groups = tuple[int, ...]
"""Sets of cells that all differ, as bits."""

Parts = tuple[tuple[int, tuple[int, ...]], ...]
"""Cells without repeats, each part with its sign."""


def balance_cites(state: State, balance: Balance, cells: tuple[int, ...]) -> Cites:
    """Cite the houses and cages of a balance, its placed cells, all that these open cells lack, and what makes
    these differ from one another.
    """
    frame = state.frame
    added: list[Summand] = [frame.group(number) for number in frame.areas[balance.area].added]
    taken: list[Summand] = []
    for one, sign in map(frame.taken, balance.taken):
        (taken if sign > 0 else added).append(one)
    names, candidates, full = frame.cells, state.candidates, frame.full
    eliminated = [(names[cell], full ^ candidates[cell]) for cell in balance.fixed]
    eliminated += [(names[cell], lack) for cell in cells if (lack := full & ~candidates[cell])]
    own = replace(summing(tuple(added), tuple(taken)), eliminated=tuple(eliminated))
    return with_sight(frame, own, cells)


def with_sight(frame: Frame, cites: Cites, cells: tuple[int, ...]) -> Cites:
    """The citation with the houses, cages and pairs that make cells differ of which it does not say so yet."""
    puzzle, split = frame.puzzle, len(frame.houses)
    said = cited_groups(frame, cites)
    unsaid = [
        (one, other) for one, other in combinations(sorted(cells), 2)
        if frame.sees[one] >> other & 1 and not _together(said, one, other)
    ]
    if not unsaid:
        return cites
    groups = 0
    for one, other in unsaid:
        groups |= frame.group_bits[one] & frame.group_bits[other]
    return joined(
        cites,
        Cites(houses=tuple([puzzle.houses[number] for number in members(groups) if number < split]),
              cages=tuple([puzzle.cages[number - split] for number in members(groups) if number >= split]),
              pairs=tuple([frame.differ[both] for both in unsaid if both in frame.differ])),
    )


def _meeting(frame: Frame, cells: tuple[int, ...]) -> int:
    """The houses and cages, numbered as groups, that hold two or more of these cells."""
    once = twice = 0
    for cell in cells:
        twice |= once & frame.group_bits[cell]
        once |= frame.group_bits[cell]
    return twice


def balance_reach(balance: Balance, masks: Mapping[int, int], groups: Groups) -> Reach:
    """Return what the open cells of a balance can hold, where cells of one group differ."""
    cells = balance.plus + balance.minus
    parts = balance_parts(balance, groups)
    kept = balances([(sign, tuple([masks[cell] for cell in part])) for sign, part in parts], balance.total)
    reach: Reach = {}
    for (_, part), held in zip(parts, kept, strict=True):
        reach.update(zip(part, held, strict=True))
    apart = apart_from(cells, tuple(parts), groups) if len(cells) <= FEW and all(kept[0]) else ()
    if apart and prod([reach[cell].bit_count() for cell in cells]) <= _MOST_TRIED:
        signs = (1,) * len(balance.plus) + (-1,) * len(balance.minus)
        held = _filled(tuple([reach[cell] for cell in cells]), balance.total, signs, apart)
        reach = dict(zip(cells, held, strict=True))
    return reach


def balance_parts(balance: Balance, groups: Groups) -> Parts:
    """Return the open cells as parts without repeats, innies first, each with its sign."""
    return _parted(balance.plus, balance.minus, groups)


@lru_cache(maxsize=1 << 12)
def _parted(plus: tuple[int, ...], minus: tuple[int, ...], groups: Groups) -> Parts:
    """The parts of either side."""
    return tuple([(sign, part) for sign, cells in ((1, plus), (-1, minus)) for part in _cut(cells, groups)])


def _cut(cells: tuple[int, ...], groups: Groups) -> tuple[tuple[int, ...], ...]:
    """Cells cut into sets of which each lies in a group, the largest first."""
    left = set_of(cells)
    parts: list[tuple[int, ...]] = []
    while left:
        best = max([group & left for group in groups], key=int.bit_count, default=0)
        if best.bit_count() < 2:
            return (*parts, *[(cell,) for cell in members(left)])
        parts.append(members(best))
        left ^= best
    return tuple(parts)


@lru_cache(maxsize=1 << 12)
def apart_from(
    cells: tuple[int, ...], parts: Parts, groups: Groups
) -> tuple[tuple[int, ...], ...]:
    """Return for each cell the numbers of those before it that it differs from; none where the parts say all."""
    seen = [set_of(part) for _, part in parts]
    apart = tuple([
        tuple([number for number in range(place) if _together(groups, cell, cells[number])])
        for place, cell in enumerate(cells)
    ])
    said = all(_together(seen, cell, cells[number])
               for cell, others in zip(cells, apart, strict=True) for number in others)
    return () if said else apart


def _together(sets: Iterable[int], one: int, other: int) -> bool:
    """Whether some set holds both cells."""
    both = 1 << one | 1 << other
    return any(not both & ~cells for cells in sets)


@lru_cache(maxsize=1 << 14)
def _filled(
    masks: tuple[int, ...], total: int, signs: tuple[int, ...], apart: tuple[tuple[int, ...], ...]
) -> tuple[int, ...]:
    """What each cell holds in some way to make the total; nothing where there is no way."""
    held = [0] * len(masks)
    for way in fillings(masks, total, _MOST_TRIED, signs, apart) or ():
        held = list(map(or_, held, way))
    return tuple(held)


def open_groups(frame: Frame, balance: Balance) -> Groups:
    """The groups in which open cells of a balance differ; those that it adds up or takes away come first."""
    key = balance.area, balance.plus, balance.minus, balance.taken
    known = frame.grouped.get(key)
    if known is None:
        known = frame.grouped[key] = _open_groups(frame, balance)
    return known


def _open_groups(frame: Frame, balance: Balance) -> Groups:
    cells = balance.plus + balance.minus
    own = [frame.group_sets[number] for number in frame.areas[balance.area].added]
    own += [frame.cage_sets[number] for number in balance.taken if number < len(frame.cages)]
    met = [frame.group_sets[number] for number in members(_meeting(frame, cells))]
    pairs = [1 << one | 1 << other for one, other in combinations(sorted(cells), 2)
             if (one, other) in frame.differ]
    return tuple(dict.fromkeys([*own, *met, *pairs]))


def cited_groups(frame: Frame, cites: Cites) -> Groups:
    """The groups that a citation has; those that it adds up or takes away come first."""
    facts = (*cites.reckoned, *cites.houses, *cites.cages, *cites.pairs)
    key = tuple(map(id, facts))         # whose identity is no other's as long as it is kept
    known = frame.cited_groups.get(key)
    if known is None:
        groups = [frame.cells_of(one) for one in facts if isinstance(one, House | Cage)]
        groups += [1 << frame.index[pair.first] | 1 << frame.index[pair.second] for pair in cites.pairs]
        known = frame.cited_groups[key] = tuple(dict.fromkeys(groups)), facts
    return known[0]


def open_reach(state: State, balance: Balance) -> Reach:
    """Return what the open cells of a balance can hold now."""
    masks = {cell: state.candidates[cell] for cell in balance.plus + balance.minus}
    return {} if 0 in masks.values() else balance_reach(balance, masks, open_groups(state.frame, balance))


def balance_of(frame: Frame, step: Step, masks: Sequence[int]) -> tuple[Balance, Reach, Groups]:
    """Rebuild the balance that a step rests on where cells hold `masks`, with what its open cells hold, and the
    groups in which cells differ by what the step cites. Cells with one digit left are fixed. Of two sums it is
    what they leave, the one less the other; a cell that they would count twice holds nothing.
    """
    (signs, total), *others = [counted_in(frame, added, taken) for added, taken in step.cites.additions]
    for more, makes in others:
        turn = _turn(signs, more, masks)
        total += turn * makes
        signs = {cell: signs.get(cell, 0) + turn * more.get(cell, 0) for cell in {**signs, **more}}
    plus: list[int] = []
    minus: list[int] = []
    held: dict[int, int] = {}
    fixed: list[int] = []
    for cell, sign in signs.items():
        mask = masks[cell]
        if sign and not mask & mask - 1:
            total -= sign * mask.bit_length()
            fixed.append(cell)
        elif sign:
            (plus if sign > 0 else minus).append(cell)
            held[cell] = 0 if others and abs(sign) > 1 else mask
    stated = any(isinstance(one, Sum) for one in step.cites.reckoned)
    balance = Balance(-1, tuple(plus), tuple(minus), total, tuple(fixed), (), stated)
    return balance, held, cited_groups(frame, step.cites)


def counted_in(
    frame: Frame, added: tuple[Summand, ...], taken: tuple[Summand, ...],
) -> tuple[Mapping[int, int], int]:
    """How often each cell counts in what is added less what is taken away, where that is not 0, and the total."""
    told = tuple(map(id, added)), tuple(map(id, taken))
    if told not in frame.counted:       # with what it is of, whose identity is no other's as long as it is kept
        frame.counted[told] = added, taken, _counted_in(frame, added, taken)
    return frame.counted[told][2]


def _counted_in(
    frame: Frame, added: tuple[Summand, ...], taken: tuple[Summand, ...],
) -> tuple[dict[int, int], int]:
    inside, outside = ([frame.cells_of(one) for one in ones if not isinstance(one, Sum)]
                       for ones in (added, taken))
    total = sum(map(frame.total, added)) - sum(map(frame.total, taken))
    more, less = union_of(inside), union_of(outside)
    signs = dict.fromkeys(members(more & ~less), 1) | dict.fromkeys(members(less & ~more), -1)
    for sets, union, sign in ((inside, more, 1), (outside, less, -1)):
        if sum(map(int.bit_count, sets)) > union.bit_count():      # some share cells
            once = 0
            for cells in sets:
                for cell in members(once & cells):
                    signs[cell] = signs.get(cell, 0) + sign
                once |= cells
    for sign, ones in ((1, added), (-1, taken)):
        for one in ones:
            if isinstance(one, Sum):
                for name in one.cells:
                    way = sign if name in one.plus else -sign
                    signs[frame.index[name]] = signs.get(frame.index[name], 0) + way
    return signs, total


def _turn(signs: Mapping[int, int], more: Mapping[int, int], masks: Sequence[int]) -> int:
    """Whether a second sum is to be taken away (-1) or added (1) for the open cells of both to cancel out."""
    alike = 0
    for cell, sign in more.items():
        mask = masks[cell]
        if mask & mask - 1:
            alike += sign * signs.get(cell, 0)
    return -1 if alike >= 0 else 1


def sums_told(frame: Frame, step: Step, masks: Sequence[int]) -> tuple[Balance, ...]:
    """Return each sum that a step rests on as it stands where cells hold `masks`; two as they are cited where they
    then share no cell.
    """
    if not step.cites.added_too:
        return (balance_told(frame, step, masks),)
    each = [replace(step, cites=replace(step.cites, added=added, taken=taken, added_too=(), taken_too=()))
            for added, taken in step.cites.additions]
    told = tuple([balance_told(frame, part, masks) for part in each])
    if shared_cells(*told):
        return told
    cited = frame.cited(step.cites)
    return tuple([balance_of(frame, part, cited)[0] for part in each])


def shared_cells(one: Balance, other: Balance) -> tuple[int, ...]:
    """Return the open cells of both sums."""
    return tuple(sorted({*one.plus, *one.minus}.intersection(other.plus + other.minus)))


def balance_told(frame: Frame, step: Step, masks: Sequence[int]) -> Balance:
    """Return the balance a step rests on as it stands where cells hold `masks`; as it is cited where one cell, or
    none, is then left of several.
    """
    placed = {frame.index[cell] for cell, _ in step.places}
    held = list(masks)
    for cell in placed:
        held[cell] = frame.full
    now, _, _ = balance_of(frame, step, held)
    if placed or len(now.plus + now.minus) > 1:
        return now
    return balance_of(frame, step, frame.cited(step.cites))[0]


def balance_still_bars(frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
    """Whether the balance a step cites still rules out all it removes, with just these digits missing."""
    balance, masks, groups = balance_of(frame, step, frame.lacking(eliminated))
    if 0 in masks.values():
        return False
    reach = balance_reach(balance, masks, groups)
    return all(not reach.get(frame.index[cell], mask) & mask for cell, mask in step.removes)


def balance_strikes(frame: Frame, step: Step) -> Step:
    """The step with all that the balance it cites rules out of its cells, by what it cites."""
    balance, masks, groups = balance_of(frame, step, frame.cited(step.cites))
    if 0 in masks.values():
        return step
    reach = balance_reach(balance, masks, groups)
    removes = tuple([(frame.cells[cell], gone) for cell, held in reach.items() if (gone := masks[cell] & ~held)])
    return replace(step, removes=removes) if removes and all(reach.values()) else step


def balance_by_notes(frame: Frame, step: Step, masks: Sequence[int]) -> Step:
    """The step with all that the balance it cites rules out of a few cells where they hold `masks`, citing no more
    of what they lack than that takes; the same where that is no more than it strikes.
    """
    balance, held, groups = balance_of(frame, step, masks)
    if not 2 <= len(held) <= FEW or 0 in held.values():
        return step
    reach = balance_reach(balance, held, groups)
    said = dict(step.removes)
    removes = said | {name: gone | said.get(name, 0) for cell, mask in held.items()
                      if (gone := mask & ~reach[cell]) for name in (frame.cells[cell],)}
    if not all(reach.values()) or removes == said:
        return step
    more = replace(step, removes=tuple(removes.items()))
    lacks = {cell: lack for cell in (*balance.fixed, *held) if (lack := frame.full & ~masks[cell])}
    for cell in held:
        fewer = {other: mask for other, mask in lacks.items() if other != cell}
        if balance_still_bars(frame, more, fewer):
            lacks = fewer
    missing = tuple([(frame.cells[cell], mask) for cell, mask in lacks.items()])
    return replace(more, cites=replace(step.cites, eliminated=missing))


def balance_cases(frame: Frame, masks: Sequence[int], step: Step) -> int:
    """Return how many cases a balance asks a reader to hold: two, the least and the greatest, where these bar all
    that goes; else the ways to make the sum of sets of digits that differ.
    """
    balance, held, groups = balance_of(frame, step, masks)
    parts = balance_parts(balance, groups)
    if len(parts) == len(held) and ends_bar(
            dict.fromkeys(balance.plus, 1) | dict.fromkeys(balance.minus, -1), held, balance.total,
            {frame.index[cell]: mask for cell, mask in step.removes}):
        return 2
    return ways_to_make(parts, held, balance.total)


def ways_to_make(parts: Parts, held: Masks, total: int) -> int:
    """Return in how many ways signed parts, each of distinct digits, can make a total: by sets of digits."""
    ways = {0: 1}
    if not parts:
        return int(total == 0)
    *firsts, (last, final) = parts
    for sign, part in firsts:
        union = union_of([held[cell] for cell in part])
        sums = {sum_: len(combinations_within(union, len(part), sum_)) for sum_ in _spread(union, len(part))}
        further: Counter[int] = Counter()
        for before, count in ways.items():
            for sum_, times in sums.items():
                further[before + sign * sum_] += count * times
        ways = further
    union = union_of([held[cell] for cell in final])
    return sum([count * len(combinations_within(union, len(final), last * (total - before)))
                for before, count in ways.items()])


def ends_bar(signs: Mapping[int, int], held: Masks, total: int, gone: Mapping[int, int]) -> bool:
    """Whether the least and greatest of all other cells of a sum, each with its sign, bar these digits."""
    ends = {cell: sorted((sign * (held[cell] & -held[cell]).bit_length(), sign * held[cell].bit_length()))
            for cell, sign in signs.items()}
    low, high = sum([end[0] for end in ends.values()]), sum([end[1] for end in ends.values()])
    return not any(
        low - ends[cell][0] <= total - signs[cell] * (index + 1) <= high - ends[cell][1]
        for cell, mask in gone.items() if cell in ends for index in members(mask))


def _spread(union: int, count: int) -> range:
    """The sums that so many of these digits can make; none where there are too few."""
    if union.bit_count() < count:
        return range(0)
    least, most = distinct_range(union, count)
    return range(least, most + 1)
