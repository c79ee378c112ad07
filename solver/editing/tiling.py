"""A grid covered with cages by chance and with taste; and the changes that keep it so covered.

Where the cages are to be symmetrical, each cell has a *partner*, itself or another: what is done to a cell is done
to its partner in the same breath, so that every tiling met on the way is symmetrical too.
"""

from __future__ import annotations

import random
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

from cagework.solver.model import Answer, Cage, Cell, connected, grid_cells
from cagework.solver.symmetry import Motion, moved

Group = tuple[Cell, ...]
_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class Change:
    """Groups to take away, and groups to put in their place."""

    gone: tuple[Group, ...]
    come: tuple[Group, ...]


@dataclass(frozen=True, slots=True)
class Tiler:
    """How the cells of an answer may be grouped to cages.

    `sizes` weighs the sizes a new cage may have against each other, and no cage is larger than the greatest;
    `lone` allows cages of one cell; `compact` weighs square shapes over long ones: 0 for no taste, less than 0
    for winding ones. `symmetry` is a motion that is undone when it is done twice.
    """

    answer: Answer
    sizes: Mapping[int, float]
    lone: bool = False
    compact: float = 0.0
    symmetry: Motion = Motion.NONE

    def partner(self, cell: Cell) -> Cell:
        """The cell it is changed with; itself where there is no symmetry, or it lies on the axis."""
        return moved(cell, self.symmetry, self.answer.columns)

    def image(self, group: Iterable[Cell]) -> Group:
        """The partners of some cells, by row and column."""
        return tuple(sorted(map(self.partner, group)))

    def tile(self, rng: random.Random) -> list[Group] | None:
        """Cover the grid with cages of distinct digits; None where this try met a dead end."""
        free = dict.fromkeys(grid_cells(self.answer.columns))
        groups: list[Group] = []
        symmetric = self.symmetry is not Motion.NONE
        while free:
            # What lies on the axis has the fewest ways to be covered.
            first = (symmetric and [cell for cell in free if self.partner(cell) == cell]) or list(free)
            fewest = min(_count(cell, free) for cell in first)
            start = pick([cell for cell in first if _count(cell, free) == fewest], rng)
            grown = self._grown(start, free, rng)
            if len(grown) == 1 and not self.lone:
                changes = [change for group in groups if (change := self._taken_in(start, group, groups))]
                if not changes:
                    return None
                taken = pick(changes, rng)
                put = dict(zip(taken.gone, taken.come, strict=True))
                groups = [put.get(group, group) for group in groups]
            else:
                groups += dict.fromkeys((tuple(sorted(grown)), self.image(grown)))
            for cell in (*grown, *map(self.partner, grown)):
                free.pop(cell, None)
        return groups

    def may_be(self, group: Sequence[Cell]) -> bool:
        """Whether these cells may be a cage."""
        least = 1 if self.lone else 2
        return least <= len(group) <= max(self.sizes) and self._distinct(group) and connected(group)

    def shifts(self, groups: Sequence[Group], among: Container[Cell] | None = None) -> Iterator[Change]:
        """Moves of one cell, `among` these if they are given, from its cage to the next."""
        group_of = {cell: group for group in groups for cell in group}
        for cell, home in group_of.items():
            if len(home) > 1 and (among is None or cell in among):
                for away in dict.fromkeys(group_of.get(near, home) for near in cell.neighbours()):
                    if away != home and (change := self._moved(cell, home, away)):
                        yield change

    def splits(self, groups: Sequence[Group]) -> Iterator[Change]:
        """Cages cut in two."""
        for group in groups:
            image = self.image(group)
            for chosen in range(1, 1 << len(group) - 1):
                part = tuple([cell for index, cell in enumerate(group) if chosen >> index & 1])
                rest = tuple([cell for cell in group if cell not in part])
                if self.may_be(part) and self.may_be(rest):
                    parts = (part, rest)
                    others = (self.image(part), self.image(rest))
                    if image != group:
                        yield Change((group, image), (*parts, *others))
                    elif set(others) == set(parts):
                        yield Change((group,), parts)

    def merges(self, groups: Sequence[Group]) -> Iterator[Change]:
        """Cages that touch made one, each pair once."""
        group_of = {cell: group for group in groups for cell in group}
        done: set[frozenset[Group]] = set()
        for cell, group in group_of.items():
            for other in dict.fromkeys(group_of.get(near, group) for near in cell.neighbours()):
                pair = frozenset((group, other))
                if other != group and pair not in done:
                    done |= {pair, frozenset(map(self.image, pair))}
                    if change := self.merged(group, other):
                        yield change

    def merged(self, one: Group, two: Group) -> Change | None:
        """Two cages made one, and their images likewise; None where what comes of it may not be a cage."""
        pair, images = {one, two}, {self.image(one), self.image(two)}
        whole = [pair | images] if pair & images else [pair, images]
        come = tuple([tuple(sorted(cell for group in groups for cell in group)) for groups in whole])
        gone = tuple(dict.fromkeys((one, two, self.image(one), self.image(two))))
        return Change(gone, come) if all(map(self.may_be, come)) else None

    def _moved(self, cell: Cell, home: Group, away: Group) -> Change | None:
        """A cell moved to another cage, and its partner likewise; None where that leaves what is no cage."""
        moves = dict.fromkeys([(cell, home, away), (self.partner(cell), self.image(home), self.image(away))])
        if len({one for one, _, _ in moves}) < len(moves):
            return None     # it lies on the axis, and one of its cages does not
        held = {group: list(group) for _, *both in moves for group in both}
        for one, left, joined in moves:
            held[left].remove(one)
            held[joined].append(one)
        come = tuple([tuple(sorted(group)) for group in held.values() if group])
        return Change(tuple(held), come) if len(come) == len(held) and all(map(self.may_be, come)) else None

    def _taken_in(self, cell: Cell, group: Group, groups: Sequence[Group]) -> Change | None:
        """A cell in no cage yet, and its partner, taken in by a cage; None where that may not be."""
        joins = dict.fromkeys([(cell, group), (self.partner(cell), self.image(group))])
        held = {other: list(other) for _, other in joins}
        if len({one for one, _ in joins}) < len(joins) or not all(other in groups for other in held):
            return None
        for one, other in joins:
            held[other].append(one)
        come = tuple([tuple(sorted(other)) for other in held.values()])
        return Change(tuple(held), come) if all(map(self.may_be, come)) else None

    def _grown(self, start: Cell, free: Mapping[Cell, None], rng: random.Random) -> list[Cell]:
        """A cage from `start` over free cells, of a size drawn by weight or as near as room allows. One that
        begins on the axis is its own image; any other has nothing in common with its image.
        """
        aim = weighed(list(self.sizes), list(self.sizes.values()), rng)
        own = self.partner(start) == start
        cage = [start]
        while len(cage) < aim:
            edge = [cell for cell in dict.fromkeys(near for cell in cage for near in cell.neighbours())
                    if cell in free and cell not in cage and self._may_grow(cage, cell, own, aim)]
            if not edge:
                break
            # One with no other way out is urgent.
            weights = [self._taste(_count(cell, cage)) + 2.0 * (_count(cell, free) <= _count(cell, cage))
                       for cell in edge]
            taken = weighed(edge, weights, rng)
            cage += dict.fromkeys((taken, self.partner(taken))) if own else (taken,)
        return cage

    def _may_grow(self, cage: Sequence[Cell], cell: Cell, own: bool, aim: int) -> bool:
        """Whether a cage, its own image or not, can take a cell, and its image the partner."""
        partner = self.partner(cell)
        if not own:
            return partner not in (cell, *cage) and self._distinct((*cage, cell)) and self._distinct(
                self.image((*cage, cell)))
        added = tuple(dict.fromkeys((cell, partner)))
        room = max(aim, min(len(added) + 1, max(self.sizes)))
        return len(cage) + len(added) <= room and self._distinct((*cage, *added))

    def _distinct(self, cells: Sequence[Cell]) -> bool:
        return len({self.answer.at(cell) for cell in cells}) == len(cells)

    def _taste(self, sides: int) -> float:
        """What a cell that touches a cage on so many sides weighs: more sides make the cage squarer."""
        return 1 + self.compact * (sides - 1) if self.compact >= 0 else (1 - self.compact) ** (1 - sides)


def changed(groups: Sequence[Group], change: Change) -> list[Group]:
    """The groups after a change."""
    return [group for group in groups if group not in change.gone] + list(change.come)


def summed(answer: Answer, cells: Group) -> Cage:
    """The cage of these cells, with its sum."""
    return Cage(cells, sum(map(answer.at, cells)))


def pick(items: Sequence[_T], rng: random.Random) -> _T:
    """One item, each as likely."""
    return items[int(rng.random() * len(items))]


def weighed(items: Sequence[_T], weights: Sequence[float], rng: random.Random) -> _T:
    """One item, with a chance in proportion to its weight."""
    mark = rng.random() * sum(weights)
    for item, weight in zip(items, weights, strict=True):
        mark -= weight
        if mark < 0:
            return item
    return items[-1]


def shuffled(items: Sequence[_T], rng: random.Random) -> list[_T]:
    """The items in random order (Fisher and Yates)."""
    order = list(items)
    for last in range(len(order) - 1, 0, -1):
        other = int(rng.random() * (last + 1))
        order[last], order[other] = order[other], order[last]
    return order


def _count(cell: Cell, among: Iterable[Cell]) -> int:
    """How many of the cell's neighbours are among these."""
    return sum(near in among for near in cell.neighbours())
