"""What `cagework check --why` says and draws."""

from __future__ import annotations

import itertools
import json
import string
import xml.etree.ElementTree as ET
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from cagework.solver.editing.repair import Repair, RepairKind
from cagework.solver.model import Answer, Cage, Cell, Given, Puzzle
from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit
from cagework.typeset.manifest.load import load_book
from cagework.typeset.solving.as_written import as_written

SVG = "{http://www.w3.org/2000/svg}"
UNSOUND = """\
- id: fork
  title: Fork
  size: 4
  map: |
    aabb
    aabb
    ccdd
    ccdd
  sums: {a: 10, b: 10, c: 10, d: 10}
  givens: {r1c1: 1, r1c2: 2, r1c3: 3, r2c1: 3, r2c3: 1, r3c1: 2, r3c3: 4}
- id: dark
  title: Dark
  size: 4
  map: |
    aabc
    dabc
    deec
    dfff
  sums: {a: 8, b: 5, c: 6, d: 8, e: 4, f: 9}
- id: lamp
  title: Lamp
  size: 4
  map: |
    aabc
    dabc
    deec
    dfff
  sums: {a: 7, b: 6, c: 6, d: 8, e: 4, f: 9}
  givens: {r1c1: 2}
"""


@pytest.fixture
def unsound(tmp_path: Path) -> Path:
    path = tmp_path / "unsound.yaml"
    path.write_text(UNSOUND, encoding="utf-8")
    return path


def test_why_names_the_swap_its_repairs_and_the_conflict(unsound: Path, capsys: Any) -> None:
    assert main(["check", str(unsound), "--why"]) == Exit.FAULTS
    said = capsys.readouterr().out
    assert said.count("r3c2 r3c4 r4c2 r4c4") == 1, "the table says it"
    assert "two answers or more: 4 cells can swap" in said
    assert "print 1 in r3c2" in said
    assert "undo a merge: split the cage of 10 (r3c1 r3c2 r4c1 r4c2) into 3 (r3c1 r3c2) and 7 (r4c1 r4c2)" in said
    assert "3 parts contradict each other" in said
    assert "the cage of 8 (r2c1 r3c1 r4c1)" in said and "column 1" in said
    assert "\nlamp\n" not in said, "nothing is said of a sound puzzle"


def test_why_names_a_line_by_its_ends(tmp_path: Path, capsys: Any) -> None:
    """No digit is greater than 3 and less than 4."""
    file = tmp_path / "dim.yaml"
    file.write_text("id: dim\ntitle: Dim\nsize: 4\nmap: |\n  aabb\n  aabb\n  ccdd\n  ccdd\n"
                    "sums: {a: 10, b: 10, c: 10, d: 10}\ngivens: {r1c1: 3, r3c3: 4}\n"
                    "rules: [{between: r1c1 r2c2 r3c3}]\n", encoding="utf-8")
    assert main(["check", str(file), "--why"]) == Exit.FAULTS
    said = capsys.readouterr().out
    assert "3 parts contradict each other" in said and "the rule on the line from r1c1 to r3c3" in said
    assert main(["check", str(file), "--why", "--json"]) == Exit.FAULTS
    members = json.loads(capsys.readouterr().out)["puzzles"][0]["why"]["conflict"]
    assert {"kind": "between", "cells": ["r1c1", "r3c3", "r2c2"]} in members


def test_why_adds_up_and_says_which_single_sum_mends(tmp_path: Path, capsys: Any) -> None:
    """The lamp with a sum one too low: by hand, a grid of 4 by 4 adds to 40."""
    file = tmp_path / "slip.yaml"
    file.write_text(UNSOUND.partition("- id: lamp")[2].replace("\n  ", "\n").replace("f: 9", "f: 8").partition(
        "givens")[0], encoding="utf-8")
    assert main(["check", str(file), "--why"]) == Exit.FAULTS
    said = capsys.readouterr().out
    assert "\n  all 6 cages add to 39, the whole grid to 40: 1 too few\n" in said and "sums alone" not in said
    assert "give the cage of 8 (r4c2 r4c3 r4c4) the sum 9" in said
    assert main(["check", str(file), "--why", "--json"]) == Exit.FAULTS
    why = json.loads(capsys.readouterr().out)["puzzles"][0]["why"]
    assert (why["arithmetic"]["cages"], why["arithmetic"]["houses"]) == (39, 40)
    assert {repair["kind"] for repair in why["repairs"]} == {"sum"}


def test_why_adds_up_all_cages_first_and_says_which_sum_is_not_enough(tmp_path: Path, capsys: Any) -> None:
    """A puzzle with two answers, and one of its sums 2 too high: by hand, the sums add to 40 without that."""
    file = tmp_path / "over.yaml"
    file.write_text(LOOSE.replace("d: 5", "d: 7").partition("answer")[0], encoding="utf-8")
    assert main(["check", str(file), "--why"]) == Exit.FAULTS
    said = capsys.readouterr().out.partition("\ntwice\n")[2].splitlines()
    assert said[0] == "  all 6 cages add to 42, the whole grid to 40: 2 too many"
    assert "  the cage of 7 (r2c2 r2c3) with the sum 5 would leave answers, but more than one" in said


