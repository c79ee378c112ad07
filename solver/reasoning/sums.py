"""What the techniques of cage arithmetic and of the 45 rule share: citing sums, and what follows of them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from types import MappingProxyType

from cagework.solver.model import Cage
from cagework.solver.reasoning.filling import balances, distinct_range, fits, supported
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import Balance, State
from cagework.solver.step import Cites, Step, Why

Reach = dict[int, int]
"""Cell -> digits it can hold."""

SumDeduction = tuple[str, Cites, Why, tuple[tuple[int, int], ...]]
"""The key of a sentence, the citation, the sentence's values, and the digits placed or removed."""


def removals(state: State, reach: Mapping[int, int]) -> tuple[tuple[int, int], ...]:
    """Return what each cell loses when it can hold only these digits."""
    return tuple([(cell, gone) for cell, mask in reach.items() if (gone := state.candidates[cell] & ~mask)])


def cage_cites(state: State, place: int) -> Cites:
    """Cite a cage and all that its cells lack."""
    frame = state.frame
    return Cites(state.missing(frame.cage_sets[place], frame.full), cages=(frame.puzzle.cages[place],))


def cage_left(frame: Frame, cage: Cage, eliminated: Mapping[int, int]) -> tuple[Reach, tuple[int, ...]]:
    """Return what a cage's cells can hold, and its combinations, where just these digits are missing."""
    reach, rest, total = _cage_open(frame, cage, eliminated)
    kept, left = fits(tuple([reach[cell] for cell in rest]), total)
    reach.update(zip(rest, kept, strict=True))
    return reach, left


