"""Why a puzzle is not sound: parts that contradict each other, or cells that two answers swap.

Both are deletion-minimal: leave out any one member and the fault is gone. What the search could not decide
within its nodes is kept, and the finding then says that it is not proved minimal.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

from cagework.solver.editing.arithmetic import Member, plainest
from cagework.solver.model import Answer, Between, Cage, Cell, Domain, Given, House, Pair, Puzzle, Sum
from cagework.solver.recheck import obeys
from cagework.solver.search.exact import Outcome, Verdict, solve

_T = TypeVar("_T")

NODES = 4000
"""Choices the search may try for one question asked here."""

_QUICK = 12
"""The same, while many orders are tried."""

_SHARE = 6
"""Which part of the time they are tried for where sums show a contradiction already."""


@dataclass(frozen=True, slots=True)
class Conflict:
    """Parts of a puzzle that no grid satisfies together, whatever the rest says.

    `minimal` is whether each was proved necessary: without it the others can be satisfied.
    """

    members: tuple[Member, ...]
    minimal: bool

    @property
    def cells(self) -> tuple[Cell, ...]:
        """The cells of its cages and givens; of its houses where it has neither."""
        near = {cell for member in self.members if not isinstance(member, House) for cell in cells_of(member)}
        near = near or {cell for member in self.members for cell in cells_of(member)}
        return tuple(sorted(near))


@dataclass(frozen=True, slots=True)
class Swap:
    """Two answers that differ in as few cells as deletion finds.

    `cells` are those of the two answers first found; `region` those in which `one` and `other` differ. `meant` is
    whether `one` is the answer that the setter says the puzzle has.
    """

    cells: tuple[Cell, ...]
    one: Answer
    other: Answer
    region: tuple[Cell, ...]
    minimal: bool
    meant: bool = False


def cells_of(member: Member) -> tuple[Cell, ...]:
    """The cells a part of a puzzle speaks of."""
    match member:
        case Given() | Domain():
            return (member.cell,)
        case Pair():
            return (member.first, member.second)
        case _:
            return member.cells


def conflict(puzzle: Puzzle, *, seconds: float | None = 10.0) -> Conflict:
    """Parts of a puzzle without an answer that already contradict each other.

    Several sets are sought quickly, leaving parts out in another order each time (houses first, or those far from
    one region first), and less long where sums are plainly at odds; the smallest is then made minimal with care.
    After `seconds` what has not been tried is kept, and the set is not called minimal; with None, NODES a question
    are the only bound.
    """
    deadline = math.inf if seconds is None else time.perf_counter() + seconds
    plain = plainest(puzzle)
    enough = deadline if plain is None or seconds is None else time.perf_counter() + seconds / _SHARE
    rough = [
        shrink(order, lambda kept: _contradict(puzzle, kept, _QUICK, enough) is True)
        for order in _orders(puzzle)
    ]
    rough += [list(plain.members)] if plain else []
    certain = True

    def fails(kept: Sequence[Member]) -> bool:
        nonlocal certain
        known = _contradict(puzzle, kept, NODES, deadline)
        certain &= known is not None
        return known is True

    members = shrink(min(rough, key=len), fails)
    return Conflict(tuple(sorted(members, key=_place)), certain)


def _contradict(puzzle: Puzzle, kept: Sequence[Member], nodes: int, deadline: float) -> bool | None:
    """Whether these parts alone have no answer; None where that is not known in time."""
    if time.perf_counter() > deadline:
        return None
    outcome = solve(_only(puzzle, kept), nodes=nodes).outcome
    return None if outcome is Outcome.UNDECIDED else outcome is Outcome.NO_ANSWER


def _orders(puzzle: Puzzle) -> Iterator[list[Member]]:
    members: list[Member] = [
        *puzzle.houses, *puzzle.pairs, *puzzle.domains, *puzzle.sums, *puzzle.betweens, *puzzle.cages,
        *puzzle.givens]
    yield members
    for region in puzzle.regions:
        middle = _middle(region)
        yield sorted(members, key=lambda member, middle=middle: -_distance(member, middle))  # type: ignore[misc]


def _middle(member: Member) -> tuple[float, float]:
    cells = cells_of(member)
    return sum(cell.row for cell in cells) / len(cells), sum(cell.col for cell in cells) / len(cells)


def _distance(member: Member, spot: tuple[float, float]) -> float:
    """From a spot to the nearest cell of a member, and a little for its middle."""
    middle = _middle(member)
    nearest = min(abs(cell.row - spot[0]) + abs(cell.col - spot[1]) for cell in cells_of(member))
    return nearest + 0.1 * (abs(middle[0] - spot[0]) + abs(middle[1] - spot[1]))


def swap(puzzle: Puzzle, verdict: Verdict, meant: Answer | None = None) -> Swap:
    """The two answers of a verdict, brought as near to each other as deletion allows. Where the puzzle has the
    answer that its setter means, that is `one`.

    Raises ValueError where the verdict has not two.
    """
    if verdict.answer is None or verdict.second is None:
        raise ValueError("this verdict does not hold two answers")
    one, other = verdict.answer, verdict.second
    is_meant = meant is not None and obeys(puzzle, meant)
    if meant is not None and is_meant:
        one, other = meant, one if other == meant else other
    first = differing(one, other)
    region, minimal = first, True
    for cell in first:
        if cell not in region:
            continue
        free = [near for near in region if near != cell]
        narrowed = solve(fixed(puzzle, one, free), nodes=NODES)
        if narrowed.outcome is Outcome.TWO_ANSWERS and narrowed.answer and narrowed.second:
            other = narrowed.second if narrowed.answer == one else narrowed.answer
            region = differing(one, other)
        elif narrowed.outcome is Outcome.UNDECIDED:
            minimal = False
    return Swap(first, one, other, region, minimal, is_meant)


def differing(one: Answer, other: Answer) -> tuple[Cell, ...]:
    """The cells in which two answers differ, row by row."""
    pairs, wide = zip(one.digits, other.digits, strict=True), one.columns
    return tuple(Cell(index // wide + 1, index % wide + 1) for index, (a, b) in enumerate(pairs) if a != b)


def fixed(puzzle: Puzzle, answer: Answer, free: Sequence[Cell]) -> Puzzle:
    """The puzzle with every cell but the free ones given as in `answer`."""
    kept = tuple(Given(cell, answer.at(cell)) for cell in puzzle.cells if cell not in free)
    return replace(puzzle, givens=kept)


def shrink(members: Sequence[_T], fails: Callable[[Sequence[_T]], bool]) -> list[_T]:
    """A subset that still fails, of which no member can be spared, tried in the order given.

    Larger runs are tried first; the last pass goes member by member. What fails without a member is looser,
    so a member once found necessary stays so.
    """
    kept = list(members)
    run = max(1, len(kept) // 2)
    while True:
        at = 0
        while at < len(kept):
            without = kept[:at] + kept[at + run:]
            if fails(without):
                kept = without
            else:
                at += run
        if run == 1:
            return kept
        run //= 2


def _only(puzzle: Puzzle, kept: Sequence[Member]) -> Puzzle:
    """The same grid with these parts and no others."""
    return Puzzle(
        puzzle.size,
        tuple(member for member in kept if isinstance(member, House)),
        tuple(member for member in kept if isinstance(member, Cage)),
        tuple(member for member in kept if isinstance(member, Given)),
        tuple(member for member in kept if isinstance(member, Pair)),
        tuple(member for member in kept if isinstance(member, Sum)),
        tuple(member for member in kept if isinstance(member, Domain)),
        puzzle.shape,
        tuple(member for member in kept if isinstance(member, Between)),
        puzzle.least,
    )


def _place(member: Member) -> tuple[int, Cell]:
    """Cages, then givens, houses and what rules state; each kind by its first cell."""
    kinds = (Cage, Given, House, Pair, Sum, Domain, Between)
    return kinds.index(type(member)), min(cells_of(member))
