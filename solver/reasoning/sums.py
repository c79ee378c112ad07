"""What the techniques of the 45 rule share: citing a balance, and what follows of it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import ClassVar

from cagework.solver.bitset import members, set_of
from cagework.solver.model import Cage, Sum
from cagework.solver.reasoning.balancing import (
    balance_by_notes,
    balance_cases,
    balance_cites,
    balance_still_bars,
    balance_strikes,
    balance_told,
    counted_in,
    open_reach,
)
from cagework.solver.reasoning.cage_sums import no_other_filling, removals
from cagework.solver.reasoning.filling import fits, union_of
from cagework.solver.reasoning.frame import AreaKind, Frame
from cagework.solver.reasoning.state import Balance, State
from cagework.solver.reasoning.technique import MOST_NAMED, Scope, Technique
from cagework.solver.step import Addition, Counted, Digits, Known, Stated, Step, Why, area_of


def balance_why(frame: Frame, summed: Addition, balance: Balance) -> Why:
    """Name what a balance adds up: the houses, or a block of runs, the open cells, the totals; `summed` is what it
    adds up and takes away.

    `reckoned` is what the cages make, with placed cells they leave out put in and placed cells that stick out
    taken away: `counted` are these. `greater` and `lesser` are the innies and outies, or the other way about. Of
    sums that rules state, which count as cages do, `known` is what makes as much, and `now` what is left.
    """
    cells, (added, taken) = frame.cells, summed
    area, (signs, _) = area_of(added), counted_in(frame, added, taken)
    found = [(cells[cell], signs[cell] > 0) for cell in sorted(balance.fixed)]
    left_out = tuple([cell for cell, inside in found if inside])
    counted = Counted(left_out, tuple([cell for cell, inside in found if not inside]))
    cages = any(isinstance(one, Cage) for one in taken)
    groups = [one for one in added if not isinstance(one, Sum)]
    total = frame.told(sum(map(frame.total, groups)), sum([len(one.cells) for one in groups]))
    innies = tuple([cells[cell] for cell in balance.plus])
    outies = tuple([cells[cell] for cell in balance.minus])
    left = frame.told(balance.total, len(innies), len(outies))
    by: Why = {}
    if balance.stated:
        sums = sorted([one for one in (*added, *taken) if isinstance(one, Sum)], key=frame.total)
        by = {"stated": Stated(tuple(sums)), "now": Sum(innies, outies, (balance.total,)),
              "known": Known(counted, cages, sum(any(one.totals) for one in map(frame.source_of, sums)))}
    return by | {
        "houses": area[0] if isinstance(area, tuple) and len(area) == 1 else area,
        "total": total,
        "reckoned": total - left,
        "counted": counted,
        "inside": replace(counted, inside=True) if cages else left_out,
        "innies": innies,
        "outies": outies,
        "cells": innies + outies,
        "greater": innies if left >= 0 else outies,
        "lesser": outies if left >= 0 else innies,
        "sum": abs(left),
    }


BY: Mapping[str, str] = MappingProxyType({
    "by": "{stated}; {houses} {houses:adds|add} to {total} and {known} to {reckoned}, so {now:so}.",
})
"""What is said where sums that rules state count, too."""

CUT_TO_ONE = "{before} ({earlier}), and {found:list}, so {cell} is {digit}."

ONE_IN: Mapping[str, str] = MappingProxyType({
    "in": "{houses} {houses:adds|add} to {total} and {inside} to {reckoned}, so {cell}, left over, is {digit}.",
    "cut": CUT_TO_ONE, **BY,
})
"""What is said of one innie, over one house or several, as all these."""

IN_BRIEF: Mapping[str, str] = MappingProxyType({
    "in": "{cell} is {digit} ({houses} {houses:adds|add} to {total}, {inside} to {reckoned})",
    "out": "{cell} is {digit} (the cages over {houses}{counted} add to {reckoned}, {houses} only to {total})",
    "cut": "{cell} is {digit} ({tie:it}, {earlier})",
    "by": "{cell} is {digit} ({stated}; {houses} {houses:adds|add} to {total}, {known} to {reckoned})",
})
"""What is said of one innie or outie in brief."""

ONE_OUT: Mapping[str, str] = MappingProxyType({
    "out": "The cages over {houses}{counted} add to {reckoned} and {houses} only to {total}, so {cell}, which "
           "sticks out, is {digit}.",
    "cut": CUT_TO_ONE, **BY,
})
"""What is said of one outie."""

_AGAIN = {
    "again": "{now} ({earlier}).",
    "cut": "{before} ({earlier}), and {found:list}, so {now:so}.",
}

IN: Mapping[str, str] = MappingProxyType({
    "in": "{houses} {houses:adds|add} to {total} and {inside} to {reckoned}, so {innies}, left over, add to "
          "{sum}.",
    **_AGAIN,
})
"""What is said of innies, the first time and again (`ledger`)."""

OUT: Mapping[str, str] = MappingProxyType({
    "out": "The cages over {houses}{counted} add to {reckoned} and {houses} only to {total}, so {outies}, which "
           "stick out, add to {sum}.",
    **_AGAIN,
})
"""What is said of outies."""

IN_AND_OUT: Mapping[str, str] = MappingProxyType({
    "differ": "{houses} {houses:adds|add} to {total} and the cages over {houses:it|them}{counted} to {reckoned}. "
              "These leave out {innies} and stick out by {outies}, so {greater} {greater:is|make} {sum} more "
              "than {lesser}{lesser:| together}.",
    "same": "{houses} {houses:adds|add} to {total} and the cages over {houses:it|them}{counted} to as much. "
            "These leave out {innies} and stick out by {outies}, so {innies} {innies:equals|make as much as} "
            "{outies}{outies:| together}.",
    **_AGAIN,
})
"""What is said of innies and outies together."""

FEW: Mapping[str, str] = MappingProxyType({
    **IN, **OUT, **IN_AND_OUT, **BY, "+set": "They are {digits:set}{reason}.",
    "set": "{cells} are {digits:set}{reason}.",
    "+ends": "{greater} {greater:is|make} at most {most} and {lesser} {lesser:is|make} at least {least}, so "
             "{greater} {greater:is|are} {digits:set} and {lesser} {lesser:is|are} {others:set}.",
})
"""What is said of a few cells, and besides where they have one way to make their sum, or where only the most of
the ones and the least of the others make their difference; by their names where the sum was said right before. A
step may be told where more cells are open than when it was found: innies may have outies beside them.
"""


def key_of(frame: Frame, balance: Balance) -> str:
    """Return which of the sentences above fits a balance."""
    return "by" if balance.stated else leaves_of(frame, balance)


def leaves_of(frame: Frame, balance: Balance) -> str:
    """Return what a balance leaves, by the sentence that says it."""
    if balance.plus and balance.minus:
        return "differ" if frame.told(balance.total, len(balance.plus), len(balance.minus)) else "same"
    return "in" if balance.plus else "out"


INNIES, OUTIES, INNIES_AND_OUTIES = frozenset({"in"}), frozenset({"out"}), frozenset({"differ", "same"})
"""What a balance may leave, as its sentences' keys."""


