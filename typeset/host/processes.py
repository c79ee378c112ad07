"""Processes that work for this one: they leave signals from the keyboard to it, and end when it does, however."""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager

_SIGNALS = (signal.SIGINT, signal.SIGTERM)
_PR_SET_PDEATHSIG = 1       # linux/prctl.h


def cores() -> int:
    """How many processes may run at once here."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:      # not on every system
        return os.cpu_count() or 1


@contextmanager
def held_back() -> Iterator[None]:
    """Have signals wait, for processes begun meanwhile too until they let them through (`end_with`,
    `end_with_parent`):
    between its birth and that, one would take a signal as its parent does.
    """
    if not hasattr(signal, "pthread_sigmask"):      # not on Windows
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, _SIGNALS)
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def end_with(parent: int) -> None:
    """In a forked process on Linux: be killed when its parent ends, as PR_SET_PDEATHSIG has it (prctl(2)). The
    parent must have forked it in the thread that lives as long as itself.
    """
    if sys.platform == "linux":
        import ctypes
        ctypes.CDLL(None).prctl(_PR_SET_PDEATHSIG, signal.SIGKILL, 0, 0, 0)
    if os.getppid() != parent:      # it ended before that
        os._exit(1)
    _leave_signals()


def end_with_parent() -> None:
    """In a process that `multiprocessing` began: end when its parent ends, which closes a pipe between the two.

    Its parent's death is not asked of the system as in `end_with`: that would tell of the thread that began it.
    """
    import multiprocessing
    _leave_signals()
    parent = multiprocessing.parent_process()
    if parent is not None:
        def wait() -> None:
            parent.join()
            os._exit(1)

        threading.Thread(target=wait, daemon=True).start()


def _leave_signals() -> None:
    """Leave Ctrl-C to the parent, and let TERM end this process at once."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    if hasattr(signal, "pthread_sigmask"):
        signal.pthread_sigmask(signal.SIG_UNBLOCK, _SIGNALS)
