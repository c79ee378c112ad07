"""`cagework columns`: a series of puzzles fitted into newspaper slots."""

from __future__ import annotations

import argparse
from functools import partial
from pathlib import Path

from cagework.typeset.choices import SvgText
from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.options import add_budget, add_cache


def declare(command: argparse.ArgumentParser) -> None:
    """The command's own arguments."""
    command.add_argument("manifest", metavar="SERIES.yaml", type=Path)
    command.add_argument("--out", metavar="DIR", type=Path, default=Path("columns"),
                         help="folder to write into, of this series alone (default: columns)")
    command.add_argument("--svg-text", choices=list(SvgText), type=SvgText,
                         help="words in SVG as outlines or as live text (default: as the manifest says)")
    add_budget(command)
    add_cache(command)


def run(parsed: argparse.Namespace) -> Exit:
    """Read the series, make its columns, and say what was written."""
    from cagework.typeset.columns.load import load_series, with_text
    from cagework.typeset.columns.run import make_columns
    from cagework.typeset.commands.common import not_written, open_crew, report, to_mend
    from cagework.typeset.commands.terminal import progress
    from cagework.typeset.faults import NotBuilt, counted
    reading = load_series(parsed.manifest)
    report(reading.faults)
    if reading.series is None:
        return to_mend(reading.faults)
    try:
        with progress(None) as tick, open_crew(parsed) as crew:
            made = make_columns(with_text(reading.series, parsed.svg_text), parsed.out, parsed.seconds,
                                lambda: tick("puzzles and slots"), crew,
                                partial(parsed.interrupts.placing, "the columns were written"))
    except NotBuilt as error:
        report(error.faults)
        return to_mend((*reading.faults, *error.faults))
    except OSError as error:
        return not_written(error, parsed.out)
    report(made.faults)
    done = "written" if made.stored.changed else "left as they stood"
    slots, files = len(reading.series.slots), len(made.stored.files)
    print(*made.notes, f"{parsed.out}: {counted(made.dates, 'date')}, {counted(slots, 'slot')}, "
          f"{counted(files, 'file')} {done}, {made.seconds:.1f} seconds", sep="\n")
    return Exit.FINE
