"""Rules on cells laid over an answer: what may stand beside a rule's name, and holds in it.

Any registered rule is laid, and none is known by name here: what it takes says where it may stand, `read` refuses
what it cannot be on, and `allows` says whether the answer agrees. As in `compose`, only `Random.random` is drawn
from.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

from cagework.solver.editing.tiling import pick, shuffled
from cagework.solver.listed import ListedHouse
from cagework.solver.model import Answer, Cage, Cell, Puzzle
from cagework.solver.rule import Named, Rule, RuleError, Takes, with_facts
from cagework.solver.rules import RULES

HOUSES = "houses"
"""The name under which extra houses are laid, which no rule has."""

Stated = tuple[tuple[str, Named], ...]
"""Rules by name, each with what stands beside it; cells alone for an extra house."""

_LINES = 4000
"""Lines drawn by chance before a rule is given up: of those that begin anywhere some one in a hundred holds."""

_LINE_CELLS = (3, 4, 5)


def usual_count(name: str, size: int) -> int:
    """How much of a rule is laid where nobody says: of single cells, signs and dots as many as a row has cells, of
    lines, numbers and signs between cages half as many, of extra houses and lines across regions a third.
    """
    takes = _takes(name)
    if takes in (Takes.CELLS, Takes.BESIDE):
        return size
    return size // (3 if takes in (None, Takes.ACROSS) else 2)


def lay(wanted: Sequence[tuple[str, int]], plain: Puzzle, answer: Answer, rng: random.Random) -> Stated | None:
    """So much of each rule, none of it on top of another; less where there is no more. None where one cannot be
    laid at all. `plain` has the regions; a rule on cages is for `comparisons`.
    """
    laid: list[tuple[str, Named]] = []
    room = _Room()
    for name, count in wanted:
        found: list[Named] = []
        takes = _takes(name)
        for named in holding(name, plain, answer, rng):
            if len(found) == count:
                break
            if room.take(takes, named):
                found.append(named)
        if not found:
            return None
        if takes is Takes.CELLS:
            found = [Named(tuple(sorted(cell for named in found for cell in named.cells)))]
        laid += [(name, named) for named in found]
    return tuple(laid)


def stated(puzzle: Puzzle, rules: Stated) -> Puzzle:
    """The puzzle with what these rules say."""
    made = [_rule(name, named, puzzle.size, puzzle.least) for name, named in rules]
    return with_facts(puzzle, [fact for rule in made for fact in rule.facts()])


def comparisons(
    name: str, puzzle: Puzzle, answer: Answer, laid: Stated, rng: random.Random,
) -> Iterator[tuple[Named, tuple[Cage, ...]]]:
    """What a rule on cages may say where nothing is `laid` yet, and the cages of which it says it; each two cages
    once.
    """
    room = _Room()
    for other, named in laid:
        room.take(_takes(other), named)
    cage_of = {cell: cage for cage in puzzle.cages for cell in cage.cells}
    met: set[frozenset[tuple[Cell, ...]]] = set()
    for named in holding(name, puzzle, answer, rng):
        both = frozenset(named.areas)
        if both not in met and room.take(Takes.BESIDE, named):
            met.add(both)
            yield named, tuple(cage_of[cell] for cell in named.cells)


def bare_of(puzzle: Puzzle, cages: Sequence[Cage]) -> Puzzle:
    """The puzzle without the sums of these cages."""
    return replace(puzzle, cages=tuple([replace(cage, total=None) if cage in cages else cage
                                        for cage in puzzle.cages]))


def holding(
    name: str, plain: Puzzle, answer: Answer, rng: random.Random, lengths: Sequence[int] = _LINE_CELLS,
) -> Iterator[Named]:
    """What may stand beside a rule's name on this grid and holds in its answer, in random order; of lines, which
    have so many cells, some.
    """
    digits = {cell: answer.at(cell) for cell in plain.cells}
    for named in _candidates(name, plain, answer, rng, lengths):
        try:
            rule = _rule(name, named, plain.size, plain.least)
        except RuleError:
            continue
        if rule.allows(digits):
            yield named


def _rule(name: str, named: Named, size: int, least: int) -> Rule:
    """The rule of a name. Raises RuleError where it cannot be on these cells."""
    if name == HOUSES:
        return ListedHouse(size, f"group {named.cells[0]}", named.cells)
    return RULES[name].of(size, named, least)


@dataclass(slots=True)
class _Room:
    """What is taken of the grid: places, each a word for what is there and some cells."""

    taken: set[tuple[str, frozenset[Cell]]] = field(default_factory=set)

    def take(self, takes: Takes | None, named: Named) -> bool:
        """Take what a rule needs; False where some of it is taken."""
        wanted = set(_places(takes, named))
        if not self.taken.isdisjoint(wanted):
            return False
        self.taken |= wanted
        return True


def _takes(name: str) -> Takes | None:
    return None if name == HOUSES else RULES[name].takes


def _places(takes: Takes | None, named: Named) -> Iterator[tuple[str, frozenset[Cell]]]:
    """Cells for tints, lines and fields, the sides and corners where signs stand or lines pass, ends of diagonals.
    """
    if takes is not None and takes.numbered:
        yield "number", frozenset(named.cells)
        return
    if takes is not Takes.BESIDE:
        yield from (("ink", frozenset((cell,))) for cell in named.cells)
    for one, other in pairwise(named.cells) if takes is not None and takes.in_order else ():
        rows, columns = {one.row, other.row}, {one.col, other.col}
        yield "side", frozenset(Cell(row, col) for row in rows for col in columns)


def _candidates(
    name: str, plain: Puzzle, answer: Answer, rng: random.Random, lengths: Sequence[int],
) -> Iterator[Named]:
    """What a rule may be named on as far as what it takes goes."""
    takes = _takes(name)
    match takes:
        case None:
            for _ in range(_LINES):
                if len(group := _group(plain, answer, rng)) == plain.size and _is_new(group, plain):
                    yield Named(tuple(sorted(group)))
        case Takes.CELLS:
            yield from (Named((cell,)) for cell in shuffled(plain.cells, rng))
        case Takes.BESIDE:
            yield from (Named(pair) for pair in shuffled(_sides(plain), rng))
        case Takes.CAGES:
            cage_of = {cell: cage.cells for cage in plain.cages for cell in cage.cells}
            for one, other in shuffled(_sides(plain), rng):
                if one in cage_of and other in cage_of and cage_of[one] != cage_of[other]:
                    yield Named((one, other), areas=(cage_of[one], cage_of[other]))
        case Takes.LINE:
            yield from (Named(line) for line in _lines(plain, rng, lengths))
        case Takes.ACROSS:
            region_of = {cell: house.cells for house in plain.regions for cell in house.cells}
            for line in _lines(plain, rng, lengths) if region_of else ():
                yield Named(line, areas=tuple(region_of[cell] for cell in line))
        case Takes.DIAGONAL:
            for along in shuffled(_diagonals(plain), rng):
                yield Named((along[0], along[-1]), sum(map(answer.at, along)))
        case Takes.NUMBERED:
            for pair in shuffled(_sides(plain), rng):
                yield Named(tuple(sorted(pair)), sum(map(answer.at, pair)))


def _sides(plain: Puzzle) -> list[tuple[Cell, Cell]]:
    """Cells beside each other, either of them first."""
    there = set(plain.cells)
    return [(cell, near) for cell in plain.cells for near in cell.neighbours() if near in there]


def _diagonals(plain: Puzzle) -> list[tuple[Cell, ...]]:
    """Diagonals of two cells or more from edge to edge, from either end."""
    size, found = plain.size, []
    for start in plain.cells:
        for down in (-1, 1):
            for right in (-1, 1):
                before = Cell(start.row - down, start.col - right)
                along = [start]
                while (cell := Cell(along[-1].row + down, along[-1].col + right)) in plain.cells:
                    along.append(cell)
                if len(along) > 1 and not (1 <= before.row <= size and 1 <= before.col <= size):
                    found.append(tuple(along))
    return found


def _lines(plain: Puzzle, rng: random.Random, lengths: Sequence[int]) -> Iterator[tuple[Cell, ...]]:
    """Lines from anywhere, by edge or corner, that come to no cell twice."""
    there = set(plain.cells)
    for _ in range(_LINES):
        line, length = [pick(plain.cells, rng)], pick(lengths, rng)
        while len(line) < length:
            row, col = line[-1]
            near = [cell for down in (-1, 0, 1) for right in (-1, 0, 1)
                    if (cell := Cell(row + down, col + right)) in there and cell not in line]
            if not near:
                break
            line.append(pick(near, rng))
        if len(line) == length:
            yield tuple(line)


def _group(plain: Puzzle, answer: Answer, rng: random.Random) -> list[Cell]:
    """As many cells as there are digits, hanging together, each of another digit; fewer where it finds no more."""
    group = [pick(plain.cells, rng)]
    while len(group) < plain.size:
        held = {answer.at(cell) for cell in group}
        edge = [near for cell in group for near in cell.neighbours()
                if near in plain.cells and answer.at(near) not in held]
        if not edge:
            break
        group.append(pick(edge, rng))
    return group


def _is_new(group: Sequence[Cell], plain: Puzzle) -> bool:
    """Whether a group says something: no house has more than two thirds of its cells."""
    return all(3 * sum(cell in house.cells for cell in group) <= 2 * len(group) for house in plain.houses)
