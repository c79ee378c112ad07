"""Step -> proved or not, from what the step cites and nothing else.

Shares no code with the techniques: it enumerates. Every cell starts with all digits but those the step
says are missing (and the board must agree that they are); only the cited facts hold;
then no filling may exist in which the step is wrong. For the 45 rule, where cited houses would leave too
many cells to enumerate, one fact of arithmetic helps: a house of `size` cells adds to size (size + 1) / 2,
so the cited houses less the cited cages, and with the cited sums, give an exact sum over the few cells that do not
cancel out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from itertools import pairwise, product

from cagework.solver.model import Answer, Between, Cage, Cell, House, Pair, Puzzle, Sum, counted, numbered
from cagework.solver.proving.exhaustive_search import ExhaustiveSearch
from cagework.solver.proving.signed_sum import SignedSum
from cagework.solver.step import Cites, Eliminated, Step


def _facts(cites: Cites) -> tuple[House | Cage | Pair | Sum | Between, ...]:
    """All facts cited."""
    return (*cites.houses, *cites.cages, *cites.ruled)


class Board:
    """Candidates of a puzzle as steps are applied, kept apart from the reasoner's own."""

    def __init__(self, puzzle: Puzzle, groups: Iterable[Sequence[Cell]], cites: Cites | None = None) -> None:
        """All digits open, but for what `cites` says is missing."""
        self._number = numbered(puzzle.cells)
        self.candidates = [(1 << puzzle.size) - 1] * len(puzzle.cells)
        self.mates: list[set[int]] = [set() for _ in self.candidates]
        for group in groups:
            numbers = [self.at(cell) for cell in group]
            for number in numbers:
                self.mates[number].update(numbers)
        for cell, mask in cites.eliminated if cites else ():
            self.candidates[self.at(cell)] &= ~mask

    def at(self, cell: Cell) -> int:
        """The cell's number in the puzzle's order."""
        return self._number[cell]

    def place(self, cell: Cell, digit: int) -> None:
        """Put a digit in and eliminate it from all that see it."""
        here = self.at(cell)
        bit = 1 << digit - 1
        for mate in self.mates[here]:
            self.candidates[mate] &= ~bit
        self.candidates[here] = bit

    def apply(self, step: Step) -> None:
        """Do what a step says."""
        for cell, mask in step.removes:
            self.candidates[self.at(cell)] &= ~mask
        for cell, digit in step.places:
            self.place(cell, digit)


