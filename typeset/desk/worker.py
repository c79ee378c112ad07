"""One process of the desk's own that does what takes long: no page waits for it, and it can be given up.

Jobs come from any thread, each with a key; of those with one key only the newest counts.
"""

from __future__ import annotations

import multiprocessing
import threading
from collections.abc import Callable, Hashable
from contextlib import suppress
from dataclasses import dataclass
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any, TypeVar

from cagework.typeset.host.collector import collect_seldom
from cagework.typeset.host.processes import end_with_parent, held_back

T = TypeVar("T")

_SERVER = "forkserver"
_TRIES = 2
"""How often a job is begun whose process is killed."""


class Superseded(Exception):  # noqa: N818 - it says what happened
    """A newer job of the same key has come, or the worker is closed: nobody waits for this one."""


class JobFailed(Exception):  # noqa: N818 - it says what happened
    """A job raised something, or its process was killed again and again, or it took too long."""


@dataclass(frozen=True, slots=True)
class _Raised:
    text: str


class Worker:
    """A process for jobs, one at a time; begun with the first of them, and anew where it is killed.

    With `impatient` a job under way is broken off where a newer one of its key comes; else it is let end, for it
    is short. No job takes more than `seconds`.
    """

    def __init__(self, *, impatient: bool, seconds: float) -> None:
        self._impatient = impatient
        self._seconds = seconds
        self._closed = False
        self._count = 0
        self._newest: dict[Hashable, int] = {}
        self._at_work: Hashable = None
        self._process: BaseProcess | None = None
        self._link: Connection | None = None
        self._state = threading.Lock()      # of all the above
        self._turn = threading.Lock()       # who is at work

    def do(self, key: Hashable, job: Callable[..., T], *given: object) -> T:
        """Have a job done, a function of some module with what it takes. Raises Superseded, JobFailed."""
        with self._state:
            self._count += 1
            mine = self._newest[key] = self._count
            if self._impatient and self._at_work == key:
                self._kill()
        with self._turn:
            with self._state:
                self._check(key, mine)
                self._at_work = key
            try:
                return self._done(key, mine, job, given)
            finally:
                with self._state:
                    self._at_work = None
                    if self._newest.get(key) == mine:
                        del self._newest[key]

    def give_up(self, key: Hashable) -> None:
        """Have nobody wait for the job of a key any more; one at work is broken off."""
        with self._state:
            self._newest.pop(key, None)
            if self._at_work == key:
                self._kill()

    def close(self) -> None:
        """End the process for good, and with it the job at work and those that wait."""
        with self._state:
            self._closed = True
            self._kill()

    def _check(self, key: Hashable, mine: int) -> None:
        if self._closed or self._newest.get(key) != mine:
            raise Superseded

    def _done(self, key: Hashable, mine: int, job: Callable[..., T], given: tuple[object, ...]) -> T:
        for _ in range(_TRIES):
            with self._state:
                self._check(key, mine)
                link = self._started()
            with suppress(EOFError, OSError):
                link.send((job, given))
                if not link.poll(self._seconds):
                    with self._state:
                        self._kill()
                    raise JobFailed("it took too long")
                made = link.recv()
                if isinstance(made, _Raised):
                    raise JobFailed(made.text)
                return made  # type: ignore[no-any-return]
            with self._state:       # it was killed, by a newer job or by somebody else
                if self._link is link:
                    self._kill()
        with self._state:
            self._check(key, mine)
        raise JobFailed("its process was killed")

    def _started(self) -> Connection:
        if self._link is None:
            way = _SERVER if _SERVER in multiprocessing.get_all_start_methods() else "spawn"
            context: Any = multiprocessing.get_context(way)
            if way == _SERVER:      # so that another process has all it needs at once
                context.set_forkserver_preload(["cagework.typeset.desk.jobs"])
            self._link, there = context.Pipe()
            self._process = context.Process(target=_work, args=(there,), daemon=True)
            with held_back():
                self._process.start()
            there.close()
        return self._link

    def _kill(self) -> None:
        if self._process is not None:
            self._process.kill()
            self._process.join()
        self._process = self._link = None


def _work(link: Connection) -> None:
    """The life of the process."""
    end_with_parent()
    collect_seldom()
    with suppress(EOFError, OSError):
        while True:
            job, given = link.recv()
            made: Any
            try:
                made = job(*given)
            except Exception as error:
                made = _Raised(f"{type(error).__name__}: {error}")
            link.send(made)
