"""Small changes that make a puzzle sound, each proved before it is offered; and parts it could do without."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import combinations

from cagework.solver.combine import sum_range
from cagework.solver.editing.why import NODES, Conflict, Swap, swap
from cagework.solver.model import Answer, Cage, Cell, Given, Puzzle, connected
from cagework.solver.search.exact import Outcome, Verdict, solve

_MOST_GIVENS = 6
_WIDEST = 12
"""Cages of more cells are not searched for a place to split: there are too many."""


class RepairKind(StrEnum):
    """What a repair does, cheapest for the constructor first."""

    TOTAL = "total"        # a cage without a total gets one
    GIVEN = "given"        # one digit is printed
    UNMERGE = "unmerge"    # one cage becomes two of two cells or more
    CUT = "cut"            # one cell is cut off a cage
    SUM = "sum"            # a cage gets another total
    DIGIT = "digit"        # another digit is printed in a cell


@dataclass(frozen=True, slots=True)
class Repair:
    """One change that leaves exactly one answer.

    `givens` are printed (more than one only where no single change was found), in place of others in their cells;
    otherwise `cage` is replaced by `parts`. `repaired` is the sound puzzle.
    """

    kind: RepairKind
    repaired: Puzzle
    answer: Answer
    givens: tuple[Given, ...] = ()
    cage: Cage | None = None
    parts: tuple[Cage, ...] = ()


@dataclass(frozen=True, slots=True)
class Spare:
    """What a sound puzzle could do without: parts that can each go alone, and a largest set found that can go
    together.
    """

    givens: tuple[Given, ...]
    givens_together: tuple[Given, ...]
    totals: tuple[Cage, ...]
    totals_together: tuple[Cage, ...]


def repairs(puzzle: Puzzle, found: Swap, *, each: int = 3, seconds: float | None = 10.0) -> tuple[Repair, ...]:
    """Up to `each` proved repairs of every kind, cheapest kind first, sought for `seconds` at most; with None,
    NODES a change are the only bound.

    Changes inside the swapped region are tried first; both answers are taken in turn for the intended one.
    """
    deadline = math.inf if seconds is None else time.perf_counter() + seconds
    cages = not puzzle.shape    # runs end where the black squares are
    offered: list[Repair] = []
    for kind, candidates in (
        (RepairKind.TOTAL, _totals(puzzle, found)),
        (RepairKind.GIVEN, _givens(puzzle, found)),
        (RepairKind.UNMERGE, _splits(puzzle, found, lone=False) if cages else ()),
        (RepairKind.CUT, _splits(puzzle, found, lone=True) if cages else ()),
    ):
        count = 0
        for changed, givens, cage, parts in candidates:
            if count == each or time.perf_counter() > deadline:
                break
            verdict = solve(changed, nodes=NODES)
            if verdict.outcome is Outcome.SOUND and verdict.answer is not None:
                offered.append(Repair(kind, changed, verdict.answer, givens, cage, parts))
                count += 1
    if not offered and time.perf_counter() < deadline:
        offered += _several_givens(puzzle, found)
    return tuple(offered)


def mendings(
    puzzle: Puzzle, found: Conflict, *, most: int = 6, seconds: float | None = 10.0,
) -> tuple[Repair, ...]:
    """Up to `most` proved repairs of a puzzle without an answer, the smallest change first: one of its sums or
    givens is another. Sought for `seconds` at most; with None, NODES a change are the only bound.

    Only parts of the conflict are tried: as these contradict each other, one of them has to change.
    """
    deadline = math.inf if seconds is None else time.perf_counter() + seconds
    offered: list[tuple[int, Repair]] = []
    for member in found.members:
        if isinstance(member, Cage) and member.total is not None:
            offered += _retotalled(puzzle, member, member.total, deadline)
        elif isinstance(member, Given):
            offered += _reprinted(puzzle, member, deadline)
    return tuple(repair for _, repair in sorted(offered, key=lambda one: one[0])[:most])


def _retotalled(puzzle: Puzzle, cage: Cage, old: int, deadline: float) -> Iterator[tuple[int, Repair]]:
    """Other totals of a cage that leave one answer, each with how far it is from the old one."""
    least, highest = (
        sum_range(puzzle.size, len(cage.cells), puzzle.least) if len(cage.cells) <= puzzle.size else (1, 0))
    free = _sought(_recaged(puzzle, cage, (Cage(cage.cells, None),)), deadline)
    if free.outcome is Outcome.NO_ANSWER:
        return
    if free.outcome is Outcome.SOUND and free.answer:       # whatever its total, there is one answer
        least = highest = sum(free.answer.at(cell) for cell in cage.cells)
    for total in sorted(range(least, highest + 1), key=lambda one: abs(one - old)):
        changed = Cage(cage.cells, total)
        verdict = _sought(_recaged(puzzle, cage, (changed,)), deadline)
        if verdict.outcome is Outcome.SOUND and verdict.answer:
            yield abs(total - old), Repair(RepairKind.SUM, _recaged(puzzle, cage, (changed,)), verdict.answer,
                                           cage=cage, parts=(changed,))


def _reprinted(puzzle: Puzzle, given: Given, deadline: float) -> Iterator[tuple[int, Repair]]:
    """Other digits of a given that leave one answer; how far they are says nothing."""
    others = tuple(one for one in puzzle.givens if one != given)
    if _sought(replace(puzzle, givens=others), deadline).outcome is Outcome.NO_ANSWER:
        return
    for digit in puzzle.digits:
        changed = _with_givens(replace(puzzle, givens=others), (Given(given.cell, digit),))
        verdict = _sought(changed, deadline)
        if verdict.outcome is Outcome.SOUND and verdict.answer:
            yield 1, Repair(RepairKind.DIGIT, changed, verdict.answer, givens=(Given(given.cell, digit),))


def _sought(puzzle: Puzzle, deadline: float) -> Verdict:
    """A verdict within NODES, and none after the deadline."""
    if time.perf_counter() > deadline:
        return Verdict(Outcome.UNDECIDED, None, None, 0)
    return solve(puzzle, nodes=NODES)


_Candidate = tuple[Puzzle, tuple[Given, ...], Cage | None, tuple[Cage, ...]]


def _intended(found: Swap) -> tuple[Answer, Answer]:
    return found.one, found.other


def _totals(puzzle: Puzzle, found: Swap) -> Iterator[_Candidate]:
    for answer in _intended(found):
        for cage in puzzle.cages:
            if cage.total is None:
                summed = Cage(cage.cells, sum(answer.at(cell) for cell in cage.cells))
                yield _recaged(puzzle, cage, (summed,)), (), cage, (summed,)


def _givens(puzzle: Puzzle, found: Swap) -> Iterator[_Candidate]:
    printed = {given.cell for given in puzzle.givens}
    region = set(found.region)
    order = [*found.region, *(cell for cell in found.cells if cell not in region)]
    order += [cell for cell in puzzle.cells if cell not in order]
    seen: set[Given] = set()
    for cell in order:
        for answer in _intended(found):
            given = Given(cell, answer.at(cell))
            if cell not in printed and given not in seen:
                seen.add(given)
                yield _with_givens(puzzle, (given,)), (given,), None, ()


def _several_givens(puzzle: Puzzle, found: Swap) -> list[Repair]:
    """Givens of one answer, each taken where what is left can still swap, until nothing can."""
    chosen: tuple[Given, ...] = ()
    while len(chosen) < _MOST_GIVENS:
        chosen += (Given(found.region[0], found.one.at(found.region[0])),)
        repaired = _with_givens(puzzle, chosen)
        verdict = solve(repaired, nodes=NODES)
        if verdict.outcome is Outcome.SOUND and verdict.answer is not None:
            return [Repair(RepairKind.GIVEN, repaired, verdict.answer, chosen)]
        if verdict.outcome is not Outcome.TWO_ANSWERS:
            break
        found = swap(repaired, verdict)
    return []


def _with_givens(puzzle: Puzzle, added: tuple[Given, ...]) -> Puzzle:
    givens = sorted((*puzzle.givens, *added), key=lambda one: one.cell)
    return replace(puzzle, givens=tuple(givens))


def _splits(puzzle: Puzzle, found: Swap, *, lone: bool) -> Iterator[_Candidate]:
    """Two connected parts of a cage whose totals tell the two answers apart."""
    region = set(found.cells)
    for cage in sorted(puzzle.cages, key=lambda one: (-len(region & set(one.cells)), one.first)):
        if cage.total is None or not region & set(cage.cells) or len(cage.cells) > _WIDEST:
            continue
        for cells in _halves(cage.cells, lone):
            rest = tuple(cell for cell in cage.cells if cell not in cells)
            sums = [sum(answer.at(cell) for cell in cells) for answer in _intended(found)]
            for total in dict.fromkeys(sums) if sums[0] != sums[1] else ():
                parts = (Cage(cells, total), Cage(rest, cage.total - total))
                yield _recaged(puzzle, cage, parts), (), cage, tuple(sorted(parts, key=lambda one: one.first))


def _halves(cells: tuple[Cell, ...], lone: bool) -> Iterator[tuple[Cell, ...]]:
    """One part of each way to cut a cage in two connected parts, small parts first."""
    counts = (1,) if lone else range(2, len(cells) // 2 + 1)
    for count in counts:
        for part in combinations(cells, count):
            rest = [cell for cell in cells if cell not in part]
            halved_twice = 2 * count == len(cells) and part[0] != cells[0]
            if rest and not halved_twice and connected(part) and connected(rest):
                yield part


def _recaged(puzzle: Puzzle, cage: Cage, parts: tuple[Cage, ...]) -> Puzzle:
    cages = (*(other for other in puzzle.cages if other != cage), *parts)
    return replace(puzzle, cages=tuple(sorted(cages, key=lambda one: one.first)))


def spare_parts(puzzle: Puzzle) -> Spare:
    """What a sound puzzle could do without. A part is called spare only where the rest was proved sound."""
    def sound(changed: Puzzle) -> bool:
        return solve(changed, nodes=NODES).outcome is Outcome.SOUND

    givens = tuple(given for given in puzzle.givens if sound(_without_givens(puzzle, (given,))))
    caged = () if puzzle.shape else puzzle.cages     # a run always has its sum
    totals = tuple(cage for cage in caged if cage.total is not None and sound(_untotalled(puzzle, (cage,))))
    together: tuple[Given, ...] = ()
    for given in givens:
        if sound(_without_givens(puzzle, (*together, given))):
            together += (given,)
    untotalled: tuple[Cage, ...] = ()
    for cage in totals:
        if sound(_untotalled(puzzle, (*untotalled, cage))):
            untotalled += (cage,)
    return Spare(givens, together, totals, untotalled)


def _without_givens(puzzle: Puzzle, spared: tuple[Given, ...]) -> Puzzle:
    return replace(puzzle, givens=tuple(given for given in puzzle.givens if given not in spared))


def _untotalled(puzzle: Puzzle, spared: tuple[Cage, ...]) -> Puzzle:
    return replace(puzzle, cages=tuple(
        Cage(cage.cells, None) if cage in spared else cage for cage in puzzle.cages
    ))
