"""CSPLib problem 057 (CC BY 4.0, csplib.org/Problems/prob057), two puzzles derived from it, and the crossing sums
among the examples of OR-Tools (Apache-2.0, google/or-tools, examples/contrib).
"""

from __future__ import annotations

import json
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from cagework.solver.crossing import crossing_sums
from cagework.solver.model import Cage, Cell, Puzzle, Shape, standard_houses
from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.reason import Reach, explain
from cagework.solver.search.exact import Outcome, solve

PUBLISHED = Path(__file__).parent / "published"


def read(name: str) -> tuple[Puzzle, dict[str, Any]]:
    data = json.loads((PUBLISHED / f"{name}.json").read_text(encoding="utf-8"))
    cages = tuple(Cage(tuple(map(Cell.parse, cage["cells"])), cage["sum"]) for cage in data["cages"])
    return Puzzle(data["size"], standard_houses(data["size"]), cages), data


def test_published_answer() -> None:
    puzzle, data = read("csplib-057")
    verdict = solve(puzzle)
    assert verdict.outcome is Outcome.SOUND
    assert str(verdict.answer) == data["answer"]


@pytest.mark.parametrize(
    ("name", "outcome"),
    [
        ("csplib-057", Outcome.SOUND),
        ("derived-057-merged-many", Outcome.TWO_ANSWERS),
        ("derived-057-balanced-unsat", Outcome.NO_ANSWER),
    ],
)
def test_verdicts(name: str, outcome: Outcome, cpsat: ModuleType, sat: ModuleType) -> None:
    puzzle, _ = read(name)
    assert solve(puzzle).outcome is outcome
    assert cpsat.verdict(puzzle).outcome is outcome
    assert sat.verdict(puzzle).outcome is outcome


def test_merged_has_exactly_the_two_answers_found(cpsat: ModuleType) -> None:
    puzzle, data = read("derived-057-merged-many")
    assert data["solutions_found"] == 2
    verdict = solve(puzzle)
    oracle = cpsat.Oracle(puzzle)
    oracle.forbid(verdict.answer)
    oracle.forbid(verdict.second)
    assert oracle.answer() is None


def test_published_crossing_sums(crossed: ModuleType) -> None:
    """Its printed answer, and no other; found by reasoning too, with each step proved."""
    data = json.loads((PUBLISHED / "or-tools-crossing.json").read_text(encoding="utf-8"))
    lines, sums = data["map"], (data["across"], data["down"])
    white = tuple(
        Cell(row, col) for row, line in enumerate(lines, 1) for col, one in enumerate(line, 1) if one == ".")
    puzzle = crossing_sums(Shape(len(lines), len(lines[0]), white), *sums)
    verdict, path = solve(puzzle), explain(puzzle)
    assert verdict.outcome is Outcome.SOUND and str(verdict.answer) == str(path.answer) == data["answer"]
    assert crossed.answers(lines, *sums) == [data["answer"]]
    assert path.reach is Reach.WHOLE
    assert Prover(puzzle).first_unproved(stage.step for stage in path.stages) is None
