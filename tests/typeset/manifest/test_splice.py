"""A puzzle changed where it stands: its own keys change, and no other byte of the file."""

from __future__ import annotations

import difflib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from cagework.solver.model import Cage, Cell, Given
from cagework.typeset.manifest import document, extents
from cagework.typeset.manifest.document import parse_document, plain_newlines
from cagework.typeset.manifest.drawn import Drawing, cages_in_order, drawing_of
from cagework.typeset.manifest.edits import NotSpliced
from cagework.typeset.manifest.keyed import ORDER, keys_of
from cagework.typeset.manifest.puzzle_files import find_puzzle
from cagework.typeset.manifest.splice import spliced

LOADERS = [loader for loader in (yaml.SafeLoader, getattr(yaml, "CSafeLoader", None)) if loader]

BLOCK = """\
# kept: the head of the file
puzzles:
  - id: first   # kept: beside the first
    size: 4
    title:   "First"
    map: |  # kept: beside the block
      aa bb
      cc bb

      dd ee
      dd ee
    # kept: between map and sums
    sums: {a: 3, b: 10,   # kept: within the sums
      c: 7, d: 10, e: 10}  # kept: after them
    x-unknown: [ 1,2 ]

  # kept: between two puzzles
  - {id: second, size: 4, cages: [{sum: 3, cells: r1c1-r1c2}, {cells: "r2c1 r2c2"}], note: 'kept'}
  - id: third
    size: 4
    cages:
      # kept: before the cages
      - {sum: 3, cells: r1c1-r1c2}   # kept: after a cage
      - cells: r2c1-r2c2   # kept: cells on a line
        sum: 7
      - sum: 4
        cells:
          - r3c1
    givens:
    rules: [ knight ]
"""

Change = Callable[[Drawing], Drawing]


def changed(text: str, name: str, change: Change, *, newline: str = "\n", bom: bytes = b"") -> str:
    """A file with one of its puzzles changed, and held against what was asked for by PyYAML alone."""
    raw = bom + text.replace("\n", newline).encode()
    before = parse_document(Path("x.yaml"), plain_newlines(raw.decode("utf-8-sig")))
    found = find_puzzle(before, name)
    assert found is not None
    path, keys = found
    wanted = change(drawing_of(keys, "x"))
    after = spliced(before, raw, path, keys_of(wanted, keys), ORDER)
    assert after.startswith(bom) and plain_newlines(after.decode()).count("\n") == after.decode().count(newline)
    read = yaml.safe_load(after.decode("utf-8-sig"))
    puzzles, old = (data.get("puzzles", [data]) for data in (read, yaml.safe_load(text)))
    for one, was in zip(puzzles, old, strict=True):
        assert drawing_of(one, "x") == wanted if one.get("id", "x") == wanted.id else one == was
    return plain_newlines(after.decode("utf-8-sig"))


def lines_changed(before: str, after: str) -> list[str]:
    """What a diff without context says."""
    return [line for line in difflib.unified_diff(before.splitlines(), after.splitlines(), n=0, lineterm="")
            if line[:2] not in ("--", "++", "@@")]


def with_sum(first: str, total: int | None) -> Change:
    """The cage at a cell adds to something else."""
    return lambda drawing: replace(drawing, cages=tuple(
        Cage(cage.cells, total) if str(cage.first) == first else cage for cage in drawing.cages))


