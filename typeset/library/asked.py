"""A puzzle as a caller hands it over, looked through before anything is asked about it."""

from __future__ import annotations

from collections.abc import Sequence

from cagework.solver.errors import PuzzleError
from cagework.solver.model import Puzzle
from cagework.solver.wellformed import check_puzzle
from cagework.typeset.entry import NOWHERE, Entry
from cagework.typeset.faults import ChoiceError, or_else, quoted


def entry_of(puzzle: Entry | Puzzle) -> Entry:
    """The puzzle with its id and rules; a bare one has no rules to name, and the id `puzzle`.

    Raises PuzzleError where it is none, or cannot be one at all.
    """
    if not isinstance(puzzle, Entry | Puzzle):
        raise PuzzleError(f"{quoted(str(puzzle))} is no puzzle; read_puzzles and make_puzzle give puzzles")
    entry = puzzle if isinstance(puzzle, Entry) else Entry(
        "puzzle", None, None, None, None, puzzle, (), NOWHERE)
    check_puzzle(entry.puzzle)
    return entry


def chosen(name: str, choices: Sequence[str], what: str) -> str:
    """The name. Raises ChoiceError, with what there is, where it is none of the choices."""
    if name not in choices:
        raise ChoiceError(f"there is no {what} {quoted(str(name))}; {or_else(str(name), choices)}")
    return name
