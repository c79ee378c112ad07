"""Jobs done side by side by processes that stay for the next ones, and what comes of them as it comes.

Where jobs go is what `Workers` say: to processes begun here (`LocalWorkers`), or elsewhere (`cluster`). However
many jobs there are, no more are handed out than keep all at work, and only so many wait beside them that long ones
may be begun first.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from heapq import heappop, heappush
from itertools import count
from queue import Empty, SimpleQueue
from typing import TYPE_CHECKING, Any, Generic, Protocol, TypeVar

from cagework.typeset.host.collector import collect_seldom
from cagework.typeset.host.processes import end_with_parent, held_back

if TYPE_CHECKING:
    from concurrent.futures import ProcessPoolExecutor

Tag = TypeVar("Tag")

IN_HAND = 2
"""Jobs that are handed out for each process: the one it does, and the next."""
_LEAST, _EACH = 64, 16
"""How many jobs may wait or be done at a time: so many, or so many for each process where that is more."""
_LOOK = 5.0
"""Seconds without a result after which it is looked whether anyone is still at work."""


class Pending(Protocol):
    """The result of a job to come."""

    def add_done_callback(self, fn: Callable[[Any], object], /) -> None:
        """Have `fn` called with this, in any thread, once there is a result."""

    def result(self) -> Any:
        """The result; what the job raised is raised."""

    def cancel(self) -> object:
        """Have the job not begun, if it is not yet."""


class Workers(Protocol):
    """Those who do jobs: how many at a time, and where jobs are handed in."""

    @property
    def count(self) -> int:
        """How many jobs are done at a time, one at the least."""

    def ready(self, enough: bool) -> bool:
        """Whether jobs may be handed in; else they are better done here, as there are not yet `enough`."""

    def hand_in(self, job: Callable[[], Any]) -> Pending:
        """Have a job done."""

    def killed(self, error: BaseException) -> bool:
        """Whether a job ended so because who did it was killed; it is then done here, once all others are in."""

    def look(self) -> None:
        """Raise where nobody is left to do what was handed in."""

    def rest(self) -> None:
        """Let go of what is held between jobs; it is taken up anew when there is more to do."""

    def close(self) -> None:
        """End at once, from any thread; what is being done is lost."""


class LocalWorkers:
    """As many processes as `count`, begun when there is enough to do. One is none: jobs are then done here.

    Forked ones begin in 0.1 s, others in 0.5 s; a Dask cluster begun here for the same would take 3.5 s, and 1.4 s
    to end (medians of three runs, side by side, two workers on two cores).
    """

    def __init__(self, count: int) -> None:
        self.count = count
        self._pool: ProcessPoolExecutor | None = None
        self._others: set[int | None] = set()
        self._closed = False

    def ready(self, enough: bool) -> bool:
        """Whether processes are there, or worth beginning."""
        return self._pool is not None or (enough and self.count > 1)

    def hand_in(self, job: Callable[[], Any]) -> Pending:
        """Have a job done by the processes, which are begun for the first."""
        if self._pool is None:
            import multiprocessing
            from concurrent.futures import ProcessPoolExecutor

            from cagework.typeset.host.parallel import may_fork
            self._others = {child.pid for child in multiprocessing.active_children()}
            way = "fork" if may_fork() else "spawn"     # a forked worker need not read all our modules again
            self._pool = ProcessPoolExecutor(
                self.count, mp_context=multiprocessing.get_context(way), initializer=_settle_in)
        with held_back():
            return self._pool.submit(job)

    def killed(self, error: BaseException) -> bool:
        """Whether a process ended before its job; the others are then ended, too."""
        from concurrent.futures.process import BrokenProcessPool
        if self._closed or not isinstance(error, BrokenProcessPool):
            return False
        self.rest()
        return True

    def look(self) -> None:
        """Nothing: a process that ends is noticed at once."""

    def rest(self) -> None:
        """End the processes."""
        if self._pool is None:
            return
        import multiprocessing
        pool, self._pool = self._pool, None
        for child in multiprocessing.active_children():
            if child.pid not in self._others:
                child.terminate()
        pool.shutdown(wait=True, cancel_futures=True)    # nobody is left: at once; unwaited, it would complain

    def close(self) -> None:
        """End the processes for good."""
        self._closed = True
        self.rest()


class Shift(Generic[Tag]):
    """Some jobs on their way through workers, each with a tag by which its result is known again. Jobs and results
    must pickle.
    """

    def __init__(self, workers: Workers) -> None:
        self._workers = workers
        self._numbers = count()
        self._waiting: list[tuple[float, int, Tag, Callable[[], Any]]] = []     # the longest on top
        self._out: dict[Pending, tuple[Tag, Callable[[], Any]]] = {}
        self._in: SimpleQueue[Pending] = SimpleQueue()
        self._worth = 0.0
        self._lost = False

    def add(self, tag: Tag, job: Callable[[], Any], length: float, worth: float) -> None:
        """Add a job. The greater `length`, the sooner it is begun; it makes up a part, `worth`, of what makes
        beginning processes worth while.
        """
        heappush(self._waiting, (-length, next(self._numbers), tag, job))
        self._worth += worth

    def results(self, *, last: bool = False) -> Iterator[tuple[Tag, Any]]:
        """What has come in, and what is worth waiting for: all there is where these were the `last` jobs, else no
        more than makes room for others. What a job raises is raised.
        """
        try:
            while self._waiting or self._out:
                if not self._lost and self._workers.ready(self._worth >= 1):
                    self._hand_out()
                if self._out:
                    if (found := self._next_in(last)) is None:
                        return
                    yield found
                elif last or self._workers.count == 1:
                    _, _, tag, job = heappop(self._waiting)
                    yield tag, job()
                else:
                    return
        except BaseException:       # also where nobody asks for more
            for pending in self._out:
                pending.cancel()
            raise

    def _hand_out(self) -> None:
        """Have all at work."""
        most = IN_HAND * self._workers.count
        while self._waiting and len(self._out) < most:
            _, _, tag, job = self._waiting[0]
            try:
                pending = self._workers.hand_in(job)
            except Exception as error:
                if not self._workers.killed(error):
                    raise
                self._lost = bool(self._out)
                return
            heappop(self._waiting)
            self._out[pending] = tag, job
            pending.add_done_callback(self._in.put)

    def _next_in(self, last: bool) -> tuple[Tag, Any] | None:
        """The next result; None where none has come in and it is not worth waiting."""
        held = len(self._waiting) + len(self._out)
        wait = last or held >= max(_LEAST, _EACH * self._workers.count)
        while True:
            try:
                pending = self._in.get(wait, _LOOK)
                break
            except Empty:
                if not wait:
                    return None
                self._workers.look()
        tag, job = self._out.pop(pending)
        try:
            return tag, pending.result()
        except Exception as error:
            if not self._workers.killed(error):
                raise
            self._lost = True
        finally:
            self._lost = self._lost and bool(self._out)
        return tag, job()


def _settle_in() -> None:
    end_with_parent()
    collect_seldom()
