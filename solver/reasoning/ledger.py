"""What sums a reader has been told: each is derived once, then recalled, or cut down as its cells are filled."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from cagework.solver.model import Sum
from cagework.solver.reasoning.balancing import sums_told
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import Balance
from cagework.solver.step import Claim, Step, Why


@dataclass(frozen=True, slots=True)
class ToldSum:
    """A sum as it was told: its cells, each with its sign, the total, and the filled cells counted in it."""

    signs: Mapping[int, int]
    total: int
    fixed: tuple[int, ...]

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
    """The sums told so far, `told`, oldest first."""

    def __init__(self, frame: Frame, told: Iterable[ToldSum] = ()) -> None:
        self.frame = frame
        self.told = list(told)

    def tell(self, step: Step, sentences: Mapping[str, str], masks: Sequence[int]) -> Step:
        """The step as it is told where cells hold `masks`: in full where its sum is new, and then noted.

        A step that names a pair, a triple or a quad by what is noted of it tells no sum.
        """
        if not step.cites.added or "cut" not in sentences or step.key == "set":
            return step
        keys, why = step.key.split("+"), step.why
        for number, balance in enumerate(sums_told(self.frame, step, masks)):
            recalled = self._recalled(balance, masks)
            if recalled is not None:
                keys[number], values = recalled
                why = why | {name + "_too" * number: value for name, value in values.items()}
        return step if why is step.why else replace(step, key="+".join(keys), why=why)

    def _recalled(self, balance: Balance, masks: Sequence[int]) -> tuple[str, Why] | None:
        """The key and the values by which a sum is recalled, or cut down; None where it is new. It is noted."""
        signs = dict.fromkeys(balance.plus, 1) | dict.fromkeys(balance.minus, -1)
        told, filled = None, []
        for known in reversed(self.told):
            cut = known.cut(signs, balance.total, masks)
            if cut is not None and (told is None or len(cut) < len(filled)):
                told, filled = known, cut
        if len(signs) > 1 and (told is None or filled):
            self.told.append(ToldSum(signs, balance.total, balance.fixed))
        if told is None:
            return None
        names = self.frame.cells
        plus, minus = ([cell for cell, one in told.signs.items() if one == sign] for sign in (1, -1))
        return "cut" if filled else "again", {
            "now": self._sum(balance.plus, balance.minus, balance.total),
            "before": self._sum(plus, minus, told.total),
            "found": tuple([Claim(names[cell], masks[cell].bit_length(), holds=True) for cell in sorted(filled)]),
        }

    def keep(self, other: Ledger, masks: Sequence[int]) -> None:
        """Note what another ledger has more that is so where cells hold `masks`."""
        self.told += [told for told in other.told[len(self.told):]
                      if all(masks[cell].bit_count() == 1 for cell in told.fixed)]

    def _sum(self, plus: Iterable[int], minus: Iterable[int], total: int) -> Sum:
        names = self.frame.cells
        return Sum(tuple([names[cell] for cell in plus]), tuple([names[cell] for cell in minus]), (total,))
