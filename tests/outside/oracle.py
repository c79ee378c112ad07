"""A second opinion by OR-Tools CP-SAT: the same puzzle stated to an engine that shares nothing with ours.

The extra rules are stated here once more, each in its own words, and never by way of `Rule.facts`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from itertools import pairwise
from types import MappingProxyType

from ortools.sat.python import cp_model

from cagework.solver.model import Answer, Cell, HouseKind, Puzzle
from cagework.solver.rule import Named
from cagework.solver.search.exact import Outcome, Verdict

Variables = dict[tuple[int, int], cp_model.IntVar]

Stated = tuple[tuple[str, Named | None], ...]
"""Rules by name, each with what stands beside it in a manifest."""


class Oracle:
    """One puzzle as a CP-SAT model; `rules` are stated from this file, not from the puzzle's facts."""

    def __init__(self, puzzle: Puzzle, rules: Stated = ()) -> None:
        self.puzzle = puzzle
        self.size = puzzle.size
        self.model = cp_model.CpModel()
        least = 0 if any(name == "from_zero" for name, _ in rules) else 1 if rules else puzzle.least
        span = range(least, least + puzzle.size)
        self.at: Variables = {(r, c): self.model.new_int_var(span[0], span[-1], "") for r, c in puzzle.cells}
        for house in puzzle.houses:
            if not (rules and house.kind is HouseKind.EXTRA):
                self.different(house.cells)
        for cage in puzzle.cages:
            self.different(cage.cells)
            if cage.total is not None:
                self.model.add(sum(self.at[cell] for cell in cage.cells) == cage.total)
        for given in puzzle.givens:
            self.model.add(self.at[given.cell] == given.digit)
        for pair in () if rules else puzzle.pairs:
            allowed = [(x, y) for x in span for y in span if pair.allowed[x - least] >> (y - least) & 1]
            self.model.add_allowed_assignments([self.at[pair.first], self.at[pair.second]], allowed)
        for domain in () if rules else puzzle.domains:
            allowed_alone = [(digit,) for digit in span if domain.digits >> (digit - least) & 1]
            self.model.add_allowed_assignments([self.at[domain.cell]], allowed_alone)
        for one in () if rules else puzzle.sums:
            made = sum(self.at[cell] for cell in one.plus) - sum(self.at[cell] for cell in one.minus)
            self.model.add_linear_expression_in_domain(made, cp_model.Domain.from_values(one.totals))
        for line in () if rules else puzzle.betweens:
            self.between(*line.ends, line.inner)
        for name, named in rules:
            RULE_MODELS[name](self, named)
        self.solver = cp_model.CpSolver()
        self.solver.parameters.num_workers = 1

    def different(self, cells: tuple[Cell, ...]) -> None:
        self.model.add_all_different([self.at[cell] for cell in cells])

    def between(self, first: Cell, last: Cell, inner: Iterable[Cell]) -> None:
        """One Boolean says which end is the less."""
        rises = self.model.new_bool_var("")
        for cell in inner:
            for low, high, when in ((first, last, rises), (last, first, ~rises)):
                self.model.add(self.at[low] + 1 <= self.at[cell]).only_enforce_if(when)
                self.model.add(self.at[cell] + 1 <= self.at[high]).only_enforce_if(when)

    def answer(self) -> Answer | None:
        """Solve once; None where there is no answer (left)."""
        status = self.solver.solve(self.model)
        if status == cp_model.INFEASIBLE:
            return None
        if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            raise TimeoutError(self.solver.status_name(status))
        return self.puzzle.answer([self.solver.value(variable) for variable in self.at.values()])

    def forbid(self, answer: Answer) -> None:
        """Ask for some other answer from now on."""
        self.model.add_forbidden_assignments(list(self.at.values()), [[answer.at(Cell(*at)) for at in self.at]])

    def verdict(self) -> Verdict:
        """None, one or two answers; the model is used up."""
        first = self.answer()
        if first is None:
            return Verdict(Outcome.NO_ANSWER, None, None, 0)
        self.forbid(first)
        second = self.answer()
        return Verdict(Outcome.TWO_ANSWERS if second else Outcome.SOUND, first, second, 0)


def verdict(puzzle: Puzzle, rules: Stated = ()) -> Verdict:
    """What CP-SAT finds; `rules` replace the puzzle's extra houses and pairs by this file's own statements."""
    return Oracle(puzzle, rules).verdict()


def _diagonals(oracle: Oracle, _: Named | None) -> None:
    n = oracle.size
    for line in ([oracle.at[i, i] for i in range(1, n + 1)], [oracle.at[i, n + 1 - i] for i in range(1, n + 1)]):
        oracle.model.add_all_different(line)


def _windows(oracle: Oracle, _: Named | None) -> None:
    for rows in ((2, 3, 4), (6, 7, 8)):
        for columns in ((2, 3, 4), (6, 7, 8)):
            oracle.model.add_all_different([oracle.at[r, c] for r in rows for c in columns])


