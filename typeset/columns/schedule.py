"""Dates to puzzles: each of the grade wanted, none twice, and every date told of that goes wanting.

A date's helping is the puzzles that its slots of one kind share. Helpings are matched with puzzles by
augmenting paths (Kuhn 1955; in every textbook on bipartite matching), so a date goes wanting only where no
choice at all could serve it and all that were served before it. Dates are taken in order and puzzles in the
order of the pool: the same input always gives the same schedule.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from cagework.solver.reasoning.grade import Grade
from cagework.typeset.columns.series import Day, Helping, Series, suits
from cagework.typeset.entry import Entry


@dataclass(frozen=True, slots=True)
class Demand:
    """One puzzle wanted: for a date, as number `place` of a helping, of one of these sizes and of a grade."""

    day: Day
    helping: Helping
    place: int
    sizes: tuple[int, ...]
    grade: Grade


@dataclass(frozen=True, slots=True)
class Schedule:
    """What each demand gets, in order. `fallen` are those whose puzzle has another grade than wanted; `wanting`
    those that get none.
    """

    chosen: Mapping[Demand, Entry]
    fallen: tuple[Demand, ...]
    wanting: tuple[Demand, ...]


def demands(series: Series) -> Iterator[Demand]:
    """Every puzzle wanted, date by date."""
    helpings = series.helpings
    for day in series.dates():
        for helping, sizes in helpings.items():
            for place in range(1, helping.of + 1):
                yield Demand(day, helping, place, sizes, series.grade(day, helping))


def schedule(wanted: Sequence[Demand], pool: Sequence[Entry], *, nearest: bool) -> Schedule:
    """Give each demand a puzzle of its grade; with `nearest`, those left over one of the nearest grade instead."""
    exact = [
        [index for index, one in enumerate(pool) if _suits(demand, one) and one.grade is demand.grade]
        for demand in wanted
    ]
    holds = _matched(exact)
    fallen: tuple[Demand, ...] = ()
    if nearest:
        left = [number for number in range(len(wanted)) if number not in holds]
        free = set(range(len(pool))) - set(holds.values())
        second = _matched([_by_distance(wanted[number], pool, free) for number in left])
        holds |= {left[number]: index for number, index in second.items()}
        fallen = tuple(wanted[left[number]] for number in sorted(second))
    chosen = {demand: pool[holds[number]] for number, demand in enumerate(wanted) if number in holds}
    return Schedule(chosen, fallen, tuple(demand for demand in wanted if demand not in chosen))


def _suits(demand: Demand, one: Entry) -> bool:
    return suits(one.puzzle, demand.helping.kind, demand.sizes)


def _by_distance(demand: Demand, pool: Sequence[Entry], free: Collection[int]) -> list[int]:
    """The puzzles still free that suit a demand, those of the nearest grade first."""
    suiting = [index for index in free if _suits(demand, pool[index])]
    return sorted(suiting, key=lambda index: (*_distance(demand.grade, pool[index]), index))


def _distance(want: Grade, one: Entry) -> tuple[int, bool]:
    """How far a puzzle's grade is from the one wanted, the gentler side first."""
    steps = list(Grade)
    off = steps.index(one.grade or want) - steps.index(want)
    return abs(off), off > 0


def _matched(choices: Sequence[Sequence[int]]) -> dict[int, int]:
    """Number of a demand -> number of its puzzle: as many as can be, the earliest first."""
    held: dict[int, int] = {}
    holder: dict[int, int] = {}
    lost: set[int] = set()      # puzzles of those that went wanting: no later demand frees one of them
    for number in range(len(choices)):
        reached: dict[int, int] = {}        # puzzle -> the demand that would have it
        queue = [number]
        for want in queue:
            for index in choices[want]:
                if index in reached or index in lost:
                    continue
                reached[index] = want
                if index not in holder:
                    _hand_on(index, reached, held, holder)
                    break
                queue.append(holder[index])
            if number in held:
                break
        else:
            lost.update(reached)
    return held


def _hand_on(index: int, reached: Mapping[int, int], held: dict[int, int], holder: dict[int, int]) -> None:
    """Give a free puzzle to the demand that reached it, what that held to the one that reached this, and so on."""
    free: int | None = index
    while free is not None:
        taker = reached[free]
        before = held.get(taker)
        held[taker], holder[free] = free, taker
        free = before
