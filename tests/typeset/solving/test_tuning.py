"""Puzzles near one that are as they are wanted, and puzzles composed to a wish."""

from __future__ import annotations

from itertools import pairwise

import pytest

from cagework.solver.editing.compose import Composed, Recipe, compose
from cagework.solver.editing.edits import EditKind
from cagework.solver.editing.taste import alikeness, look
from cagework.solver.model import Cage, Cell, Puzzle
from cagework.solver.reasoning.grade import Grade, rate
from cagework.solver.reasoning.reason import Path, explain
from cagework.solver.search.exact import Outcome, solve
from cagework.typeset.solving.composing import Order, composed
from cagework.typeset.solving.crew import Crew
from cagework.typeset.solving.edited import edit_in_words
from cagework.typeset.solving.tuning import Wish, techniques, tuned


def made_with(seed: int, **recipe: object) -> tuple[Composed, Path]:
    made = compose(seed, Recipe(size=6, **recipe))    # type: ignore[arg-type]
    return made, explain(made.puzzle)


@pytest.mark.parametrize(("seed", "grade"), [(2, Grade.CLIMB), (4, Grade.STROLL)])
def test_a_puzzle_is_brought_to_another_grade(seed: int, grade: Grade) -> None:
    made, path = made_with(seed)
    assert rate(path).grade is not grade
    offers = tuned(made.puzzle, made.answer, path, Wish(grade), Crew(), None, offered=3)
    assert 0 < len(offers) <= 3
    for offer in offers:
        verdict = solve(offer.puzzle)
        assert verdict.outcome is Outcome.SOUND and verdict.answer == made.answer
        assert rate(explain(offer.puzzle)).grade is grade is offer.rating.grade
    assert [offer.order() for offer in offers] == sorted(offer.order() for offer in offers)
    assert len({offer.puzzle for offer in offers}) == len(offers)
    assert len({len(offer.edits) for offer in offers}) == 1, "two changes only where one does not do it"


@pytest.mark.parametrize(("seed", "wish"), [
    (3, Wish(needs=frozenset({"innie"}))), (2, Wish(without=frozenset({"innie"}))),
    (4, Wish(Grade.CLIMB, frozenset({"outie"})))])
def test_ideas_are_asked_for_and_barred(seed: int, wish: Wish) -> None:
    made, path = made_with(seed)
    assert wish.amiss(path) > 0
    offers = tuned(made.puzzle, made.answer, path, wish, Crew(), None, offered=2)
    assert offers
    for offer in offers:
        found = explain(offer.puzzle)
        assert techniques(found) >= wish.needs and not techniques(found) & wish.without
        assert wish.grade in (None, rate(found).grade)


def test_what_is_as_wished_is_nowhere_amiss() -> None:
    _, path = made_with(2)
    rating = rate(path)
    assert Wish(rating.grade).amiss(path) == 0 == Wish().amiss(path)
    assert Wish(Grade.SUMMIT).amiss(path) > Wish(Grade.SCRAMBLE).amiss(path) > 0
    assert Wish(Grade.SUMMIT).harder(path) is True and Wish(rating.grade).harder(path) is None
    assert Wish(without=techniques(path)).amiss(path) >= 25 * len(techniques(path))
    assert Wish().amiss(None) > 1000


def test_what_does_not_fit_is_not_offered() -> None:
    made, path = made_with(2)
    offers = tuned(made.puzzle, made.answer, path, Wish(Grade.CLIMB), Crew(), None, most=1,
                   fits=lambda puzzle: len(puzzle.cages) < len(made.puzzle.cages))
    assert all(edit.kind is EditKind.MERGE for offer in offers for edit in offer.edits)
    assert tuned(made.puzzle, made.answer, path, Wish(Grade.CLIMB), Crew(), None, fits=lambda _: False) == ()


def images(puzzle: Puzzle) -> set[frozenset[tuple[frozenset[tuple[int, int]], int]]]:
    """Cages with their sums after each of the sixteen relations, written down afresh."""
    end = puzzle.size + 1
    moves = [lambda r, c: (r, c), lambda r, c: (c, end - r), lambda r, c: (end - r, end - c),
             lambda r, c: (end - c, r), lambda r, c: (r, end - c), lambda r, c: (end - r, c),
             lambda r, c: (c, r), lambda r, c: (end - c, end - r)]

    def image(move: object, complement: bool) -> frozenset[tuple[frozenset[tuple[int, int]], int]]:
        assert callable(move)
        totals = [(cage, cage.total or 0) for cage in puzzle.cages]
        return frozenset((frozenset(move(*cell) for cell in cage.cells),
                          len(cage.cells) * end - total if complement else total) for cage, total in totals)

    return {image(move, complement) for move in moves for complement in (False, True)}


def test_puzzles_are_composed_as_wished() -> None:
    order = Order(Recipe(size=6, dominoes=0.6), 5, Wish(Grade.STROLL), seed=7)
    found = list(composed(order, Crew(), None))
    assert len(found) == 5 and [one.seed for one in found] == sorted({one.seed for one in found})
    for one in found:
        puzzle = one.made.puzzle
        assert solve(puzzle).answer == one.made.answer
        assert rate(explain(puzzle)).grade is Grade.STROLL
        assert not look(puzzle).filling and not look(puzzle).lone and not puzzle.givens
    assert all(not images(one.made.puzzle) & images(other.made.puzzle)
               for one in found for other in found if one is not other)
    assert all(alikeness(one.made.puzzle, other.made.puzzle) <= 0.7 for one, other in pairwise(found))
    assert list(composed(order, Crew(), None)) == found, "one order, the same puzzles"


def test_no_puzzle_comes_that_there_is_already() -> None:
    order = Order(Recipe(size=4, dominoes=1.0), 3, seed=1)
    found = [one.made.puzzle for one in composed(order, Crew(), None)]
    turned = Puzzle(4, found[0].houses, tuple(sorted(
        (Cage(tuple(sorted(Cell(cell.col, 5 - cell.row) for cell in cage.cells)), cage.total)
         for cage in found[0].cages), key=lambda cage: cage.first)))
    others = list(composed(Order(order.recipe, 3, seed=1, beside=(turned,)), Crew(), None))
    assert found[0] not in [one.made.puzzle for one in others]


def test_what_cannot_be_is_given_up() -> None:
    """No grid of four asks for more than a stroll or so."""
    assert list(composed(Order(Recipe(size=4), 1, Wish(Grade.SUMMIT)), Crew(), None)) == []


def test_edits_in_words() -> None:
    made, _ = made_with(2)
    from cagework.solver.editing.edits import edits
    said = {edit.kind: edit_in_words(edit) for edit in edits(made.puzzle, made.answer, EditKind)}
    assert said[EditKind.GIVE].startswith("print ") and " in r" in said[EditKind.GIVE]
    assert said[EditKind.MERGE].startswith("make one of ")
    assert said[EditKind.SPLIT].startswith("split the cage of ") and " into " in said[EditKind.SPLIT]
    assert said[EditKind.SHIFT].startswith("move r") and ", which become " in said[EditKind.SHIFT]
    assert said[EditKind.HIDE].startswith("do not print the sum of the cage of ")
    bare = Puzzle(6, made.puzzle.houses, tuple(Cage(cage.cells, None) for cage in made.puzzle.cages))
    (shown, *_) = edits(bare, made.answer, (EditKind.SHOW,))
    assert edit_in_words(shown) == (
        f"give {' '.join(map(str, shown.come[0].cells))} the sum {shown.come[0].total}")
