"""How a puzzle should be, as several commands are told it."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from cagework.typeset.commands.exits import Exit

if TYPE_CHECKING:
    from cagework.typeset.solving.tuning import Wish


def add_wish(command: argparse.ArgumentParser) -> None:
    """The grade, and ideas that the path has and has not."""
    command.add_argument("--grade", metavar="GRADE",
                         help="the grade it should have: stroll, climb, scramble or summit")
    command.add_argument("--needs", metavar="IDEA", action="append", default=[],
                         help="a way of reasoning that its path should have, as x_wing; may be repeated")
    command.add_argument("--without", metavar="IDEA", action="append", default=[],
                         help="a way of reasoning that its path should do without; may be repeated")


def wish_of(parsed: argparse.Namespace) -> Wish:
    """The wish of a command line. SystemExit (USAGE), with the fault said, where it names what there is not."""
    from cagework.solver.reasoning.grade import Grade
    from cagework.solver.reasoning.techniques import TECHNIQUES
    from cagework.typeset.faults import or_else, quoted
    from cagework.typeset.solving.tuning import Wish
    if parsed.grade is not None and parsed.grade not in list(Grade):
        refuse(f"there is no grade called {quoted(parsed.grade)}: {or_else(parsed.grade, list(Grade))}")
    for name in (*parsed.needs, *parsed.without):
        if name not in TECHNIQUES:
            refuse(f"there is no idea called {quoted(name)}: {or_else(name, list(TECHNIQUES))}")
    both = set(parsed.needs) & set(parsed.without)
    if both:
        refuse(f"{quoted(min(both))} is wanted and not wanted")
    return Wish(Grade(parsed.grade) if parsed.grade else None, frozenset(parsed.needs), frozenset(parsed.without))


def refuse(message: str) -> None:
    """End the command, for its line is wrong."""
    print(f"cagework: {message}", file=sys.stderr)
    raise SystemExit(Exit.USAGE)
