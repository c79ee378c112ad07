"""Whole paths: every step proved, the solver's answer at the end, nothing without a budget's saying so."""

from __future__ import annotations

import dataclasses
import os
import pickle
import random
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from itertools import count
from typing import Any

import pytest

from cagework.solver.editing.compose import Composed, Recipe, compose
from cagework.solver.model import Cage, Cell, Given, Puzzle, standard_houses
from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.grade import Grade, rate
from cagework.solver.reasoning.reason import Kept, Path, PathOutcome, Reach, explain
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.search.exact import solve
from cagework.solver.step import Step

TOLD = """
import dataclasses, pickle, sys
from cagework.solver.reasoning.reason import explain
print(dataclasses.asdict(explain(pickle.load(sys.stdin.buffer))))
"""


@pytest.fixture(scope="module")
def paths(corpus: list[Composed], corpus_paths: list[Path]) -> list[tuple[Composed, Path]]:
    """The corpus, with how each is reasoned through."""
    return list(zip(corpus, corpus_paths, strict=True))


def test_every_step_is_proved(paths: list[tuple[Composed, Path]]) -> None:
    for made, path in paths:
        assert Prover(made.puzzle).first_unproved(stage.step for stage in path.stages) is None


def test_a_sum_that_strikes_more_than_it_was_found_for_says_what_its_total_rests_on(
    position: Callable[..., Any],
) -> None:
    """Of a puzzle in which two filled cells had been needed for no more than one of their digits."""
    puzzle = position([
        "20: r1c1 r1c2 r2c2", "10: r1c3 r1c4", "7: r1c5 r1c6", "17: r1c7 r1c8 r1c9", "6: r2c1 r3c1",
        "10: r2c3 r2c4 r3c4", "16: r2c5 r3c5 r4c4 r4c5", "21: r2c6 r2c7 r3c6", "18: r2c8 r2c9 r3c8 r3c9",
        "23: r3c2 r3c3 r4c2 r4c3", "25: r3c7 r4c6 r4c7 r4c8", "9: r4c1 r5c1", "14: r4c9 r5c8 r5c9 r6c8",
        "29: r5c2 r6c1 r6c2 r6c3 r6c4", "24: r5c3 r5c4 r5c5 r5c6 r5c7", "14: r6c5 r7c5",
        "23: r6c6 r6c7 r7c6 r7c7 r8c7", "7: r6c9 r7c9", "16: r7c1 r8c1 r8c2", "20: r7c2 r7c3 r7c4 r8c3",
        "13: r7c8 r8c8", "15: r8c4 r8c5 r9c5", "10: r8c6 r9c6 r9c7", "14: r8c9 r9c8 r9c9", "12: r9c1 r9c2",
        "12: r9c3 r9c4",
    ]).puzzle
    path = explain(puzzle)
    assert path.outcome is PathOutcome.SOLVED
    assert Prover(puzzle).first_unproved(stage.step for stage in path.stages) is None


def test_what_is_solved_is_the_answer(paths: list[tuple[Composed, Path]]) -> None:
    solved = [(made, path) for made, path in paths if path.outcome is PathOutcome.SOLVED]
    assert len(solved) >= 0.9 * len(paths)
    for made, path in solved:
        placed = {cell: digit for stage in path.stages for cell, digit in stage.step.places}
        assert all(made.answer.at(cell) == digit for cell, digit in placed.items())
        assert len(placed) == made.puzzle.size**2
        assert path.answer == made.answer == solve(made.puzzle).answer


def test_no_step_strikes_the_answer_even_where_the_path_ends_early(paths: list[tuple[Composed, Path]]) -> None:
    for made, path in paths:
        for stage in path.stages:
            assert all(not mask >> made.answer.at(cell) - 1 & 1 for cell, mask in stage.step.removes)


def test_each_step_strikes_only_what_its_cells_could_still_hold(paths: list[tuple[Composed, Path]]) -> None:
    """What an earlier step has struck is not struck again on the page."""
    for made, path in paths:
        board, at = Prover(made.puzzle).board(), {cell: n for n, cell in enumerate(made.puzzle.cells)}
        for stage in path.stages:
            assert all(mask and not mask & ~board.candidates[at[cell]] for cell, mask in stage.step.removes)
            board.apply(stage.step)


