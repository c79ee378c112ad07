"""A small book on the desk, with a puzzle that is easy to spoil, and the desk itself as a process."""

from __future__ import annotations

import json
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from cagework.solver.editing.compose import Recipe, compose
from cagework.typeset.desk.feed import Feed
from cagework.typeset.desk.galley import Compositor
from cagework.typeset.desk.server import application
from cagework.typeset.solving.cache import Cache
from cagework.typeset.solving.crew import Crew

BOOK = """\
book:
  title: Four Doors
  puzzles_from: puzzles/*.yaml
  solutions: full
sections:
  - title: Ground floor
    puzzles: [lamp, fork]
  - title: Stairs
    puzzles: [hall, loft]
"""
LAMP = """\
id: lamp
title: Lamp
size: 4
cages:
  - {sum: 7, cells: r1c1 r1c2 r2c2}
  - {sum: 6, cells: r1c3 r2c3}
  - {sum: 6, cells: r1c4 r2c4 r3c4}
  - {sum: 8, cells: r2c1 r3c1 r4c1}
  - {sum: 4, cells: r3c2 r3c3}
  - {sum: 9, cells: r4c2 r4c3 r4c4}
"""
TOKEN = "a-token-of-this-run"
OWN = {"Origin": "http://127.0.0.1", "X-Desk-Token": TOKEN}
"""What the page sends with each request."""
SUMS = "  - {sum: 6, cells: r1c3 r2c3}\n  - {sum: 6, cells: r1c4"
NO_SUMS = SUMS.replace("sum: 6, ", "")


@cache
def composed(seed: int, name: str, size: int) -> str:
    """A composed puzzle as a file."""
    puzzle = compose(seed, Recipe(size=size, sizes={2: 4.0, 3: 3.0})).puzzle
    listed = [(cage.total, " ".join(map(str, cage.cells))) for cage in puzzle.cages]
    cages = "".join(f"  - {{sum: {total}, cells: {cells}}}\n" for total, cells in listed)
    return f"id: {name}\ntitle: {name.title()}\nsize: {size}\ncages:\n{cages}"


@pytest.fixture(scope="module")
def texts() -> dict[str, str]:
    """The files of the book, by name."""
    return {"book.yaml": BOOK, "puzzles/lamp.yaml": LAMP, "puzzles/fork.yaml": composed(1, "fork", 4),
            "puzzles/hall.yaml": composed(2, "hall", 6), "puzzles/loft.yaml": composed(3, "loft", 9)}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the book lies, for all tests of a module."""
    made = tmp_path_factory.mktemp("book")
    (made / "puzzles").mkdir()
    return made


@pytest.fixture
def book(folder: Path, texts: dict[str, str]) -> Path:
    """A manifest with four puzzles in files of their own, as it was before any edit."""
    write(folder, texts)
    return folder / "book.yaml"


def write(folder: Path, texts: dict[str, str]) -> None:
    """Put files back as they were."""
    for name, text in texts.items():
        if not (folder / name).exists() or (folder / name).read_text(encoding="utf-8") != text:
            put(folder / name, text)


def put(file: Path, text: str) -> None:
    """Write a file at once, as programs that save do: a desk that watches never reads half of it."""
    part = file.with_name(f".{file.name}.part")
    part.write_text(text, encoding="utf-8")
    part.replace(file)


@pytest.fixture
def without_sums() -> tuple[str, str, str]:
    """The edit that gives the lamp two answers, which differ in four cells."""
    return "puzzles/lamp.yaml", SUMS, NO_SUMS


@pytest.fixture
def edit(book: Path) -> Callable[[str, str, str], None]:
    """Replace some text of a file of the book, once."""
    def replaced(name: str, old: str, new: str) -> None:
        file = book.parent / name
        text = file.read_text(encoding="utf-8")
        assert text.count(old) == 1, (name, old)
        put(file, text.replace(old, new))

    return replaced


@pytest.fixture
def compositor(book: Path) -> Compositor:
    """A compositor that has read the book once."""
    made = Compositor(book, Crew(Cache()), None)
    made.refresh()
    return made


@pytest.fixture(scope="module")
def standing(folder: Path, texts: dict[str, str]) -> Compositor:
    """One for all posts of a module that are refused, and so leave it as it is."""
    write(folder, texts)
    made = Compositor(folder / "book.yaml", Crew(Cache()), None)
    made.refresh()
    return made


@pytest.fixture
def page(compositor: Compositor) -> Iterator[TestClient]:
    """The application as the page has it that the desk's own address opened; its feed is not started."""
    app = application(compositor, Feed(compositor), token=TOKEN)
    yield TestClient(app, base_url="http://127.0.0.1", headers=OWN)
    app.state.pencil.close()


