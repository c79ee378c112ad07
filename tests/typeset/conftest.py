"""Answers found by an engine outside the project."""

from __future__ import annotations

from collections.abc import Mapping

import pytest
from ortools.sat.python import cp_model

from cagework.solver.model import Answer


@pytest.fixture(scope="session")
def cp_answers(built) -> Mapping[str, Answer]:  # type: ignore[no-untyped-def]
    """Each sample puzzle's answer by OR-Tools CP-SAT, and the proof that there is no other."""
    found = {}
    for entry in built.book.entries:
        size, model = entry.puzzle.size, cp_model.CpModel()
        at = {cell: model.new_int_var(1, size, str(cell)) for cell in entry.puzzle.cells}
        for group in (*entry.puzzle.houses, *entry.puzzle.cages):
            model.add_all_different([at[cell] for cell in group.cells])
        for cage in entry.puzzle.cages:
            if cage.total is not None:
                model.add(sum(at[cell] for cell in cage.cells) == cage.total)
        for given in entry.puzzle.givens:
            model.add(at[given.cell] == given.digit)
        for pair in entry.puzzle.pairs:
            model.add(at[pair.first] != at[pair.second])
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        assert solver.solve(model) == cp_model.OPTIMAL
        digits = tuple(solver.value(at[cell]) for cell in entry.puzzle.cells)
        model.add_forbidden_assignments(list(at.values()), [digits])
        assert solver.solve(model) == cp_model.INFEASIBLE, f"{entry.id} has a second answer"
        found[entry.id] = Answer(size, digits)
    return found