def _knight(oracle: Oracle, _: Named | None) -> None:
    for (r, c), here in oracle.at.items():
        for (other_r, other_c), there in oracle.at.items():
            if (r, c) < (other_r, other_c) and {abs(r - other_r), abs(c - other_c)} == {1, 2}:
                oracle.model.add(here != there)


def _nonconsecutive(oracle: Oracle, _: Named | None) -> None:
    for (r, c), here in oracle.at.items():
        for beside in ((r + 1, c), (r, c + 1)):
            if beside in oracle.at:
                gap = oracle.model.new_int_var(2, oracle.size, "")
                oracle.model.add_abs_equality(gap, here - oracle.at[beside])


def _king(oracle: Oracle, _: Named | None) -> None:
    for r in range(1, oracle.size):
        for c in range(1, oracle.size):
            oracle.model.add(oracle.at[r, c] != oracle.at[r + 1, c + 1])
            oracle.model.add(oracle.at[r, c + 1] != oracle.at[r + 1, c])


def _halved(rest: int) -> Callable[[Oracle, Named | None], None]:
    """Each digit is twice some number, and `rest` more."""
    def model(oracle: Oracle, named: Named | None) -> None:
        for cell in along(named):
            oracle.model.add(oracle.at[cell] == 2 * oracle.model.new_int_var(0, oracle.size, "") + rest)
    return model


def along(named: Named | None) -> tuple[Cell, ...]:
    """The cells a rule is named on."""
    assert named is not None
    return named.cells


def _rising(oracle: Oracle, named: Named | None) -> None:
    for before, after in pairwise(along(named)):
        oracle.model.add(oracle.at[before] < oracle.at[after])


def _greater(oracle: Oracle, named: Named | None) -> None:
    for before, after in pairwise(along(named)):
        oracle.model.add(oracle.at[before] >= 1 + oracle.at[after])


def _consecutive(oracle: Oracle, named: Named | None) -> None:
    for before, after in pairwise(along(named)):
        oracle.model.add_abs_equality(oracle.model.new_constant(1), oracle.at[before] - oracle.at[after])


def _double(oracle: Oracle, named: Named | None) -> None:
    for before, after in pairwise(along(named)):
        first = oracle.model.new_bool_var("")
        oracle.model.add(oracle.at[before] == 2 * oracle.at[after]).only_enforce_if(first)
        oracle.model.add(oracle.at[after] == 2 * oracle.at[before]).only_enforce_if(~first)


def _greater_cage(oracle: Oracle, named: Named | None) -> None:
    assert named is not None and len(named.areas) > 1
    for one, other in pairwise(named.areas):
        oracle.model.add(sum(oracle.at[cell] for cell in one) > sum(oracle.at[cell] for cell in other))


def _sum_line(oracle: Oracle, named: Named | None) -> None:
    circle, *line = along(named)
    oracle.model.add(oracle.at[circle] == sum(oracle.at[cell] for cell in line))


def _between(oracle: Oracle, named: Named | None) -> None:
    first, *inner, last = along(named)
    oracle.between(first, last, inner)


def _diagonal_sum(oracle: Oracle, named: Named | None) -> None:
    """Cells that lie between the ends are as far from one as they are across."""
    assert named is not None and named.number is not None
    (top, left), (low, right) = named.cells
    between = [variable for (r, c), variable in oracle.at.items()
               if abs(r - top) == abs(c - left) and abs(r - low) == abs(c - right)
               and min(top, low) <= r <= max(top, low) and min(left, right) <= c <= max(left, right)]
    oracle.model.add(sum(between) == named.number)


def _equal_sums(oracle: Oracle, named: Named | None) -> None:
    """One variable is what every part makes; a part begins where the cell before is in another region."""
    assert named is not None
    made = oracle.model.new_int_var(0, oracle.size**2, "")
    start = 0
    for end in range(1, len(named.cells) + 1):
        if end == len(named.cells) or named.areas[end] != named.areas[start]:
            oracle.model.add(made == sum(oracle.at[cell] for cell in named.cells[start:end]))
            start = end


RULE_MODELS: Mapping[str, Callable[[Oracle, Named | None], None]] = MappingProxyType({
    "between": _between, "consecutive": _consecutive, "diagonal_sum": _diagonal_sum, "diagonals": _diagonals,
    "double": _double, "equal_sums": _equal_sums, "even": _halved(0),
    "from_zero": lambda oracle, named: None,      # what the variables range over
    "greater": _greater, "greater_cage": _greater_cage,
    "king": _king, "knight": _knight, "nonconsecutive": _nonconsecutive,
    "odd": _halved(1), "rising": _rising, "sum_line": _sum_line, "windows": _windows,
})
