"""Jobs done by processes of other machines, which a Dask scheduler knows (docs.dask.org: Deploy Dask Clusters).

What a scheduler and its workers are sent they unpickle and do, and so do we with what they send: it is for
machines that trust each other.
"""

from __future__ import annotations

import logging
import pickle
import time
import warnings
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from typing import Any

from cagework.typeset.faults import ClusterError, quoted
from cagework.typeset.host.workers import Pending

_SECONDS = 10.0
"""How long an answer from the scheduler may take."""
_COUNTED = 2.0
"""Seconds after which it is asked anew how many are at work: they come and go."""
_LOOKS = 4
"""How often in a row nobody is there before it is given up: who was killed may be begun again."""


class _OtherCodeError(Exception):
    """A worker's code is not ours."""


def _done(code: Callable[[], str], ours: str, job: Callable[[], Any]) -> Any:
    """A job done where the code is the same; it is asked before each, as workers may join at any time."""
    if (theirs := code()) != ours:
        raise _OtherCodeError(theirs)
    return job()


@dataclass(frozen=True, slots=True)
class _Sent:
    """A job as a pickle that, loaded, is what the job comes to. Sent so, it is nothing to the scheduler, and a
    worker without our code says so: what Dask itself cannot unpickle ends the worker.
    """

    code: Callable[[], str]
    ours: str
    job: Callable[[], Any]

    def __reduce__(self) -> tuple[Any, ...]:
        return _done, (self.code, self.ours, self.job)


class Cluster:
    """The workers of the scheduler at `address`, as `tcp://10.0.0.5:8786` or `tls://…`.

    `code` says, here and there, what code it is that decides what a job comes to: a worker where it is another is
    refused, as its results might differ. A worker that is killed loses nothing: the scheduler gives its jobs to
    others. Raises ClusterError, as does whatever is done with it later, where that cannot be.
    """

    def __init__(self, address: str, code: Callable[[], str]) -> None:
        self._address, self._code, self._ours = address, code, code()
        self._open = ExitStack()
        try:
            from distributed import Client, versions
        except ImportError:
            raise ClusterError("this needs Dask, which is not installed",
                               "install it with: pip install 'cagework[dask]'") from None
        self._open.enter_context(_hushed())     # what it says of lost connections we say ourselves
        try:
            with warnings.catch_warnings():     # versions of what we do not use differ, too
                warnings.simplefilter("ignore", versions.VersionMismatchWarning)
                self._client = Client(address, timeout=_SECONDS, set_as_default=False)
        except (OSError, ValueError) as error:
            self._open.close()
            raise ClusterError(f"no Dask scheduler answers at {quoted(address)}",
                               "begin one with: dask scheduler; it says its address") from error
        self._open.callback(self._client.close, _SECONDS)
        self._count, self._counted = 0, -_COUNTED
        self._looks = 0

    @property
    def count(self) -> int:
        """How many threads all workers have; one where there is no worker yet."""
        now = time.monotonic()
        if now - self._counted >= _COUNTED:
            try:
                self._count = sum(self._client.nthreads().values())
            except (OSError, RuntimeError) as error:
                raise self._lost() from error
            self._counted = now
        return max(1, self._count)

    def ready(self, enough: bool) -> bool:
        """Always: what is handed in waits there for the first worker."""
        return True

    def hand_in(self, job: Callable[[], Any]) -> Pending:
        """Have a job done by whoever comes to it first."""
        sent = pickle.dumps(_Sent(self._code, self._ours, job))
        pending: Pending = self._client.submit(pickle.loads, sent, pure=False)
        return pending

    def killed(self, error: BaseException) -> bool:
        """Whether so many workers died of a job that the scheduler gave it up. ClusterError where the machines are
        at fault.
        """
        from distributed import CancelledError, KilledWorker
        if self._client.status != "running":
            raise self._lost() from error
        match error:
            case KilledWorker():
                return True
            case _OtherCodeError():
                raise ClusterError(
                    f"a worker at {quoted(self._address)} has other code of cagework: it might find other things",
                    "install the same version there as here, and begin the workers anew") from error
            case _ if _was_begun(error):
                return False
            case CancelledError() | OSError():
                raise self._lost() from error
            case ImportError() | AttributeError() | pickle.UnpicklingError():
                raise ClusterError(
                    f"a worker at {quoted(self._address)} cannot read what it is sent: {error}",
                    "install the same versions of cagework and Dask there as here") from error
        return False

    def look(self) -> None:
        """Give up where there has been no worker for some time."""
        self._counted = -_COUNTED
        self._looks = 0 if self.count and self._count else self._looks + 1      # counting asks
        if self._looks >= _LOOKS:
            raise ClusterError(
                f"the Dask scheduler at {quoted(self._address)} has no worker",
                f"begin some with: dask worker {self._address} --nworkers -1 --nthreads 1", lost=True)

    def rest(self) -> None:
        """Nothing: what is begun here is little."""

    def close(self) -> None:
        """Leave the scheduler, which forgets what it was still to do for us."""
        self._open.close()

    def _lost(self) -> ClusterError:
        return ClusterError(f"the Dask scheduler at {quoted(self._address)} no longer answers",
                            "begin it anew, and run this once more", lost=True)


def _was_begun(error: BaseException) -> bool:
    """Whether an error came of a job, and not of the way there: its traceback comes along, by name."""
    at = error.__traceback__
    while at is not None:
        if at.tb_frame.f_code.co_name == _done.__name__:
            return True
        at = at.tb_next
    return False


@contextmanager
def _hushed() -> Iterator[None]:
    """Have Dask's own lines for its operators not stand among ours."""
    loggers = [logging.getLogger(name) for name in logging.root.manager.loggerDict
               if name.partition(".")[0] in ("distributed", "tornado")]
    before = [one.disabled for one in loggers]
    for one in loggers:
        one.disabled = True
    try:
        yield
    finally:
        for one, disabled in zip(loggers, before, strict=True):
            one.disabled = disabled
