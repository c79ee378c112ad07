"""What a save costs, and a whole book: `python tests/bench/desk.py`.

Four reports, over books of composed puzzles (9 x 9, about 27 cages, from fixed seeds), all measured in one run:
*save*: from writing one changed puzzle of a book to its page in the browser (Chromium where it is installed; else
to the page's bytes), beside a cold `check` of the same book;
*build*: a cold build with full worked solutions, beside the time CP-SAT takes, with one worker, merely to solve
the same puzzles and prove that each has one answer; and which stage of it takes how long;
*drawing*: pages drawn and written as PDF, beside reportlab alone fed with the same marks, ready made;
*growth*: a cold build of ever larger books, seconds and peak memory a puzzle.
"""

from __future__ import annotations

import argparse
import io
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any
from urllib.parse import urljoin

import stages  # beside this file
from reportlab.pdfgen.canvas import Canvas
from running import chromium, desk, ran, ran_held, told  # beside this file

from cagework.solver.editing.compose import Recipe, compose
from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.reason import explain
from cagework.typeset.host.collector import collect_seldom
from cagework.typeset.host.processes import cores
from cagework.typeset.layout_cache import LayoutCache
from cagework.typeset.manifest.load import load_book
from cagework.typeset.marks import Fill, Line, Outline, Page, Text, flatten
from cagework.typeset.plan import Solved, plan_book
from cagework.typeset.solving.cache import Cache
from cagework.typeset.solving.check import check_puzzles
from cagework.typeset.solving.crew import Crew
from cagework.typeset.solving.rated import rated
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.words import words_or_english
from cagework.typeset.write.pdf import About, pdf_bytes

sys.path.insert(0, str(Path(__file__).parents[1] / "outside"))

RECIPE = Recipe(sizes={2: 4.0, 3: 4.0, 4: 2.0, 5: 0.5})
SPARE = 100_000
"""The first seed of puzzles that are no book's, for saves."""


def puzzle_text(seed: int, name: str) -> str:
    """A composed puzzle as a file."""
    listed = [(cage.total, " ".join(map(str, cage.cells))) for cage in compose(seed, RECIPE).puzzle.cages]
    cages = "".join(f"  - {{sum: {total}, cells: {cells}}}\n" for total, cells in listed)
    return f"id: {name}\ntitle: Number {name}\ncages:\n{cages}"


def _numbered(seed: int) -> str | None:
    """A puzzle of a book; None for one whose path cannot be proved throughout, which no book may print."""
    puzzle = compose(seed, RECIPE).puzzle
    bad = Prover(puzzle).first_unproved(stage.step for stage in explain(puzzle).stages)
    return puzzle_text(seed, f"p{seed:04}") if bad is None else None


