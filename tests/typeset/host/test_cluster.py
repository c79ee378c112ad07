"""Jobs done by a real scheduler and its workers, processes on 127.0.0.1: what one core does, whoever is killed."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from distributed import Client

from cagework.solver.model import Puzzle
from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit
from cagework.typeset.faults import ClusterError
from cagework.typeset.host import workers
from cagework.typeset.host.cluster import Cluster
from cagework.typeset.host.workers import IN_HAND, Pending, Shift, Workers
from cagework.typeset.pool.ask import Wanted, listed
from cagework.typeset.pool.index import Index
from cagework.typeset.pool.refresh import refresh
from cagework.typeset.solving.cache import code_version
from cagework.typeset.solving.crew import Crew, found
from cagework.typeset.solving.record import Result, encode

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="this check did not run: it needs POSIX signals")

JOBS = """
import os, signal, time
from pathlib import Path

def waiting(folder, number):
    (Path(folder) / f"by-{os.getpid()}").touch()
    while not (Path(folder) / "go").exists():
        time.sleep(0.01)
    return number

def deadly(home):
    if os.getpid() != home:
        os.kill(os.getpid(), signal.SIGKILL)
    return "done here"

def failing():
    raise OSError(5, "the job's own")

def tasks(dask_scheduler):
    return len(dask_scheduler.tasks)

def allow(failures, dask_scheduler):
    before, dask_scheduler.allowed_failures = dask_scheduler.allowed_failures, failures
    return before
"""
OTHER_CODE = """
from cagework.typeset.solving import cache

def code_version():
    return "another"

code_version.__module__, cache.code_version = cache.__name__, code_version
"""


class Machines:
    """A scheduler on a free port, and workers of one thread each."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self.workers: list[subprocess.Popen[bytes]] = []
        told = folder / "scheduler.json"
        self.scheduler = self._run("scheduler", "--host", "127.0.0.1", "--port", "0", "--scheduler-file", told)
        self.address: str = json.loads(_until(lambda: told.exists() and told.read_text()))["address"]

    def _run(self, *words: object) -> subprocess.Popen[bytes]:
        with (self._folder / f"{words[0]}.log").open("ab") as log:
            return subprocess.Popen([Path(sys.executable).with_name("dask"), *map(str, words), "--no-dashboard"],
                                    stdout=log, stderr=log, cwd=self._folder,
                                    env=os.environ | {"PYTHONPATH": str(self._folder)})

    def have(self, count: int, *options: object) -> None:
        """Begin workers until so many live, and wait until the scheduler knows them."""
        self.workers = [one for one in self.workers if one.poll() is None]
        while len(self.workers) < count:
            self.workers.append(self._run("worker", self.address, "--nthreads", 1, "--no-nanny", *options))
        alive = {one.pid for one in self.workers}
        _until(lambda: {*self.asked("run", os.getpid, on_error="ignore").values()} == alive)

    def asked(self, what: str, *words: Any, **named: Any) -> Any:
        """What the scheduler says to another client."""
        with Client(self.address, set_as_default=False) as client:      # type: ignore[no-untyped-call]
            return getattr(client, what)(*words, **named)

    def end(self) -> None:
        for one in (*self.workers, self.scheduler):
            one.kill()
            one.wait()


def _until(true: Callable[[], Any]) -> Any:
    while not (found := true()):
        time.sleep(0.05)
    return found


@pytest.fixture(scope="module")
def machines(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Machines]:
    folder = tmp_path_factory.mktemp("machines")
    (folder / "jobs_sent.py").write_text(JOBS, encoding="utf-8")
    (folder / "other_code.py").write_text(OTHER_CODE, encoding="utf-8")
    sys.path.insert(0, str(folder))
    begun = Machines(folder)
    yield begun
    begun.end()
    sys.path.remove(str(folder))


@pytest.fixture
def cluster(machines: Machines) -> Iterator[Cluster]:
    machines.have(2)
    opened = Cluster(machines.address, code_version)
    yield opened
    opened.close()


