"""An edit in words, for the editor."""

from __future__ import annotations

from collections.abc import Sequence

from cagework.solver.editing.edits import Edit, EditKind
from cagework.solver.model import Cage
from cagework.typeset.faults import listed
from cagework.typeset.solving.diagnose import cage_in_words, cells_in_words


def edit_in_words(edit: Edit) -> str:
    """What to do to the puzzle."""
    gone, come = edit.gone, edit.come
    match edit.kind, len(gone):
        case EditKind.GIVE, _:
            return f"print {edit.givens[0].digit} in {edit.givens[0].cell}"
        case EditKind.TAKE, _:
            return f"do not print the {edit.givens[0].digit} in {edit.givens[0].cell}"
        case EditKind.SHOW, _:
            return f"give {cells_in_words(come[0].cells)} the sum {come[0].total}"
        case EditKind.HIDE, _:
            return f"do not print the sum of {cage_in_words(gone[0])}"
        case EditKind.SPLIT, 1:
            return f"split {cage_in_words(gone[0])} into {_parts(come)}"
        case EditKind.MERGE, 2 if len(come) == 1:
            return f"make one of {_parts(gone)}: {come[0].total}"
        case EditKind.SHIFT, 2:
            cell = next(cell for cell in gone[0].cells if cell not in come[0].cells)
            home, away = map(cage_in_words, gone)
            return f"move {cell} from {home} to {away}, which become {_parts(come)}"
        case _:
            return f"make of {_parts(gone)} {_parts(come)}"


def _parts(cages: Sequence[Cage]) -> str:
    return listed([f"{cage.total} ({cells_in_words(cage.cells)})" for cage in cages], "and")
