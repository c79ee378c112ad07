"""What drawing on the desk costs: `python tests/bench/drawing.py [CHANGES] [SAVES]`.

Three reports, on the desk run as its command over a small book of composed puzzles, all measured in one run:
*verdict*: plain puzzles of 9 by 9 changed again and again (a sum up, down or not known, a cage a cell less), from
posting the change to its verdict, by the clock and in time on processors (of the desk and its processes), beside a
cold `check` of one of them;
*screen*: the same in Chromium, where it is installed: from a key to the verdict painted, a key at a time;
*saves*: as many saves of one puzzle, and what the desk and its processes hold after every fifth of them (Linux:
proc(5), Pss).
"""

from __future__ import annotations

import json
import os
import random
import statistics
import sys
import tempfile
import time
import urllib.request
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import running  # beside this file
from desk import make_book  # beside this file

FIRST = 40
"""The seed of the first puzzle."""


class Page:
    """What the page does, without one."""

    def __init__(self, address: str) -> None:
        at = urlsplit(address)
        self.address = address
        self._top = f"http://{at.netloc}"
        self._token = parse_qs(at.query)["token"][0]

    def get(self, path: str) -> Any:
        """What stands at a path."""
        return running.told(self.address, path)

    def post(self, do: str, **more: Any) -> Any:
        """What the desk answers."""
        asked = urllib.request.Request(self._top + "/do", json.dumps({"do": do, **more}).encode(), {
            "Content-Type": "application/json", "Origin": self._top, "X-Desk-Token": self._token})
        with urllib.request.urlopen(asked, timeout=600) as answer:
            return json.load(answer)


def processor(process: int) -> float:
    """Seconds on processors of a process and those below it, as far as they live (proc(5), stat)."""
    ticks = 0
    for one in running.family(process):
        fields = Path(f"/proc/{one}/stat").read_text().rpartition(")")[2].split()
        ticks += int(fields[11]) + int(fields[12])
    return ticks / os.sysconf("SC_CLK_TCK")


def changed(drawing: dict[str, Any], rng: random.Random) -> dict[str, Any]:
    """The drawing with a sum a little off, with a cage a cell less, or with a sum not known yet."""
    cages = [dict(cage) for cage in drawing["cages"]]
    cage = rng.choice(cages)
    match rng.randrange(3):
        case 0:
            cage["sum"] += rng.choice((-2, -1, 1, 2))
        case 1:
            cage["cells"] = cage["cells"][:-1] or cage["cells"]
        case _:
            cage["sum"] = None
    return {**drawing, "cages": cages}


def report_verdicts(page: Page, process: int, changes: int, manifest: Path) -> None:
    """From a change to its verdict."""
    names = [row["id"] for row in page.get("/state.json")["puzzles"]]
    drawings = [page.get(f"/puzzles/{name}/drawing.json")["drawing"] for name in names]
    page.post("judge", stamp=0, drawing=drawings[0])        # the process begins
    rng = random.Random(1)
    took, states = [], []
    before = processor(process)
    for number in range(changes):
        drawing = drawings[number % len(drawings)]
        drawing = changed(drawing, rng) if rng.random() < 0.75 else drawing
        start = time.perf_counter()
        states.append(page.post("judge", stamp=number, drawing=drawing)["state"])
        took.append(time.perf_counter() - start)
    spent = (processor(process) - before) / changes
    took.sort()
    cold = running.ran("check", manifest.parent / "puzzles" / f"{names[0]}.yaml", "--no-cache")
    told = ", ".join(f"{states.count(state)} {state}" for state in sorted(set(states)))
    print(f"verdict: {changes} changes ({told}): median {statistics.median(took):.3f} s, "
          f"95 % under {took[int(0.95 * changes)]:.3f} s, most {took[-1]:.3f} s by the clock; "
          f"{spent:.3f} s of processors each; a cold check of one takes "
          f"{cold / statistics.median(took):.0f} times the median")


TYPED = """
    const [changes, done] = arguments;
    const root = document.documentElement, grid = document.querySelector("#grid"), took = [];
    const key = (name, more = {}) => grid.querySelector('[tabindex="0"]').dispatchEvent(
        new KeyboardEvent("keydown", { key: name, bubbles: true, ...more }));
    const painted = () => new Promise((tell) => new MutationObserver((_, observer) => {
        observer.disconnect();
        requestAnimationFrame(() => setTimeout(tell));
    }).observe(root, { attributeFilter: ["data-judged"] }));
    (async () => {
        for (let number = 0; number < changes; number++) {
            for (let step = 0; step < 5; step++) key(number % 3 ? "ArrowRight" : "ArrowDown");
            if (number % 9 === 8) for (let step = 0; step < 9; step++) key("ArrowLeft");
            const verdict = painted(), start = performance.now();
            number % 2 ? key("z", { ctrlKey: true }) : key("Backspace");
            await verdict;
            took.push(performance.now() - start);
        }
        done(took);
    })();"""


def report_screen(page: Page, changes: int) -> None:
    """From a key to the verdict on the screen: a sum shortened, and brought back."""
    with running.chromium() as driver:
        if driver is None:
            return
        driver.set_window_size(1440, 900)
        driver.implicitly_wait(60)
        driver.get(page.address)
        driver.find_element("css selector", "tbody button").click()
        driver.find_element("css selector", "#draw-this").click()
        driver.find_element("css selector", "#verdict[data-kind=good]")
        took = sorted(driver.execute_async_script(TYPED, changes))
    print(f"screen: {changes} changes: median {statistics.median(took) / 1000:.3f} s, "
          f"95 % under {took[int(0.95 * changes)] / 1000:.3f} s, most {took[-1] / 1000:.3f} s by the clock")


def report_saves(page: Page, process: int, saves: int) -> None:
    """What is held after so many saves."""
    name = page.get("/state.json")["puzzles"][0]["id"]
    sizes = []
    for number in range(saves):
        found = page.get(f"/puzzles/{name}/drawing.json")
        drawing = {**found["drawing"], "title": f"Number {number}"}
        page.post("save", id=name, drawing=drawing, digest=found["digest"])
        page.post("judge", stamp=number, drawing=drawing)
        if (number + 1) % max(1, saves // 5) == 0:
            time.sleep(2)       # the last saves are noticed
            sizes.append(running.held(process) / 2**10)
    print(f"saves: {saves}; held after every fifth of them, in MB: " + ", ".join(f"{size:.0f}" for size in sizes))


def main() -> None:
    """Make the book, and measure."""
    changes, saves = (int(one) for one in (*sys.argv[1:], *("100", "200")[len(sys.argv) - 1:]))
    with tempfile.TemporaryDirectory() as made:
        manifest = make_book(Path(made), 4, FIRST)
        with running.desk(manifest, Path(made) / "kept") as (address, process):
            page = Page(address)
            report_verdicts(page, process, changes, manifest)
            report_screen(page, changes)
            report_saves(page, process, saves)


if __name__ == "__main__":
    main()
