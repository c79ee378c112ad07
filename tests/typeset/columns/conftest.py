"""The sample series, made once; and small series of one's own."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import count
from pathlib import Path

import pytest

from cagework.solver.editing.compose import Recipe, compose
from cagework.solver.model import Cell, Puzzle
from cagework.solver.reasoning.grade import Grade, rate
from cagework.solver.reasoning.reason import explain
from cagework.solver.symmetry import Key, canonical
from cagework.typeset.columns.load import load_series
from cagework.typeset.columns.run import Made, make_columns
from cagework.typeset.columns.series import Series
from cagework.typeset.solving.cache import Cache
from cagework.typeset.solving.crew import Crew

LETTERS = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"


class Month:
    """The sample series and what came of it."""

    def __init__(self, manifest: Path, folder: Path) -> None:
        series = load_series(manifest).series
        assert series is not None
        self.series: Series = series
        self.folder = folder
        self.made: Made = make_columns(series, folder, None, crew=Crew(Cache()))


@pytest.fixture(scope="session")
def month(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Month:
    """The sample series, 31 days in two slots."""
    return Month(root / "books" / "gazette" / "series.yaml", tmp_path_factory.mktemp("month") / "columns")


def as_yaml(name: str, puzzle: Puzzle, grade: str | None) -> str:
    """A puzzle as the file of one."""
    letter = {cell: LETTERS[number] for number, cage in enumerate(puzzle.cages) for cell in cage.cells}
    span = range(1, puzzle.size + 1)
    lines = [f"id: {name}", f"title: The {name}", "by: the tester", f"size: {puzzle.size}"]
    lines += [f"grade: {grade}"] if grade else []
    lines += ["map: |", *("  " + "".join(letter[Cell(row, column)] for column in span) for row in span)]
    sums = ", ".join(f"{LETTERS[number]}: {cage.total}" for number, cage in enumerate(puzzle.cages))
    return "\n".join([*lines, f"sums: {{{sums}}}"]) + "\n"


@pytest.fixture(scope="session")
def fours() -> Sequence[Puzzle]:
    """Twelve grids of four, none a twin of another, each a stroll."""
    composed = (compose(seed, Recipe(size=4)).puzzle for seed in count(40))
    strolls = (puzzle for puzzle in composed if rate(explain(puzzle)).grade is Grade.STROLL)
    found: dict[Key, Puzzle] = {}
    while len(found) < 12:
        puzzle = next(strolls)
        found.setdefault(canonical(puzzle), puzzle)
    return tuple(found.values())


@pytest.fixture
def own(tmp_path: Path, fours: Sequence[Puzzle]) -> Callable[..., Path]:
    """Write a series over grids of four into a folder of its own, and give its manifest's path."""
    def write(count: int = 3, puzzles: int = 12, slots: str = "[{slot: single-column, sizes: [4]}]",
              extra: str = "", days: str = "{monday: stroll, tuesday: stroll, wednesday: stroll}",
              start: str = "2027-03-01", name: str = "own") -> Path:
        (tmp_path / "pool").mkdir(exist_ok=True)
        for number in range(puzzles):
            name_of = f"p{number:02}"
            (tmp_path / "pool" / f"{name_of}.yaml").write_text(as_yaml(name_of, fours[number], "stroll"))
        path = tmp_path / f"{name}.yaml"
        path.write_text(
            f"series:\n  id: {name}\n  title: A Series\n  start: {start}\n  count: {count}\n  days: {days}\n"
            f"{extra}pool: pool/*.yaml\nslots: {slots}\n")
        return path

    return write


@pytest.fixture
def made() -> Callable[[Path, Path], Made]:
    """Make a series from its manifest's path."""
    def make(manifest: Path, out: Path) -> Made:
        reading = load_series(manifest)
        assert reading.series is not None, [fault.message for fault in reading.faults]
        return make_columns(reading.series, out, None)

    return make
