"""Puzzles composed to order, and what programs that share nothing with the composer say of them.

CP-SAT is told each puzzle by its cages and, where it has rules, these by name. Whether two are one, nauty says
(McKay and Piperno, "Practical graph isomorphism, II", Journal of Symbolic Computation 60, 2014), by a graph of
cells, houses and cages.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise
from types import MappingProxyType, ModuleType

import pynauty  # type: ignore[import-untyped]

from cagework.solver.crossing import is_across
from cagework.solver.editing.compose import Recipe
from cagework.solver.editing.compose_crossing import CrossingRecipe
from cagework.solver.editing.laying import HOUSES, usual_count
from cagework.solver.editing.taste import alikeness, look
from cagework.solver.model import BOXES, HouseKind, Puzzle
from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.grade import Grade, rate
from cagework.solver.reasoning.reason import explain
from cagework.solver.rule import Takes
from cagework.solver.rules import RULES
from cagework.solver.search.exact import Outcome
from cagework.typeset.solving.composing import CAGES, DOMINOES, Found, Order
from cagework.typeset.solving.tuning import Wish

Sort = tuple[int, tuple[str, ...]]
"""Size, and rules; `irregular` and `crossing` stand among them."""

SORTS: Mapping[Grade, Sequence[Sort]] = MappingProxyType({
    Grade.STROLL: ((4, ()), (5, ()), (6, ()), (6, ("greater",)), (7, ()), (8, ()), (9, ("odd",)),
                   (6, ("crossing",))),
    Grade.CLIMB: ((6, ()), (6, ("rising",)), (6, ("irregular",)), (7, ()), (8, ("king",)), (9, ()),
                  (9, ("consecutive", HOUSES)), (8, ("crossing",))),
    Grade.SCRAMBLE: ((6, ("diagonals",)), (7, ()), (8, ()), (9, ()), (9, ("sum_line",)), (9, ("irregular",)),
                     (9, ("nonconsecutive",)), (8, ("crossing",))),
    Grade.SUMMIT: ((6, ("equal_sums",)), (6, ("greater_cage",)), (8, ()), (9, ()), (9, ("knight",)),
                   (9, ("equal_sums",)), (9, ("diagonal_sum",)), (8, ("crossing",))),
})
"""What is composed of each grade."""


def order(grade: Grade, sort: Sort, count: int, seed: int = 0) -> Order:
    """So many puzzles of a sort."""
    size, rules = sort
    if "crossing" in rules:
        return Order(CrossingRecipe(size, size), count, Wish(grade), seed)
    named = [name for name in rules if name != "irregular"]
    whole = tuple(name for name in named if name in RULES and RULES[name].takes is Takes.NOTHING)
    return Order(Recipe(
        size=size, sizes={cells: weight for cells, weight in CAGES[grade].items() if cells < size},
        dominoes=DOMINOES[grade], irregular="irregular" in rules, boxless=size not in BOXES, rules=whole,
        laid=tuple((name, usual_count(name, size)) for name in named if name not in whole), compact=0.0,
    ), count, Wish(grade), seed)


def spent() -> float:
    """Processor seconds of this process and of those below it that have ended."""
    return sum(os.times()[:4])


def faults(
    found: Found, asked: Order, before: Puzzle | None, cpsat: ModuleType, crossed: ModuleType,
) -> Iterator[str]:
    """What is not as it should be."""
    puzzle = found.made.puzzle
    if not _has_one_answer(found, asked, cpsat, crossed):
        yield "not sound"
    path = explain(puzzle)
    if rate(path).grade is not asked.wish.grade:
        yield f"a {rate(path).grade}"
    if Prover(puzzle).first_unproved(stage.step for stage in path.stages) is not None:
        yield "a step is not proved"
    if puzzle.givens:
        yield "a given"
    if puzzle.shape is None:
        seen = look(puzzle)
        yield from (word for word, count in (("a lone cell", seen.lone), ("a cage fills a house", seen.filling))
                    if count)
        if sorted(cell for cage in puzzle.cages for cell in cage.cells) != sorted(puzzle.cells):
            yield "a cell in no cage, or in two"
        if before is not None and alikeness(puzzle, before) > 0.7:
            yield "like the one before"


def _has_one_answer(found: Found, asked: Order, cpsat: ModuleType, crossed: ModuleType) -> bool:
    puzzle, answer = found.made.puzzle, found.made.answer
    if puzzle.shape is not None:
        lines = ["".join("." if (row, col) in puzzle.cells else "#" for col in range(1, puzzle.columns + 1))
                 for row in range(1, puzzle.rows + 1)]
        sums = [[cage.total for cage in puzzle.cages if is_across(cage.cells) is across]
                for across in (True, False)]
        return bool(crossed.answers(lines, *sums) == [str(answer)])
    whole = asked.recipe.rules if isinstance(asked.recipe, Recipe) else ()
    rules = (*((name, None) for name in whole), *((name, on) for name, on in found.made.laid if name != HOUSES))
    listed = {on.cells for name, on in found.made.laid if name == HOUSES}
    told = replace(puzzle, houses=tuple(
        replace(house, kind=HouseKind.REGION) if house.cells in listed else house for house in puzzle.houses))
    verdict = cpsat.verdict(told, rules)
    return bool(verdict.outcome is Outcome.SOUND and verdict.answer == answer)


def key(found: Found, asked: Order) -> object:
    """What two puzzles share that are one another turned or mirrored; or complemented, where no rule is laid."""
    laid, puzzle = found.made.laid, found.made.puzzle
    whole = asked.recipe.rules if isinstance(asked.recipe, Recipe) else ()
    return whole, min(certificate(puzzle, laid, complemented)
                      for complemented in ((False,) if laid else (False, True)))


def certificate(puzzle: Puzzle, laid: Sequence[tuple[str, object]] = (), complemented: bool = False) -> tuple[
        str, bytes]:
    """Nauty's certificate of the puzzle's graph, and its colours: cells beside each other are joined, and each
    house, cage and line to its cells, a line's in their order.
    """
    number = {cell: at for at, cell in enumerate(puzzle.cells)}
    colours: list[str] = ["cell"] * len(number)
    near: dict[int, list[int]] = {at: [number[other] for other in cell.neighbours() if other in number]
                                  for cell, at in number.items()}

    def add(colour: str, cells: Sequence[object], *more: int) -> int:
        near[len(colours)] = [*(number[cell] for cell in cells), *more]     # type: ignore[index]
        colours.append(colour)
        return len(colours) - 1

    for cells in {frozenset(house.cells) for house in puzzle.houses}:
        add("house", tuple(cells))
    for cage in puzzle.cages:
        total, count = cage.total, len(cage.cells)
        add(f"cage {count * (puzzle.size + 1) - total if complemented and total is not None else total}",
            cage.cells)
    for name, on in laid:
        places = [add(f"{name} {place}", (cell,)) for place, cell in enumerate(on.cells)]  # type: ignore[attr-defined]
        for one, other in pairwise(places):
            near[one].append(other)
    names = sorted(set(colours))
    groups = [{at for at, colour in enumerate(colours) if colour == name} for name in names]
    graph = pynauty.Graph(len(colours), adjacency_dict=near, vertex_coloring=groups)
    shown = " ".join(f"{name}:{count}" for name, count in sorted(Counter(colours).items()))
    return f"{puzzle.size} {shown}", bytes(pynauty.certificate(graph))
