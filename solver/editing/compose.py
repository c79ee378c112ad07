"""Seed and recipe -> puzzle: a random answer, cages laid over it with some taste, one answer proved.

The same seed and recipe give the same puzzle on every machine and Python: only `Random.random` is drawn
from, whose sequence the standard library keeps, and nothing runs in the order of a set.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from cagework.solver.editing.laying import Stated, bare_of, comparisons, lay, stated
from cagework.solver.editing.tiling import Change, Group, Tiler, changed, pick, shuffled, summed
from cagework.solver.editing.why import differing
from cagework.solver.model import (
    Answer,
    Cell,
    Puzzle,
    boxes,
    connected,
    standard_houses,
)
from cagework.solver.rule import Rule, Takes, with_facts
from cagework.solver.rules import RULES
from cagework.solver.search.exact import Outcome, Verdict, random_answer, solve
from cagework.solver.symmetry import Motion

MOST_NODES = 300
"""A puzzle that takes the search longer is changed instead: with more, grids of 16 take several times as long
to compose for a few cages fewer (measured).
"""

Judge = Callable[[Puzzle], Verdict]

class ComposeError(RuntimeError):
    """No puzzle came of this seed and recipe within the tries allowed."""


@dataclass(frozen=True, slots=True)
class Recipe:
    """What to compose.

    `sizes` weighs cage sizes against each other and its greatest is never exceeded; `compact` weighs
    square shapes over snaky ones (0: no taste); `dominoes` is the greatest share of two-cell cages to
    start from (repairs may split more off); `lone` allows one-cell cages; `irregular` draws regions in
    place of the boxes, and `boxless` has none; `rules` are rules, or names out of `cagework.solver.rules`,
    each on its example; `laid` are rules on cells, by name, that are laid over the answer, each with how much of
    it; `tries` bounds the fresh starts; the cages have `symmetry`.
    """

    size: int = 9
    sizes: Mapping[int, float] = field(default_factory=lambda: {2: 3.0, 3: 4.0, 4: 3.0, 5: 1.0, 6: 0.3})
    compact: float = 2.0
    dominoes: float = 0.45
    lone: bool = False
    irregular: bool = False
    boxless: bool = False
    rules: tuple[str | Rule, ...] = ()
    laid: tuple[tuple[str, int], ...] = ()
    tries: int = 60
    symmetry: Motion = Motion.NONE

    def tiler(self, answer: Answer) -> Tiler:
        """How the cells of an answer may be grouped by it."""
        return Tiler(answer, self.sizes, self.lone, self.compact, self.symmetry)


@dataclass(frozen=True, slots=True)
class Composed:
    """A sound puzzle, its answer, and what was laid over that."""

    puzzle: Puzzle
    answer: Answer
    laid: Stated = ()


def compose(seed: int, recipe: Recipe, judge: Judge | None = None) -> Composed:
    """Make a puzzle that `judge` finds sound; without one, this project's own search within MOST_NODES.

    Raises ComposeError where `recipe.tries` answers and tilings did not lead to one.
    """
    rng = random.Random(seed)
    for _ in range(recipe.tries):
        plan = _plan(recipe, rng)
        answer = random_answer(plan, rng, nodes=40 * recipe.size)
        made = answer and _composed(plan, answer, recipe, rng, judge)
        if made:
            return made
    raise ComposeError(f"no puzzle in {recipe.tries} tries: allow smaller cages or fewer rules")


def _composed(
    plan: Puzzle, answer: Answer, recipe: Recipe, rng: random.Random, judge: Judge | None,
) -> Composed | None:
    """Rules laid over an answer, then cages; None where that leads to no puzzle."""
    between = [(name, count) for name, count in recipe.laid if is_between_cages(name)]
    laid = lay([one for one in recipe.laid if one not in between], plan, answer, rng)
    if laid is None:
        return None
    tiling = tile(answer, recipe, rng)
    puzzle = tiling and _repaired(stated(plan, laid), answer, tiling, recipe, rng, judge)
    made = Composed(puzzle, answer, laid) if puzzle else None
    for name, count in between:
        made = made and _compared(made, name, count, rng, judge)
    return made


def is_between_cages(name: str) -> bool:
    """Whether a rule on cells compares cages, which are there before it is laid."""
    return name in RULES and RULES[name].takes is Takes.CAGES


def _compared(made: Composed, name: str, count: int, rng: random.Random, judge: Judge | None) -> Composed | None:
    """Cages without their sums, and in place of these what a rule says of two of them; None where nothing can be
    taken away.
    """
    puzzle, laid = made.puzzle, list(made.laid)
    for named, cages in comparisons(name, puzzle, made.answer, made.laid, rng):
        if len(laid) - len(made.laid) == count:
            break
        for bare in (cages, cages[:1], cages[1:]):
            trial = stated(bare_of(puzzle, bare), ((name, named),))
            if bare_of(puzzle, bare) != puzzle and _verdict(trial, made.answer, judge).outcome is Outcome.SOUND:
                puzzle = trial
                laid.append((name, named))
                break
    return Composed(puzzle, made.answer, tuple(laid)) if len(laid) > len(made.laid) else None


def _verdict(puzzle: Puzzle, answer: Answer, judge: Judge | None) -> Verdict:
    return judge(puzzle) if judge else solve(puzzle, nodes=MOST_NODES, near=answer)


def harden(
    composed: Composed, seed: int, unique: Callable[[Puzzle], bool], *, fewest: int = 1, largest: int = 6,
    symmetry: Motion = Motion.NONE,
) -> Composed:
    """Merge adjoining cages while `unique` holds: each pair is tried once, in random order.

    No cage grows over `largest` cells, and merging stops at `fewest` cages.
    """
    rng = random.Random(seed)
    puzzle, answer = composed.puzzle, composed.answer
    tiler = Tiler(answer, {largest: 1.0}, lone=True, symmetry=symmetry)
    borders = [(cell, Cell(cell.row + down, cell.col + 1 - down)) for cell in puzzle.cells for down in (0, 1)]
    refused: set[tuple[Group, Group]] = set()
    for cell, beside in shuffled(borders, rng):
        cage_of = {cell: cage for cage in puzzle.cages for cell in cage.cells}
        one, two = cage_of.get(cell), cage_of.get(beside)
        if len(puzzle.cages) <= fewest:
            break
        if one is None or two is None or one is two or (one.cells, two.cells) in refused:
            continue
        change = tiler.merged(one.cells, two.cells)
        if change is None:
            continue
        others = tuple(cage for cage in puzzle.cages if cage.cells not in change.gone)
        trial = replace(puzzle, cages=(*others, *[summed(answer, cells) for cells in change.come]))
        if unique(trial):
            puzzle = trial
        else:
            refused |= {(one.cells, two.cells), (two.cells, one.cells)}
    return replace(composed, puzzle=replace(puzzle, cages=tuple(sorted(
        puzzle.cages, key=lambda cage: cage.first))))


def tile(answer: Answer, recipe: Recipe, rng: random.Random) -> list[Group] | None:
    """Cover the grid with cages of distinct digits by the recipe; None where this try met a dead end."""
    groups = recipe.tiler(answer).tile(rng)
    if groups is None or sum(len(group) == 2 for group in groups) > recipe.dominoes * len(groups):
        return None
    return groups


def irregular_regions(size: int, rng: random.Random) -> tuple[Group, ...]:
    """Random connected regions of `size` cells each, by trading border cells between the usual boxes."""
    regions = [list(box) for box in boxes(size)]
    region_of = {cell: number for number, region in enumerate(regions) for cell in region}
    for _ in range(size * size * 12):
        cell = pick(list(region_of), rng)
        home = region_of[cell]
        away = region_of.get(pick(list(cell.neighbours()), rng), home)
        if away == home:
            continue
        back = [
            other for other in regions[away]
            if any(region_of.get(near) == home and near != cell for near in other.neighbours())
        ]
        if not back:
            continue
        other = pick(back, rng)
        here = [c for c in regions[home] if c != cell] + [other]
        there = [c for c in regions[away] if c != other] + [cell]
        if connected(here) and connected(there):
            regions[home], regions[away] = here, there
            region_of[cell], region_of[other] = away, home
    return tuple(sorted(tuple(sorted(region)) for region in regions))


def _plan(recipe: Recipe, rng: random.Random) -> Puzzle:
    """The grid with the facts of its rules, no cages yet."""
    regions = irregular_regions(recipe.size, rng) if recipe.irregular else () if recipe.boxless else None
    plan = Puzzle(recipe.size, standard_houses(recipe.size, regions), ())
    for named in recipe.rules:
        rule = RULES[named].exemplar(recipe.size, plan.least) if isinstance(named, str) else named
        plan = with_facts(plan, rule.facts())
    return plan


def _repaired(
    plan: Puzzle, answer: Answer, tiling: Sequence[Group], recipe: Recipe, rng: random.Random, judge: Judge | None
) -> Puzzle | None:
    """Shift cells between cages until the second answer found each time is gone.

    Where no shift does it a cage is split, and so is a largest one where the judge found nothing in time.
    """
    groups, tiler = list(tiling), recipe.tiler(answer)
    for _ in range(8 * recipe.size):
        puzzle = replace(plan, cages=tuple(summed(answer, cells) for cells in sorted(groups)))
        verdict = _verdict(puzzle, answer, judge)
        if verdict.outcome is Outcome.SOUND:
            return puzzle
        other = verdict.second if verdict.answer == answer else verdict.answer
        if other is None:
            most = max(map(len, groups))
            changes = list(tiler.splits([group for group in groups if len(group) == most]))
        else:
            changes = _helpful(tiler.shifts(groups, differing(answer, other)), answer, other) or _helpful(
                tiler.splits(groups), answer, other)
        if not changes:
            return None
        groups = changed(groups, pick(changes, rng))
    return None


def _helpful(changes: Iterable[Change], answer: Answer, other: Answer) -> list[Change]:
    """The changes that another answer does not survive."""
    return [change for change in changes if any(_tells_apart(cells, answer, other) for cells in change.come)]


def _tells_apart(cells: Group, answer: Answer, other: Answer) -> bool:
    """Whether a cage of these cells, with the answer's total, refuses the other grid."""
    digits = [other.at(cell) for cell in cells]
    return sum(digits) != sum(map(answer.at, cells)) or len(set(digits)) < len(digits)
