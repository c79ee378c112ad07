"""The answer that a setter meant, held against the one that was proved, or against what the puzzle states."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from cagework.solver.crossing import way_of
from cagework.solver.model import Answer, Cage, Cell, Puzzle
from cagework.solver.search.exact import Outcome, Verdict
from cagework.typeset.faults import Fault, counted
from cagework.typeset.manifest.puzzle import PuzzleReading


def setters_faults(reading: PuzzleReading, verdict: Verdict) -> Iterator[Fault]:
    """One fault at most: where the setter's answer first goes wrong, and in how many places it does."""
    if reading.entry is None or not reading.setters:
        return
    meant = {given.cell: given.digit for given, _ in reading.setters}
    if verdict.outcome is Outcome.SOUND and verdict.answer is not None:
        only = verdict.answer
        slips = [(cell, f"the setter's answer has {digit} in {cell}; the only answer has {only.at(cell)}")
                 for cell, digit in meant.items() if digit != only.at(cell)]
    else:
        slips = list(slips_in(reading.entry.puzzle, meant))
    if slips:
        cell, message = slips[0]
        more = f" (and {counted(len(slips) - 1, 'more slip')})" if len(slips) > 1 else ""
        place = next(place for given, place in reading.setters if given.cell == cell)
        yield Fault(place, message + more, "mend the answer or the puzzle")


def meant_answer(reading: PuzzleReading) -> Answer | None:
    """The answer that a puzzle says it has; None where it says none, or not in every cell."""
    meant = {given.cell: given.digit for given, _ in reading.setters}
    puzzle = reading.entry.puzzle if reading.entry else None
    if puzzle is None or meant.keys() != set(puzzle.cells):
        return None
    return puzzle.answer([meant[cell] for cell in puzzle.cells])


def slips_in(puzzle: Puzzle, meant: Mapping[Cell, int]) -> Iterator[tuple[Cell, str]]:
    """What digits, of some cells or all, contradict of what a puzzle prints: each with the cell where it shows."""
    for given in puzzle.givens:
        if meant.get(given.cell, given.digit) != given.digit:
            yield given.cell, (f"the setter's answer has {meant[given.cell]} in {given.cell}, "
                               f"where {given.digit} is given")
    groups = [(house.name, house.cells) for house in puzzle.houses]
    groups += [(_named(puzzle, cage), cage.cells) for cage in puzzle.cages]
    for name, cells in groups:
        seen: dict[int, Cell] = {}
        for cell in cells:
            digit = meant.get(cell)
            if digit is not None and seen.setdefault(digit, cell) != cell:
                yield cell, f"the setter's answer has {digit} twice in {name}, in {seen[digit]} and {cell}"
    for cage in puzzle.cages:
        held = [meant[cell] for cell in cage.cells if cell in meant]
        if cage.total is not None and len(held) == len(cage.cells) and sum(held) != cage.total:
            name = _named(puzzle, cage, f" of {cage.total}")
            yield cage.first, f"the setter's answer makes {sum(held)} of {name}"


def _named(puzzle: Puzzle, cage: Cage, of: str = "") -> str:
    if puzzle.shape is None:
        return f"the cage{of} at {cage.first}"
    return f"the run{of} {way_of(cage.cells)} at {cage.first}"
