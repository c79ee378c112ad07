"""Two cells tied by a rule of their own, or a run of them along which digits rise: what one can hold limits the
others.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from types import MappingProxyType
from typing import ClassVar

from cagework.solver.bitset import set_of
from cagework.solver.model import Cell, Pair
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Digits, Step, Why


class RelatedPair(Technique):
    """A digit that the other cell has no partner for."""

    cost = 180
    look = Scope.RELATED
    simple = True
    sentences: ClassVar = {
        "less": "{rule} {cell} is less than {other}, so it cannot be {digits:or}.",
        "less_held": "{rule} {cell} is less than {other}, which {choices:is|can only be} "
                     "{choices:or}, so {cell} cannot be {digits:or}.",
        "greater": "{rule} {cell} is greater than {other}, so it cannot be {digits:or}.",
        "greater_held": "{rule} {cell} is greater than {other}, which {choices:is|can only be} "
                        "{choices:or}, so {cell} cannot be {digits:or}.",
        "next_held": "{rule} {cell} is one more or one less than {other}, which "
                     "{choices:is|can only be} {choices:or}, so {cell} cannot be {digits:or}.",
        "twice": "{rule} one of {cell} and {other} is twice the other, so {cell} cannot be "
                 "{digits:or}.",
        "twice_each": "{rule} each of {cells} is twice another cell or half of it, so none of "
                      "them can be {digits:or}.",
        "twice_held": "{rule} {cell} is twice {other} or half of it, and {other} "
                      "{choices:is|can only be} {choices:or}, so {cell} cannot be {digits:or}.",
        "rises": "{rule} digits rise along {cells:along}.",
        "removes": "{other} can only be {choices:or}, so {rule} {cell} cannot be {digits:or}.",
        "placed": "{other} is {choices}, so {rule} {cell} cannot be {digits:or}.",
    }
    lead = "{rule} some digits go: {items}."
    clauses: ClassVar = {
        "less": "{cell} cannot be {digits:or} (it is less than {other})",
        "less_held": "{cell} cannot be {digits:or} (it is less than {other}, which {choices:is|can only be} "
                     "{choices:or})",
        "greater": "{cell} cannot be {digits:or} (it is greater than {other})",
        "greater_held": "{cell} cannot be {digits:or} (it is greater than {other}, which "
                        "{choices:is|can only be} {choices:or})",
        "next_held": "{cell} cannot be {digits:or} (it is one more or one less than {other}, which "
                     "{choices:is|can only be} {choices:or})",
        "twice": "{cell} cannot be {digits:or} (neither twice {other} nor half of it)",
        "twice_each": "{cells} cannot be {digits:or} (each is twice another cell or half of it)",
        "twice_held": "{cell} cannot be {digits:or} (it is twice {other} or half of it, and {other} "
                      "{choices:is|can only be} {choices:or})",
        "removes": "{cell} cannot be {digits:or} (as {other} can only be {choices:or})",
        "placed": "{cell} cannot be {digits:or} (as {other} is {choices})",
    }
    in_passing: ClassVar = clauses | {"rises": "{rule} digits rise along {cells:along}"}

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for the run through this cell where several cells of it lose digits, else for each cell tied to
        it.
        """
        frame = state.frame
        run, pairs = frame.run_through(place)
        kept = _narrowed(frame, pairs, {cell: state.candidates[cell] for cell in run}) if len(run) > 2 else {}
        removes = [(cell, gone) for cell, held in kept.items() if (gone := state.candidates[cell] & ~held)]
        if len(removes) > 1:
            cites = Cites(state.missing(set_of(run), frame.full), pairs=pairs)
            yield self.step(state, "rises", cites, {"cells": tuple([frame.cells[cell] for cell in run])},
                            removes=removes)
            return
        for first, second, pair in frame.relations:
            if place in (first, second):
                other = second if place == first else first
                reach = _partners(pair.allowed, state.candidates[place], place == first)
                gone = state.candidates[other] & ~reach
                if gone and reach:
                    cites = Cites(state.missing(1 << place, frame.full), pairs=(pair,))
                    choices = Digits(state.candidates[place])
                    why: Why = {
                        "other": frame.cells[place], "cell": frame.cells[other], "digits": Digits(gone),
                        "choices": choices,
                    }
                    plain = not gone & _partners(pair.allowed, frame.full, place == first)
                    key = _key(pair.allowed, place == first, choices, frame.source.digits, plain=plain)
                    yield self.step(state, key, cites, why, removes=((other, gone),))

    def listed(self, steps: Sequence[Step]) -> Sequence[Step]:
        """Cells that lose the same as they are twice another or half of it, together."""
        found: dict[object, Step] = {}
        for number, step in enumerate(steps):
            digits = step.why.get("digits") if step.key == "twice" else number
            before = found.get(digits)
            if before:
                removes = before.removes + step.removes
                cells = tuple(dict.fromkeys(cell for cell, _ in removes))
                step = replace(before, key="twice_each", removes=removes, why=step.why | {"cells": cells})
            found[digits] = step
        return list(found.values())

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The other cell still leaves no partner, or the rest of the run no room."""
        if step.key == "rises":
            cells = [frame.index[cell] for pair in step.cites.pairs for cell in (pair.first, pair.second)]
            kept = _narrowed(frame, step.cites.pairs, {
                cell: frame.full & ~eliminated.get(cell, 0) for cell in cells})
            return bool(kept) and not any(
                gone & kept.get(frame.index[cell], frame.full) for cell, gone in step.removes)
        (pair,) = step.cites.pairs
        (name, gone), = step.removes
        forward = name == pair.second
        other = frame.index[pair.first if forward else pair.second]
        return not gone & _partners(pair.allowed, frame.full & ~eliminated.get(other, 0), forward)


def _narrowed(frame: Frame, pairs: Sequence[Pair], masks: dict[int, int]) -> dict[int, int]:
    """What cells can hold of these digits where each pair, in the order of a run, says which is greater; nothing
    where a cell can hold none.
    """
    ties = [(frame.index[pair.first], frame.index[pair.second])[::1 if pair.allowed[0] else -1] for pair in pairs]
    for low, high in ties:
        masks[high] &= -(masks[low] & -masks[low]) << 1
    for low, high in reversed(ties):
        masks[low] &= (1 << max(masks[high].bit_length() - 1, 0)) - 1
    return masks if all(masks.values()) else {}


def _key(allowed: tuple[int, ...], forward: bool, choices: Digits, digits: range, *, plain: bool) -> str:
    """The sentence for a tie that people have a word for, less the choices where it is `plain` without them."""
    kind = _kinds(digits).get(allowed)
    if kind is None:
        return "removes" if len(choices) > 1 else "placed"
    kind = {"greater": "less", "less": "greater"}.get(kind, kind) if not forward else kind
    return kind if plain else f"{kind}_held"


@lru_cache(maxsize=32)
def _kinds(digits: range) -> Mapping[tuple[int, ...], str]:
    """What a pair's second cell is to its first, by what the pair allows."""
    told: dict[str, Callable[[int, int], bool]] = {
        "greater": lambda x, y: y > x, "less": lambda x, y: y < x, "next": lambda x, y: abs(x - y) == 1,
        "twice": lambda x, y: x == 2 * y or y == 2 * x,
    }
    return MappingProxyType({Pair.of(Cell(1, 1), Cell(1, 2), digits, holds).allowed: kind
                             for kind, holds in told.items()})


def _partners(allowed: tuple[int, ...], mask: int, forward: bool) -> int:
    """What the one cell can hold given the other's candidates, read from the pair's first cell or back."""
    if forward:
        reach = 0
        for digit, partners in enumerate(allowed):
            if mask >> digit & 1:
                reach |= partners
        return reach
    return sum(1 << digit for digit, partners in enumerate(allowed) if partners & mask)
