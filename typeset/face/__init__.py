"""cagework as a library: cage-sum puzzles read or made, solved, explained, graded, drawn, and printed as a book.

    import cagework

    puzzle = cagework.make_puzzle(4, {"r1c1 r1c2": 7, "r1c3 r2c3": 4, "r1c4 r2c4 r3c4": 8})
    verdict = cagework.solve(puzzle)

What is named here is public: it changes only with a line in CHANGELOG.md. All else, in `cagework.solver`,
`cagework.layouts` and `cagework.typeset`, may change at any time. A name is loaded when it is first used.

What is given and cannot be used raises a `CageworkError`: `PuzzleError` for a puzzle that cannot be, `FaultsError`
for files with faults, each with its line, `ChoiceError` for a name or number that is none of those there are. The
texts are for people.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cagework.solver.errors import CageworkError, PuzzleError
    from cagework.solver.model import Answer, Cage, Cell, Given, Puzzle
    from cagework.solver.reasoning.grade import Grade, Rating
    from cagework.solver.search.exact import Outcome, Verdict
    from cagework.typeset.book import Book
    from cagework.typeset.build import Built
    from cagework.typeset.entry import Entry
    from cagework.typeset.faults import ChoiceError, Fault, FaultsError
    from cagework.typeset.library.building import build
    from cagework.typeset.library.drawing import draw
    from cagework.typeset.library.making import make_puzzle
    from cagework.typeset.library.reading import read_book, read_puzzles
    from cagework.typeset.library.solving import explain, grade, solve
    from cagework.typeset.solving.explained import ExplainedStep, Explanation

    __version__: str

__all__ = [
    "Answer",
    "Book",
    "Built",
    "Cage",
    "CageworkError",
    "Cell",
    "ChoiceError",
    "Entry",
    "ExplainedStep",
    "Explanation",
    "Fault",
    "FaultsError",
    "Given",
    "Grade",
    "Outcome",
    "Puzzle",
    "PuzzleError",
    "Rating",
    "Verdict",
    "build",
    "draw",
    "explain",
    "grade",
    "make_puzzle",
    "read_book",
    "read_puzzles",
    "solve",
]

_HOMES = {
    "solver.errors": ("CageworkError", "PuzzleError"),
    "solver.model": ("Answer", "Cage", "Cell", "Given", "Puzzle"),
    "solver.reasoning.grade": ("Grade", "Rating"),
    "solver.search.exact": ("Outcome", "Verdict"),
    "typeset.book": ("Book",),
    "typeset.build": ("Built",),
    "typeset.entry": ("Entry",),
    "typeset.faults": ("ChoiceError", "Fault", "FaultsError"),
    "typeset.library.building": ("build",),
    "typeset.library.drawing": ("draw",),
    "typeset.library.making": ("make_puzzle",),
    "typeset.library.reading": ("read_book", "read_puzzles"),
    "typeset.library.solving": ("explain", "grade", "solve"),
    "typeset.solving.explained": ("ExplainedStep", "Explanation"),
}
"""Module -> the names it has for this one, as the imports above have them, which type checkers read."""


if not TYPE_CHECKING:       # else every misspelt name would pass for a public one

    def __getattr__(name: str) -> object:
        """A public name, loaded (PEP 562); kept, so that it is asked for once."""
        if name == "__version__":
            from importlib.metadata import version
            return version("cagework")
        for home, names in _HOMES.items():
            if name in names:
                value = globals()[name] = getattr(import_module(f"cagework.{home}"), name)
                return value
        raise AttributeError(f"module 'cagework' has no attribute {name!r}")


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__, "__version__"})
