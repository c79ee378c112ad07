"""An edit in words, for the editor."""

from __future__ import annotations

from cagework.solver.editing.edits import Edit, EditKind
from cagework.typeset.solving.diagnose import cage_in_words, cells_in_words, moved_in_words, parts_in_words


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
            return f"split {cage_in_words(gone[0])} into {parts_in_words(come)}"
        case EditKind.MERGE, 2 if len(come) == 1:
            return f"make one of {parts_in_words(gone)}: {come[0].total}"
        case EditKind.SHIFT, 2:
            return moved_in_words(gone, come)
        case _:
            return f"make of {parts_in_words(gone)} {parts_in_words(come)}"
