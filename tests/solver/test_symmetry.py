from __future__ import annotations

import random
from dataclasses import replace
from itertools import permutations, product

import pytest

from cagework.solver.model import (
    Between,
    Cage,
    Cell,
    Domain,
    Given,
    House,
    HouseKind,
    Pair,
    Puzzle,
    Sum,
    grid_cells,
    standard_houses,
)
from cagework.solver.symmetry import Motion, canonical, likeness, relation

SIZES = (4, 6, 9)


def lopsided(size: int) -> Puzzle:
    """A puzzle that no motion maps to itself; it need not be sound."""
    return Puzzle(
        size,
        (*standard_houses(size), House("spare", HouseKind.EXTRA, (Cell(1, 1), Cell(2, 3), Cell(4, 4)))),
        (Cage((Cell(1, 1), Cell(1, 2)), 3), Cage((Cell(1, 3), Cell(2, 3), Cell(3, 3)), None),
         Cage((Cell(4, 1), Cell(4, 2)), 7)),
        (Given(Cell(3, 4), 2),),
        (Pair.of(Cell(2, 1), Cell(3, 1), range(1, size + 1), lambda x, y: x < y),),
    )


def turned_right(puzzle: Puzzle) -> Puzzle:
    """By the plain rule: row becomes column, column becomes size + 1 - row."""
    def move(cell: Cell) -> Cell:
        return Cell(cell.col, puzzle.size + 1 - cell.row)
    return replace(
        puzzle,
        houses=tuple(replace(h, cells=tuple(map(move, h.cells))) for h in puzzle.houses),
        cages=tuple(replace(c, cells=tuple(map(move, c.cells))) for c in puzzle.cages),
        givens=tuple(replace(g, cell=move(g.cell)) for g in puzzle.givens),
        pairs=tuple(replace(p, first=move(p.first), second=move(p.second)) for p in puzzle.pairs),
    )


def mirrored(puzzle: Puzzle) -> Puzzle:
    def move(cell: Cell) -> Cell:
        return Cell(cell.row, puzzle.size + 1 - cell.col)
    return replace(
        puzzle,
        houses=tuple(replace(h, cells=tuple(map(move, h.cells))) for h in puzzle.houses),
        cages=tuple(replace(c, cells=tuple(map(move, c.cells))) for c in puzzle.cages),
        givens=tuple(replace(g, cell=move(g.cell)) for g in puzzle.givens),
        pairs=tuple(replace(p, first=move(p.first), second=move(p.second)) for p in puzzle.pairs),
    )


def complemented(puzzle: Puzzle) -> Puzzle:
    n = puzzle.size

    def holds(pair: Pair, x: int, y: int) -> bool:
        return bool(pair.allowed[n - x] >> (n - y) & 1)
    return replace(
        puzzle,
        cages=tuple(
            replace(c, total=None if c.total is None else sum(n + 1 for _ in c.cells) - c.total)
            for c in puzzle.cages
        ),
        givens=tuple(replace(g, digit=n + 1 - g.digit) for g in puzzle.givens),
        pairs=tuple(
            Pair.of(p.first, p.second, range(1, n + 1), lambda x, y, p=p: holds(p, x, y)) for p in puzzle.pairs
        ),
    )


@pytest.mark.parametrize("size", SIZES)
def test_sixteen_images_share_one_key_and_are_told_apart(size: int) -> None:
    puzzle = lopsided(size)
    images = []
    for image in (puzzle, mirrored(puzzle)):
        for _ in range(4):
            images += [image, complemented(image)]
            image = turned_right(image)
    assert {canonical(image) for image in images} == {canonical(puzzle)}
    assert {likeness(image) for image in images} == {likeness(puzzle)}
    found = [relation(puzzle, image) for image in images]
    assert None not in found
    assert len(set(found)) == 16


def test_relation_names_the_motion() -> None:
    puzzle = lopsided(9)
    cases = {
        "identical": puzzle,
        Motion.QUARTER_RIGHT.value: turned_right(puzzle),
        Motion.HALF.value: turned_right(turned_right(puzzle)),
        Motion.LEFT_RIGHT.value: mirrored(puzzle),
        Motion.TOP_BOTTOM.value: mirrored(turned_right(turned_right(puzzle))),
        # A mirror left to right, then a quarter to the left, keeps r1c1 and swaps rows with columns.
        Motion.FALLING.value: turned_right(turned_right(turned_right(mirrored(puzzle)))),
    }
    for words, image in cases.items():
        assert str(relation(puzzle, image)) == words
    found = relation(puzzle, complemented(puzzle))
    assert found is not None
    assert (found.motion, found.complemented) == (Motion.NONE, True)


def test_order_of_facts_and_orientation_of_pairs_do_not_matter() -> None:
    puzzle = lopsided(6)
    (pair,) = puzzle.pairs
    shuffled = replace(
        puzzle,
        houses=puzzle.houses[::-1],
        cages=tuple(replace(c, cells=c.cells[::-1]) for c in puzzle.cages[::-1]),
        pairs=(Pair.of(pair.second, pair.first, range(1, 7), lambda x, y: x > y),),
    )
    assert canonical(shuffled) == canonical(puzzle)
    twice = replace(shuffled, houses=puzzle.houses * 2, cages=puzzle.cages * 2)
    assert canonical(twice) == canonical(puzzle)
    assert likeness(twice) == likeness(shuffled) == likeness(puzzle)
    assert str(relation(puzzle, shuffled)) == "identical"


