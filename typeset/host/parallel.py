"""Jobs done side by side by forked processes, which have all that this one has and hand back what they make.

Forking is for a process with one thread, on a system that has it and means it (Linux); elsewhere the jobs are done
here, one after another, with the same results.
"""

from __future__ import annotations

import ctypes
import gc
import os
import pickle
import signal
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any, Generic, NoReturn, Protocol, TypeVar

from cagework.layouts.flow import chunks
from cagework.typeset.host.processes import held_back, leave_signals

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

T = TypeVar("T")

_PR_SET_PDEATHSIG = 1       # linux/prctl.h
_LEAST, _MOST = 120, 16
"""How many pages, at the least, are worth a process, and how many processes, at the most, a whole book: each takes
longer to begin the more its parent holds.
"""


@dataclass(frozen=True, slots=True)
class _Made(Generic[T]):
    made: T


@dataclass(frozen=True, slots=True)
class _Raised:
    error: Exception


_Result = _Made[T] | _Raised | None


class Share(Protocol):
    """A way to do jobs: their results come in the order of the jobs."""

    def __call__(self, jobs: Sequence[Callable[[], T]]) -> Iterator[T]:
        """Yield each job's result; what a job raises is raised in its turn."""


def in_turn(jobs: Sequence[Callable[[], T]]) -> Iterator[T]:
    """Each job here, when its result is asked for."""
    return (job() for job in jobs)


def page_runs(pages: int) -> tuple[range, ...]:
    """The places of so many pages, from 0, in runs that are worth a job each."""
    return chunks(pages, max(_LEAST, -(-pages // _MOST)))


def may_fork() -> bool:
    """Whether a fork of this process is sound: other threads would be missing in it, and their locks stay held."""
    return sys.platform == "linux" and threading.active_count() == 1


def sharing(workers: int) -> Share:
    """A way to do jobs in as many forked processes at a time, the first of them begun at once; in turn where there
    is but one worker, or forking is unsound.

    Results must pickle. A job whose process is killed is done here.
    """
    if workers < 2 or not may_fork():
        return in_turn
    return partial(_Shared, workers)


class _Shared(Iterator[T]):
    """The results of jobs under way."""

    def __init__(self, workers: int, jobs: Sequence[Callable[[], T]]) -> None:
        self._workers, self._jobs = workers, jobs
        self._running: dict[Connection, tuple[int, int]] = {}   # where a result comes from -> its job, its process
        self._results: dict[int, _Result[T]] = {}
        self._begun = self._taken = 0
        self._begin()

    def __next__(self) -> T:
        from multiprocessing.connection import Connection, wait
        turn = self._taken
        if turn == len(self._jobs):
            raise StopIteration
        while turn not in self._results:
            for reading in wait(list(self._running)):
                assert isinstance(reading, Connection)
                number, process = self._running.pop(reading)
                self._results[number] = _received(reading)
                os.waitpid(process, 0)
            self._begin()
        self._taken += 1
        result = self._results.pop(turn)
        self._begin()
        if result is None:
            return self._jobs[turn]()
        if isinstance(result, _Raised):
            raise result.error
        return result.made

    def _begin(self) -> None:
        """Have as many at work as may be; no more than two rounds ahead, as results wait here for their turn."""
        most = min(len(self._jobs), self._taken + 2 * self._workers)
        while self._begun < most and len(self._running) < self._workers:
            reading, process = _begin(self._jobs[self._begun])
            self._running[reading] = self._begun, process
            self._begun += 1


def _begin(job: Callable[[], object]) -> tuple[Connection, int]:
    """Start a job in a process of its own: where its result will come from, and the process."""
    from multiprocessing.connection import Pipe
    reading, writing = Pipe(duplex=False)
    parent = os.getpid()
    with held_back():
        process = os.fork()
        if process == 0:
            _work(job, reading, writing, parent)
    writing.close()
    return reading, process


def _work(job: Callable[[], object], reading: Connection, writing: Connection, parent: int) -> NoReturn:
    """The life of a forked process, which leaves none of the parent's exit to be done twice."""
    try:
        _end_with(parent)
        reading.close()
        gc.disable()        # it would look through what the parent made, and so copy it, for the sake of one job
        try:
            result: _Result[object] = _Made(job())
        except Exception as error:
            result = _Raised(error)
        writing.send_bytes(pickle.dumps(result, pickle.HIGHEST_PROTOCOL))
    finally:
        os._exit(0)


def _end_with(parent: int) -> None:
    """In a forked process on Linux: be killed when its parent ends, as PR_SET_PDEATHSIG has it (prctl(2)). The
    parent must have forked it in the thread that lives as long as itself.
    """
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, signal.SIGKILL, 0, 0, 0)
    if os.getppid() != parent:      # it ended before that
        os._exit(1)
    leave_signals()


def _received(reading: Connection) -> Any:
    """What a forked process made; None where it ended without a word."""
    with reading:
        try:
            return pickle.loads(reading.recv_bytes())
        except (EOFError, OSError):
            return None
