"""Whatever is given that cannot be used is refused in words, by an error of the one family."""

from __future__ import annotations

import pickle
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

import cagework
from cagework import (
    Answer,
    Cage,
    CageworkError,
    Cell,
    ChoiceError,
    FaultsError,
    Given,
    Puzzle,
    PuzzleError,
    make_puzzle,
)
from cagework.solver.model import Domain, House, HouseKind, Pair, standard_houses
from cagework.solver.rule import RuleError
from cagework.typeset.faults import ClusterError, Fault, NotBuilt, UnreadableManifest

PAIR = {"r1c1 r1c2": 5}
HOUSES = standard_houses(4)
A, B = Cell(1, 1), Cell(1, 2)
LONG = House("a street", HouseKind.EXTRA, (*HOUSES[0].cells, Cell(2, 1)))


def by_hand(*cages: Cage, givens: tuple[Given, ...] = ()) -> Puzzle:
    return Puzzle(4, HOUSES, cages, givens)


@pytest.mark.parametrize(("make", "words"), [
    (lambda: make_puzzle(4, {"r1c1 r1c5": 5}), "r1c5 is off the grid"),
    (lambda: make_puzzle(5, PAIR), "a 5 x 5 grid has no usual boxes"),
    (lambda: make_puzzle(40, PAIR), "size cannot be 40"),
    (lambda: make_puzzle("4", PAIR), "'size' must be a whole number"),  # type: ignore[arg-type]
    (lambda: make_puzzle(4, {"r1c1 r1c2": 8}), "cannot add to 8: 2 different digits make 3 to 7"),
    (lambda: make_puzzle(4, {"r1c1 r1c2": 5, "r1c2 r1c3": 4}), "r1c2 is in cage 2 and in cage 1\n"),
    (lambda: make_puzzle(4, {"r1c1 r1c1": 3}), "r1c1 is listed twice"),
    (lambda: make_puzzle(4, {"r1c1 r3c3": 3}), "is in 2 pieces"),
    (lambda: make_puzzle(4, {17: 3}), "17"),  # type: ignore[dict-item]
    (lambda: make_puzzle(4, {"r1c1 r1c2": "five"}), "'sum' must be a whole number"),  # type: ignore[dict-item]
    (lambda: make_puzzle(4, [("r1c1", 3)]), "cells with their sums"),  # type: ignore[arg-type]
    (lambda: make_puzzle(4, PAIR, givens={"r1c1": 3, "r1c2": 3}), "both have the given 3"),
    (lambda: make_puzzle(4, PAIR, givens={"r1c1": 9}), "digits run from 1 to 4"),
    (lambda: make_puzzle(4, PAIR, rules=["knihgt"]), "did you mean knight?"),
    (lambda: make_puzzle(4, PAIR, rules=[7]), "item 1 of 'rules' must be a name"),  # type: ignore[list-item]
    (lambda: make_puzzle(4, PAIR, rules=[{"odd": "r9c9"}]), "r9c9 is off the grid"),
    (lambda: make_puzzle(4, PAIR, regions="aabb\naabb\nccdd\nccd"), "row 4 of the regions block has 3 cells"),
    (lambda: make_puzzle(4, PAIR, id="a b"), "cannot be an id"),
    (lambda: cagework.solve(by_hand(Cage((Cell(5, 1),), 3))), "r5c1 is not on the grid"),
    (lambda: cagework.solve(by_hand(Cage((A, A), 3))), "the cage at r1c1: r1c1 is listed twice"),
    (lambda: cagework.solve(by_hand(Cage((), 3))), "a cage has no cells"),
    (lambda: cagework.explain(by_hand(Cage((A, B), 8))), "cannot add to 8: 2 different digits make 3 to 7"),
    (lambda: cagework.draw(by_hand(givens=(Given(A, 5),))), "the given 5 in r1c1 is no digit from 1 to 4"),
    (lambda: cagework.draw(by_hand(givens=(Given(A, 1), Given(A, 2)))), "the givens: r1c1 is listed twice"),
    (lambda: cagework.solve(by_hand(Cage((*HOUSES[0].cells, Cell(2, 1)), 12))), "5 cells, but there are only 4"),
    (lambda: cagework.solve(replace(by_hand(), houses=(LONG,))), "a street has 5 cells, but there are only 4"),
    (lambda: cagework.solve(replace(by_hand(), pairs=(Pair(A, B, (1, 2)),))), "says nothing of some digit"),
    (lambda: cagework.solve(replace(by_hand(), domains=(Domain(Cell(9, 9), 1),))), "r9c9 is not on the grid"),
    (lambda: cagework.grade(Puzzle(17, (), ())), "digits run to 16 at most"),
    (lambda: cagework.solve("monday"), "'monday' is no puzzle"),  # type: ignore[arg-type]
    (lambda: cagework.grade(make_puzzle(4, PAIR)), "this one has more than one"),
    (lambda: cagework.grade(by_hand(Cage((A, B), 3), Cage((Cell(2, 1), Cell(2, 2)), 3))), "this one has none"),
    (lambda: cagework.draw(make_puzzle(4, PAIR), Answer(2, (1, 2, 2, 1))), "the answer has 4 digits, 2 to a row"),
    (lambda: cagework.draw(make_puzzle(4, PAIR), Answer(4, (9,) * 16)), "9 in r1c1 is no digit from 1 to 4"),
    (lambda: standard_houses(5), "a 5 x 5 grid has no usual boxes"),
    (lambda: Answer(2, (1, 2, 2, 1)).at(Cell(1, 3)), "r1c3 is not on the grid"),
    (lambda: Answer(2, (1, 2, 2, 1)).at(Cell(0, 1)), "r0c1 is not on the grid"),
    (lambda: Cell.parse("c1r1"), "'c1r1' is not a cell"),
])
def test_a_puzzle_that_cannot_be_is_refused_in_words(make: Callable[[], object], words: str) -> None:
    with pytest.raises(PuzzleError) as raised:
        make()
    assert words in str(raised.value)


