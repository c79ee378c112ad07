"""What may stand in a file, and which files a manifest may draw on."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from cagework.typeset.faults import UnreadableManifest, render
from cagework.typeset.manifest.load import load_book
from cagework.typeset.manifest.twins import twins

PUZZLE = """\
id: {id}
title: T
size: 4
map: |
  aabb
  ccdd
  eeff
  gghh
sums: {{a: {a}, b: 7, c: 7, d: 3, e: 4, f: 6, g: 6, h: 4}}
"""
BOOK = "book: {title: Tide, puzzles_from: PATTERN}\n"


def _item(text: str) -> str:
    return "- " + text.replace("\n", "\n  ").rstrip() + "\n"


def test_a_file_may_hold_one_puzzle_a_list_or_puzzles(tmp_path: Path) -> None:
    first, second = PUZZLE.format(id="p1", a=3), PUZZLE.format(id="p2", a=4)
    pair = _item(first) + _item(second)
    for name, text, ids in (
        ("one", first, ["p1"]), ("list", pair, ["p1", "p2"]), ("keyed", "puzzles:\n" + pair, ["p1", "p2"]),
        ("nameless", first.replace("id: p1\n", ""), ["nameless"]),
    ):
        path = tmp_path / f"{name}.yaml"
        path.write_text(text, encoding="utf-8")
        reading = load_book(path, puzzles_suffice=True)
        assert [one.id for one in reading.puzzles] == ids
        assert all(one.entry for one in reading.puzzles)
        assert reading.faults == () and reading.book is None
        with pytest.raises(UnreadableManifest) if name != "keyed" else _nothing():
            assert load_book(path).failed


class _nothing:  # noqa: N801 - reads as the other branch of `with`
    def __enter__(self) -> None: ...

    def __exit__(self, *_: object) -> None: ...


def test_a_manifest_passes_the_puzzle_door_too(tmp_path: Path) -> None:
    path = tmp_path / "book.yaml"
    path.write_text("book: {title: Tide}\npuzzles:\n" + _item(PUZZLE.format(id="p1", a=3)), encoding="utf-8")
    assert load_book(path, puzzles_suffice=True) == load_book(path)


@pytest.mark.parametrize("text", ["", "# nothing\n", "---\n", "42\n", "text\n", "[]\n", "a: 1\n", "[a, b"])
def test_what_is_no_manifest_is_one_fault(text: str, tmp_path: Path) -> None:
    path = tmp_path / "x.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(UnreadableManifest) as raised:
        load_book(path, puzzles_suffice=True)
    assert raised.value.fault.file == path


def test_a_missing_file_is_one_fault(tmp_path: Path) -> None:
    with pytest.raises(UnreadableManifest) as raised:
        load_book(tmp_path / "none.yaml")
    assert render(raised.value.fault) == f"{tmp_path / 'none.yaml'}: cannot be read: there is no such file"


def _folder(tmp_path: Path, pattern: str) -> Path:
    for name, a in (("home/puzzles/b.yaml", 3), ("home/puzzles/a.yaml", 4), ("away/c.yaml", 5)):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(PUZZLE.format(id=path.stem, a=a), encoding="utf-8")
    book = tmp_path / "home" / "book.yaml"
    book.write_text(BOOK.replace("PATTERN", pattern), encoding="utf-8")
    return book


@pytest.mark.parametrize(("pattern", "ids"), [
    ("puzzles/*.yaml", ["a", "b"]),
    ("[puzzles/b.yaml, puzzles/a.yaml]", ["b", "a"]),
    ("[puzzles/b.yaml, puzzles/*.yaml]", ["b", "a"]),
    ("'**/*.yaml'", ["a", "b"]),
    ("../away/*.yaml", ["c"]),
])
def test_patterns_start_from_the_manifest_and_sort(pattern: str, ids: list[str], tmp_path: Path) -> None:
    reading = load_book(_folder(tmp_path, pattern))
    assert [one.id for one in reading.puzzles] == ids
    assert reading.book is not None


def test_a_link_out_of_the_folder_is_not_followed_silently(tmp_path: Path) -> None:
    book = _folder(tmp_path, "puzzles/*.yaml")
    (tmp_path / "home" / "puzzles" / "z.yaml").symlink_to(tmp_path / "away" / "c.yaml")
    (fault,) = load_book(book).faults
    assert "leads outside the manifest's folder" in fault.message


def test_one_bad_puzzle_file_does_not_hide_the_rest(tmp_path: Path, told: Callable[..., str]) -> None:
    book = _folder(tmp_path, "puzzles/*.yaml")
    (tmp_path / "home" / "puzzles" / "0.yaml").write_bytes(b"id: \xff\n")
    reading = load_book(book)
    assert [one.id for one in reading.puzzles] == ["a", "b"]
    assert told(book, puzzles_suffice=False) == (
        "puzzles/0.yaml:1:5: this is not UTF-8 text\nid: \ufffd\n    ^\nhint: save the file as UTF-8\n")


def test_a_layout_of_ones_own_is_read_and_its_faults_stand_in_its_file(tmp_path: Path) -> None:
    book = tmp_path / "book.yaml"
    book.write_text("book: {title: T, layout: mine.yaml}\npuzzles:\n" + _item(PUZZLE.format(id="p", a=3)),
                    encoding="utf-8")
    mine = tmp_path / "mine.yaml"
    mine.write_text("nonsense: 1\n", encoding="utf-8")
    faults = load_book(book).faults
    assert faults and {fault.file for fault in faults} == {mine}
    mine.write_text("a: [", encoding="utf-8")
    (fault,) = load_book(book).faults
    assert fault.file == mine


def test_twins_are_found_across_books(tmp_path: Path) -> None:
    entries = []
    for name, a in (("x", 3), ("y", 4), ("z", 3)):
        path = tmp_path / f"{name}.yaml"
        path.write_text(PUZZLE.format(id=name, a=a), encoding="utf-8")
        entries += [one.entry for one in load_book(path, puzzles_suffice=True).puzzles if one.entry]
    assert [(first.id, second.id) for first, second, _ in twins(entries)] == [("x", "z")]