@pytest.fixture
def shelf(tmp_path: Path, sixes: Sequence[Puzzle]) -> Path:
    """A file a puzzle, in the last of which two sums are wrong; JSON is YAML."""
    folder = tmp_path / "shelf"
    folder.mkdir()
    for number, puzzle in enumerate(sixes):
        cages = [{"cells": " ".join(map(str, cage.cells)), "sum": cage.total} for cage in puzzle.cages]
        if number == 23:
            cages[0]["sum"], cages[1]["sum"] = puzzle.cages[0].total - 1, puzzle.cages[1].total + 1
        (folder / f"p{number:02}.yaml").write_text(json.dumps({"id": f"p{number:02}", "size": 6, "cages": cages}))
    return folder


def results(hands: Workers, jobs: Sequence[Callable[[], Any]]) -> dict[int, Any]:
    shift: Shift[int] = Shift(hands)
    for number, job in enumerate(jobs):
        shift.add(number, job, 0.0, 1.0)
    return dict(shift.results(last=True))


def as_kept(finding: Result, puzzle: Puzzle) -> bytes:
    """The bytes a cache keeps, but for the milliseconds the search took."""
    return encode(replace(finding, ms=0.0), puzzle)


def test_findings_are_byte_for_byte_those_of_one_core(cluster: Cluster, sixes: Sequence[Puzzle]) -> None:
    with Crew(None, cluster) as crew:
        assert crew.workers == 2
        far = dict(crew.find(iter(sixes), None))
    for number, puzzle in enumerate(sixes):
        assert as_kept(far[number], puzzle) == as_kept(found(puzzle, None), puzzle)


