"""Two cells that a sum makes equal: what the one sees, the other cannot be."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import ClassVar

from cagework.solver.bitset import members, set_of
from cagework.solver.model import Cage, Cell, House
from cagework.solver.reasoning.balancing import balance_cites, balance_told
from cagework.solver.reasoning.cage_sums import made_of
from cagework.solver.reasoning.elsewhere import sight, spots_of
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.shared import TWO_SUMS, meeting_cites, meetings, retold
from cagework.solver.reasoning.state import Balance, State
from cagework.solver.reasoning.sums import BY, balance_why, is_new, key_of
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Step, Why, joined


@dataclass(frozen=True, slots=True)
class _Equal:
    """Two cells, what makes them equal, and the ends of the key and values of its sentence."""

    one: int
    other: int
    cites: Cites
    key: str
    why: Why


class EqualCells(Technique):
    """An innie and an outie alone, or two sums, or a sum and a cage, that share all but a cell each."""

    cost = 590
    look = Scope.FEW
    sentences: ClassVar = {
        **TWO_SUMS, **BY,
        "+alike": "{made} makes {sum} too, with {shared} in both, so {one} and {other} are equal.",
        "+each": "What the one cannot be, nor can the other.",
        "+seen": "Each place of {digit} in {house} sees {one} or {other}, so neither is {digit}.",
        "+either": "In {house}, {digit} can go only in {spots}, so {seen:|one of }{seen} is {digit}.",
        "+sees": "{cell} sees {seen:it|these} (by {by}) and cannot be {digit}.",
        "+ruled": "{cell} sees {seen:it|these} and cannot be {digit}.",
        "sees": "{cell} sees {seen:it|these} too (by {by}) and cannot be {digit} either.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """What two equal cells do not share, digits that neither can be, and what they keep from other cells."""
        if not is_new(state, place):
            return
        balance = state.balance(place)
        for equal in (*_by_itself(state, balance), *_with_cages(state, balance), *_with_sums(state, place)):
            if state.frame.sees[equal.one] >> equal.other & 1:
                continue
            yield from self._each(state, equal)
            yield from self._seen(state, equal)
            yield from self._either(state, equal, equal.one, equal.other)
            yield from self._either(state, equal, equal.other, equal.one)

    def _each(self, state: State, equal: _Equal) -> Iterator[Step]:
        """Digits that only one of the two can be."""
        one, other = equal.one, equal.other
        differ = state.candidates[one] ^ state.candidates[other]
        removes = [(cell, gone) for cell in (one, other) if (gone := state.candidates[cell] & differ)]
        if removes:
            cites = joined(equal.cites, Cites(state.missing(1 << one | 1 << other, differ)))
            yield self._told(state, equal, "+each", cites, {}, removes)

    def _seen(self, state: State, equal: _Equal) -> Iterator[Step]:
        """Digits all of whose places in some house see one of the two."""
        frame, one, other = state.frame, equal.one, equal.other
        near = frame.sees[one] | frame.sees[other]
        for index in members(state.candidates[one] & state.candidates[other]):
            for number, inside in enumerate(frame.house_sets):
                places = state.digit_places[index] & inside
                house = frame.puzzle.houses[number]
                apart = not inside & (1 << one | 1 << other) and house not in equal.cites.reckoned
                if places and frame.whole[number] and apart and not places & ~near:
                    links = [_link(state, equal.cites, (one, other), place) for place in members(places)]
                    if None not in links:
                        own = Cites(state.missing(inside & ~places, 1 << index), (house,))
                        cites = joined(equal.cites, own, *[link for link in links if link])
                        why: Why = {"digit": index + 1, "house": house, "spots": state.names(places)}
                        removes = [(one, 1 << index), (other, 1 << index)]
                        yield self._told(state, equal, "+seen", cites, why, removes)

    def _either(self, state: State, equal: _Equal, one: int, other: int) -> Iterator[Step]:
        """Cells that see the other of the two, and all places but the one that a digit has in a house of it."""
        frame = state.frame
        for index in members(state.candidates[one] & state.candidates[other]):
            for number in frame.houses_of[one]:
                house = frame.puzzle.houses[number]
                places = state.digit_places[index] & frame.house_sets[number] & ~(1 << one)
                if not places or not frame.whole[number] or house in equal.cites.reckoned:
                    continue
                targets = state.digit_places[index] & frame.sees[other] & ~frame.sees[one]
                for cell in members(places):
                    targets &= frame.sees[cell]
                own = Cites(state.missing(frame.house_sets[number] & ~places & ~(1 << one), 1 << index), (house,))
                for target in members(targets):
                    seen = (other, *members(places))
                    links = [_link(state, equal.cites, (cell,), target) for cell in seen]
                    if None not in links:
                        cites = joined(equal.cites, own, *[link for link in links if link])
                        why: Why = {"digit": index + 1, "house": house, "cell": frame.cells[target]}
                        yield self._told(state, equal, "+either", cites, why, [(target, 1 << index)])

    def _told(
        self, state: State, equal: _Equal, key: str, cites: Cites, why: Why, removes: Sequence[tuple[int, int]]
    ) -> Step:
        cells = state.frame.cells
        values: Why = {"one": cells[equal.one], "other": cells[equal.other]} | equal.why | why
        step = self.step(state, equal.key + key, cites, values, removes=removes)
        return self.retell(state.frame, step, state.candidates)

    def told_after(self, last: Step | None, step: Step) -> tuple[str, ...]:
        """What several cells see is said once."""
        same = last is not None and last.technique == self.name and "by" in step.why and all(
            last.why.get(name) == step.why[name] for name in ("one", "other", "house", "digit", "seen"))
        return self.templates("sees") if same and step.key.endswith("+sees") else super().told_after(last, step)

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """The places of the digit, and the two cells as one; one more where it takes two sums to see that."""
        if "+either" in step.key:
            step = _as_seen(frame, step, masks)
        spots = step.why.get("spots", ())
        return 1 + (len(spots) if isinstance(spots, tuple) else 0) + bool(step.cites.added_too)

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Say the sum as it stands, or both, and the places that are left."""
        if "+either" in step.key:
            step = _as_seen(frame, step, masks)
        if step.cites.added_too:
            return retold(frame, step, masks)
        balance = balance_told(frame, step, masks)
        key = "".join(step.key.partition("+")[1:])
        why = step.why | balance_why(frame, step.cites.additions[0], balance)
        return replace(step, key=key_of(frame, balance) + key, why=why)


