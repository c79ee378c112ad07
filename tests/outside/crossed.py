"""Crossing sums told to OR-Tools CP-SAT from the map and its sums alone: runs are read off the text here."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from types import MappingProxyType

from ortools.sat.python import cp_model

Map = Sequence[str]
"""Lines of '#' for black and '.' for white squares."""

Spots = list[tuple[int, int]]


def runs_of(lines: Map) -> tuple[list[Spots], list[Spots]]:
    """Runs of two or more across, line by line, and down, column by column."""
    across = [[(row, col) for col in range(*found.span())]
              for row, line in enumerate(lines) for found in re.finditer(r"\.{2,}", line)]
    turned = ["".join(column) for column in zip(*lines, strict=True)]
    down = [[(row, col) for row in range(*found.span())]
            for col, line in enumerate(turned) for found in re.finditer(r"\.{2,}", line)]
    return across, down


def answers(lines: Map, across: Sequence[int], down: Sequence[int], most: int = 2, *,
            given: Mapping[tuple[int, int], int] = MappingProxyType({})) -> list[str]:
    """Up to `most` answers, each its digits row by row with '.' for black squares."""
    model = cp_model.CpModel()
    digit = {(row, col): model.new_int_var(1, 9, "")
             for row, line in enumerate(lines) for col, square in enumerate(line) if square == "."}
    for found, sums in zip(runs_of(lines), (across, down), strict=True):
        for run, total in zip(found, sums, strict=True):
            model.add_all_different([digit[spot] for spot in run])
            model.add(sum(digit[spot] for spot in run) == total)
    for spot, one in given.items():
        model.add(digit[spot] == one)
    return list(_each(model, lines, digit, most))


def _each(
    model: cp_model.CpModel, lines: Map, digit: dict[tuple[int, int], cp_model.IntVar], most: int,
) -> Iterator[str]:
    for _ in range(most):
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = 1
        status = solver.solve(model)
        if status == cp_model.INFEASIBLE:
            return
        assert status in (cp_model.OPTIMAL, cp_model.FEASIBLE), solver.status_name(status)
        values = {spot: solver.value(one) for spot, one in digit.items()}
        yield "".join(str(values.get((row, col), "."))
                      for row, line in enumerate(lines) for col, _ in enumerate(line))
        model.add_forbidden_assignments(list(digit.values()), [list(values.values())])