@pytest.mark.parametrize("words", [
    ("check", "--why"), ("pool", "--json"), ("tune", "p03", "--grade", "climb", "--changes", "1", "--json"),
    ("compose", "--size", "6", "--count", "3", "--grade", "stroll", "--cages", "2:2,3:3", "--no-cache"),
], ids=lambda words: words[0])
def test_commands_say_and_write_what_they_do_on_one_core(
    words: tuple[str, ...], machines: Machines, shelf: Path, tmp_path: Path, capfd: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    machines.have(2)
    monkeypatch.setattr("cagework.typeset.commands.common.cores", lambda: 1)
    name, *options = words
    files = {"check": sorted(shelf.iterdir()), "pool": [shelf], "tune": [shelf / "p03.yaml"], "compose": []}[name]
    said = []
    for number, more in enumerate(((), ("--scheduler", machines.address))):
        out = tmp_path / str(number)
        own = {"check": ["--no-cache"], "pool": ["--no-cache"]}.get(name, ["--out", str(out)])
        status = main([name, *map(str, files), *options, *own, *more])
        told = capfd.readouterr()
        said.append((status, told.out.replace(str(out), ""), told.err,
                     {one.name: one.read_bytes() for one in out.glob("*.yaml")}))
    assert said[0] == said[1]
    status, words_said, _, written = said[0]
    assert (status, bool(written)) == ((Exit.FAULTS, False) if name in ("check", "pool") else (Exit.FINE, True))
    assert "contradict each other" in words_said or name != "check"


def test_a_job_whose_worker_is_killed_is_done_by_another(
    cluster: Cluster, machines: Machines, tmp_path: Path,
) -> None:
    """Both workers are in the middle of a job when one is killed, and no job ends before that."""
    from jobs_sent import waiting  # type: ignore[import-not-found]

    def kill() -> None:
        at_work = _until(lambda: len(begun := list(tmp_path.glob("by-*"))) == 2 and begun)
        os.kill(int(at_work[0].name.partition("-")[2]), signal.SIGKILL)
        (tmp_path / "go").touch()

    killer = threading.Thread(target=kill)
    killer.start()
    done = results(cluster, [partial(waiting, str(tmp_path), number) for number in range(6)])
    killer.join()
    assert done == {number: number for number in range(6)}
    _until(lambda: sorted(one.poll() is None for one in machines.workers) == [False, True])


def test_a_killed_pool_run_is_taken_up_where_it_stopped(
    machines: Machines, shelf: Path, tmp_path: Path, refresh_killed: Callable[..., None],
) -> None:
    machines.have(2)
    index, whole, kept = tmp_path / "index.sqlite", tmp_path / "whole.sqlite", 5
    refresh_killed(index, shelf, kept, machines.address)
    with Index(index) as known, Crew(None, Cluster(machines.address, code_version)) as crew:
        assert refresh(known, shelf, crew, 60.0).solved == 24 - kept
        far = list(listed(known, Wanted()))
    with Index(whole) as known:
        assert refresh(known, shelf, Crew(), 60.0).solved == 24
        assert list(listed(known, Wanted())) == far


def test_no_more_is_handed_out_than_keeps_all_at_work(machines: Machines) -> None:
    """Counted here, and as the scheduler has it, of 200 jobs that are asked for one by one."""
    machines.have(2)

    class Counted(Cluster):
        handed = 0

        def hand_in(self, job: Callable[[], Any]) -> Pending:
            self.handed += 1
            return super().hand_in(job)

    from jobs_sent import tasks  # type: ignore[import-not-found]
    asked = came = out = known = held = 0
    opened = Counted(machines.address, code_version)
    shift: Shift[int] = Shift(opened)
    while came < 200:
        if asked < 200:
            shift.add(asked, partial(pow, asked, 2), 0.0, 1.0)
            asked += 1
        for number, made in shift.results(last=asked == 200):
            assert made == number ** 2
            came += 1
            out, held = max(out, opened.handed - came), max(held, asked - came)
            if came % 50 == 0:
                known = max(known, machines.asked("run_on_scheduler", tasks))
    opened.close()
    assert 0 < out <= IN_HAND * 2
    assert out < held <= workers._LEAST
    assert known <= 2 * IN_HAND * 2, "those that are done are forgotten a little later"


def test_what_a_job_raises_is_raised_and_is_no_fault_of_the_machines(cluster: Cluster) -> None:
    from jobs_sent import failing
    with pytest.raises(OSError, match="the job's own"):
        results(cluster, [failing])


def test_a_worker_of_other_code_is_refused(
    machines: Machines, shelf: Path, capfd: pytest.CaptureFixture[str],
) -> None:
    machines.have(2)
    machines.have(3, "--preload", "other_code.py")
    status = main(["check", *map(str, shelf.iterdir()), "--no-cache", "--scheduler", machines.address])
    told = capfd.readouterr()
    other = machines.workers.pop()
    other.kill()
    other.wait()
    assert (status, told.out) == (Exit.USAGE, "")
    assert "other code of cagework" in told.err and "install the same version there as here" in told.err


def test_a_job_that_kills_whoever_does_it_is_done_here_at_last(cluster: Cluster, machines: Machines) -> None:
    """The scheduler gives a job up for which more workers died than it allows, here none."""
    from jobs_sent import allow, deadly
    before = machines.asked("run_on_scheduler", allow, 0)
    jobs = [partial(deadly, os.getpid()), *[partial(pow, number, 2) for number in range(6)]]
    done = results(cluster, jobs)
    machines.asked("run_on_scheduler", allow, before)
    assert [done[number] for number in range(7)] == ["done here", 0, 1, 4, 9, 16, 25]


def test_nobody_left_is_said(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A scheduler that never had a worker; then the scheduler is killed while it is waited for."""
    own = Machines(tmp_path)
    try:
        monkeypatch.setattr(workers, "_LOOK", 0.1)
        opened = Cluster(own.address, code_version)
        with pytest.raises(ClusterError, match="has no worker") as told:
            results(opened, [partial(pow, 2, 3)])
        assert told.value.lost and "dask worker" in told.value.fault.hint
        opened.close()
        monkeypatch.undo()
        opened = Cluster(own.address, code_version)
        threading.Timer(0.5, own.scheduler.kill).start()
        with pytest.raises(ClusterError, match="no longer answers") as told:
            results(opened, [partial(pow, 2, 3)])
        assert told.value.lost
        opened.close()
    finally:
        own.end()


def test_no_scheduler_and_no_dask_are_said(
    shelf: Path, tmp_path: Path, capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("cagework.typeset.host.cluster._SECONDS", 0.5)
    index = tmp_path / "index.sqlite"
    asked = ["pool", str(shelf), "--index", str(index), "--no-cache", "--scheduler", "tcp://127.0.0.1:1"]
    assert main(asked) == Exit.USAGE
    told = capfd.readouterr()
    assert told.out == "" and "no Dask scheduler answers at 'tcp://127.0.0.1:1'" in told.err
    monkeypatch.setitem(sys.modules, "distributed", None)
    assert main(asked) == Exit.USAGE
    assert "pip install 'cagework[dask]'" in capfd.readouterr().err
