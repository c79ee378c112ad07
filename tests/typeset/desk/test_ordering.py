"""Puzzles put in another order by the page's posts: what becomes of the manifest, and what is refused."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import yaml
from starlette.testclient import TestClient

from cagework.typeset.manifest.load import load_book

Post = Callable[..., Any]
OWN = {"Origin": "http://127.0.0.1"}


def order(page: TestClient) -> dict[str, Any]:
    found: dict[str, Any] = page.get("/state.json").json()["order"]
    return found


def printed(book: Path) -> list[list[str]]:
    """The ids of each section, as the book is read anew."""
    read = load_book(book).book
    assert read is not None
    return [[entry.id for entry in section.entries] for section in read.sections]


def in_lines(book: Path) -> str:
    """The manifest with a line a puzzle, and comments of their own."""
    text = book.read_text(encoding="utf-8").replace("[hall, loft]", "\n    - hall  # cold\n    # high\n    - loft")
    return text.replace("[lamp, fork]", "\n    - lamp\n    - fork")


def test_the_state_says_in_which_order_puzzles_stand(page: TestClient, book: Path) -> None:
    found = order(page)
    assert found["digest"] == hashlib.sha256(book.read_bytes()).hexdigest() and found["back"] is None
    assert [(group["title"], group["ids"], group["graded"], group["loose"]) for group in found["groups"]] == [
        ("Ground floor", ["lamp", "fork"], False, False), ("Stairs", ["hall", "loft"], False, False),
        ("", [], False, True)]


def test_a_move_changes_the_order_and_nothing_else_and_is_taken_back(
    page: TestClient, post: Post, book: Path,
) -> None:
    text = in_lines(book)
    before = text.replace("\n", "\r\n").encode() + b"# no newline at the end"
    book.write_bytes(before)
    others = {one: one.read_bytes() for one in book.parent.rglob("*.yaml") if one != book}
    found = post("move", id="loft", group=0, place=1, digest=order(page)["digest"])["order"]
    assert found["back"] == "loft" and found["digest"] == hashlib.sha256(book.read_bytes()).hexdigest()
    assert printed(book) == [["lamp", "loft", "fork"], ["hall"]]
    assert page.get("/state.json").json()["order"] == found
    again = post("move", id="lamp", group=0, place=2, digest=found["digest"])["order"]
    assert printed(book) == [["loft", "fork", "lamp"], ["hall"]]
    found = post("take-back", digest=again["digest"])["order"]
    found = post("take-back", digest=found["digest"])["order"]
    assert book.read_bytes() == before and found["back"] is None
    assert "no move" in post("take-back", 409, digest=found["digest"])["error"]
    assert {one: one.read_bytes() for one in book.parent.rglob("*") if one.is_file() and one != book} == others


def test_what_was_taken_back_is_made_again(page: TestClient, post: Post, book: Path) -> None:
    """Move after move, each byte as it was; a move of another puzzle, or a change of the file, ends that."""
    states, found = [book.read_bytes()], order(page)
    for id, group, place in (("lamp", 1, 0), ("hall", 0, 0)):
        found = post("move", id=id, group=group, place=place, digest=found["digest"])["order"]
        assert (found["back"], found["again"]) == (id, None)
        states.append(book.read_bytes())
    assert "no move" in post("take-back", 409, digest=found["digest"], again=True)["error"]
    for again, at, back, on in ((False, 1, "lamp", "hall"), (False, 0, None, "lamp"), (True, 1, "lamp", "hall"),
                                (True, 2, "hall", None), (False, 1, "lamp", "hall")):
        found = post("take-back", digest=found["digest"], again=again)["order"]
        assert book.read_bytes() == states[at] and (found["back"], found["again"]) == (back, on)
    book.write_bytes(states[1] + b"# somebody else\n")
    found = order(page)
    assert (found["back"], found["again"]) == (None, None)
    assert "no move" in post("take-back", 409, digest=found["digest"], again=True)["error"]
    book.write_bytes(states[1])
    assert order(page)["again"] == "hall"
    found = post("move", id="loft", group=0, place=0, digest=order(page)["digest"])["order"]
    found = post("take-back", digest=found["digest"])["order"]
    assert found["again"] == "loft", "what was taken back before is gone"


def test_steps_that_join_are_one_move(page: TestClient, post: Post, book: Path) -> None:
    """A comment of a puzzle's own that comes to the top of a list on the way is still its own."""
    text = in_lines(book) + "    - attic\n"
    book.write_text(text, encoding="utf-8")
    found = order(page)
    for group, place in ((1, 0), (0, 2), (0, 1), (0, 2), (1, 0), (1, 2)):
        found = post("move", id="loft", group=group, place=place, digest=found["digest"], joins=True)["order"]
    assert book.read_text(encoding="utf-8") == text.replace(
        "    # high\n    - loft\n    - attic", "    - attic\n    # high\n    - loft")
    post("take-back", digest=found["digest"])
    assert book.read_text(encoding="utf-8") == text
    found = post("move", id="loft", group=1, place=0, digest=order(page)["digest"], joins=True)["order"]
    found = post("move", id="loft", group=1, place=1, digest=found["digest"], joins=True)["order"]
    assert book.read_text(encoding="utf-8") == text and found["back"] is None, "there and back is no move"


