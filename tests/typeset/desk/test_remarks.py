"""An editor's note to themselves: written beside its puzzle, told to the desk, and in nothing that is made."""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import yaml
from starlette.testclient import TestClient

from cagework.solver.editing.compose_crossing import CrossingRecipe, compose_crossing
from cagework.typeset.desk.galley import Compositor

Post = Callable[..., Any]
WORD = "Quillwort"


def told(page: TestClient, name: str = "lamp") -> str:
    return str(next(row for row in page.get("/state.json").json()["puzzles"] if row["id"] == name)["remark"])


def forms(word: str) -> list[bytes]:
    """A word as a PDF or a text file may hold it, outside a page's glyphs: in bytes, or in hexadecimal digits."""
    raw = [word.encode(), word.encode("utf-16-be"), word.encode("utf-16-le")]
    return [*raw, *(one.hex().encode() for one in raw), *(one.hex().upper().encode() for one in raw)]


def holds(file: Path, word: str) -> bool:
    """Whether a file has a word, in pages, metadata, tags or anywhere; PDFs as qpdf and poppler unpack them."""
    if file.suffix != ".pdf":
        return any(form in file.read_bytes() for form in forms(word))
    plain, text = (subprocess.run(command, capture_output=True, check=True).stdout for command in (
        ["qpdf", "--qdf", "--object-streams=disable", str(file), "-"], ["pdftotext", str(file), "-"]))
    return word.encode() in text or any(form in plain for form in forms(word))


def test_nothing_that_is_made_of_a_book_has_its_remarks(
    book: Path, tmp_path: Path, crossing_part: Any, run: Any,
) -> None:
    """And what is printed is found in the same way: a note of the puzzle, the title of the book."""
    crossing = crossing_part(compose_crossing(1, CrossingRecipe(4, 7)).puzzle, "loft", title="Loft")
    puzzles = book.parent / "puzzles"
    (puzzles / "loft.yaml").write_text(yaml.safe_dump(crossing | {"remark": WORD}), encoding="utf-8")
    for name, more in (("lamp", f"note: Marshmallow\nremark: {WORD}\n"),
                       ("fork", f"remark: |\n  {WORD}, and\n\n  more\n")):
        file = puzzles / f"{name}.yaml"
        file.write_text(file.read_text(encoding="utf-8") + more, encoding="utf-8")
    book.write_text(book.read_text(encoding="utf-8").replace(
        "solutions: full\n", "solutions: full\n  index: [title]\n  cover: {puzzle: lamp, paper: bulky-79}\n"),
        encoding="utf-8")
    out = tmp_path / "out"
    run("build", book, "--out", out, "--press", "--booklet", "--no-cache").check_returncode()
    for name, arguments in (("check", [book]), ("explain", [book, "lamp"])):
        done = run(name, "--json", *arguments)
        done.check_returncode()
        (out / f"{name}.json").write_text(done.stdout + done.stderr, encoding="utf-8")
    files = [file for file in out.rglob("*") if file.is_file()]
    assert {file.suffix for file in files} >= {".pdf", ".svg", ".json"} and len(files) > 8
    assert [file.name for file in files if holds(file, WORD)] == []
    printed = {file.name for file in files if holds(file, "Marshmallow")}
    assert printed >= {"book.pdf", "book-press.pdf", "booklet.pdf"}
    assert all(holds(file, "Four Doors") for file in files if file.name in ("book.pdf", "cover.pdf"))


def test_a_remark_is_written_changed_and_taken_away_beside_its_puzzle(
    page: TestClient, post: Post, compositor: Compositor, book: Path,
) -> None:
    file = book.parent / "puzzles" / "lamp.yaml"
    file.write_bytes(b"# kept\n" + file.read_bytes().replace(b"size: 4", b"size: 4  # kept"))
    before = {one: one.read_bytes() for one in book.parent.rglob("*.yaml")}
    assert told(page) == ""
    assert post("remark", id="lamp", text=" Easier: than it looks? \n", was="") == {"file": "puzzles/lamp.yaml"}
    wanted = before[file].replace(b"title: Lamp\n", b"title: Lamp\nremark: 'Easier: than it looks?'\n")
    assert file.read_bytes() == wanted
    compositor.refresh()
    assert told(page) == "Easier: than it looks?"
    post("remark", id="lamp", text="One.\n\n- two\r\n# three", was=told(page))
    assert yaml.safe_load(file.read_bytes())["remark"].strip() == "One.\n\n- two\n# three"
    compositor.refresh()
    post("remark", id="lamp", text=" \n", was=told(page))
    assert {one: one.read_bytes() for one in book.parent.rglob("*.yaml")} == before


def test_a_drawing_that_is_saved_keeps_the_remark(
    post: Post, drawn: Callable[..., dict[str, Any]], book: Path,
) -> None:
    post("remark", id="lamp", text="Mine", was="")
    found = drawn()
    post("save", id="lamp", drawing={**found["drawing"], "title": "Lantern"}, digest=found["digest"])
    assert yaml.safe_load((book.parent / "puzzles" / "lamp.yaml").read_bytes())["remark"] == "Mine"


def test_a_remark_that_was_changed_meanwhile_is_not_written_over(post: Post, book: Path) -> None:
    file = book.parent / "puzzles" / "lamp.yaml"
    file.write_bytes(file.read_bytes() + b"remark: Theirs\n")
    before = file.read_bytes()
    assert "changed in the file" in post("remark", 409, id="lamp", text="Mine", was="")["error"]
    assert file.read_bytes() == before
    file.write_bytes(before + b"# elsewhere in the file\n")
    post("remark", id="lamp", text="Mine", was="Theirs")
    assert b"remark: Mine\n# elsewhere in the file\n" in file.read_bytes()


REFUSED = (
    ({"id": "nobody"}, 404, "no puzzle"), ({"id": "../../etc/passwd"}, 404, "no puzzle"),
    ({"text": 7}, 400, "text"), ({"text": "x" * 100_001}, 400, "text"),
    ({"was": None}, 400, "was"), ({"file": "x"}, 400, "file"),
)


def test_what_cannot_be_written_is_refused(post: Post, book: Path) -> None:
    before = {one: one.read_bytes() for one in book.parent.rglob("*.yaml")}
    for asked, status, why in REFUSED:
        assert why in post("remark", status, **({"id": "lamp", "text": "Mine", "was": ""} | asked))["error"], asked
        assert {one: one.read_bytes() for one in book.parent.rglob("*.yaml")} == before, asked


def test_a_puzzle_that_is_gone_or_borrowed_is_left_alone(post: Post, compositor: Compositor, book: Path) -> None:
    file = book.parent / "puzzles" / "lamp.yaml"
    text = file.read_text(encoding="utf-8")
    inner = text.replace("\n", "\n  ").rstrip(" ")
    for content, status, why in ((text.replace("id: lamp", "id: other"), 409, "any more"),
                                 ("id: [", 409, "cannot be read"),
                                 (f"puzzles:\n- &one\n  {inner}- {{<<: *one, id: two}}\n", 400, "something else")):
        file.write_text(content, encoding="utf-8")
        assert why in post("remark", status, id="lamp", text="Mine", was="")["error"]
        assert file.read_text(encoding="utf-8") == content


def test_only_the_page_of_a_desk_that_may_write_writes_one(
    stranger: Callable[[dict[str, Any]], int], book: Path,
) -> None:
    before = (book.parent / "puzzles" / "lamp.yaml").read_bytes()
    assert stranger({"do": "remark", "id": "lamp", "text": "Mine", "was": ""}) == 403
    assert (book.parent / "puzzles" / "lamp.yaml").read_bytes() == before