def test_where_no_cage_can_be_redrawn_it_says_that_it_was_looked_for(tmp_path: Path, capsys: Any) -> None:
    """There is none to redraw."""
    file = tmp_path / "bare.yaml"
    file.write_text("id: bare\nsize: 4\ncages: []\ngivens: {r1c1: 1, r1c2: 2, r1c3: 3, r2c1: 3, r2c3: 1, r3c1: 2, "
                    "r3c3: 4}\n", encoding="utf-8")
    main(["check", str(file), "--why"])
    assert "looked for, too, and not found: a cage split in two" in capsys.readouterr().out


def test_why_as_json(unsound: Path, capsys: Any) -> None:
    main(["check", str(unsound), "--why", "--json"])
    fork, dark, lamp = json.loads(capsys.readouterr().out)["puzzles"]
    assert fork["why"]["region"] == {"r3c2": [1, 3], "r3c4": [3, 1], "r4c2": [3, 1], "r4c4": [1, 3]}
    assert {repair["kind"] for repair in fork["why"]["repairs"]} == {"given", "unmerge", "cut"}
    assert [member["kind"] for member in dark["why"]["conflict"]] == ["cage", "cage", "house"]
    assert "why" not in lamp


def test_each_repair_in_json_makes_the_puzzle_sound_with_the_answer_beside_it(
    unsound: Path, only_answer: Callable[[Puzzle], Answer], capsys: Any,
) -> None:
    main(["check", str(unsound), "--why", "--json"])
    fork = json.loads(capsys.readouterr().out)["puzzles"][0]
    entry = load_book(unsound, puzzles_suffice=True).puzzles[0].entry
    assert entry is not None
    for repair in fork["why"]["repairs"]:
        mended = carried_out(entry.puzzle, repair)
        assert str(only_answer(mended)) == repair["answer"], repair


TWICE = """\
id: twice
size: 4
map: |
  aabb
  cddb
  cedf
  eeff
sums: {a: 3, b: 9, c: 5, d: 9, e: 8, f: 6}
answer: |
  1234
  3412
  2143
  4321
"""
"""By its answer the cage d would hold two 4s."""
LOOSE = TWICE.replace("cedf", "ceff").replace("d: 9", "d: 5").replace("f: 6", "f: 10")
"""The same with a cell moved to the next cage: the answer is one of two."""


@pytest.mark.parametrize(("text", "kinds"), [(LOOSE, {"given", "cut"}), (TWICE, {"cut", "move"})])
def test_repairs_keep_to_the_answer_that_the_puzzle_says_it_has(
    text: str, kinds: set[str], tmp_path: Path, only_answer: Callable[[Puzzle], Answer], capsys: Any,
) -> None:
    file = tmp_path / "meant.yaml"
    file.write_text(text, encoding="utf-8")
    main(["check", str(file), "--why"])
    assert "just that which the puzzle says it has" in capsys.readouterr().out
    main(["check", str(file), "--why", "--json"])
    offered = json.loads(capsys.readouterr().out)["puzzles"][0]["why"]["repairs"]
    assert {repair["kind"] for repair in offered} == kinds
    entry = load_book(file, puzzles_suffice=True).puzzles[0].entry
    assert entry is not None
    for repair in offered:
        only = str(only_answer(carried_out(entry.puzzle, repair)))
        assert only == repair["answer"] == "1234341221434321", repair


@pytest.mark.parametrize("text", [
    LOOSE, LOOSE.replace("d: 5", "d: 6"), LOOSE.replace("c: 5, d: 5", "c: 4, d: 6"),
    LOOSE.replace("size: 4", "givens: {r1c1: 2, r4c4: 3}\nsize: 4"),
    TWICE, TWICE.replace("size: 4", "givens: {r1c1: 1}\nsize: 4")])
def test_each_repair_says_how_it_is_written(text: str, tmp_path: Path, capsys: Any) -> None:
    """Carried out in the file by its own words, it leaves nothing to mend."""
    file = tmp_path / "meant.yaml"
    file.write_text(text, encoding="utf-8")
    main(["check", str(file), "--why", "--json"])
    offered = json.loads(capsys.readouterr().out)["puzzles"][0]["why"]["repairs"]
    assert offered
    for repair in offered:
        file.write_text(pasted(text, repair["written"]), encoding="utf-8")
        assert main(["check", str(file)]) == Exit.FINE, repair


