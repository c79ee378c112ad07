"""Saves noticed, the galley refreshed, and every open page told."""

from __future__ import annotations

import asyncio
import json
import threading
from collections.abc import AsyncIterator, Iterable
from pathlib import Path
from typing import Any

from watchfiles import Change, watch

from cagework.typeset.desk.galley import Compositor

_FACES = (".ttf", ".otf")
_WATCHED = (".yaml", ".yml", ".icc", ".png", ".jpg", ".jpeg", ".svg", *_FACES)
_STEP, _DEBOUNCE, _LOOK = 10, 120, 1000
"""Milliseconds: how long a save is given to be whole, at least and at most; between looks at the folders."""


class Feed:
    """Two threads of its own, one watching and one refreshing, and a queue for each page that listens."""

    def __init__(self, compositor: Compositor) -> None:
        self.compositor = compositor
        self.progress = (0, 0)
        self._loop: asyncio.AbstractEventLoop | None = None
        self._queues: set[asyncio.Queue[str | None]] = set()
        self._saved = threading.Event()
        self._stop = threading.Event()

    def start(self) -> None:
        """Begin to watch; to be called in the event loop that the pages are served from."""
        self._loop = asyncio.get_running_loop()
        self._saved.set()
        for work in (self._watch, self._refresh):
            threading.Thread(target=work, name=f"desk {work.__name__}", daemon=True).start()

    def stop(self) -> None:
        """Let every listening page go, and the threads end. May be called from a signal handler."""
        self._stop.set()
        self._saved.set()
        self._tell(None)

    async def listen(self) -> AsyncIterator[str]:
        """Events as lines of text/event-stream (HTML Living Standard, 9.2), the current state first."""
        queue: asyncio.Queue[str | None] = asyncio.Queue()
        self._queues.add(queue)
        try:
            yield _event("state", {"number": self.compositor.galley.number})
            while not self._stop.is_set() and (text := await queue.get()) is not None:
                yield text
        finally:
            self._queues.discard(queue)

    def _tell(self, text: str | None) -> None:
        loop = self._loop
        if loop is not None and not loop.is_closed():
            loop.call_soon_threadsafe(self._share_out, text)

    def _share_out(self, text: str | None) -> None:
        for queue in self._queues:
            queue.put_nowait(text)

    def _refresh(self) -> None:
        while self._saved.wait() and not self._stop.is_set():
            self._saved.clear()
            try:
                galley = self.compositor.refresh(self._advance)
            except Exception as error:
                if not self._stop.is_set():
                    self._tell(_event("trouble", {"message": f"{type(error).__name__}: {error}"}))
                continue
            self._tell(_event("state", {"number": galley.number}))

    def tell(self, kind: str, data: dict[str, Any]) -> None:
        """Tell every open page something else. May be called from any thread."""
        self._tell(_event(kind, data))

    def _advance(self, done: int, of: int) -> None:
        self.progress = (done, of)
        self._tell(_event("progress", {"done": done, "of": of}))

    def _watch(self) -> None:
        while not self._stop.is_set():
            folders = _outermost(self.compositor.folders())
            kept = _identities(folders)
            there = [folder for folder, known in kept.items() if known is not None]
            self._saved.set()       # something may have been saved before the watch began
            if not there:
                self._stop.wait(_LOOK / 1000)
                continue
            for changes in watch(*there, watch_filter=_is_ours, step=_STEP, debounce=_DEBOUNCE,
                                 rust_timeout=_LOOK, yield_on_timeout=True, stop_event=self._stop):
                if any(path.endswith(_FACES) for _, path in changes):
                    self.compositor.forget_faces()
                if changes:
                    self._saved.set()
                elif _identities(_outermost(self.compositor.folders())) != kept:
                    break           # other folders are asked for, or one was put in another's place


def _is_ours(_change: Change, path: str) -> bool:
    """Whether a change may concern the book: a file it could draw on, or a folder, which has no suffix."""
    return path.endswith(_WATCHED) or not Path(path).suffix


def _outermost(folders: frozenset[Path]) -> list[Path]:
    """The folders that lie in none of the others."""
    return [one for one in sorted(folders)
            if not any(one != other and one.is_relative_to(other) for other in folders)]


def _identities(folders: Iterable[Path]) -> dict[Path, tuple[int, int] | None]:
    """What tells a folder from another of the same name: None where there is none."""
    found: dict[Path, tuple[int, int] | None] = {}
    for folder in folders:
        try:
            seen = folder.stat()
            found[folder] = seen.st_dev, seen.st_ino
        except OSError:
            found[folder] = None
    return found


def _event(kind: str, data: dict[str, Any]) -> str:
    return f"event: {kind}\ndata: {json.dumps(data)}\n\n"


