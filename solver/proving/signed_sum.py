"""Cited houses and cages added up -> whether any filling of the cells left over makes their sum.

The quick way, for the 45 rule: only the few cells that do not cancel out count.
Shares no code with the techniques.
"""

from __future__ import annotations

from collections.abc import Sequence

from cagework.solver.model import Cell
from cagework.solver.proving.cited import MOST_TRIES, signed_total
from cagework.solver.proving.subset_sums import ends
from cagework.solver.step import Cites


class SignedSum:
    """One exact sum over the cells in which cited houses and cages do not cancel out.

    The cell in question is among them even where it does: what sees it may need its digit.
    """

    def __init__(self, size: int, cites: Cites, asked: Cell | None) -> None:
        self.full = (1 << size) - 1
        self.tries = 0
        self.total, signs = signed_total(size, cites.added, cites.taken)
        missing = dict(cites.eliminated)
        if asked is not None:
            signs.setdefault(asked, 0)
        self.cells = [cell for cell, sign in signs.items() if sign or cell == asked]
        self.place = {cell: number for number, cell in enumerate(self.cells)}
        self.signs = [signs[cell] for cell in self.cells]
        self.domains = [self.full & ~missing.get(cell, 0) for cell in self.cells]
        parts = [house.cells for house in cites.houses] + [cage.cells for cage in cites.cages]
        groups = [{self.place[cell] for cell in cells if cell in self.place} for cells in parts]
        self.mates = [
            {other for group in groups if number in group for other in group} - {number}
            for number in range(len(self.cells))
        ]
        self.parts = self._parts(groups)

    def _parts(self, groups: Sequence[set[int]]) -> list[list[int]]:
        """The cells cut into sets of one sign, each without repeats."""
        parts: list[list[int]] = []
        left = set(range(len(self.cells)))
        for group in groups:
            for sign in {self.signs[number] for number in group}:
                part = sorted(number for number in group & left if self.signs[number] == sign)
                if part:
                    parts.append(part)
                    left -= set(part)
        return parts + [[number] for number in sorted(left)]

    def bars(self, cell: Cell | None, mask: int) -> bool:
        """Whether no filling makes the sum with a digit of the mask in the cell; False too where tries ran out."""
        domains = self.domains[:]
        if cell is not None:
            number = self.place[cell]
            domains[number] &= mask
            if not domains[number]:
                return True
        self.tries = 0
        return not self._fill(domains)

    def _fill(self, domains: list[int]) -> bool:
        """Whether these domains leave a way to make the sum."""
        if not self._in_range(domains):
            return False
        open_ = [number for number, mask in enumerate(domains) if mask & mask - 1]
        if not open_:
            return self._adds_up(domains)
        self.tries += 1
        if self.tries > MOST_TRIES:
            return True
        number = min(open_, key=lambda n: domains[n].bit_count())
        options = domains[number]
        if len(open_) == 1:
            options &= self._last(domains, number)
        while options:
            bit = options & -options
            options ^= bit
            trial = domains[:]
            trial[number] = bit
            for mate in self.mates[number]:
                trial[mate] &= ~bit
            if 0 not in trial and self._fill(trial):
                return True
        return False

    def _in_range(self, domains: Sequence[int]) -> bool:
        """Whether the total lies between the least and the greatest that the parts can make."""
        low = high = 0
        for part in self.parts:
            union = 0
            for number in part:
                union |= domains[number]
            if union.bit_count() < len(part):
                return False
            least, most = ends(union, len(part))
            sign = self.signs[part[0]]
            low += sign * (least if sign > 0 else most)
            high += sign * (most if sign > 0 else least)
        return low <= self.total <= high

    def _last(self, domains: Sequence[int], number: int) -> int:
        """The digit that the only open cell must hold to make the sum, as a mask; -1 for any, 0 for none."""
        sign = self.signs[number]
        rest = self.total - sum([
            other * mask.bit_length() for other, mask in zip(self.signs, domains, strict=True)
        ]) + sign * domains[number].bit_length()
        if sign == 0:
            return 0 if rest else -1
        digit, over = divmod(rest, sign)
        return 1 << digit - 1 if not over and digit > 0 else 0

    def _adds_up(self, domains: Sequence[int]) -> bool:
        """Whether cells with one digit each make the sum, those of one group all different."""
        total = sum(sign * mask.bit_length() for sign, mask in zip(self.signs, domains, strict=True))
        return total == self.total and not any(
            domains[number] == domains[mate] for number, mates in enumerate(self.mates) for mate in mates
        )