def test_a_section_by_grade_takes_and_gives_and_has_no_other_order(
    page: TestClient, post: Post, book: Path,
) -> None:
    book.write_text(book.read_text(encoding="utf-8").replace("[lamp, fork]", "[lamp, fork]\n    order: grade"),
                    encoding="utf-8")
    before, found = book.read_bytes(), order(page)
    assert found["groups"][0]["graded"]
    said = post("move", 400, id="fork", group=0, place=0, digest=found["digest"])
    assert "order of grade" in said["error"] and "'Ground floor'" in said["error"] and book.read_bytes() == before
    found = post("move", id="loft", group=0, place=0, digest=found["digest"])["order"]
    assert found["groups"][0]["ids"] == ["lamp", "fork", "loft"]
    post("move", id="lamp", group=1, place=0, digest=found["digest"])
    assert printed(book) == [["fork", "loft"], ["lamp", "hall"]]


def test_a_puzzle_is_left_out_and_taken_in_again(page: TestClient, post: Post, book: Path) -> None:
    before, found = book.read_bytes(), order(page)
    found = post("move", id="fork", group=2, place=0, digest=found["digest"])["order"]
    assert found["groups"][2]["ids"] == ["fork"] and printed(book) == [["lamp"], ["hall", "loft"]]
    said = post("move", 400, id="lamp", group=1, place=0, digest=found["digest"])
    assert "one puzzle at least" in said["error"]
    post("move", 400, id="fork", group=2, place=0, digest=found["digest"])
    post("move", id="fork", group=0, place=9, digest=found["digest"])
    assert book.read_bytes() == before


def test_a_book_without_sections_gets_one_that_prints_the_same(page: TestClient, post: Post, book: Path) -> None:
    text = "book:\n  title: 'Four: Doors'  # kept\n  short_title: Four\n  puzzles_from: puzzles/*.yaml\n# kept"
    book.write_text(text, encoding="utf-8")
    read = load_book(book).book
    assert read is not None
    found = order(page)
    assert [group["ids"] for group in found["groups"]] == [["fork", "hall", "lamp", "loft"]]
    post("move", id="loft", group=0, place=0, digest=found["digest"])
    after = book.read_text(encoding="utf-8")
    assert after.startswith(text + "\n") and yaml.safe_load(after)["sections"] == [
        {"title": "Four: Doors", "short_title": "Four", "puzzles": ["loft", "fork", "hall", "lamp"]}]
    made = load_book(book).book
    assert made is not None
    (was,), (section,) = read.sections, made.sections
    assert (section.title, section.short_title, section.intro) == (was.title, was.short_title, was.intro)
    assert list(section.entries) == [was.entries[3], *was.entries[:3]]


