"""Folders of composed puzzles, and what the command says of them."""

from __future__ import annotations

import json
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest

from cagework.solver.editing.compose import Recipe, compose
from cagework.solver.model import Cell, Puzzle
from cagework.typeset.commands.door import main

LETTERS = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
MAKERS = ("the miller", "the cooper", "the wheelwright", "the chandler")


def as_keys(name: str, puzzle: Puzzle, by: str | None = None, **more: object) -> dict[str, object]:
    """A puzzle as the keys of a manifest."""
    span = range(1, puzzle.size + 1)
    letter = {cell: LETTERS[number] for number, cage in enumerate(puzzle.cages) for cell in cage.cells}
    rows = ["".join(letter.get(Cell(row, column), ".") for column in span) for row in span]
    return {"id": name, **({"by": by} if by else {}), "size": puzzle.size, "map": "\n".join(rows),
            "sums": {LETTERS[number]: cage.total for number, cage in enumerate(puzzle.cages)}, **more}


def as_yaml(*puzzles: dict[str, object]) -> str:
    """A file of puzzles; JSON is YAML."""
    return json.dumps(list(puzzles) if len(puzzles) > 1 else puzzles[0], indent=1)


@pytest.fixture(scope="session")
def keys_of() -> Callable[..., dict[str, object]]:
    """An id, a puzzle, who made it, and any more keys, to what a manifest says of it."""
    return as_keys


@pytest.fixture(scope="session")
def file_of() -> Callable[..., str]:
    """The keys of puzzles to the text of a file."""
    return as_yaml


@pytest.fixture(scope="session")
def fours() -> Sequence[Puzzle]:
    """Grids of four, soon solved; some of them may be alike."""
    return tuple(compose(seed, Recipe(size=4)).puzzle for seed in range(96))


@pytest.fixture
def shelf(tmp_path: Path, sixes: Sequence[Puzzle]) -> Path:
    """Two dozen sixes in files of one and of several, some in a folder below, by four constructors."""
    folder = tmp_path / "shelf"
    (folder / "below").mkdir(parents=True)
    keys = [as_keys(f"six-{number:02}", puzzle, MAKERS[number % 4], title=f"Six {number}")
            for number, puzzle in enumerate(sixes)]
    for number, one in enumerate(keys[:8]):
        (folder / f"one-{number}.yaml").write_text(as_yaml(one), encoding="utf-8")
    (folder / "below" / "many.yaml").write_text(as_yaml(*keys[8:]), encoding="utf-8")
    return folder


class Asked:
    """What the command said, and how it ended."""

    def __init__(self, status: int, out: str, err: str) -> None:
        self.status, self.out, self.err = status, out, err

    @property
    def json(self) -> dict[str, Any]:
        """What it printed with --json."""
        return dict(json.loads(self.out))

    @property
    def ids(self) -> list[str]:
        """The ids of the puzzles that it printed with --json."""
        return [one["id"] for one in self.json["puzzles"]]


@pytest.fixture
def pool(tmp_path: Path, capfd: pytest.CaptureFixture[str]) -> Callable[..., Asked]:
    """Run the command on a folder, with an index of the test's own."""
    def ask(folder: Path, *options: object) -> Asked:
        capfd.readouterr()
        status = main(["pool", str(folder), "--index", str(tmp_path / "index.sqlite"), *map(str, options)])
        return Asked(status, *capfd.readouterr())

    return ask