def cage_still_bars(frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
    """Whether the cage a step cites still rules out all it removes, with just these digits missing."""
    reach, rest, total = _cage_open(frame, step.cites.cages[0], eliminated)
    kept = supported(tuple([reach[cell] for cell in rest]), total) if rest else ()
    reach.update(zip(rest, kept or [0] * len(rest), strict=True))
    return all(not reach[frame.index[cell]] & mask for cell, mask in step.removes)


def _cage_open(frame: Frame, cage: Cage, eliminated: Mapping[int, int]) -> tuple[Reach, list[int], int]:
    """A cage's cells with what they hold where just these digits are missing, the open ones, their total."""
    masks = {cell: frame.full & ~eliminated.get(cell, 0) for cell in map(frame.index.__getitem__, cage.cells)}
    total = cage.total or 0
    rest, used = [], 0
    for cell, mask in masks.items():
        if mask & mask - 1:
            rest.append(cell)
        else:
            used |= mask
            total -= mask.bit_length()
    for cell in rest:
        masks[cell] &= ~used
    return masks, rest, total


def balance_cites(state: State, balance: Balance, cells: tuple[int, ...]) -> Cites:
    """Cite the houses and cages of a balance, its placed cells, and all that these open cells lack."""
    frame = state.frame
    area = frame.areas[balance.area]
    houses = tuple([frame.puzzle.houses[number] for number in area.houses])
    cages = tuple([frame.puzzle.cages[number] for number in balance.taken])
    names, candidates, full = frame.cells, state.candidates, frame.full
    eliminated = [(names[cell], full ^ candidates[cell]) for cell in balance.fixed]
    eliminated += [(names[cell], lack) for cell in cells if (lack := full & ~candidates[cell])]
    return Cites(tuple(eliminated), houses, cages, added=houses, taken=cages)


def balance_why(state: State, balance: Balance) -> Why:
    """Name what a balance adds up: the houses, the open cells, the totals.

    `reckoned` is what the cages make, with placed cells they leave out put in and placed cells that stick out
    taken away. `greater` and `lesser` are the innies and outies, or the other way about.
    """
    frame = state.frame
    cells = frame.cells
    houses = tuple([frame.puzzle.houses[number] for number in frame.areas[balance.area].houses])
    total = frame.areas[balance.area].total
    innies = tuple([cells[cell] for cell in balance.plus])
    outies = tuple([cells[cell] for cell in balance.minus])
    return {
        "houses": houses if len(houses) > 1 else houses[0],
        "total": total,
        "reckoned": total - balance.total,
        "innies": innies,
        "outies": outies,
        "greater": innies if balance.total >= 0 else outies,
        "lesser": outies if balance.total >= 0 else innies,
        "sum": abs(balance.total),
    }


ONE_IN: Mapping[str, str] = MappingProxyType({
    "places": "{houses} {houses:adds|add} to {total} and the cages inside to {reckoned}, "
              "so {cell}, left over, is {digit}.",
    "found": "{houses} {houses:adds|add} to {total}. Cages and digits already found account for {reckoned} of it, "
             "so {cell}, left over, is {digit}.",
})
"""What is said of one innie, and where placed cells are counted too; over one house or several, as all these."""

ONE_OUT: Mapping[str, str] = MappingProxyType({
    "places": "The cages over {houses} add to {reckoned} and {houses} only to {total}, "
              "so {cell}, which sticks out, is {digit}.",
    "found": "Allowing for digits already found, the cages over {houses} add to {reckoned} and {houses} only to "
             "{total}, so {cell}, which sticks out, is {digit}.",
})
"""What is said of one outie."""

FEW_IN: Mapping[str, str] = MappingProxyType({
    "removes": "{houses} {houses:adds|add} to {total} and the cages inside to {reckoned}, "
               "so {innies}, left over, add to {sum}.",
    "found": "{houses} {houses:adds|add} to {total}. Cages and digits already found account for {reckoned} of it, "
             "so {innies}, left over, add to {sum}.",
})
"""What is said of innies."""

FEW_OUT: Mapping[str, str] = MappingProxyType({
    "removes": "The cages over {houses} add to {reckoned} and {houses} only to {total}, "
               "so {outies}, which stick out, add to {sum}.",
    "found": "Allowing for digits already found, the cages over {houses} add to {reckoned} and {houses} only to "
             "{total}, so {outies}, which stick out, add to {sum}.",
})
"""What is said of outies."""

IN_AND_OUT: Mapping[str, str] = MappingProxyType({
    "differ": "{houses} {houses:adds|add} to {total} and the cages over {houses:it|them} to {reckoned}. "
              "These leave out {innies} and stick out by {outies}, so {greater} {greater:is|make} {sum} more "
              "than {lesser}{lesser:| together}.",
    "differ_found": "{houses} {houses:adds|add} to {total} and the cages over {houses:it|them}, allowing for "
                    "digits already found, to {reckoned}. These leave out {innies} and stick out by {outies}, "
                    "so {greater} {greater:is|make} {sum} more than {lesser}{lesser:| together}.",
    "same": "{houses} {houses:adds|add} to {total}, and so do the cages over {houses:it|them}. These leave out "
            "{innies} and stick out by {outies}, so {innies} {innies:equals|make as much as} "
            "{outies}{outies:| together}.",
    "same_found": "{houses} {houses:adds|add} to {total}, and so do the cages over {houses:it|them}, allowing for "
                  "digits already found. These leave out {innies} and stick out by {outies}, so {innies} "
                  "{innies:equals|make as much as} {outies}{outies:| together}.",
})
"""What is said of innies and outies together."""


def key_of(balance: Balance) -> str:
    """Return which of the sentences above fits a balance."""
    if balance.plus and balance.minus:
        return ("differ" if balance.total else "same") + ("_found" if balance.fixed else "")
    if balance.fixed:
        return "found"
    return "places" if len(balance.plus + balance.minus) == 1 else "removes"


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


def balance_of(frame: Frame, step: Step, eliminated: Mapping[int, int]) -> tuple[Balance, Reach, tuple[int, ...]]:
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
        mask = frame.full & ~eliminated.get(cell, 0)
        if sign and not mask & mask - 1:
            total -= sign * mask.bit_length()
        elif sign:
            (plus if sign > 0 else minus).append(cell)
            masks[cell] = mask
    houses = tuple([frame.house_number(house) for house in step.cites.added])
    return Balance(-1, tuple(plus), tuple(minus), total, (), ()), masks, houses


def balance_still_bars(frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
    """Whether the balance a step cites still rules out all it removes, with just these digits missing."""
    balance, masks, houses = balance_of(frame, step, eliminated)
    if 0 in masks.values():
        return False
    reach = balance_reach(frame, balance, masks, houses)
    return all(not reach.get(frame.index[cell], mask) & mask for cell, mask in step.removes)


def few_steps(state: State, place: int, *, wide: bool, plus: bool, minus: bool) -> Iterator[SumDeduction]:
    """Yield sentence key, citation, values and removals for a balance of two to four open cells."""
    balance = balance_steps(state, place, wide=wide, plus=plus, minus=minus)
    if balance is None:
        return
    removes = removals(state, open_reach(state, balance))
    if removes:
        cites = balance_cites(state, balance, balance.plus + balance.minus)
        yield key_of(balance), cites, balance_why(state, balance), removes


def lone_step(state: State, place: int, *, wide: bool, inside: bool) -> Iterator[SumDeduction]:
    """Yield sentence key, citation, values and the placing where one cell is open, an innie if `inside`."""
    balance = balance_steps(state, place, wide=wide, plus=inside, minus=not inside)
    if balance is None:
        return
    (cell,) = balance.plus + balance.minus
    digit = balance.total if inside else -balance.total
    if 1 <= digit <= state.frame.size and state.candidates[cell] >> digit - 1 & 1:
        why: Why = balance_why(state, balance) | {"cell": state.frame.cells[cell], "digit": digit}
        yield key_of(balance), balance_cites(state, balance, ()), why, ((cell, 1 << digit - 1),)


def group_range(masks: list[int]) -> tuple[int, int] | None:
    """Return the least and greatest sum of distinct digits out of all these together; None where too few."""
    union = 0
    for mask in masks:
        union |= mask
    return distinct_range(union, len(masks)) if union.bit_count() >= len(masks) else None


