"""What is printed of an index is what `check` says of the files, and no filter loses or adds a puzzle."""

from __future__ import annotations

import json
from collections import Counter
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit

One = Mapping[str, Any]
BOOK = Path(__file__).parents[3] / "books" / "clear-skies"
"""A puzzle or two of every rule."""


def test_each_puzzle_is_what_check_and_explain_say_of_it(
    shelf: Path, pool: Callable[..., Any], capfd: pytest.CaptureFixture[str],
) -> None:
    files = sorted(map(str, shelf.rglob("*.yaml")))
    main(["check", *files, "--json"])
    checked = {one["id"]: one for one in json.loads(capfd.readouterr().out)["puzzles"]}
    said = {one["id"]: one for one in pool(shelf, "--json").json["puzzles"]}
    assert said.keys() == checked.keys() and len(said) == 24
    for name, one in said.items():
        for key in ("outcome", "grade", "score", "near", "path"):
            assert one[key] == checked[name][key], (name, key)
        assert str(shelf / one["file"]) == checked[name]["file"]
        lines = (shelf / one["file"]).read_text(encoding="utf-8").splitlines()
        assert name in "".join(lines[one["line"] - 1:one["line"] + 2])
    capfd.readouterr()
    main(["explain", str(shelf / "one-0.yaml"), "six-00", "--json"])
    steps = json.loads(capfd.readouterr().out)["steps"]
    one = said["six-00"]
    assert one["ideas"] == sorted({step["technique"] for step in steps})
    assert one["steps"] == len(steps)
    assert one["load"] == max(step["load"] for step in steps if step["load"] is not None)


def longest(one: One) -> int:
    """The longer side of a grid, as of crossing sums of `6 x 10`."""
    return max(map(int, one["size"].split(" x ")))


def tried(puzzles: list[One]) -> list[tuple[list[object], Callable[[One], bool]]]:
    """Filters, and what each means of a puzzle as it is printed."""
    idea = Counter(name for one in puzzles for name in one["ideas"]).most_common()[-1][0]
    by = next((one["by"] for one in puzzles if one["by"]), "nobody")
    return [
        (["--grade", "stroll"], lambda one: one["grade"] == "stroll"),
        (["--grade", "climb", "--grade", "stroll"], lambda one: one["grade"] in ("climb", "stroll")),
        (["--size", "6"], lambda one: longest(one) == 6),
        (["--size", "9", "--size", "4"], lambda one: longest(one) in (4, 9)),
        (["--rule", "none"], lambda one: not one["rules"]),
        (["--rule", "knight"], lambda one: "knight" in one["rules"]),
        (["--rule", "none", "--rule", "king"], lambda one: not one["rules"] or "king" in one["rules"]),
        (["--by", by.upper()], lambda one: one["by"] == by),
        (["--idea", idea], lambda one: idea in one["ideas"]),
        (["--without", idea], lambda one: one["outcome"] == "sound" and idea not in one["ideas"]),
        (["--idea", "naked_single", "--idea", idea], lambda one: {"naked_single", idea} <= {*one["ideas"]}),
        (["--sound"], lambda one: one["outcome"] == "sound"),
        (["--sound", "--size", "6", "--without", idea],
         lambda one: one["outcome"] == "sound" and longest(one) == 6 and idea not in one["ideas"]),
    ]


@pytest.mark.parametrize("where", ["shelf", "book"])
def test_a_filter_leaves_what_it_says(where: str, shelf: Path, pool: Callable[..., Any]) -> None:
    folder = shelf if where == "shelf" else BOOK
    (shelf / "dark.yaml").write_text(
        "id: dark\nsize: 4\ncages: []\ngivens: {r1c1: 1, r2c2: 2, r3c1: 2, r3c4: 1, r4c3: 2}\n", encoding="utf-8")
    everything = pool(folder, "--json").json["puzzles"]
    left = set()
    for options, meant in tried(everything):
        said = pool(folder, "--json", *options).json
        assert said["puzzles"] == [one for one in everything if meant(one)], options
        assert said["counts"][0]["puzzles"] == len(said["puzzles"]) if said["puzzles"] else not said["counts"]
        left.add(len(said["puzzles"]))
    assert len(left) > 3


def test_the_table_adds_up(pool: Callable[..., Any]) -> None:
    said = pool(BOOK, "--json").json
    puzzles, counts = said["puzzles"], said["counts"]
    (everything,) = (one for one in counts if one["sort"] == "all")
    for sort, key in (("size", "size"), ("by", "by")):
        names = Counter((one[key] or "") for one in puzzles)
        assert {one["name"]: one["puzzles"] for one in counts if one["sort"] == sort} == names
    rules = Counter(rule for one in puzzles for rule in one["rules"] or ["none"])
    assert {one["name"]: one["puzzles"] for one in counts if one["sort"] == "rule"} == rules
    for grade in ("stroll", "climb", "scramble", "summit"):
        assert everything[grade] == sum(one["grade"] == grade for one in puzzles)
    assert everything["puzzles"] == len(puzzles) and everything["sound"] == len(puzzles)


def test_the_list_and_the_table_are_printed_for_the_eye(shelf: Path, pool: Callable[..., Any]) -> None:
    asked = pool(shelf, "--list", "--by", "the miller")
    assert asked.status == Exit.FINE
    rows = asked.out.splitlines()
    assert len(rows) == 1 + 6 + 1 and rows[0].startswith("puzzle") and "six-00" in asked.out
    assert "one-4.yaml:" in asked.out and "24 puzzles in 9 files, 0 warnings" in rows[-1]
    assert "the cooper" in pool(shelf).out


def test_a_list_for_another_program_cuts_nothing(shelf: Path, pool: Callable[..., Any]) -> None:
    """However long the lines; with letters of any width."""
    name = "the wheelwright of Überlingen and " + "long " * 30 + "漢字"
    was = (shelf / "one-0.yaml").read_text(encoding="utf-8")
    for text in ("the cooper", name):
        (shelf / "one-0.yaml").write_text(was.replace("the miller", text), encoding="utf-8")
        rows = pool(shelf, "--list").out.splitlines()
        assert len(rows) == 1 + 24 + 1 and "…" not in "".join(rows)
    assert sum(name in row for row in rows) == 1
