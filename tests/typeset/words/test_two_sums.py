"""A step that rests on two sums: both are named, then what they share, what follows, and what goes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import pytest

from cagework.solver.model import Cage, Cell, Puzzle, standard_houses
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.ledger import Ledger
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.step import Step
from cagework.typeset.words.sentences import Sentences

ROW = Cage(tuple(Cell(1, col) for col in range(4, 9)), 25)
BOX_CELLS = (Cell(2, 1), Cell(2, 2), Cell(2, 3), Cell(3, 1), Cell(3, 2))


def found(technique: str, box: int, lack: Sequence[tuple[Cell, int]] = ()) -> tuple[State, Step]:
    """What row 1 and box 1 say together, where five cells of the row make 25 and five of the box `box`."""
    state = State(Frame(Puzzle(9, standard_houses(9), (ROW, Cage(BOX_CELLS, box)))))
    for cell, digit in lack:
        state.eliminate(state.frame.index[cell], 1 << digit - 1)
    steps = [step for place in range(len(state.frame.areas)) if state.few >> place & 1
             for step in TECHNIQUES[technique].find(state, place)]
    return state, next(step for step in steps if step.cites.added[0].name == "row 1")


TOLD = [
    ("shared_sums", 28, "en",
     "Row 1 adds to 45 and the cages inside to 25, so r1c1, r1c2, r1c3 and r1c9, left over, add to 20. "
     "Box 1 adds to 45 and the cages inside to 28, so r1c1, r1c2, r1c3 and r3c3, left over, add to 17. "
     "Both sums have r1c1, r1c2 and r1c3, so r1c9 is 3 more than r3c3. "
     "So r1c9 cannot be 1, 2 or 3; r3c3 cannot be 7, 8 or 9."),
    ("shared_sums", 28, "de",
     "Zeile 1 ergibt 45, die Käfige darin 25; also ergeben die Restfelder z1s1, z1s2, z1s3 und z1s9 zusammen 20. "
     "Block 1 ergibt 45, die Käfige darin 28; also ergeben die Restfelder z1s1, z1s2, z1s3 und z3s3 zusammen 17. "
     "Beiden Summen sind z1s1, z1s2 und z1s3 gemeinsam, also ist z1s9 um 3 größer als z3s3. "
     "Damit entfallen die 1, 2 und 3 in z1s9; die 7, 8 und 9 in z3s3."),
    ("equal_cells", 25, "en",
     "Row 1 adds to 45 and the cages inside to 25, so r1c1, r1c2, r1c3 and r1c9, left over, add to 20. "
     "Box 1 adds to 45 and the cages inside to 25, so r1c1, r1c2, r1c3 and r3c3, left over, add to 20. "
     "Both sums have r1c1, r1c2 and r1c3, so r1c9 equals r3c3. "
     "What the one cannot be, nor can the other. So r1c9 cannot be 5."),
    ("equal_cells", 25, "de",
     "Zeile 1 ergibt 45, die Käfige darin 25; also ergeben die Restfelder z1s1, z1s2, z1s3 und z1s9 zusammen 20. "
     "Block 1 ergibt 45, die Käfige darin 25; also ergeben die Restfelder z1s1, z1s2, z1s3 und z3s3 zusammen 20. "
     "Beiden Summen sind z1s1, z1s2 und z1s3 gemeinsam, also ist z1s9 so groß wie z3s3. "
     "Was das eine nicht sein kann, kann auch das andere nicht sein. Damit entfällt die 5 in z1s9."),
]


@pytest.mark.parametrize(("technique", "box", "language", "text"), TOLD)
def test_the_argument_is_said_whole(technique: str, box: int, language: str, text: str) -> None:
    state, step = found(technique, box, [(Cell(3, 3), 5)] if technique == "equal_cells" else [])
    told = Sentences(language).about(state.frame.puzzle).step(step)
    assert told.replace("\N{NO-BREAK SPACE}", " ") == text


def test_each_sum_is_recalled_or_cut_down_by_itself() -> None:
    """Both are told in full, then recalled, right after not even that, and cut down once a cell is filled; by the
    letter of what told them, where it has one, or by their houses.
    """
    state, step = found("shared_sums", 28)
    puzzle, sentences = state.frame.puzzle, TECHNIQUES["shared_sums"].sentences
    english, ledger = Sentences("en").about(puzzle), Ledger(state.frame)
    first = ledger.tell(step, sentences, state.candidates)
    assert first == step
    second = ledger.tell(replace(step, removes=step.removes[:1]), sentences, state.candidates)
    assert english.step(second) == (
        "r1c1, r1c2, r1c3 and r1c9 add to 20 (as the cages of row 1 showed). "
        "r1c1, r1c2, r1c3 and r3c3 add to 17 (as the cages of box 1 showed). "
        "Both sums have r1c1, r1c2 and r1c3, so r1c9 is 3 more than r3c3. So r1c9 cannot be 1, 2 or 3.")
    assert english.step(second, first) == "So r1c9 cannot be 1, 2 or 3."
    state.place(state.frame.index[Cell(1, 1)], 1 << 8)
    now = TECHNIQUES["shared_sums"].retell(state.frame, step, state.candidates)
    assert english.by_letters({0: "D"}).step(ledger.tell(now, sentences, state.candidates)) == (
        "r1c1, r1c2, r1c3 and r1c9 add to 20 (D), and r1c1 is 9, so r1c2, r1c3 and r1c9 add to 11. "
        "r1c1, r1c2, r1c3 and r3c3 add to 17 (D), and r1c1 is 9, so r1c2, r1c3 and r3c3 add to 8. "
        "Both sums have r1c2 and r1c3, so r1c9 is 3 more than r3c3. "
        "So r1c9 cannot be 1, 2 or 3; r3c3 cannot be 7, 8 or 9.")
