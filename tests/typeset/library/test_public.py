"""What `import cagework` gives: named in one place, documented, typed, loaded when used, and right."""

from __future__ import annotations

import ast
import inspect
import subprocess
import sys
from collections.abc import Iterator, Sequence
from importlib import import_module, metadata
from itertools import permutations
from pathlib import Path
from typing import get_type_hints
from xml.etree import ElementTree

import pytest

import cagework

FUNCTIONS = sorted(name for name in cagework.__all__ if inspect.isfunction(getattr(cagework, name)))

FERRY = {"r1c1-r1c3": 9, "r1c4 r2c4": 3, "r2c1-r2c3": 8, "r3c1 r4c1": 6, "r3c2-r3c4": 6, "r4c2-r4c4": 8}
"""The cages of a puzzle of 4 x 4 cells."""

LOADED = """
import sys
import cagework
before = {name for name in sys.modules if name.startswith("cagework.")}
puzzle = cagework.make_puzzle(4, {"r1c1 r1c2": 7})
cagework.solve(puzzle)
print(before or "nothing", *sorted({name.partition(".")[0] for name in sys.modules}))
"""


def module_of_the_face(root: Path) -> ast.Module:
    return ast.parse((root / "typeset" / "face" / "__init__.py").read_text(encoding="utf-8"))


def test_a_name_is_public_in_all_places_or_none(root: Path) -> None:
    """What type checkers read, what is loaded and what is listed are the same names from the same modules."""
    read = {name.name: node.module for node in ast.walk(module_of_the_face(root))
            if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("cagework.")
            for name in node.names}
    loaded = {name: f"cagework.{home}" for home, names in cagework._HOMES.items() for name in names}
    assert read == loaded
    assert sorted(read) == cagework.__all__
    for name, home in loaded.items():
        assert getattr(cagework, name) is getattr(import_module(home), name)


def test_what_is_public_is_documented_with_units_and_errors() -> None:
    for name in cagework.__all__:
        assert inspect.getdoc(getattr(cagework, name)), name
        assert name in dir(cagework)
    errors = {name for name in cagework.__all__ if name.endswith("Error")}
    for name in FUNCTIONS:
        text = inspect.getdoc(getattr(cagework, name)) or ""
        assert any(f"{error} " in text.partition("Raises ")[2] for error in errors), f"{name} says no error"
    assert " mm " in (cagework.draw.__doc__ or "") and "seconds" in (cagework.solve.__doc__ or "")


@pytest.mark.parametrize("name", FUNCTIONS)
def test_the_types_of_a_public_function_resolve_and_are_public(name: str) -> None:
    hints = get_type_hints(getattr(cagework, name))
    assert hints.keys() == {*inspect.signature(getattr(cagework, name)).parameters, "return"}
    ours = {part.__name__ for hint in hints.values() for part in parts(hint)
            if getattr(part, "__module__", "").startswith("cagework.")}
    assert ours <= set(cagework.__all__)


def parts(hint: object) -> Iterator[type]:
    """The classes that an annotation is made of."""
    inner = getattr(hint, "__args__", ())
    if not inner and isinstance(hint, type):
        yield hint
    for one in inner:
        yield from parts(one)


def test_importing_loads_nothing_and_solving_no_page() -> None:
    done = subprocess.run([sys.executable, "-c", LOADED], capture_output=True, text=True, check=True)
    before, *loaded = done.stdout.split()
    assert before == "nothing"
    assert not set(loaded) & {"fontTools", "pydantic", "pypdf", "reportlab", "rich", "starlette", "svgwrite"}


def test_a_misspelt_name_is_none() -> None:
    with pytest.raises(AttributeError, match="'cagework' has no attribute 'slove'"):
        cagework.slove  # type: ignore[attr-defined]  # noqa: B018
    assert cagework.__version__ == metadata.version("cagework")


def test_the_package_is_the_command(capfd: pytest.CaptureFixture[str]) -> None:
    for module in ("cagework", "cagework.typeset"):
        subprocess.run([sys.executable, "-m", module, "--help"], check=True)
    one, other = capfd.readouterr().out.split("usage: ")[1:]
    assert one == other and one.startswith("cagework ")


