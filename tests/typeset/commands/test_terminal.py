"""Tables beside the library that sets them where more than plain lines may be wanted."""

from __future__ import annotations

import io

from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console
from rich.table import Table
from rich.text import Text

from cagework.typeset.commands.terminal import aligned

CELLS = st.text(st.characters(min_codepoint=32, max_codepoint=126), max_size=30)
TITLES = ("rule", "name", "found", "why")


def as_rich_sets_it(rows: list[tuple[str, ...]], right: frozenset[int]) -> list[str]:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for place, title in enumerate(TITLES):
        table.add_column(title, justify="right" if place in right else "left", no_wrap=title != TITLES[-1])
    for row in rows:
        table.add_row(*map(Text, row))
    printed = io.StringIO()
    Console(file=printed, width=160).print(table)
    return printed.getvalue().splitlines()


@given(st.lists(st.tuples(CELLS, CELLS, CELLS, CELLS), max_size=6), st.frozensets(st.integers(0, 3)))
def test_plain_lines_are_those_that_rich_would_set(
    rows: list[tuple[str, ...]], right: frozenset[int],
) -> None:
    lines = aligned([TITLES, *rows], right)
    assert lines is None or lines == as_rich_sets_it(rows, right)
    if all(cell == cell.strip() for row in rows for cell in row):
        assert lines is not None, "four cells of thirty fit a line"


def test_what_may_be_cut_or_broken_is_left_to_rich() -> None:
    for cell in ("x" * 150, "two\nlines", "ö", "tab\tbed"):
        assert aligned([TITLES, ("1", "2", "3", cell)], {0}) is None