def pasted(text: str, written: str) -> str:
    """A puzzle's file after what is to be written in its map, its sums and its givens."""
    lines = [line for line in text.splitlines() if not ("givens: {" in written and line.startswith("givens"))]
    top = lines.index("map: |")
    for part in written.split("; "):
        key, _, rest = part.partition(": ")
        if key == "in map":
            letter, _, cells = rest.partition(" at ")
            for cell in map(Cell.parse, cells.replace(" and ", ", ").split(", ")):
                row = list(lines[top + cell.row])
                row[1 + cell.col] = letter
                lines[top + cell.row] = "".join(row)
        elif key == "in sums":
            sums = next(number for number, line in enumerate(lines) if line.startswith("sums"))
            held = dict(pair.split(": ") for pair in lines[sums][7:-1].split(", "))
            held |= dict(pair.split(": ") for pair in rest.split(", "))
            lines[sums] = f"sums: {{{', '.join(f'{name}: {total}' for name, total in held.items())}}}"
        else:
            lines.append(part)
    return "\n".join(lines) + "\n"


def test_repairs_that_change_the_answer_say_so(tmp_path: Path, capsys: Any) -> None:
    """No single cage can be made to fit an answer that breaks rows."""
    file = tmp_path / "other.yaml"
    file.write_text(LOOSE.replace("  1234\n  3412\n  2143", "  1234\n  3412\n  2144"), encoding="utf-8")
    main(["check", str(file), "--why"])
    said = capsys.readouterr().out
    assert "each of these changes the answer that the puzzle says it has" in said
    assert "print 3 in r3c2" in said and "print 1 in r3c4" in said


def carried_out(puzzle: Puzzle, repair: dict[str, Any]) -> Puzzle:
    """A repair in JSON as a program would carry it out: digits are printed, cages take the place of those on their
    cells.
    """
    printed = [Given(Cell.parse(cell), digit) for cell, digit in repair.get("givens", {}).items()]
    drawn = [Cage(tuple(map(Cell.parse, cage["cells"])), cage["sum"]) for cage in repair.get("cages", ())]
    covered = {cell for cage in drawn for cell in cage.cells}
    kept = [cage for cage in puzzle.cages if covered.isdisjoint(cage.cells)]
    return replace(puzzle, givens=(*puzzle.givens, *printed), cages=(*kept, *drawn))


def test_spare_parts_on_request(unsound: Path, capsys: Any) -> None:
    main(["check", str(unsound), "--spare"])
    assert "givens of which any one could go: 2 in r1c1" in capsys.readouterr().out


def test_pictures_show_the_cells_at_issue(unsound: Path, tmp_path: Path) -> None:
    main(["check", str(unsound), "--pictures", str(tmp_path / "why")])
    assert sorted(path.name for path in (tmp_path / "why").iterdir()) == ["dark.svg", "fork.svg"]
    tree = ET.parse(tmp_path / "why" / "fork.svg").getroot()
    groups = {group.attrib.get("class"): group for group in tree.iter(f"{SVG}g")}
    assert len(list(groups["marked"])) == 4
    assert [group.attrib["aria-label"] for group in groups["notes"]] == ["1/3", "3/1", "3/1", "1/3"]


def test_a_folder_that_cannot_be_written_is_its_own_outcome(unsound: Path, capsys: Any) -> None:
    assert main(["check", str(unsound), "--pictures", str(unsound)]) == Exit.NOT_WRITTEN
    assert "cannot write" in capsys.readouterr().err


def test_a_puzzle_of_another_file_is_named_even_when_turned(unsound: Path, tmp_path: Path, capsys: Any) -> None:
    other = tmp_path / "other.yaml"
    other.write_text("id: turned\ntitle: Turned\nsize: 4\nmap: |\n  dddA\n  ceeA\n  cbaA\n  cbaa\n"
                     "sums: {d: 9, A: 8, c: 6, e: 4, b: 6, a: 7}\ngivens: {r4c4: 2}\n", encoding="utf-8")
    main(["check", str(unsound), str(other)])
    assert "'turned' is puzzle 'lamp'" in " ".join(capsys.readouterr().err.split())


def test_where_no_letter_is_left_a_split_has_its_words_alone() -> None:
    """A map that uses up all letters still has other characters for its cages, but none is asked of the editor."""
    cells = [Cell(row, col) for row in range(1, 10) for col in range(1, 10)]
    letters = dict(zip(cells, itertools.chain(string.ascii_letters, itertools.repeat("1")), strict=False))
    whole = Cage((cells[60], cells[61], cells[62]), 12)
    parts = Cage(whole.cells[:1], 3), Cage(whole.cells[1:], 9)
    puzzle = Puzzle(9, (), parts)
    repair = Repair(RepairKind.CUT, puzzle, puzzle.answer([1] * 81), (), (whole,), parts)
    assert as_written(repair, letters) == ""
    spare = {**letters, cells[0]: "1"}
    assert as_written(repair, spare) == "in map: a at r7c7; in sums: a: 3, 1: 9"
