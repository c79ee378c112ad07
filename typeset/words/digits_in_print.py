"""Digits and sums that are counted from 1, as they are printed: from 0 where a puzzle's digits run from there."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from cagework.solver.model import Sum


@dataclass(frozen=True, slots=True)
class DigitsInPrint:
    """A path counts digits from 1; `before` is what is added to print one."""

    before: int = 0

    def digits(self, counted: Iterable[int]) -> list[int]:
        """Some digits."""
        return [self.before + digit for digit in counted]

    def figures(self, counted: Iterable[int]) -> list[str]:
        """The same as they are written."""
        return list(map(str, self.digits(counted)))

    def added(self, counted: Iterable[int]) -> str:
        """The same as a way to make a sum: `1+5`."""
        return "+".join(self.figures(counted))

    def total(self, counted: Sum) -> int:
        """The one total of a sum."""
        return counted.raised(self.before).totals[0]


def in_a_row(numbers: Iterable[int]) -> list[list[int]]:
    """Rising numbers, each with those before it that it comes right after."""
    rows: list[list[int]] = []
    for number in numbers:
        if rows and rows[-1][-1] == number - 1:
            rows[-1].append(number)
        else:
            rows.append([number])
    return rows
