"""Crossing sums as a manifest has them, to what `check --json` says of them."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from cagework.solver.editing.compose_crossing import CrossingRecipe, compose_crossing
from cagework.solver.model import Given
from cagework.typeset.commands.door import main
from cagework.typeset.manifest.document import parse_document
from cagework.typeset.manifest.load import load_book
from cagework.typeset.manifest.schema import schema

SQUARE = "id: square\nkind: crossing-sums\nmap: |\n  ..\n  ..\n"
CORNER = """
puzzles:
  - id: corner
    kind: crossing-sums
    map: |
      #..#
      ....
      ##..
    across: [4, 18, 5]
    down: [11, 7, 4]
    givens: {r2c4: 3}
"""


def test_it_is_read_as_it_is_written(tmp_path: Path) -> None:
    file = tmp_path / "corner.yaml"
    file.write_text(CORNER, encoding="utf-8")
    (reading,) = load_book(file, puzzles_suffice=True).puzzles
    assert reading.faults == ()
    assert reading.entry is not None
    puzzle = reading.entry.puzzle
    assert (puzzle.rows, puzzle.columns, puzzle.size, puzzle.houses) == (3, 4, 9, ())
    assert [(str(cage.first), len(cage.cells), cage.total) for cage in puzzle.cages] == [
        ("r1c2", 2, 4), ("r2c1", 4, 18), ("r3c3", 2, 5), ("r1c2", 2, 11), ("r1c3", 3, 7), ("r2c4", 2, 4)]
    assert puzzle.givens == (Given(puzzle.cells[5], 3),)
    data = parse_document(file, CORNER).data
    puzzles = {"$ref": "#/$defs/PuzzlePart", "$defs": schema()["$defs"]}
    assert Draft202012Validator(puzzles).is_valid(data["puzzles"][0])


def checked(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, dict[str, object]]:
    status = main(["check", *arguments, "--json", "--no-cache"])
    (puzzle,) = json.loads(capsys.readouterr().out)["puzzles"]
    return status, puzzle


def test_its_answer_is_printed_row_by_row(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """By hand: 3 is above 1, so 1 below it, and 4 before that; then 1 above 2 leaves 3 above 8, and 5."""
    (tmp_path / "corner.yaml").write_text(CORNER, encoding="utf-8")
    status, puzzle = checked(capsys, str(tmp_path / "corner.yaml"))
    assert (status, puzzle["outcome"], puzzle["answer"]) == (0, "sound", ".31.5823..41")


@pytest.mark.parametrize("rows", [5, 12])
def test_what_is_composed_is_found_again(rows: int, tmp_path: Path, capsys: pytest.CaptureFixture[str],
                                        crossing_part: Callable[..., dict[str, Any]]) -> None:
    made = compose_crossing(1, CrossingRecipe(rows, 7))
    file = tmp_path / "made.yaml"
    file.write_text(yaml.safe_dump(crossing_part(made.puzzle)), encoding="utf-8")
    assert checked(capsys, str(file))[1]["answer"] == str(made.answer)


def test_two_answers_and_none_are_told_by_runs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "square.yaml"
    file.write_text(f"{SQUARE}across: [5, 5]\ndown: [5, 5]\n", encoding="utf-8")
    status, puzzle = checked(capsys, str(file), "--why")
    assert (status, puzzle["outcome"]) == (1, "two-answers")
    file.write_text(f"{SQUARE}across: [3, 17]\ndown: [4, 16]\n", encoding="utf-8")
    assert main(["check", str(file), "--why", "--no-cache"]) == 1
    said = capsys.readouterr().out
    assert "its sums contradict each other" in said
    assert "the run of 4 down at r1c1 (r1c1 r2c1)" in said
    assert "the run of 17 across at r2c1 (r2c1 r2c2)" in said
    file.write_text(f"{SQUARE}across: [5, 5]\ndown: [5, 5]\ngivens: {{r1c1: 1, r2c2: 3}}\n", encoding="utf-8")
    assert main(["check", str(file), "--no-cache"]) == 1
    assert "its sums and givens contradict each other" in " ".join(capsys.readouterr().out.split())
