"""Small positions written down as text, and the second opinion on single steps."""

from __future__ import annotations

import importlib.util
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from string import Formatter
from types import ModuleType

import pytest

from cagework.solver.editing.compose import Composed, ComposeError, Recipe, compose
from cagework.solver.model import Between, Cage, Cell, Domain, House, Pair, Puzzle, Shape, Sum, standard_houses
from cagework.solver.reasoning.agenda import everywhere
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.reason import Path as Reasoned
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.rule import with_facts
from cagework.solver.rules import RULES
from cagework.solver.step import Addition, Step


def cells_of(text: str) -> tuple[Cell, ...]:
    """`r1c1 r1c3-r1c5`: cells and straight runs."""
    found: list[Cell] = []
    for word in text.split():
        first, _, last = word.partition("-")
        start, end = Cell.parse(first), Cell.parse(last or first)
        found += [Cell(r, c) for r in range(start.row, end.row + 1) for c in range(start.col, end.col + 1)]
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Position:
    """A puzzle part way through."""

    puzzle: Puzzle
    state: State

    def found(self, technique: str) -> list[Step]:
        """All that one technique finds here, as it is told."""
        tool = TECHNIQUES[technique]
        places = everywhere(self.state, tool.look)
        return [tool.retell(self.state.frame, step, self.state.candidates)
                for place in range(places.bit_length()) if places >> place & 1
                for step in tool.find(self.state, place)]


def position(
    cages: Iterable[str] = (), *, size: int = 9, hold: Iterable[str] = (), lack: Iterable[str] = (),
    place: Iterable[str] = (), rules: Iterable[str] = (), pairs: tuple[Pair, ...] = (),
    without: Iterable[str] = (), regions: Iterable[str] | None = None, sums: tuple[Sum, ...] = (),
    domains: tuple[Domain, ...] = (), betweens: tuple[Between, ...] = (), white: Sequence[str] = (),
) -> Position:
    """Cages as `17: r1c1 r1c2`; cells that hold only, or lack, digits as `r1c1-r1c3 = 12`; placed `r1c1 = 5`.

    `without` names houses to leave out. Of crossing sums `white` are the rows, `.` for a white square.
    """
    parts = [line.split(":") for line in cages]
    facts = [fact for rule in rules for fact in RULES[rule].read(size, None).facts()]
    areas = None if regions is None else [cells_of(region) for region in regions]
    cages_drawn = tuple(Cage(cells_of(cells), int(total)) for total, cells in parts)
    facts += [*pairs, *sums, *domains, *betweens]
    puzzle = with_facts(Puzzle(size, standard_houses(size, areas), cages_drawn), facts)
    left_out = set(without)
    assert left_out <= {house.name for house in puzzle.houses}
    puzzle = replace(puzzle, houses=tuple(house for house in puzzle.houses if house.name not in left_out))
    if white:
        cells = tuple(
            Cell(r, c) for r, row in enumerate(white, 1) for c, square in enumerate(row, 1) if square == ".")
        puzzle = Puzzle(size, (), cages_drawn, shape=Shape(len(white), len(white[0]), cells))
    state = State(Frame(puzzle))
    for only, lines in ((True, hold), (False, lack)):
        for line in lines:
            cells, digits = line.split("=")
            mask = sum(1 << int(digit) - 1 for digit in digits.strip())
            for cell in cells_of(cells):
                state.eliminate(state.frame.index[cell], state.frame.full & ~mask if only else mask)
    for line in place:
        cell, digit = line.split("=")
        state.place(state.frame.index[Cell.parse(cell.strip())], 1 << int(digit) - 1)
    return Position(puzzle, state)


def _unfilled(text: str, step: Step) -> set[str]:
    names = {name for _, name, _, _ in Formatter().parse(text) if name}
    return names - step.why.keys() - ({"rule"} if step.cites.ruled else set())


@pytest.fixture(name="unfilled", scope="session")
def _fixture_of_unfilled() -> Callable[[str, Step], set[str]]:
    """Of a sentence, the blanks for which a step has nothing; which rule it is by, who tells it knows."""
    return _unfilled


def _counted(size: int, addition: Addition) -> tuple[Counter[Cell], int]:
    made: Counter[Cell] = Counter()
    total = 0
    for sign, summands in zip((1, -1), addition, strict=True):
        for one in summands:
            if isinstance(one, House):
                total += sign * size * (size + 1) // 2
            else:
                total += sign * ((one.totals[0] if isinstance(one, Sum) else one.total) or 0)
            for cell in one.cells:
                made[cell] += -sign if isinstance(one, Sum) and cell in one.minus else sign
    return made, total


@pytest.fixture(name="counted", scope="session")
def _fixture_of_counted() -> Callable[[int, Addition], tuple[Counter[Cell], int]]:
    """How often each cell counts in what is added up less what is taken away, and what that makes."""
    return _counted


@pytest.fixture(scope="session", name="position")
def _position() -> Callable[..., Position]:
    """Write a position down."""
    return position


@pytest.fixture(scope="session")
def step_oracle(root: Path) -> ModuleType:
    """CP-SAT's opinion on a step, from what it cites alone."""
    spec = importlib.util.spec_from_file_location("step_oracle", root / "tests" / "outside" / "step_oracle.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


RECIPES = (
    Recipe(size=4, sizes={2: 3.0, 3: 2.0, 4: 0.5}),
    Recipe(size=6, sizes={2: 4.0, 3: 3.0, 4: 1.0}),
    Recipe(size=6, sizes={2: 3.0, 3: 4.0}, rules=("diagonals", "odd", "sum_line")),
    Recipe(size=6, sizes={2: 4.0, 3: 3.0}, irregular=True),
    Recipe(sizes={2: 5.0, 3: 4.0, 4: 1.5}),
    Recipe(sizes={2: 4.0, 3: 4.0, 4: 2.0, 5: 0.5}, rules=("windows",)),
    Recipe(sizes={2: 4.0, 3: 4.0, 4: 2.0, 5: 0.5}, rules=("knight",)),
    Recipe(sizes={2: 5.0, 3: 4.0, 4: 1.5}, rules=("diagonals",)),
    Recipe(sizes={2: 5.0, 3: 4.0, 4: 1.5}, irregular=True),
)


def composed(count: int) -> Iterator[Composed]:
    """`count` puzzles of each recipe."""
    for recipe in RECIPES:
        made, seed = 0, 0
        while made < count:
            try:
                yield compose(seed, recipe)
                made += 1
            except ComposeError:
                pass
            seed += 1


@pytest.fixture(scope="session")
def corpus() -> list[Composed]:
    """Composed puzzles of several sizes and rules."""
    return list(composed(7))


@pytest.fixture(scope="session")
def corpus_paths(corpus: list[Composed], path_of: Callable[[Puzzle], Reasoned]) -> list[Reasoned]:
    """The corpus, reasoned through."""
    return [path_of(made.puzzle) for made in corpus]
