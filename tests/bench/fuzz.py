"""Damaged input by the thousand, through the program's own door: no traceback, no fault without a place, no hang.

    python tests/bench/fuzz.py [--trials 20000] [--seed 1] [--kinds manifest,series,...] [--only SEED]

Each trial takes sound files, damages one of them by a few seeded moves, and runs a command on it in a process of
its own. A trial fails where the command raises, ends in another status than its own, prints a fault that names no
line, blames itself for what the editor wrote, takes over ten seconds of processor time or over 1 GB, or hangs.
`--only` runs one trial and shows it.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import json
import os
import random
import re
import resource
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from damage import Mangle, bytes_moved, lines_moved, mangled

from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit

ROOT = Path(__file__).parents[2]
MOST_SECONDS, MOST_BYTES = 10, 1 << 30
HANGS = 100
"""Seconds by the clock after which a trial is ended: it waits for something."""

BOOK = """\
book:
  title: The Slow Train
  by: the stoker
  introduction: |
    Each of these was *made by hand*.

    Take your time.
  layout: {layout}
  pages: {{first_hints: true}}
  solutions: full
  press: {{stock: uncoated, bleed: 3}}
  cover: {{puzzle: lamp, blurb: Two puzzles., binding: perfect, caliper: 0.1}}
sections:
  - title: At the Platform
    intro: Four by four.
    puzzles: [lamp, kiosk]
puzzles:
  - id: lamp
    title: The Lamp Room
    by: the stoker
    size: 4
    map: |
      aabc
      dabc
      deec
      dfff
    sums: {{a: 7, b: 6, c: 6, d: 8, e: 4, f: 9}}
  - id: kiosk
    title: Kiosk
    size: 4
    note: Warm.
    cages:
      - {{sum: 7, cells: r1c1 r2c1 r2c2}}
      - {{sum: 6, cells: r1c2-r1c3 r2c3}}
      - {{sum: 8, cells: [r1c4, "r2c4-r3c4"]}}
      - {{sum: 10, cells: r3c1-r4c2}}
      - {{sum: 9, cells: "r3c3, r4c3, r4c4"}}
    givens: {{r4c4: 2}}
    houses: [diagonals]
"""
SERIES = """\
series:
  id: gazette
  title: The Gazette
  start: 2027-03-01
  count: 2
  days: {monday: stroll, tuesday: stroll}
  fallback: nearest
  ledger: printed.yaml