def grids() -> Iterator[tuple[Sequence[int], ...]]:
    """Every grid of 4 x 4 with each digit once in each row, column and box."""
    rows = list(permutations(range(1, 5)))
    halves = [(one, other) for one in rows for other in rows
              if len({*one[:2], *other[:2]}) == len({*one[2:], *other[2:]}) == 4]
    for top in halves:
        for bottom in halves:
            if all(len(set(column)) == 4 for column in zip(*top, *bottom, strict=True)):
                yield *top, *bottom


def test_a_made_puzzle_has_the_answer_that_trying_every_grid_finds() -> None:
    """There are 288 grids of 4 x 4 with boxes (OEIS A107739); one of them fits the cages."""
    puzzle = cagework.make_puzzle(4, FERRY)
    every = list(grids())
    assert len(every) == 288
    right = [grid for grid in every if all(
        sum(grid[cell.row - 1][cell.col - 1] for cell in cage.cells) == cage.total
        and len({grid[cell.row - 1][cell.col - 1] for cell in cage.cells}) == len(cage.cells)
        for cage in puzzle.puzzle.cages)]
    found = cagework.solve(puzzle)
    assert found.outcome is cagework.Outcome.SOUND
    assert [str(found.answer)] == ["".join(str(digit) for row in grid for digit in row) for grid in right]
    told = cagework.explain(puzzle)
    assert told.solved and all(step.proved and step.text for step in told.steps)
    placed = {cell: digit for step in told.steps for cell, digit in step.places.items()}
    assert placed == {cell: right[0][cell.row - 1][cell.col - 1] for cell in puzzle.puzzle.cells}
    assert told.rating == cagework.grade(puzzle)
    assert cagework.explain(puzzle, language="de").steps[0].text != told.steps[0].text


def test_a_puzzle_with_two_answers_is_no_error_and_is_explained_as_far_as_it_goes() -> None:
    puzzle = cagework.make_puzzle(4, {"r1c1-r1c3": 9, "r1c4 r2c4": 3})
    found, told = cagework.solve(puzzle), cagework.explain(puzzle)
    assert found.outcome is cagework.Outcome.TWO_ANSWERS and found.answer != found.second
    assert not told.solved and told.answer is None and told.shape
    assert cagework.solve(cagework.make_puzzle(9, {}), seconds=0).outcome is cagework.Outcome.UNDECIDED


def test_a_puzzle_is_drawn_in_millimetres_with_its_sums_and_digits() -> None:
    puzzle = cagework.make_puzzle(4, FERRY, title="First Ferry")
    answer = cagework.solve(puzzle).answer
    for drawn, words in ((cagework.draw(puzzle, cell=12), [*map(str, FERRY.values())]),
                         (cagework.draw(puzzle, answer, cell=12), list(str(answer)))):
        root = ElementTree.fromstring(drawn)
        assert root.get("width") == root.get("height") == f"{4 * 12 + 2 * 3}mm"
        assert root.findtext("{*}title") == "First Ferry"
        assert sorted(filter(None, (one.get("aria-label") for one in root.iter()))) == sorted(words)


@pytest.mark.parametrize(("rule", "houses", "pairs"), [("diagonals", 14, 0), ("knight", 12, 24)])
def test_a_rule_is_named_whatever_a_manifest_names_it_under(rule: str, houses: int, pairs: int) -> None:
    """A knight on n x n squares joins 4 (n - 1) (n - 2) pairs of them."""
    puzzle = cagework.make_puzzle(4, {}, rules=rule).puzzle
    assert (len(puzzle.houses), len(puzzle.pairs)) == (houses, pairs)


def test_cells_are_named_in_text_or_as_cells() -> None:
    cell = cagework.Cell
    one = cagework.make_puzzle(4, {"r1c1": 3, "r1c2 r2c2": 5}, rules=[{"odd": "r1c1"}])
    other = cagework.make_puzzle(4, {cell(1, 1): 3, (cell(1, 2), cell(2, 2)): 5}, rules=({"odd": "r1c1"},))
    assert one.puzzle == other.puzzle
