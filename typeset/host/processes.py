"""Processes that work for this one: they leave signals from the keyboard to it, and end when it does, however."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager

_SIGNALS = (signal.SIGINT, signal.SIGTERM)


def cores() -> int:
    """How many processes may run at once here."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:      # not on every system
        return os.cpu_count() or 1


@contextmanager
def held_back() -> Iterator[None]:
    """Have signals wait, for processes begun meanwhile too until they let them through (`leave_signals`): between
    its birth and that, one would take a signal as its parent does.
    """
    if not hasattr(signal, "pthread_sigmask"):      # not on Windows
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, _SIGNALS)
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def end_with_parent() -> None:
    """In a process that `multiprocessing` began: end when its parent ends, which closes a pipe between the two.

    Its parent's death is not asked of the system as in `parallel`: that would tell of the thread that began it.
    """
    import multiprocessing
    leave_signals()
    parent = multiprocessing.parent_process()
    if parent is not None:
        def wait() -> None:
            parent.join()
            os._exit(1)

        threading.Thread(target=wait, daemon=True).start()


def leave_signals() -> None:
    """Leave Ctrl-C to the parent, and let TERM end this process at once."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_DFL)
    if hasattr(signal, "pthread_sigmask"):
        signal.pthread_sigmask(signal.SIG_UNBLOCK, _SIGNALS)
