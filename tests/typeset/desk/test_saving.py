"""What a save leaves of the files of a book, and what is refused."""

from __future__ import annotations

import hashlib
import stat
from collections.abc import Callable
from pathlib import Path
from typing import Any

import yaml

from cagework.solver.editing.compose_crossing import CrossingRecipe, compose_crossing
from cagework.typeset.desk.galley import Compositor
from cagework.typeset.manifest.load import load_book

Post = Callable[..., Any]
Drawn = Callable[..., dict[str, Any]]

def test_a_save_changes_the_keys_of_its_puzzle_alone(drawn: Drawn, post: Post, book: Path) -> None:
    file = book.parent / "puzzles" / "lamp.yaml"
    file.write_bytes(b"# kept\r\n" + file.read_bytes().replace(b"\n", b"\r\n"))
    file.chmod(0o640)
    others = {one: one.read_bytes() for one in book.parent.rglob("*.yaml") if one != file}
    before = file.read_bytes()
    found = drawn()
    drawing = found["drawing"]
    next(cage for cage in drawing["cages"] if cage["sum"] == 7)["sum"] = 8
    asked = {"id": "lamp", "drawing": drawing, "digest": found["digest"]}
    shown = post("difference", **asked)
    assert "-  - {sum: 7, cells: r1c1 r1c2 r2c2}\n+  - {sum: 8, cells: r1c1 r1c2 r2c2}\n" in shown["difference"]
    assert file.read_bytes() == before and shown["file"] == "puzzles/lamp.yaml"
    saved = post("save", **asked)
    assert (saved["file"], saved["line"]) == ("puzzles/lamp.yaml", 2)
    assert file.read_bytes() == before.replace(b"{sum: 7,", b"{sum: 8,")
    assert saved["digest"] == hashlib.sha256(file.read_bytes()).hexdigest()
    assert stat.S_IMODE(file.stat().st_mode) == 0o640
    assert {one: one.read_bytes() for one in book.parent.rglob("*") if one.is_file() and one != file} == others


def test_a_save_of_nothing_new_touches_nothing(drawn: Drawn, post: Post, book: Path) -> None:
    file = book.parent / "puzzles" / "lamp.yaml"
    before, found = file.stat(), drawn()
    asked = {"id": "lamp", "drawing": found["drawing"], "digest": found["digest"]}
    assert post("difference", **asked)["difference"] == ""
    assert post("save", **asked)["digest"] == found["digest"]
    assert (file.stat().st_ino, file.stat().st_mtime_ns) == (before.st_ino, before.st_mtime_ns)


def test_a_file_that_was_changed_meanwhile_is_not_written(drawn: Drawn, post: Post, book: Path) -> None:
    file = book.parent / "puzzles" / "lamp.yaml"
    found = drawn()
    file.write_bytes(file.read_bytes() + b"# somebody else\n")
    before = file.read_bytes()
    for do in ("difference", "save"):
        said = post(do, 409, id="lamp", drawing={**found["drawing"], "title": "Mine"}, digest=found["digest"])
        assert "changed since" in said["error"] and file.read_bytes() == before
    post("save", 409, id="lamp", drawing=found["drawing"], digest=None)
    post("save", 404, id="nobody", drawing=found["drawing"], digest=found["digest"])
    post("save", 400, id="lamp", drawing={**found["drawing"], "id": "other"}, digest=drawn()["digest"])
    assert file.read_bytes() == before


def test_a_link_is_followed_and_stays_one(drawn: Drawn, post: Post, book: Path) -> None:
    file = book.parent / "puzzles" / "lamp.yaml"
    real = book.parent / "lamp.real"
    file.rename(real)
    file.symlink_to(real)
    try:
        found = drawn()
        post("save", id="lamp", drawing={**found["drawing"], "title": "Lantern"}, digest=found["digest"])
        assert file.is_symlink() and "title: Lantern\n" in real.read_text(encoding="utf-8")
    finally:
        file.unlink()
        real.unlink()


def test_what_cannot_be_spliced_is_refused_with_a_sentence(
    drawn: Drawn, post: Post, compositor: Compositor, book: Path,
) -> None:
    file = book.parent / "puzzles" / "lamp.yaml"
    text = file.read_text(encoding="utf-8").replace("\n", "\n  ").rstrip(" ")
    file.write_text(f"puzzles:\n- &lamp\n  {text}- <<: *lamp\n  id: lamp2\n  title: Two\n", encoding="utf-8")
    compositor.refresh()
    before = file.read_bytes()
    for name, why in (("lamp2", "<<"), ("lamp", "something else")):
        found = drawn(name)
        drawing = {**found["drawing"], "note": "New."}
        assert why in post("save", 400, id=name, drawing=drawing, digest=found["digest"])["error"]
    assert file.read_bytes() == before


