"""Each guard of the proof by itself: a forged step that no other guard would stop.

Most forged steps would strike the answer's own digit. Where a guard keeps a true but ill-cited step out, the
test says what is wrong with it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from cagework.solver.editing.compose import Composed, Recipe, compose
from cagework.solver.model import Cage, Cell, House, HouseKind, Pair
from cagework.solver.proving.proof import Prover
from cagework.solver.step import Cites, Eliminated, Step

MADE = compose(3, Recipe(size=6))
SIZE = MADE.puzzle.size
FULL = (1 << SIZE) - 1
CELLS = MADE.puzzle.cells
HERE = CELLS[0]
OWN = MADE.answer.at(HERE)
OPEN = [FULL] * SIZE**2
ROW = MADE.puzzle.houses[0]
IMPOSSIBLE = Cage((HERE,), OWN % SIZE + 1)


def bit(digit: int) -> int:
    return 1 << digit - 1


def said(cites: Cites = Cites(), places: tuple[tuple[Cell, int], ...] = (), removes: Eliminated = (),  # noqa: B008
         parts: tuple[Step, ...] = ()) -> Step:
    return Step("forged", 0, "", places, removes, cites, parts=parts)


def strikes_the_answer(cites: Cites = Cites(), parts: tuple[Step, ...] = ()) -> Step:  # noqa: B008
    return said(cites, removes=((HERE, bit(OWN)),), parts=parts)


def all_but_here(made: Composed) -> tuple[list[int], Eliminated]:
    """The answer on the board in all cells but the first, and what these lack."""
    board = [bit(made.answer.at(cell)) for cell in CELLS]
    board[0] = FULL
    return board, tuple((cell, FULL & ~mask) for cell, mask in zip(CELLS[1:], board[1:], strict=True))


def proved(step: Step, board: list[int] = OPEN, made: Composed = MADE) -> bool:
    return Prover(made.puzzle).prove(board, step)


def proved_in(here: Any, board: list[int], step: Step) -> bool:
    return Prover(here.puzzle).prove(board, step)


TWIN = next(cell for cell in CELLS[1:] if MADE.answer.at(cell) == OWN)


@pytest.mark.parametrize("kind", ["cages", "houses", "pairs"])
def test_facts_have_to_be_the_puzzles(kind: str) -> None:
    """The same step holds in the puzzle that states the fact, so nothing else is wrong with it."""
    fact: Any = {
        "cages": IMPOSSIBLE,
        "houses": House("stray", HouseKind.EXTRA, (HERE, TWIN)),
        "pairs": Pair.of(HERE, TWIN, range(1, SIZE + 1), lambda x, y: x != y),
    }[kind]
    board, missing = all_but_here(MADE)
    forged = strikes_the_answer(replace(Cites(missing), **{kind: (fact,)}))
    assert not proved(forged, board)
    puzzle = replace(MADE.puzzle, **{kind: (*getattr(MADE.puzzle, kind), fact)})
    assert Prover(puzzle).prove(board, forged)


def test_digits_said_to_be_missing_have_to_be_missing() -> None:
    forged = said(Cites(((HERE, bit(OWN)),)), removes=((HERE, bit(OWN)),))
    assert not proved(forged)
    assert proved(forged, [FULL & ~bit(OWN), *OPEN[1:]])


def test_a_house_added_up_has_to_be_cited() -> None:
    stray = House("stray", HouseKind.EXTRA, (HERE, *[cell for cell in CELLS if cell.row == 2][1:]))
    assert sum(map(MADE.answer.at, stray.cells)) != sum(range(1, SIZE + 1))
    board, missing = all_but_here(MADE)
    assert not proved(strikes_the_answer(Cites(missing, added=(stray,))), board)


def test_a_house_added_up_has_to_hold_every_digit() -> None:
    """Half a row is a house of the puzzle, but its cells do not add to 1 + 2 + ... + size."""
    half = House("half", HouseKind.EXTRA, ROW.cells[:SIZE // 2])
    made = Composed(replace(MADE.puzzle, houses=(*MADE.puzzle.houses, half)), MADE.answer)
    board, missing = all_but_here(made)
    assert not proved(strikes_the_answer(Cites(missing, houses=(half,), added=(half,))), board, made)


def test_a_cage_taken_away_has_to_be_cited() -> None:
    board, missing = all_but_here(MADE)
    stray = Cage(ROW.cells[1:], sum(map(MADE.answer.at, ROW.cells[1:])) + 1)
    assert not proved(strikes_the_answer(Cites(missing, (ROW,), added=(ROW,), taken=(stray,))), board)


def test_a_cage_taken_away_has_to_have_a_sum() -> None:
    bare = Cage(ROW.cells[1:], None)
    made = Composed(replace(MADE.puzzle, cages=(bare,)), MADE.answer)
    board, missing = all_but_here(made)
    forged = strikes_the_answer(Cites(missing, (ROW,), (bare,), added=(ROW,), taken=(bare,)))
    assert not proved(forged, board, made)


def test_a_digit_placed_has_to_be_a_candidate() -> None:
    """In a puzzle that contradicts itself a cage can ask for what the board has lost."""
    cage = Cage((HERE,), OWN)
    made = Composed(replace(MADE.puzzle, cages=(cage,)), MADE.answer)
    step = said(Cites(cages=(cage,)), places=((HERE, OWN),))
    assert proved(step, OPEN, made)
    assert not proved(step, [FULL & ~bit(OWN), *OPEN[1:]], made)


def test_a_step_has_to_say_something() -> None:
    assert not proved(said())
    assert not proved(said(Cites(houses=(ROW,))))


@pytest.mark.parametrize("removes", [False, True])
def test_each_thing_a_step_says_has_to_follow(removes: bool) -> None:
    """The first claim holds, the second is false."""
    cage = next(cage for cage in MADE.puzzle.cages if len(cage.cells) == 2)
    first, second = cage.cells
    board = [bit(MADE.answer.at(cell)) if cell == second else FULL for cell in CELLS]
    cites = Cites(((second, FULL & ~bit(MADE.answer.at(second))),), cages=(cage,))
    true = bit(MADE.answer.at(first) % SIZE + 1)
    other = next(cell for cell in CELLS if cell not in cage.cells)
    wrong = bit(MADE.answer.at(other))
    if removes:
        assert proved(said(cites, removes=((first, true),)), board)
        assert not proved(said(cites, removes=((first, true), (other, wrong))), board)
        assert not proved(said(cites, removes=((first, true | bit(MADE.answer.at(first))),)), board)
    else:
        right = (first, MADE.answer.at(first))
        assert proved(said(cites, places=(right,)), board)
        assert not proved(said(cites, places=(right, (other, MADE.answer.at(other) % SIZE + 1))), board)


def test_what_a_step_strikes_beside_what_it_places_has_to_follow() -> None:
    board, missing = all_but_here(MADE)
    step = said(Cites(missing, (ROW,)), places=((HERE, OWN),))
    assert proved(step, board)
    assert not proved(replace(step, removes=((TWIN, bit(OWN)),), cites=Cites(missing[:SIZE - 1], (ROW,))), board)


# What-ifs. The supposition is the answer's own digit but where a test says otherwise.

EMPTY = said(Cites(((TWIN, FULL),)))
"""A dead end: nothing is left for a cell."""


def test_a_part_has_to_be_proved() -> None:
    """The one part strikes every digit of a cell for no reason; the dead end is then real."""
    unproved = said(removes=((TWIN, FULL),))
    assert not proved(strikes_the_answer(parts=(unproved, EMPTY)))
    halves = tuple(said(removes=((TWIN, mask),)) for mask in (FULL & 7, FULL & ~7))
    assert not proved(strikes_the_answer(parts=(*halves, EMPTY)))


def test_a_part_cites_only_what_the_whole_step_cites() -> None:
    """The dead end rests on a cage that nobody checked against the puzzle."""
    assert not proved(strikes_the_answer(parts=(said(Cites(cages=(IMPOSSIBLE,))),)))
    other = House("stray", HouseKind.EXTRA, (HERE, HERE))
    assert not proved(strikes_the_answer(parts=(said(Cites(houses=(other,))),)))
    never = Pair(HERE, TWIN, (0,) * SIZE)
    assert not proved(strikes_the_answer(parts=(said(Cites(pairs=(never,))),)))


def test_a_what_if_cites_all_that_its_parts_rest_on(position: Callable[..., Any], step_oracle: Any) -> None:
    """True, but not from what it cites: CP-SAT finds a filling without the cage, and so the proof refuses."""
    here = position(["17: r1c1 r1c2"])
    low, cell = 0b1111111, Cell(1, 1)
    part = said(Cites(cages=here.puzzle.cages), removes=((cell, low),))
    whole = said(Cites(((cell, 0b110000000),), cages=here.puzzle.cages), removes=((cell, 1),),
                 parts=(part, said(Cites(((cell, 0b111111111),)))))
    bare = replace(whole, cites=replace(whole.cites, cages=()))
    assert step_oracle.follows(9, whole) and not step_oracle.follows(9, bare)
    board = [0b1111111, *here.state.candidates[1:]]
    assert proved_in(here, board, whole)
    assert not proved_in(here, board, bare)


def test_the_dead_end_says_only_what_is_missing() -> None:
    """Two cells that the supposition does not touch still have all their digits."""
    assert not proved(strikes_the_answer(parts=(EMPTY,)))
    assert not proved(strikes_the_answer(Cites(houses=(ROW,)), parts=(
        said(Cites(tuple((cell, bit(OWN)) for cell in ROW.cells), (ROW,))),)))


@pytest.mark.parametrize("made_up", ["house", "cage"])
def test_the_dead_end_adds_up_only_what_is_cited(made_up: str) -> None:
    stray = House("stray", HouseKind.EXTRA, (HERE, HERE))
    dear = Cage((TWIN,), 99)
    end = Cites(houses=(ROW,), added=(stray,)) if made_up == "house" else Cites(
        houses=(ROW,), added=(ROW,), taken=(dear,))
    assert not proved(strikes_the_answer(Cites(houses=(ROW,)), parts=(said(end),)))


def test_the_dead_end_has_to_be_dead() -> None:
    assert not proved(strikes_the_answer(Cites(houses=(ROW,)), parts=(said(Cites(houses=(ROW,))),)))


@pytest.fixture
def honest(position: Callable[..., Any]) -> tuple[Any, Step]:
    """A what-if that holds: r1c1 is not 2. An answer may have 1 there, and anything in r9c9."""
    here = position(hold=["r1c1 = 12", "r1c2 = 23", "r2c1 = 23"])
    (step,) = here.found("what_if")
    assert Prover(here.puzzle).prove(here.state.candidates, step)
    return here, step


@pytest.mark.parametrize("change", [
    {"removes": ((Cell(1, 1), 0b11),)},
    {"removes": ((Cell(1, 1), 0b10), (Cell(9, 9), 0b01))},
    {"removes": ((Cell(1, 1), 0),)},
    {"removes": ()},
    {"places": ((Cell(9, 9), 1),)},
    {"places": ((Cell(9, 9), 1),), "removes": ()},
])
def test_a_what_if_strikes_one_digit_and_no_more(change: dict[str, Any], honest: tuple[Any, Step]) -> None:
    here, step = honest
    assert not Prover(here.puzzle).prove(here.state.candidates, replace(step, **change))


@pytest.mark.parametrize("change", [{"places": ((Cell(9, 9), 1),)}, {"removes": ((Cell(9, 9), 1),)}])
def test_a_dead_end_neither_places_nor_strikes(change: dict[str, Any], honest: tuple[Any, Step]) -> None:
    """A reader would take it for one more step of the argument, and it is not proved."""
    here, step = honest
    *parts, end = step.parts
    forged = replace(step, parts=(*parts, replace(end, **change)))
    assert not Prover(here.puzzle).prove(here.state.candidates, forged)


def test_a_supposition_within_a_supposition_is_refused(honest: tuple[Any, Step]) -> None:
    """Sound, but an argument is one deep: the page could not say it."""
    here, step = honest
    corner = Cell(1, 1)
    cites = replace(step.cites, eliminated=(*step.cites.eliminated, (corner, 0b111111100)))
    dead = said(Cites(((corner, 0b111111111),)))
    outer = said(cites, removes=((Cell(2, 2), 0b01),), parts=(step, dead))
    assert proved_in(here, here.state.candidates, step)
    assert not proved_in(here, here.state.candidates, outer)
    known = replace(cites, eliminated=(*step.cites.eliminated, (corner, 0b111111110)))
    assert proved_in(here, [0b01, *here.state.candidates[1:]], replace(outer, cites=known, parts=(dead,)))


def test_a_part_places_only_a_candidate(honest: tuple[Any, Step]) -> None:
    """The parts stand on the supposition's board: what it has struck cannot be placed again."""
    here, step = honest
    prover = Prover(here.puzzle)
    for number, part in enumerate(step.parts[:-1]):
        for cell, _ in part.places:
            again = replace(part, places=((cell, 2),))
            parts = (*step.parts[:number], again, *step.parts[number + 1:])
            assert not prover.prove(here.state.candidates, replace(step, parts=parts))


