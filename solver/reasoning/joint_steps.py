"""Steps that rest on cages, a house and a sum at once: what they cite, whether it is enough, what they say."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from cagework.solver.bitset import members
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.joint_consistency import Facts, joint_problem
from cagework.solver.reasoning.state import Balance, State
from cagework.solver.reasoning.sums import balance_cites, balance_of
from cagework.solver.step import Cites, Step, Why, joined


def joint_cites(state: State, facts: Facts) -> Cites:
    """Cite the facts, all that their cells lack, and what makes the cells differ from one another."""
    frame = state.frame
    puzzle = frame.puzzle
    inside = facts.cells(frame)
    houses = [puzzle.houses[n] for n in facts.houses]
    houses += [puzzle.houses[n] for n, cells in enumerate(frame.house_sets)
               if n not in facts.houses and (cells & inside).bit_count() > 1]
    pairs = tuple([pair for (one, other), pair in frame.differ.items()
                   if one < other and inside >> one & 1 and inside >> other & 1])
    cages = [puzzle.cages[n] for n, cells in enumerate(frame.cage_sets)
             if n in facts.cages or (cells & inside).bit_count() > 1]
    own = Cites(state.missing(inside, frame.full), tuple(houses), tuple(cages), pairs)
    if facts.balance is None:
        return own
    sums = balance_cites(state, facts.balance, ())
    return replace(joined(sums, own), added=sums.added, taken=sums.taken)


def facts_of(frame: Frame, step: Step, eliminated: Mapping[int, int]) -> tuple[Facts, list[int]]:
    """Rebuild, from what a step cites with just these digits missing, its facts and who sees whom.

    Of the houses, only the one that the step names has to be full. Of the cages that the sum takes away,
    those with a cell in this house, or an open one in the sum, count as cages too.
    """
    cites = step.cites
    balance = balance_of(frame, step, eliminated)[0] if cites.added else None
    houses = [frame.house_number(house) for house in cites.houses]
    cages = [frame.cage_number(cage) for cage in cites.cages]
    named = step.why.get("house")
    full = tuple([number for number in houses if frame.puzzle.houses[number] == named])
    met = Facts((), full, balance).cells(frame)
    counted = tuple([
        number for number, cage in zip(cages, cites.cages, strict=True)
        if cage.total is not None and (cage not in cites.taken or frame.cage_sets[number] & met)
    ])
    return Facts(counted, full, balance), sight(frame, cites)


def sight(frame: Frame, cites: Cites) -> list[int]:
    """For each cell, which others differ from it by the houses, cages and pairs that are cited."""
    sets = [frame.house_sets[frame.house_number(house)] for house in cites.houses]
    sets += [frame.cage_sets[frame.cage_number(cage)] for cage in cites.cages]
    sets += [1 << frame.index[pair.first] | 1 << frame.index[pair.second] for pair in cites.pairs]
    sees = [0] * len(frame.cells)
    for cells in sets:
        for cell in members(cells):
            sees[cell] |= cells & ~(1 << cell)
    return sees


def still_barred(frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
    """Whether what a step cites still bars all it removes, with just these digits missing."""
    masks = frame.lacking(eliminated)
    if 0 in masks:
        return False
    facts, sees = facts_of(frame, step, eliminated)
    problem = joint_problem(frame, facts, tuple(sees))
    return all(problem.bars(masks, frame.index[cell], mask) for cell, mask in step.removes)


def joint_why(frame: Frame, facts: Facts) -> Why:
    """Name the cages that have to be filled, the house that has to be full, and what the sum says."""
    puzzle = frame.puzzle
    why: Why = {"cages": tuple([puzzle.cages[number] for number in facts.cages])}
    if facts.houses:
        why["house"] = puzzle.houses[facts.houses[0]]
    if facts.balance:
        balance = facts.balance
        why |= {
            "innies": tuple([frame.cells[cell] for cell in balance.plus]),
            "outies": tuple([frame.cells[cell] for cell in balance.minus]),
            "sum": abs(balance.total),
        }
    return why


def reworded(frame: Frame, step: Step) -> Step:
    """The step with its sentence as its citations, now fewer, give it."""
    facts, _ = facts_of(frame, step, {frame.index[cell]: mask for cell, mask in step.cites.eliminated})
    key = way_of_sum(facts.balance) if facts.balance else step.key
    return replace(step, key=key, why=step.why | joint_why(frame, facts))


SUMS: Mapping[str, str] = MappingProxyType({
    "inside": "By the sums of {houses} and the cages there, {innies} {innies:is|add to} {sum}.",
    "outside": "By the sum of the cages over {houses}, {outies}, which {outies:sticks|stick} out, "
               "{outies:is|add to} {sum}.",
    "more": "By the sums of {houses} and the cages there, {innies} {innies:is|make} {sum} more than "
            "{outies}{outies:| together}.",
    "less": "By the sums of {houses} and the cages there, {outies} {outies:is|make} {sum} more than "
            "{innies}{innies:| together}.",
    "same": "By the sums of {houses} and the cages there, {innies} {innies:equals|make as much as} "
            "{outies}{outies:| together}.",
})
"""What a balance says of its open cells."""


def way_of_sum(balance: Balance) -> str:
    """Return the key in `SUMS` of what a balance says."""
    if not balance.minus:
        return "inside"
    if not balance.plus:
        return "outside"
    return "same" if balance.total == 0 else ("more" if balance.total > 0 else "less")
