"""The program run as its command, what it holds meanwhile, its desk as a process, and a browser to see that in."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any
from urllib.parse import urljoin

COMMAND = (sys.executable, "-m", "cagework.typeset")


def ran(*arguments: object) -> float:
    """Run a command; seconds by the clock."""
    start = time.perf_counter()
    subprocess.run([*COMMAND, *map(str, arguments)], check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - start


def ran_held(*arguments: object) -> tuple[float, float]:
    """Run a command; seconds by the clock, and the most memory its processes held together at a time, in MB.

    Asking holds them up, so it is done ever more seldom: each time a tenth of the time so far is over.
    """
    start = time.perf_counter()
    most, pause = 0, 0.25
    with subprocess.Popen([*COMMAND, *map(str, arguments)], stdout=subprocess.DEVNULL) as running:
        while True:
            try:
                status = running.wait(pause)
                break
            except subprocess.TimeoutExpired:
                most = max(most, held(running.pid))
                pause = max(pause, (time.perf_counter() - start) / 10)
    taken = time.perf_counter() - start
    if status:
        raise RuntimeError(f"it ended with status {status}")
    return taken, most / 2**10


def held(process: int) -> int:
    """The memory of a process and those below it, in KB, what they share counted once (Linux: proc(5), Pss)."""
    kept = 0
    for one in family(process):
        with suppress(OSError, TypeError):      # it has just ended
            kept += int(re.search(r"^Pss: +(\d+)", Path(f"/proc/{one}/smaps_rollup").read_text(), re.M)[1])  # type: ignore[index]
    return kept


def family(process: int) -> list[int]:
    """A process and all below it that live, whichever of its threads began them (Linux: proc(5), children)."""
    found = [process]
    for one in found:
        with suppress(OSError):
            for task in Path(f"/proc/{one}/task").glob("*/children"):
                found += map(int, task.read_text().split())
    return found


@contextmanager
def desk(manifest: Path, kept: Path) -> Iterator[tuple[str, int]]:
    """The desk as a process, once it shows the book: the address that it prints, and the process."""
    with subprocess.Popen([*COMMAND, "desk", str(manifest), "--cache", str(kept)], stdout=subprocess.PIPE,
                          text=True) as running:
        assert running.stdout is not None
        try:
            address = running.stdout.readline().split()[0]
            while not told(address)["fresh"]:
                time.sleep(0.2)
            yield address, running.pid
        finally:
            running.terminate()


def told(address: str, path: str = "state.json") -> Any:
    """What the desk says at a path: its state."""
    with urllib.request.urlopen(urljoin(address, path), timeout=600) as answer:
        return json.load(answer)


@contextmanager
def chromium() -> Iterator[Any]:
    """A browser without a window, with a profile of its own; None where it is not installed."""
    if shutil.which("chromium") is None or shutil.which("chromedriver") is None:
        yield None
        return
    from selenium import webdriver

    options = webdriver.ChromeOptions()
    options.binary_location = str(shutil.which("chromium"))
    with tempfile.TemporaryDirectory() as own:
        for flag in ("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
                     "--disable-background-networking", "--disable-component-update", "--disable-sync",
                     f"--user-data-dir={own}"):
            options.add_argument(flag)
        driver = webdriver.Chrome(options=options, service=webdriver.ChromeService(shutil.which("chromedriver")))
        try:
            driver.set_script_timeout(120)
            yield driver
        finally:
            driver.quit()