@pytest.fixture
def forked(position: Callable[..., Any]) -> tuple[Any, Step]:
    """Branches that hold: r1c1 is 1, then r5c1 is 3, or it is 2, then r1c5 is. Either way r5c5 is not 3."""
    here = position(hold=["r1c1 = 12", "r1c5 = 23", "r5c1 = 13"])
    (step,) = here.found("either_way")
    assert proved_in(here, here.state.candidates, step)
    assert sum(part.supposes for part in step.parts) == 2
    return here, step


@pytest.mark.parametrize("change", [
    {"removes": ((Cell(5, 5), 0b100), (Cell(9, 9), 0b01))},
    {"removes": ((Cell(5, 5), 0b110),)},
    {"removes": ()},
    {"places": ((Cell(9, 9), 1),)},
    {"places": ((Cell(9, 9), 1),), "removes": ()},
])
def test_branches_strike_what_both_strike_and_no_more(change: dict[str, Any], forked: tuple[Any, Step]) -> None:
    here, step = forked
    assert not proved_in(here, here.state.candidates, replace(step, **change))


def test_no_branch_and_no_link_may_be_left_out(forked: tuple[Any, Step]) -> None:
    here, step = forked
    second = [part.supposes for part in step.parts].index(True, 1)
    for parts in (step.parts[:second], step.parts[second:]):
        assert not proved_in(here, here.state.candidates, replace(step, parts=parts))
    for number, part in enumerate(step.parts):
        if part.technique != "either_way" or part.supposes:
            parts = (*step.parts[:number], *step.parts[number + 1:])
            assert not proved_in(here, here.state.candidates, replace(step, parts=parts)), part


