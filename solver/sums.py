"""What the techniques of cage arithmetic and of the 45 rule share: citing sums, and what follows of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import MappingProxyType

from cagework.solver.fill import balances, distinct_range, fits
from cagework.solver.frame import Frame
from cagework.solver.model import Cage
from cagework.solver.state import Balance, State
from cagework.solver.step import Cites, Step, Value, Why

Reach = dict[int, int]
"""Cell -> digits it can hold."""


def removals(state: State, reach: Mapping[int, int]) -> tuple[tuple[int, int], ...]:
    """Return what each cell loses when it can hold only these digits."""
    return tuple([(cell, gone) for cell, mask in reach.items() if (gone := state.candidates[cell] & ~mask)])


def cage_cites(state: State, place: int) -> Cites:
    """Cite a cage and all that its cells lack."""
    frame = state.frame
    return Cites(state.missing(frame.cage_sets[place], frame.full), cages=(frame.puzzle.cages[place],))


def cage_left(frame: Frame, cage: Cage, struck: Mapping[int, int]) -> tuple[Reach, tuple[int, ...]]:
    """Return what a cage's cells can hold, and its combinations, where just these digits are missing."""
    cells = [frame.index[cell] for cell in cage.cells]
    masks = {cell: frame.full & ~struck.get(cell, 0) for cell in cells}
    total = cage.total or 0
    filled = [cell for cell in cells if not masks[cell] & masks[cell] - 1]
    used = 0
    for cell in filled:
        used |= masks[cell]
        total -= masks[cell].bit_length()
    rest = [cell for cell in cells if cell not in filled]
    kept, left = fits(tuple([masks[cell] & ~used for cell in rest]), total)
    reach = dict(zip(rest, kept, strict=True))
    reach.update((cell, masks[cell]) for cell in filled)
    return reach, left


def cage_still_bars(frame: Frame, step: Step, struck: Mapping[int, int]) -> bool:
    """Whether the cage a step cites still rules out all it removes, with just these digits missing."""
    reach, _ = cage_left(frame, step.cites.cages[0], struck)
    return all(not reach[frame.index[cell]] & mask for cell, mask in step.removes)


def balance_cites(state: State, balance: Balance, cells: tuple[int, ...]) -> Cites:
    """Cite the houses and cages of a balance, its placed cells, and all that these open cells lack."""
    frame = state.frame
    area = frame.areas[balance.area]
    houses = tuple([frame.puzzle.houses[number] for number in area.houses])
    cages = tuple([frame.puzzle.cages[number] for number in balance.taken])
    names, candidates, full = frame.cells, state.candidates, frame.full
    struck = [(names[cell], full ^ candidates[cell]) for cell in balance.fixed]
    struck += [(names[cell], lack) for cell in cells if (lack := full & ~candidates[cell])]
    return Cites(tuple(struck), houses, cages, added=houses, taken=cages)


def balance_why(state: State, balance: Balance) -> Why:
    """Name what a balance adds up: the houses, the cages, the placed cells, the open cells, the totals."""
    frame = state.frame
    cells = frame.cells
    houses = tuple([frame.puzzle.houses[number] for number in frame.areas[balance.area].houses])
    cages = tuple([frame.puzzle.cages[number] for number in balance.taken])
    return {
        "houses": houses if len(houses) > 1 else houses[0],
        "total": frame.areas[balance.area].total,
        "cages": cages,
        "cage_sum": sum([cage.total or 0 for cage in cages]),
        "filled": tuple([cells[cell] for cell in balance.fixed]),
        "innies": tuple([cells[cell] for cell in balance.plus]),
        "outies": tuple([cells[cell] for cell in balance.minus]),
        "sum": abs(balance.total),
        "excess": balance.total,
    }


DIFFERENCES: Mapping[str, str] = MappingProxyType({
    "more": "By the sums of {houses}, {innies} make {sum} more than {outies}.",
    "less": "By the sums of {houses}, {outies} make {sum} more than {innies}.",
    "same": "By the sums of {houses}, {innies} and {outies} add to the same.",
})
"""What is said of innies and outies together, over one house or several."""


def way_of(why: Mapping[str, Value]) -> str:
    """Return which is more, the innies or the outies: a key of `DIFFERENCES`."""
    excess = why["excess"]
    assert isinstance(excess, int)
    return "same" if excess == 0 else ("more" if excess > 0 else "less")


def balance_reach(
    frame: Frame, balance: Balance, masks: Mapping[int, int], houses: tuple[int, ...]
) -> Reach:
    """Return what the open cells of a balance can hold; cells of one of its houses, or one cage, differ."""
    parts = balance_parts(frame, balance, houses)
    kept = balances([(sign, tuple([masks[cell] for cell in part])) for sign, part in parts], balance.total)
    reach: Reach = {}
    for (_, part), held in zip(parts, kept, strict=True):
        reach.update(zip(part, held, strict=True))
    return reach


