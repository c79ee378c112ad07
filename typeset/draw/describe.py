"""A grid in words, for those who cannot see the drawing."""

from __future__ import annotations

from cagework.solver.model import Answer
from cagework.typeset.book import Entry


def describe(entry: Entry, answer: Answer | None = None) -> str:
    """A puzzle in words, or its answer where one is given."""
    puzzle = entry.puzzle
    size = f"{puzzle.size} by {puzzle.size} grid"
    if answer is not None:
        rows = (answer.digits[start:start + puzzle.size] for start in range(0, len(answer.digits), puzzle.size))
        return f"{size}, completed. " + " ".join(
            f"Row {number}: {' '.join(map(str, row))}." for number, row in enumerate(rows, 1)
        )
    cages = "; ".join(
        f"{'no sum' if cage.total is None else cage.total} in {' '.join(map(str, cage.cells))}"
        for cage in puzzle.cages
    )
    givens = "; ".join(f"{given.digit} in {given.cell}" for given in puzzle.givens)
    rules = " ".join(rule.sentence.format(size=puzzle.size) for rule in entry.rules)
    return " ".join(part for part in (
        f"{size}.", f"Cages: {cages}." if cages else "", f"Givens: {givens}." if givens else "", rules,
    ) if part)
