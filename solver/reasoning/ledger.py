"""What sums a reader has been told: each is derived once, then recalled, or cut down as its cells are filled."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from cagework.solver.model import Cage, Cell, Sum
from cagework.solver.reasoning.balancing import sums_told
from cagework.solver.reasoning.filling import union_of
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import Balance
from cagework.solver.step import (
    Addition,
    Cites,
    Claim,
    DeadWay,
    Digits,
    Earlier,
    NoOther,
    Rest,
    Step,
    Value,
    Why,
    joined,
    summing,
)


@dataclass(frozen=True, slots=True)
class ToldSum:
    """A sum as it was told: its cells, each with its sign, the total, the filled cells counted in it, what it
    rests on, and the number of the step that told it.
    """

    signs: Mapping[int, int]
    total: int
    fixed: tuple[int, ...]
    cites: Cites
    by: int

    def cut(self, signs: Mapping[int, int], total: int, masks: Sequence[int]) -> list[int] | None:
        """The cells whose digits cut this sum down to that one, or that one turned round; None for no such."""
        filled = [cell for cell in self.signs if cell not in signs]
        if any(masks[cell].bit_count() != 1 for cell in filled):
            return None
        left = {cell: sign for cell, sign in self.signs.items() if cell in signs}
        rest = self.total - sum(self.signs[cell] * masks[cell].bit_length() for cell in filled)
        turned = {cell: -sign for cell, sign in left.items()}
        return filled if (left, rest) == (signs, total) or (turned, -rest) == (signs, total) else None


class Ledger:
    """The sums told so far, `told`, oldest first, and the ways to make a cage that were said to be `out`, as all
    its digits. `at` is the number of the step that is being told.
    """

    def __init__(self, frame: Frame, before: Ledger | None = None) -> None:
        """Empty, or with what another has."""
        self.frame = frame
        self.told: list[ToldSum] = list(before.told) if before else []
        self.out: dict[Cage, set[int]] = dict(before.out) if before else {}
        self.at: int = before.at if before else 0

    def tell(self, step: Step, sentences: Mapping[str, str], masks: Sequence[int]) -> Step:
        """The step as it is told where cells hold `masks`: in full where its sum is new, and then noted.

        A step that names a pair, a triple or a quad by what is noted of it tells no sum.
        """
        step = self._without_struck(step, sentences, masks)
        if not step.cites.added or "cut" not in sentences or step.key == "set":
            return step
        keys, why = step.key.split("+"), step.why
        for number, balance in enumerate(sums_told(self.frame, step, masks)):
            recalled = self._recalled(balance, step.cites.additions[number], masks)
            if recalled is not None:
                keys[number], values = recalled
                why = why | {name + "_too" * number: value for name, value in values.items()}
        return step if why is step.why else replace(step, key="+".join(keys), why=why)

    def _without_struck(self, step: Step, sentences: Mapping[str, str], masks: Sequence[int]) -> Step:
        """The step without the ways to make its cage that are out, where it says why there are no others; those
        that it strikes are noted.
        """
        cage, reason, key, why = step.why.get("cage"), step.why.get("reason"), step.key, step.why
        if not isinstance(cage, Cage) or not isinstance(reason, NoOther):
            return step
        sentence = sentences.get(key, "")
        if "{reason}" not in sentence:
            return step
        held = [masks[self.frame.index[cell]] for cell in cage.cells]
        filled = union_of(mask for mask in held if mask.bit_count() == 1)
        out = self.out.get(cage, set())
        gone: tuple[Digits, ...] = ()
        for name in ("combinations", "live", "dead"):
            ways = why.get(name) if f"{{{name}}}" in sentence else None
            if isinstance(ways, tuple):
                left = tuple([way for way in ways if _way(way) | filled not in out])
                gone += tuple([Digits(_way(way)) for way in ways if way not in left])
                key = "left" if name == "dead" and not left else key
                why = why | {name: left}
        if isinstance(dead := why.get("dead"), tuple):
            self.out[cage] = out | {_way(way) | filled for way in dead}
        why = why | {"reason": replace(reason, struck=gone)}
        return replace(step, key=key, why=why) if gone else step

    def by_what_was_told(self, step: Step) -> Step:
        """The step by one sum that has made two cells equal before, where it would make them so once more."""
        one, other = step.why.get("one"), step.why.get("other")
        if not isinstance(one, Cell) or not isinstance(other, Cell):
            return step
        head, _, follows = step.key.rpartition("+both" if step.cites.added_too else "+alike")
        if not head:
            return step
        signs = {self.frame.index[one]: 1, self.frame.index[other]: -1}
        turned = {cell: -sign for cell, sign in signs.items()}
        for told in self.told:
            if told.total == 0 and told.signs in (signs, turned):
                own = _besides_its_sums(step, one, other)
                if not {*own.houses, *own.cages} & {*told.cites.houses, *told.cites.cages}:
                    return replace(step, key=f"same{follows}", cites=joined(told.cites, own))
        return step

    def _recalled(
        self, balance: Balance, of: Addition, masks: Sequence[int],
    ) -> tuple[str, Why] | None:
        """The key and the values by which a sum is recalled, or cut down; None where it is new. It is noted."""
        signs = dict.fromkeys(balance.plus, 1) | dict.fromkeys(balance.minus, -1)
        told, filled = None, []
        for known in reversed(self.told):
            cut = known.cut(signs, balance.total, masks)
            if cut is not None and (told is None or len(cut) < len(filled)):
                told, filled = known, cut
        if len(signs) > 1 and (told is None or filled):
            known_digits = [(self.frame.cells[cell], self.frame.full & ~masks[cell]) for cell in balance.fixed]
            cites = replace(summing(*of), eliminated=tuple(known_digits))
            self.told.append(ToldSum(signs, balance.total, balance.fixed, cites, self.at))
        if told is None:
            return None
        names = self.frame.cells
        plus, minus = ([cell for cell, one in told.signs.items() if one == sign] for sign in (1, -1))
        turned = sum([told.signs[cell] for cell in signs]) < 0
        return "cut" if filled else "again", {
            "now": self._sum(balance.plus, balance.minus, balance.total),
            "before": self._sum(plus, minus, told.total),
            "tie": self._sum(minus, plus, -told.total) if turned else self._sum(plus, minus, told.total),
            "found": tuple([Claim(names[cell], masks[cell].bit_length(), holds=True) for cell in sorted(filled)]),
            "earlier": Earlier(told.by, told.cites.summed),
        }

    def keep(self, other: Ledger, masks: Sequence[int]) -> None:
        """Note what another ledger has more that is so where cells hold `masks`."""
        self.told += [told for told in other.told[len(self.told):]
                      if all(masks[cell].bit_count() == 1 for cell in told.fixed)]

    def _sum(self, plus: Iterable[int], minus: Iterable[int], total: int) -> Sum:
        names = self.frame.cells
        return Sum(tuple([names[cell] for cell in plus]), tuple([names[cell] for cell in minus]), (total,))


def _way(value: Value) -> int:
    """The digits of a way to make a cage, of one that is struck too."""
    digits = value.way if isinstance(value, DeadWay) else value
    return digits.mask if isinstance(digits, Digits) else 0


def _besides_its_sums(step: Step, one: Cell, other: Cell) -> Cites:
    """What a step about two equal cells cites besides the sums, or the sum and the cage, that make them so."""
    cites, made = step.cites, step.why.get("made")
    cage = made.cage if isinstance(made, Rest) else made
    houses = tuple([house for house in cites.houses if house not in cites.reckoned])
    cages = tuple([one for one in cites.cages if one not in (*cites.reckoned, cage)])
    digits = union_of(mask for _, mask in step.removes)
    near = {one, other}.union(*(house.cells for house in houses))
    missing = [(cell, mask & digits) for cell, mask in cites.eliminated if mask & digits and cell in near]
    return Cites(tuple(missing), houses, cages, cites.pairs)