@pytest.mark.parametrize(("ask", "words"), [
    (lambda puzzle: cagework.explain(puzzle, language="fr"), "there is no language 'fr'; choose de or en"),
    (lambda puzzle: cagework.draw(puzzle, layout="a5-one-op"), "no layout 'a5-one-op'; did you mean a5-one-up"),
    (lambda puzzle: cagework.draw(puzzle, language="fr"), "there is no language 'fr'"),
    (lambda puzzle: cagework.draw(puzzle, cell=1), "a cell is 3 to 100 mm wide, not 1"),
    (lambda puzzle: cagework.draw(puzzle, cell=float("nan")), "a cell is 3 to 100 mm wide"),
    (lambda puzzle: cagework.build("book.yaml", "out", booklet=True, sheet="a9"), "there is no sheet 'a9'"),
])
def test_a_choice_that_there_is_not_is_refused_with_those_there_are(
    ask: Callable[[cagework.Entry], object], words: str,
) -> None:
    with pytest.raises(ChoiceError) as raised:
        ask(make_puzzle(4, PAIR))
    assert words in str(raised.value)


def test_faults_of_files_come_with_their_lines(tmp_path: Path) -> None:
    file = tmp_path / "harbour.yaml"
    file.write_text("book: {title: Harbour}\npuzzles:\n"
                    "  - {id: m, size: 4, cages: [{sum: 9, cells: r1c1 r1c2}]}\n", encoding="utf-8")
    for ask in (lambda: cagework.read_book(file), lambda: cagework.read_puzzles(str(file)),
                lambda: cagework.build(file, tmp_path / "out")):
        with pytest.raises(FaultsError) as raised:
            ask()
        (fault,) = raised.value.faults
        assert (fault.file, fault.line) == (file, 3)
        assert str(raised.value).startswith(f"{file}:3:{fault.column}: cage 1 cannot add to 9")
    assert not (tmp_path / "out").exists()


def test_a_file_that_is_none_and_a_book_that_is_not_sound_are_faults(tmp_path: Path) -> None:
    with pytest.raises(FaultsError, match="there is no such file"):
        cagework.read_book(tmp_path / "nowhere.yaml")
    file = tmp_path / "harbour.yaml"
    file.write_text("book: {title: Harbour, allow_uncaged: true}\npuzzles:\n"
                    "  - {id: m, size: 4, cages: [{sum: 5, cells: r1c1 r1c2}]}\n", encoding="utf-8")
    assert cagework.read_book(file).title == "Harbour"
    with pytest.raises(FaultsError, match="'m' is not sound: two answers"):
        cagework.build(file, tmp_path / "out", keep=False)
    assert not (tmp_path / "out" / "book.pdf").exists()


FAULT = Fault(Path("harbour.yaml"), "it is wet", "wait for the ebb")


@pytest.mark.parametrize("error", [
    PuzzleError("it leaks"), ChoiceError("no such sheet"), RuleError("no such rule", "leave it out", A),
    FaultsError((FAULT, FAULT)), UnreadableManifest(FAULT), NotBuilt((FAULT,)),
    ClusterError("nobody is there", "", lost=True)])
def test_every_error_is_one_of_the_family_and_keeps_its_words_between_processes(error: CageworkError) -> None:
    assert isinstance(error, CageworkError)
    if not isinstance(error, ClusterError):     # it stays with the command that it stops
        again = pickle.loads(pickle.dumps(error))
        assert (type(again), str(again)) == (type(error), str(error))
        assert getattr(again, "faults", None) == getattr(error, "faults", None)