class Prover:
    """Proves steps of one puzzle."""

    def __init__(self, puzzle: Puzzle, answer: Answer | None = None) -> None:
        """`answer` is the puzzle's only one, where that is known: what a trial finds is held against it."""
        least = puzzle.least
        self.puzzle = puzzle = counted(puzzle)
        self.answer = answer and {cell: answer.at(cell) + 1 - least for cell in puzzle.cells}
        self.size = puzzle.size
        self.number = numbered(puzzle.cells)
        self.full = (1 << puzzle.size) - 1
        self.facts = (*puzzle.houses, *puzzle.cages, *puzzle.pairs, *puzzle.sums, *puzzle.betweens)
        self.known = set(map(id, self.facts))
        self.differ = tuple(self.full & ~(1 << digit) for digit in range(self.size))

    def board(self) -> Board:
        """The printed puzzle: givens in, cells without what they may not hold, nothing else known."""
        board = Board(self.puzzle, self._groups(Cites(houses=self.puzzle.houses, cages=self.puzzle.cages,
                                                      pairs=self.puzzle.pairs)))
        for domain in self.puzzle.domains:
            board.candidates[board.at(domain.cell)] &= domain.digits
        for given in self.puzzle.givens:
            board.place(given.cell, given.digit)
        return board

    def first_unproved(self, steps: Iterable[Step]) -> Step | None:
        """Replay a path from the printed puzzle; return the first step that is not proved where it stands.

        A step that places in a cell what is no longer a candidate there counts as unproved.
        """
        board = self.board()
        for step in steps:
            if not self.prove(board.candidates, step):
                return step
            board.apply(step)
        return None

    def prove(self, candidates: Sequence[int], step: Step) -> bool:
        """Whether `step` follows from what it cites, and what it cites holds on a board with these candidates.

        `candidates` are masks in the order of the puzzle's cells, before the step.
        """
        cites = step.cites
        facts = _facts(cites)
        stated = self.known.issuperset(map(id, facts)) or all(fact in self.facts for fact in facts)
        if not (stated and self._summed(cites) and self._missing(candidates, cites)):
            return False
        if step.parts:
            return self._branches(step) if step.parts[0].supposes else self._supposition(step)
        if step.is_trial and self.answer:
            return all(self.answer[cell] == digit for cell, digit in step.places) and not step.removes
        claims = [(cell, self.full & ~(1 << digit - 1)) for cell, digit in step.places]
        if any(not candidates[self.number[cell]] >> digit - 1 & 1 for cell, digit in step.places):
            return False
        claims += step.removes
        return bool(claims) and self._barred(cites, claims)

    def _supposition(self, step: Step) -> bool:
        """Follow a what-if on a board that knows only what it cites, to a part that is impossible."""
        *parts, end = step.parts
        if step.places or len(step.removes) != 1 or end.places or end.removes:
            return False
        ((cell, mask),) = step.removes
        if mask.bit_count() != 1:
            return False
        facts = _facts(step.cites)
        board = Board(self.puzzle, self._groups(step.cites), step.cites)
        board.place(cell, mask.bit_length())
        for part in step.parts:
            if part.parts or not all(fact in facts for fact in _facts(part.cites)):
                return False
        for part in parts:
            if not self.prove(board.candidates, part):
                return False
            board.apply(part)
        return (self._summed(end.cites) and self._missing(board.candidates, end.cites)
                and self._barred(end.cites, [(None, 0)]))

    def _branches(self, step: Step) -> bool:
        """Follow each branch on a board that knows only what the step cites, to what it concludes. What one of
        them supposes must be so.
        """
        facts, groups = _facts(step.cites), self._groups(step.cites)
        begins = [number for number, part in enumerate(step.parts) if part.supposes]
        for first, last in pairwise((*begins, len(step.parts))):
            board = Board(self.puzzle, groups, step.cites)
            board.apply(step.parts[first])
            for part in step.parts[first + 1:last]:
                known = not part.parts and all(fact in facts for fact in _facts(part.cites))
                if not (known and self.prove(board.candidates, part)):
                    return False
                board.apply(part)
            if any(board.candidates[self.number[name]] & mask for name, mask in step.removes):
                return False
        return bool(step.removes) and not step.places and self._one_is_so(
            step.cites, [step.parts[first] for first in begins])

    def _one_is_so(self, cites: Cites, supposed: Sequence[Step]) -> bool:
        """Whether one of these suppositions is so by what cells lack, or with that by one cited house or cage: no
        filling of that goes against each of them somewhere.
        """
        against = [[(cell, self.full & ~(1 << digit - 1)) for cell, digit in step.places] + list(step.removes)
                   for step in supposed]
        cells = {cell for pairs in against for cell, _ in pairs}
        grounds = [Cites(houses=(house,)) for house in cites.houses if cells.issubset(house.cells)]
        grounds += [Cites(cages=(cage,)) for cage in cites.cages if cells.issubset(cage.cells)]
        return any(self._bars_all(ground, cites.eliminated, against) for ground in (Cites(), *grounds))

    def _bars_all(self, ground: Cites, known: Eliminated, against: Sequence[Sequence[tuple[Cell, int]]]) -> bool:
        """Whether no filling of a ground has all that are chosen, whichever one is chosen of each of these."""
        for chosen in product(*against):
            cells = {cell for group in self._groups(ground) for cell in group}.union(cell for cell, _ in chosen)
            missing = [pair for pair in known if pair[0] in cells]
            missing += [(cell, self.full & ~mask) for cell, mask in chosen]
            if not ExhaustiveSearch(self.size, replace(ground, eliminated=tuple(missing))).bars(None, 0):
                return False
        return True

    def _groups(self, cites: Cites) -> list[Sequence[Cell]]:
        """The sets of cells in which no digit repeats."""
        groups: list[Sequence[Cell]] = [house.cells for house in cites.houses]
        groups += [cage.cells for cage in cites.cages]
        return groups + [(pair.first, pair.second) for pair in cites.pairs if pair.allowed == self.differ]

    def _summed(self, cites: Cites) -> bool:
        """Whether what is added up or taken away is cited, and has a sum."""
        return all(
            one in cites.houses and len(one.cells) == self.size if isinstance(one, House)
            else one in cites.cages and one.total is not None if isinstance(one, Cage)
            else one in cites.sums and len(one.totals) == 1
            for one in cites.reckoned)

    def _missing(self, candidates: Sequence[int], cites: Cites) -> bool:
        number = self.number
        return not any(candidates[number[cell]] & mask for cell, mask in cites.eliminated)

    def _barred(self, cites: Cites, claims: Iterable[tuple[Cell | None, int]]) -> bool:
        """Whether the cited facts have no filling in which a cell holds a digit of its mask, for all of these."""
        search = None
        for cell, mask in claims:
            if cites.added and SignedSum(self.size, cites, cell).bars(cell, mask):
                continue
            search = search or ExhaustiveSearch(self.size, cites)
            if not search.bars(cell, mask):
                return False
        return True
