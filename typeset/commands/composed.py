"""A recipe of a command line to puzzle files, each written as soon as its puzzle is found."""

from __future__ import annotations

import argparse
import errno
import re
import sys
from functools import partial
from pathlib import Path

from cagework.solver.editing.compose import Recipe
from cagework.solver.model import BOXES, SIZES, Puzzle
from cagework.solver.reasoning.grade import Grade
from cagework.solver.rule import RuleError, Takes
from cagework.solver.rules import RULES
from cagework.solver.symmetry import Motion
from cagework.typeset.commands.common import not_written, open_crew, report, taken
from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.terminal import print_rows, progress
from cagework.typeset.commands.wishes import refuse, wish_of
from cagework.typeset.faults import counted, or_else, quoted
from cagework.typeset.host.files import write_all
from cagework.typeset.host.locks import TakenError, alone_at
from cagework.typeset.manifest.drawn import Drawing, cages_in_order, settled_regions
from cagework.typeset.manifest.emit import emitted
from cagework.typeset.manifest.keyed import keys_of
from cagework.typeset.manifest.load import load_book
from cagework.typeset.manifest.rule_names import house_rules
from cagework.typeset.manifest.values import ID
from cagework.typeset.solving.composing import CAGES, DOMINOES, Found, Order, composed
from cagework.typeset.words import technique_name

CREDIT = "the cagework composer"
"""Who composed a puzzle, as its `by` says: nothing passes it off as made by hand."""

_SHAPES = {"any": 0.0, "compact": 6.0, "winding": -6.0}
"""How much a cage is drawn to be square."""

_MOTIONS = {"none": Motion.NONE, "half-turn": Motion.HALF, "mirror": Motion.LEFT_RIGHT}


def compose(parsed: argparse.Namespace) -> Exit:
    """Compose, and write each puzzle as it is found."""
    wish = wish_of(parsed)
    recipe = _recipe(parsed, wish.grade)
    beside: list[Puzzle] = []
    for file in parsed.beside:
        reading = load_book(file, puzzles_suffice=True)
        report(reading.faults)
        beside += [one.entry.puzzle for one in reading.puzzles if one.entry]
    order = Order(recipe, parsed.count, wish, parsed.seed, tuple(beside))
    rows = []
    try:
        with progress(parsed.count) as tick, open_crew(parsed) as crew, alone_at(parsed.out):
            for found in composed(order, crew, parsed.seconds, lambda: tick("composed")):
                file = _written(found, parsed, recipe)
                rating = found.rating
                rows.append((file.stem, str(len(found.made.puzzle.cages)), rating.grade.value,
                             f"{rating.score:.1f}", str(found.path.reach), technique_name(rating.technique)))
    except FileExistsError as error:
        print(f"{error.filename} holds another puzzle and was left as it is: "
              "choose another --name, --seed or --out", file=sys.stderr)
        return Exit.NOT_WRITTEN
    except TakenError:
        return taken(parsed.out)
    except OSError as error:
        return not_written(error, parsed.out)
    if rows:
        print_rows(("puzzle", "cages", "grade", "score", "path", "hardest step"), rows, numbers=("cages", "score"))
    if len(rows) < parsed.count:
        print(f"{parsed.out}: {counted(len(rows), 'puzzle')} of {parsed.count}: the seeds tried led to no more; "
              "ask for another grade, other cages or fewer rules, or begin with another --seed", file=sys.stderr)
        return Exit.FAULTS
    print(f"{parsed.out}: {counted(len(rows), 'puzzle')}, each with one answer, none another's twin")
    return Exit.FINE


def _recipe(parsed: argparse.Namespace, grade: Grade | None) -> Recipe:
    """The recipe of a command line. SystemExit (USAGE), with the fault said, where it cannot be followed."""
    if not re.fullmatch(ID, parsed.name):
        refuse(f"{quoted(parsed.name)} is no id: letters and digits, '-' and '_'")
    if parsed.size not in SIZES:
        refuse(f"a puzzle's size is a number from {SIZES[0]} to {SIZES[-1]}")
    if parsed.regions == "boxes" and parsed.size not in BOXES:
        refuse(f"a {parsed.size} x {parsed.size} grid has no usual boxes: say --regions none")
    if parsed.regions == "irregular" and parsed.size not in BOXES:
        refuse(f"irregular regions grow out of usual boxes, which a {parsed.size} x {parsed.size} grid lacks: "
               "say --regions none")
    for name in parsed.rules:
        _hold_rule(name, parsed.size)
    sizes = parsed.cages or {size: weight for size, weight in CAGES[grade].items() if size < parsed.size}
    return Recipe(
        size=parsed.size, sizes=sizes, compact=_SHAPES[parsed.shape], lone=1 in sizes,
        dominoes=DOMINOES[grade] if parsed.cages is None else 1.0,
        irregular=parsed.regions == "irregular", boxless=parsed.regions == "none", rules=tuple(parsed.rules),
        symmetry=_MOTIONS[parsed.symmetry])


def _hold_rule(name: str, size: int) -> None:
    alone = [one for one in RULES if RULES[one].takes is Takes.NOTHING]
    if name not in RULES:
        refuse(f"there is no rule called {quoted(name)}: {or_else(name, alone)}")
    if name not in alone:
        refuse(f"'{name}' needs cells, which are not composed; of rules there may be {', '.join(alone)}")
    try:
        RULES[name].exemplar(size)
    except RuleError as error:
        refuse(f"'{name}' cannot be on a grid of {size}: {error}")


def _written(found: Found, parsed: argparse.Namespace, recipe: Recipe) -> Path:
    """The file of a puzzle. Raises FileExistsError where another stands there, and OSError."""
    name = Path(f"{parsed.name}-{found.seed}.yaml")
    text = emitted(keys_of(drawn(found, name.stem, recipe))).encode()
    file: Path = parsed.out / name
    if file.exists():
        if file.read_bytes() == text:
            return file
        raise FileExistsError(errno.EEXIST, "it is there already", str(file))
    hold = partial(parsed.interrupts.placing, f"{file} was written")
    write_all(parsed.out, {name: text}, hold=hold)
    return file


def drawn(found: Found, name: str, recipe: Recipe) -> Drawing:
    """A puzzle as a drawing, under this id, credited to who composed it."""
    puzzle = found.made.puzzle
    regions = settled_regions(puzzle.size, (house.cells for house in puzzle.regions))
    houses = tuple(one for one in recipe.rules if one in house_rules())
    return Drawing(
        puzzle.size, cages_in_order(puzzle.cages), regions=regions, houses=houses,
        rules=tuple(one for one in recipe.rules if one not in houses), id=name, by=CREDIT,
        grade=found.rating.grade.value)
