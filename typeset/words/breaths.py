"""What is said in one breath: steps of one sentence, ways and cells of which the same is said."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import groupby
from types import MappingProxyType
from typing import TypeVar

from cagework.solver.model import Cage
from cagework.solver.reasoning.reason import Stage
from cagework.solver.reasoning.technique import ways_told
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.step import DeadWay, Held, Lack, Step

Alike = TypeVar("Alike", DeadWay, Held, Lack | Held)

_UNLISTED = MappingProxyType({"some": "many"})
"""The key of a step that lists the ways to make a cage -> that of one that says the same without."""

BREATH = 6
"""The most placements that a sentence tells, and the most other steps that a paragraph does."""

LONG = 45
"""The most words of a sentence that could as well be several."""


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


def once(stages: Sequence[Stage]) -> tuple[list[Step], list[bool]]:
    """Steps as they are told after each other, and whether each follows from the last: without those that the next
    or the last says all of, and with those of a technique that say one thing as one.
    """
    whole = whole_steps([stage.step for stage in stages])
    kept = [replace(stage, step=step) for before, stage, step in zip([None, *stages], stages, whole, strict=False)
            if step and not (before and TECHNIQUES[step.technique].repeats(step, before.step))]
    steps: list[Step] = []
    follows: list[bool] = []
    for name, run in groupby(kept, lambda stage: stage.step.technique):
        same = list(run)
        listed = TECHNIQUES[name].listed([stage.step for stage in same])
        steps += listed
        follows += [stage.follows_from_last for stage in same][:len(listed)]
    return steps, follows


def whole_steps(steps: Sequence[Step]) -> list[Step | None]:
    """Steps told after each other, with None for one that the next says all of: that gives its reason, too."""
    told: list[Step | None] = list(steps)
    for number in range(len(steps) - 1):
        step, after = told[number], steps[number + 1]
        if step and TECHNIQUES[step.technique].is_said_by(step, after):
            whole = with_reason_of(after, step)
            gives = whole.key in ("set", "set_all") and "reason" in step.why and "only" in TECHNIQUES[
                whole.technique].sentences
            told[number:number + 2] = None, replace(whole, key="only") if gives else whole
    return told


def with_reason_of(step: Step, first: Step) -> Step:
    """The step with the reason that another gives for the same ways: what this struck need not be struck yet."""
    return replace(step, why=step.why | {"reason": first.why["reason"]}) if "reason" in first.why else step


Listed = dict[Cage, object]
"""Cages to the ways to make them that were listed last."""


def without_list(step: Step, last: Step | None, listed: Listed) -> Step:
    """The step without the ways to make its cage where these were `listed` before, though not by the `last`, of
    which it may say so itself; what it lists is noted.
    """
    cages, key = step.cites.cages[:1], _UNLISTED.get(step.key, step.key.removesuffix("_few"))
    if "combinations" not in step.why or not cages:
        return step
    by_last = last is not None and last.cites.cages[:1] == cages and "combinations" in last.why
    again = listed.get(cages[0]) == ways_told(step) and not by_last
    listed[cages[0]] = ways_told(step)
    return replace(step, key=key) if again and key in TECHNIQUES[step.technique].sentences else step


def alike(values: Iterable[Alike]) -> list[list[Alike]]:
    """Ways that leave the same without anything, and cells that hold or lack the same, together."""
    groups: dict[object, list[Alike]] = {}
    for one in values:
        key = (one.leaves, one.digit, one.held) if isinstance(one, DeadWay) else (type(one), one.digits)
        groups.setdefault(key, []).append(one)
    return list(groups.values())
