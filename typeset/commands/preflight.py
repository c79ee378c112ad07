"""`cagework preflight`: what a press would refuse in a PDF, and where it differs from a book."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from cagework.typeset.choices import Purpose, Stock
from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.options import add_budget, add_cache, positive, size, whole

if TYPE_CHECKING:
    from cagework.typeset.commands.returned import Returned


def declare(command: argparse.ArgumentParser) -> None:
    """The command's own arguments."""
    command.add_argument("file", metavar="FILE.pdf", type=Path, help="any PDF")
    command.add_argument("--for", dest="purpose", choices=list(Purpose), type=Purpose, default=Purpose.PRESS,
                         help="what the file is for (default: press)")
    command.add_argument("--stock", choices=list(Stock), type=Stock, default=Stock.UNCOATED,
                         help="the paper it is to be printed on (default: uncoated)")
    command.add_argument("--trim", metavar="WxH", type=size, help="the size every page must be cut to, in mm")
    command.add_argument("--multiple", metavar="N", type=whole, default=0,
                         help="what the page count must be a multiple of")
    command.add_argument("--safety", metavar="MM", type=positive,
                         help="how far inside the trim matter must stay, in mm (default: the stock's)")
    command.add_argument("--gutter", metavar="MM", type=positive, default=0.0,
                         help="how much must stay clear at the spine, in mm")
    command.add_argument("--ink", metavar="NAME", action="append", default=[],
                         help="a spot ink that has a plate of its own; may be given again")
    command.add_argument("--against", metavar="BOOK.yaml", type=Path,
                         help="lay this book out again and say where the PDF differs from it")
    command.add_argument("--details", action="store_true", help="list every finding, not a row a rule")
    add_budget(command)
    add_cache(command)
    command.add_argument("--json", action="store_true", help="print it as data for other programs (JSON)")


def run(parsed: argparse.Namespace) -> Exit:
    """Look into the file and say what was found."""
    import json

    from cagework.typeset.commands.common import open_crew, report
    from cagework.typeset.commands.returned import look_into
    from cagework.typeset.commands.terminal import say_next
    from cagework.typeset.faults import NotBuilt
    from cagework.typeset.preflight.profile import Profile
    from cagework.typeset.reader.document import UnreadablePdf
    profile = Profile(parsed.purpose, parsed.stock, parsed.trim, parsed.multiple, parsed.safety, parsed.gutter,
                      frozenset(parsed.ink))
    try:
        with open_crew(parsed) as crew:
            found = look_into(parsed.file, profile, parsed.against, parsed.seconds, crew)
    except NotBuilt as error:
        report(error.faults)
        print(f"{parsed.against}: no file can be held against a book with faults", file=sys.stderr)
        return Exit.FAULTS
    except (OSError, UnreadablePdf) as error:
        said = error.strerror if isinstance(error, OSError) and error.strerror else error
        print(f"{parsed.file}: {said}", file=sys.stderr)
        return Exit.UNREADABLE
    if parsed.json:
        print(json.dumps(found.as_data(), ensure_ascii=False))
    else:
        _print_text(found, parsed.details)
        if found.report.findings and not parsed.details:
            say_next(((*parsed.words, "--details"), "lists every finding"))
    return Exit.FINE if found.passes else Exit.FAULTS


def _print_text(found: Returned, all_of_them: bool) -> None:
    from cagework.typeset.commands.terminal import print_rows
    from cagework.typeset.preflight.report import details, table
    if found.report.findings and all_of_them:
        print_rows(("rule", "name", "severity", "pages", "finding"), details(found.report), numbers=("rule",))
    elif found.report.findings:
        print_rows(("rule", "name", "severity", "pages", "found", "the worst"), table(found.report),
                   numbers=("rule", "found"))
    for line in (*map(str, found.differences or ()), *found.summary()):
        print(line)