def test_a_new_puzzle_gets_a_file_that_the_book_reads(drawn: Drawn, post: Post, book: Path) -> None:
    drawing = {**drawn()["drawing"], "id": "porch", "title": "Porch"}
    asked = {"id": None, "drawing": drawing, "digest": None}
    file = book.parent / "puzzles" / "porch.yaml"
    try:
        shown = post("difference", **asked)
        assert shown["file"] == "puzzles/porch.yaml" and not file.exists()
        assert shown["difference"].startswith("--- /dev/null\n+++ puzzles/porch.yaml\n")
        post("save", **asked)
        assert "porch" in {puzzle.id for puzzle in load_book(book).puzzles}
        assert "already" in post("save", 409, **asked)["error"]
    finally:
        file.unlink(missing_ok=True)
    for name in ("lamp", "LAMP", "../x", "", "a b", None):
        post("save", 400, id=None, drawing={**drawing, "id": name}, digest=None)
    assert {one.name for one in (book.parent / "puzzles").iterdir()} == {
        "fork.yaml", "hall.yaml", "lamp.yaml", "loft.yaml"}


def test_a_puzzle_of_the_manifest_itself_is_saved_there(
    drawn: Drawn, post: Post, compositor: Compositor, book: Path,
) -> None:
    """And a new one gets a file, which the manifest names from then on."""
    lamp = (book.parent / "puzzles" / "lamp.yaml").read_text(encoding="utf-8").replace("\n", "\n    ").rstrip(" ")
    before = f"book:\n  title: One   # door\n  solutions: full\npuzzles:\n  - {lamp}"
    book.write_text(before, encoding="utf-8")
    compositor.refresh()
    found = drawn()
    assert (found["file"], found["line"]) == ("book.yaml", 5)
    post("save", id="lamp", drawing={**found["drawing"], "note": "Mind: the step"}, digest=found["digest"])
    noted = before.replace("    title: Lamp\n", "    title: Lamp\n    note: 'Mind: the step'\n")
    assert book.read_text(encoding="utf-8") == noted
    try:
        shown = post("difference", id=None, drawing={**found["drawing"], "id": "porch"}, digest=None)
        assert "+  puzzles_from: porch.yaml\n" in shown["difference"] and "+++ porch.yaml" in shown["difference"]
        post("save", id=None, drawing={**found["drawing"], "id": "porch"}, digest=None)
        named = noted.replace("# door\n", "# door\n  puzzles_from: porch.yaml\n")
        assert book.read_text(encoding="utf-8") == named
        assert [puzzle.id for puzzle in load_book(book).puzzles] == ["lamp", "porch"]
    finally:
        (book.parent / "porch.yaml").unlink(missing_ok=True)


def test_of_crossing_sums_only_what_changed_is_written(
    drawn: Drawn, post: Post, compositor: Compositor, book: Path, crossing_part: Callable[..., dict[str, Any]],
) -> None:
    """A sum, then a square: its runs, and the map, in which blanks and what stands beside it stay."""
    file = book.parent / "puzzles" / "lamp.yaml"
    part = crossing_part(compose_crossing(1, CrossingRecipe(4, 7)).puzzle, "lamp", answer="to be typed")
    squares = "".join(f"  {' '.join(row)}\n" for row in part["map"].split("\n"))
    text = (f"# kept\nid: lamp\nkind: crossing-sums\nmap: |  # seven wide\n{squares}"
            f"across: {part['across']}   # a\ndown: {part['down']}   # d\nanswer: to be typed\n")
    file.write_text(text, encoding="utf-8")
    compositor.refresh()
    found = drawn()
    drawing = found["drawing"]
    assert (drawing["rows"], drawing["columns"], drawing["size"]) == (4, 7, 9)
    assert post("difference", id="lamp", drawing=drawing, digest=found["digest"])["difference"] == ""
    down = next(cage for cage in drawing["cages"] if cage["cells"][0][:2] != cage["cells"][1][:2])
    down["sum"] += 1
    saved = post("save", id="lamp", drawing=drawing, digest=found["digest"])
    after = yaml.safe_load(file.read_text(encoding="utf-8"))
    assert [a == b for a, b in zip(after["down"], part["down"], strict=True)].count(False) == 1
    changed = [line for line in file.read_text(encoding="utf-8").splitlines() if line not in text.splitlines()]
    assert len(changed) == 1 and changed[0].startswith("down: ") and changed[0].endswith("   # d")
    row = next(number for number, line in enumerate(part["map"].split("\n"), 1) if line.endswith("#"))
    white = {**drawing, "black": [cell for cell in drawing["black"] if not cell.startswith(f"r{row}c")],
             "cages": []}
    post("save", id="lamp", drawing=white, digest=saved["digest"])
    after = file.read_text(encoding="utf-8")
    kept = squares.splitlines()
    kept[row - 1] = "  . . . . . . ."
    assert "map: |  # seven wide\n" + "".join(f"{line}\n" for line in kept) in after
    assert None in yaml.safe_load(after)["across"] and "answer: to be typed\n" in after and "# kept\n" in after


