"""Processes that work for another end with it, also where it was killed; they are looked for in /proc."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="not run: it looks into /proc; run it on Linux")

FORKED = """
import time
from cagework.typeset.host.parallel import sharing
results = sharing(3)([lambda: time.sleep(600)] * 6)
print("at work", flush=True)
next(results)
"""
POOL = """
import os, sys, threading, time
from cagework.solver.model import Cell, Given, Puzzle, standard_houses
from cagework.typeset.solving.crew import Crew

def told():
    while len(open(f"/proc/{os.getpid()}/task/{os.getpid()}/children").read().split()) < WANTED:
        time.sleep(0.05)
    time.sleep(SETTLED)
    print("at work", flush=True)

if __name__ == "__main__":
    WANTED, SETTLED = int(sys.argv[1]), float(sys.argv[2])
    watch = threading.Thread(target=told, daemon=True)
    if sys.argv[3] == "spawn":      # as where this process has other threads
        watch.start()
    else:
        import concurrent.futures.process as process
        begin = process.ProcessPoolExecutor._start_executor_manager_thread
        def begun(self):
            begin(self)
            if not watch.ident:
                watch.start()
        process.ProcessPoolExecutor._start_executor_manager_thread = begun
    vast = [Puzzle(16, standard_houses(16), (), (Given(Cell(1, column), digit), Given(Cell(row, 16), 17 - digit)))
            for digit in range(1, 9) for column in range(1, 16) for row in range(2, 16)]   # minutes of work
    for _ in Crew(None, 3).find(vast, 600.0):
        pass
"""


def of_group(group: int) -> list[int]:
    """The processes of a group that are at work: not those that only wait to be noticed as ended (proc(5))."""
    found = []
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            state, _parent, its_group = stat.read_text().rpartition(")")[2].split()[:3]
        except OSError:
            continue
        if int(its_group) == group and state not in "ZX":
            found.append(int(stat.parent.name))
    return found


@pytest.mark.parametrize(("script", "arguments"), [
    (FORKED, ()), (POOL, (3, 0.5, "fork")), (POOL, (4, 3, "spawn")), (POOL, (1, 0, "spawn")),
], ids=["forked jobs", "a pool, forked", "a pool, spawned", "a pool, while it is being spawned"])
def test_workers_end_with_a_process_that_is_killed(
    script: str, arguments: tuple[object, ...], tmp_path: Path,
) -> None:
    (tmp_path / "script.py").write_text(script)
    command = [sys.executable, tmp_path / "script.py", *map(str, arguments)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, start_new_session=True) as main:
        assert main.stdout is not None and main.stdout.readline() == "at work\n"
        assert len(of_group(main.pid)) > 1
        main.kill()
        main.wait()
        try:
            for _ in range(100):
                if not of_group(main.pid):
                    return
                time.sleep(0.1)
            pytest.fail("a process was left")
        finally:
            for process in of_group(main.pid):
                os.kill(process, signal.SIGKILL)
