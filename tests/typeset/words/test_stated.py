"""Sums that rules state, and cages that they compare, as they are told."""

from __future__ import annotations

import pytest

from cagework.solver.model import Cage, Cell, Puzzle, standard_houses
from cagework.solver.reasoning.agenda import everywhere
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.rule import Named, Rule, with_facts
from cagework.solver.rules import RULES
from cagework.solver.step import Step
from cagework.typeset.words.sentences import Sentences


def cells(text: str) -> tuple[Cell, ...]:
    return tuple(map(Cell.parse, text.split()))


CORNER = RULES["diagonal_sum"].read(9, Named(cells("r1c3 r3c1"), 8))
SHORT = RULES["diagonal_sum"].read(9, Named(cells("r1c2 r2c1"), 9))
LINE = RULES["sum_line"].read(9, Named(cells("r2c1 r1c1 r1c2")))
PAIR, BELOW = cells("r1c8 r1c9"), cells("r2c8 r2c9")
SIGN = RULES["greater_cage"].read(9, Named((PAIR[0], BELOW[0]), areas=(PAIR, BELOW)))


def found(technique: str, cages: dict[str, int], rules: tuple[Rule, ...]) -> tuple[Puzzle, Step]:
    """The step of a technique that goes by all these rules."""
    drawn = tuple(Cage(cells(text), total) for text, total in cages.items())
    puzzle = with_facts(Puzzle(9, standard_houses(9), drawn), [fact for rule in rules for fact in rule.facts()])
    state, tool = State(Frame(puzzle)), TECHNIQUES[technique]
    places = everywhere(state, tool.look)
    step = next(step for place in range(places.bit_length()) if places >> place & 1
                for step in tool.find(state, place) if len(step.cites.sums) == len(rules))
    return puzzle, tool.retell(state.frame, step, state.candidates)


@pytest.mark.parametrize(("technique", "cages", "rules", "english", "german"), [
    ("innie", {"r1c1 r1c2 r2c1 r2c3 r3c2": 31}, (CORNER,),
     "By the number outside the grid r1c3, r2c2 and r3c1 add to 8; box 1 adds to 45 and this and the cages there "
     "to 39, so r3c3 is 6.",
     "Nach der Zahl außerhalb des Gitters gilt: z1s3, z2s2 und z3s1 ergeben 8; Block 1 ergibt 45, diese Summe und "
     "die Käfige dort 39; also z3s3 = 6."),
    ("innies", {"r2c3 r3c2": 11}, (CORNER, SHORT),
     "By the number outside the grid r1c3, r2c2 and r3c1 add to 8, and r1c2 and r2c1 add to 9; box 1 adds to 45 "
     "and these and the cages there to 28, so r1c1 and r3c3 add to 17. They are an 8-9 pair.",
     "Nach der Zahl außerhalb des Gitters gilt: z1s3, z2s2 und z3s1 ergeben 8, und z1s2 und z2s1 ergeben 9; Block "
     "1 ergibt 45, diese Summen und die Käfige dort 28; also ergeben z1s1 und z3s3 zusammen 17. Sie sind "
     "ein 8-9-Paar."),
    ("innies", {"r1c3 r1c4 r1c5 r1c6 r1c7 r1c8": 32}, (LINE,),
     "By the line and its circle r1c1 and r1c2 make as much as r2c1; row 1 adds to 45 and the cages there to 32, "
     "so r1c9 and r2c1 add to 13. So r1c9 and r2c1 cannot be 1, 2 or 3.",
     "Nach der Linie und ihrem Kreis gilt: z1s1 und z1s2 sind zusammen so groß wie z2s1; Zeile 1 ergibt 45, die "
     "Käfige dort 32; also ergeben z1s9 und z2s1 zusammen 13. Damit entfallen die 1, 2 und 3 in z1s9 "
     "und z2s1."),
    ("compared_cage", {"r1c1 r1c2 r1c3 r1c4": 20, "r1c5 r1c6 r1c7": 20}, (SIGN,),
     "Row 1 adds to 45 and the cages inside to 40, so r1c8 and r1c9, left over, add to 5. By the large sign r2c8 "
     "and r2c9 make less than 5. So r2c8 and r2c9 cannot be 4 to 9.",
     "Zeile 1 ergibt 45, die Käfige darin 40; also ergeben die Restfelder z1s8 und z1s9 zusammen 5. Nach dem "
     "großen Zeichen ergeben z2s8 und z2s9 weniger als 5. Damit entfallen die 4 bis 9 in z2s8 und z2s9."),
])
def test_they_are_told_in_words(
    technique: str, cages: dict[str, int], rules: tuple[Rule, ...], english: str, german: str,
) -> None:
    puzzle, step = found(technique, cages, rules)
    for language, said in (("en", english), ("de", german)):
        assert Sentences(language).about(puzzle, rules).step(step).replace("\xa0", " ") == said
