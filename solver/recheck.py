"""Whether a completed grid obeys a puzzle, in the plainest way there is. Shares no code with the search."""

from __future__ import annotations

from cagework.solver.model import Answer, Puzzle


def obeys(puzzle: Puzzle, answer: Answer) -> bool:
    """Return whether `answer` breaks nothing that `puzzle` states."""
    if answer.columns != puzzle.columns or len(answer.digits) != puzzle.rows * puzzle.columns:
        return False
    squares = [(row, col) for row in range(1, puzzle.rows + 1) for col in range(1, puzzle.columns + 1)]
    at = dict(zip(squares, answer.digits, strict=True)).__getitem__
    groups = [house.cells for house in puzzle.houses] + [cage.cells for cage in puzzle.cages]
    return (
        all(1 <= at(cell) <= puzzle.size for cell in puzzle.cells)
        and len(answer.digits) - answer.digits.count(0) == len(puzzle.cells)
        and all(len(set(map(at, cells))) == len(cells) for cells in groups)
        and all(cage.total in (None, sum(map(at, cage.cells))) for cage in puzzle.cages)
        and all(at(given.cell) == given.digit for given in puzzle.givens)
        and all(domain.digits >> at(domain.cell) - 1 & 1 for domain in puzzle.domains)
        and all(sum(map(at, one.plus)) - sum(map(at, one.minus)) in one.totals for one in puzzle.sums)
        and all(pair.allowed[at(pair.first) - 1] >> at(pair.second) - 1 & 1 for pair in puzzle.pairs)
    )
