"""Seed and recipe -> puzzle: a random answer, cages laid over it with some taste, one answer proved.

The same seed and recipe give the same puzzle on every machine and Python: only `Random.random` is drawn
from, whose sequence the standard library keeps, and nothing runs in the order of a set.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import TypeVar

from cagework.solver.model import (
    Answer,
    Cage,
    Cell,
    Puzzle,
    boxes,
    connected,
    grid_cells,
    standard_houses,
)
from cagework.solver.rule import Rule, with_facts
from cagework.solver.rules import RULES
from cagework.solver.search.exact import Outcome, Verdict, random_answer, solve

MOST_NODES = 300
"""A puzzle that takes the search longer is changed instead: with more, grids of 16 take several times as long
to compose for a few cages fewer (measured).
"""

Group = tuple[Cell, ...]
Judge = Callable[[Puzzle], Verdict]
_T = TypeVar("_T")


class ComposeError(RuntimeError):
    """No puzzle came of this seed and recipe within the tries allowed."""


@dataclass(frozen=True, slots=True)
class Recipe:
    """What to compose.

    `sizes` weighs cage sizes against each other and its greatest is never exceeded; `compact` weighs
    square shapes over snaky ones (0: no taste); `dominoes` is the greatest share of two-cell cages to
    start from (repairs may split more off); `lone` allows one-cell cages; `irregular` draws regions in
    place of the boxes, and `boxless` has none; `rules` are rules, or names out of `cagework.solver.rules`,
    each on its example; `tries` bounds the fresh starts.
    """

    size: int = 9
    sizes: Mapping[int, float] = field(default_factory=lambda: {2: 3.0, 3: 4.0, 4: 3.0, 5: 1.0, 6: 0.3})
    compact: float = 2.0
    dominoes: float = 0.45
    lone: bool = False
    irregular: bool = False
    boxless: bool = False
    rules: tuple[str | Rule, ...] = ()
    tries: int = 60


@dataclass(frozen=True, slots=True)
class Composed:
    """A sound puzzle and its answer."""

    puzzle: Puzzle
    answer: Answer


def compose(seed: int, recipe: Recipe, judge: Judge | None = None) -> Composed:
    """Make a puzzle that `judge` finds sound; without one, this project's own search within MOST_NODES.

    Raises ComposeError where `recipe.tries` answers and tilings did not lead to one.
    """
    rng = random.Random(seed)
    for _ in range(recipe.tries):
        plan = _plan(recipe, rng)
        answer = random_answer(plan, rng, nodes=40 * recipe.size)
        tiling = answer and tile(answer, recipe, rng)
        puzzle = answer and tiling and _repaired(plan, answer, tiling, recipe, rng, judge)
        if answer and puzzle:
            return Composed(puzzle, answer)
    raise ComposeError(f"no puzzle in {recipe.tries} tries: allow smaller cages or fewer rules")


def harden(
    composed: Composed, seed: int, unique: Callable[[Puzzle], bool], *, fewest: int = 1, largest: int = 6
) -> Composed:
    """Merge adjoining cages while `unique` holds: each pair is tried once, in random order.

    No cage grows over `largest` cells, and merging stops at `fewest` cages.
    """
    rng = random.Random(seed)
    puzzle, answer = composed.puzzle, composed.answer
    borders = [(cell, Cell(cell.row + down, cell.col + 1 - down)) for cell in puzzle.cells for down in (0, 1)]
    refused: set[tuple[Group, Group]] = set()
    for cell, beside in _shuffled(borders, rng):
        cage_of = {cell: cage for cage in puzzle.cages for cell in cage.cells}
        one, two = cage_of.get(cell), cage_of.get(beside)
        if len(puzzle.cages) <= fewest:
            break
        if one is None or two is None or one is two or (one.cells, two.cells) in refused:
            continue
        cells = tuple(sorted((*one.cells, *two.cells)))
        if len(cells) > largest or len({answer.at(cell) for cell in cells}) < len(cells):
            continue
        others = tuple(cage for cage in puzzle.cages if cage not in (one, two))
        trial = replace(puzzle, cages=(*others, _cage(answer, cells)))
        if unique(trial):
            puzzle = trial
        else:
            refused |= {(one.cells, two.cells), (two.cells, one.cells)}
    return Composed(replace(puzzle, cages=tuple(sorted(puzzle.cages, key=lambda cage: cage.first))), answer)


def tile(answer: Answer, recipe: Recipe, rng: random.Random) -> list[Group] | None:
    """Cover the grid with cages of distinct digits by the recipe; None where this try met a dead end."""
    free = dict.fromkeys(grid_cells(answer.columns))
    cages: list[list[Cell]] = []
    while free:
        fewest = min(_count(cell, free) for cell in free)
        start = _pick([cell for cell in free if _count(cell, free) == fewest], rng)
        cage = _grown(start, free, answer, recipe, rng)
        if len(cage) == 1 and not recipe.lone:
            joined = [other for other in cages if _may_join(cage[0], other, answer, recipe)]
            if not joined:
                return None
            _pick(joined, rng).append(start)
        else:
            cages.append(cage)
        for cell in cage:
            del free[cell]
    if sum(len(cage) == 2 for cage in cages) > recipe.dominoes * len(cages):
        return None
    return [tuple(sorted(cage)) for cage in cages]


def irregular_regions(size: int, rng: random.Random) -> tuple[Group, ...]:
    """Random connected regions of `size` cells each, by trading border cells between the usual boxes."""
    regions = [list(box) for box in boxes(size)]
    region_of = {cell: number for number, region in enumerate(regions) for cell in region}
    for _ in range(size * size * 12):
        cell = _pick(list(region_of), rng)
        home = region_of[cell]
        away = region_of.get(_pick(list(cell.neighbours()), rng), home)
        if away == home:
            continue
        back = [
            other for other in regions[away]
            if any(region_of.get(near) == home and near != cell for near in other.neighbours())
        ]
        if not back:
            continue
        other = _pick(back, rng)
        here = [c for c in regions[home] if c != cell] + [other]
        there = [c for c in regions[away] if c != other] + [cell]
        if connected(here) and connected(there):
            regions[home], regions[away] = here, there
            region_of[cell], region_of[other] = away, home
    return tuple(sorted(tuple(sorted(region)) for region in regions))


def _plan(recipe: Recipe, rng: random.Random) -> Puzzle:
    """The grid with the facts of its rules, no cages yet."""
    regions = irregular_regions(recipe.size, rng) if recipe.irregular else () if recipe.boxless else None
    rules = [RULES[rule].exemplar(recipe.size) if isinstance(rule, str) else rule for rule in recipe.rules]
    facts = [fact for rule in rules for fact in rule.facts()]
    return with_facts(Puzzle(recipe.size, standard_houses(recipe.size, regions), ()), facts)


def _repaired(
    plan: Puzzle, answer: Answer, tiling: Sequence[Group], recipe: Recipe, rng: random.Random, judge: Judge | None
) -> Puzzle | None:
    """Shift cells between cages until the second answer found each time is gone.

    Where no shift does it a cage is split, and so is a largest one where the judge found nothing in time.
    """
    groups = list(tiling)
    for _ in range(8 * recipe.size):
        puzzle = replace(plan, cages=tuple(_cage(answer, cells) for cells in sorted(groups)))
        verdict = judge(puzzle) if judge else solve(puzzle, nodes=MOST_NODES, near=answer)
        if verdict.outcome is Outcome.SOUND:
            return puzzle
        other = verdict.second if verdict.answer == answer else verdict.answer
        if other is None:
            most = max(map(len, groups))
            changes = _splits([group for group in groups if len(group) == most], answer, None, recipe)
        else:
            changes = _shifts(groups, answer, other, recipe) or _splits(groups, answer, other, recipe)
        if not changes:
            return None
        gone, come = _pick(changes, rng)
        groups = [group for group in groups if group not in gone] + list(come)
    return None


_Change = tuple[tuple[Group, ...], tuple[Group, ...]]
"""Cages to take away, and cages to put in their place."""


def _shifts(groups: Sequence[Group], answer: Answer, other: Answer, recipe: Recipe) -> list[_Change]:
    """Moves of one cell from its cage to the next that `other` does not survive."""
    group_of = {cell: group for group in groups for cell in group}
    least = 2 if recipe.lone else 3
    changes: list[_Change] = []
    for cell, home in group_of.items():
        left = tuple(c for c in home if c != cell)
        if len(home) < least or answer.at(cell) == other.at(cell) or not connected(left):
            continue
        for away in dict.fromkeys(group_of.get(near, home) for near in cell.neighbours()):
            if away != home and _may_join(cell, away, answer, recipe):
                joined = tuple(sorted((*away, cell)))
                if _tells_apart(joined, answer, other) or _tells_apart(left, answer, other):
                    changes.append(((home, away), (left, joined)))
    return changes


def _splits(groups: Sequence[Group], answer: Answer, other: Answer | None, recipe: Recipe) -> list[_Change]:
    """Cages cut in two connected parts that `other`, where there is one, does not survive."""
    least = 1 if recipe.lone else 2
    changes: list[_Change] = []
    for group in groups:
        for chosen in range(1, 1 << len(group) - 1):
            part = tuple(cell for index, cell in enumerate(group) if chosen >> index & 1)
            rest = tuple(cell for cell in group if cell not in part)
            if (min(len(part), len(rest)) >= least and (other is None or _tells_apart(part, answer, other))
                    and connected(part) and connected(rest)):
                changes.append(((group,), (part, rest)))
    return changes


def _tells_apart(cells: Group, answer: Answer, other: Answer) -> bool:
    """Whether a cage of these cells, with the answer's total, refuses the other grid."""
    digits = [other.at(cell) for cell in cells]
    return sum(digits) != sum(map(answer.at, cells)) or len(set(digits)) < len(digits)