@pytest.fixture(params=[(token, headers) for token in (TOKEN, None) for headers in (
    {"Origin": OWN["Origin"]}, OWN | {"X-Desk-Token": "another"}, {"X-Desk-Token": TOKEN},
    OWN | {"Origin": "http://puzzles.example"},
    OWN | {"Origin": "http://puzzles.example", "Host": "puzzles.example"})])
def stranger(request: pytest.FixtureRequest, standing: Compositor) -> Iterator[Callable[[dict[str, Any]], int]]:
    """Posts as somebody who is not the page of the desk that runs, or to one for reading only; the status."""
    token, headers = request.param
    app = application(standing, Feed(standing), token=token)
    client = TestClient(app, base_url="http://127.0.0.1", headers=headers)
    yield lambda asked: client.post("/do", json=asked).status_code
    app.state.pencil.close()


@pytest.fixture
def post(page: TestClient) -> Callable[..., Any]:
    """Post as the page does; the status that is expected, 200 if left out."""
    def posted(do: str, status: int = 200, **more: Any) -> Any:
        answer = page.post("/do", json={"do": do, **more})
        assert answer.status_code == status, answer.text
        assert "default-src 'none'" in answer.headers["content-security-policy"]
        return answer.json()
    return posted


@pytest.fixture
def drawn(page: TestClient) -> Callable[..., dict[str, Any]]:
    """A puzzle as the page gets it, by its id."""
    def found(name: str = "lamp") -> dict[str, Any]:
        said: dict[str, Any] = page.get(f"/puzzles/{name}/drawing.json").json()
        return said
    return found


@pytest.fixture(scope="module")
def options() -> list[str]:
    """Further options of the command."""
    return []


@pytest.fixture(scope="module")
def printed(
    folder: Path, texts: dict[str, str], tmp_path_factory: pytest.TempPathFactory, options: list[str],
) -> Iterator[str]:
    """The address that the desk prints, as the command itself, with what its page proves itself by."""
    write(folder, texts)
    command = [sys.executable, "-m", "cagework.typeset", "desk", str(folder / "book.yaml"),
               "--cache", str(tmp_path_factory.mktemp("kept")), *options]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, cwd=folder) as running:
        assert running.stdout is not None
        try:
            yield running.stdout.readline().split()[0]
        finally:
            running.terminate()
            assert running.wait(600) == 0


@pytest.fixture(scope="module")
def desk(printed: str) -> str:
    """Where the desk serves the book."""
    return printed.split("?")[0]


def got(desk: str, what: str) -> Any:
    """What the desk answers, as JSON has it."""
    with urllib.request.urlopen(f"{desk}{what}", timeout=600) as answer:
        return json.load(answer)


def shown(desk: str) -> dict[str, Any]:
    """All that the desk shows of its book: what it says, its pages' looks, and its sheets."""
    state = got(desk, "state.json")
    pages = ",".join(map(str, range(1, len(state.get("pages", ())) + 1)))
    moves = {"back": None, "again": None}       # known of those made, whatever the book is
    return {**state, "number": 0, "progress": None, "order": {**(state["order"] or {}), **moves},
            "looks": got(desk, f"digests.json?pages={pages}") if pages else {}, "sheets": got(desk, "sheets.json")}


@pytest.fixture(scope="module")
def untouched(desk: str) -> dict[str, Any]:
    """What the desk shows of the book before any edit."""
    for _ in range(6000):
        said = shown(desk)
        rows = [(row["title"], row["state"]) for row in said["puzzles"]]
        clean = said["fresh"] and not said["faults"] and said["title"] == "Four Doors"
        if clean and rows == [(name, "sound") for name in ("Fork", "Hall", "Lamp", "Loft")]:
            return said
        time.sleep(0.1)
    raise TimeoutError(said)


@pytest.fixture
def address(desk: str, untouched: dict[str, Any], book: Path) -> str:
    """The desk, once it shows the book as it was before any edit."""
    for _ in range(6000):
        if shown(desk) == untouched:
            return desk
        time.sleep(0.1)
    raise TimeoutError(shown(desk))
