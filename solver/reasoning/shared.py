"""Two sums of a few cells that share cells: what the one less the other leaves."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from types import MappingProxyType

from cagework.solver.bitset import members, set_of
from cagework.solver.model import Sum
from cagework.solver.reasoning.balancing import balance_cites, balance_told, shared_cells, sums_told, with_sight
from cagework.solver.reasoning.frame import AreaKind, Frame
from cagework.solver.reasoning.state import Balance, State
from cagework.solver.reasoning.sums import IN, IN_AND_OUT, OUT, balance_why, is_new, key_of
from cagework.solver.step import Cites, Step, Why, joined

_MOST_LEFT = 2
"""The most cells that two sums may leave: of more a reader sees little, and paths got no lighter by them."""


def _too(sentences: Mapping[str, str]) -> dict[str, str]:
    """Sentences as they are said of a second sum: by the same names, with `_too` at the end."""
    return {f"+{key}": re.sub(r"\{(\w+)", r"{\1_too", text) for key, text in sentences.items()}


TWO_SUMS: Mapping[str, str] = MappingProxyType({
    **IN, **OUT, **IN_AND_OUT, **_too(IN), **_too(OUT), **_too(IN_AND_OUT),
    "+both": "Both sums have {shared}, so {left:so}.",
})
"""What is said of two sums, one after the other, and of what they leave."""


@dataclass(frozen=True, slots=True)
class Meeting:
    """Two sums and what they leave, the one less the other or, where that cancels out, turned round."""

    one: Balance
    other: Balance
    left: Balance


def meetings(state: State, place: int, least: int) -> Iterator[Meeting]:
    """The meetings of an area's sum with every other that shares `least` open cells with it, or more, but for
    those that leave what an area says by itself.
    """
    areas = state.frame.areas
    if areas[place].kind is AreaKind.RUNS or areas[place].stated or not is_new(state, place):
        return          # an area of runs less another is one, too
    one = state.balance(place)
    near = 0
    for cell in one.plus + one.minus:
        near |= state.frame.area_bits[cell]
    near &= state.few & ~(1 << place)
    state.work.spend(near.bit_count())
    plus, minus = _sides(one.plus, one.minus)
    for number in members(near):
        if areas[number].stated:
            continue
        other = state.balance(number)
        more, less = _sides(other.plus, other.minus)
        turn = -1
        if plus & less | minus & more:
            more, less, turn = less, more, 1
        if (plus & more | minus & less).bit_count() < least or plus & less | minus & more:
            continue
        left, lesser = plus & ~more | less & ~minus, minus & ~less | more & ~plus
        if (0 < (left | lesser).bit_count() <= _MOST_LEFT and is_new(state, number)
                and not _is_said(state, left, lesser)):
            yield Meeting(one, other, Balance(
                place, members(left), members(lesser), one.total + turn * other.total, one.fixed + other.fixed,
                one.taken + other.taken))


def _is_said(state: State, plus: int, minus: int) -> bool:
    """Whether some area leaves just these cells open, on these sides or the other way about."""
    areas = state.few
    for cell in members(plus | minus):
        areas &= state.frame.area_bits[cell]
    said = [_sides(balance.plus, balance.minus) for balance in map(state.balance, members(areas))]
    return (plus, minus) in said or (minus, plus) in said


@lru_cache(maxsize=1 << 12)
def _sides(plus: tuple[int, ...], minus: tuple[int, ...]) -> tuple[int, int]:
    return set_of(plus), set_of(minus)


def meeting_cites(state: State, meeting: Meeting, cells: tuple[int, ...]) -> Cites:
    """Cite both sums, all that these open cells lack, and what makes these differ from one another."""
    one, other = (balance_cites(state, balance, ()) for balance in (meeting.one, meeting.other))
    second = replace(other, added=(), taken=(), added_too=other.added, taken_too=other.taken)
    missing = Cites(state.missing(set_of(cells), state.frame.full))
    return with_sight(state.frame, joined(one, second, missing), cells)


def retold(frame: Frame, step: Step, masks: Sequence[int]) -> Step:
    """The step with its sums as they stand where cells hold `masks`; as they are cited where they then share no
    cell. The rest of its key, what follows `+both`, is kept.
    """
    one, other = sums_told(frame, step, masks)
    rest = balance_told(frame, step, masks)
    plus, minus = (tuple([frame.cells[cell] for cell in cells]) for cells in (rest.plus, rest.minus))
    second = balance_why(frame, step.cites.additions[1], other)
    why: Why = step.why | balance_why(frame, step.cites.additions[0], one) | {
        **{f"{name}_too": value for name, value in second.items()},
        "shared": tuple([frame.cells[cell] for cell in shared_cells(one, other)]),
        "left": Sum(plus, minus, (rest.total,)),
    }
    follows = "".join(step.key.partition("+both")[1:])
    return replace(step, key=f"{key_of(frame, one)}+{key_of(frame, other)}{follows}", why=why)

