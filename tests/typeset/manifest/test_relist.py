"""Items of lists moved in a file's text: the data is that of a list moved in Python, and all else stays."""

from __future__ import annotations

import re
from collections import Counter
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from cagework.typeset.manifest.document import parse_document, plain_newlines
from cagework.typeset.manifest.edits import NotSpliced
from cagework.typeset.manifest.relist import Seat, relisted

BOOK = """\
book: {title: Doors}   # kept: the book
sections:
  # kept: before the sections
  - title: Ground floor
    puzzles:
      # kept: of the list
      - lamp   # of lamp
      # of fork
      #  and again of fork
      - "fork"

      -   7        # of 7
        # of 7, further in
      - hall
    intro: kept
  - title: Stairs
    puzzles: [loft,   attic,
              'shed', barn]   # kept: after brackets
  - puzzles:
    - cellar
    # of well
    - well
    order: grade
# kept: the end"""
PATHS = [("sections", number, "puzzles") for number in range(3)]


def lists(text: str) -> list[list[str]]:
    """By PyYAML alone."""
    return [list(map(str, one["puzzles"])) for one in yaml.safe_load(text)["sections"]]


def moved(text: str, source: Seat | None, goal: Seat | None, name: str = "new", newline: str = "\n") -> str:
    raw = text.replace("\n", newline).encode()
    document = parse_document(Path("x.yaml"), plain_newlines(raw.decode()))
    after = relisted(document, raw, source, goal, name).decode()
    assert after.count("\n") == after.count(newline) if newline != "\n" else "\r" not in after
    return plain_newlines(after)


@given(st.integers(0, 2), st.integers(0, 3), st.integers(0, 2), st.integers(0, 4), st.sampled_from(["\n", "\r\n"]))
def test_a_move_does_what_it_does_to_lists_and_loses_no_word(
    source: int, number: int, goal: int, place: int, newline: str,
) -> None:
    wanted = lists(BOOK)
    number %= len(wanted[source])
    name = wanted[source].pop(number)
    place %= len(wanted[goal]) + 1
    wanted[goal].insert(place, name)
    try:
        after = moved(BOOK, Seat(PATHS[source], number), Seat(PATHS[goal], place), newline=newline)
    except NotSpliced as error:
        assert goal == 1 != source and "#" in BOOK and "comment" in str(error)
        return
    assert lists(after) == wanted
    words = Counter(re.findall(r"[^\s,\[\]-]+", BOOK))
    assert Counter(re.findall(r"[^\s,\[\]-]+", after)) == words, "no comment and no word is gone, or there twice"
    kept = [line for line in BOOK.split("\n") if "kept" in line and "brackets" not in line]
    assert [line for line in after.split("\n") if "kept" in line and "brackets" not in line] == kept
    for comment, beside in (("# of lamp", "- lamp"), ("# of 7", "7")):
        assert beside in next(line for line in after.split("\n") if line.rstrip().endswith(comment))
    for own, below in (("#  and again of fork", "fork"), ("# of well", "well")):
        lines = after.split("\n")
        assert below in lines[next(number for number, line in enumerate(lines) if line.strip() == own) + 1]


def test_there_and_back_again_is_the_same_file() -> None:
    for path, number, place in ((PATHS[0], 1, 3), (PATHS[0], 3, 1), (PATHS[1], 3, 0), (PATHS[1], 0, 2)):
        there = moved(BOOK, Seat(path, number), Seat(path, place))
        assert there != BOOK and moved(there, Seat(path, place), Seat(path, number)) == BOOK


def test_a_list_in_brackets_keeps_its_lines() -> None:
    after = moved(BOOK, Seat(PATHS[1], 3), Seat(PATHS[1], 1))
    assert "    puzzles: [loft,   barn,\n              attic, 'shed']   # kept: after brackets\n" in after


def test_an_item_is_put_in_and_taken_out() -> None:
    put = moved(BOOK, None, Seat(PATHS[0], 0), "porch")
    assert put == BOOK.replace("      - lamp ", "      - porch\n      - lamp ")
    assert moved(put, Seat(PATHS[0], 0), None) == BOOK
    last = moved(BOOK, None, Seat(PATHS[2], 2), "porch")
    assert last == BOOK.replace("    - well\n", "    - well\n    - porch\n")
    assert moved(BOOK, None, Seat(PATHS[1], 4), "porch") == BOOK.replace("barn]", "barn, porch]")


def test_whole_puzzles_are_moved_with_what_belongs_to_them() -> None:
    text = ("book:\n  title: One\npuzzles:\n- id: lamp\n  note: |\n    One\n\n    # no comment\n  # of lamp\n"
            "# of fork\n- id: fork\n  size: 4\n\n- id: hall\n  size: 6")
    after = moved(text, Seat(("puzzles",), 0), Seat(("puzzles",), 2))
    assert after == ("book:\n  title: One\npuzzles:\n# of fork\n- id: fork\n  size: 4\n\n- id: hall\n  size: 6\n"
                     "- id: lamp\n  note: |\n    One\n\n    # no comment\n  # of lamp")


@pytest.mark.parametrize(("text", "why"), [
    ("a: [x, # of x\n  y]\n", "comments between its brackets"),
    ("a: &list [x, y]\nb: *list\n", "&list"), ("b: &list [x, y]\na: *list\n", "&list"),
    ("a: [x]\n", "nothing would be left"), ("a: x\n", "not written as a list"),
    ("a:\n- &one x\n- *one\n", "cannot be changed"),
])
def test_what_cannot_be_moved_is_said(text: str, why: str) -> None:
    raw = text.encode()
    document = parse_document(Path("x.yaml"), text)
    with pytest.raises(NotSpliced) as said:
        relisted(document, raw, Seat(("a",), 0), Seat(("a",), 1) if "]" not in text or "," in text else None, "x")
    assert why in str(said.value)