def _grown(
    start: Cell, free: Mapping[Cell, None], answer: Answer, recipe: Recipe, rng: random.Random
) -> list[Cell]:
    """A cage from `start` over free cells, of a size drawn from the recipe or as near as room allows."""
    aim = _weighed(list(recipe.sizes), list(recipe.sizes.values()), rng)
    cage = [start]
    while len(cage) < aim:
        digits = [answer.at(cell) for cell in cage]
        edge = [
            cell for cell in dict.fromkeys(near for cell in cage for near in cell.neighbours())
            if cell in free and cell not in cage and answer.at(cell) not in digits
        ]
        if not edge:
            break
        # A cell that touches the cage on more sides makes it squarer; one with no other way out is urgent.
        weights = [
            1 + recipe.compact * (_count(cell, cage) - 1) + 2.0 * (_count(cell, free) <= _count(cell, cage))
            for cell in edge
        ]
        cage.append(_weighed(edge, weights, rng))
    return cage


def _may_join(cell: Cell, cage: Sequence[Cell], answer: Answer, recipe: Recipe) -> bool:
    """Whether a cage can take one more cell: it touches, has room and lacks the digit."""
    return (
        len(cage) < max(recipe.sizes)
        and _count(cell, cage) > 0
        and answer.at(cell) not in [answer.at(other) for other in cage]
    )


def _cage(answer: Answer, cells: Group) -> Cage:
    return Cage(cells, sum(map(answer.at, cells)))


def _count(cell: Cell, among: Iterable[Cell]) -> int:
    """How many of the cell's neighbours are among these."""
    return sum(near in among for near in cell.neighbours())


def _pick(items: Sequence[_T], rng: random.Random) -> _T:
    return items[int(rng.random() * len(items))]


def _weighed(items: Sequence[_T], weights: Sequence[float], rng: random.Random) -> _T:
    """One item, with a chance in proportion to its weight."""
    mark = rng.random() * sum(weights)
    for item, weight in zip(items, weights, strict=True):
        mark -= weight
        if mark < 0:
            return item
    return items[-1]


def _shuffled(items: Sequence[_T], rng: random.Random) -> list[_T]:
    """The items in random order (Fisher and Yates)."""
    order = list(items)
    for last in range(len(order) - 1, 0, -1):
        other = int(rng.random() * (last + 1))
        order[last], order[other] = order[other], order[last]
    return order
