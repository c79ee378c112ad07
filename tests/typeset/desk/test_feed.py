"""Whatever is done to the folders, the desk notices: renamed, replaced, outside the manifest's own."""

from __future__ import annotations

import asyncio
import json
import shutil
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from cagework.typeset.desk.feed import Feed
from cagework.typeset.desk.galley import Compositor
from cagework.typeset.solving.crew import Crew

State = Callable[[Callable[[dict[str, Any]], bool]], dict[str, Any]]


@pytest.fixture
def own_book(tmp_path: Path, texts: dict[str, str]) -> Path:
    """The book in a folder that a test may do anything to, with a layout outside it."""
    home = tmp_path / "home"
    (home / "puzzles").mkdir(parents=True)
    for name, text in texts.items():
        (home / name).write_text(text, encoding="utf-8")
    (tmp_path / "designs").mkdir()
    root = Path(__file__).parents[3]
    shutil.copy(root / "layouts" / "shelf" / "a5-one-up.yaml", tmp_path / "designs" / "own.yaml")
    manifest = home / "book.yaml"
    text = manifest.read_text(encoding="utf-8")
    manifest.write_text(text.replace("  solutions: full\n", "  layout: ../designs/own.yaml\n"), encoding="utf-8")
    return manifest


@pytest.fixture
def state_where(own_book: Path, tmp_path: Path) -> Iterator[State]:
    """Wait for the desk, a process of its own, to say something that holds."""
    command = [sys.executable, "-m", "cagework.typeset", "desk", str(own_book), "--cache", str(tmp_path / "kept")]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as running:
        assert running.stdout is not None
        address = running.stdout.readline().split("?")[0]

        def wait(holds: Callable[[dict[str, Any]], bool]) -> dict[str, Any]:
            said: dict[str, Any] = {}
            for _ in range(6000):
                with urllib.request.urlopen(f"{address}state.json", timeout=600) as answer:
                    said = json.load(answer)
                if holds(said):
                    return said
                time.sleep(0.1)
            raise TimeoutError(said)

        try:
            yield wait
        finally:
            running.terminate()
            assert running.wait(600) == 0


def test_a_folder_renamed_or_put_in_anothers_place_is_seen(state_where: State, own_book: Path) -> None:
    home = own_book.parent
    state_where(lambda said: said["fresh"])
    (home / "puzzles").rename(home / "away")
    state_where(lambda said: not said["fresh"] and any(
        "no file matches" in fault["message"] for fault in said["faults"]))
    (home / "away").rename(home / "puzzles")
    state_where(lambda said: said["fresh"] and not said["faults"])
    copy = shutil.copytree(home, home.with_name("copy"))
    home.rename(home.with_name("old"))
    Path(copy).rename(home)
    state_where(lambda said: said["fresh"])
    text = own_book.read_text(encoding="utf-8")
    own_book.write_text(text.replace("Four Doors", "Five Doors"), encoding="utf-8")
    state_where(lambda said: said["title"] == "Five Doors" and said["fresh"])


def test_a_layout_outside_the_folder_is_watched(state_where: State, own_book: Path) -> None:
    width = state_where(lambda said: said["fresh"])["sheet"]["width"]
    design = own_book.parents[1] / "designs" / "own.yaml"
    text = design.read_text(encoding="utf-8")
    assert "width: 148" in text
    design.write_text(text.replace("width: 148", "width: 150"), encoding="utf-8")
    assert state_where(lambda said: said["fresh"] and said["sheet"]["width"] != width)["sheet"]["width"] == 150


def test_folders_a_pattern_looks_into_are_watched_before_anything_matches(own_book: Path) -> None:
    own_book.write_text("book: {title: T, puzzles_from: ../pool/*.yaml}\n", encoding="utf-8")
    compositor = Compositor(own_book, Crew(), None)
    compositor.refresh()
    assert own_book.parents[1] / "pool" in compositor.folders()


def test_a_refresh_that_fails_is_told_and_the_next_save_is_still_heard(
    own_book: Path, monkeypatch: pytest.MonkeyPatch,
) -> None:
    refresh, tried = Compositor.refresh, []

    def failing(self: Compositor, *arguments: Any) -> Any:
        tried.append(1)
        if len(tried) == 1:
            raise OSError("the disk is gone")
        return refresh(self, *arguments)

    async def saved() -> None:
        while True:
            await asyncio.sleep(0.3)
            own_book.write_text(own_book.read_text(encoding="utf-8") + "\n", encoding="utf-8")

    async def heard() -> str:
        feed, events = Feed(Compositor(own_book, Crew(), None)), ""
        listening = feed.listen()
        await anext(listening)      # how things stand
        feed.start()
        saving = asyncio.create_task(saved())
        async for text in listening:
            events += text
            if text.startswith("event: state"):
                saving.cancel()
                feed.stop()
        return events

    monkeypatch.setattr(Compositor, "refresh", failing)
    said = asyncio.run(asyncio.wait_for(heard(), 600))
    assert 'event: trouble\ndata: {"message": "OSError: the disk is gone"}\n\n' in said
    assert said.index("event: trouble") < said.index("event: state")
