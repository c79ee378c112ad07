"""A recipe to puzzles by the number: composed, proved, graded, and none like another."""

from __future__ import annotations

from collections.abc import Callable, Container, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from types import MappingProxyType

from cagework.solver.editing.compose import Composed, ComposeError, Recipe, compose, is_between_cages
from cagework.solver.editing.compose_crossing import CrossingRecipe, compose_crossing, harden_crossing
from cagework.solver.editing.taste import alikeness, look
from cagework.solver.model import Puzzle
from cagework.solver.reasoning.grade import Grade, Rating, rate
from cagework.solver.reasoning.reason import Path
from cagework.solver.symmetry import Key, canonical
from cagework.typeset.host.workers import IN_HAND
from cagework.typeset.solving.crew import Crew
from cagework.typeset.solving.tuning import Wish, tuned

CAGES: Mapping[Grade | None, Mapping[int, float]] = MappingProxyType({
    Grade.STROLL: {2: 6.0, 3: 4.0, 4: 0.5},
    Grade.CLIMB: {2: 4.0, 3: 4.0, 4: 2.0, 5: 0.3},
    Grade.SCRAMBLE: {2: 3.0, 3: 4.0, 4: 2.5, 5: 0.7},
    Grade.SUMMIT: {2: 2.5, 3: 4.0, 4: 3.5, 5: 1.5},
    None: {2: 3.0, 3: 4.0, 4: 3.0, 5: 1.0},
})
"""The weights of cage sizes that most often lead to a grade (measured on grids of nine)."""

DOMINOES: Mapping[Grade | None, float] = MappingProxyType(
    {Grade.STROLL: 0.6, Grade.CLIMB: 0.5, Grade.SCRAMBLE: 0.45, Grade.SUMMIT: 0.4, None: 0.45})
"""The greatest share of cages of two cells."""

CHANGES: Mapping[Grade | None, int] = MappingProxyType(
    {Grade.STROLL: 0, Grade.CLIMB: 0, Grade.SCRAMBLE: 60, Grade.SUMMIT: 300, None: 0})
"""How many changes are tried on crossing sums to make them harder."""

_ALIKE = 0.7
"""Two puzzles in a row have no greater share of their borders in common: two that have nothing to do with each
other have some half (measured)."""

_SPLIT = 0.1
"""The share of cages of two cells that repairs may have added: a second answer is often split away."""

_AT_ONCE = 8
"""Seeds tried together, at the least."""

_TRIES = 200
"""Seeds tried for each puzzle that is wanted before it is given up."""


@dataclass(frozen=True, slots=True)
class Order:
    """What is to be composed: so many puzzles to a recipe, as wished, from a seed on. None is one of `beside`, or
    another of them, turned, mirrored or complemented.
    """

    recipe: Recipe | CrossingRecipe
    count: int
    wish: Wish = field(default_factory=Wish)
    seed: int = 0
    beside: tuple[Puzzle, ...] = ()


@dataclass(frozen=True, slots=True)
class Found:
    """A puzzle composed, the seed it came of, and its path."""

    seed: int
    made: Composed
    path: Path

    @property
    def rating(self) -> Rating:
        """What its path makes it."""
        return rate(self.path)


def composed(
    order: Order, crew: Crew, seconds: float | None, tick: Callable[[], None] = lambda: None,
) -> Iterator[Found]:
    """Yield puzzles as they are found, in the order of their seeds; fewer than asked for where `_TRIES` seeds for
    each did not lead to more. The same order gives the same puzzles on every machine. `tick` is called for each.
    """
    keys: set[Key] = {canonical(puzzle) for puzzle in order.beside}
    last: Puzzle | None = None
    left = order.count
    tried = range(order.seed, order.seed + _TRIES * order.count)
    for seeds in _batches(tried, max(_AT_ONCE, IN_HAND * crew.workers)):
        tries = dict(crew.each(partial(_made, order.recipe, order.wish.grade), seeds))
        made = [(seed, one) for number, seed in enumerate(seeds) if (one := tries[number])]
        paths = {number: result.path for number, result in crew.find([one.puzzle for _, one in made], seconds)}
        for number, (seed, one) in enumerate(made):
            path = paths.get(number)
            found = path and _as_wished(Found(seed, one, path), order.wish, crew, seconds)
            if not found or not _is_new(found.made.puzzle, keys, last):
                continue
            keys.add(canonical(found.made.puzzle))
            last = found.made.puzzle
            yield found
            tick()
            left -= 1
            if not left:
                return


def _made(recipe: Recipe | CrossingRecipe, grade: Grade | None, seed: int) -> Composed | None:
    """The puzzle of a seed, where it has one to our taste: no cage fills a house, and few have two cells."""
    try:
        if isinstance(recipe, CrossingRecipe):
            crossed, changes = compose_crossing(seed, recipe), CHANGES[grade]
            return harden_crossing(crossed, seed, changes=changes) if changes else crossed
        made = compose(seed, recipe)
    except ComposeError:
        return None
    seen = look(made.puzzle)
    return made if not seen.filling and seen.dominoes <= recipe.dominoes + _SPLIT else None


def _as_wished(found: Found, wish: Wish, crew: Crew, seconds: float | None) -> Found | None:
    """A puzzle as wished: this one, or one edit from it where its score is not far off."""
    off = wish.amiss(found.path)
    if not off:
        return found
    if off > _NEAR or any(is_between_cages(name) for name, _ in found.made.laid):
        return None     # signs between cages say something of these cages alone
    nearby = tuned(found.made.puzzle, found.made.answer, found.path, wish, crew, seconds, most=1, offered=1,
                   fits=_is_plain)
    if not nearby:
        return None
    return replace(found, made=replace(found.made, puzzle=nearby[0].puzzle), path=nearby[0].path)


def _is_plain(puzzle: Puzzle) -> bool:
    """Whether no digit is given, every cage has its sum, and none fills a house."""
    return not puzzle.givens and not look(puzzle).filling and all(cage.total is not None for cage in puzzle.cages)


_NEAR = 120.0
"""A puzzle whose score is so near the grade wanted is worth an edit; else the next seed is the shorter way."""


def _is_new(puzzle: Puzzle, keys: Container[Key], last: Puzzle | None) -> bool:
    """Whether a puzzle is none that there is already, and not like the one before it."""
    return canonical(puzzle) not in keys and (
        last is None or puzzle.shape is not None or alikeness(puzzle, last) <= _ALIKE)


def _batches(seeds: range, size: int) -> Iterator[Sequence[int]]:
    for first in range(0, len(seeds), size):
        yield seeds[first:first + size]