@pytest.fixture(autouse=True, params=LOADERS, ids=lambda loader: loader.__name__)
def _loader(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whichever of the two YAML parsers is installed: compiled or plain Python."""
    monkeypatch.setattr(document, "_LOADER", request.param)
    monkeypatch.setattr(extents, "_LOADER", request.param)


@pytest.mark.parametrize("name", ["first", "second", "third"])
def test_nothing_changed_changes_no_byte(name: str) -> None:
    assert changed(BLOCK, name, lambda drawing: drawing) == BLOCK


@pytest.mark.parametrize(("name", "first", "said"), [
    ("first", "r1c1", ["-    sums: {a: 3, b: 10,   # kept: within the sums",
                       "+    sums: {a: 5, b: 10,   # kept: within the sums"]),
    ("third", "r2c1", ["-        sum: 7", "+        sum: 5"]),
    ("third", "r1c1", ["-      - {sum: 3, cells: r1c1-r1c2}   # kept: after a cage",
                       "+      - {sum: 5, cells: r1c1-r1c2}   # kept: after a cage"]),
])
@pytest.mark.parametrize("newline", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("bom", [b"", b"\xef\xbb\xbf"])
def test_one_sum_is_one_number(name: str, first: str, said: list[str], newline: str, bom: bytes) -> None:
    after = changed(BLOCK, name, with_sum(first, 5), newline=newline, bom=bom)
    assert lines_changed(BLOCK, after) == said


def test_a_sum_in_brackets_throughout() -> None:
    after = changed(BLOCK, "second", with_sum("r2c1", 4))
    assert after == BLOCK.replace('{cells: "r2c1 r2c2"}', '{cells: "r2c1 r2c2", sum: 4}')


def test_a_cage_split_changes_its_row_and_the_sums() -> None:
    """The comments beside the block and between the keys stay, and so does the blank within a row."""
    after = changed(BLOCK, "first", lambda drawing: replace(drawing, cages=cages_in_order([
        *(cage for cage in drawing.cages if cage.first != Cell(1, 1)), Cage((Cell(1, 1),), 1),
        Cage((Cell(1, 2),), 2)])))
    assert sorted(lines_changed(BLOCK, after)) == sorted([
        "-      aa bb", "+      af bb",
        "-    sums: {a: 3, b: 10,   # kept: within the sums", "+    sums: {a: 1, b: 10,   # kept: within the sums",
        "-      c: 7, d: 10, e: 10}  # kept: after them", "+      c: 7, d: 10, e: 10, f: 2}  # kept: after them"])


@pytest.mark.parametrize(("gone", "line"), [
    (("r3c1",), "      c: 7, e: 10}  # kept: after them"), (("r3c3",), "      c: 7, d: 10}  # kept: after them"),
    (("r3c1", "r3c3"), "      c: 7}  # kept: after them")])
def test_cages_dissolved_leave_the_sums_tidy(gone: tuple[str, ...], line: str) -> None:
    after = changed(BLOCK, "first", lambda drawing: replace(drawing, cages=tuple(
        cage for cage in drawing.cages if str(cage.first) not in gone)))
    assert f"+{line}" in lines_changed(BLOCK, after)


def test_items_of_a_list_come_and_go_a_line_each() -> None:
    after = changed(BLOCK, "third", lambda drawing: replace(drawing, cages=cages_in_order([
        drawing.cages[0], drawing.cages[2], Cage((Cell(4, 1), Cell(4, 2)), 4)])))
    assert lines_changed(BLOCK, after) == [
        "-      - cells: r2c1-r2c2   # kept: cells on a line", "-        sum: 7",
        "+      - {sum: 4, cells: r4c1 r4c2}"]


def test_keys_come_and_go_in_the_order_of_the_books() -> None:
    added = changed(BLOCK, "third", lambda drawing: replace(
        drawing, title="Third: a \"title\"", givens=(Given(Cell(1, 1), 2),), rules=(),
        note="One paragraph.\n\nAnd another."))
    assert lines_changed(BLOCK, added) == [
        "+    title: 'Third: a \"title\"'", "+    note: |", "+      One paragraph.", "+", "+      And another.",
        "-    givens:", "-    rules: [ knight ]", "+    givens: {r1c1: 2}"]
    back = changed(added, "third", lambda drawing: replace(drawing, title=None, note=None))
    assert [line for line in back.splitlines() if line not in added.splitlines()] == []
    assert "Third" not in back and "paragraph" not in back
    inside = changed(BLOCK, "second", lambda drawing: replace(drawing, title="Two", by="me", note=None))
    assert lines_changed(BLOCK, inside)[1] == (
        '+  - {id: second, title: Two, by: me, size: 4, '
        'cages: [{sum: 3, cells: r1c1-r1c2}, {cells: "r2c1 r2c2"}]}')


def test_what_is_put_in_follows_what_its_last_lines_leave() -> None:
    """The last item of the last key goes, and another key comes after it; a list of one gets another item."""
    text = BLOCK.replace("    rules: [ knight ]\n", "    rules:\n      - odd: r1c1   # kept\n      - even: r1c2\n")
    after = changed(text, "third", lambda drawing: replace(
        drawing, rules=drawing.rules[:1], answer=("1234", "3412", "2143", "4321")))
    assert lines_changed(text, after) == [
        "-      - even: r1c2", "+    answer: |", "+      1234", "+      3412", "+      2143", "+      4321"]
    other = changed(text, "third", lambda drawing: replace(drawing, rules=({"even": "r1c1"}, drawing.rules[1])))
    assert lines_changed(text, other) == ["-      - odd: r1c1   # kept", "+      - even: r1c1   # kept"]


def test_a_file_of_one_puzzle_without_a_last_newline() -> None:
    text = "title: X\nsize: 4\nmap: |\n  aabb\n  aabb\n  ccdd\n  ccdd\nsums: {a: 10, b: 10, c: 10, d: 10}"
    after = changed(text, "x", lambda drawing: replace(drawing, by="me", houses=("diagonals",)))
    assert after == text.replace("title: X\n", "title: X\nby: me\n") + "\nhouses: [diagonals]"
    assert changed(text, "x", lambda drawing: replace(drawing, title="Y")) == text.replace("X", "Y")


def test_a_list_of_puzzles_at_the_top() -> None:
    text = "- id: a\n  size: 4\n  cages: [{cells: r1c1}]\n- id: b\n  size: 4\n  cages: [{cells: r1c1}]\n"
    document = parse_document(Path("x.yaml"), text)
    found = find_puzzle(document, "b")
    assert found is not None and found[0] == (1,)
    keys = keys_of(replace(drawing_of(found[1]), by="me"), found[1])
    assert spliced(document, text.encode(), found[0], keys, ORDER).decode() == text.replace(
        "- id: b\n", "- id: b\n  by: me\n")


ALIASES = """\
puzzles:
  - &base
    id: a
    size: 4
    map: &m |
      aabb
      aabb
      ccdd
      ccdd
    sums: &s {a: 10, b: 10, c: 10, d: 10}
  - id: b
    size: 4
    map: *m
    sums: *s
  - <<: *base
    id: c
  - *base
"""


def test_what_is_borrowed_may_be_written_out() -> None:
    after = changed(ALIASES.replace("  - *base\n", ""), "b", with_sum("r1c1", 12))
    assert lines_changed(ALIASES, after) == [
        "-    sums: *s", "+    sums: {a: 12, b: 10, c: 10, d: 10}", "-  - *base"]


@pytest.mark.parametrize(("name", "change", "why"), [
    ("c", with_sum("r1c1", 12), "<<"),
    ("a", with_sum("r1c1", 12), "something else in the file would change"),
    ("a", lambda drawing: replace(drawing, cages=drawing.cages[:3]), "marked &m"),
    ("a", lambda drawing: replace(drawing, title="A"), "something else in the file would change"),
])
def test_what_others_borrow_is_refused(name: str, change: Change, why: str) -> None:
    text = ALIASES.replace("  - *base\n", "")
    if "marked" in why:
        text = text.replace("sums: &s", "sums:").replace("sums: *s", "sums: {a: 1}")
    with pytest.raises(NotSpliced, match=why):
        changed(text, name, change)


def test_a_puzzle_that_is_an_alias_is_refused() -> None:
    document = parse_document(Path("x.yaml"), ALIASES)
    with pytest.raises(NotSpliced, match="under &base"):
        spliced(document, ALIASES.encode(), ("puzzles", 3), {"id": "z"}, ORDER)


@given(st.data())
def test_any_change_leaves_all_else_as_it_stands(data: st.DataObject) -> None:
    """Comments stay but for those of lines that go; that the file says the new is held in `changed`."""
    name = data.draw(st.sampled_from(("first", "second", "third")))

    def change(drawing: Drawing) -> Drawing:
        kept: list[Any] = [cage for cage in drawing.cages if data.draw(st.booleans())] or [drawing.cages[0]]
        cages = [Cage(cage.cells, data.draw(st.none() | st.integers(1, 40))) for cage in kept]
        free = [Cell(4, 4)] if all(Cell(4, 4) not in cage.cells for cage in cages) else []
        cages += [Cage((cell,), 3) for cell in free if data.draw(st.booleans())]
        words = st.none() | st.sampled_from(("A", "b: c", "# d", "'e'", "two\nlines", "- f"))
        title, note = data.draw(words), data.draw(words)
        return replace(drawing, cages=cages_in_order(cages), title=title and title.replace("\n", " "), note=note,
                       givens=tuple(Given(Cell(1, col), 1) for col in data.draw(st.sets(st.integers(1, 4)))),
                       rules=data.draw(st.sampled_from((
                           (), ("knight",), ("knight", "king"), ({"odd": "r1c1"}, {"even": "r1c2"})))),
                       answer=data.draw(st.sampled_from(((), ("1234", "3412", "2143", "4321")))))

    after = changed(BLOCK, name, change, newline=data.draw(st.sampled_from(("\n", "\r\n"))))
    for line in BLOCK.splitlines():
        if line.strip().startswith("#") or "x-unknown" in line:
            assert line in after.splitlines()


COMMENTED = """\
id: x
size: 4
map: |
  abcd
  efgh
  ijkl
  mnop
sums: {a: 1, b: 2,   # one: of the first row
  # two: before the second part
  c: 3, d: 4, e: 5, f: 6,
  g: 7, h: 8, # three
  i: 9, j: 10, k: 11, l: 12, m: 13, n: 14, o: 15, # four: the last but one
  p: 16  # five
  }   # six
givens: |   # seven: beside the block
  1...
  .2..
  ..3.
  ...4
  """.rstrip(" ") + "# eight\nrules: [knight,   # nine\n  king]\n"
LAST = Cell(4, 4)


def merged(drawing: Drawing, cells: list[Cell]) -> Drawing:
    """Cages of a cell made one, which has the letter of the first."""
    return replace(drawing, cages=cages_in_order([
        *(cage for cage in drawing.cages if cage.first not in cells), Cage(tuple(cells), 20)]))


@given(st.data())
def test_many_changes_in_brackets_leave_all_comments(data: st.DataObject) -> None:
    """Also where so many keys go that without comments all would be written anew."""
    cells = sorted(data.draw(st.sets(st.sampled_from([Cell(r, c) for r in range(1, 5) for c in range(1, 5)]),
                                     min_size=2, max_size=14)))
    rules = data.draw(st.sampled_from((("knight",), ("king",), ("knight", "king", "nonconsecutive"))))
    after = changed(COMMENTED, "x", lambda drawing: replace(merged(drawing, cells), rules=rules))
    for number in ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine"):
        assert f"# {number}" in after, number


def test_what_goes_from_brackets_takes_its_comma_alone() -> None:
    row = [Cell(1, col) for col in range(1, 5)]
    after = changed(COMMENTED, "x", lambda drawing: merged(drawing, [*row, Cell(3, 4), LAST]))
    assert after[after.index("sums"):after.index("givens")] == """\
sums: {   # one: of the first row
  # two: before the second part
  e: 5, f: 6,
  g: 7, h: 8, # three
  i: 9, j: 10, k: 11, m: 13, n: 14, o: 15, # four: the last but one
  p: 20  # five
  }   # six
"""
    last = changed(COMMENTED, "x", lambda drawing: replace(drawing, cages=drawing.cages[:-1]))
    assert "o: 15, # four: the last but one\n    # five\n  }   # six\n" in last


def test_a_comment_beside_a_block_stays_where_another_value_takes_its_place() -> None:
    after = changed(COMMENTED, "x", lambda drawing: replace(drawing, givens=drawing.givens[:1]))
    assert "givens: {r1c1: 1}  # seven: beside the block\n" in after and "# eight" in after


@pytest.mark.parametrize(("text", "change"), [
    ("givens: {r1c1: 1,  # one\n  r2c2: 2}\n", lambda drawing: replace(drawing, givens=(Given(LAST, 1),))),
    ("givens: {r1c1: 1   # one\n  , r2c2: 2}\n", lambda drawing: replace(drawing, givens=drawing.givens[1:])),
    ("givens:\n  # one\n  # two\n  {r1c1: 1}\n", lambda drawing: replace(drawing, givens=(Given(LAST, 1),))),
])
def test_comments_that_would_go_are_told_before_anything_is_written(text: str, change: Change) -> None:
    with pytest.raises(NotSpliced, match="comments within"):
        changed("id: x\nsize: 4\ncages: [{cells: r1c1}]\n" + text, "x", change)
