"""What is said in one breath: no more than a reader's notes bear out, and nothing twice."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import combinations

import pytest

from cagework.solver.model import Cage, Cell, Puzzle, standard_houses
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.step import Cites, DeadWay, Digits, Step
from cagework.typeset.words.breaths import whole_steps
from cagework.typeset.words.sentences import Sentences

CORNER = (Cell(1, 1), Cell(1, 2), Cell(2, 1))


def steps_of(technique: str, cage: Cage, held: Mapping[Cell, str]) -> tuple[Puzzle, list[Step]]:
    """What one cage says as it is told, where cells hold no more than these digits."""
    puzzle = Puzzle(9, standard_houses(9), (cage,))
    state = State(Frame(puzzle))
    for cell, digits in held.items():
        state.eliminate(state.frame.index[cell], state.frame.full & ~sum(1 << int(one) - 1 for one in digits))
    tool = TECHNIQUES[technique]
    found = [tool.whole(state.frame, step) for step in tool.find(state, 0)]
    return puzzle, [tool.retell(state.frame, step, state.candidates) for step in found]


def test_cells_that_the_rest_of_their_cage_bounds_alike_are_told_together() -> None:
    puzzle, steps = steps_of("cage_bounds", Cage(CORNER, 11), {CORNER[0]: "5678"})
    assert len(steps) == 2
    (step,) = TECHNIQUES["cage_bounds"].listed(steps)
    assert {cell for cell, _ in step.removes} == set(CORNER[1:])
    assert Sentences("en").about(puzzle).step(step) == (
        "In the cage of 11, whichever of r1c2 and r2c1 is left out, the others make at least 6, so each is at "
        "most 5.")
    assert Sentences("de").about(puzzle).step(step) == (
        "Lässt man z1s2 oder z2s1 weg, so ergeben die anderen Felder des 11er-Käfigs mindestens 6; also ist jedes "
        "davon höchstens 5.")


def test_cells_bounded_each_in_its_way_are_told_one_by_one() -> None:
    _, steps = steps_of("cage_bounds", Cage(CORNER, 11), {CORNER[0]: "5678", CORNER[1]: "2345678"})
    assert len(steps) == 2
    assert TECHNIQUES["cage_bounds"].listed(steps) == steps


def test_a_pair_takes_its_digits_from_the_rest_of_its_cage() -> None:
    """Not because these see both cells of it: r4c8 sees neither but in the cage."""
    cage = Cage((Cell(1, 7), Cell(2, 7), Cell(4, 7), Cell(4, 8)), 21)
    puzzle, steps = steps_of("needed_digit", cage, {Cell(1, 7): "89", Cell(2, 7): "89"})
    step = next(step for step in steps if step.why["cells"] == cage.cells[:2])
    assert dict(step.removes)[Cell(4, 8)] == 0b110000000
    assert Sentences("en").about(puzzle).step(step) == (
        "r1c7 and r2c7, with nothing else left, are an 8-9 pair, so no other cell of column 7, box 3 or the cage "
        "of 21 can be 8 or 9.")


def test_a_step_that_says_all_of_the_last_gives_its_reason_too() -> None:
    """A cage of 8 without 3 and 6 is 1+7: its other digits need not be struck before a reader is told so."""
    cage = Cage((Cell(2, 2), Cell(3, 2)), 8)
    frame = Frame(Puzzle(9, standard_houses(9), (cage,)))
    masks = [0b111011011 if cell in cage.cells else frame.full for cell in frame.cells]
    _, (barred, *_) = steps_of("impossible_digit", cage, {})
    puzzle, (pair, *_) = steps_of("needed_digit", cage, dict.fromkeys(cage.cells, "17"))
    english = Sentences("en").about(puzzle)
    gone = "so no other cell of column 2 or box 1 can be 1 or 7."
    assert english.step(pair) == f"r2c2 and r3c2, all of the cage of 8, are a 1-7 pair, {gone}"
    dropped, told = whole_steps([TECHNIQUES["impossible_digit"].retell(frame, barred, masks), pair])
    assert dropped is None and told is not None
    assert english.step(told) == f"The cage of 8 can only be a 1-7 pair, as 3 and 6 are gone, {gone}"


DEAD = tuple(DeadWay(Digits(sum(1 << digit - 1 for digit in way)), Cell(1, col)) for col, way in enumerate(
    [way for way in combinations(range(1, 10), 4) if sum(way) in (20, 21)][:14], start=1))


@pytest.mark.parametrize(("technique", "english", "german"), [
    ("way_by_way", ". Nor ", ". Ebenso scheidet aus: "), ("digit_by_ways", ". Or ", ". Oder "),
])
def test_many_ways_that_fail_are_several_sentences(technique: str, english: str, german: str) -> None:
    """All in their order, each with what it leaves nothing for; fewer are one sentence."""
    cage = Cage(tuple(Cell(9, col) for col in range(1, 5)), 21)
    for dead, sentences in ((DEAD, 2), (DEAD[:4], 1)):
        step = Step(technique, 70, "removes", (), ((Cell(9, 1), 2),), Cites(cages=(cage,)), {
            "made": cage, "dead": dead, "live": (Digits(0b111100),), "reason": "", "cell": Cell(9, 1), "digit": 2})
        for language, more in (("en", english), ("de", german)):
            told = Sentences(language).step(step)
            assert told.count(more) == sentences - 1
            assert [told.index("+".join(map(str, one.way))) for one in dead] == sorted(
                told.index("+".join(map(str, one.way))) for one in dead)
            assert max(len(one.split()) for one in told.split(". ")) < 60
