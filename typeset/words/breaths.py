"""What is said in one breath: steps of one sentence, ways and cells of which the same is said."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TypeVar

from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.step import DeadWay, Held, Step

Alike = TypeVar("Alike", DeadWay, Held)

BREATH = 6
"""The most placements that a sentence tells."""


def breaths(steps: Sequence[Step]) -> Iterator[range]:
    """The numbers of steps that one sentence tells: a few with clauses, or any that share a lead as well."""
    start = 0
    for number, step in enumerate(steps):
        first = TECHNIQUES[steps[start].technique]
        here = TECHNIQUES[step.technique]
        together = steps[start].key in first.clauses and step.key in here.clauses and (
            here is first if first.lead else not here.lead and number - start < BREATH)
        if number > start and not together:
            yield range(start, number)
            start = number
    if steps:
        yield range(start, len(steps))


def alike(values: Iterable[Alike]) -> list[list[Alike]]:
    """Ways that leave the same without anything, and cells that hold the same, together."""
    groups: dict[object, list[Alike]] = {}
    for one in values:
        key = one.digits if isinstance(one, Held) else (one.leaves, one.digit, one.held)
        groups.setdefault(key, []).append(one)
    return list(groups.values())