def test_the_last_cell_of_a_house_or_cage_is_the_last(paths: list[tuple[Composed, Path]]) -> None:
    for made, path in paths:
        filled = {given.cell for given in made.puzzle.givens}
        for step in (stage.step for stage in path.stages):
            if step.technique in ("last_in_house", "last_in_cage"):
                (group,) = (*step.cites.houses, *step.cites.cages)
                assert set(group.cells) - filled == {cell for cell, _ in step.places}
            filled |= {cell for cell, _ in step.places}


def test_cpsat_agrees_and_little_is_superfluous(
    paths: list[tuple[Composed, Path]], step_oracle: Any, record_property: Callable[[str, object], None]
) -> None:
    """Bogaerts, Gamba, Claes, Guns (ECAI 2020): sufficient always; non-redundant is a percentage."""
    rng = random.Random(57)
    judged = superfluous = 0
    for made, path in paths:
        for stage in rng.sample(path.stages, 3):
            assert step_oracle.follows(made.puzzle.size, stage.step), stage.step
            judged += 1
            superfluous += bool(step_oracle.superfluous(made.puzzle.size, stage.step))
    percent = 100 * (judged - superfluous) / judged
    record_property("percent of steps that cite nothing superfluous", percent)
    assert percent >= 90


def test_each_sentence_has_all_its_values(
    paths: list[tuple[Composed, Path]], unfilled: Callable[[str, Step], set[str]],
) -> None:
    used = Counter(stage.step.technique for _, path in paths for stage in path.stages)
    assert len(used) > 20
    for _, path in paths:
        for stage in path.stages:
            for step in (stage.step, *stage.step.parts):
                technique = TECHNIQUES[step.technique]
                for text in (*technique.templates(step.key), technique.clauses.get(step.key, "")):
                    assert not unfilled(text, step)


def test_the_cheapest_comes_first_and_openings_count(paths: list[tuple[Composed, Path]]) -> None:
    """A step costs no more than any that the same position offered: no cheaper technique finds anything."""
    for _, path in paths[::6]:
        assert all(stage.openings >= 1 for stage in path.stages)
        assert path.tried >= len(path.stages)
    assert any(stage.openings > 5 for _, path in paths for stage in path.stages)


def test_the_four_grades_occur(paths: list[tuple[Composed, Path]]) -> None:
    grades = Counter(rate(path).grade for _, path in paths)
    hard = [explain(compose(seed, Recipe()).puzzle, what_ifs=2) for seed in (2, 13)]
    grades.update(rate(path).grade for path in hard)
    assert set(grades) == set(Grade)


def test_a_rating_adds_up(paths: list[tuple[Composed, Path]]) -> None:
    for made, path in paths[::9]:
        rating = rate(path)
        assert rating.hardest == max(stage.step.cost for stage in path.stages)
        assert rating.total == sum(stage.step.cost for stage in path.stages)
        assert rating.effort <= rating.total / made.puzzle.size**2
        assert rating.score == pytest.approx(rating.hardest + rating.effort)


def test_the_same_puzzle_has_the_same_path(corpus: list[Composed]) -> None:
    puzzle = corpus[-1].puzzle
    assert explain(puzzle) == explain(puzzle)


def test_budgets_are_told(corpus: list[Composed]) -> None:
    puzzle = corpus[-1].puzzle
    assert explain(puzzle, seconds=0).outcome is PathOutcome.OUT_OF_BUDGET
    assert explain(puzzle, seconds=0.02).outcome is PathOutcome.OUT_OF_BUDGET
    bare = Puzzle(4, standard_houses(4), ())
    assert explain(bare, what_ifs=0).outcome is PathOutcome.OUT_OF_BUDGET
    assert rate(explain(bare, what_ifs=0)).grade is Grade.SUMMIT


def test_a_busy_machine_finds_the_same_path(corpus: list[Composed], monkeypatch: pytest.MonkeyPatch) -> None:
    """What a path may cost is counted: a clock that leaps an hour at every look changes nothing."""
    puzzle = corpus[-1].puzzle
    calm = explain(puzzle, seconds=60)
    hours = count(step=3600)
    for clock in ("perf_counter", "monotonic", "process_time", "time"):
        monkeypatch.setattr(time, clock, lambda: float(next(hours)))
    assert explain(puzzle, seconds=60) == calm
    assert calm.outcome is PathOutcome.SOLVED


