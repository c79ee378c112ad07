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
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Generic, NoReturn, Protocol, TypeVar

from cagework.layouts.flow import chunks
from cagework.typeset.host.processes import held_back, leave_signals

if TYPE_CHECKING:
    from multiprocessing.connection import Connection

T = TypeVar("T")

_PR_SET_PDEATHSIG = 1       # linux/prctl.h
_NO_MORE = b""
_LEAST, _MOST = 120, 16
"""How many pages, at the least, are worth a job, and how many jobs, at the most, a whole book."""


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
        self._running: dict[Connection, int] = {}       # to a process -> its job
        self._idle: list[Connection] = []
        self._processes: dict[Connection, int] = {}
        self._results: dict[int, _Result[T]] = {}
        self._begun = self._taken = 0
        self._begin()

    def __next__(self) -> T:
        from multiprocessing.connection import Connection, wait
        turn = self._taken
        if turn == len(self._jobs):
            raise StopIteration
        while turn not in self._results:
            for process in wait(list(self._running)):
                assert isinstance(process, Connection)
                self._receive(process)
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
            process = self._idle.pop() if self._idle else self._forked()
            self._running[process] = self._begun
            with suppress(OSError):     # it was killed meanwhile, and its result will tell
                process.send_bytes(str(self._begun).encode())
            self._begun += 1
        while self._idle and self._begun == len(self._jobs):
            self._end(self._idle.pop())

    def _forked(self) -> Connection:
        """A process that does jobs as it is told their numbers, until it is told no more."""
        from multiprocessing.connection import Pipe
        ours, theirs = Pipe()
        parent = os.getpid()
        with held_back():
            process = os.fork()
            if process == 0:
                _work(self._jobs, theirs, parent)
        theirs.close()
        self._processes[ours] = process
        return ours

    def _receive(self, process: Connection) -> None:
        """What a process made of its job; None where it ended without a word."""
        number = self._running.pop(process)
        try:
            self._results[number] = pickle.loads(process.recv_bytes())
            self._idle.append(process)
        except (EOFError, OSError):
            self._results[number] = None
            self._end(process)

    def _end(self, process: Connection) -> None:
        """Tell a process that no job is left: it cannot see that its pipe is closed, which others hold, too."""
        with suppress(OSError):
            process.send_bytes(_NO_MORE)
        process.close()
        os.waitpid(self._processes.pop(process), 0)

    def __del__(self) -> None:
        for process in self._processes.values():    # nobody wants their results
            with suppress(OSError):
                os.kill(process, signal.SIGKILL)
                os.waitpid(process, 0)


def _work(jobs: Sequence[Callable[[], object]], told: Connection, parent: int) -> NoReturn:
    """The life of a forked process, which leaves none of the parent's exit to be done twice."""
    try:
        _end_with(parent)
        gc.disable()            # it would look through what the parent made, and so copy it
        while number := told.recv_bytes():
            told.send_bytes(_done(jobs[int(number)]))
    finally:
        os._exit(0)


def _done(job: Callable[[], object]) -> bytes:
    try:
        result: _Result[object] = _Made(job())
    except Exception as error:
        result = _Raised(error)
    return pickle.dumps(result, pickle.HIGHEST_PROTOCOL)


def _end_with(parent: int) -> None:
    """In a forked process on Linux: be killed when its parent ends, as PR_SET_PDEATHSIG has it (prctl(2)). The
    parent must have forked it in the thread that lives as long as itself.
    """
    if sys.platform == "linux":
        ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, signal.SIGKILL, 0, 0, 0)
    if os.getppid() != parent:      # it ended before that
        os._exit(1)
    leave_signals()
