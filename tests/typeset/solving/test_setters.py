"""The answer that a setter means: held against the proved one, and against what is printed."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml

from cagework.solver.editing.compose_crossing import CrossingRecipe, compose_crossing
from cagework.solver.model import Answer, Cell, Puzzle
from cagework.typeset.manifest.load import load_book
from cagework.typeset.solving.check import Checked, check_puzzles

LAMP = """\
id: lamp
size: 4
map: |
  aabc
  dabc
  deec
  dfff
sums: {a: 7, b: 6, c: 6, d: 8, e: 4, f: 9}
answer: |
"""

Only = Callable[[Puzzle], Answer]


def checked(folder: Path, text: str) -> Checked:
    file = folder / "p.yaml"
    file.write_text(text, encoding="utf-8")
    one, = check_puzzles(load_book(file, puzzles_suffice=True).puzzles, None)
    return one


@pytest.fixture
def rows(tmp_path: Path, only_answer: Only) -> list[str]:
    """The lamp's only answer by CP-SAT, a text a row."""
    entry = checked(tmp_path, LAMP.partition("answer")[0]).reading.entry
    assert entry is not None
    text = str(only_answer(entry.puzzle))
    return [text[at:at + 4] for at in range(0, 16, 4)]


def written(rows: list[str]) -> str:
    return LAMP + "".join(f"  {row}\n" for row in rows)


def told(one: Checked) -> list[tuple[int, int, str]]:
    return [(fault.line, fault.column, fault.message) for fault in one.faults if fault.is_error]


def test_the_right_answer_is_no_fault_whole_or_in_part(tmp_path: Path, rows: list[str]) -> None:
    assert told(checked(tmp_path, written(rows))) == []
    assert told(checked(tmp_path, written([rows[0], "....", "." + rows[2][1:], "...."]))) == []


def test_a_digit_that_differs_is_told_in_its_place(tmp_path: Path, rows: list[str]) -> None:
    wrong = next(digit for digit in "1234" if digit != rows[2][3])
    one = checked(tmp_path, written([*rows[:2], rows[2][:3] + wrong, rows[3]]))
    assert one.is_sound
    assert told(one) == [(12, 6, f"the setter's answer has {wrong} in r3c4; the only answer has {rows[2][3]}")]
    both = checked(tmp_path, written([*rows[:2], wrong + rows[2][1:3] + wrong, rows[3]]))
    if rows[2][0] != wrong:
        assert told(both)[0][:2] == (12, 3) and told(both)[0][2].endswith("(and 1 more slip)")


def test_where_nothing_is_proved_it_is_held_against_what_is_printed(tmp_path: Path, rows: list[str]) -> None:
    """A slip in a sum leaves no answer; the one that was meant says where."""
    one = checked(tmp_path, written(rows).replace("f: 9", "f: 8"))
    assert one.outcome == "no-answer"
    assert told(one) == [(13, 4, "the setter's answer makes 9 of the cage of 8 at r4c2")]
    two = checked(tmp_path, written(rows).replace("b: 6, c: 6", "b: ~, c: ~"))
    assert two.outcome == "two-answers" and told(two) == []
    swapped = checked(tmp_path, written([rows[1], rows[0], *rows[2:]]).replace("b: 6, c: 6", "b: ~, c: ~"))
    assert any("setter's answer" in message for _, _, message in told(swapped))
    other = next(digit for digit in "1234" if digit != rows[0][0])
    given = checked(tmp_path, written(rows).replace("answer:", f"givens: {{r1c1: {other}}}\nanswer:"))
    assert given.outcome == "no-answer"
    assert f"the setter's answer has {rows[0][0]} in r1c1, where {other} is given" in told(given)[0][2]


@pytest.mark.parametrize(("answer", "place", "message"), [
    ("  1234\n", (9, 3), "the answer block is one line"), ("  1234\n  12\n  1234\n  1234\n", (10, 3), "2 cells"),
    ("  12x4\n  1234\n  1234\n  1234\n", (9, 5), "'x' is not a digit"),
    ("  1235\n  1234\n  1234\n  1234\n", (9, 6), "'5' is not a digit"),
])
def test_an_answer_of_another_shape_is_a_fault_of_reading(
    tmp_path: Path, answer: str, place: tuple[int, int], message: str,
) -> None:
    line, column, said = told(checked(tmp_path, LAMP.replace("id: lamp\n", "") + answer))[0]
    assert ((line, column), message in said) == (place, True), said


def test_the_answer_of_crossing_sums_has_their_black_squares(
    tmp_path: Path, crossing_part: Callable[..., dict[str, Any]],
) -> None:
    puzzle, answer = (made := compose_crossing(1, CrossingRecipe(4, 7))).puzzle, made.answer
    lines = ["".join(str(answer.at(Cell(row, col))) if (row, col) in puzzle.cells else "#"
                     for col in range(1, 8)) for row in range(1, 5)]
    cell = puzzle.cells[-1]
    for lines_now, faults in ((lines, 0), ([line.replace("#", "x") for line in lines], 0), (lines[:3], 1)):
        part = crossing_part(puzzle, answer="\n".join(lines_now))
        assert len(told(checked(tmp_path, yaml.safe_dump(part)))) == faults
    digit = 9 if answer.at(cell) != 9 else 8
    row = lines[cell.row - 1]
    lines[cell.row - 1] = f"{row[:cell.col - 1]}{digit}{row[cell.col:]}"
    one = checked(tmp_path, yaml.safe_dump(crossing_part(puzzle, answer="\n".join(lines))))
    assert told(one)[0][2] == (f"the setter's answer has {digit} in {cell}; "
                               f"the only answer has {answer.at(cell)}")


@pytest.mark.parametrize(("answer", "message"), [
    ("12\n..", "makes 3 of the run of 5 across at r1c1"), ("1.\n3.", "makes 4 of the run of 5 down at r1c1"),
    ("11\n..", "has 1 twice in the run across at r1c1, in r1c1 and r1c2"),
    (".2\n.2", "has 2 twice in the run down at r1c2, in r1c2 and r2c2")])
def test_where_crossing_sums_have_two_answers_a_slip_is_told_by_its_run(
    tmp_path: Path, answer: str, message: str,
) -> None:
    """Two by two squares, whose runs all make 5."""
    part = {"id": "x", "kind": "crossing-sums", "map": "..\n..", "across": [5, 5], "down": [5, 5]}
    part["answer"] = answer
    one = checked(tmp_path, yaml.safe_dump(part))
    assert one.outcome == "two-answers" and told(one)[0][2].startswith(f"the setter's answer {message}")
