"""One puzzle of a file, named on the command line."""

from __future__ import annotations

import sys
from pathlib import Path

from cagework.typeset.commands.common import report
from cagework.typeset.faults import or_else, quoted
from cagework.typeset.manifest.load import Reading
from cagework.typeset.manifest.puzzle import PuzzleReading


def found_in(file: Path, name: str | None, reading: Reading) -> PuzzleReading | None:
    """The puzzle of this id among those of a file, its faults reported where it is not whole; None, which is said,
    for no such id, or none at all.
    """
    ids = [one.id for one in reading.puzzles if one.id]
    puzzle = next((one for one in reading.puzzles if one.id == name), None)
    if puzzle is None:
        report(reading.faults)
        print(f"{file}: there is no puzzle {quoted(name)}" if name else "cagework: name a puzzle by its ID",
              file=sys.stderr)
        print(f"hint: {or_else(name or '', ids) or 'there are no puzzles in it'}", file=sys.stderr)
    elif puzzle.entry is None:
        report(puzzle.faults)
    return puzzle