def test_puzzles_in_the_manifest_itself_are_moved_there(
    page: TestClient, post: Post, book: Path, texts: dict[str, str],
) -> None:
    parts = ["- " + texts[f"puzzles/{name}.yaml"].replace("\n", "\n  ").rstrip(" ") for name in ("lamp", "fork")]
    head = "book: {title: Four Doors}\npuzzles:\n"
    book.write_text(head + parts[0] + "# of fork\n" + parts[1], encoding="utf-8")
    found = order(page)
    assert found["groups"][0]["ids"] == ["lamp", "fork"]
    post("move", id="fork", group=0, place=0, digest=found["digest"])
    assert book.read_text(encoding="utf-8") == head + "# of fork\n" + parts[1] + parts[0]
    assert printed(book) == [["fork", "lamp"]]


REFUSED = (
    ({"id": "nobody"}, 404, "no puzzle"), ({"id": "../../etc/passwd"}, 404, "no puzzle"),
    ({"group": 7}, 400, "no such section"), ({"digest": "0" * 64}, 409, "changed since"),
    ({"group": -1}, 400, "group"), ({"place": -1}, 400, "place"), ({"place": "1"}, 400, "place"),
    ({"place": True}, 400, "place"), ({"file": "book.yaml"}, 400, "file"),
)


def test_what_cannot_be_moved_is_refused(page: TestClient, post: Post, book: Path) -> None:
    before = book.read_bytes()
    usual = {"id": "lamp", "group": 1, "place": 0, "digest": order(page)["digest"]}
    for asked, status, why in REFUSED:
        assert why in post("move", status, **(usual | asked))["error"], asked
        assert book.read_bytes() == before, asked


def test_a_manifest_that_was_changed_meanwhile_is_not_written(page: TestClient, post: Post, book: Path) -> None:
    found = order(page)
    found = post("move", id="lamp", group=1, place=0, digest=found["digest"])["order"]
    book.write_bytes(book.read_bytes() + b"# somebody else\n")
    before = book.read_bytes()
    for do, more in (("move", {"id": "lamp", "group": 0, "place": 0}), ("take-back", {})):
        assert "changed since" in post(do, 409, **more, digest=found["digest"])["error"]
    now = order(page)
    assert now["back"] is None
    assert "changed since" in post("take-back", 409, digest=now["digest"])["error"]
    assert book.read_bytes() == before


def test_a_manifest_that_cannot_be_read_has_no_order(page: TestClient, post: Post, book: Path) -> None:
    known = order(page)["digest"]
    book.write_text("book: [", encoding="utf-8")
    assert order(page) is None
    post("move", 409, id="lamp", group=0, place=0, digest=known)
    said = post("move", 409, id="lamp", group=0, place=0, digest=hashlib.sha256(b"book: [").hexdigest())
    assert "cannot be read" in said["error"] and book.read_bytes() == b"book: ["


def test_lists_that_cannot_be_changed_in_place_are_left_alone(page: TestClient, post: Post, book: Path) -> None:
    text = book.read_text(encoding="utf-8")
    for old, new, why in (("[lamp, fork]", "[lamp, # of lamp\n      fork]", "comments between its brackets"),
                          ("[lamp, fork]", "&all [lamp, fork]", "&all"),
                          ("[lamp, fork]", "\n    - fork\n    - lamp  # bright", "no room in brackets")):
        book.write_text(text.replace(old, new), encoding="utf-8")
        before = book.read_bytes()
        said = post("move", 400, id="lamp", group=int("bright" in new), place=1, digest=order(page)["digest"])
        assert why in said["error"] and book.read_bytes() == before


def test_only_the_page_of_a_desk_that_may_write_moves_puzzles(
    stranger: Callable[[dict[str, Any]], int], book: Path,
) -> None:
    before = book.read_bytes()
    known = hashlib.sha256(before).hexdigest()
    for asked in ({"do": "move", "id": "lamp", "group": 1, "place": 0, "digest": known},
                  {"do": "take-back", "digest": known}):
        assert stranger(asked) == 403
    assert book.read_bytes() == before
