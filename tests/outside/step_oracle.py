"""A second opinion on one step by OR-Tools CP-SAT: nothing stated but what the step cites."""

from __future__ import annotations

from dataclasses import replace

from ortools.sat.python import cp_model

from cagework.solver.model import Cell
from cagework.solver.step import Cites, Step


def follows(size: int, step: Step, cites: Cites | None = None) -> bool:
    """Whether no filling obeys what is cited (by the step itself unless given) and defies the step."""
    cites = step.cites if cites is None else cites
    model = cp_model.CpModel()
    at: dict[Cell, cp_model.IntVar] = {}

    def digit(cell: Cell) -> cp_model.IntVar:
        if cell not in at:
            at[cell] = model.new_int_var(1, size, str(cell))
        return at[cell]

    for house in cites.houses:
        model.add_all_different([digit(cell) for cell in house.cells])
    for cage in cites.cages:
        model.add_all_different([digit(cell) for cell in cage.cells])
        if cage.total is not None:
            model.add(sum(digit(cell) for cell in cage.cells) == cage.total)
    for pair in cites.pairs:
        allowed = [(x + 1, y + 1) for x in range(size) for y in range(size) if pair.allowed[x] >> y & 1]
        model.add_allowed_assignments([digit(pair.first), digit(pair.second)], allowed)
    for one in cites.sums:
        made = sum(digit(cell) for cell in one.plus) - sum(digit(cell) for cell in one.minus)
        model.add_linear_expression_in_domain(made, cp_model.Domain.from_values(one.totals))
    for line in cites.betweens:
        rises = model.new_bool_var("")
        for cell in line.inner:
            for low, high, when in ((*line.ends, rises), (*reversed(line.ends), ~rises)):
                model.add(digit(low) < digit(cell)).only_enforce_if(when)
                model.add(digit(cell) < digit(high)).only_enforce_if(when)
    for cell, mask in cites.eliminated:
        model.add_forbidden_assignments([digit(cell)], [(d + 1,) for d in range(size) if mask >> d & 1])
    defied = []
    for cell, mask in (*step.removes, *((cell, ~(1 << d - 1)) for cell, d in step.places)):
        for value in range(1, size + 1):
            if mask >> value - 1 & 1:
                wrong = model.new_bool_var("")
                model.add(digit(cell) == value).only_enforce_if(wrong)
                defied.append(wrong)
    model.add_bool_or(defied)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    if status not in (cp_model.INFEASIBLE, cp_model.OPTIMAL, cp_model.FEASIBLE):
        raise TimeoutError(solver.status_name(status))
    return status == cp_model.INFEASIBLE


def superfluous(size: int, step: Step) -> list[object]:
    """The things cited that the step could do without, each by itself."""
    cites = step.cites
    trials: list[tuple[object, Cites]] = []
    for house in cites.houses:
        trials.append((house, replace(cites, houses=tuple(h for h in cites.houses if h != house))))
    for cage in cites.cages:
        trials.append((cage, replace(cites, cages=tuple(c for c in cites.cages if c != cage))))
    for pair in cites.pairs:
        trials.append((pair, replace(cites, pairs=tuple(p for p in cites.pairs if p != pair))))
    for one in cites.sums:
        trials.append((one, replace(cites, sums=tuple(s for s in cites.sums if s != one))))
    for line in cites.betweens:
        trials.append((line, replace(cites, betweens=tuple(b for b in cites.betweens if b != line))))
    for cell, _ in cites.eliminated:
        fewer = tuple(item for item in cites.eliminated if item[0] != cell)
        trials.append((cell, replace(cites, eliminated=fewer)))
    return [item for item, trial in trials if follows(size, step, trial)]
