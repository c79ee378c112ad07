"""What a picture of some steps points at: what they rest on, what they conclude, and in which of them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import TypeVar

from cagework.solver.model import Cage, Cell, House, Puzzle, Sum
from cagework.solver.step import Block, Cites, Step
from cagework.typeset.solving.worked import Moment

Thing = TypeVar("Thing")

_PLACES = ("cells", "spots", "near", "far")
"""What values of steps are called that name places of digits."""


@dataclass(frozen=True, slots=True)
class Argument:
    """Steps that follow one another, taken as one thought.

    `cages`, `houses`, `blocks` and `sums` that rules state are what they rest on, `areas` the cells of houses or
    runs whose totals are added up together, each other house by itself, and so each sum that counts with them.
    `found` are the digits they place and `struck` those they
    strike, as masks; a cell that gets its digit has none struck. `looked_at` are cells whose notes matter: those
    that lack what is asked for, and those that have it. `step_of` has, by each cell they conclude something of,
    the number (from 0) of the step that places its digit, or first strikes one.
    """

    cages: tuple[Cage, ...]
    houses: tuple[House, ...]
    blocks: tuple[Block, ...]
    sums: tuple[Sum, ...]
    areas: tuple[frozenset[Cell], ...]
    found: Mapping[Cell, int]
    struck: Mapping[Cell, int]
    looked_at: frozenset[Cell]
    step_of: Mapping[Cell, int]

    def noted(self, puzzle: Puzzle, known: Moment, *, full: bool) -> frozenset[Cell]:
        """The cells whose notes a picture shows: those that are looked at, with `full` every open one."""
        cells = frozenset(puzzle.cells) if full else self.looked_at
        return cells - known.placed.keys() - self.found.keys()

    @property
    def concluded(self) -> tuple[Cell, ...]:
        """The cells that the conclusion is about."""
        return tuple(sorted(self.step_of))


def argument_of(steps: Sequence[Step]) -> Argument:
    """The causes of all the steps together, and all that they conclude. A trial has none to point at: it rests on
    the whole puzzle.
    """
    found = {cell: digit for step in steps for cell, digit in step.places}
    struck: dict[Cell, int] = {}
    step_of: dict[Cell, int] = {}
    for number, step in enumerate(steps):
        for cell, mask in step.removes:
            if cell not in found:
                struck[cell] = struck.get(cell, 0) | mask
                step_of.setdefault(cell, number)
        step_of |= dict.fromkeys((cell for cell, _ in step.places), number)
    looked = {cell for step in steps for cell in (*step.cites.cells, *_named(step))}
    resting = [step for step in steps if not step.is_trial]
    return Argument(_once(cage for step in resting for cage in _lone_cages(step.cites)),
                    _once(house for step in resting for house in step.cites.houses),
                    _once(block for step in resting for block in step.cites.summed if isinstance(block, Block)),
                    _once(one for step in resting for one in step.cites.reckoned if isinstance(one, Sum)),
                    _once(_areas(resting)),
                    MappingProxyType(found), MappingProxyType(struck),
                    frozenset(looked | struck.keys()) - found.keys(), MappingProxyType(step_of))


def _named(step: Step) -> Iterable[Cell]:
    """The cells that a step says something of besides: the places that a digit has left, and the ends of links."""
    for name in _PLACES:
        value = step.why.get(name, ())
        for cell in value if isinstance(value, tuple) else ():
            if isinstance(cell, Cell):
                yield cell


def _lone_cages(cites: Cites) -> Iterator[Cage]:
    """The cages that count by themselves: not runs of an area, whose outline stands for them all."""
    blocks = [added + taken for added, taken in cites.additions if isinstance(added[0], Cage)]
    return (cage for cage in cites.cages if not any(cage in block for block in blocks))


def _areas(steps: Iterable[Step]) -> Iterable[frozenset[Cell]]:
    for step in steps:
        for added, _ in step.cites.additions:
            yield frozenset(cell for one in added if not isinstance(one, Sum) for cell in one.cells)
        yield from (frozenset(one.cells) for one in step.cites.reckoned if isinstance(one, Sum))
        yield from (frozenset(house.cells) for house in step.cites.houses if house not in step.cites.summed)


def _once(things: Iterable[Thing]) -> tuple[Thing, ...]:
    return tuple(dict.fromkeys(things))
