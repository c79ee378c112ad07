"""Dates and puzzles brought together: as many served as can be, by an outside solver; honest where not all are."""

from __future__ import annotations

import datetime as dt
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from ortools.graph.python import max_flow

from cagework.solver.model import Puzzle
from cagework.solver.reasoning.grade import Grade
from cagework.typeset.choices import Kind
from cagework.typeset.columns.load import load_series
from cagework.typeset.columns.schedule import Demand, Schedule, schedule
from cagework.typeset.columns.series import Day, Helping
from cagework.typeset.entry import Entry, Place
from cagework.typeset.faults import NotBuilt

SIZES = (4, 6, 9)


def entry(number: int, size: int, grade: Grade) -> Entry:
    place = Place(Path("pool.yaml"), number + 1, 1)
    return Entry(f"p{number}", "", None, grade, None, Puzzle(size, (), ()), (), place)


def demand(number: int, sizes: tuple[int, ...], grade: Grade) -> Demand:
    day = Day(dt.date(2027, 3, 1) + dt.timedelta(days=number), number, grade)
    return Demand(day, Helping(1, Kind.CAGES), 1, sizes, grade)


GRADES = st.sampled_from(list(Grade)[:2])
POOLS = st.lists(st.tuples(st.sampled_from(SIZES), GRADES), max_size=9).map(
    lambda rows: [entry(number, *row) for number, row in enumerate(rows)])
WANTED = st.lists(st.tuples(st.sets(st.sampled_from(SIZES), min_size=1).map(tuple), GRADES), max_size=9).map(
    lambda rows: [demand(number, *row) for number, row in enumerate(rows)])


def most_served(wanted: list[Demand], pool: list[Entry]) -> int:
    """The greatest number of demands that can be served at once: OR-Tools' maximum flow."""
    flow = max_flow.SimpleMaxFlow()
    source, sink = 1000, 1001
    for number, want in enumerate(wanted):
        flow.add_arc_with_capacity(source, number, 1)
        for index, one in enumerate(pool):
            if one.puzzle.size in want.sizes and one.grade is want.day.grade:
                flow.add_arc_with_capacity(number, 100 + index, 1)
    for index in range(len(pool)):
        flow.add_arc_with_capacity(100 + index, sink, 1)
    if not wanted or not pool:
        return 0
    flow.solve(source, sink)
    return int(flow.optimal_flow())


@given(POOLS, WANTED)
def test_as_many_dates_are_served_as_can_be(pool: list[Entry], wanted: list[Demand]) -> None:
    made = schedule(wanted, pool, nearest=False)
    assert len(made.chosen) == most_served(wanted, pool)
    assert set(made.wanting) == set(wanted) - set(made.chosen)
    holds_together(made, exact=True)


@given(POOLS, WANTED)
def test_the_nearest_grade_serves_what_is_left_and_takes_nothing_from_others(
    pool: list[Entry], wanted: list[Demand],
) -> None:
    exact, made = schedule(wanted, pool, nearest=False), schedule(wanted, pool, nearest=True)
    holds_together(made, exact=False)
    assert exact.chosen.items() <= made.chosen.items()
    assert set(made.fallen) == set(made.chosen) - set(exact.chosen)
    assert all(made.chosen[one].grade is not one.day.grade for one in made.fallen)
    left = [one for one in pool if one not in made.chosen.values()]
    assert not any(one.puzzle.size in want.sizes for want in made.wanting for one in left)


def holds_together(made: Schedule, *, exact: bool) -> None:
    assert max(Counter(one.id for one in made.chosen.values()).values(), default=1) == 1
    assert all(one.puzzle.size in want.sizes for want, one in made.chosen.items())
    assert not exact or all(one.grade is want.day.grade for want, one in made.chosen.items())


