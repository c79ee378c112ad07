"""A puzzle's id changed by the page's posts: everywhere it stands, in all files or in none."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from cagework.typeset.desk import saving
from cagework.typeset.desk.galley import Compositor
from cagework.typeset.manifest.load import load_book
from cagework.typeset.manifest.schema import schema
from cagework.typeset.manifest.values import ID

Post = Callable[..., Any]
COVER = "  cover: {puzzle: lamp, paper: bulky-79}   # kept: the lamp\n"


def whole(folder: Path) -> dict[str, bytes]:
    return {file.relative_to(folder).as_posix(): file.read_bytes() for file in folder.rglob("*") if file.is_file()}


@pytest.fixture
def book(book: Path, texts: dict[str, str]) -> Iterator[Path]:
    """The book with a cover; files that a test made go again."""
    full = "  solutions: full\n"
    book.write_text(texts["book.yaml"].replace(full, full + COVER), encoding="utf-8")
    yield book
    for file in book.parent.rglob("*"):
        if file.is_symlink() or (file.is_file() and file.relative_to(book.parent).as_posix() not in texts):
            file.unlink()


def ids_of_the_schema(part: Any, defined: dict[str, Any], path: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """The keys whose value is the id of a puzzle."""
    if not isinstance(part, dict):
        return
    if part.get("pattern") == f"^{ID}$":
        yield path
    if "$ref" in part:
        yield from ids_of_the_schema(defined[part["$ref"].rpartition("/")[2]], defined, path)
    for one in part.get("anyOf", ()):
        yield from ids_of_the_schema(one, defined, path)
    yield from ids_of_the_schema(part.get("items"), defined, path)
    for key, inner in part.get("properties", {}).items():
        yield from ids_of_the_schema(inner, defined, (*path, key))


def test_there_are_no_other_places_where_a_manifest_names_a_puzzle() -> None:
    """By its JSON Schema: a new one has to be added to what a new id changes, and to the test below."""
    said = schema()
    assert set(ids_of_the_schema(said, said["$defs"])) == {
        ("puzzles", "id"), ("sections", "puzzles"), ("book", "cover", "puzzle")}


def test_a_new_id_stands_everywhere_and_nothing_else_changes(page: TestClient, post: Post, book: Path) -> None:
    lamp = book.parent / "puzzles" / "lamp.yaml"
    text = lamp.read_bytes().replace(b"\n", b"\r\n")
    lamp.write_bytes(b"# kept\r\n" + text.replace(b"id: lamp", b"id: 'lamp'  # x"))
    lamp.chmod(0o640)
    before = whole(book.parent)
    shown = post("rename", id="lamp", to="lantern")
    assert whole(book.parent) == before, "shown first"
    for line in ("--- puzzles/lamp.yaml", "+++ puzzles/lantern.yaml", "-id: 'lamp'  # x", "+id: 'lantern'  # x",
                 "--- book.yaml", "-    puzzles: [lamp, fork]", "+    puzzles: [lantern, fork]",
                 "+  cover: {puzzle: lantern, paper: bulky-79}   # kept: the lamp"):
        assert line in shown["difference"].split("\n"), line
    done = post("rename", id="lamp", to="lantern", known=shown["known"])
    assert done == {"id": "lantern", "file": "puzzles/lantern.yaml"}
    after = whole(book.parent)
    assert after.pop("puzzles/lantern.yaml") == before.pop("puzzles/lamp.yaml").replace(b"'lamp'", b"'lantern'")
    assert (book.parent / "puzzles" / "lantern.yaml").stat().st_mode & 0o777 == 0o640
    assert after.pop("book.yaml") == before.pop("book.yaml").replace(b"[lamp", b"[lantern").replace(
        b"puzzle: lamp", b"puzzle: lantern")
    assert after == before
    read = load_book(book).book
    assert read is not None and read.cover is not None and next(iter(read.entries)).id == "lantern"


def test_an_id_that_is_the_files_own_name_changes_with_it(
    page: TestClient, post: Post, compositor: Compositor, book: Path,
) -> None:
    lamp = book.parent / "puzzles" / "lamp.yaml"
    lamp.write_bytes(lamp.read_bytes().removeprefix(b"id: lamp\n"))
    compositor.refresh()
    text = lamp.read_bytes()
    shown = post("rename", id="lamp", to="lantern")
    assert shown["difference"].startswith("--- puzzles/lamp.yaml\n+++ puzzles/lantern.yaml\n--- book.yaml")
    post("rename", id="lamp", to="lantern", known=shown["known"])
    assert not lamp.exists() and lamp.with_name("lantern.yaml").read_bytes() == text
    assert "lantern" in {one.id for one in load_book(book).puzzles}


@pytest.mark.parametrize("why", ["it is there", "a link", "no pattern takes it", "another name"])
def test_a_file_keeps_its_name_where_it_has_to(
    page: TestClient, post: Post, compositor: Compositor, book: Path, why: str,
) -> None:
    lamp = book.parent / "puzzles" / "lamp.yaml"
    goal = lamp.with_name("lantern.yaml")
    text = lamp.read_bytes()
    if why == "it is there":
        goal.write_bytes(b"id: other\nsize: 4\nmap: |\n  aaaa\n  bbbb\n  cccc\n  dddd\nsums: {a: 10}\n")
    elif why == "a link":
        lamp.rename(book.parent / "real.txt")
        lamp.symlink_to(book.parent / "real.txt")
    elif why == "no pattern takes it":
        book.write_bytes(book.read_bytes().replace(b"puzzles/*.yaml", b"puzzles/????.yaml"))
    else:
        lamp.rename(lamp.with_name("bright.yaml"))
        lamp = lamp.with_name("bright.yaml")
    compositor.refresh()
    shown = post("rename", id="lamp", to="lantern")
    done = post("rename", id="lamp", to="lantern", known=shown["known"])
    assert done["file"] == ("real.txt" if why == "a link" else f"puzzles/{lamp.name}")
    assert lamp.read_bytes() == text.replace(b"id: lamp", b"id: lantern")
    assert lamp.is_symlink() == (why == "a link")
    assert "lantern" in {one.id for one in load_book(book).puzzles}


def test_a_pattern_that_is_the_files_name_changes_too(
    page: TestClient, post: Post, compositor: Compositor, book: Path,
) -> None:
    book.write_bytes(book.read_bytes().replace(
        b"puzzles/*.yaml", b"['puzzles/[fl]o*.yaml', ./puzzles/lamp.yaml, puzzles/hall.yaml]"))
    compositor.refresh()
    shown = post("rename", id="lamp", to="12")
    post("rename", id="lamp", to="12", known=shown["known"])
    assert "['puzzles/[fl]o*.yaml', puzzles/12.yaml, puzzles/hall.yaml]" in book.read_text(encoding="utf-8")
    assert "'12'" in (book.parent / "puzzles" / "12.yaml").read_text(encoding="utf-8")
    read = load_book(book).book
    assert read is not None and [one.id for one in read.entries] == ["12", "fork", "hall", "loft"]


def test_a_puzzle_of_the_manifest_itself_is_renamed_there(
    page: TestClient, post: Post, compositor: Compositor, book: Path,
) -> None:
    lamp = (book.parent / "puzzles" / "lamp.yaml").read_text(encoding="utf-8").replace("\n", "\n    ").rstrip(" ")
    text = f"book: {{title: One}}\nsections:\n  - title: All\n    puzzles: [lamp]  # kept\npuzzles:\n  - {lamp}"
    book.write_text(text, encoding="utf-8")
    compositor.refresh()
    shown = post("rename", id="lamp", to="Lamp")
    post("rename", id="lamp", to="Lamp", known=shown["known"])
    assert book.read_text(encoding="utf-8") == text.replace("[lamp]", "[Lamp]").replace("id: lamp", "id: Lamp")


REFUSED = (
    ({"to": "fork"}, 400, "taken already"), ({"to": "LOFT"}, 400, "taken already"),
    ({"to": "lamp"}, 400, "already"),
    ({"to": ""}, 400, "cannot be an id"), ({"to": "a b"}, 400, "cannot be an id"),
    ({"to": "../lamp"}, 400, "cannot be an id"), ({"to": "-x"}, 400, "cannot be an id"),
    ({"to": "lämp"}, 400, "cannot be an id"), ({"id": "nobody"}, 404, "no puzzle"),
    ({"id": "../../etc/passwd"}, 404, "no puzzle"), ({"known": "0" * 64}, 409, "changed since"),
    ({"file": "x"}, 400, "file"),
)


def test_what_cannot_be_renamed_is_refused(post: Post, book: Path) -> None:
    before = whole(book.parent)
    for asked, status, why in REFUSED:
        assert why in post("rename", status, **({"id": "lamp", "to": "lantern"} | asked))["error"], asked
        assert whole(book.parent) == before, asked


@pytest.mark.parametrize("name", ["book.yaml", "puzzles/lamp.yaml"])
def test_files_that_were_changed_meanwhile_are_not_written(post: Post, book: Path, name: str) -> None:
    shown = post("rename", id="lamp", to="lantern")
    file = book.parent / name
    file.write_bytes(file.read_bytes() + b"# somebody else\n")
    before = whole(book.parent)
    assert "changed since" in post("rename", 409, id="lamp", to="lantern", known=shown["known"])["error"]
    assert whole(book.parent) == before


def test_it_is_written_whole_or_not_at_all(post: Post, book: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder stands where the manifest would wait for its turn; then a file changes at the last moment."""
    shown = post("rename", id="lamp", to="lantern")
    before = whole(book.parent)
    (book.parent / ".book.yaml.part").mkdir()
    try:
        assert "cannot write" in post("rename", 403, id="lamp", to="lantern", known=shown["known"])["error"]
    finally:
        (book.parent / ".book.yaml.part").rmdir()
    assert whole(book.parent) == before
    lamp = book.parent / "puzzles" / "lamp.yaml"
    real = saving.write_all

    def late(*given: Any, **more: Any) -> Any:
        lamp.write_bytes(before["puzzles/lamp.yaml"] + b"# late\n")
        return real(*given, **more)

    monkeypatch.setattr(saving, "write_all", late)
    assert "changed since" in post("rename", 409, id="lamp", to="lantern", known=shown["known"])["error"]
    assert whole(book.parent) == before | {"puzzles/lamp.yaml": before["puzzles/lamp.yaml"] + b"# late\n"}


def test_an_id_that_is_borrowed_is_left_alone(post: Post, compositor: Compositor, book: Path) -> None:
    text = book.read_text(encoding="utf-8")
    for old, new, why in (("[lamp, fork]", "[&one lamp, fork]", "&one"),
                          ("[lamp, fork]", "&all [lamp, fork]\n    foot: none", "")):
        book.write_text(text.replace(old, new), encoding="utf-8")
        before = whole(book.parent)
        said = post("rename", 400 if why else 200, id="lamp", to="lantern")
        assert why in str(said) and whole(book.parent) == before


def test_only_the_page_of_a_desk_that_may_write_renames(
    stranger: Callable[[dict[str, Any]], int], book: Path,
) -> None:
    before = whole(book.parent)
    assert stranger({"do": "rename", "id": "lamp", "to": "lantern"}) == 403 and whole(book.parent) == before
