"""What reading the finished book back costs, as a share of the build without it, in one run on one machine.

    python tests/bench/readback.py [BOOK.yaml]
"""

from __future__ import annotations

import gc
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from cagework.typeset import build as builder
from cagework.typeset.editions import screen_edition
from cagework.typeset.manifest.load import load_book
from cagework.typeset.readback.compare import read_back
from cagework.typeset.reader.document import read_document

SAMPLE = Path(__file__).parents[2] / "books" / "slow-train" / "book.yaml"
RUNS = 3


def best(work: Callable[[], object]) -> float:
    """The least processor time of a few runs, in seconds."""
    times = []
    for _ in range(RUNS):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def main() -> None:
    gc.set_threshold(20_000, 20, 20)  # as the commands do
    reading = load_book(Path(sys.argv[1]) if sys.argv[1:] else SAMPLE)
    assert reading.book is not None
    book = reading.book
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder)
        whole = best(lambda: builder.build(book, reading, out, None))
        original = builder.lay(book, reading, None)
        data = (out / builder.BOOK_PDF).read_bytes()
        opened = read_document(data, original.shapes().chars)
        walking = best(lambda: [sheet.paints for sheet in read_document(data, original.shapes().chars).sheets])
        comparing = best(lambda: read_back(opened, original, screen_edition(original.laid)))
    rest = whole - walking - comparing
    print(f"pages {len(opened.sheets)}; build without the read-back = 1; walking the pages {walking / rest:.2f}; "
          f"comparing {comparing / rest:.2f}; together {(walking + comparing) / rest:.2f}")


if __name__ == "__main__":
    main()
