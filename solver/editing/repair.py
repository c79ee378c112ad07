"""Small changes that make a puzzle sound, each proved before it is offered; and parts it could do without."""

from __future__ import annotations

import math
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import combinations

from cagework.solver.combine import sum_range
from cagework.solver.editing.tiling import summed
from cagework.solver.editing.why import NODES, Conflict, Swap, swap
from cagework.solver.model import Answer, Cage, Cell, Given, Puzzle, connected
from cagework.solver.recheck import obeys
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
    MOVE = "move"          # one cell goes from its cage to the next
    SUM = "sum"            # a cage gets another total, or several do
    DIGIT = "digit"        # another digit is printed in a cell


@dataclass(frozen=True, slots=True)
class Repair:
    """One change that leaves exactly one answer.

    `givens` are printed, in place of others in their cells (more than one, or some beside new cages, only where
    no single change was found); the cages that are `gone` are replaced by `parts`. `repaired` is the sound puzzle.
    """

    kind: RepairKind
    repaired: Puzzle
    answer: Answer
    givens: tuple[Given, ...] = ()
    gone: tuple[Cage, ...] = ()
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

    Changes inside the swapped region are tried first. Where the setter's answer is known, only repairs that leave
    it are offered, if there are any; else both answers are taken in turn for the intended one.
    """
    deadline = math.inf if seconds is None else time.perf_counter() + seconds
    if found.meant and (offered := _repairs(puzzle, found, (found.one,), each, deadline)):
        return offered
    return _repairs(puzzle, found, (found.one, found.other), each, deadline)


def _repairs(
    puzzle: Puzzle, found: Swap, intended: tuple[Answer, ...], each: int, deadline: float,
) -> tuple[Repair, ...]:
    """Repairs as above, with any of these answers for the intended one."""
    cages = not puzzle.shape    # runs end where the black squares are
    offered: list[Repair] = []
    for kind, candidates in (
        (RepairKind.TOTAL, _totals(puzzle, intended)),
        (RepairKind.GIVEN, _givens(puzzle, found, intended)),
        (RepairKind.UNMERGE, _splits(puzzle, found, intended, lone=False) if cages else ()),
        (RepairKind.CUT, _splits(puzzle, found, intended, lone=True) if cages else ()),
        (RepairKind.MOVE, _moves(puzzle, found, intended) if cages else ()),
    ):
        count = 0
        for changed, givens, gone, parts in candidates:
            if count == each or time.perf_counter() > deadline:
                break
            verdict = solve(changed, nodes=NODES)
            if verdict.outcome is Outcome.SOUND and verdict.answer is not None:
                offered.append(Repair(kind, changed, verdict.answer, givens, gone, parts))
                count += 1
    if not offered and time.perf_counter() < deadline:
        offered += _several_givens(puzzle, found)
    return tuple(offered)


def mendings(
    puzzle: Puzzle, found: Conflict, meant: Answer | None = None, *, most: int = 6, seconds: float | None = 10.0,
) -> tuple[Repair, ...]:
    """Up to `most` proved repairs of a puzzle without an answer, the smallest change first: one of its sums or
    givens is another. Those that leave the answer that the setter means are the only ones offered, if there are
    any. Sought for `seconds` at most; with None, NODES a change are the only bound.

    Only parts of the conflict are tried: as these contradict each other, one of them has to change.
    """
    deadline = math.inf if seconds is None else time.perf_counter() + seconds
    offered: list[tuple[int, Repair]] = []
    for member in found.members:
        if isinstance(member, Cage) and member.total is not None:
            offered += _retotalled(puzzle, member, member.total, deadline)
        elif isinstance(member, Given):
            offered += _reprinted(puzzle, member, deadline)
    agreeing = [one for one in offered if one[1].answer == meant]
    return tuple(repair for _, repair in sorted(agreeing or offered, key=lambda one: one[0])[:most])


def loose_sums(
    puzzle: Puzzle, found: Conflict, more: int, *, seconds: float | None = 10.0,
) -> tuple[tuple[Cage, int], ...]:
    """Cages of a conflict, each with the sum less by `more` that leaves answers, but more than one. Sought as
    `mendings`.
    """
    deadline = math.inf if seconds is None else time.perf_counter() + seconds
    changed = [(cage, cage.total - more) for cage in found.members
               if isinstance(cage, Cage) and cage.total is not None and cage.total > more]
    return tuple((cage, total) for cage, total in changed if _sought(
        _recaged(puzzle, (cage,), (Cage(cage.cells, total),)), deadline).outcome is Outcome.TWO_ANSWERS)


def restorings(
    puzzle: Puzzle, meant: Answer, *, most: int = 6, seconds: float | None = 10.0,
) -> tuple[Repair, ...]:
    """Up to `most` proved repairs of a puzzle that the answer its setter means does not fit, which leave just that
    answer: sums and givens become its own, a cage is split, or gives a cell to the next. Givens are printed beside
    that only where it is not enough. Sought as `mendings`.
    """
    deadline = math.inf if seconds is None else time.perf_counter() + seconds
    if puzzle.shape or obeys(puzzle, meant):
        return ()
    wrong = {given.cell for given in puzzle.givens if given.digit != meant.at(given.cell)}
    givens = tuple(Given(cell, meant.at(cell)) for cell in sorted(wrong))
    rest = replace(puzzle, givens=tuple(given for given in puzzle.givens if given.cell not in wrong))
    offered: list[Repair] = []
    loose: list[tuple[Repair, Verdict]] = []
    for kind, gone, parts in _refitted(puzzle, meant):
        changed = _with_givens(_recaged(rest, gone, parts), givens)
        if len(offered) == most or not obeys(changed, meant):
            continue
        verdict = _sought(changed, deadline)
        repair = Repair(kind, changed, meant, givens, gone, parts)
        if verdict.outcome is Outcome.SOUND:
            offered.append(repair)
        elif verdict.outcome is Outcome.TWO_ANSWERS:
            loose.append((repair, verdict))
    for repair, verdict in () if offered else loose[:most]:
        if time.perf_counter() < deadline:
            printed = _several_givens(repair.repaired, swap(repair.repaired, verdict, meant))
            offered += [replace(repair, repaired=more.repaired, givens=(*repair.givens, *more.givens))
                        for more in printed]
    return tuple(sorted(offered, key=lambda one: len(one.givens)))


def _refitted(puzzle: Puzzle, meant: Answer) -> Iterator[tuple[RepairKind, tuple[Cage, ...], tuple[Cage, ...]]]:
    """New cages, with sums by this answer, in place of all whose sums are others, or of one that cannot be."""
    slips = tuple(cage for cage in puzzle.cages if cage.total not in (None, summed(meant, cage.cells).total))
    yield (RepairKind.SUM if slips else RepairKind.DIGIT, slips,
           tuple(summed(meant, cage.cells) for cage in slips))
    for cage in puzzle.cages:
        if cage not in slips and _distinct(cage.cells, meant):
            continue
        for lone in (False, True) if len(cage.cells) <= _WIDEST else ():
            for cells in _halves(cage.cells, lone):
                rest = tuple(cell for cell in cage.cells if cell not in cells)
                halves = sorted((summed(meant, cells), summed(meant, rest)), key=lambda one: one.first)
                yield RepairKind.CUT if lone else RepairKind.UNMERGE, (cage,), tuple(halves)
        for cell in cage.cells:
            for gone, parts in _handed_on(puzzle, cage, cell, meant):
                yield RepairKind.MOVE, gone, parts


def _handed_on(
    puzzle: Puzzle, home: Cage, cell: Cell, answer: Answer,
) -> Iterator[tuple[tuple[Cage, ...], tuple[Cage, ...]]]:
    """A cage and another that a cell of it touches, and both with that cell moved and with sums by an answer."""
    rest = tuple(other for other in home.cells if other != cell)
    if not rest or not connected(rest):
        return
    for away in puzzle.cages:
        cells = tuple(sorted((*away.cells, cell)))
        if (away != home and not set(cell.neighbours()).isdisjoint(away.cells) and _distinct(cells, answer)
                and away.total is not None):
            yield (home, away), (summed(answer, rest), summed(answer, cells))


def _distinct(cells: Sequence[Cell], answer: Answer) -> bool:
    return len({answer.at(cell) for cell in cells}) == len(cells)


def _added(cells: Sequence[Cell], answer: Answer) -> int:
    return sum(answer.at(cell) for cell in cells)


def _retotalled(puzzle: Puzzle, cage: Cage, old: int, deadline: float) -> Iterator[tuple[int, Repair]]:
    """Other totals of a cage that leave one answer, each with how far it is from the old one."""
    least, highest = (
        sum_range(puzzle.size, len(cage.cells), puzzle.least) if len(cage.cells) <= puzzle.size else (1, 0))
    free = _sought(_recaged(puzzle, (cage,), (Cage(cage.cells, None),)), deadline)
    if free.outcome is Outcome.NO_ANSWER:
        return
    if free.outcome is Outcome.SOUND and free.answer:       # whatever its total, there is one answer
        least = highest = sum(free.answer.at(cell) for cell in cage.cells)
    for total in sorted(range(least, highest + 1), key=lambda one: abs(one - old)):
        changed = Cage(cage.cells, total)
        verdict = _sought(_recaged(puzzle, (cage,), (changed,)), deadline)
        if verdict.outcome is Outcome.SOUND and verdict.answer:
            yield abs(total - old), Repair(RepairKind.SUM, _recaged(puzzle, (cage,), (changed,)), verdict.answer,
                                           gone=(cage,), parts=(changed,))


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


_Candidate = tuple[Puzzle, tuple[Given, ...], tuple[Cage, ...], tuple[Cage, ...]]


def _totals(puzzle: Puzzle, intended: tuple[Answer, ...]) -> Iterator[_Candidate]:
    for answer in intended:
        for cage in puzzle.cages:
            if cage.total is None:
                whole = summed(answer, cage.cells)
                yield _recaged(puzzle, (cage,), (whole,)), (), (cage,), (whole,)


def _givens(puzzle: Puzzle, found: Swap, intended: tuple[Answer, ...]) -> Iterator[_Candidate]:
    printed = {given.cell for given in puzzle.givens}
    region = set(found.region)
    order = [*found.region, *(cell for cell in found.cells if cell not in region)]
    order += [cell for cell in puzzle.cells if cell not in order]
    seen: set[Given] = set()
    for cell in order:
        for answer in intended:
            given = Given(cell, answer.at(cell))
            if cell not in printed and given not in seen:
                seen.add(given)
                yield _with_givens(puzzle, (given,)), (given,), (), ()


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
        found = swap(repaired, verdict, found.one)
    return []


def _with_givens(puzzle: Puzzle, added: tuple[Given, ...]) -> Puzzle:
    givens = sorted((*puzzle.givens, *added), key=lambda one: one.cell)
    return replace(puzzle, givens=tuple(givens))


def _splits(
    puzzle: Puzzle, found: Swap, intended: tuple[Answer, ...], *, lone: bool,
) -> Iterator[_Candidate]:
    """Two connected parts of a cage whose totals tell the two answers apart."""
    region = set(found.cells)
    for cage in sorted(puzzle.cages, key=lambda one: (-len(region & set(one.cells)), one.first)):
        if cage.total is None or not region & set(cage.cells) or len(cage.cells) > _WIDEST:
            continue
        for cells in _halves(cage.cells, lone):
            rest = tuple(cell for cell in cage.cells if cell not in cells)
            if _added(cells, found.one) == _added(cells, found.other):
                continue
            for total in dict.fromkeys(_added(cells, answer) for answer in intended):
                parts = (Cage(cells, total), Cage(rest, cage.total - total))
                yield (_recaged(puzzle, (cage,), parts), (), (cage,),
                       tuple(sorted(parts, key=lambda one: one.first)))


def _moves(puzzle: Puzzle, found: Swap, intended: tuple[Answer, ...]) -> Iterator[_Candidate]:
    """A cell in which the two answers differ moved to the next cage."""
    for cage in puzzle.cages:
        for cell in cage.cells if cage.total is not None else ():
            for answer in intended if found.one.at(cell) != found.other.at(cell) else ():
                for gone, parts in _handed_on(puzzle, cage, cell, answer):
                    yield _recaged(puzzle, gone, parts), (), gone, parts


def _halves(cells: tuple[Cell, ...], lone: bool) -> Iterator[tuple[Cell, ...]]:
    """One part of each way to cut a cage in two connected parts, small parts first."""
    counts = (1,) if lone else range(2, len(cells) // 2 + 1)
    for count in counts:
        for part in combinations(cells, count):
            rest = [cell for cell in cells if cell not in part]
            halved_twice = 2 * count == len(cells) and part[0] != cells[0]
            if rest and not halved_twice and connected(part) and connected(rest):
                yield part


def _recaged(puzzle: Puzzle, gone: tuple[Cage, ...], parts: tuple[Cage, ...]) -> Puzzle:
    cages = (*(other for other in puzzle.cages if other not in gone), *parts)
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
