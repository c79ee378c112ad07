"""Steps -> the order in which a person would take them: thought by thought, each with what it leads to.

An idea is one thought: a step that leads, and after it what follows from that at a glance. Steps of one kind
that are listed together (the ways of several cages) are one idea too, and so are steps that strike different
digits by one sum, or by the same places of a house, that look at one cage, and suppositions of one cell's digits.
Singles never lead, but at the very start.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from cagework.solver.bitset import members, set_of
from cagework.solver.model import Cage, Cell
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.technique import FILLED, Scope, Technique
from cagework.solver.step import Step, Summand, joined

FAR_COST = 400
"""A step of at least this cost looks further than a cage or a house."""

GLANCE_COST, GLANCE_LOAD = 450, 3
"""A step of less than this cost, and of no more cases than this, is seen at a glance once its reason is there."""

_MOST_AKIN = 4
"""The most steps of an idea that are akin to its first."""

_WIDE = (Scope.ALONE, Scope.FEW, Scope.MANY, Scope.GRID, Scope.DIGIT, Scope.NEAR_CAGE)


@dataclass(frozen=True, slots=True)
class Told:
    """A step in its place: its number in what was given, the number of its idea, from 0, whether it rests on what
    the step before it brought about, and whether on nothing but the printed puzzle and its own idea.
    """

    number: int
    idea: int
    follows: bool
    printed: bool


class Teller:
    """Puts steps in order. `masks` is what each cell can hold before the first; it is changed."""

    def __init__(
        self, frame: Frame, masks: list[int], steps: Sequence[Step], techniques: Mapping[str, Technique],
    ) -> None:
        self.frame, self.masks, self.steps, self.techniques = frame, masks, steps, techniques
        self.told: list[Told] = []
        self._printed = masks[:]
        self._lists = False
        self._wants = [[] if step.is_trial else [(frame.index[cell], mask) for cell, mask in step.cites.eliminated]
                       for step in steps]
        self._filled = [self._others(step) for step in steps]
        self._settled = [self._known(number) for number in range(len(steps))]
        self._counted = [set_of(frame.index[cell] for cell in _counted(step)) for step in steps]
        self._single = [techniques[step.technique].single for step in steps]
        self._bare = 0
        self._ready: set[int] = set()
        self._waiting: dict[int, list[int]] = {}
        self._fresh: dict[int, int] = {}
        self._last: dict[int, int] = {}
        self._near: list[int] = []
        self._placed = {frame.index[given.cell] for given in frame.puzzle.givens}
        self._idea, self._lead, self._akin = -1, -1, 0

    def tell(self, *, as_given: bool = False) -> list[Told]:
        """Return the steps in order, or `as_given`; one whose digits are all gone by its turn is left out."""
        start = 0
        for number, step in enumerate(self.steps):
            if as_given or step.is_trial:   # a trial stays where it was, and so does what came before it
                self._run(range(start, number))
                self._run([number])
                start = number + 1
        self._run(range(start, len(self.steps)))
        return self.told

    def _run(self, numbers: Iterable[int]) -> None:
        self._ready.clear()
        self._waiting.clear()
        for number in numbers:
            self._sort(number)
        while self._ready:
            number, carries = self._next()
            self._ready.discard(number)
            if self._changes(number):
                self._take(number, leads=not carries)

    def _sort(self, number: int) -> None:
        """Find a step ready, or have it wait for a cell that still holds what it cites as gone, or is unfilled."""
        for cell, mask in self._wants[number]:
            if self.masks[cell] & mask:
                self._waiting.setdefault(cell, []).append(number)
                return
        for cell in self._filled[number]:
            if cell not in self._placed:
                self._waiting.setdefault(cell, []).append(number)
                return
        self._ready.add(number)

    def _take(self, number: int, *, leads: bool) -> None:
        step, index, masks = self.steps[number], self.frame.index, self.masks
        follows = bool(self.told) and self._rests_on(number, self._last)
        self._akin += not leads and _are_akin(self.steps[self._lead], step)
        if leads:
            self._idea += 1
            self._lead, self._akin, self._fresh = number, 1, {}
            self._lists = bool(self.techniques[step.technique].lead)
        printed = not step.is_trial and not any(
            mask & self._printed[cell] & ~self._fresh.get(cell, 0) for cell, mask in self._wants[number])
        self._last = {}
        for name, digit in step.places:
            cell, bit = index[name], 1 << digit - 1
            self._strike(cell, ~bit & self.frame.full)
            for other in members(self.frame.sees[cell]):
                if masks[other] & bit:
                    self._strike(other, bit)
            self._placed.add(cell)
            self._bare &= ~(1 << cell)
        for name, mask in step.removes:
            self._strike(index[name], mask)
        self._near = [index[name] for name, _ in step.places or step.removes]
        self.told.append(Told(number, max(self._idea, 0), follows, printed))
        for cell in (*self._last, *[index[name] for name, _ in step.places]):
            for waiting in self._waiting.pop(cell, ()):
                self._sort(waiting)

    def _others(self, step: Step) -> list[int]:
        """The cells of which a step says that they are filled."""
        if self.techniques[step.technique].look not in FILLED:
            return []
        (filled, _), = step.places
        cells = [cell for house in step.cites.houses for cell in house.cells]
        cells += [cell for cage in step.cites.cages for cell in cage.cells]
        return [self.frame.index[cell] for cell in cells if cell != filled]

    def _known(self, number: int) -> list[int]:
        """The cells whose digit a step takes for known, besides what it places."""
        full, own = self.frame.full, {self.frame.index[cell] for cell, _ in self.steps[number].places}
        return [cell for cell, mask in self._wants[number]
                if cell not in own and (full & ~mask).bit_count() == 1]

    def _strike(self, cell: int, mask: int) -> None:
        gone = self.masks[cell] & mask
        if gone:
            left = self.masks[cell] = self.masks[cell] ^ gone
            if left and not left & left - 1 and cell not in self._placed:
                self._bare |= 1 << cell
            self._fresh[cell] = self._fresh.get(cell, 0) | gone
            self._last[cell] = self._last.get(cell, 0) | gone

    def _changes(self, number: int) -> bool:
        step, index = self.steps[number], self.frame.index
        return any(index[cell] not in self._placed for cell, _ in step.places) or any(
            self.masks[index[cell]] & mask for cell, mask in step.removes)

    def _rests_on(self, number: int, gone: Mapping[int, int]) -> bool:
        return any(gone[cell] & mask for cell, mask in self._wants[number] if cell in gone)

    def _carries(self, number: int) -> bool:
        """Whether a step goes on with the idea that is being told."""
        if not self.told:
            return False
        step = self.steps[number]
        technique = self.techniques[step.technique]
        if technique.single:
            return True
        before = self.steps[self.told[-1].number]
        if self.techniques[before.technique].single:
            return False
        if self._lists and before.technique == step.technique:
            return True
        if self._akin < _MOST_AKIN and _are_akin(self.steps[self._lead], step):
            return True
        if suppose_of_one_cell(before, step) or self._of_one_cage(before, step):
            return True
        return (technique.look not in _WIDE and step.cost < GLANCE_COST and self._rests_on(number, self._fresh)
                and technique.load(self.frame, self.masks, step) <= GLANCE_LOAD)

    def _of_one_cage(self, one: Step, other: Step) -> bool:
        """Whether two steps look at one cage alone, the second by a technique that is not listed of several."""
        first, second = (self.techniques[step.technique] for step in (one, other))
        return (first.look is second.look is Scope.CAGE and not second.lead
                and one.cites.cages[:1] == other.cites.cages[:1])

    def _next(self) -> tuple[int, bool]:
        """The step to be told, and whether it goes on with the idea.

        First what rests on digits that are told, and adds up no cell with one digit left that is not, then what
        goes on with the idea, the same cage and what follows from the last step before the rest, what has least to
        hold in mind now, the cheapest, the nearest, and the first found.
        """
        best = (True, True, True, True, True)
        before = self.steps[self.told[-1].number] if self.told else None
        equal: list[int] = []
        for number in self._ready:
            single = self._single[number]
            carries = before is not None if single else self._carries(number)
            early = bool(self._counted[number] & self._bare) or not self._placed.issuperset(self._settled[number])
            same = before is not None and not single and self._of_one_cage(before, self.steps[number])
            key = early, not carries, carries and single, not same, not self._rests_on(number, self._last)
            if key < best:
                best, equal = key, []
            if key == best:
                equal.append(number)
        if len(equal) > 1:
            burdens = {number: self._burden(number) for number in equal}
            least = min(burdens.values())
            equal = [number for number in equal if burdens[number] == least]
        number = min(equal, key=lambda one: (self._distance(self.steps[one]), one)) if len(equal) > 1 else equal[0]
        return number, not best[1]

    def _burden(self, number: int) -> tuple[int, int]:
        step = self.steps[number]
        return self.techniques[step.technique].load(self.frame, self.masks, step), step.cost

    def _distance(self, step: Step) -> int:
        """How many cells a step lies from the last one."""
        cells = self.frame.cells
        return min([abs(cells[last].row - name.row) + abs(cells[last].col - name.col)
                    for name, _ in step.places or step.removes for last in self._near], default=0)


def united(
    told: Iterable[Told], steps: Sequence[Step], techniques: Mapping[str, Technique], frame: Frame,
) -> Iterator[tuple[Step, Told]]:
    """Steps in the order in which they are told, those of one idea that strike by one sum, right after one
    another, as one.
    """
    last: tuple[Step, Told] | None = None
    for here in told:
        step = steps[here.number]
        both = None
        if last is not None and here.idea == last[1].idea:
            both = _as_one(frame, last[0], step, techniques[step.technique])
        if last is not None and both is None:
            yield last
        last = (step, here) if last is None or both is None else (both, last[1])
    if last is not None:
        yield last


def _as_one(frame: Frame, one: Step, other: Step, technique: Technique) -> Step | None:
    """Both steps as one where they strike by one sum, and the second would without the first."""
    same = one.technique == other.technique and one.cites.additions == other.cites.additions
    if not (technique.unites and same):
        return None
    removes: dict[Cell, int] = {}
    for cell, mask in (*one.removes, *other.removes):
        removes[cell] = removes.get(cell, 0) | mask
    gone = dict(one.removes)
    lacks = tuple([(cell, left) for cell, mask in other.cites.eliminated if (left := mask & ~gone.get(cell, 0))])
    more = replace(other.cites, eliminated=lacks, added=(), taken=(), added_too=(), taken_too=())
    cites = joined(one.cites, more)
    both = replace(one, removes=tuple(removes.items()), cites=cites)
    return both if technique.holds(frame, both, frame.missing(cites)) else None


def _counted(step: Step) -> Iterable[Cell]:
    """The cells of what a step adds up, but for those it fills: one of them that has one digit left is told as
    filled.
    """
    cites, filled = step.cites, {cell for cell, _ in step.places}
    groups: list[Summand] = [*[one for one in cites.reckoned if not isinstance(one, Cage)], *cites.cages]
    return [cell for group in groups for cell in group.cells if cell not in filled]


def _are_akin(one: Step, other: Step) -> bool:
    """Whether two steps go by one sum, or by the same places of a house."""
    left, right = one.cites, other.cites
    if left.added or right.added:
        return left.additions == right.additions
    if left.sums or right.sums:
        return left.sums == right.sums
    if left.betweens or right.betweens:
        return left.betweens == right.betweens
    return bool(one.removes and other.removes and left.houses) and left.houses[:1] == right.houses[:1] and (
        {cell for cell, _ in left.eliminated} == {cell for cell, _ in right.eliminated})


def suppose_of_one_cell(one: Step, other: Step) -> bool:
    """Whether two steps each suppose a digit of the same cell, and strike it."""
    first, second = ([cell for cell, _ in step.removes if step.parts and not step.parts[0].supposes]
                     for step in (one, other))
    return bool(first) and first == second
