"""CSPLib problem 057 (CC BY 4.0, csplib.org/Problems/prob057) and two puzzles derived from it."""

from __future__ import annotations

import json
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

from cagework.solver.model import Cage, Cell, Puzzle, standard_houses
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
