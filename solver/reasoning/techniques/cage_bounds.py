"""Bounds in a cage: what one cell can hold when the rest of its cage adds to its least or its greatest."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import ClassVar

from cagework.solver.reasoning.cage_sums import cage_cites, cage_open
from cagework.solver.reasoning.filling import distinct_ends
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Digits, Step, Why


class CageBounds(Technique):
    """The open cells of a cage but for one, at their least and at their greatest."""

    cost = 320
    cases = 2
    look = Scope.CAGE
    by_cage = True
    simple = True
    sentences: ClassVar = {
        "less": "In {cage}, {others} {others:is|make} at least {least}, so {cell} is at most {bound}.",
        "more": "In {cage}, {others} {others:is|make} at most {most}, so {cell} is at least {bound}.",
        "both": "In {cage}, {others} {others:is|make} {between:or}, so {cell} is not {digits:or}.",
        "less_left": "{others} {others:takes|make} at least {least} of the {sum} still to come in {cage}, "
                     "so {cell} is at most {bound}.",
        "more_left": "{others} {others:takes|make} at most {most} of the {sum} still to come in {cage}, "
                     "so {cell} is at least {bound}.",
        "both_left": "{others} {others:takes|make} {between:or} of the {sum} still to come in {cage}, "
                     "so {cell} is not {digits:or}.",
        "less_each": "In {cage}, whichever of {cells} is left out, the others make at least {least}, so each is "
                     "at most {bound}.",
        "more_each": "In {cage}, whichever of {cells} is left out, the others make at most {most}, so each is "
                     "at least {bound}.",
        "less_left_each": "{cage} has {sum} still to come. Whichever of {cells} is left out, the other open cells "
                          "make at least {least}, so each is at most {bound}.",
        "more_left_each": "{cage} has {sum} still to come. Whichever of {cells} is left out, the other open cells "
                          "make at most {most}, so each is at least {bound}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step for each open cell."""
        left = state.open_cage(place)
        if left is None or len(left.cells) < 2 or not left.combinations:
            return
        masks = [state.candidates[cell] for cell in left.cells]
        for number, cell in enumerate(left.cells):
            if left.kept[number] == masks[number]:
                continue
            low, high, _ = _bounds(masks, number, left.total)
            if gone := masks[number] & ~_between(low, high):
                yield self.step(state, "", cage_cites(state, place), {}, removes=((cell, gone),))

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The rest of the cage, at its least and greatest, still rules these digits out."""
        ((_, gone),) = step.removes
        left = _recited(frame, step, eliminated)
        return left is not None and not gone & _between(left[0], left[1])

    def is_said_by(self, step: Step, after: Step) -> bool:
        """The next says more of the same cell by the same cage."""
        one_way = step.key == after.key and not step.key.startswith("both")
        same = [cell for cell, _ in step.removes] == [cell for cell, _ in after.removes]
        return one_way and same and step.cites.cages == after.cites.cages

    def listed(self, steps: Sequence[Step]) -> Sequence[Step]:
        """Cells that the rest of their cage bounds alike, together."""
        found: list[Step] = []
        for step in steps:
            if found and _is_alike(found[-1], step):
                last = found[-1]
                cells = tuple(sorted({cell for cell, _ in last.removes + step.removes}))
                found[-1] = replace(last, key=step.key + "_each", removes=last.removes + step.removes,
                                    why=last.why | {"cells": cells})
            else:
                found.append(step)
        return found

    def whole(self, frame: Frame, step: Step) -> Step:
        """The cell has nothing beyond the bounds that the sentence names."""
        ((name, gone),) = step.removes
        eliminated = frame.missing(step.cites)
        left = _recited(frame, step, eliminated)
        if left is None:
            return step
        low, high = left[0], left[1]
        under, over = _between(1, low - 1) & frame.full, _between(high + 1, frame.size) & frame.full
        for side in (under, over):
            gone |= side if gone & side else 0
        return replace(step, removes=((name, gone & ~eliminated.get(frame.index[name], 0)),))

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Give the bounds that what is cited leaves: what is said to follow is no more than what is struck."""
        eliminated = frame.missing(step.cites)
        left = _recited(frame, step, eliminated)
        if left is None:
            return step
        low, high, total, rest, others = left
        begun = total != step.cites.cages[0].total
        key, bound = _key_and_bound(step.removes[0][1] | _between(low, high) & frame.full, low, high, begun)
        names = tuple([frame.cells[cell] for cell in others])
        ((cell, gone),) = step.removes
        least, most = (frame.told(end, len(others)) for end in rest)
        why: Why = {"cage": step.cites.cages[0], "sum": frame.told(total, len(others) + 1), "cell": cell,
                    "others": names, "least": least, "most": most, "bound": frame.told(bound, 1),
                    "digits": Digits(gone)}
        if key.startswith("both"):
            why["between"] = tuple(range(least, most + 1))
        else:
            why["apart"] = int(_apart(frame, step, key, bound, others))
        return replace(step, key=key, why=why)

    def as_told(self, frame: Frame, said: Step, masks: Sequence[int]) -> Step:
        """Give the bounds that the notes leave, and strike all beyond them."""
        ((name, _),) = said.removes
        target = frame.index[name]
        cells = map(frame.index.__getitem__, said.cites.cages[0].cells)
        lacks = {cell: frame.full & ~masks[cell] for cell in cells if cell != target}
        now = _recited(frame, said, lacks)
        if now is None:
            return said
        gone, cites = masks[target] & ~_between(now[0], now[1]), said.cites
        if _recited(frame, said, frame.missing(cites)) != now:
            for cell in list(lacks):
                fewer = {other: mask for other, mask in lacks.items() if other != cell}
                if _recited(frame, said, fewer) == now:
                    lacks = fewer
            cites = replace(cites, eliminated=tuple(
                [(frame.cells[cell], mask) for cell, mask in lacks.items() if mask]))
        elif said.removes == ((name, gone),):
            return said
        return self.retell(frame, replace(said, removes=((name, gone),), cites=cites), masks)


