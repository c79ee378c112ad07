"""All cited facts -> whether any filling of their cells obeys them, by trying them all.

Shares no code with the techniques.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from cagework.solver.model import Cell, House, Sum
from cagework.solver.proving.cited import MOST_TRIES, signed_total
from cagework.solver.proving.subset_sums import held
from cagework.solver.step import Cites


class ExhaustiveSearch:
    """All the cells of the cited facts, filled in every way that obeys them.

    Of the facts that add up to a sum, or to two, the cells left over in it count, and the cages that meet these or
    a house that is not one of them.
    """

    def __init__(self, size: int, cites: Cites) -> None:
        self.size = size
        self.full = (1 << size) - 1
        self.tries = 0
        self.place: dict[Cell, int] = {}
        self.domains: list[int] = []
        self.totals: list[tuple[tuple[int, ...], list[tuple[int, int]]]] = []
        met: set[Cell] = set()
        for added, taken in cites.additions:
            total, signs = signed_total(size, added, taken)
            left = {cell: sign for cell, sign in signs.items() if sign}
            self.totals.append(((total,), list(zip(self._numbers(left), left.values(), strict=True))))
            met.update(left)
        cages, reckoned = cites.cages, cites.reckoned
        for one in cites.sums:
            if one in reckoned:
                continue
            numbers = self._numbers(one.plus + one.minus)
            signs_of = (1,) * len(one.plus) + (-1,) * len(one.minus)
            self.totals.append((one.totals, list(zip(numbers, signs_of, strict=True))))
            met.update(one.plus + one.minus)
        houses = [house for house in cites.houses if house not in reckoned]
        if reckoned:
            met.update(cell for house in houses for cell in house.cells)
            cages = tuple([cage for cage in cages if cage not in reckoned or not met.isdisjoint(cage.cells)])
        caged = [(self._numbers(cage.cells), cage.total) for cage in cages]
        self.groups = [(cells, False) for cells, _ in caged]
        self.groups += [(self._numbers(house.cells), len(house.cells) == size) for house in houses]
        for group in reckoned:
            if not isinstance(group, Sum):
                known = [cell for cell in group.cells if cell in self.place]
                self.groups.append((self._numbers(known), len(known) == size and isinstance(group, House)))
        self.sums = [(cells, total) for cells, total in caged if total is not None]
        self.caged = {number for cells, _ in self.sums for number in cells}
        self.caged.update(number for _, terms in self.totals for number, _ in terms)
        self.pairs = [(self._numbers((pair.first, pair.second)), pair.allowed) for pair in cites.pairs]
        self.betweens = [(self._numbers(one.ends), self._numbers(one.inner)) for one in cites.betweens]
        numbers = self._numbers([cell for cell, _ in cites.eliminated])
        for number, (_, mask) in zip(numbers, cites.eliminated, strict=True):
            self.domains[number] &= ~mask

    def _numbers(self, cells: Iterable[Cell]) -> list[int]:
        """The cells' places among the variables, new ones added."""
        place, domains = self.place, self.domains
        numbers = []
        for cell in cells:
            number = place.setdefault(cell, len(domains))
            if number == len(domains):
                domains.append(self.full)
            numbers.append(number)
        return numbers

    def bars(self, cell: Cell | None, mask: int) -> bool:
        """Whether no filling obeys everything cited with a digit of the mask in the cell; False too where tries
        ran out.
        """
        domains = self.domains[:]
        if cell is not None:
            number = self.place.get(cell)
            held = mask & (self.full if number is None else domains[number])
            if not held:
                return True
            if number is not None:
                domains[number] = held
        self.tries = 0
        return not self._fill(domains)

    def _fill(self, domains: list[int]) -> bool:
        """Whether these domains leave a filling; they are narrowed on the way."""
        if not self._narrow(domains):
            return False
        open_ = [number for number, mask in enumerate(domains) if mask & mask - 1]
        if not open_:
            return True
        caged = [number for number in open_ if number in self.caged]
        number = min(caged or open_, key=lambda n: domains[n].bit_count())
        self.tries += 1
        if self.tries > MOST_TRIES:
            return True
        choices = [(number, 1 << i) for i in range(self.size) if domains[number] >> i & 1]
        for cell, bit in (not caged and self._fewest_places(domains, len(choices))) or choices:
            trial = domains[:]
            trial[cell] = bit
            if self._fill(trial):
                return True
        return False

    def _fewest_places(self, domains: Sequence[int], fewest: int) -> list[tuple[int, int]]:
        """The places of a digit that a house must hold and that has fewer than `fewest`; empty for none such."""
        best: list[tuple[int, int]] = []
        for cells, whole in self.groups:
            for i in range(self.size if whole else 0):
                bit = 1 << i
                places = [(cell, bit) for cell in cells if domains[cell] & bit]
                if 1 < len(places) < fewest:
                    best, fewest = places, len(places)
        return best

    def _narrow(self, domains: list[int]) -> bool:
        """Narrow by every kind of fact until nothing more goes; whether each cell keeps a digit."""
        before: list[int] = []
        while domains != before:
            before = domains[:]
            if not (0 not in domains and self._narrow_groups(domains) and self._narrow_sums(domains)
                    and self._narrow_pairs(domains)
                    and all(self._narrow_between(domains, *one) for one in self.betweens)
                    and all(self._narrow_total(domains, *one) for one in self.totals)):
                return False
        return True

    def _narrow_groups(self, domains: list[int]) -> bool:
        """A held digit goes from the rest of its group; a house of all digits needs a place for each."""
        for cells, whole in self.groups:
            held = once = twice = 0
            for cell in cells:
                mask = domains[cell]
                if not mask & mask - 1:
                    if mask & held:
                        return False
                    held |= mask
                twice |= once & mask
                once |= mask
            if once.bit_count() < len(cells):
                return False
            alone = once & ~twice & ~held if whole else 0
            if not held | alone:
                continue
            for cell in cells:
                mask = domains[cell]
                if mask & mask - 1:
                    if mask & alone:
                        mask &= alone
                        if mask & mask - 1:
                            return False
                    elif mask & held:
                        mask &= ~held
                    else:
                        continue
                    if not mask:
                        return False
                    domains[cell] = mask
        return True

    def _narrow_sums(self, domains: list[int]) -> bool:
        """A cage's open cells hold only digits of ways to make what is left of its total with other digits."""
        for cells, total in self.sums:
            rest, used, open_ = total, 0, []
            for cell in cells:
                mask = domains[cell]
                if mask & mask - 1:
                    open_.append(cell)
                elif used & mask:
                    return False
                else:
                    used |= mask
                    rest -= mask.bit_length()
            if not open_:
                if rest:
                    return False
                continue
            kept = held(tuple([domains[cell] & ~used for cell in open_]), rest)
            if not kept:
                return False
            for cell, mask in zip(open_, kept, strict=True):
                domains[cell] = mask
        return True

    def _narrow_total(
        self, domains: list[int], totals: Sequence[int], terms: Sequence[tuple[int, int]]
    ) -> bool:
        """Each cell left over in a sum, or of one cited, with the others at their least and greatest."""
        ends = [(sign * (mask & -mask).bit_length(), sign * mask.bit_length())
                for number, sign in terms for mask in (domains[number],)]
        least, most = sum(map(min, ends)), sum(map(max, ends))
        for (number, sign), end in zip(terms, ends, strict=True):
            low, high = totals[0] - most + max(end), totals[-1] - least + min(end)
            for i in range(self.size):
                if domains[number] >> i & 1 and not low <= sign * (i + 1) <= high:
                    domains[number] ^= 1 << i
            if not domains[number]:
                return False
        return not terms or any(least <= total <= most for total in totals)

    def _narrow_pairs(self, domains: list[int]) -> bool:
        """Each cell of a pair holds only digits that the other has a partner for."""
        for (first, second), allowed in self.pairs:
            forward = backward = 0
            for digit, partners in enumerate(allowed):
                if domains[first] >> digit & 1:
                    forward |= partners
                if partners & domains[second]:
                    backward |= 1 << digit
            domains[second] &= forward
            domains[first] &= backward
            if not (domains[first] and domains[second]):
                return False
        return True

    def _narrow_between(self, domains: list[int], ends: Sequence[int], inner: Sequence[int]) -> bool:
        """Every two digits of the ends are tried: they stay where each cell between has a digit in their gap."""
        kept = dict.fromkeys((*ends, *inner), 0)
        first, last = ends
        for x in range(self.size):
            for y in range(self.size):
                if not (domains[first] >> x & 1 and domains[last] >> y & 1):
                    continue
                gap = sum(1 << digit for digit in range(min(x, y) + 1, max(x, y)))
                if all(domains[cell] & gap for cell in inner):
                    kept[first] |= 1 << x
                    kept[last] |= 1 << y
                    for cell in inner:
                        kept[cell] |= domains[cell] & gap
        for cell, mask in kept.items():
            domains[cell] = mask
        return all(kept.values())