def test_an_answer_beside_crossing_sums_is_saved_as_the_book_reads_it(
    drawn: Drawn, post: Post, compositor: Compositor, book: Path, crossing_part: Callable[..., dict[str, Any]],
) -> None:
    """One that is new, and then one digit of it, in whatever way the file has them by then."""
    file = book.parent / "puzzles" / "lamp.yaml"
    made = compose_crossing(1, CrossingRecipe(4, 7))
    file.write_text(yaml.safe_dump(crossing_part(made.puzzle, "lamp"), sort_keys=False), encoding="utf-8")
    before = file.read_text(encoding="utf-8")
    compositor.refresh()
    found = drawn()
    said = str(made.answer).replace(".", "#")
    rows = [said[at:at + 7] for at in range(0, len(said), 7)]
    post("save", id="lamp", drawing={**found["drawing"], "answer": rows}, digest=found["digest"])
    block = "".join(f"  {row}\n" for row in rows)
    assert file.read_text(encoding="utf-8") == f"{before}answer: |\n{block}"
    reading, = load_book(file, puzzles_suffice=True).puzzles
    assert not reading.faults
    assert {given.cell: given.digit for given, _ in reading.setters} == {
        cell: made.answer.at(cell) for cell in made.puzzle.cells}

    def spaced() -> str:
        return f"{before}answer: |    # mine\n" + "".join(f"  {' '.join(row)}\n" for row in rows).replace("#", "x")

    file.write_text(spaced(), encoding="utf-8")
    found, (row, col) = drawn(), made.puzzle.cells[0]
    assert found["drawing"]["answer"] == rows
    rows[row - 1] = f"{rows[row - 1][:col - 1]}.{rows[row - 1][col:]}"
    post("save", id="lamp", drawing={**found["drawing"], "answer": rows}, digest=found["digest"])
    assert file.read_text(encoding="utf-8") == spaced()


def test_a_puzzle_becomes_one_of_another_kind_and_keeps_what_names_it(
    drawn: Drawn, post: Post, book: Path, crossing_part: Callable[..., dict[str, Any]],
) -> None:
    """Both ways; nothing of the grid before is left."""
    file = book.parent / "puzzles" / "lamp.yaml"
    file.write_text(file.read_text(encoding="utf-8") + "short_title: L\nrules: [knight]\nanswer: '1234'\n",
                    encoding="utf-8")
    found = drawn()
    cages = found["drawing"]
    text = yaml.safe_dump(crossing_part(compose_crossing(1, CrossingRecipe(4, 7)).puzzle, "x"))
    crossing = post("read", text=text)["drawing"] | {"id": "lamp", "title": "Lamp"}
    saved = post("save", id="lamp", drawing=crossing, digest=found["digest"])
    assert set(yaml.safe_load(file.read_bytes())) == {
        "id", "title", "short_title", "kind", "map", "across", "down"}
    assert drawn()["drawing"] == crossing
    post("save", id="lamp", drawing=cages, digest=saved["digest"])
    assert drawn()["drawing"] == cages
    assert not {"kind", "across", "down"} & set(yaml.safe_load(file.read_bytes()))


def test_a_book_without_a_pattern_is_given_one(drawn: Drawn, post: Post, book: Path) -> None:
    text = book.read_text(encoding="utf-8")
    four = "[puzzles/l*.yaml, puzzles/hall.yaml, 'puzzles/fork.yaml'] # four"
    book.write_text(text.replace("puzzles/*.yaml", four), encoding="utf-8")
    drawing = {**drawn()["drawing"], "id": "porch", "title": "Porch"}
    try:
        post("save", id=None, drawing=drawing, digest=None)
        assert "[puzzles/l*.yaml, puzzles/hall.yaml, 'puzzles/fork.yaml', porch.yaml] # four" in book.read_text(
            encoding="utf-8")
        assert "porch" in {puzzle.id for puzzle in load_book(book).puzzles}
    finally:
        (book.parent / "porch.yaml").unlink(missing_ok=True)


def test_what_cannot_be_written_is_said(drawn: Drawn, post: Post, book: Path) -> None:
    """A folder stands where the file would wait for its turn."""
    file, waits = book.parent / "puzzles" / "lamp.yaml", book.parent / "puzzles" / ".lamp.yaml.part"
    before, found = file.read_bytes(), drawn()
    waits.mkdir()
    try:
        said = post("save", 403, id="lamp", drawing={**found["drawing"], "title": "X"}, digest=found["digest"])
        assert "cannot write lamp.yaml" in said["error"] and file.read_bytes() == before
    finally:
        waits.rmdir()