def balance_parts(frame: Frame, balance: Balance, houses: tuple[int, ...]) -> list[tuple[int, list[int]]]:
    """Return the open cells as parts without repeats, with their sign: innies by house, outies by cage.

    Outies of different cages may repeat a digit, and so may innies of different houses.
    """
    parts: dict[tuple[int, int], list[int]] = {}
    for cell in balance.plus:
        home = next(number for number in houses if frame.house_sets[number] >> cell & 1)
        parts.setdefault((1, home), []).append(cell)
    for cell in balance.minus:
        home = next(number for number in frame.cages_of[cell] if frame.totals[number] is not None)
        parts.setdefault((-1, home), []).append(cell)
    return [(sign, part) for (sign, _), part in parts.items()]


def open_reach(state: State, balance: Balance) -> Reach:
    """Return what the open cells of a balance can hold now."""
    masks = {cell: state.candidates[cell] for cell in balance.plus + balance.minus}
    if 0 in masks.values():
        return {}
    return balance_reach(state.frame, balance, masks, state.frame.areas[balance.area].houses)


def balance_steps(state: State, place: int, *, wide: bool, plus: bool, minus: bool) -> Balance | None:
    """Return the balance of an area where it has the shape asked for, and no part of it says as much.

    `wide` asks for several houses; `plus` and `minus` whether there must be innies and outies.
    """
    area = state.frame.areas[place]
    if (len(area.houses) > 1) is not wide:
        return None
    terms = state.open_terms
    for one, other in area.splits:
        if terms[one] + terms[other] <= terms[place]:
            return None
    balance = state.balance(place)
    return balance if bool(balance.plus) is plus and bool(balance.minus) is minus else None


def balance_of(frame: Frame, step: Step, struck: Mapping[int, int]) -> tuple[Balance, Reach, tuple[int, ...]]:
    """Rebuild, from what a step cites, the balance it rests on, its cells' candidates with just these
    missing, and its houses.
    """
    signs: dict[int, int] = {}
    total = 0
    for house in step.cites.added:
        total += frame.size * (frame.size + 1) // 2
        for number in map(frame.index.__getitem__, house.cells):
            signs[number] = signs.get(number, 0) + 1
    for cage in step.cites.taken:
        total -= cage.total or 0
        for number in map(frame.index.__getitem__, cage.cells):
            signs[number] = signs.get(number, 0) - 1
    plus: list[int] = []
    minus: list[int] = []
    masks: dict[int, int] = {}
    for cell, sign in signs.items():
        mask = frame.full & ~struck.get(cell, 0)
        if sign and not mask & mask - 1:
            total -= sign * mask.bit_length()
        elif sign:
            (plus if sign > 0 else minus).append(cell)
            masks[cell] = mask
    houses = tuple([frame.puzzle.houses.index(house) for house in step.cites.added])
    return Balance(-1, tuple(plus), tuple(minus), total, (), ()), masks, houses


def balance_still_bars(frame: Frame, step: Step, struck: Mapping[int, int]) -> bool:
    """Whether the balance a step cites still rules out all it removes, with just these digits missing."""
    balance, masks, houses = balance_of(frame, step, struck)
    if 0 in masks.values():
        return False
    reach = balance_reach(frame, balance, masks, houses)
    return all(not reach.get(frame.index[cell], mask) & mask for cell, mask in step.removes)


def few_steps(state: State, place: int, *, wide: bool, plus: bool, minus: bool) -> Iterator[
        tuple[Cites, Why, tuple[tuple[int, int], ...]]]:
    """Yield citation, values and removals for a balance of two to four open cells."""
    balance = balance_steps(state, place, wide=wide, plus=plus, minus=minus)
    if balance is None:
        return
    removes = removals(state, open_reach(state, balance))
    if removes:
        cites = balance_cites(state, balance, balance.plus + balance.minus)
        yield cites, balance_why(state, balance), removes


def lone_step(state: State, place: int, *, wide: bool, inside: bool) -> Iterator[
        tuple[Cites, Why, tuple[tuple[int, int], ...]]]:
    """Yield citation, values and the placing for a balance with one open cell, an innie if `inside`."""
    balance = balance_steps(state, place, wide=wide, plus=inside, minus=not inside)
    if balance is None:
        return
    (cell,) = balance.plus + balance.minus
    digit = balance.total if inside else -balance.total
    if 1 <= digit <= state.frame.size and state.candidates[cell] >> digit - 1 & 1:
        why: Why = balance_why(state, balance) | {"cell": state.frame.cells[cell], "digit": digit}
        yield balance_cites(state, balance, ()), why, ((cell, 1 << digit - 1),)


def group_range(masks: list[int]) -> tuple[int, int] | None:
    """Return the least and greatest sum of distinct digits out of all these together; None where too few."""
    union = 0
    for mask in masks:
        union |= mask
    return distinct_range(union, len(masks)) if union.bit_count() >= len(masks) else None


