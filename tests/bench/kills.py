"""Commands killed and stopped: `python tests/bench/kills.py [instants] [seed] [every]`.

`build --press --booklet` and `columns` run as commands, with kill -9, TERM and INT at `instants` random moments
in all (200), and at every `every`-th of their file operations (1; Python's audit events tell of them). An old
book, or old columns, stand there before. After each, at once and after the next command (`schema`), it is looked
at what is there: the old, the new, or another thing; what is left over beside it; whether a process lives on after
2 s (proc(5)); and whether what was said is true. Prints the seed and what was found, and how many were bad.
"""

from __future__ import annotations

import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).parents[2]
SIGNALS = (signal.SIGKILL, signal.SIGTERM, signal.SIGINT)
WROTE = {"build": "the book was written", "columns": "the columns were written"}
RUN = """
import os, sys
from cagework.typeset.__main__ import main
home, left, number = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
EVENTS = {"open", "os.rename", "os.remove", "os.mkdir", "os.rmdir", "os.link", "shutil.rmtree"}
me = os.getpid()
def hear(event, arguments):
    global left
    if left > 0 and event in EVENTS and home in str(arguments) and os.getpid() == me:
        left -= 1
        if left == 0:
            os.kill(me, number)
sys.addaudithook(hear)
sys.argv[1:] = sys.argv[4:]
status = main()
print("operations", 1_000_000 - left, file=sys.stderr)
sys.exit(status)
"""
PUZZLE = """\
  id: {name}
  title: A {name}
  size: 4
  map: |
    aabc
    dabc
    deec
    dfff
  sums: {{a: 7, b: 6, c: 6, d: 8, e: 4, f: 9}}
"""


class Trial:
    """One command over one folder, with what it makes of the old and of the new."""

    def __init__(self, home: Path, command: str) -> None:
        self.home, self.command = home, command
        self.place = home / "place"
        self.place.mkdir(parents=True)
        self.environment = {**os.environ, "XDG_CACHE_HOME": str(home / "cache")}
        self.states: dict[str, dict[str, bytes]] = {}
        self.manifests = {title: self._manifest(title) for title in ("Old", "New")}
        for title in ("Old", "New"):
            start = time.monotonic()
            done = self.run(title)
            self.seconds = time.monotonic() - start
            if done.returncode:
                raise SystemExit(done.stderr)
            self.operations = int(done.stderr.split()[-1])
            if title == "Old" and command == "build":
                (self.place / "out" / "notes.txt").write_text("the editor's own")
            self.states[title] = held(self.place)
            shutil.copytree(self.place, home / title)

    def _manifest(self, title: str) -> Path:
        name = {"Old": "lamp", "New": "lantern"}[title]
        text = PUZZLE.format(name=name)
        if self.command == "build":
            path = self.home / f"{title}.yaml"
            path.write_text(f"book: {{title: {title}}}\npuzzles:\n-{text[1:]}")
            return path
        (self.home / f"{name}-one.yaml").write_text("\n".join(line[2:] for line in text.split("\n")))
        path = self.home / f"{title}.yaml"
        path.write_text(f"series: {{id: {title}, title: {title}, start: 2027-03-01, count: 1, "
                        f"days: {{monday: stroll}}, ledger: place/used-{title}.yaml}}\npool: {name}-one.yaml\n"
                        "slots: [{slot: single-column, sizes: [4]}]\n")
        return path

    def arguments(self, title: str, point: int, number: int) -> list[str]:
        more = ["--press", "--booklet"] if self.command == "build" else []
        return [sys.executable, "-c", RUN, str(self.place), str(point), str(int(number)), self.command,
                str(self.manifests[title]), "--out", str(self.place / "out"), *more]

    def run(self, title: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(self.arguments(title, 1_000_000, 0), capture_output=True, text=True, check=False,
                              env=self.environment, cwd=ROOT)

    def stop(self, number: int, point: int, after: float | None) -> tuple[str, list[str]]:
        """Make the new over the old, stopped; how it ended, and what was wrong."""
        shutil.rmtree(self.place)
        shutil.copytree(self.home / "Old", self.place)
        with subprocess.Popen(self.arguments("New", point, number), stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                              text=True, env=self.environment, start_new_session=True) as process:
            if after is not None:
                time.sleep(after)
                process.send_signal(number)
            _, said = process.communicate()
        then, wrong = held(self.place), []
        stopped = [line for line in said.splitlines() if line.startswith("stopped; ")]
        if "Traceback" in said:
            wrong.append("a traceback")
        if number != signal.SIGKILL and stopped:
            wanted = self.states["New" if WROTE[self.command] in stopped[0] else "Old"]
            wrong += [] if then == wanted else [f"untrue: {stopped[0]}"]
        elif number == signal.SIGINT and process.returncode not in (0, -number):
            wrong.append(f"status {process.returncode}, and nothing is said")
        time.sleep(2.0 if lives(process.pid) else 0.0)
        wrong += ["a process lives on"] if lives(process.pid) else []
        subprocess.run([sys.executable, "-m", "cagework.typeset", "schema"], capture_output=True, check=True,
                       env=self.environment)
        now = held(self.place)
        kind = next((title for title, state in self.states.items() if state == now), "another")
        wrong += ["neither the old nor the new"] if kind == "another" else []
        wrong += ["a note is left"] if list((self.home / "cache").glob("cagework/unfinished/*")) else []
        at_once = next((title for title, state in self.states.items() if state == then), "to be mended")
        return f"{kind} (at once: {at_once})", wrong


def held(folder: Path) -> dict[str, bytes]:
    """Everything in a folder, folders with a slash."""
    return {str(path.relative_to(folder)) + "/" * path.is_dir(): b"" if path.is_dir() else path.read_bytes()
            for path in folder.rglob("*")}


def lives(group: int) -> bool:
    """Whether a process of the group is at work."""
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            state, _parent, its_group = stat.read_text().rpartition(")")[2].split()[:3]
        except OSError:
            continue
        if int(its_group) == group and state not in "ZX":
            return True
    return False


def main() -> None:
    """Try, and print what was found."""
    instants, seed, every = (*map(int, sys.argv[1:]), *(200, 20261128, 1)[len(sys.argv) - 1:])
    print(f"seed {seed}")
    draw = random.Random(seed)
    bad = 0
    with tempfile.TemporaryDirectory() as folder:
        trials = {command: Trial(Path(folder) / command, command) for command in WROTE}
        for command, trial in trials.items():
            points = range(1, trial.operations + 1, every)
            plans = [(number, point, None) for number in SIGNALS for point in points]
            plans += [(draw.choice(SIGNALS), 1_000_000, draw.uniform(0.0, 1.2 * trial.seconds))
                      for _ in range(instants // 2)]
            print(f"{command}: {trial.operations} file operations, {len(plans)} trials", flush=True)
            counts: Counter[str] = Counter()
            for number, point, after in plans:
                kind, wrong = trial.stop(number, point, after)
                counts[f"{signal.Signals(number).name} {kind}"] += 1
                bad += bool(wrong)
                if wrong:
                    where = f"operation {point}" if after is None else f"after {after:.3f} s"
                    print(f"  {signal.Signals(number).name} at {where}: {', '.join(wrong)}", flush=True)
            for name, count in sorted(counts.items()):
                print(f"  {count:5} {name}")
    print(f"{bad} bad")


if __name__ == "__main__":
    main()
