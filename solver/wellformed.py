"""Whether a puzzle put together in code can be one at all, before anything is asked about it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from cagework.solver.combine import sum_range
from cagework.solver.errors import PuzzleError
from cagework.solver.model import SIZES, Cage, Cell, Puzzle


def check_puzzle(puzzle: Puzzle) -> None:
    """Return where every fact of the puzzle is about its own cells and digits, and every cage can be filled.

    Raises PuzzleError with all that is wrong, a line each. Whether the facts go together is for the search to say.
    """
    wrong = tuple(dict.fromkeys(_wrong(puzzle)))
    if wrong:
        raise PuzzleError("\n".join(wrong))


def _wrong(puzzle: Puzzle) -> Iterator[str]:
    if not 1 <= puzzle.size <= SIZES[-1]:
        yield f"digits run to {SIZES[-1]} at most, not to {puzzle.size}"
        return
    cells, least, most = frozenset(puzzle.cells), puzzle.digits[0], puzzle.digits[-1]
    for house in puzzle.houses:
        yield from _stray(house.name, house.cells, cells)
        if len(house.cells) > puzzle.size:
            yield f"{house.name} has {len(house.cells)} cells, but there are only {puzzle.size} digits"
    for cage in puzzle.cages:
        yield from _wrong_cage(puzzle.digits, cage, cells)
    for given in puzzle.givens:
        yield from _stray("a given", (given.cell,), cells)
        if given.digit not in puzzle.digits:
            yield f"the given {given.digit} in {given.cell} is no digit from {least} to {most}"
    yield from _stray("the givens", [given.cell for given in puzzle.givens], cells)
    for pair in puzzle.pairs:
        yield from _stray("a pair", (pair.first, pair.second), cells)
        if len(pair.allowed) != puzzle.size:
            yield f"the pair {pair.first} and {pair.second} says nothing of some digit from {least} to {most}"
    for named in (*(one.cells for one in puzzle.sums), *(one.cells for one in puzzle.betweens),
                  *((one.cell,) for one in puzzle.domains)):
        yield from _stray("a rule", named, cells)


def _stray(what: str, named: Iterable[Cell], cells: frozenset[Cell]) -> Iterator[str]:
    """Cells that are not on the grid, and those named twice."""
    seen: set[Cell] = set()
    for cell in named:
        if cell not in cells:
            yield f"{what}: {cell} is not on the grid"
        elif cell in seen:
            yield f"{what}: {cell} is listed twice"
        seen.add(cell)


def _wrong_cage(digits: range, cage: Cage, cells: frozenset[Cell]) -> Iterator[str]:
    count, size = len(cage.cells), len(digits)
    if not count:
        yield "a cage has no cells"
        return
    name = f"the cage at {cage.first}"
    yield from _stray(name, cage.cells, cells)
    if count > size:
        yield f"{name} has {count} cells, but there are only {size} digits"
    elif cage.total is not None:
        out_of_reach = why_no_total(digits, count, cage.total)
        if out_of_reach:
            yield f"{name} {out_of_reach}"


def why_no_total(digits: range, count: int, total: int) -> str:
    """Why so many different ones of these digits do not make a total, in words; empty where they do.

    Raises PuzzleError where there are no such digits.
    """
    least, most = sum_range(len(digits), count, digits[0])
    if least <= total <= most:
        return ""
    made = "one digit makes" if count == 1 else f"{count} different digits make"
    reach = f"{least} to {most}" if least < most else f"{least} and nothing else"
    return f"cannot add to {total}: {made} {reach}"