PLACES = {"cages": ["8: r1c1 r5c1", "8: r1c9 r5c9"], "lack": ["r1c2-r1c8 = 5"]}
"""The 5 of row 1 is in r1c1, then r5c1 is 3, or in r1c9, then r5c9 is."""

WAYS = {"cages": ["7: r1c1 r1c2"], "hold": ["r1c1-r1c2 = 1256", "r1c9 = 169", "r2c2 = 259"]}
"""A cage is 1+6, then r1c9 is 9, or 2+5, then r2c2 is."""


@pytest.mark.parametrize(("at", "key"), [(PLACES, "digit+either"), (WAYS, "cage+either")])
def test_branches_suppose_all_places_of_a_digit_or_all_ways_of_a_cage(
    at: dict[str, Any], key: str, position: Callable[..., Any],
) -> None:
    """Without the house or the cage, with one of its cells open to more, or with more in what is supposed, there
    is a third way.
    """
    here = position(**at)
    (step,) = here.found("either_way")
    candidates = here.state.candidates
    assert step.key == key
    assert proved_in(here, candidates, step)
    fact, *_ = step.cites.houses if key.startswith("digit") else step.cites.cages
    opened = [pair for pair in step.cites.eliminated if pair[0] in fact.cells and pair[0].col < 3]
    assert opened
    for pair in opened:
        fewer = replace(step.cites, eliminated=tuple(one for one in step.cites.eliminated if one != pair))
        assert not proved_in(here, candidates, replace(step, cites=fewer)), pair
    without = replace(step.cites, houses=tuple(one for one in step.cites.houses if one != fact),
                      cages=tuple(one for one in step.cites.cages if one != fact))
    assert not proved_in(here, candidates, replace(step, cites=without))
    first, *others = step.parts
    for narrower in (replace(first, places=(*first.places, (Cell(9, 9), 1))),
                     replace(first, removes=(*first.removes, (Cell(9, 9), 1)))):
        assert not proved_in(here, candidates, replace(step, parts=(narrower, *others)))


def test_branches_suppose_all_that_is_left_for_one_cell(forked: tuple[Any, Step]) -> None:
    here, step = forked
    for other in (((Cell(9, 9), 1),), (*step.parts[0].places, (Cell(9, 9), 1))):
        parts = (replace(step.parts[0], places=other), *step.parts[1:])
        assert not proved_in(here, here.state.candidates, replace(step, parts=parts))
    ((cell, _),) = step.parts[0].places
    known = tuple((name, mask) for name, mask in step.cites.eliminated if name != cell)
    cites = replace(step.cites, eliminated=known)
    assert not proved_in(here, here.state.candidates, replace(step, cites=cites))   # a third digit is open