pool: [pool/*.yaml]
slots:
  - slot: own.yaml
    sizes: [4]
"""
LAMP = """\
id: {name}
title: The {name}
size: 4
map: |
  aabc
  dabc
  deec
  dfff
sums: {{a: 7, b: 6, c: 6, d: 8, e: 4, f: 9}}
"""

@dataclass(frozen=True, slots=True)
class Trial:
    """One damaged input: the command's words, where they are to be run, what kind it is of."""

    kind: str
    seed: int
    words: Sequence[str]
    folder: Path


def _write(path: Path, data: bytes | str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(data if isinstance(data, bytes) else data.encode())


def manifest(chance: random.Random, folder: Path) -> Sequence[str]:
    """A small book, or one of the repository's."""
    text = BOOK.format(layout="a5-one-up").encode()
    if chance.random() < 0.3:
        text = chance.choice(GOOD).read_bytes()
    _write(folder / "book.yaml", mangled(chance, text))
    if chance.random() < 0.5:
        return ["check", "book.yaml", *chance.choice(([], ["--json"], ["--why"], ["--spare"])), "--seconds", "2"]
    return ["build", "book.yaml", *chance.choice(([], [], ["--press"], ["--booklet"])), "--seconds", "2"]


def explain(chance: random.Random, folder: Path) -> Sequence[str]:
    """A file of one puzzle."""
    _write(folder / "lamp.yaml", mangled(chance, LAMP.format(name="lamp").encode()))
    return ["explain", "lamp.yaml", chance.choice(("lamp", "lamp", "Lamp", "")), "--seconds", "2"]


def series(chance: random.Random, folder: Path, mangle: Mangle = mangled) -> Sequence[str]:
    """A series, its ledger, or its slot."""
    files = {"series.yaml": SERIES.encode(), "own.yaml": SLOT.read_bytes()}
    if LEDGERS:
        files["printed.yaml"] = LEDGERS[0]
    name = chance.choice(sorted(files))
    files[name] = mangle(chance, files[name])
    for file, data in files.items():
        _write(folder / file, data)
    _write(folder / "pool" / "book.yaml", BOOK.format(layout="a5-one-up"))
    return ["columns", "series.yaml", "--seconds", "2"]


def layout(chance: random.Random, folder: Path) -> Sequence[str]:
    """A layout of one's own."""
    _write(folder / "own.yaml", mangled(chance, chance.choice(SHELF).read_bytes()))
    _write(folder / "book.yaml", BOOK.format(layout="own.yaml"))
    return ["build", "book.yaml", *chance.choice(([], ["--press"])), "--seconds", "2"]


def cache(chance: random.Random, folder: Path) -> Sequence[str]:
    """A spoiled cache."""
    shutil.copytree(KEPT, folder / "kept")
    kept = sorted(path for path in (folder / "kept").rglob("*") if path.is_file())
    for path in chance.sample(kept, min(len(kept), 3)):
        path.write_bytes(bytes_moved(chance, path.read_bytes()) if chance.random() < 0.7
                         else chance.choice(kept).read_bytes())
    _write(folder / "book.yaml", BOOK.format(layout="a5-one-up"))
    return [chance.choice(("check", "build")), "book.yaml", "--cache", "kept"]


def pdf(chance: random.Random, folder: Path) -> Sequence[str]:
    """A damaged PDF, by itself or against its book."""
    _write(folder / "book.yaml", BOOK.format(layout="a5-one-up"))
    whole = chance.choice(PDFS).read_bytes()
    _write(folder / "x.pdf", bytes_moved(chance, whole) if chance.random() < 0.6 else lines_moved(chance, whole))
    return ["preflight", "x.pdf", *chance.choice(([], ["--json"], ["--against", "book.yaml"]))]


KINDS: dict[str, tuple[int, Callable[[random.Random, Path], Sequence[str]]]] = {
    "manifest": (8, manifest), "explain": (2, explain), "series": (3, series), "layout": (4, layout),
    "cache": (1, cache), "pdf": (2, pdf),
}
"""Kind -> its share of the trials, and how one is made."""

GOOD = sorted((ROOT / "tests" / "typeset" / "manifest" / "good").glob("*.yaml"))
SHELF = sorted((ROOT / "layouts" / "shelf").glob("*.yaml"))
SLOT = ROOT / "layouts" / "slots" / "single-column.yaml"
PDFS: list[Path] = []
LEDGERS: list[bytes] = []
KEPT = Path()


def prepare(top: Path) -> None:
    """The sound PDFs and the sound cache that are to be damaged."""
    global KEPT
    KEPT = top / "kept"
    (top / "sound").mkdir()
    (top / "sound" / "book.yaml").write_text(BOOK.format(layout="a5-one-up"), encoding="utf-8")
    status = main(["build", str(top / "sound" / "book.yaml"), "--out", str(top / "sound" / "out"), "--press",
                   "--booklet", "--cache", str(KEPT)])
    if status:
        raise SystemExit(f"the sound book could not be built: status {status}")
    series(random.Random(0), top / "sound", mangle=lambda _, data: data)
    if main(["columns", str(top / "sound" / "series.yaml"), "--out", str(top / "sound" / "columns")]):
        raise SystemExit("the sound series could not be made")
    LEDGERS[:] = [(top / "sound" / "printed.yaml").read_bytes()]
    PDFS.extend(sorted((top / "sound" / "out").glob("*.pdf")))


_PLACED = re.compile(r"^.+?:\d+:\d+: ")
_UNPLACED = re.compile(r"^(\S[^:\n]*\.ya?ml): (?!warning: )(.+)$", re.MULTILINE)
_WHOLE_FILE = ("cannot be read", "is larger than", "there is no such file", "is a folder", "is empty",
               "there is no puzzle '")
"""What may be said of a file as a whole."""


def judged(words: Sequence[str], status: int, said: str) -> str:
    """What is wrong with how a command ended; empty where nothing is."""
    if status not in (Exit.FINE, Exit.FAULTS, Exit.UNREADABLE, Exit.USAGE):
        return f"status {status}: {said.splitlines()[-1:] or ''}"
    if "cagework drew the file wrong" in said or "Traceback" in said:
        lines = said.splitlines()
        at = next(number for number, line in enumerate(lines) if "drew the file" in line or "Traceback" in line)
        return f"blames itself: {' | '.join(lines[max(0, at - 1):at + 1])[:200]}"
    for match in _UNPLACED.finditer(said):
        if words[0] != "preflight" and not any(word in match[2] for word in _WHOLE_FILE):
            return f"a fault without a place: {match[0][:150]}"
    if "another kind of value" in said:
        return "does not say which kind of value is wanted"
    if status and not said.strip():
        return f"status {status} without a word"
    return ""


def run(trial: Trial) -> str:
    """Run one trial here; empty where it went well."""
    os.chdir(trial.folder)
    said = io.StringIO()
    with contextlib.redirect_stdout(said), contextlib.redirect_stderr(said):
        try:
            status = main(list(trial.words))
        except SystemExit as error:
            status = int(error.code or 0)
        except BaseException as error:
            return f"{type(error).__name__}: {str(error)[:120]} at " + " < ".join(
                f"{Path(frame.filename).stem}:{frame.lineno}"
                for frame in reversed(traceback.extract_tb(error.__traceback__)[-4:]))
    return judged(trial.words, status, said.getvalue())


def trial_of(seed: int, kinds: Sequence[str], top: Path) -> Trial:
    """The trial of a seed."""
    chance = random.Random(seed)
    kind = chance.choices(kinds, [KINDS[kind][0] for kind in kinds])[0]
    folder = top / f"t{seed}"
    folder.mkdir()
    return Trial(kind, seed, KINDS[kind][1](chance, folder), folder)


def apart(seed: int, kinds: Sequence[str], top: Path) -> tuple[str, str, float, int]:
    """A trial in a process of its own: kind, what is wrong, seconds, most bytes."""
    trial = trial_of(seed, kinds, top)
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        signal.alarm(HANGS)
        os.setpgid(0, 0)
        wrong = run(trial)
        os.write(writing, json.dumps(wrong).encode()[:60_000])
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading, "rb") as pipe:
        data = pipe.read()
    _, ended, used = os.wait4(child, 0)
    with contextlib.suppress(ProcessLookupError):
        os.killpg(child, signal.SIGKILL)
    seconds = used.ru_utime + used.ru_stime
    most = used.ru_maxrss * 1024
    wrong = json.loads(data) if data else f"ended with wait status {ended}"
    if not wrong and seconds > MOST_SECONDS:
        wrong = f"took {seconds:.1f} s"
    if not wrong and most > MOST_BYTES:
        wrong = f"took {most >> 20} MB"
    shutil.rmtree(trial.folder)
    return trial.kind, wrong, seconds, most


def fuzz(seeds: Sequence[int], kinds: Sequence[str]) -> list[tuple[int, str, str, float, int]]:
    """Run these trials: seed, kind, what is wrong, seconds, most bytes."""
    with tempfile.TemporaryDirectory() as folder:
        top = Path(folder)
        with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
            prepare(top)
        return [(seed, *apart(seed, kinds, top)) for seed in seeds]


def _shown(seed: int, kinds: Sequence[str]) -> None:
    with tempfile.TemporaryDirectory() as folder:
        top = Path(folder)
        with contextlib.redirect_stdout(io.StringIO()), contextlib.redirect_stderr(io.StringIO()):
            prepare(top)
        trial = trial_of(seed, kinds, top)
        print(trial.kind, *trial.words)
        for file in sorted(trial.folder.glob("*.yaml")):
            print(f"--- {file.name}")
            print(file.read_bytes().decode("utf-8", "replace"))
        os.chdir(trial.folder)
        print("status", main(list(trial.words)))


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--trials", type=int, default=20_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--kinds", default=",".join(KINDS))
    parser.add_argument("--only", type=int)
    return parser.parse_args()


if __name__ == "__main__":
    asked = _arguments()
    chosen = asked.kinds.split(",")
    os.environ["XDG_CACHE_HOME"] = tempfile.mkdtemp()
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    if asked.only is not None:
        _shown(asked.only, chosen)
        sys.exit()
    begun = time.perf_counter()
    found = fuzz(range(asked.seed, asked.seed + asked.trials), chosen)
    bad = [one for one in found if one[2]]
    for reason, seeds in Counter(re.sub(r"\d+", "#", one[2])[:90] for one in bad).most_common():
        first = next(one for one in bad if re.sub(r"\d+", "#", one[2])[:90] == reason)
        print(f"{seeds:5} x seed {first[0]} {first[1]}: {first[2]}")
    kinds_run = dict(Counter(one[1] for one in found))
    print(f"{len(found)} trials from seed {asked.seed}: {kinds_run}; {len(bad)} failed; "
          f"longest {max(one[3] for one in found):.1f} s, most {max(one[4] for one in found) >> 20} MB; "
          f"{time.perf_counter() - begun:.0f} s")
    sys.exit(bool(bad))