def changes(puzzle: Puzzle) -> list[Puzzle]:
    """One fact of each kind changed."""
    first, *rest = puzzle.cages
    (pair,) = puzzle.pairs
    assert first.total is not None
    return [
        replace(puzzle, houses=puzzle.houses[:-1]),
        replace(puzzle, cages=(replace(first, total=first.total + 1), *rest)),
        replace(puzzle, cages=(replace(first, total=None), *rest)),
        replace(puzzle, cages=tuple(rest)),
        replace(puzzle, givens=()),
        replace(puzzle, givens=(Given(Cell(3, 4), 1),)),
        replace(puzzle, pairs=(Pair.of(pair.second, pair.first, puzzle.digits, lambda x, y: x < y),)),
        replace(puzzle, pairs=()),
    ]


@pytest.mark.parametrize("size", SIZES)
def test_any_changed_fact_makes_another_puzzle(size: int) -> None:
    puzzle = lopsided(size)
    keys = [canonical(puzzle), *map(canonical, changes(puzzle))]
    assert len(set(keys)) == len(keys)
    assert all(relation(puzzle, other) is None for other in changes(puzzle))


def test_sizes_never_match() -> None:
    plain = [Puzzle(size, standard_houses(size), ()) for size in (4, 6, 9)]
    assert relation(plain[0], plain[1]) is None
    assert len(set(map(canonical, plain))) == 3


def test_six_by_six_turned_has_other_boxes() -> None:
    """2 x 3 boxes become 3 x 2: a quarter turn of a plain 6 x 6 grid is another plan."""
    plain = Puzzle(6, standard_houses(6), (Cage((Cell(1, 1), Cell(1, 2)), 4),))
    on_usual_boxes = replace(turned_right(plain), houses=plain.houses)
    assert relation(plain, turned_right(plain)) is not None
    assert relation(plain, on_usual_boxes) is None


def test_keys_of_random_cages_agree_with_relation() -> None:
    """Two small random puzzles share a key exactly when a relation is found."""
    rng = random.Random(7)
    cells = grid_cells(4)
    puzzles = [
        Puzzle(4, standard_houses(4), (Cage((rng.choice(cells),), rng.randint(1, 4)),)) for _ in range(40)
    ]
    outcomes = {
        (canonical(a) == canonical(b), relation(a, b) is not None) for a in puzzles for b in puzzles
    }
    assert outcomes == {(True, True), (False, False)}


def given_only(givens: dict[Cell, int]) -> Puzzle:
    return Puzzle(4, standard_houses(4), (), tuple(Given(cell, digit) for cell, digit in sorted(givens.items())))


def test_without_sums_puzzles_are_one_whatever_their_digits_are_called() -> None:
    """Against all 8 motions, by the plain rules above, with all 24 ways to exchange four digits."""
    rng = random.Random(3)
    cells = grid_cells(4)
    puzzles = [given_only({cell: rng.randint(1, 4) for cell in rng.sample(cells[:8], 3)}) for _ in range(24)]
    motions = []
    for image in (lambda one: one, mirrored):
        for turns in range(4):
            motions.append((image, turns))

    def images(puzzle: Puzzle) -> set[frozenset[Given]]:
        found = set()
        for (image, turns), names in product(motions, permutations(range(1, 5))):
            moved = image(puzzle)
            for _ in range(turns):
                moved = turned_right(moved)
            found.add(frozenset(Given(given.cell, names[given.digit - 1]) for given in moved.givens))
        return found

    outcomes = set()
    images_of = {id(one): images(one) for one in puzzles}
    for a, b in product(puzzles, puzzles):
        same = frozenset(b.givens) in images_of[id(a)]
        how = relation(a, b)
        assert (canonical(a) == canonical(b), how is not None) == (same, same)
        outcomes.add((same, how is not None and how.renamed))
    assert outcomes == {(True, True), (True, False), (False, False)}


def test_digits_keep_their_worth_where_anything_goes_by_it() -> None:
    """A sum, a cell that has to be even, a sign: any of them, and other digits are another puzzle."""
    one = given_only({Cell(1, 1): 1, Cell(2, 3): 3})
    other = given_only({Cell(1, 1): 1, Cell(2, 3): 2})
    assert str(relation(one, other)) == "its digits exchanged"
    marks = [
        {"cages": (Cage((Cell(4, 1), Cell(4, 2)), 5),)}, {"domains": (Domain(Cell(4, 4), 0b1010),)},
        {"pairs": (Pair.of(Cell(4, 1), Cell(3, 2), range(1, 5), lambda x, y: x < y),)},
        {"sums": (Sum((Cell(4, 1),), (Cell(3, 2),), (1,)),)},
        {"betweens": (Between((Cell(4, 1), Cell(4, 3)), (Cell(3, 2),)),)},
    ]
    for mark in marks:
        assert canonical(replace(one, **mark)) != canonical(replace(other, **mark))
        assert relation(replace(one, **mark), replace(other, **mark)) is None
    apart = {"pairs": (Pair.of(Cell(4, 1), Cell(3, 2), range(1, 5), lambda x, y: x != y),),
             "cages": (Cage((Cell(4, 1), Cell(4, 2)), None),)}
    assert canonical(replace(one, **apart)) == canonical(replace(other, **apart))
