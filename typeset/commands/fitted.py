"""A series fitted into its slots, and what was written."""

from __future__ import annotations

import argparse
from functools import partial
from pathlib import Path
from typing import TextIO

from cagework.typeset.choices import SvgText
from cagework.typeset.columns.load import load_series, with_text
from cagework.typeset.columns.run import make_columns
from cagework.typeset.commands.common import not_written, open_crew, report, to_mend
from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.terminal import progress
from cagework.typeset.faults import NotBuilt, counted


def fit(parsed: argparse.Namespace, manifest: Path, out: Path, svg_text: SvgText | None = None,
        to: TextIO | None = None) -> Exit:
    """Read the series, make its columns in `out`, and say what was written, on standard output or elsewhere."""
    reading = load_series(manifest)
    report(reading.faults)
    if reading.series is None:
        return to_mend(reading.faults)
    try:
        with progress(None) as tick, open_crew(parsed) as crew:
            made = make_columns(with_text(reading.series, svg_text), out, parsed.seconds,
                                lambda: tick("puzzles and slots"), crew,
                                partial(parsed.interrupts.placing, "the columns were written"))
    except NotBuilt as error:
        report(error.faults)
        return to_mend((*reading.faults, *error.faults))
    except OSError as error:
        return not_written(error, out)
    report(made.faults)
    done = "written" if made.stored.changed else "left as they stood"
    slots, files = len(reading.series.slots), len(made.stored.files)
    print(*made.notes, f"{out}: {counted(made.dates, 'date')}, {counted(slots, 'slot')}, "
          f"{counted(files, 'file')} {done}, {made.seconds:.1f} seconds", sep="\n", file=to)
    return Exit.FINE
