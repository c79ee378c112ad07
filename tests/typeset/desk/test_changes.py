"""What has changed since the last build: by content alone, whoever built, and nothing where nothing is known."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from cagework.typeset.desk.feed import Feed
from cagework.typeset.desk.galley import Compositor
from cagework.typeset.desk.server import application
from cagework.typeset.solving.cache import Cache
from cagework.typeset.solving.crew import Crew

Edit = Callable[[str, str, str], None]
Run = Callable[..., subprocess.CompletedProcess[str]]
NONE: dict[str, list[Any]] = {
    "puzzles": [], "added": [], "gone": [], "texts": [], "settings": [], "pages": []}


class Desk:
    """A desk with a cache of its own, and the command beside it."""

    def __init__(self, book: Path, folder: Path, run: Run) -> None:
        self.run = run
        self.book, self.cache, self.out = book, folder / "kept", folder / "out"
        self.compositor = Compositor(book, Crew(keep=True), None)
        app = application(self.compositor, Feed(self.compositor), Cache(self.cache))
        self.client = TestClient(app, base_url="http://127.0.0.1")

    def build(self, *more: str) -> None:
        self.run("build", self.book, "--out", self.out, "--cache", self.cache, *more).check_returncode()

    def changed(self) -> dict[str, Any]:
        """What is not as it was, without what is nothing."""
        self.compositor.refresh()
        said = self.client.get("/changes.json").json()
        return {key: value for key, value in said.items() if value != NONE.get(key)}


@pytest.fixture
def desk(book: Path, tmp_path: Path, run: Run) -> Iterator[Desk]:
    """A desk at which nothing has been built."""
    yield Desk(book, tmp_path, run)


def test_each_change_is_named_and_only_it(desk: Desk, edit: Edit, book: Path) -> None:
    assert desk.changed() == {"known": False, "fresh": True}
    desk.build()
    same = {"known": True, "fresh": True, "count": 24, "before": 24}
    assert desk.changed() == same
    for file in (book, book.parent / "puzzles" / "hall.yaml"):
        os.utime(file, (1, 1))
    edit("puzzles/hall.yaml", "id: hall", "# a comment\nid: hall")
    assert desk.changed() == same, "neither a time nor a comment is the book"
    edit("puzzles/hall.yaml", "title: Hall", "title: Hall\nnote: Mind the step.")
    assert desk.changed() == same | {"puzzles": ["hall"], "pages": [10]}
    edit("puzzles/hall.yaml", "\nnote: Mind the step.", "")
    edit("book.yaml", "  - title: Stairs", "  - title: Stairs\n    intro: Up they go.")
    assert desk.changed() == same | {"texts": ["section “Stairs”"], "pages": [9]}
    edit("book.yaml", "\n    intro: Up they go.", "")
    edit("book.yaml", "[hall, loft]", "[loft, hall]")
    said = desk.changed()
    assert said["settings"] == ["order of puzzles"] and {10, 11} <= set(said["pages"]) and "puzzles" not in said
    edit("book.yaml", "[loft, hall]", "[loft]")
    said = desk.changed()
    assert (said["gone"], said["settings"]) == (["hall"], ["order of puzzles"])
    edit("book.yaml", "[loft]", "[hall, loft]")
    edit("book.yaml", "  solutions: full\n", "  solutions: full\n  press: {bleed: 5}\n  language: de\n")
    said = desk.changed()
    assert said["settings"] == ["language", "press"] and set(said["pages"]) >= {3, 4}
    edit("book.yaml", "  press: {bleed: 5}\n  language: de\n", "")
    assert desk.changed() == same
    shutil.copy(book.parent / "puzzles" / "hall.yaml", book.parent / "puzzles" / "same.yaml")
    (book.parent / "puzzles" / "same.yaml").unlink()
    edit("puzzles/lamp.yaml", "sum: 9, cells: r4c2", "sum: 99, cells: r4c2")
    said = desk.changed()
    assert said["puzzles"] == ["lamp"] and 8 in said["pages"]


def test_where_the_files_are_no_longer_those_nothing_is_known(desk: Desk, edit: Edit) -> None:
    desk.build()
    assert desk.changed()["known"]
    desk.build("--booklet", "--no-cache")
    assert not desk.changed()["known"], "another build, of which nothing was kept"
    desk.build()
    assert desk.changed()["known"]
    (desk.out / "SHA256SUMS").unlink()
    assert not desk.changed()["known"]
    desk.build()
    for file in (desk.cache / "built").iterdir():
        file.write_bytes(file.read_bytes()[:-9])
    assert not desk.changed()["known"]


def test_nothing_is_kept_beside_the_book_and_nothing_of_a_build_that_is_refused(
    desk: Desk, edit: Edit, book: Path, without_sums: tuple[str, str, str],
) -> None:
    before = set(book.parent.rglob("*"))
    desk.build()
    assert set(book.parent.rglob("*")) == before
    edit("book.yaml", "  - title: Stairs", "  - title: Steps")
    edit(*without_sums)
    with pytest.raises(subprocess.CalledProcessError):
        desk.build()
    said = desk.changed()
    assert said["texts"] == ["section “Steps”", "section “Stairs”"] and "settings" not in said, "only its name"