def _as_seen(frame: Frame, step: Step, masks: Sequence[int]) -> Step:
    """The step with the places of its digit that are left, and by which houses and cages the cell sees these."""
    ((target, bit),) = step.removes
    one, other, house, cites = step.why["one"], step.why["other"], step.why["house"], step.cites
    assert isinstance(one, Cell) and isinstance(other, Cell) and isinstance(house, House), "they are named so"
    inside, outside = (one, other) if one in house.cells else (other, one)
    spots = spots_of(frame, cites, house, bit.bit_length(), masks) | 1 << frame.index[inside]
    seen = spots ^ 1 << frame.index[inside] | 1 << frame.index[outside]
    groups: list[House | Cage] = [*cites.houses, *cites.cages]
    links = [group for group in groups if group not in (house, *cites.reckoned)]
    by = sight(frame, links, seen, 1 << frame.index[target])
    before, either, _ = step.key.partition("+either")
    names = {name: tuple([frame.cells[cell] for cell in members(cells)])
             for name, cells in (("spots", spots), ("seen", seen))}
    return replace(step, key=f"{before}{either}+{'sees' if by else 'ruled'}", why=step.why | names | {"by": by})


def _by_itself(state: State, balance: Balance) -> Iterator[_Equal]:
    """The two cells of a sum that are as much as each other."""
    if len(balance.plus) == len(balance.minus) == 1 and balance.total == 0:
        yield _Equal(balance.plus[0], balance.minus[0], balance_cites(state, balance, ()), "", {})


def _with_sums(state: State, place: int) -> Iterator[_Equal]:
    """A cell of a sum and one of another, where the rest of both is the same and they make as much."""
    for meeting in meetings(state, place, 1):
        left = meeting.left
        if len(left.plus) == len(left.minus) == 1 and left.total == 0:
            yield _Equal(left.plus[0], left.minus[0], meeting_cites(state, meeting, ()), "+both", {})


def _with_cages(state: State, balance: Balance) -> Iterator[_Equal]:
    """A cell of a sum and one of a cage, where the rest of both is the same and they make as much."""
    frame, cells = state.frame, balance.plus + balance.minus
    if balance.plus and balance.minus:
        return
    together = set_of(cells)
    for cage in dict.fromkeys(cage for cell in cells[:2] for cage in frame.cages_of[cell]):
        left = state.open_cage(cage)
        if left is None or len(left.cells) != len(cells) or left.total != abs(balance.total):
            continue
        shared = together & set_of(left.cells)
        if shared.bit_count() == len(cells) - 1:
            one, other = ((cell & ~shared).bit_length() - 1 for cell in (together, set_of(left.cells)))
            filled = frame.cage_sets[cage] & ~set_of(left.cells)
            named = frame.puzzle.cages[cage]
            own = Cites(state.missing(filled, frame.full), cages=(named,))
            why: Why = {"made": made_of(frame, named, state.candidates), "shared": state.names(shared)}
            yield _Equal(one, other, joined(balance_cites(state, balance, ()), own), "+alike", why)


def _link(state: State, cites: Cites, cells: tuple[int, ...], target: int) -> Cites | None:
    """Why a cell differs from one of these, by what is not added up or taken away; None where nothing says so."""
    frame = state.frame
    for cell in cells:
        both = 1 << cell | 1 << target
        for number in frame.houses_of[cell]:
            house = frame.puzzle.houses[number]
            if not both & ~frame.house_sets[number] and house not in cites.reckoned:
                return Cites(houses=(house,))
        for number in frame.cages_of[cell]:
            cage = frame.puzzle.cages[number]
            if not both & ~frame.cage_sets[number] and cage not in cites.reckoned:
                return Cites(cages=(cage,))
        if (cell, target) in frame.differ:
            return Cites(pairs=(frame.differ[cell, target],))
    return None
