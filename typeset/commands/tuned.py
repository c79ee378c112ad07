"""A puzzle read, edited until it is as wished, and what came of it printed or written."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

from cagework.typeset.commands.common import not_written, open_workers, taken
from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.finding import found_in
from cagework.typeset.commands.terminal import points, progress, say_next
from cagework.typeset.commands.wishes import refuse, wish_of
from cagework.typeset.faults import counted
from cagework.typeset.host.files import write_all
from cagework.typeset.host.locks import TakenError, alone_at
from cagework.typeset.manifest.document import read_document
from cagework.typeset.manifest.drawn import Drawing, NotDrawn, drawing_of
from cagework.typeset.manifest.emit import emitted
from cagework.typeset.manifest.keyed import keys_of, reads_so, redrawn
from cagework.typeset.manifest.load import load_book
from cagework.typeset.manifest.puzzle_files import find_puzzle
from cagework.typeset.solving.check import check_puzzles, why_not
from cagework.typeset.solving.crew import Crew
from cagework.typeset.solving.edited import edit_in_words
from cagework.typeset.solving.tuning import Tuned, tuned
from cagework.typeset.words import technique_name


def tune(parsed: argparse.Namespace) -> Exit:
    """Read the puzzle, edit it, and print what was proved."""
    wish = wish_of(parsed)
    if wish.grade is None and not wish.needs and not wish.without:
        refuse("say what the puzzle should be: --grade, --needs or --without")
    puzzle = found_in(parsed.file, parsed.id, load_book(parsed.file, puzzles_suffice=True))
    if puzzle is None or puzzle.entry is None:
        return Exit.FAULTS if parsed.id else Exit.USAGE
    with Crew(None, open_workers(parsed)) as crew:
        (checked,) = check_puzzles([puzzle], parsed.seconds, crew=crew)
        if not checked.is_sound or not checked.verdict or not checked.verdict.answer or not checked.worked:
            print(f"{parsed.id} is not sound: {why_not(checked)}", file=sys.stderr)
            return Exit.FAULTS
        try:
            keys, drawing = _drawn(puzzle.file, parsed.id)
        except NotDrawn as error:
            print(f"{parsed.id} cannot be tuned: {error}", file=sys.stderr)
            return Exit.FAULTS
        if not wish.amiss(checked.worked.path):
            print(f"{parsed.id} is as wished already: {checked.grade}, {points(checked.score)}")
            return Exit.FINE
        with progress(None) as tick:
            offers = tuned(puzzle.entry.puzzle, checked.verdict.answer, checked.worked.path, wish, crew,
                           parsed.seconds, most=parsed.changes, offered=parsed.most, tick=lambda: tick("paths"),
                           fits=partial(reads_so, drawing))
    if parsed.json:
        print(json.dumps({"id": parsed.id, "grade": checked.grade, "score": checked.score,
                          "offers": [_offer_json(one, drawing, keys) for one in offers]}, ensure_ascii=False))
    else:
        print(f"{parsed.id}: {checked.grade}, {points(checked.score)}")
        _print_offers(offers, parsed.changes)
        say_next(*_next(parsed, found=bool(offers)))
    if offers and parsed.out:
        return _write(parsed, offers, drawing, keys)
    return Exit.FINE if offers else Exit.FAULTS


def _next(parsed: argparse.Namespace, *, found: bool) -> Iterator[tuple[Sequence[object], str]]:
    """What an editor does with offers, or without any."""
    if not found:
        yield (*parsed.words, "--changes", str(parsed.changes + 1)), "allows one change more"
    elif not parsed.out:
        yield (*parsed.words, "--out", "tuned"), "writes each offer to a file"


def _drawn(file: Path, id: str) -> tuple[dict[str, Any], Drawing]:
    """A puzzle's keys as they stand, and its drawing. Raises NotDrawn."""
    found = find_puzzle(read_document(file), id)
    if found is None:
        raise NotDrawn("its keys are not in this file")
    drawing = drawing_of(found[1], id)
    if drawing.shape:
        raise NotDrawn("the runs of crossing sums end where the black squares are")
    return found[1], replace(drawing, grade=None, answer=())


def _print_offers(offers: Sequence[Tuned], most: int) -> None:
    if not offers:
        print(f"  nothing was found that is so, by {counted(most, 'change')} at most")
    for number, one in enumerate(offers, 1):
        rating, reach = one.rating, one.path.reach
        print(f"{number:3}. " + "; then ".join(map(edit_in_words, one.edits)))
        print(f"     {rating.grade}, {points(rating.score)}; path {reach}, load {one.load}, "
              f"{counted(rating.steps, 'step')}; hardest: {technique_name(rating.technique)}")


def _offer_json(one: Tuned, drawing: Drawing, keys: dict[str, Any]) -> dict[str, Any]:
    rating = one.rating
    return {"changes": [{"kind": edit.kind.value, "text": edit_in_words(edit)} for edit in one.edits],
            "grade": rating.grade, "score": round(rating.score, 1), "path": one.path.reach, "load": one.load,
            "hardest": rating.technique, "puzzle": _text(one, drawing, keys)}


def _text(one: Tuned, drawing: Drawing, keys: dict[str, Any]) -> str:
    """The puzzle's keys, changed, as YAML; a grade that they state is the one it has now."""
    grade = one.rating.grade.value if keys.get("grade") else None
    return emitted(keys_of(replace(redrawn(drawing, one.puzzle), grade=grade), keys))


def _write(parsed: argparse.Namespace, offers: Sequence[Tuned], drawing: Drawing, keys: dict[str, Any]) -> Exit:
    files = {Path(f"{parsed.id}-{number}.yaml"): _text(one, drawing, keys).encode()
             for number, one in enumerate(offers, 1)}
    try:
        with alone_at(parsed.out):
            written = write_all(parsed.out, files, hold=partial(
                parsed.interrupts.placing, "the puzzles were written"))
    except TakenError:
        return taken(parsed.out)
    except OSError as error:
        return not_written(error, parsed.out)
    if not parsed.json:
        print(*written, sep="\n")
    return Exit.FINE