def test_the_gentler_of_two_grades_equally_near_stands_in() -> None:
    pool = [entry(0, 9, Grade.SUMMIT), entry(1, 9, Grade.SCRAMBLE), entry(2, 9, Grade.STROLL)]
    (want,) = wanted = [demand(0, (9,), Grade.CLIMB)]
    assert schedule(wanted, pool, nearest=True).chosen[want].id == "p2"


def test_where_all_is_plain_the_order_of_the_pool_is_kept() -> None:
    pool = [entry(number, 9, Grade.CLIMB) for number in range(5)]
    wanted = [demand(number, (9,), Grade.CLIMB) for number in range(5)]
    assert [schedule(wanted, pool, nearest=False).chosen[want].id for want in wanted] == [one.id for one in pool]


def test_each_date_that_goes_wanting_is_named_and_nothing_is_written(
    own: Callable[..., Path], made: Callable[..., Any], tmp_path: Path,
) -> None:
    manifest = own(count=5, puzzles=3, extra="  ledger: used.yaml\n")
    with pytest.raises(NotBuilt) as caught:
        made(manifest, tmp_path / "out")
    said = [fault.message for fault in caught.value.faults]
    assert [text.split(" goes wanting")[0] for text in said] == ["Monday 2027-03-08", "Tuesday 2027-03-09"]
    assert all("stroll" in text and "4 by 4" in text for text in said)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["own.yaml", "pool"]


def test_a_fallback_is_used_when_told_and_reported(
    own: Callable[..., Path], made: Callable[..., Any], tmp_path: Path,
) -> None:
    days = "{monday: stroll, tuesday: summit}"
    with pytest.raises(NotBuilt, match="Tuesday 2027-03-02 goes wanting") as caught:
        made(own(count=2, days=days), tmp_path / "out")
    assert len(caught.value.faults) == 1
    done = made(own(count=2, days=days, extra="  fallback: nearest\n"), tmp_path / "out")
    assert [note for note in done.notes if "stands in" in note] == [
        "2027-03-02: no summit was left; 'p01', a stroll, stands in"]


def test_dates_are_the_publication_days_from_the_start_on(own: Callable[..., Path]) -> None:
    """1 March 2027 is a Monday (ISO 8601 week 9)."""
    series = load_series(own(count=4, days="{wednesday: climb, saturday: summit}", start="2027-03-04")).series
    assert series is not None
    assert dt.date(2027, 3, 1).isocalendar()[1:] == (9, 1)
    assert [(str(day.date), day.grade) for day in series.dates()] == [
        ("2027-03-06", "summit"), ("2027-03-10", "climb"), ("2027-03-13", "summit"), ("2027-03-17", "climb")]


def test_a_twin_in_the_pool_is_never_printed_beside_its_twin(
    own: Callable[..., Path], made: Callable[..., Any], tmp_path: Path,
) -> None:
    """A quarter turn of the first puzzle, digits d for 5 - d, under another id and in a file of its own."""
    manifest = own(count=3, puzzles=3)
    first = (tmp_path / "pool" / "p00.yaml").read_text()
    rows = first.split("map: |\n")[1].split("\nsums")[0].replace(" ", "").split("\n")
    turned = ["".join(rows[3 - column][row] for column in range(4)) for row in range(4)]
    counts = Counter("".join(rows))
    sums = dict(pair.split(": ") for pair in first.split("{")[1].split("}")[0].split(", "))
    swapped = ", ".join(f"{letter}: {5 * counts[letter] - int(total)}" for letter, total in sums.items())
    (tmp_path / "pool" / "p00b.yaml").write_text(
        "id: twin\ntitle: Twin\nsize: 4\ngrade: stroll\nmap: |\n  "
        + "\n  ".join(turned) + f"\nsums: {{{swapped}}}\n")
    (tmp_path / "pool" / "p02.yaml").unlink()
    with pytest.raises(NotBuilt) as caught:
        made(manifest, tmp_path / "out")
    assert [fault.is_error for fault in caught.value.faults] == [False, True]
    assert "'twin' is puzzle 'p00' (turned" in caught.value.faults[0].message