def is_new(state: State, place: int) -> bool:
    """Whether an area says something of its open cells that no part of it says by itself."""
    terms, area = state.open_terms, state.frame.areas[place]
    least = terms[place]
    for one, other in area.splits:
        if terms[one] + terms[other] <= least:
            return False
    return ((area.kind is not AreaKind.RUNS or _hangs_together(state, place))
            and (not area.stated or _takes_all(state, place)))


def _takes_all(state: State, place: int) -> bool:
    """Whether an area takes all sums that it may, they or cages make more than nothing, and it leaves less than it
    would without one of them.
    """
    frame, area, terms = state.frame, state.frame.areas[place], state.open_terms
    taken = [frame.taken(number)[0] for number in state.balance(place).taken]
    return (sum(isinstance(one, Sum) for one in taken) == len(area.stated) and any(map(frame.total, taken))
            and all(terms[number] > terms[place] for number in area.plainer))


def _hangs_together(state: State, place: int) -> bool:
    """Whether open cells tie all runs that an area adds up and takes away to one another, but for filled ones."""
    frame, open_ = state.frame, ~state.placed
    added = [frame.group_sets[number] & open_ for number in frame.areas[place].added]
    taken = [frame.cage_sets[number] & open_ for number in state.balance(place).taken]
    reached, *left = filter(None, [*added, *taken])
    while apart := [cells for cells in left if not cells & reached]:
        if len(apart) == len(left):
            return False
        reached, left = union_of([reached, *[cells for cells in left if cells & reached]]), apart
    return any(taken)


def _balance(state: State, place: int, kind: AreaKind, leaves: frozenset[str]) -> Balance | None:
    """Return the balance of an area of this kind where it leaves what is asked for and no part says as much."""
    if state.frame.areas[place].kind is not kind or not is_new(state, place):
        return None
    balance = state.balance(place)
    what = INNIES_AND_OUTIES if balance.plus and balance.minus else INNIES if balance.plus else OUTIES
    return balance if what <= leaves else None


