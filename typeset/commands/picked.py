"""A pick from a pool: made by a recipe, printed, and written as a manifest."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

from cagework.typeset.commands.common import not_written, report, to_mend
from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.terminal import points
from cagework.typeset.faults import Fault, counted
from cagework.typeset.host.disk import write_whole
from cagework.typeset.pool.ask import Listed
from cagework.typeset.pool.index import Index
from cagework.typeset.pool.pick import Pick, UndecidedError, pick
from cagework.typeset.pool.recipe import Recipe, read_recipe
from cagework.typeset.pool.written import Written, as_manifest, faults_of, what_is_missing


def pick_and_write(
    index: Index, parsed: argparse.Namespace, pool: Iterator[Listed], show: Callable[[Pick], None],
) -> Exit:
    """Pick puzzles by the recipe that the command line names, show them, and write them where it says so."""
    recipe = read_recipe(parsed.pick)
    if not isinstance(recipe, Recipe):
        report(recipe)
        return Exit.FAULTS
    missing = what_is_missing(recipe, build=parsed.build is not None) if parsed.write else None
    if missing:
        report([missing])
        return to_mend([missing])
    try:
        picked = pick(pool, recipe, parsed.seed)
    except ImportError:
        report([Fault(Path("--pick"), "this needs OR-Tools, which is not installed",
                      "install it with: pip install 'cagework[pool]'")])
        return Exit.USAGE
    except UndecidedError:
        report([recipe.place_fault("count", "whether there is such a pick was not found out",
                                   "ask for less, or of fewer puzzles")])
        return Exit.FAULTS
    if not isinstance(picked, Pick):
        report(picked)
        return Exit.FAULTS
    show(picked)
    status = _write(index, parsed, picked, recipe) if parsed.write else Exit.FINE
    if status is not Exit.FINE or not parsed.build:
        return status
    from cagework.typeset.commands.fitted import fit
    return fit(parsed, parsed.write, parsed.build, to=sys.stderr if parsed.json else None)


def pick_json(picked: Pick) -> str:
    """A pick as programs read it."""
    return json.dumps({"puzzles": [one.as_json() for one in picked.puzzles], "ideas": sorted(picked.ideas),
                       "best": picked.best}, ensure_ascii=False)


def pick_summary(picked: Pick) -> str:
    """A pick in one line."""
    makers = len({one.by.casefold() for one in picked.puzzles if one.by})
    scores = [one.score for one in picked.puzzles if one.score is not None]
    span = f", scores {points(min(scores))} to {points(max(scores))}" if scores else ""
    best = "" if picked.best else "; that no pick is spread better was not proved"
    return (f"{counted(len(picked.puzzles), 'puzzle')} by {counted(makers, 'constructor')}, "
            f"{counted(len(picked.ideas), 'technique')}{span}{best}")


def _write(index: Index, parsed: argparse.Namespace, picked: Pick, recipe: Recipe) -> Exit:
    target: Path = parsed.write
    try:
        target.parent.stat()        # or patterns that start from it would seem to match nothing
        written = as_manifest(index, parsed.folder, picked, recipe, target)
        files = {**written.beside, target: written.manifest}
        for file, text in files.items():
            if file.exists() and file.read_bytes() != text.encode():
                print(f"{file} is there already, and is left as it is: name another file with --write",
                      file=sys.stderr)
                return Exit.NOT_WRITTEN
        with parsed.interrupts.placing("the pick was written"):
            return _placed(written, target)
    except ValueError as error:
        print(f"{error}; run this again", file=sys.stderr)
        return Exit.NOT_WRITTEN
    except OSError as error:
        return not_written(error, target)


def _placed(written: Written, target: Path) -> Exit:
    """Put the files in place, the manifest last; none of them where it has faults."""
    new = [file for file in written.beside if not file.exists()]
    try:
        for file, text in written.beside.items():
            write_whole(file, text.encode())
        errors = [fault for fault in faults_of(written, target) if fault.is_error]
        if errors:
            report(errors)
            return to_mend(errors)
        write_whole(target, written.manifest.encode())
        new = []
    finally:
        for file in new:
            file.unlink(missing_ok=True)
    into = next(iter((*written.beside, target)))
    copied = f"; {counted(written.copied, 'puzzle')} copied into {into}" if written.copied else ""
    print(f"{target}: written{copied}", file=sys.stderr)
    return Exit.FINE
