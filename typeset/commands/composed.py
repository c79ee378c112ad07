"""A recipe of a command line to puzzle files, each written as soon as its puzzle is found."""

from __future__ import annotations

import argparse
import errno
import sys
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

from cagework.solver.editing.compose import Recipe
from cagework.solver.editing.compose_crossing import CrossingRecipe
from cagework.solver.editing.laying import HOUSES
from cagework.solver.model import Puzzle
from cagework.typeset.commands.common import not_written, open_crew, report, taken
from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.terminal import points, print_rows, progress, say_next
from cagework.typeset.commands.to_compose import recipe_of
from cagework.typeset.commands.wishes import wish_of
from cagework.typeset.faults import counted
from cagework.typeset.host.files import write_all
from cagework.typeset.host.locks import TakenError, alone_at
from cagework.typeset.manifest.drawn import Drawing, cages_in_order, settled_regions
from cagework.typeset.manifest.emit import emitted
from cagework.typeset.manifest.keyed import keys_of
from cagework.typeset.manifest.load import load_book
from cagework.typeset.manifest.notation import named_as_data
from cagework.typeset.manifest.rule_names import house_rules
from cagework.typeset.solving.composing import Found, Order, composed
from cagework.typeset.words import technique_name

CREDIT = "the cagework composer"
"""Who composed a puzzle, as its `by` says: nothing passes it off as made by hand."""


def compose(parsed: argparse.Namespace) -> Exit:
    """Compose, and write each puzzle as it is found."""
    wish = wish_of(parsed)
    recipe = recipe_of(parsed, wish.grade)
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
                puzzle = found.made.puzzle
                rows.append((file.stem, puzzle.extent, str(len(puzzle.cages)), rating.grade.value,
                             points(rating.score), str(found.path.reach), technique_name(rating.technique)))
    except FileExistsError as error:
        print(f"{error.filename} holds another puzzle and was left as it is: "
              "choose another --name, --seed or --out", file=sys.stderr)
        return Exit.NOT_WRITTEN
    except TakenError:
        return taken(parsed.out)
    except OSError as error:
        return not_written(error, parsed.out)
    if rows:
        print_rows(("puzzle", "size", "cages", "grade", "score", "path", "hardest step"), rows,
                   numbers=("cages", "score"))
    if len(rows) < parsed.count:
        print(f"{parsed.out}: {counted(len(rows), 'puzzle')} of {parsed.count}: the seeds tried led to no more; "
              "ask for another grade, other cages or fewer rules, or begin with another --seed", file=sys.stderr)
        return Exit.FAULTS
    print(f"{parsed.out}: {counted(len(rows), 'puzzle')}, each with one answer, none another's twin")
    say_next((("explain", parsed.out / f"{rows[0][0]}.yaml", rows[0][0]), "tells how the first is solved"),
             (("pool", parsed.out, "--list"), "lists them with grade, path and hardest step"))
    return Exit.FINE


def _written(found: Found, parsed: argparse.Namespace, recipe: Recipe | CrossingRecipe) -> Path:
    """The file of a puzzle. Raises FileExistsError where another stands there, and OSError."""
    name = Path(f"{parsed.name}-{found.seed}.yaml")
    text = emitted(keys_of(_drawn(found, name.stem, recipe))).encode()
    file: Path = parsed.out / name
    if file.exists():
        if file.read_bytes() == text:
            return file
        raise FileExistsError(errno.EEXIST, "it is there already", str(file))
    hold = partial(parsed.interrupts.placing, f"{file} was written")
    write_all(parsed.out, {name: text}, hold=hold)
    return file


def _drawn(found: Found, name: str, recipe: Recipe | CrossingRecipe) -> Drawing:
    """A puzzle under this id, credited to who composed it."""
    puzzle = found.made.puzzle
    drawing = Drawing(puzzle.size, cages_in_order(puzzle.cages), shape=puzzle.shape, id=name, by=CREDIT,
                      grade=found.rating.grade.value)
    return replace(drawing, **_in_cages(found, recipe)) if isinstance(recipe, Recipe) else drawing


def _in_cages(found: Found, recipe: Recipe) -> dict[str, Any]:
    """What a drawing of cages says besides: its regions, and its rules as the manifest has them."""
    puzzle = found.made.puzzle
    regions = settled_regions(puzzle.size, (house.cells for house in puzzle.regions))
    whole = [str(one) for one in recipe.rules]
    named: dict[str, list[object]] = {}
    for rule, on in found.made.laid:
        named.setdefault(rule, []).append(named_as_data(on))
    listed = [{"cells": cells} for cells in named.pop(HOUSES, [])]
    laid = [{rule: on if len(on) > 1 else on[0]} for rule, on in named.items()]
    of_houses = house_rules()
    return {"regions": regions, "houses": (*(one for one in whole if one in of_houses), *listed),
            "rules": (*(one for one in whole if one not in of_houses), *laid)}
