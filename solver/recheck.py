"""Whether a completed grid obeys a puzzle, in the plainest way there is. Shares no code with the search."""

from __future__ import annotations

from cagework.solver.model import BLACK, Answer, Puzzle


def obeys(puzzle: Puzzle, answer: Answer) -> bool:
    """Return whether `answer` breaks nothing that `puzzle` states."""
    if answer.columns != puzzle.columns or len(answer.digits) != puzzle.rows * puzzle.columns:
        return False
    squares = puzzle.cells if puzzle.shape is None else [
        (row, col) for row in range(1, puzzle.rows + 1) for col in range(1, puzzle.columns + 1)]
    at = dict(zip(squares, answer.digits, strict=True)).__getitem__
    held = set(map(at, puzzle.cells))
    if not held <= set(puzzle.digits):
        return False
    if len(answer.digits) - answer.digits.count(BLACK) != len(puzzle.cells):
        return False
    least = puzzle.least
    for house in puzzle.houses:
        if len(set(map(at, house.cells))) != len(house.cells):
            return False
    for cage in puzzle.cages:
        digits = tuple(map(at, cage.cells))
        if len(set(digits)) != len(digits) or cage.total not in (None, sum(digits)):
            return False
    for given in puzzle.givens:
        if at(given.cell) != given.digit:
            return False
    return (
        all(domain.digits >> at(domain.cell) - least & 1 for domain in puzzle.domains)
        and all(sum(map(at, one.plus)) - sum(map(at, one.minus)) in one.totals for one in puzzle.sums)
        and all(min(map(at, one.ends)) < at(cell) < max(map(at, one.ends))
                for one in puzzle.betweens for cell in one.inner)
        and all(pair.allowed[at(pair.first) - least] >> at(pair.second) - least & 1 for pair in puzzle.pairs)
    )
