"""What a step asks a reader to hold in mind: counted here by trying all digits, and never more than the limits."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Collection, Iterator, Mapping
from itertools import combinations, permutations, product
from pathlib import Path as File
from typing import Any

import pytest
from ortools.sat.python import cp_model

from cagework.solver.editing.compose import Recipe, compose
from cagework.solver.model import Cage, Cell, Puzzle
from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.grade import LIMITS
from cagework.solver.reasoning.reason import Path, Reach
from cagework.solver.reasoning.technique import MOST_CASES, MOST_LINKS
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.step import Clash, Crush, DeadWay, Digits, Lack, NoOther, Step

SUPPOSING = ("either_way", "what_if")
BY_WAYS = ("fixed_combination", "impossible_digit", "needed_digit", "no_fit", "way_by_way")
"""Techniques that ask for the ways to make one cage."""

FEW_CELLS = [f"{wide}{kind}" for wide in ("", "wide_") for kind in ("innies", "outies", "innies_less_outies")]
"""Techniques that go through the ways to make a sum by the 45 rule."""


@pytest.fixture(scope="module")
def paths(corpus_paths: list[Path]) -> list[Path]:
    return corpus_paths


@pytest.fixture(scope="module")
def harder(path_of: Callable[[Puzzle], Path]) -> list[Path]:
    """Puzzles whose cages are gone through way by way, reasoned through."""
    recipe = Recipe(sizes={2: 3.0, 3: 4.0, 4: 3.0, 5: 1.0})
    return [path_of(compose(seed, recipe).puzzle) for seed in (2, 7, 17)]


def ways(cage: Cage, candidates: list[int], index: dict[Cell, int]) -> int:
    """How many sets of digits make the rest of a cage out of what its open cells can hold between them."""
    masks = [candidates[index[cell]] for cell in cage.cells]
    placed = sum(mask.bit_length() for mask in masks if mask.bit_count() == 1)
    open_ = [mask for mask in masks if mask.bit_count() > 1]
    digits = [digit for digit in range(1, 17) if any(mask >> digit - 1 & 1 for mask in open_)]
    return sum(sum(chosen) + placed == cage.total for chosen in combinations(digits, len(open_)))


def test_the_ways_of_a_cage_are_counted_as_they_are(paths: list[Path]) -> None:
    counted = set()
    for path in paths:
        board, index = Prover(path.puzzle).board(), {cell: n for n, cell in enumerate(path.puzzle.cells)}
        for stage in path.stages:
            step = stage.step
            if step.technique in BY_WAYS:
                assert step.load == ways(step.cites.cages[0], board.candidates, index), step
                counted.add(step.technique)
            board.apply(step)
    assert counted >= {"fixed_combination", "impossible_digit", "needed_digit", "no_fit"}


def test_no_step_is_over_the_limits_but_a_trial(paths: list[Path]) -> None:
    for path in paths:
        loads = [(stage.step, stage.step.load) for stage in path.stages]
        assert all(load <= (MOST_LINKS if step.parts else MOST_CASES) for step, load in loads)
        assert all((load == 0) is (step.technique == "trial") for step, load in loads)
        assert (path.reach is Reach.TRIAL) is any(load == 0 for _, load in loads)


def test_the_links_of_a_supposition_are_its_load(position: Callable[..., Any]) -> None:
    here = position(hold=["r1c1 = 12", "r1c2 = 13", "r2c1 = 13"])
    (step,) = here.found("what_if")
    load = TECHNIQUES["what_if"].load(here.state.frame, here.state.candidates, step)
    assert load == len(step.parts) == 2     # r1c2 is 3, and nothing is left for r2c1


def test_the_links_of_both_branches_are_its_load_and_one(position: Callable[..., Any]) -> None:
    """r1c1 is 1 or 2: then r5c1 is 3, or r1c5 is. r5c5 sees both."""
    here = position(hold=["r1c1 = 12", "r1c5 = 23", "r5c1 = 13"])
    (step,) = here.found("either_way")
    assert TECHNIQUES["either_way"].load(here.state.frame, here.state.candidates, step) == 3
    assert [part.technique for part in step.parts].count("naked_single") == 2


def fits(way: frozenset[int], masks: list[int]) -> bool:
    """Whether cells that hold these masks can be filled with a set of digits, tried in every order."""
    return any(all(mask >> digit - 1 & 1 for mask, digit in zip(masks, digits, strict=True))
               for digits in permutations(way))


def noted(path: Path) -> Iterator[tuple[Step, Mapping[Cell, int]]]:
    """Each step, and what the cells hold before it."""
    board = Prover(path.puzzle).board()
    for stage in path.stages:
        yield stage.step, dict(zip(path.puzzle.cells, board.candidates, strict=True))
        board.apply(stage.step)


def test_all_ways_of_a_cage_that_fit_its_notes_are_told(harder: list[Path]) -> None:
    """The dead ones and those left where a cage is gone through; the dead ones where a digit is asked for."""
    seen = Counter[str]()
    for step, notes in ((step, notes) for path in harder for step, notes in noted(path)):
        if step.technique not in ("way_by_way", "digit_by_ways"):
            continue
        cage, ((cell, gone), *_) = step.cites.cages[0], step.removes
        open_ = {one: notes[one] for one in cage.cells if notes[one].bit_count() > 1}
        filled = {notes[one].bit_length() for one in cage.cells if one not in open_}
        if step.technique == "digit_by_ways":
            open_ = {one: gone if one == cell else mask & ~gone for one, mask in open_.items()}
        ways = {frozenset(way) for way in combinations(set(range(1, 10)) - filled, len(open_))
                if sum(way) + sum(filled) == cage.total}
        live, dead = step.why["live"], step.why["dead"]
        assert isinstance(live, tuple) and isinstance(dead, tuple) and bool(dead) is (step.key == "removes")
        told = [frozenset(one) for one in (*live, *step.why["reason"].struck) if isinstance(one, Digits)]
        told += [frozenset(one.way) for one in dead if isinstance(one, DeadWay)]
        assert len(told) == len(set(told))
        assert set(told) == {way for way in ways if fits(way, list(open_.values()))}, step
        assert bool(live) is (step.technique == "way_by_way")
        seen[step.technique] += 1
    assert min(seen["way_by_way"], seen["digit_by_ways"]) >= 2, seen


@pytest.mark.parametrize(("cages", "cells", "total"), [
    # Rows 1 to 3 less their cages: three cells of one column, 23.
    ([*(f"{total}: r1c{c} r2c{c} r3c{c}" for c, total in zip(range(2, 10), (14, 15, 13, 16, 12, 15, 14, 13),
                                                            strict=True))], ("r1c1", "r2c1", "r3c1"), 23),
])
def test_cells_of_a_sum_that_see_each_other_differ(
    cages: list[str], cells: tuple[str, ...], total: int, position: Callable[..., Any],
) -> None:
    """Three cells of a column that make 23 are 6, 8 and 9: only these differ and do."""
    here = position(cages)
    reach = [{way[place] for way in product(range(1, 10), repeat=3)
              if sum(way) == total and len(set(way)) == 3} for place in range(3)]
    assert reach == [{6, 8, 9}] * 3
    removed: dict[str, set[int]] = {}
    steps: list[Step] = here.found("wide_innies")
    for step in steps:
        for cell, mask in step.removes:
            removed.setdefault(str(cell), set()).update(d for d in range(1, 10) if mask >> d - 1 & 1)
        assert Prover(here.puzzle).prove(here.state.candidates, step)
    assert [set(range(1, 10)) - removed[cell] for cell in cells] == reach


def sets_in(value: object) -> set[frozenset[int]]:
    """A list of sets of digits."""
    assert isinstance(value, tuple)
    return {frozenset(one) for one in value if isinstance(one, Digits)}


def keeps_out(clash: Clash, way: Digits, open_: Mapping[Cell, int]) -> bool:
    """Whether a clash is one: as it says, these cells cannot hold the digits."""
    kept = {cell: mask & way.mask for cell, mask in open_.items()}
    if clash.how is Crush.BARE:
        return any(not kept[cell] for cell in clash.cells)
    if clash.how is Crush.ALIKE:
        return len(clash.digits) == 1 and all(not kept[cell] & ~clash.digits.mask for cell in clash.cells)
    return len(clash.digits) > len(clash.cells) and not any(
        mask & clash.digits.mask for cell, mask in kept.items() if cell not in clash.cells)


def test_ways_that_a_digit_of_a_cage_would_leave_are_listed_whole(paths: list[Path], harder: list[Path]) -> None:
    """Each other way with the digit has a reason: one of its digits is gone, or the cells do not fit it."""
    told = 0
    for step, notes in ((step, notes) for path in (*paths, *harder) for step, notes in noted(path)):
        if step.technique != "no_fit" or not step.key.startswith(("few", "clash")):
            continue
        ((cell, gone),), cage, reason = step.removes, step.cites.cages[0], step.why["unless"]
        assert isinstance(reason, NoOther)
        open_ = {one: notes[one] for one in cage.cells if notes[one].bit_count() > 1} | {cell: gone}
        filled = {notes[one].bit_length() for one in cage.cells if one not in open_}
        free = set(range(1, 10)) - filled
        ways = {frozenset(way) for way in combinations(free, len(open_)) if sum(way) + sum(filled) == cage.total}
        ways = {way for way in ways if any(gone >> digit - 1 & 1 for digit in way)}
        lacks = {one.cell: one.digits.mask if isinstance(one, Lack) else ~one.digits.mask for one in reason.lacks}
        assert not any(mask >> digit - 1 & 1 for mask in open_.values() for digit in reason.barred), step
        assert all(not open_[one] & mask for one, mask in lacks.items()), step
        for way in ways - sets_in(step.why["ways"]) - sets_in(reason.unfit):
            assert way & set(reason.barred) or not fits(way, [~lacks.get(one, 0) for one in open_]), step
            told += 1
        assert not any(fits(way, list(open_.values())) for way in ways), step
    assert told > 10


def test_ways_are_listed_whole_or_it_is_said_why_not(paths: list[Path], harder: list[Path]) -> None:
    """Where ways of a cage are told, each other that arithmetic allows has a reason, as the notes stand then; none
    that was struck before is told again.
    """
    reasons = set()
    for path in (*paths, *harder):
        size, board = path.puzzle.size, Prover(path.puzzle).board()
        out: dict[Cage, set[frozenset[int]]] = {}
        for step in (stage.step for stage in path.stages):
            sentence = "".join(TECHNIQUES[step.technique].templates(step.key))
            if step.technique == "way_by_way":
                cage = step.cites.cages[0]
                placed = {board.candidates[board.at(cell)].bit_length() for cell in cage.cells
                          if board.candidates[board.at(cell)].bit_count() == 1}
                dead = {frozenset(placed.union(one.way)) for one in step.why["dead"]}
                assert out.setdefault(cage, set()).isdisjoint(dead), "told to be out twice"
                out[cage] |= dead
            if "{reason}" in sentence and step.technique != "way_by_way" and not step.cites.added:
                # A fork cites other cages, too.
                cage = step.why["cage"] if "{ways}" in sentence else step.cites.cages[0]
                assert isinstance(cage, Cage)
                listed = next((name for name in ("combinations", "ways") if f"{{{name}}}" in sentence), None)
                told = sets_in(step.why[listed]) if listed else {frozenset(step.why["digits"])}
                held = {cell: board.candidates[board.at(cell)] for cell in cage.cells}
                count = sum(mask.bit_count() > 1 for mask in held.values())
                if count < 2 or any(len(way) > count for way in told):     # told as it was cited
                    held = {cell: (1 << size) - 1 & ~dict(step.cites.eliminated).get(cell, 0) for cell in held}
                filled = {mask.bit_length() for mask in held.values() if mask.bit_count() == 1}
                open_ = {cell: mask for cell, mask in held.items() if mask.bit_count() > 1}
                free = set(range(1, size + 1)) - filled
                allowed = {frozenset(chosen) for chosen in combinations(free, len(open_))
                           if sum(chosen) + sum(filled) == cage.total}
                spots = set(step.why.get("spots", open_))
                needed = step.why["needed"].mask if step.technique == "reserved_digit" else 0
                allowed = {way for way in allowed if all(digit in way for digit in Digits(needed))}
                open_ = {cell: mask if cell in spots else mask & ~needed for cell, mask in open_.items()}
                reason = step.why["reason"]
                assert isinstance(reason, NoOther)
                barred, unfit, struck = set(reason.barred), sets_in(reason.unfit), sets_in(reason.struck)
                assert {way | filled for way in struck} <= out.get(cage, set())
                assert listed == "ways" or not {way | filled for way in told} & out.get(cage, set()), step
                assert all(fits(way, list(open_.values())) for way in told), step
                assert not any(mask >> digit - 1 & 1 for mask in open_.values() for digit in barred), step
                assert not any(fits(way, list(open_.values())) for way in unfit), step
                assert not reason.clashes or len(reason.clashes) == len(reason.unfit)
                for digits, clash in zip(reason.unfit, reason.clashes, strict=bool(reason.clashes)):
                    assert keeps_out(clash, digits, open_), step
                    reasons.add(clash.how)
                if reason.pair:     # whatever is told holds it, and the rest has one way
                    pair, left = reason.pair
                    two = {open_[cell] for cell in pair.plus}
                    assert len(two) == 1 and set(pair.plus + left.plus) == set(open_), step
                    own = {digit for digit in range(1, size + 1) if two.copy().pop() >> digit - 1 & 1}
                    assert (len(own), sum(own)) == (2, pair.totals[0]), step
                    assert {way for way in allowed if own <= way} == told, step
                    assert all(sum(way - own) == left.totals[0] for way in told), step
                    allowed, reasons = told, reasons | {"pair"}
                rest = allowed - told - unfit - struck - {way for way in allowed if way & barred}
                lacking = dict.fromkeys([cell for cell in open_ if cell not in spots], needed)
                lacking |= {one.cell: one.digits.mask if isinstance(one, Lack) else ~one.digits.mask
                            for one in reason.lacks}
                assert all(not open_[cell] & mask for cell, mask in lacking.items()), step
                assert not any(fits(way, [~lacking.get(cell, 0) for cell in open_]) for way in rest), step
                reasons.add((bool(barred), bool(unfit), bool(reason.lacks)))
                reasons.add("struck" if struck else "")
                reasons.add(step.key)
            board.apply(step)
    assert reasons >= {"only", "some", "rest", "all_few", "room_few", "pair", (True, False, False),
                       (False, True, False), (True, True, False), *Crush}, reasons
    assert any(lacking for _, _, lacking in filter(lambda one: isinstance(one, tuple), reasons))


def test_the_manual_has_the_whole_scale(root: File) -> None:
    text = (root / "typeset" / "manual" / "grades.md").read_text(encoding="utf-8")
    rows = {name: (cost, load) for name, cost, load in re.findall(
        r"^\| [^|]+ \| `(\w+)` \| (\d+)[^|]* \| ([^|]+) \|$", text, re.MULTILINE)}
    assert rows.keys() == TECHNIQUES.keys()
    for name, one in TECHNIQUES.items():
        cost, load = rows[name]
        assert name in SUPPOSING or cost == str(one.cost)
        assert not load.isdigit() or (load == str(one.cases) and not one.many_cases), name
    assert f"more than {MOST_CASES} cases, or {MOST_LINKS} links" in text
    assert all(f"nder {limit:g} " in text for limit, _ in LIMITS)


def test_all_that_a_sum_of_a_few_cells_rules_out_is_struck(
    paths: list[Path], harder: list[Path], counted: Callable[..., tuple[Counter[Cell], int]],
) -> None:
    """By what the step cites, tried digit by digit; but for a step that would then ask a reader for too much."""
    tried = Counter[bool]()
    for size, step, notes in ((path.puzzle.size, *one) for path in (*paths, *harder) for one in noted(path)):
        if step.technique not in FEW_CELLS:
            continue
        signs, total = counted(size, *step.cites.additions)
        lacking, struck = dict(step.cites.eliminated), dict(step.removes)
        cells = [cell for cell, sign in signs.items() if sign]
        apart = [{cells.index(cell) for cell in group.cells if cell in cells}
                 for group in (*step.cites.houses, *step.cites.cages)]
        held = [[digit for digit in range(1, size + 1) if not lacking.get(cell, 0) >> digit - 1 & 1]
                for cell in cells]
        fillings = [filling for filling in product(*held)
                    if sum(signs[cell] * digit for cell, digit in zip(cells, filling, strict=True)) == total
                    and all(len({filling[place] for place in group}) == len(group) for group in apart)]
        can = {cell: {filling[place] for filling in fillings} for place, cell in enumerate(cells)}
        left = {cell: notes[cell] & ~struck.get(cell, 0) for cell in cells}
        tried[all(digit in can[cell] for cell in cells for digit in range(1, size + 1)
                  if left[cell] >> digit - 1 & 1)] += 1
    assert tried[True] > 20 and tried[False] <= tried[True] // 50, tried


def held_by(notes: Mapping[Cell, int], cell: Cell) -> set[int]:
    """The digits that a cell is noted to hold."""
    return {digit for digit in range(1, 17) if notes[cell] >> digit - 1 & 1}


def extremes(path: Path, notes: Mapping[Cell, int], cells: Collection[Cell]) -> tuple[int, int]:
    """The least and greatest sum of cells that differ where they see each other, by OR-Tools CP-SAT."""
    ends = []
    for goal in ("minimize", "maximize"):
        model = cp_model.CpModel()
        digits = {cell: model.new_int_var_from_domain(cp_model.Domain.from_values(sorted(held_by(notes, cell))),
                                                      str(cell)) for cell in cells}
        for group in (*path.puzzle.houses, *path.puzzle.cages):
            model.add_all_different([digits[cell] for cell in group.cells if cell in digits])
        getattr(model, goal)(sum(digits.values()))
        solver = cp_model.CpSolver()
        assert solver.solve(model) == cp_model.OPTIMAL
        ends.append(round(solver.objective_value))
    return ends[0], ends[1]


def test_all_that_a_bound_rules_out_is_struck(
    paths: list[Path], harder: list[Path], counted: Callable[..., tuple[Counter[Cell], int]],
) -> None:
    """The ends of the other cells are those that the notes allow, and nothing beyond them is left."""
    seen = Counter[tuple[str, str]]()
    for path, step, notes in ((one, *told) for one in (*paths, *harder) for told in noted(one)):
        ((target, gone),) = step.removes if len(step.removes) == 1 else ((None, 0),)
        if target is None or step.technique not in ("cage_bounds", "bounds_on_many"):
            continue
        if step.technique == "cage_bounds":
            cage = step.cites.cages[0]
            total, signs = cage.total or 0, Counter(cage.cells)
        else:
            signs, total = counted(path.puzzle.size, *step.cites.additions)
        side = signs.pop(target)
        total *= side
        low, high = extremes(path, notes, [cell for cell, sign in signs.items() if sign == side])
        least, most = extremes(path, notes, [cell for cell, sign in signs.items() if sign == -side])
        left = held_by(notes, target) - set(Digits(gone))
        assert left <= set(range(total - high + least, total - low + most + 1)), step
        filled = [cell for cell in signs if notes[cell].bit_count() == 1]
        if {"least", "most"} <= step.why.keys():
            known = sum(notes[cell].bit_length() for cell in filled)
            assert (step.why["least"], step.why["most"]) == (low - known, high - known), step
        seen[step.technique, step.key.rpartition("+")[2]] += 1
    assert seen["cage_bounds", "less"] and seen["cage_bounds", "more_left"], seen
    assert sum(count for (name, _), count in seen.items() if name == "bounds_on_many") > 5, seen


def test_a_digit_that_no_way_to_make_a_cage_has_is_struck_wherever_it_is(
    paths: list[Path], harder: list[Path],
) -> None:
    """And no other is: what a cage cannot hold is in none of the sets of digits that fit its notes. So where a
    cage's ways are listed for a digit that it needs.
    """
    seen = Counter[str]()
    for path, step, notes in ((one, *told) for one in (*paths, *harder) for told in noted(one)):
        listed = step.technique == "needed_digit" and step.key.endswith("_few") and not step.places
        if step.technique not in ("impossible_digit", "fixed_combination") and not listed:
            continue
        cage = step.cites.cages[0]
        open_ = [cell for cell in cage.cells if notes[cell].bit_count() > 1]
        filled = {notes[cell].bit_length() for cell in cage.cells if cell not in open_}
        ways = [set(way) for way in combinations(set(range(1, path.puzzle.size + 1)) - filled, len(open_))
                if sum(way) + sum(filled) == cage.total and fits(frozenset(way), [notes[cell] for cell in open_])]
        needed = step.why["digits"].mask if listed else 0       # which has room in some cells alone
        struck = {cell: set(Digits(mask & ~needed)) for cell, mask in step.removes
                  if not listed or (cell in cage.cells and mask & ~needed)}
        assert struck == {cell: gone for cell in open_ if (gone := held_by(notes, cell).difference(*ways))}, step
        seen[step.technique] += 1
    assert min(seen["impossible_digit"], seen["fixed_combination"], seen["needed_digit"]) > 20, seen
