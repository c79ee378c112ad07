"""Why a puzzle is not sound, and what mends it: every claim put to CP-SAT."""

from __future__ import annotations

import random
from dataclasses import replace
from types import ModuleType

import pytest

from cagework.solver.editing.arithmetic import Member, imbalance, plainest
from cagework.solver.editing.compose import Recipe, compose
from cagework.solver.editing.repair import RepairKind, mendings, repairs, spare_parts
from cagework.solver.editing.why import Conflict, conflict, differing, fixed, shrink, swap
from cagework.solver.model import Cage, Cell, Given, House, Pair, Puzzle, standard_houses
from cagework.solver.search.exact import Outcome, solve
from cagework.typeset.manifest.notation import read_cells

RECIPES = {"4": Recipe(size=4), "6": Recipe(size=6), "9": Recipe(), "9 diagonals": Recipe(rules=("diagonals",)),
           "9 knight": Recipe(rules=("knight",)), "9 irregular": Recipe(irregular=True)}


def only(size: int, kept: list[Member]) -> Puzzle:
    def of(kind: type) -> tuple:  # type: ignore[type-arg]
        return tuple(member for member in kept if isinstance(member, kind))

    return Puzzle(size, of(House), of(Cage), of(Given), of(Pair))


def unbalanced(puzzle: Puzzle, seed: int) -> Puzzle:
    """One total raised by one and another lowered, so that all totals still add up."""
    rng = random.Random(seed)
    while True:
        cages = list(puzzle.cages)
        up, down = rng.sample(range(len(cages)), 2)
        for index, step in ((up, 1), (down, -1)):
            total = cages[index].total
            assert total is not None
            cages[index] = Cage(cages[index].cells, total + step)
        changed = replace(puzzle, cages=tuple(cages))
        if solve(changed).outcome is Outcome.NO_ANSWER:
            return changed


def merged(recipe: Recipe, seed: int) -> tuple[Puzzle, tuple[Cage, Cage]]:
    """Adjoining cages become one, at random, until a second answer appears; and the two merged last.

    Where no merge is left to try, the next composed puzzle is taken.
    """
    rng = random.Random(seed)
    made = compose(seed, recipe)
    puzzle, tries = made.puzzle, 0
    while True:
        tries += 1
        if tries % 100 == 0:
            made = compose(seed + tries, recipe)
            puzzle = made.puzzle
        one, other = _neighbours(puzzle, rng)
        cells = tuple(sorted(one.cells + other.cells))
        if len(cells) > 8 or len({made.answer.at(cell) for cell in cells}) < len(cells):
            continue
        whole = Cage(cells, sum(made.answer.at(cell) for cell in cells))
        changed = replace(puzzle, cages=(*(cage for cage in puzzle.cages if cage not in (one, other)), whole))
        outcome = solve(changed, nodes=3000).outcome
        if outcome is Outcome.TWO_ANSWERS:
            return changed, (one, other)
        if outcome is Outcome.SOUND:
            puzzle = changed


def _neighbours(puzzle: Puzzle, rng: random.Random) -> tuple[Cage, Cage]:
    one = rng.choice(puzzle.cages)
    near = [cage for cage in puzzle.cages if cage != one
            and any(cell in cage.cells for mine in one.cells for cell in mine.neighbours())]
    return one, rng.choice(near)


@pytest.mark.parametrize("kind", RECIPES)
def test_a_conflict_has_no_answer_and_loses_it_with_any_member(kind: str, cpsat: ModuleType) -> None:
    puzzle = unbalanced(compose(5, RECIPES[kind]).puzzle, 1)
    found = conflict(puzzle, seconds=None)
    assert found.minimal
    members = list(found.members)
    assert cpsat.verdict(only(puzzle.size, members)).outcome is Outcome.NO_ANSWER
    for spared in members:
        rest = [member for member in members if member != spared]
        assert cpsat.verdict(only(puzzle.size, rest)).outcome is not Outcome.NO_ANSWER, spared


def test_two_equal_givens_in_a_row_are_the_whole_conflict() -> None:
    puzzle = Puzzle(9, standard_houses(9), (), (Given(Cell(2, 1), 5), Given(Cell(2, 8), 5), Given(Cell(4, 4), 1)))
    members = conflict(puzzle, seconds=None).members
    assert [str(member.cell) for member in members if isinstance(member, Given)] == ["r2c1", "r2c8"]
    assert [member.name for member in members if isinstance(member, House)] == ["row 2"]
    assert len(members) == 3


