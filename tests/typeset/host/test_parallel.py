"""Jobs in forked processes: the same results, in order, whatever becomes of a process.

Run in a process of their own, since the test runner may have threads.
"""

from __future__ import annotations

import json
import subprocess
import sys
from typing import Any

import pytest

from cagework.typeset.host.parallel import in_turn, may_fork, page_runs

ELSEWHERE = pytest.mark.skipif(
    sys.platform != "linux", reason="not run: work is shared by forking on Linux alone; run it there")

BEGIN = """
import json, os, pathlib, signal, tempfile, threading, time
from functools import partial
from cagework.typeset.host.parallel import in_turn, may_fork, sharing
HOME = os.getpid()
FOLDER = pathlib.Path(tempfile.mkdtemp())

def until(true):
    while not true():
        time.sleep(0.01)
"""


def said(script: str) -> Any:
    """What a script prints, as JSON."""
    done = subprocess.run([sys.executable, "-W", "error", "-c", BEGIN + script], capture_output=True, text=True,
                          check=False, timeout=180)
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    return json.loads(done.stdout)


def test_in_turn_does_each_job_when_it_is_asked_for() -> None:
    done: list[int] = []
    results = in_turn([lambda: done.append(1), lambda: done.append(2)])
    assert done == []
    next(results)
    assert done == [1]


@ELSEWHERE
def test_results_come_in_the_order_of_the_jobs_from_other_processes() -> None:
    """The first job ends after the second and third, and the results are larger than any pipe holds."""
    order, homes, sizes = said("""
def job(number):
    if number == 0:
        until(lambda: (FOLDER / "1").exists() and (FOLDER / "2").exists())
    (FOLDER / str(number)).touch()
    return number, os.getpid() == HOME, b"x" * 3_000_000
results = list(sharing(3)([partial(job, number) for number in range(8)]))
print(json.dumps([[one[0] for one in results], [one[1] for one in results], [len(one[2]) for one in results]]))
""")
    assert order == list(range(8))
    assert homes == [False] * 8
    assert sizes == [3_000_000] * 8


@ELSEWHERE
def test_the_first_jobs_are_begun_at_once_and_no_more_than_there_are_workers() -> None:
    """The first two end only once both have begun, unasked. Each job counts those that run beside it."""
    seen = said("""
def job(number):
    (FOLDER / f"in-{number}").touch()
    if number < 2:
        until(lambda: len(list(FOLDER.glob("in-*"))) >= 2)
    running = len(list(FOLDER.glob("in-*"))) - len(list(FOLDER.glob("out-*")))
    (FOLDER / f"out-{number}").touch()
    return running
results = sharing(2)([partial(job, number) for number in range(5)])
until(lambda: len(list(FOLDER.glob("out-*"))) == 2)
print(json.dumps([len(list(FOLDER.glob("in-*"))), max(results)]))
""")
    assert seen == [2, 2]


@ELSEWHERE
def test_what_a_job_raises_is_raised_in_its_turn() -> None:
    assert said("""
def job(number):
    if number == 1:
        raise LookupError("no such thing")
    return number
results = sharing(2)([partial(job, number) for number in range(3)])
told = [next(results)]
try:
    next(results)
except LookupError as error:
    told.append(str(error))
print(json.dumps([*told, next(results)]))
""") == [0, "no such thing", 2]


@ELSEWHERE
def test_a_job_whose_process_is_killed_is_done_here() -> None:
    assert said("""
def job():
    if os.getpid() != HOME:
        os.kill(os.getpid(), signal.SIGKILL)
    return "done here"
print(json.dumps(list(sharing(2)([job, lambda: "other"]))))
""") == ["done here", "other"]


@ELSEWHERE
def test_a_process_with_another_thread_is_not_forked() -> None:
    assert said("""
alone = may_fork()
hold = threading.Event()
other = threading.Thread(target=hold.wait)
other.start()
told = [alone, may_fork(), sharing(4) is in_turn]
hold.set()
other.join()
print(json.dumps([*told, sharing(1) is in_turn, sharing(4) is in_turn]))
""") == [True, False, True, True, False]


def test_only_linux_is_taken_to_fork_soundly(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.platform", "darwin")
    assert not may_fork()


@pytest.mark.parametrize("pages", [0, 1, 119, 120, 121, 1920, 1921, 9300])
def test_every_page_is_in_one_run_and_runs_are_few(pages: int) -> None:
    runs = page_runs(pages)
    assert [page for run in runs for page in run] == list(range(pages))
    assert len(runs) <= 16
    assert all(len(run) >= 120 for run in runs[:-1])
