"""Tables beside the library that sets them where more than plain lines may be wanted."""

from __future__ import annotations

import io
import os
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.console import Console
from rich.table import Table
from rich.text import Text

from cagework.typeset.commands.terminal import aligned, time_left

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


@pytest.mark.parametrize(("done", "total", "passed", "said"), [
    (1, 100, 2.9, ""), (0, 10, 60, ""), (5, None, 60, ""), (10, 10, 60, ""),
    (10, 20, 30, "about 30 s left"), (9, 10, 4, "about 5 s left"), (1, 3, 40, "about 1 min left"),
    (1, 31, 20, "about 10 min left"), (1, 1001, 10, "about 3 h left"),
])
def test_how_long_the_rest_takes_at_the_pace_so_far(
    done: int, total: int | None, passed: float, said: str,
) -> None:
    assert time_left(done, total, passed) == said


PUZZLE = "id: lamp\nsize: 4\nmap: |\n  aabc\n  dabc\n  deec\n  dfff\nsums: {a: 7, b: 6, c: 6, d: 8, e: 4, f: 9}\n"


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="there are no pseudo-terminals on this system")
def test_a_terminal_is_told_what_to_do_next_and_a_script_is_not(tmp_path: Path) -> None:
    """The table on standard output is the same for both."""
    (tmp_path / "lamp.yaml").write_text(PUZZLE, encoding="utf-8")
    (tmp_path / "dark.yaml").write_text(PUZZLE.replace("a: 7, b: 6", "a: 8, b: 5"), encoding="utf-8")
    command = [sys.executable, "-m", "cagework.typeset", "check"]
    for name, told in (("lamp", b"next: cagework explain lamp.yaml lamp  tells"),
                       ("dark", b"next: cagework check dark.yaml --why  says why")):
        plain = subprocess.run([*command, f"{name}.yaml"], cwd=tmp_path, capture_output=True, check=False)
        ours, theirs = os.openpty()
        shown = subprocess.run([*command, f"{name}.yaml"], cwd=tmp_path, stdout=subprocess.PIPE, stderr=theirs,
                               check=False)
        os.close(theirs)
        said = os.read(ours, 65536)
        os.close(ours)
        assert (shown.stdout, shown.returncode) == (plain.stdout, plain.returncode)
        assert plain.stderr == b"" and told in said
