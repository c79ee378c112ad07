"""A third opinion by python-sat: one Boolean per cell and digit, cage combinations as clauses.

Nothing here comes from the solver's own tables: the combinations are those of `itertools`.
"""

from __future__ import annotations

from itertools import combinations, product

from pysat.solvers import Cadical153

from cagework.solver.model import Answer, Cell, Puzzle, Sum
from cagework.solver.search.exact import Outcome, Verdict


class Encoding:
    """A puzzle as clauses, in a solver of its own; use as a context."""

    def __init__(self, puzzle: Puzzle) -> None:
        self.puzzle = puzzle
        self.size = puzzle.size
        self.number = {cell: number for number, cell in enumerate(puzzle.cells)}
        self.solver = Cadical153()
        self.last = len(puzzle.cells) * puzzle.size
        digits, least = puzzle.digits, puzzle.least
        for cell in puzzle.cells:
            self.solver.add_clause([self.literal(cell, digit) for digit in digits])
            for low, high in combinations(digits, 2):
                self.solver.add_clause([-self.literal(cell, low), -self.literal(cell, high)])
        groups = {frozenset(house.cells) for house in puzzle.houses} | {frozenset(c.cells) for c in puzzle.cages}
        for one, two in sorted({pair for group in groups for pair in combinations(sorted(group), 2)}):
            for digit in digits:
                self.solver.add_clause([-self.literal(one, digit), -self.literal(two, digit)])
        for cage in puzzle.cages:
            if cage.total is not None:
                self._total(cage.cells, cage.total)
        for given in puzzle.givens:
            self.solver.add_clause([self.literal(given.cell, given.digit)])
        for pair in puzzle.pairs:
            for x in digits:
                for y in digits:
                    if not pair.allowed[x - least] >> (y - least) & 1:
                        self.solver.add_clause([-self.literal(pair.first, x), -self.literal(pair.second, y)])
        for domain in puzzle.domains:
            for digit in digits:
                if not domain.digits >> (digit - least) & 1:
                    self.solver.add_clause([-self.literal(domain.cell, digit)])
        for one in puzzle.sums:
            self._counted(one)
        for line in puzzle.betweens:
            for cell in line.inner:
                self._not_between(*line.ends, cell)

    def __enter__(self) -> Encoding:
        return self

    def __exit__(self, *_: object) -> None:
        self.solver.delete()

    def literal(self, cell: Cell, digit: int) -> int:
        return self.number[cell] * self.size + 1 + digit - self.puzzle.least

    def _total(self, cells: tuple[Cell, ...], total: int) -> None:
        """One selector per combination; a chosen one bars all other digits from the cage."""
        selectors = []
        for combination in combinations(self.puzzle.digits, len(cells)):
            if sum(combination) == total:
                self.last += 1
                selectors.append(self.last)
                for digit in set(self.puzzle.digits) - set(combination):
                    for cell in cells:
                        self.solver.add_clause([-self.last, -self.literal(cell, digit)])
        self.solver.add_clause(selectors)

    def _not_between(self, first: Cell, last: Cell, cell: Cell) -> None:
        """A clause for each three digits of which the last does not lie between the others."""
        for x, y, z in product(self.puzzle.digits, repeat=3):
            if not (x < z < y or y < z < x):
                self.solver.add_clause([-self.literal(*one) for one in ((first, x), (last, y), (cell, z))])

    def _counted(self, one: Sum) -> None:
        """A literal for each number that the first cells can make; each is where a digit more leads."""
        made = {0: 0}      # nothing yet makes 0
        signed = [(cell, 1) for cell in one.plus] + [(cell, -1) for cell in one.minus]
        for cell, sign in signed:
            further: dict[int, int] = {}
            for number, literal in made.items():
                for digit in self.puzzle.digits:
                    after = number + sign * digit
                    if after not in further:
                        self.last += 1
                        further[after] = self.last
                    known = [-literal] if literal else []
                    self.solver.add_clause([*known, -self.literal(cell, digit), further[after]])
            made = further
        for number, literal in made.items():
            if number not in one.totals:
                self.solver.add_clause([-literal])

    def answer(self) -> Answer | None:
        if not self.solver.solve():
            return None
        true = [literal for literal in self.solver.get_model() if 0 < literal <= len(self.number) * self.size]
        return self.puzzle.answer([(literal - 1) % self.size + self.puzzle.least for literal in true])

    def accepts(self, answer: Answer) -> bool:
        """Whether this grid is an answer."""
        return bool(self.solver.solve([self.literal(cell, answer.at(cell)) for cell in self.puzzle.cells]))

    def forbid(self, answer: Answer) -> None:
        self.solver.add_clause([-self.literal(cell, answer.at(cell)) for cell in self.puzzle.cells])


def verdict(puzzle: Puzzle) -> Verdict:
    """None, one or two answers."""
    with Encoding(puzzle) as encoding:
        first = encoding.answer()
        if first is None:
            return Verdict(Outcome.NO_ANSWER, None, None, 0)
        encoding.forbid(first)
        second = encoding.answer()
        return Verdict(Outcome.TWO_ANSWERS if second else Outcome.SOUND, first, second, 0)


def accepts(puzzle: Puzzle, answer: Answer) -> bool:
    """Whether the grid is an answer of the puzzle."""
    with Encoding(puzzle) as encoding:
        return encoding.accepts(answer)