def _between(low: int, high: int) -> int:
    """The digits from `low` to `high` as a mask."""
    return (1 << max(high, 0)) - 1 & ~((1 << max(low - 1, 0)) - 1)


def _key_and_bound(before: int, low: int, high: int, begun: bool) -> tuple[str, int]:
    """The key of the sentence, and the bound it names, for a cell that had the digits `before`.

    `begun` says that some of the cage is filled.
    """
    small, large = before & (1 << max(low - 1, 0)) - 1, before >> max(high, 0)
    key, bound = ("both" if large else "more", low) if small else ("less", high)
    return key + ("_left" if begun else ""), bound


def _bounds(masks: Sequence[int], number: int, total: int) -> tuple[int, int, tuple[int, int]]:
    """Least and greatest digit of one of several cells that add to `total`, and the range of the others' sum."""
    rest = distinct_ends(tuple([mask for other, mask in enumerate(masks) if other != number])) or (-99, 99)
    return total - rest[1], total - rest[0], rest


def _is_alike(last: Step, step: Step) -> bool:
    """Whether a step says of one more cell what the last said of one or several, and does not rest on it."""
    side = "least" if step.key.startswith("less") else "most"
    return (last.key.removesuffix("_each") == step.key and bool(step.why.get("apart"))
            and all(last.why[name] == step.why[name] for name in ("cage", "sum", "bound", side)))


def _apart(frame: Frame, step: Step, key: str, bound: int, others: Sequence[int]) -> bool:
    """Whether the others bound the step's cell as they do even if they may be beyond that bound themselves."""
    back = frame.full & ~_between(1, bound) if key.startswith("less") else _between(1, bound - 1)
    freed = {cell: mask & ~back if cell in others else mask for cell, mask in frame.missing(step.cites).items()}
    left = _recited(frame, step, freed)
    return left is not None and left[1 if key.startswith("less") else 0] == bound


def _recited(
    frame: Frame, step: Step, eliminated: Mapping[int, int]
) -> tuple[int, int, int, tuple[int, int], list[int]] | None:
    """The bounds of the step's cell with just these digits missing, the sum, the range, the other open cells."""
    target = frame.index[step.removes[0][0]]
    reach, open_, total = cage_open(frame, step.cites.cages[0], eliminated)
    if target not in open_ or len(open_) < 2:
        return None
    low, high, rest = _bounds([reach[cell] for cell in open_], open_.index(target), total)
    return low, high, total, rest, [cell for cell in open_ if cell != target]
