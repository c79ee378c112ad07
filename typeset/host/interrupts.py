"""Ctrl-C and TERM: they stop a command at once, but not between the files it puts in place; and what is said then.

While files take their places, and from then on, a signal is only remembered: the command comes to its end and says
what it wrote. A second signal after that stops it all the same.
"""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from types import FrameType

_SIGNALS = (signal.SIGINT, signal.SIGTERM)


class Interrupts:
    """What a command has written so far, and whether it was asked to stop."""

    def __init__(self) -> None:
        self.asked = False
        self.written = ""
        self._placing = False

    @property
    def said(self) -> str:
        """What is true of a command that was stopped."""
        return f"stopped; {self.written or 'nothing was written'}"

    @contextmanager
    def heard(self, *, last: bool = False) -> Iterator[None]:
        """Hear the signals meanwhile, but for those the process was told to ignore; with `last`, none after."""
        if threading.current_thread() is not threading.main_thread():
            yield
            return
        before = {one: signal.getsignal(one) for one in _SIGNALS}
        mine = [one for one, handler in before.items() if handler not in (signal.SIG_IGN, None)]
        try:
            for one in mine:
                signal.signal(one, self._hear)
            yield
        finally:
            for one in mine:
                signal.signal(one, signal.SIG_IGN if last else before[one])

    @contextmanager
    def placing(self, what: str) -> Iterator[None]:
        """Put files in place; once that is done, `what` says so."""
        self._placing = True
        try:
            yield
            self.written = what
        finally:
            self._placing = False

    def _hear(self, _number: int, _frame: FrameType | None) -> None:
        if self._placing or (self.written and not self.asked):
            self.asked = True
        else:
            raise KeyboardInterrupt
