"""Digits that run from 0, against CP-SAT, which counts with them as they are printed, and against mathematics."""

from __future__ import annotations

import re
from dataclasses import replace
from types import ModuleType

import pytest

from cagework.solver.editing.compose import Composed, Recipe, compose
from cagework.solver.model import Cage, Given, Puzzle, counted
from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.reason import Path, explain
from cagework.solver.search.exact import Outcome, solve
from cagework.typeset.words.sentences import Sentences

RULE = (("from_zero", None),)
RECIPES = (Recipe(size=6, rules=("from_zero",)), Recipe(rules=("from_zero",)),
           Recipe(size=6, rules=("from_zero", "nonconsecutive")))


@pytest.fixture(scope="module", params=range(len(RECIPES)))
def made(request: pytest.FixtureRequest) -> tuple[Composed, Path]:
    one = compose(3, RECIPES[request.param])
    return one, explain(one.puzzle)


def test_the_only_answer_is_cp_sats(made: tuple[Composed, Path], cpsat: ModuleType) -> None:
    puzzle, answer = made[0].puzzle, made[0].answer
    assert set(answer.digits) == set(range(puzzle.size))
    theirs = cpsat.verdict(puzzle)
    assert (theirs.outcome, theirs.answer) == (Outcome.SOUND, answer)
    assert solve(puzzle).answer == answer == made[1].answer
    assert Prover(puzzle, answer).first_unproved(stage.step for stage in made[1].stages) is None


def test_a_flaw_is_one_for_cp_sat_too(made: tuple[Composed, Path], cpsat: ModuleType) -> None:
    """A sum that no digits from 0 make, one that digits from 1 would, a given that is none of them."""
    puzzle = made[0].puzzle
    first, *others = puzzle.cages
    assert first.total is not None
    for flawed in (
        replace(puzzle, cages=(Cage(first.cells, first.total + len(first.cells)), *others)),
        replace(puzzle, least=1),
        replace(puzzle, givens=(Given(first.first, puzzle.size),)),
    ):
        assert solve(flawed).outcome is cpsat.verdict(flawed).outcome is not Outcome.SOUND


def test_it_is_the_puzzle_of_digits_from_one_with_sums_to_match(made: tuple[Composed, Path]) -> None:
    """Each digit one more, each sum more by the number of its cells: the same steps on the way."""
    one, path = made
    shifted = counted(one.puzzle)
    assert [(cage.cells, cage.total) for cage in shifted.cages] == [
        (cage.cells, (cage.total or 0) + len(cage.cells)) for cage in one.puzzle.cages]
    other = explain(Puzzle(**{name: getattr(shifted, name) for name in Puzzle.__dataclass_fields__}))
    assert other.answer is not None and path.answer is not None
    assert other.answer.digits == tuple(digit + 1 for digit in path.answer.digits)
    both = ([(step.technique, step.places, step.removes, step.load)
             for step in (stage.step for stage in one.stages)] for one in (path, other))
    assert next(both) == next(both)


HOUSES = re.compile(r"(?<!over )(?:(?:[Rr]ow|[Cc]olumn|[Bb]ox) \d+|"
                    r"(?:[Rr]ows|[Cc]olumns|[Bb]oxes) (\d+) (and|to) (\d+)) adds? to (\d+)")
WHOLE = re.compile(r"[Tt]he cage of (\d+)(?: at r\dc\d)? is ((?:\d(?:\+\d)+(?:, | or )?)+)")
IS = re.compile(r"(?<!at )(r\dc\d) is (\d)\b(?! more| less)")


def test_the_words_are_true_of_the_digits_as_they_are_printed(made: tuple[Composed, Path]) -> None:
    """What rows add to, the ways to make a cage, and what a cell is, read off the sentences."""
    one, path = made
    size, sentences = one.puzzle.size, Sentences("en").about(one.puzzle)
    said = " ".join(sentences.step(stage.step) for stage in path.stages if not stage.step.parts)
    house = size * (size - 1) // 2
    for first, joint, last, total in HOUSES.findall(said):
        count = 1 if not joint else 2 if joint == "and" else int(last) - int(first) + 1
        assert int(total) == count * house, (joint, total)
    ways = [(int(total), way) for total, listed in WHOLE.findall(said)
            for way in re.findall(r"\d(?:\+\d)+", listed)]
    assert len(ways) > 10 or size < 9
    for total, way in ways:
        digits = list(map(int, way.split("+")))
        assert sum(digits) == total and len(set(digits)) == len(digits) and max(digits) < size
    answer = {str(cell): one.answer.at(cell) for cell in one.puzzle.cells}
    found = IS.findall(said)
    assert "0" in {digit for _, digit in found}
    assert [(cell, digit) for cell, digit in found if answer[cell] != int(digit)] == []