class FewCells(Technique):
    """What the techniques share that rest on a balance of two to four open cells: of which `kind` of area, and
    what it `leaves`.
    """

    look = Scope.FEW
    many_cases = True
    unites = True
    kind: ClassVar[AreaKind]
    leaves: ClassVar[frozenset[str]]

    def within(self, frame: Frame) -> int:
        """Areas of its kind."""
        return frame.area_kinds[self.kind]

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step an area."""
        balance = _balance(state, place, self.kind, self.leaves)
        removes = removals(state, open_reach(state, balance)) if balance else ()
        if balance and removes:
            cites = balance_cites(state, balance, balance.plus + balance.minus)
            yield self.step(state, "", cites, {}, removes=removes)

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """The least and the greatest where these say it, else the ways to make the sum."""
        return balance_cases(frame, masks, step)

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The sum still rules these digits out."""
        return balance_still_bars(frame, step, eliminated)

    def whole(self, frame: Frame, step: Step) -> Step:
        """The sum leaves no digit that it rules out, where a reader can see them all go."""
        more = balance_strikes(frame, step)
        return step if self.asks_too_much(frame, frame.cited(step.cites), more) else more

    def by_notes(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """All that the sum rules out of its cells, as their notes stand."""
        more = balance_by_notes(frame, step, masks)
        return step if self.asks_too_much(frame, masks, more) else more

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Say what is open now; a pair, a triple or a quad by name."""
        balance = balance_told(frame, step, masks)
        key, why = key_of(frame, balance), balance_why(frame, step.cites.additions[0], balance)
        differ = balance.plus and balance.minus
        named = (_ends if differ else _named)(frame, step, balance, masks)
        key += f"+{'ends' if differ else 'set'}" if named else ""
        return replace(step, key=key, why=why | named if named else why)


def _named(frame: Frame, step: Step, balance: Balance, masks: Sequence[int]) -> Why | None:
    """Name the digits of a few cells that differ, where one way is left to make their sum, and the step strikes
    just what is not in it.
    """
    cells = balance.plus + balance.minus
    held = {cell: masks[cell] for cell in cells}
    if len(cells) > MOST_NAMED or not _differ(frame, cells):
        return None
    _, ways = fits(tuple(held.values()), abs(balance.total))
    if len(ways) != 1 or not _leaves(frame, step, held, ways[0]):
        return None
    reason = no_other_filling(frame, held, abs(balance.total), 0, ways)
    return {"digits": Digits(ways[0]), "reason": reason}


def _ends(frame: Frame, step: Step, balance: Balance, masks: Sequence[int]) -> Why | None:
    """Name the digits on both sides of a difference that only the most of the one and the least of the other make,
    where the cells of each differ and the step strikes just what is not in these.
    """
    turn = 1 if frame.told(balance.total, len(balance.plus), len(balance.minus)) >= 0 else -1
    more, less = (balance.plus, balance.minus)[::turn]
    if max(len(more), len(less)) not in range(2, MOST_NAMED + 1) or not _differ(frame, more) or (
            not _differ(frame, less)):
        return None
    high, low = ({cell: masks[cell] for cell in side} for side in (more, less))
    digits = union_of(1 << index for index in members(union_of(high.values()))[-len(more):])
    others = union_of(1 << index for index in members(union_of(low.values()))[:len(less)])
    differ = sum(Digits(digits)) - sum(Digits(others))
    forced = (len(Digits(digits)), len(Digits(others)), differ) == (len(more), len(less), turn * balance.total)
    if not forced or not _leaves(frame, step, high, digits) or not _leaves(frame, step, low, others):
        return None
    return {"most": frame.made_by(digits), "least": frame.made_by(others), "digits": Digits(digits),
            "others": Digits(others)}


def _differ(frame: Frame, cells: tuple[int, ...]) -> bool:
    """Whether all these cells lie in one house or cage."""
    together = set_of(cells)
    return any(not together & ~group for group in frame.group_sets)


def _leaves(frame: Frame, step: Step, held: Mapping[int, int], digits: int) -> bool:
    """Whether a step leaves cells just what they hold of these digits."""
    removes = {frame.index[cell]: mask for cell, mask in step.removes}
    return all(mask & ~removes.get(cell, 0) == mask & digits for cell, mask in held.items())


class LoneCell(Technique):
    """What the techniques share that rest on a balance of one open cell: of which `kind` of area, and what it
    `leaves`.
    """

    look = Scope.ALONE
    simple = True
    in_brief = IN_BRIEF
    kind: ClassVar[AreaKind]
    leaves: ClassVar[frozenset[str]]

    def within(self, frame: Frame) -> int:
        """Areas of its kind."""
        return frame.area_kinds[self.kind]

    def asks(self, step: Step) -> str:
        """What cages leave over, where nothing else counts."""
        return "" if step.key in BY else self.question

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step an area."""
        balance = _balance(state, place, self.kind, self.leaves)
        if balance is None:
            return
        (cell,) = balance.plus + balance.minus
        digit = balance.total if balance.plus else -balance.total
        if 1 <= digit <= state.frame.size and state.candidates[cell] >> digit - 1 & 1:
            cites = balance_cites(state, balance, ())
            yield self.step(state, "", cites, {}, places=((cell, 1 << digit - 1),))

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Say what the sum leaves for the cell."""
        balance = balance_told(frame, step, masks)
        ((cell, digit),) = step.places
        why = balance_why(frame, step.cites.additions[0], balance) | {"cell": cell, "digit": digit}
        return replace(step, key=key_of(frame, balance), why=why)