def test_another_hash_seed_beside_busy_processes_finds_the_same_path(corpus: list[Composed]) -> None:
    """Byte for byte, in processes of their own; the busy ones take all cores while the second runs."""
    puzzle = corpus[-1].puzzle

    def told(hash_seed: str) -> str:
        return subprocess.run(
            [sys.executable, "-c", TOLD], input=pickle.dumps(puzzle),
            env={**os.environ, "PYTHONHASHSEED": hash_seed}, capture_output=True, check=True,
        ).stdout.decode().strip()

    calm = told("1")
    busy = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(4)]
    try:
        beside = told("2")
    finally:
        for one in busy:
            one.kill()
            one.wait()
    assert calm == beside == str(dataclasses.asdict(explain(puzzle)))


def test_the_chosen_path_asks_less_than_the_one_walked(corpus: list[Composed]) -> None:
    """By a fifth of its load and of its ideas, over a third of the corpus."""
    walked, chosen = Counter[str](), Counter[str]()
    for made in corpus[::3]:
        for path, sums in ((explain(made.puzzle, kept=Kept.WALKED), walked), (explain(made.puzzle), chosen)):
            sums["load"] += sum(stage.step.load for stage in path.stages)
            sums["ideas"] += path.stages[-1].idea + 1
    assert all(chosen[what] < 0.8 * walked[what] for what in ("load", "ideas"))


def test_two_answers_leave_it_stuck() -> None:
    path = explain(Puzzle(4, standard_houses(4), ()))
    assert (path.outcome, path.answer, path.stages) == (PathOutcome.STUCK, None, ())


def test_it_is_told_how_far_a_path_goes(paths: list[tuple[Composed, Path]]) -> None:
    for _, path in paths:
        tries = any(stage.step.technique == "trial" for stage in path.stages)
        assert path.reach is (Reach.TRIAL if tries else Reach.WHOLE)
    few = {name: TECHNIQUES[name] for name in ("naked_single", "fixed_combination", "trial")}
    path = explain(compose(3, Recipe(size=4)).puzzle, techniques=few)
    assert path.reach is Reach.TRIAL
    assert Prover(path.puzzle).first_unproved(stage.step for stage in path.stages) is None
    bare = Puzzle(4, standard_houses(4), ())
    assert explain(bare).reach is Reach.STUCK
    assert explain(bare, what_ifs=0).reach is Reach.OUT_OF_BUDGET
    clash = replace(bare, givens=(Given(Cell(1, 1), 1), Given(Cell(1, 2), 1)))
    assert explain(clash).reach is None


def test_a_contradiction_is_not_solved(corpus: list[Composed]) -> None:
    puzzle = corpus[0].puzzle
    cage = puzzle.cages[0]
    assert cage.total is not None
    for change in (1, -1):
        wrong = replace(puzzle, cages=(Cage(cage.cells, cage.total + change), *puzzle.cages[1:]))
        path = explain(wrong)
        assert path.outcome in (PathOutcome.NO_ANSWER, PathOutcome.STUCK)
        assert path.answer is None


def test_givens_uncaged_cells_and_cages_without_totals(corpus: list[Composed]) -> None:
    made = next(made for made in corpus if made.puzzle.size == 9)
    some = made.puzzle.cages
    cages = (*(Cage(cage.cells, None) for cage in some[:3]), *some[6:])
    givens = tuple(Given(cell, made.answer.at(cell)) for cage in some[:6] for cell in cage.cells)
    puzzle = replace(made.puzzle, cages=cages, givens=givens)
    path = explain(puzzle)
    assert path.answer == made.answer
    assert Prover(puzzle).first_unproved(stage.step for stage in path.stages) is None


@pytest.mark.parametrize("size", [8, 10, 12, 16])
def test_other_sizes(size: int) -> None:
    made = compose(1, Recipe(size=size, sizes={2: 6.0, 3: 3.0}, dominoes=1.0))
    path = explain(made.puzzle, what_ifs=0)
    assert Prover(made.puzzle).first_unproved(stage.step for stage in path.stages) is None
    assert path.answer in (None, made.answer)
    assert len(path.stages) > 10