@pytest.mark.parametrize("kind", RECIPES)
@pytest.mark.parametrize("seed", [1, 2])
def test_a_swap_is_real_and_no_smaller_part_of_it_is(kind: str, seed: int, cpsat: ModuleType) -> None:
    puzzle, _ = merged(RECIPES[kind], seed)
    found = swap(puzzle, solve(puzzle))
    assert found.minimal
    assert found.region == differing(found.one, found.other)
    assert set(found.region) <= set(found.cells)
    assert cpsat.verdict(fixed(puzzle, found.one, found.region)).outcome is Outcome.TWO_ANSWERS
    for cell in found.region:
        rest = [other for other in found.region if other != cell]
        assert cpsat.verdict(fixed(puzzle, found.one, rest)).outcome is Outcome.SOUND


@pytest.mark.parametrize("kind", RECIPES)
@pytest.mark.parametrize("seed", [3])
def test_every_repair_offered_leaves_one_answer(kind: str, seed: int, cpsat: ModuleType) -> None:
    puzzle, _ = merged(RECIPES[kind], seed)
    offered = repairs(puzzle, swap(puzzle, solve(puzzle)), each=1, seconds=None)
    ranks = [list(RepairKind).index(repair.kind) for repair in offered]
    assert ranks == sorted(ranks), "cheapest first"
    for repair in offered:
        said = cpsat.verdict(repair.repaired)
        assert (said.outcome, said.answer) == (Outcome.SOUND, repair.answer), repair.kind


def test_a_merge_is_undone() -> None:
    """The two cages merged last, which left two answers, are most often among the repairs."""
    undone = 0
    for seed in range(8):
        puzzle, last = merged(Recipe(size=6, sizes={2: 3.0, 3: 2.0}), seed)
        offered = repairs(puzzle, swap(puzzle, solve(puzzle)), each=50, seconds=None)
        undone += any({part.cells for part in repair.parts} == {cage.cells for cage in last}
                      for repair in offered if repair.kind is RepairKind.UNMERGE)
    assert undone >= 4


def test_a_missing_total_is_given_back(cpsat: ModuleType) -> None:
    """Totals are taken away one by one until a second answer appears; giving one back is often enough."""
    mended = 0
    for seed in range(12):
        puzzle = compose(seed, Recipe(size=4)).puzzle
        for cage in puzzle.cages:
            bare = tuple(Cage(one.cells, None) if one == cage else one for one in puzzle.cages)
            puzzle = replace(puzzle, cages=bare)
            if solve(puzzle).outcome is Outcome.TWO_ANSWERS:
                break
        totals = [one for one in repairs(puzzle, swap(puzzle, solve(puzzle)), seconds=None)
                  if one.kind is RepairKind.TOTAL]
        mended += bool(totals)
        assert all(cpsat.verdict(repair.repaired).outcome is Outcome.SOUND for repair in totals)
    assert mended >= 3


@pytest.mark.parametrize("seed", range(3))
def test_spare_parts_can_go_and_the_others_cannot(seed: int, cpsat: ModuleType) -> None:
    made = compose(seed, Recipe(size=6))
    puzzle = replace(made.puzzle, givens=(Given(Cell(1, 1), made.answer.at(Cell(1, 1))),))
    spare = spare_parts(puzzle)
    assert spare.givens_together == spare.givens == puzzle.givens
    without = replace(puzzle, givens=(), cages=puzzle.cages)
    assert cpsat.verdict(without).outcome is Outcome.SOUND
    bare = tuple(Cage(cage.cells, None) if cage in spare.totals_together else cage for cage in puzzle.cages)
    assert spare.totals_together
    assert cpsat.verdict(replace(puzzle, cages=bare)).outcome is Outcome.SOUND
    for cage in spare.totals:
        one = tuple(Cage(cage.cells, None) if other == cage else other for other in puzzle.cages)
        assert cpsat.verdict(replace(puzzle, cages=one)).outcome is Outcome.SOUND


def test_shrinking_keeps_just_what_fails() -> None:
    """Against a rule known beforehand: a set fails when it holds 3 and 17, or 40 and 41."""
    def fails(kept: list[int]) -> bool:
        return {3, 17} <= set(kept) or {40, 41} <= set(kept)

    assert shrink(range(60), fails) in ([3, 17], [40, 41])
    assert shrink([3, 17], fails) == [3, 17]


