"""What is composed, and what edits make of it: every claim that there is one answer put to CP-SAT."""

from __future__ import annotations

from types import ModuleType

import pytest

from cagework.solver.editing.compose import Recipe
from cagework.solver.reasoning.grade import Grade, rate
from cagework.solver.search.exact import Outcome
from cagework.solver.symmetry import Motion
from cagework.typeset.solving.composing import Order, composed
from cagework.typeset.solving.crew import Crew
from cagework.typeset.solving.tuning import Wish, tuned


@pytest.mark.parametrize("recipe", [
    Recipe(size=6), Recipe(size=6, symmetry=Motion.HALF, dominoes=1.0), Recipe(size=6, rules=("diagonals",)),
    Recipe(size=6, irregular=True)])
def test_composed_and_tuned_puzzles_have_one_answer(recipe: Recipe, cpsat: ModuleType) -> None:
    (found,) = composed(Order(recipe, 1, seed=4), Crew(), None)
    assert cpsat.verdict(found.made.puzzle).answer == found.made.answer
    grade = Grade.STROLL if rate(found.path).grade is Grade.CLIMB else Grade.CLIMB
    offers = tuned(found.made.puzzle, found.made.answer, found.path, Wish(grade), Crew(), None, offered=4)
    assert offers
    for offer in offers:
        verdict = cpsat.verdict(offer.puzzle)
        assert verdict.outcome is Outcome.SOUND and verdict.answer == found.made.answer
