"""`cagework explain`: one puzzle's worked solution, step by step."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, Any

from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.options import add_budget, add_cache, book

if TYPE_CHECKING:
    from cagework.typeset.solving.worked import Worked


def declare(command: argparse.ArgumentParser) -> None:
    """The command's own arguments."""
    command.add_argument("file", metavar="FILE", type=book, help="a manifest, its folder, or a file of puzzles")
    command.add_argument("id", metavar="ID", nargs="?", help="the puzzle's id (without it: which there are)")
    command.add_argument("--json", action="store_true", help="print it as data for other programs (JSON)")
    add_budget(command)
    add_cache(command)


def run(parsed: argparse.Namespace) -> Exit:
    """Read, find the puzzle, work it out, and tell its path."""
    import json

    from cagework.typeset.commands.common import open_cache
    from cagework.typeset.commands.finding import found_in
    from cagework.typeset.commands.terminal import say_next
    from cagework.typeset.manifest.load import load_book
    from cagework.typeset.solving.check import check_puzzles
    from cagework.typeset.solving.crew import Crew
    from cagework.typeset.solving.explained import explained
    from cagework.typeset.solving.worked import work_out
    from cagework.typeset.words.sentences import Sentences
    reading = load_book(parsed.file, puzzles_suffice=True)
    puzzle = found_in(parsed.file, parsed.id, reading)
    if puzzle is None or puzzle.entry is None:
        return Exit.FAULTS if parsed.id else Exit.USAGE
    with Crew(open_cache(parsed)) as crew:
        (checked,) = check_puzzles([puzzle], parsed.seconds, crew=crew)
    worked = checked.worked or work_out(puzzle.entry, parsed.seconds)
    answer = checked.verdict.answer if checked.is_sound and checked.verdict else None
    said = explained(worked, Sentences(reading.book.language if reading.book else "en"), answer)
    if parsed.json:
        print(json.dumps(said, ensure_ascii=False))
    else:
        _print_steps(worked, said)
        if reading.book:
            say_next((("desk", parsed.file), "shows it in the browser, a picture to each step"))
    return Exit.FINE if said["solved"] else Exit.FAULTS


def _print_steps(worked: Worked, said: dict[str, Any]) -> None:
    from cagework.typeset.faults import counted
    from cagework.typeset.solving.story import Story
    from cagework.typeset.solving.told import headings
    from cagework.typeset.words import load_words, technique_name
    words = headings(Story(worked.path), load_words("en"))
    print(said["shape"])
    chapter = ""
    for number, step in enumerate(said["steps"], 1):
        if step["chapter"] != chapter:
            chapter = step["chapter"]
            print(f"\n{words[chapter]}")
        print(f"{number:4}. {step['text']}" + ("" if step["proved"] else "  [not proved]"))
    print(f"\n{worked.rating.grade}; {counted(worked.rating.steps, 'step')}; "
          f"hardest: {technique_name(worked.rating.technique)}; {worked.path.outcome}")