def slipped(recipe: Recipe, seed: int) -> Puzzle:
    """A composed puzzle with one total off by a little, and no answer."""
    puzzle = compose(seed, recipe).puzzle
    for number, cage in enumerate(puzzle.cages[seed:], seed):
        assert cage.total is not None
        changed = replace(puzzle, cages=(
            *puzzle.cages[:number], Cage(cage.cells, cage.total + 1), *puzzle.cages[number + 1:]))
        if solve(changed).outcome is Outcome.NO_ANSWER:
            return changed
    raise AssertionError("each slip leaves an answer")


@pytest.mark.parametrize("kind", ["4", "6", "9", "9 knight"])
def test_every_mending_offered_leaves_one_answer(kind: str, cpsat: ModuleType) -> None:
    puzzle = slipped(RECIPES[kind], 2)
    plain = plainest(puzzle)
    assert plain is not None
    offered = mendings(puzzle, Conflict(plain.members, minimal=False), seconds=None)
    assert offered
    for repair in offered:
        said = cpsat.verdict(repair.repaired)
        assert (said.outcome, said.answer) == (Outcome.SOUND, repair.answer)
        changed = [cage for cage in repair.repaired.cages if cage not in puzzle.cages]
        assert len(changed) == 1 and repair.repaired.givens == puzzle.givens


def test_no_other_single_sum_mends(cpsat: ModuleType) -> None:
    """Every other total of every cage, one at a time, put to CP-SAT."""
    puzzle = slipped(RECIPES["4"], 1)
    offered = mendings(puzzle, conflict(puzzle, seconds=None), most=999, seconds=None)
    mended = set()
    for number, cage in enumerate(puzzle.cages):
        for total in set(range(1, 11)) - {cage.total}:
            cages = (*puzzle.cages[:number], Cage(cage.cells, total), *puzzle.cages[number + 1:])
            if cpsat.verdict(replace(puzzle, cages=cages)).outcome is Outcome.SOUND:
                mended.add((cage.cells, total))
    assert {(repair.parts[0].cells, repair.parts[0].total) for repair in offered} == mended != set()


def test_a_given_that_contradicts_is_offered_as_another(cpsat: ModuleType) -> None:
    made = compose(1, RECIPES["6"])
    cell = Cell(1, 1)
    wrong = made.answer.at(cell) % 6 + 1
    puzzle = replace(made.puzzle, givens=(Given(cell, wrong),))
    assert cpsat.verdict(puzzle).outcome is Outcome.NO_ANSWER
    offered = mendings(puzzle, conflict(puzzle, seconds=None), seconds=None)
    assert (Given(cell, made.answer.at(cell)),) in [repair.givens for repair in offered]


@pytest.mark.parametrize(("cages", "sums"), [
    ([("r1c1-r1c4", 11)], (11, 10, "", "")), ([("r1c1-r1c2", 7), ("r2c1-r2c2", 6)], (13, 10, "", "")),
    ([("r1c1-r1c3", 10)], (10, 10, "r1c4", "")), ([("r1c1-r1c3", 5)], (5, 10, "r1c4", "")),
    ([("r1c1-r1c2", 7), ("r1c3-r2c3", 6), ("r1c4", 4)], (17, 10, "", "r2c3")),
    ([("r1c1-r1c3", 6)], None), ([("r1c1-r1c3", 9), ("r1c4", 2)], (11, 10, "", "")),
])
def test_arithmetic_is_told_where_it_is_what_contradicts(
    cages: list[tuple[str, int]], sums: tuple[int, int, str, str] | None,
) -> None:
    """A grid of 4: a row or a box adds to 10. By hand."""
    drawn = tuple(Cage(tuple(one.cell for one in read_cells(cells, 4)[0]), total) for cells, total in cages)
    near = ("box 1",) if "r2c1" in cages[-1][0] else ("row 1",)
    houses = tuple(house for house in standard_houses(4) if house.name in near)
    found = imbalance(range(1, 5), (*drawn, *houses))
    said = found and (found.stated, found.due, " ".join(map(str, found.left)), " ".join(map(str, found.out)))
    assert said == sums


@pytest.mark.parametrize("kind", ["6", "9", "9 irregular"])
def test_an_imbalance_is_a_contradiction_by_itself(kind: str, cpsat: ModuleType) -> None:
    """Its cages and houses alone have no filling. CP-SAT is told what a house adds to: it would count for long."""
    for seed in range(3):
        found = plainest(slipped(RECIPES[kind], seed))
        assert found is not None, "all sums together are one too many"
        alone = only(len(found.houses[0].cells), list(found.members))
        model = cpsat.Oracle(alone)
        for house in found.houses:
            model.model.add(sum(model.at[cell] for cell in house.cells) == sum(range(1, alone.size + 1)))
        assert model.answer() is None
