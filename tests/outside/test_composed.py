"""A small part of `tests/bench/compose.py`: composed puzzles judged by CP-SAT, by the prover and by nauty."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from types import ModuleType

import pytest

from cagework.solver.editing.compose import Recipe, compose
from cagework.solver.model import Cage, Cell, Puzzle
from cagework.solver.reasoning.grade import Grade
from cagework.typeset.book import Book
from cagework.typeset.manifest.load import load_book
from cagework.typeset.solving.composing import composed
from cagework.typeset.solving.crew import Crew

SOME = ((Grade.STROLL, (4, ())), (Grade.STROLL, (5, ())), (Grade.STROLL, (6, ("greater",))),
        (Grade.STROLL, (6, ("crossing",))), (Grade.CLIMB, (6, ("rising",))), (Grade.CLIMB, (6, ("irregular",))),
        (Grade.SCRAMBLE, (6, ("diagonals",))), (Grade.SUMMIT, (6, ("equal_sums",))))


@pytest.mark.parametrize(("grade", "sort"), SOME)
def test_what_is_composed_is_as_ordered(
    grade: Grade, sort: tuple[int, tuple[str, ...]], cpsat: ModuleType, crossed: ModuleType, orders: ModuleType,
) -> None:
    order = orders.order(grade, sort, 1, seed=100)
    (found,) = composed(order, Crew(), None)
    assert not list(orders.faults(found, order, None, cpsat, crossed))


def turned(puzzle: Puzzle) -> Puzzle:
    """Turned a quarter, each digit taken from the least plus the greatest."""
    def at(cells: tuple[Cell, ...]) -> tuple[Cell, ...]:
        return tuple(sorted(Cell(cell.col, puzzle.size + 1 - cell.row) for cell in cells))

    return replace(puzzle, cages=tuple(
        Cage(at(cage.cells), len(cage.cells) * (puzzle.size + 1) - (cage.total or 0)) for cage in puzzle.cages))


def test_nauty_knows_a_twin_and_no_other(orders: ModuleType) -> None:
    made = [compose(seed, Recipe(size=4)).puzzle for seed in range(6)]
    assert len({orders.certificate(puzzle) for puzzle in made}) == len(made)
    for puzzle in made:
        assert orders.certificate(turned(puzzle)) == orders.certificate(puzzle, complemented=True)
        assert orders.certificate(turned(turned(puzzle))) == orders.certificate(puzzle)
        one, *others = puzzle.cages
        other = replace(puzzle, cages=(replace(one, total=(one.total or 0) + 1), *others))
        assert orders.certificate(other) != orders.certificate(puzzle)


def test_no_grid_comes_twice_in_the_sample_books(root: Path, books: Sequence[Book], orders: ModuleType) -> None:
    """Plain ones, those of the starting book too, by nauty: none is another turned, mirrored or complemented."""
    starter = load_book(root / "typeset" / "starter" / "en" / "book.yaml").book
    assert starter is not None
    plain = [entry for book in (*books, starter) for entry in book.entries
             if not entry.rules and entry.puzzle.shape is None]
    keys = Counter(min(orders.certificate(entry.puzzle, complemented=way) for way in (False, True))
                   for entry in plain)
    assert len(books) > 3 and len(plain) > 50 and max(keys.values()) == 1


def test_faults_are_seen(cpsat: ModuleType, crossed: ModuleType, orders: ModuleType) -> None:
    """Or there would be nothing in their absence."""
    order = orders.order(Grade.STROLL, (4, ()), 1, seed=100)
    (found,) = composed(order, Crew(), None)
    one, *others = found.made.puzzle.cages
    bare = replace(found.made, puzzle=replace(found.made.puzzle, cages=(*others, replace(one, total=None))))
    wrong = set(orders.faults(replace(found, made=bare), replace(order, wish=replace(
        order.wish, grade=Grade.SUMMIT)), found.made.puzzle, cpsat, crossed))
    assert "like the one before" in wrong and any(one.startswith("a ") for one in wrong)
    loose = replace(found.made, puzzle=replace(found.made.puzzle, cages=tuple(others)))
    assert {"a cell in no cage, or in two"} <= set(orders.faults(replace(found, made=loose), order, None, cpsat,
                                                                 crossed))
    empty = replace(found.made, puzzle=replace(found.made.puzzle, cages=()))
    assert "not sound" in set(orders.faults(replace(found, made=empty), order, None, cpsat, crossed))