def make_book(folder: Path, count: int, first: int = 0) -> Path:
    """A manifest and a file a puzzle, with full worked solutions; the puzzles are those from seed `first` on."""
    (folder / "puzzles").mkdir(parents=True, exist_ok=True)
    with ProcessPoolExecutor() as pool:
        seeds = range(first, first + count + count // 50 + 5)
        made = list(zip(seeds, pool.map(_numbered, seeds, chunksize=20), strict=True))
    fit = [(seed, text) for seed, text in made if text is not None][:count]
    for seed, text in fit:
        (folder / "puzzles" / f"p{seed:04}.yaml").write_text(text, encoding="utf-8")
    if passed := [seed for seed, text in made if text is None]:
        print(f"  passed over, as a step of their path is not proved: seeds {passed}")
    manifest = folder / "book.yaml"
    manifest.write_text(f"book:\n  title: {count} puzzles\n  puzzles_from: puzzles/*.yaml\n  solutions: full\n",
                        encoding="utf-8")
    return manifest


def saves_in_chromium(address: str, file: Path, texts: list[str]) -> list[float] | None:
    """Seconds from each save to the changed picture in the page; None without Chromium."""
    with chromium() as driver:
        if driver is None:
            return None
        driver.get(urljoin(address, "/"))
        page = next(row["page"] for row in told(address)["puzzles"] if row["id"] == file.stem)
        watch = """
            const [page, done] = arguments, image = document.querySelector(
                `#spread .${page % 2 ? "right" : "left"} img`);
            new MutationObserver((_, watcher) => { watcher.disconnect(); image.decode().then(
                () => requestAnimationFrame(() => { window.seen = Date.now(); })); })
                .observe(image, {attributes: true, attributeFilter: ["src"]});
            window.seen = 0; done();"""
        time.sleep(2)
        driver.execute_script("document.getElementById('goto').value = arguments[0];"
                              "document.getElementById('jump').requestSubmit()", str(page))
        time.sleep(2)
        taken = []
        for text in texts:
            driver.execute_async_script(watch, page)
            start = time.time()
            file.write_text(text, encoding="utf-8")
            while not (seen := driver.execute_script("return window.seen")):
                time.sleep(0.02)
            taken.append(seen / 1000 - start)
            time.sleep(1.5)
        return taken


def saves_by_bytes(address: str, file: Path, texts: list[str]) -> list[float]:
    """Seconds from each save until the changed page can be had."""
    page = next(row["page"] for row in told(address)["puzzles"] if row["id"] == file.stem)

    def digest() -> str:
        return str(told(address, f"digests.json?pages={page}")[str(page)])

    taken = []
    for text in texts:
        before, start = digest(), time.perf_counter()
        file.write_text(text, encoding="utf-8")
        while (now := digest()) == before:
            time.sleep(0.005)
        urllib.request.urlopen(urljoin(address, f"pages/{page}/{now}.svg")).read()
        taken.append(time.perf_counter() - start)
        time.sleep(1.5)
    return taken


def report_save(manifest: Path, work: Path) -> None:
    """Print the first report."""
    kept = work / "kept"
    check = ran("check", manifest, "--cache", kept)
    file = sorted((manifest.parent / "puzzles").glob("*.yaml"))[7]
    before = file.read_text(encoding="utf-8")
    texts = [puzzle_text(SPARE + seed, file.stem).replace("title: Number", "title: No.") for seed in range(10)]
    with desk(manifest, kept) as (address, _):
        by_bytes = saves_by_bytes(address, file, texts[:5])
        on_screen = saves_in_chromium(address, file, texts[5:])
    file.write_text(before, encoding="utf-8")
    print(f"\nsave: a cold check takes {check:.2f} s")
    for name, taken in (("the page's bytes", by_bytes), ("the picture in Chromium", on_screen)):
        if taken is None:
            print(f"  to {name}: not measured (needs Debian packages chromium and chromium-driver)")
        else:
            middle = statistics.median(taken)
            print(f"  to {name}: {middle:.3f} s (median of {len(taken)}; most {max(taken):.3f}), "
                  f"1/{check / middle:.0f} of the check")


def report_build(manifest: Path, work: Path) -> None:
    """Print the second report."""
    from oracle import verdict  # type: ignore[import-not-found]

    puzzles = [one.entry.puzzle for one in load_book(manifest).puzzles if one.entry]
    start, cpu = time.perf_counter(), time.process_time()
    for puzzle in puzzles:
        verdict(puzzle)
    theirs, their_cpu = time.perf_counter() - start, time.process_time() - cpu
    before, start = spent(), time.perf_counter()
    subprocess.run([sys.executable, stages.__file__, work / "stages", "build", manifest, "--out", work / "out",
                    "--no-cache"], check=True, stdout=subprocess.DEVNULL)
    ours, our_cpu = time.perf_counter() - start, spent() - before
    print(f"\nbuild: {len(puzzles)} puzzles, full worked solutions, cold: {ours:.1f} s on {cores()} cores; CP-SAT "
          f"merely to solve and prove them: {theirs:.1f} s; ours over theirs {ours / theirs:.2f}")
    print(f"  (CPU seconds: {our_cpu:.1f} and {their_cpu:.1f}: {our_cpu / their_cpu:.2f})")
    stages.print_table(stages.read(work / "stages", our_cpu), their_cpu)


def spent() -> float:
    """CPU seconds, the system's among them, of all processes that this one began and that have ended."""
    taken = resource.getrusage(resource.RUSAGE_CHILDREN)
    return taken.ru_utime + taken.ru_stime


def report_drawing(manifest: Path, work: Path) -> None:
    """Print the third report."""
    reading = load_book(manifest)
    assert reading.book is not None
    with Crew(Cache(work / "kept"), cores()) as crew:
        checked = check_puzzles(reading.puzzles, None, crew=crew)
    book = rated(reading.book, checked)
    entries = {entry.id: entry for entry in book.entries}
    found = [one.worked for one in checked if one.worked]
    works = {work.entry.id: replace(work, entry=entries[work.entry.id]) for work in found}
    answers = {one.reading.id: one.verdict.answer for one in checked
               if one.reading.id and one.verdict and one.verdict.answer}
    fonts = Fonts(book.layout)
    start = time.process_time()
    plan = plan_book(book, Solved(answers, works), fonts, words_or_english(book.language), LayoutCache())
    planned = time.process_time() - start
    start = time.process_time()
    pages = [plan.page(number) for number in range(1, len(plan.leaves) + 1)]
    made = time.process_time() - start
    start = time.process_time()
    ours = pdf_bytes(pages, (), About("t", "", "", "en"), fonts)
    written = time.process_time() - start
    calls = [list(_calls(page, fonts)) for page in pages]
    start = time.process_time()
    theirs = _bare(pages, calls)
    bare = time.process_time() - start
    print(f"\ndrawing: {len(pages)} pages, CPU seconds: marks made {made:.2f}, written {written:.2f}; reportlab "
          f"alone {bare:.2f}; ours over reportlab {(made + written) / bare:.2f}")
    print(f"  (files of {len(ours) / 1e6:.1f} and {len(theirs) / 1e6:.1f} MB)")
    print(f"  (before that, lines broken and pages filled: {planned:.2f})")


def _calls(page: Page, fonts: Fonts) -> Iterator[tuple[str, tuple[Any, ...]]]:
    """The calls of a canvas that draw a page, every number ready."""
    from cagework.typeset.write.pdf import _registered

    high = page.height
    for mark in flatten(page.marks):
        match mark:
            case Line() | Outline():
                yield "setLineWidth", (mark.weight,)
                yield "setStrokeGray", (1 - mark.ink,)
                yield "setDash", ([mark.dash.on, mark.dash.off], mark.dash.phase) if mark.dash else ()
                if isinstance(mark, Line):
                    yield "line", (mark.x1, high - mark.y1, mark.x2, high - mark.y2)
                else:
                    yield "path", (mark.rings, high, 1, 0)
            case Fill():
                yield "setFillGray", (1 - mark.ink,)
                yield "path", (mark.rings, high, 0, 1)
            case Text():
                yield "text", (_registered(fonts, mark.face), mark.size, 1 - mark.ink, mark.tracking,
                               [(mark.x + dx, high - mark.y, text) for dx, text in mark.chunks])


def _bare(pages: list[Page], calls: list[list[tuple[str, tuple[Any, ...]]]]) -> bytes:
    file = io.BytesIO()
    canvas = Canvas(file, pageCompression=1, invariant=1)
    for page, each in zip(pages, calls, strict=True):
        canvas.setPageSize((page.width, page.height))
        for name, arguments in each:
            if name == "text":
                font, size, grey, tracking, runs = arguments
                text = canvas.beginText()
                text.setFont(font, size)
                text.setFillGray(grey)
                text.setCharSpace(tracking)
                for x, y, chunk in runs:
                    text.setTextOrigin(x, y)
                    text.textOut(chunk)
                canvas.drawText(text)
            elif name == "path":
                rings, high, stroke, fill = arguments
                path = canvas.beginPath()
                for ring in rings:
                    path.moveTo(ring[0][0], high - ring[0][1])
                    for x, y in ring[1:]:
                        path.lineTo(x, high - y)
                    path.close()
                canvas.drawPath(path, stroke=stroke, fill=fill)
            else:
                getattr(canvas, name)(*arguments)
        canvas.showPage()
    canvas.save()
    return file.getvalue()


def report_growth(sizes: list[int], work: Path) -> None:
    """Print the fourth report. A few puzzles take a hundred times as long as most, so the solving, which a cold
    check does alone, is told apart from the rest.
    """
    print("\ngrowth: puzzles, seconds, those of a check alone, seconds of the rest a puzzle, peak MB, its "
          "processes together, MB a puzzle above the smallest book")
    first: tuple[int, float] | None = None
    for count in sizes:
        manifest = make_book(work / f"of-{count}", count)
        solving = ran("check", manifest, "--no-cache")
        seconds, memory = ran_held("build", manifest, "--out", work / "out", "--no-cache")
        first = first or (count, memory)
        more = f"{(memory - first[1]) / (count - first[0]):.2f}" if count > first[0] else "-"
        rest = (seconds - solving) / count
        print(f"  {count:5}  {seconds:8.1f}  {solving:8.1f}  {rest:.4f}  {memory:7.0f}  {more}", flush=True)
        shutil.rmtree(work / f"of-{count}")


def main() -> None:
    """Run all four reports."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--puzzles", type=int, default=200, help="puzzles in the book of the first three reports")
    parser.add_argument("--first", type=int, default=0, help="the first puzzle's seed: another book")
    parser.add_argument("--sizes", default="50,200,800,2000", help="puzzles in the books of the last")
    parser.add_argument("--only", choices=("save", "build", "drawing", "growth"), help="one report alone")
    options = parser.parse_args()
    collect_seldom()
    reports: dict[str, Callable[[Path, Path], None]] = {
        "save": report_save, "build": report_build, "drawing": report_drawing}
    with tempfile.TemporaryDirectory() as folder:
        work = Path(folder)
        manifest = make_book(work / "book", options.puzzles, options.first) if options.only != "growth" else work
        for name, report in reports.items():
            if options.only in (None, name):
                report(manifest, work)
        if options.only in (None, "growth"):
            report_growth([int(size) for size in options.sizes.split(",")], work)


if __name__ == "__main__":
    main()
