"""What a command line asks to be composed: a recipe that can be followed, or why it cannot."""

from __future__ import annotations

import argparse
import re
from collections.abc import Mapping

from cagework.solver.editing.compose import Recipe
from cagework.solver.editing.compose_crossing import CrossingRecipe
from cagework.solver.editing.laying import HOUSES, usual_count
from cagework.solver.model import BOXES, SIZES
from cagework.solver.reasoning.grade import Grade
from cagework.solver.rule import RuleError, Takes
from cagework.solver.rules import RULES
from cagework.solver.symmetry import Motion
from cagework.typeset.choices import Kind
from cagework.typeset.commands.wishes import refuse
from cagework.typeset.faults import or_else, quoted
from cagework.typeset.manifest.notation import WIDEST
from cagework.typeset.manifest.values import ID
from cagework.typeset.solving.composing import CAGES, DOMINOES

_SHAPES = {"any": 0.0, "compact": 6.0, "winding": -6.0}
"""How much a cage is drawn to be square."""

_MOTIONS = {"none": Motion.NONE, "half-turn": Motion.HALF, "mirror": Motion.LEFT_RIGHT}

_OF_CAGES: Mapping[str, object] = {
    "cages": None, "shape": "any", "symmetry": "none", "regions": "boxes", "rules": []}
"""What crossing sums cannot be asked for, as it stands where nobody asks."""

_LEAST = 3
"""Crossing sums of fewer rows or columns leave no choice."""


def recipe_of(parsed: argparse.Namespace, grade: Grade | None) -> Recipe | CrossingRecipe:
    """The recipe of a command line. SystemExit (USAGE), with the fault said, where it cannot be followed."""
    if not re.fullmatch(ID, parsed.name):
        refuse(f"{quoted(parsed.name)} is no id: letters and digits, '-' and '_'")
    rows, columns = parsed.size
    if parsed.kind is Kind.CROSSING_SUMS:
        for name, usual in _OF_CAGES.items():
            if getattr(parsed, name) != usual:
                refuse(f"crossing sums have no --{name.removesuffix('s') if name == 'rules' else name}")
        if not _LEAST <= min(rows, columns) <= max(rows, columns) <= WIDEST:
            refuse(f"crossing sums have {_LEAST} to {WIDEST} rows and columns")
        return CrossingRecipe(rows, columns)
    if rows != columns or rows not in SIZES:
        refuse(f"a puzzle's size is a number from {SIZES[0]} to {SIZES[-1]}")
    return _in_cages(parsed, grade, rows)


def _in_cages(parsed: argparse.Namespace, grade: Grade | None, size: int) -> Recipe:
    if parsed.regions == "boxes" and size not in BOXES:
        refuse(f"a {size} x {size} grid has no usual boxes: say --regions none")
    if parsed.regions == "irregular" and size not in BOXES:
        refuse(f"irregular regions grow out of usual boxes, which a {size} x {size} grid lacks: "
               "say --regions none")
    whole: dict[str, None] = {}
    laid: dict[str, int] = {}
    for name, count in parsed.rules:
        _hold_rule(name, count, size, parsed.regions)
        if name != HOUSES and RULES[name].takes is Takes.NOTHING:
            whole[name] = None
        else:
            laid[name] = count or usual_count(name, size)
    sizes = parsed.cages or {cells: weight for cells, weight in CAGES[grade].items() if cells < size}
    return Recipe(
        size=size, sizes=sizes, compact=_SHAPES[parsed.shape], lone=1 in sizes,
        dominoes=DOMINOES[grade] if parsed.cages is None else 1.0,
        irregular=parsed.regions == "irregular", boxless=parsed.regions == "none", rules=tuple(whole),
        laid=tuple(laid.items()), symmetry=_MOTIONS[parsed.symmetry])


def _hold_rule(name: str, count: int | None, size: int, regions: str) -> None:
    """Refuse a rule that cannot be on such a grid."""
    if name == HOUSES:
        return
    if name not in RULES:
        refuse(f"there is no rule called {quoted(name)}: {or_else(name, [HOUSES, *RULES])}")
    takes = RULES[name].takes
    if takes is Takes.NOTHING and count is not None:
        refuse(f"'{name}' holds all over the grid: there is no number of it")
    if takes is Takes.ACROSS and regions == "none":
        refuse(f"'{name}' needs regions")
    if takes is Takes.NOTHING:
        try:
            RULES[name].exemplar(size)
        except RuleError as error:
            refuse(f"'{name}' cannot be on a grid of {size}: {error}")
