"""A series of four slots picked and built in one command: what its dates ask for is counted here afresh."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest

from cagework.solver.model import Puzzle
from cagework.solver.symmetry import canonical
from cagework.typeset.columns.ledger import read_ledger
from cagework.typeset.commands.exits import Exit

WEEK = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
GENTLE = dict.fromkeys(WEEK, "stroll")
RISING = GENTLE | dict.fromkeys(WEEK[4:], "climb")
SLOTS = {"morning": ([4], GENTLE), "noon": ([4, 6], GENTLE), "evening": ([6], RISING), "night": ([6], RISING)}


def flow(days: dict[str, str]) -> str:
    return "{" + ", ".join(f"{day}: {grade}" for day, grade in days.items()) + "}"


def recipe(count: int = 7, spread: str = "[constructors, ideas]") -> str:
    slots = "".join(f"  - {{slot: single-column, name: {name}, sizes: {sizes}, days: {flow(days)}}}\n"
                    for name, (sizes, days) in SLOTS.items())
    return (f"pick: {{unprinted: true, spread: {spread}}}\nseries:\n  id: courier\n  title: The Courier\n"
            f"  start: 2027-03-01\n  count: {count}\n  days: {flow(RISING)}\n  ledger: printed.yaml\n"
            f"slots:\n{slots}")


@pytest.fixture
def both(
    shelf: Path, fours: Sequence[Puzzle], keys_of: Callable[..., Any], file_of: Callable[..., str],
) -> Path:
    """The shelf of sixes, and fours by the same constructors, no two alike."""
    unlike = list({canonical(puzzle): puzzle for puzzle in fours}.values())[:24]
    makers = ("the miller", "the cooper", "the wheelwright", "the chandler")
    for number, puzzle in enumerate(unlike):
        (shelf / f"four-{number:02}.yaml").write_text(
            file_of(keys_of(f"four-{number:02}", puzzle, makers[number % 4])), encoding="utf-8")
    return shelf


def test_four_slots_of_a_week_are_picked_and_built_at_once(
    both: Path, tmp_path: Path, pool: Callable[..., Any],
) -> None:
    file = tmp_path / "recipe.yaml"
    file.write_text(recipe(), encoding="utf-8")
    out = tmp_path / "columns"
    asked = pool(both, "--pick", file, "--write", tmp_path / "courier.yaml", "--build", out, "--json")
    assert asked.status == Exit.FINE, asked.err
    assert "7 dates, 4 slots" in asked.err
    puzzles = {one["id"]: one for one in asked.json["puzzles"]}
    uses = read_ledger(tmp_path / "printed.yaml").uses
    assert {use.puzzle for use in uses} == set(puzzles) and len({use.key for use in uses}) == 28 == len(uses)
    for use in uses:
        sizes, days = SLOTS[use.slot]
        one = puzzles[use.puzzle]
        assert one["grade"] == days[f"{use.earlier.date:%A}".lower()] and int(one["size"]) in sizes
        assert (out / f"{use.earlier.date.isoformat()}-{use.slot}.pdf").is_file()
    assert Counter(use.slot for use in uses) == dict.fromkeys(SLOTS, 7)
    assert {use.earlier.date for use in uses} == {dt.date(2027, 3, day) for day in range(1, 8)}
    assert set(Counter(one["by"] for one in puzzles.values()).values()) == {7}, "four constructors"
    before = {path.name: path.read_bytes() for path in out.iterdir()}
    again = pool(both, "--pick", file, "--write", tmp_path / "next.yaml", "--build", out, "--printed",
                 tmp_path / "printed.yaml")
    assert again.status == Exit.FAULTS, "20 puzzles are left"
    assert {path.name: path.read_bytes() for path in out.iterdir()} == before


def test_what_the_pool_lacks_for_the_dates_is_counted(
    both: Path, tmp_path: Path, pool: Callable[..., Any],
) -> None:
    file = tmp_path / "recipe.yaml"
    file.write_text(recipe(count=21, spread="ideas"), encoding="utf-8")
    there = Counter((one["size"], one["grade"]) for one in pool(both, "--json", "--sound").json["puzzles"])
    asked = pool(both, "--pick", file, "--write", tmp_path / "courier.yaml")
    wanted = 2 * 9
    assert there["6", "climb"] < wanted
    assert asked.status == Exit.FAULTS and not (tmp_path / "courier.yaml").exists()
    assert (f"there would be {there['6', 'climb']} climb of 6 by 6, {wanted - there['6', 'climb']} fewer than the "
            f"{wanted} that the dates want") in " ".join(asked.err.split())


def empty(tmp_path: Path) -> Path:
    folder = tmp_path / "empty"
    folder.mkdir()
    return folder


@pytest.mark.parametrize(("change", "says"), [
    (("monday: stroll, ", ""), "not the publication days"), (("sizes: [4]", "sizes: [3]"), "sizes of grids"),
    (("spread: ideas", "spread: idea"), "there is no spread 'idea'"), (("count: 7", "count: 1000"), "up to 4000"),
])
def test_dates_that_ask_for_nothing_sensible(
    change: tuple[str, str], says: str, tmp_path: Path, pool: Callable[..., Any],
) -> None:
    text = recipe(spread="ideas") + "  - {slot: strip, sizes: [6]}\n"
    head, found, rest = text.partition("days: {") if "monday" in change[0] else ("", "", text)
    file = tmp_path / "recipe.yaml"
    file.write_text(head + found + rest.replace(*change, 1), encoding="utf-8")
    asked = pool(empty(tmp_path), "--pick", file, "--write", tmp_path / "courier.yaml")
    assert asked.status == Exit.FAULTS and says in asked.err


def test_a_book_is_not_built_on_the_way(tmp_path: Path, pool: Callable[..., Any]) -> None:
    file = tmp_path / "recipe.yaml"
    file.write_text("pick: {count: 2}\nbook: {title: B}\n", encoding="utf-8")
    folder = empty(tmp_path)
    asked = pool(folder, "--pick", file, "--write", tmp_path / "b.yaml", "--build", tmp_path / "out")
    assert asked.status == Exit.FAULTS and "cagework build FILE" in asked.err
    assert pool(folder, "--pick", file, "--build", tmp_path / "out").status == Exit.USAGE
