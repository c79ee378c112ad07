"""The process that works for the desk, by jobs of the standard library, which it can find; and its own jobs."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from cagework.solver.model import Answer, Puzzle
from cagework.solver.search.exact import Outcome
from cagework.typeset.desk import jobs
from cagework.typeset.desk.worker import JobFailed, Superseded, Worker, _work
from cagework.typeset.entry import Entry
from cagework.typeset.manifest.document import parse_document
from cagework.typeset.manifest.puzzle import read_puzzle


def test_a_worker_is_another_process_and_outlives_a_kill() -> None:
    worker = Worker(impatient=False, seconds=60)
    first = worker.do("a", os.getpid)
    assert first != os.getpid() and worker.do("a", os.getpid) == first
    with pytest.raises(JobFailed, match="no number"):
        worker.do("a", int, "no number")
    os.kill(first, signal.SIGKILL)
    second = worker.do("a", os.getpid)
    assert second not in (first, os.getpid())
    worker.close()


class Asked:
    """Jobs asked for one after the other, each in a thread, and what was told of them."""

    def __init__(self, worker: Worker) -> None:
        self.worker = worker
        self.told: list[object] = []
        self._threads: list[threading.Thread] = []

    def ask(self, key: str, job: Callable[..., Any], *given: object) -> None:
        """Return once the worker knows of it."""
        before = self.worker._count
        self._threads.append(threading.Thread(target=self._do, args=(key, job, given)))
        self._threads[-1].start()
        while self.worker._count == before:
            time.sleep(0.005)

    def _do(self, key: str, job: Callable[..., Any], given: tuple[object, ...]) -> None:
        try:
            self.told.append((key, self.worker.do(key, job, *given)))
        except Superseded:
            self.told.append((key, "superseded"))

    def end(self) -> list[object]:
        for thread in self._threads:
            thread.join(600)
            assert not thread.is_alive()
        return sorted(self.told, key=str)


def busy(worker: Worker) -> Asked:
    """Jobs of a worker, the first of them, "a", at work until it is broken off."""
    asked = Asked(worker)
    asked.ask("a", time.sleep, 600.0)
    at_work(worker, "a")
    return asked


def at_work(worker: Worker, key: str) -> None:
    while worker._at_work != key:
        time.sleep(0.005)


def test_an_impatient_worker_breaks_off_a_job_where_a_newer_comes() -> None:
    worker = Worker(impatient=True, seconds=600)
    asked = busy(worker)
    asked.ask("a", time.sleep, 0.0)
    assert asked.end() == [("a", "superseded"), ("a", None)]
    worker.close()


def test_a_patient_worker_lets_a_job_end_and_of_those_that_wait_does_the_newest(tmp_path: Path) -> None:
    worker = Worker(impatient=False, seconds=600)
    asked, pipe = Asked(worker), tmp_path / "pipe"
    os.mkfifo(pipe)
    asked.ask("a", Path.read_text, pipe)        # until something is written there
    at_work(worker, "a")
    asked.ask("a", time.sleep, 600.0)
    asked.ask("a", time.sleep, 0.0)
    pipe.write_text("at last", encoding="utf-8")
    assert asked.end() == [("a", "at last"), ("a", "superseded"), ("a", None)]
    worker.close()


def test_a_job_that_takes_too_long_is_given_up() -> None:
    worker = Worker(impatient=False, seconds=0.2)
    with pytest.raises(JobFailed, match="too long"):
        worker.do("a", time.sleep, 600.0)
    worker.close()


def test_a_worker_that_is_closed_gives_up_what_is_at_work_and_what_waits() -> None:
    """And begins nothing more: the desk ends, whatever somebody has asked."""
    worker = Worker(impatient=False, seconds=600)
    first = worker.do("a", os.getpid)
    asked = busy(worker)
    asked.ask("b", time.sleep, 600.0)
    worker.close()
    assert asked.end() == [("a", "superseded"), ("b", "superseded")]
    with pytest.raises(Superseded):
        worker.do("a", os.getpid)
    with pytest.raises(ProcessLookupError):
        os.kill(first, 0)


def test_a_job_is_given_up_at_work_and_while_it_waits() -> None:
    """And those of other keys go on."""
    worker = Worker(impatient=True, seconds=600)
    asked = busy(worker)
    asked.ask("b", time.sleep, 600.0)
    asked.ask("c", time.sleep, 0.0)
    for key in ("nobody's", "b", "a"):
        worker.give_up(key)
    assert asked.end() == [("a", "superseded"), ("b", "superseded"), ("c", None)]
    worker.close()


def divided(one: int, other: int) -> float:
    return one / other


def test_a_process_does_one_job_after_another_and_says_what_fails(monkeypatch: pytest.MonkeyPatch) -> None:
    """Its whole life, here in a thread: what it is told at its begin concerns a process."""
    monkeypatch.setattr("cagework.typeset.desk.worker.end_with_parent", lambda: None)
    monkeypatch.setattr("cagework.typeset.desk.worker.collect_seldom", lambda: None)
    here, there = multiprocessing.Pipe()
    life = threading.Thread(target=_work, args=(there,))
    life.start()
    here.send((divided, (3, 2)))
    assert here.recv() == 1.5
    here.send((divided, (3, 0)))
    failed: Any = here.recv()
    assert failed.text.startswith("ZeroDivisionError")
    here.close()
    life.join(600)
    assert not life.is_alive()


def entry(text: str) -> Entry:
    """A puzzle of a text."""
    document = parse_document(Path("p.yaml"), text)
    found = read_puzzle(document, (), document.data, allow_uncaged=False).entry
    assert found is not None
    return found


GRID = "id: lamp\nsize: 4\nmap: |\n  aabc\n  dabc\n  deec\n  dfff\n"


def test_what_is_seen_at_once_leaves_the_answer(only_answer: Callable[[Puzzle], Answer]) -> None:
    """By CP-SAT; and where the sums contradict each other nothing is left."""
    puzzle = entry(GRID + "sums: {a: 7, b: 6, c: 6, d: 8, e: 4, f: 9}\n").puzzle
    found, answer = jobs.quick(puzzle), only_answer(puzzle)
    assert found.verdict.answer == answer
    assert all(found.candidates[cell] >> answer.at(cell) - 1 & 1 for cell in puzzle.cells)
    none = jobs.quick(entry(GRID + "sums: {a: 7, b: 6, c: 6, d: 8, e: 4, f: 8}\n").puzzle)
    assert none.verdict.outcome is Outcome.NO_ANSWER and none.candidates == {}


@pytest.mark.parametrize(("sums", "filled"), [
    ("a: 7, b: 6, c: 6, d: 8, e: 4, f: 9", {"grade", "score", "hardest", "path", "shape", "steps"}),
    ("a: 7, b: ~, c: ~, d: 8, e: 4, f: 9", {"lines", "region", "repairs", "differs", "minimal"}),
    ("a: 7, b: 6, c: 6, d: 8, e: 4, f: 8", {"lines", "conflict", "repairs", "minimal", "arithmetic"}),
])
def test_a_study_says_what_there_is_to_say(sums: str, filled: set[str]) -> None:
    said = jobs.study(entry(f"{GRID}sums: {{{sums}}}\n"), {})
    assert {key for key, value in said.items() if value} == filled
