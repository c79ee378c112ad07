"""What the page posts: whom the desk answers, and what it says of a drawing."""

from __future__ import annotations

import hashlib
import http.client
import json
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import pytest
from starlette.testclient import TestClient

from cagework.solver.editing.compose import Recipe, compose
from cagework.solver.editing.compose_crossing import CrossingRecipe, compose_crossing
from cagework.solver.model import Answer, Cell, Puzzle
from cagework.solver.search.exact import Outcome, Verdict
from cagework.typeset.desk.asked import drawing_json
from cagework.typeset.desk.feed import Feed
from cagework.typeset.desk.galley import Compositor
from cagework.typeset.desk.server import application
from cagework.typeset.manifest.document import parse_document
from cagework.typeset.manifest.drawn import Drawing, cages_in_order
from cagework.typeset.manifest.notation import WIDEST
from cagework.typeset.manifest.puzzle import read_puzzle

TOKEN = "a-token-of-this-run"
OWN = {"Origin": "http://127.0.0.1", "X-Desk-Token": TOKEN}
Post = Callable[..., Any]
Drawn = Callable[..., dict[str, Any]]


@pytest.fixture
def client(standing: Compositor) -> TestClient:
    """Somebody who sends nothing of the page's own but what a test gives it."""
    return TestClient(application(standing, Feed(standing), token=TOKEN), base_url="http://127.0.0.1")


# Whom it answers.

@pytest.mark.parametrize(("headers", "status"), [
    ({"Origin": "http://127.0.0.1"}, 403), ({"X-Desk-Token": TOKEN}, 403),
    (OWN | {"X-Desk-Token": "another"}, 403), (OWN | {"X-Desk-Token": TOKEN[:-1]}, 403),
    (OWN | {"Origin": "http://puzzles.example"}, 403), (OWN | {"Origin": "null"}, 403),
    (OWN | {"Origin": "https://127.0.0.1"}, 403), (OWN | {"Origin": "http://127.0.0.1:81"}, 403),
    (OWN | {"Host": "puzzles.example", "Origin": "http://puzzles.example"}, 403),
    (OWN | {"Content-Type": "text/plain"}, 415), (OWN | {"Content-Type": "multipart/form-data"}, 415),
    (OWN | {"Content-Type": "application/x-www-form-urlencoded"}, 415),
    (OWN | {"Content-Length": "99999999"}, 413),
])
def test_a_post_of_somebody_else_is_refused(client: TestClient, headers: dict[str, str], status: int) -> None:
    """Another page in the same browser, under any name; a form, which is sent without being asked."""
    usual = {"Content-Type": "application/json"}
    answer = client.post("/do", content=b'{"do": "save"}', headers=usual | headers)
    assert answer.status_code == status and answer.json()["error"]


def test_a_body_that_grows_too_large_is_refused(client: TestClient) -> None:
    def endless() -> Iterator[bytes]:
        for _ in range(100):
            yield b" " * 10_000

    answer = client.post("/do", content=endless(), headers=OWN | {"Content-Type": "application/json"})
    assert answer.status_code == 413


@pytest.mark.parametrize("body", [
    b"", b"[]", b"{", b'{"do": "burn"}', b'{"do": "judge"}',
    b'{"do": "judge", "stamp": "1", "drawing": {"size": 9}}',
    b'{"do": "judge", "stamp": 1, "drawing": {"size": 99}}',
    b'{"do": "judge", "stamp": 1, "drawing": {"size": true}}',
    b'{"do": "judge", "stamp": 1, "drawing": {"size": 9, "path": "../../etc/passwd"}}',
    b'{"do": "judge", "stamp": 1, "drawing": {"size": 9, "cages": [{"cells": ["r1c1; rm"]}]}}',
    b'{"do": "judge", "stamp": 1, "drawing": {"size": 4, "cages": [{"cells": ["r9c9"]}]}}',
    b'{"do": "judge", "stamp": 1, "drawing": {"size": 4, "regions": [["r1c1"], ["r1c1"]]}}',
    b'{"do": "judge", "stamp": 1, "drawing": {"size": 4, "rules": [' + b"[" * 50 + b"]" * 50 + b"]}}",
    b'{"do": "save", "id": "lamp", "drawing": {"size": 4}, "digest": 7}',
    b'{"do": "write", "drawing": {"size": 4, "title": "\\ud800"}}', b'{"do": "write", "drawing": {"size": 4.0}}',
])
def test_a_body_of_another_type_is_refused(client: TestClient, body: bytes) -> None:
    answer = client.post("/do", content=body, headers=OWN | {"Content-Type": "application/json"})
    assert answer.status_code == 400 and answer.json()["error"]


def test_read_only_lets_nothing_be_asked(compositor: Compositor, book: Path) -> None:
    client = TestClient(application(compositor, Feed(compositor)), base_url="http://127.0.0.1")
    before = {file: file.read_bytes() for file in book.parent.rglob("*.yaml")}
    for token in ("", TOKEN, "None"):
        answer = client.post("/do", json={"do": "save"}, headers=OWN | {"X-Desk-Token": token})
        assert answer.status_code == 403 and "--read-only" in answer.json()["error"]
    assert client.get("/state.json").json()["read_only"] is True
    assert {file: file.read_bytes() for file in book.parent.rglob("*.yaml")} == before


# What it says of a drawing.

def test_a_puzzle_is_drawn_as_its_file_has_it(page: TestClient, drawn: Drawn, book: Path) -> None:
    found = drawn()
    assert (found["file"], found["line"], found["uncaged"]) == ("puzzles/lamp.yaml", 1, False)
    assert found["digest"] == hashlib.sha256((book.parent / "puzzles" / "lamp.yaml").read_bytes()).hexdigest()
    drawing = found["drawing"]
    assert (drawing["id"], drawing["title"], drawing["size"], drawing["regions"]) == ("lamp", "Lamp", 4, None)
    assert {"cells": ["r1c1", "r1c2", "r2c2"], "sum": 7} in drawing["cages"] and len(drawing["cages"]) == 6
    assert page.get("/puzzles/nobody/drawing.json").status_code == 404


def test_a_sound_drawing_is_judged_as_cp_sat_has_it(
    drawn: Drawn, post: Post, only_answer: Callable[[Puzzle], Answer],
) -> None:
    for name in ("lamp", "hall", "loft"):
        drawing = drawn(name)["drawing"]
        said = post("judge", stamp=3, drawing=drawing)
        assert (said["stamp"], said["state"], said["faults"], said["differs"]) == (3, "sound", [], {})
        text = post("write", drawing=drawing)["text"]
        document = parse_document(Path("written"), text)
        entry = read_puzzle(document, (), document.data, allow_uncaged=False).entry
        assert entry is not None
        assert "".join(said["answer"]) == str(only_answer(entry.puzzle))
        size = drawing["size"]
        total = size * size * (size + 1) // 2
        assert said["known"]["total"] == {"cages": total, "rest": 0, "cells": 0, "grid": total}
        for cell, digits in said["known"]["derived"].items():
            row, col = map(int, cell[1:].split("c"))
            assert said["answer"][row - 1][col - 1] in digits and len(digits) <= 3


def test_what_is_wrong_or_missing_is_said_by_cell(drawn: Drawn, post: Post) -> None:
    drawing = drawn()["drawing"]
    cages = {tuple(cage["cells"]): cage for cage in drawing["cages"]}
    bare = {**drawing, "cages": [cage for cells, cage in cages.items() if "r1c1" not in cells]}
    said = post("judge", stamp=1, drawing=bare)
    assert said["known"]["uncaged"] == ["r1c1", "r1c2", "r2c2"]
    assert said["known"]["total"] == {"cages": 33, "rest": 7, "cells": 3, "grid": 40}
    two = {**drawing, "cages": [{**cage, "sum": None} if cage["sum"] == 6 else cage for cage in cages.values()]}
    said = post("judge", stamp=2, drawing=two)
    assert said["state"] == "two answers" and len(said["differs"]) == 4
    none = {**drawing, "cages": [{**cage, "sum": 8} if cage["sum"] == 7 else cage for cage in cages.values()]}
    assert post("judge", stamp=3, drawing=none)["state"] == "no answer"
    high = {**drawing, "cages": [{**cage, "sum": 30} if cage["sum"] == 4 else cage for cage in cages.values()]}
    said = post("judge", stamp=4, drawing=high)
    assert (said["state"], said["faults"]) == ("faulty", [{
        "message": "the cage at r3c2 cannot add to 30: 2 different digits make 3 to 7", "hint": "",
        "cells": ["r3c2", "r3c3"]}])
    empty = post("judge", stamp=5, drawing={"size": 9})
    assert empty["state"] == "unfinished" and len(empty["known"]["uncaged"]) == 81


def test_the_setters_answer_is_held_against_the_only_one(drawn: Drawn, post: Post) -> None:
    drawing = drawn()["drawing"]
    answer = post("judge", stamp=1, drawing=drawing)["answer"]
    assert post("judge", stamp=2, drawing={**drawing, "answer": answer})["setter"] == []
    slip = [answer[0].translate({ord(answer[0][0]): answer[0][1], ord(answer[0][1]): answer[0][0]}), *answer[1:]]
    assert post("judge", stamp=3, drawing={**drawing, "answer": slip})["setter"] == ["r1c1", "r1c2"]


def test_an_answer_half_written_is_held_against_what_there_is(drawn: Drawn, post: Post) -> None:
    drawing = drawn()["drawing"]
    answer = post("judge", stamp=1, drawing=drawing)["answer"]
    wrong = next(digit for digit in "1234" if digit != answer[1][2])
    half = ["....", f"..{wrong}.", "", "...."]
    assert post("judge", stamp=2, drawing={**drawing, "answer": ["....", f"..{wrong}."]})["setter"] == ["r2c3"]
    assert post("judge", stamp=3, drawing={**drawing, "answer": half})["state"] == "sound"
    low = {**drawing, "cages": [{**cage, "sum": 8} if cage["sum"] == 9 else cage for cage in drawing["cages"]]}
    assert post("judge", stamp=4, drawing={**low, "answer": answer})["setter"] == ["r4c2"]


def test_a_given_that_a_sum_has_no_room_for_is_told(drawn: Drawn, post: Post) -> None:
    drawing = drawn()["drawing"]
    said = post("judge", stamp=1, drawing={**drawing, "givens": {"r3c2": 2}})
    assert said["state"] == "no answer"
    assert said["known"]["impossible"] == [
        {"cells": ["r3c2", "r3c3"], "message": "no digits make 4 together with the given 2"}]


def test_crossing_sums_are_judged_as_cp_sat_has_them(
    post: Post, only_answer: Callable[[Puzzle], Answer], crossing_part: Callable[..., dict[str, Any]],
) -> None:
    """Sound, unfinished, with a sum that no digits make, and with one too many; a study tells of each."""
    puzzle = compose_crossing(1, CrossingRecipe(4, 7)).puzzle
    drawing = post("read", text=json.dumps(crossing_part(puzzle)))["drawing"]
    said = post("judge", stamp=1, drawing=drawing)
    answer = only_answer(puzzle)
    assert said["state"] == "sound"
    assert "".join(said["answer"]).replace("#", ".") == str(answer)
    assert all(str(answer.at(Cell.parse(cell))) in digits for cell, digits in said["known"]["derived"].items())
    total = sum(cage.total or 0 for cage in puzzle.cages)
    assert said["known"]["total"] == {"across": total // 2, "down": total // 2, "open": 0}
    assert post("study", stamp=1, drawing=drawing)["path"] == "whole"
    first, *others = drawing["cages"]
    unfinished = post("judge", stamp=2, drawing={**drawing, "cages": others})     # what is left out has no sum yet
    assert unfinished["state"] == "unfinished" and unfinished["known"]["total"]["open"] == 1
    assert unfinished["faults"] == []
    high = post("judge", stamp=3, drawing={**drawing, "cages": [{**first, "sum": 45}, *others]})
    assert high["state"] == "faulty" and [one["cells"] for one in high["known"]["impossible"]] == [first["cells"]]
    two = {"size": 9, "rows": 2, "columns": 2, "black": [], "cages": [
        {"cells": cells.split(), "sum": total} for cells, total in (
            ("r1c1 r1c2", 7), ("r2c1 r2c2", 8), ("r1c1 r2c1", 6), ("r1c2 r2c2", 9))]}
    assert post("judge", stamp=4, drawing=two)["state"] == "two answers"
    repairs = post("study", stamp=4, drawing=two)["repairs"]
    assert repairs and all(post("judge", stamp=5, drawing=one["drawing"])["state"] == "sound" for one in repairs)
    for wrong in ({"cages": [{"cells": ["r1c1", "r2c2"], "sum": 3}]}, {"black": ["r3c1"]}, {"rows": 1},
                  {"rows": WIDEST + 1}, {"givens": {"r2c3": 1}}):
        post("judge", 400, stamp=6, drawing=two | wrong)


def test_the_answer_of_crossing_sums_is_held_against_what_there_is(
    post: Post, only_answer: Callable[[Puzzle], Answer], crossing_part: Callable[..., dict[str, Any]],
) -> None:
    """Whole and half written; while sums are missing, against those there are; black squares say nothing."""
    puzzle = compose_crossing(1, CrossingRecipe(4, 7)).puzzle
    drawing = post("read", text=json.dumps(crossing_part(puzzle)))["drawing"]
    right = post("judge", stamp=1, drawing=drawing)["answer"]
    cell = puzzle.cells[-1]
    wrong = 9 if only_answer(puzzle).at(cell) != 9 else 8

    def slipped(rows: list[str]) -> list[str]:
        line = rows[cell.row - 1]
        return [*rows[:cell.row - 1], f"{line[:cell.col - 1]}{wrong}{line[cell.col:]}", *rows[cell.row:]]

    bare = [re.sub("[1-9]", ".", row) for row in right]
    for answer, cells in ((right, []), (bare, []), ([row.replace("#", "5") for row in right], []),
                          (slipped(right), [str(cell)]), (slipped(bare), [str(cell)])):
        said = post("judge", stamp=2, drawing=drawing | {"answer": answer})
        assert (said["state"], said["setter"]) == ("sound", cells)
    run = next(cage for cage in puzzle.cages if cell in cage.cells)
    first = next(cage for cage in drawing["cages"] if str(cell) not in cage["cells"])
    some = drawing | {"cages": [one for one in drawing["cages"] if one != first]}
    for answer, cells in ((right, set()), (slipped(right), {str(run.first), str(cell)})):
        said = post("judge", stamp=3, drawing=some | {"answer": answer})
        assert said["state"] == "unfinished"
        assert cells <= set(said["setter"]) if cells else said["setter"] == []


def test_crossing_sums_that_are_saved_half_known_are_shown_with_one_fault(
    page: TestClient, compositor: Compositor, drawn: Drawn, post: Post,
    crossing_part: Callable[..., dict[str, Any]],
) -> None:
    puzzle, found = compose_crossing(1, CrossingRecipe(4, 7)).puzzle, drawn()
    drawing = post("read", text=json.dumps(crossing_part(puzzle)))["drawing"] | {"id": "lamp"}
    bare = [one if number else {**one, "sum": None} for number, one in enumerate(drawing["cages"])]
    for cages, more in ((bare, ""), ([], f", nor are those of {len(bare) - 1} others")):
        saved = post("save", id="lamp", drawing=drawing | {"cages": cages}, digest=found["digest"])
        compositor.refresh()
        row = next(one for one in page.get("/state.json").json()["puzzles"] if one["id"] == "lamp")
        assert (row["state"], row["size"], row["cages"]) == ("faulty", "4 × 7", len(bare))
        first = puzzle.cages[0].first
        assert [one["message"] for one in row["faults"]] == [
            f"the sum of the run across at {first} is not known yet{more}"]
        assert row["page"] and row["faults"][0]["source"].startswith("across: ")
        found = saved


def test_crossing_sums_as_large_as_there_are_are_asked_about(post: Post) -> None:
    """With all that can stand in them: every square white and given, a sum for each run, an answer."""
    cells = [f"r{row}c{col}" for row in range(1, WIDEST + 1) for col in range(1, WIDEST + 1)]
    lines = [cells[row * WIDEST:(row + 1) * WIDEST] for row in range(WIDEST)]
    lines += [cells[col::WIDEST] for col in range(WIDEST)]
    drawing = {"size": 9, "rows": WIDEST, "columns": WIDEST, "black": [], "givens": dict.fromkeys(cells, 5),
               "cages": [{"cells": line, "sum": 45} for line in lines], "answer": ["5" * WIDEST] * WIDEST}
    said = post("judge", stamp=1, drawing=drawing)
    assert said["state"] == "faulty" and len(said["known"]["impossible"]) == 2 * WIDEST
    assert post("read", text=post("write", drawing=drawing)["text"])["drawing"]["answer"] == drawing["answer"]


def test_a_sum_that_no_digits_make_is_named_by_its_cells(drawn: Drawn, post: Post) -> None:
    """Whatever place its cage has among those of the page."""
    drawing = drawn()["drawing"]
    cages = [{**cage, "sum": 30} if cage["sum"] == 4 else cage for cage in reversed(drawing["cages"])]
    said = post("judge", stamp=1, drawing={**drawing, "cages": cages})
    assert said["known"]["impossible"] == [
        {"cells": ["r3c2", "r3c3"], "message": "2 different digits make 3 to 7, not 30"}]


def test_a_study_offers_whole_drawings_that_are_sound(drawn: Drawn, post: Post) -> None:
    drawing = drawn()["drawing"]
    path = post("study", stamp=1, drawing=drawing)
    assert path["path"] == "whole" and path["grade"] and path["steps"] and path["steps"][0]["text"]
    two = {**drawing, "cages": [{**cage, "sum": None} if cage["sum"] == 6 else cage for cage in drawing["cages"]]}
    found = post("study", stamp=2, drawing=two)
    assert found["lines"] and len(found["region"]) == 4 and found["repairs"]
    low = {**drawing, "cages": [{**cage, "sum": 8} if cage["sum"] == 9 else cage for cage in drawing["cages"]]}
    mended = post("study", stamp=3, drawing=low)
    assert mended["conflict"] and any("the whole grid" in line for line in mended["lines"]) and mended["repairs"]
    for number, repair in enumerate((*found["repairs"], *mended["repairs"])):
        assert post("judge", stamp=number, drawing=repair["drawing"])["state"] == "sound", repair["text"]


def test_drawings_of_another_grade_are_offered_with_the_answer_kept(
    drawn: Drawn, post: Post, only_answer: Callable[[Puzzle], Answer],
) -> None:
    """Each is what CP-SAT has one answer for, the one there was, and of the grade wanted when it is studied."""
    drawing = drawn("loft")["drawing"] | {"grade": "climb", "note": "Mind the beam."}
    graded = post("study", stamp=1, drawing=drawing)["grade"]
    answer = post("judge", stamp=1, drawing=drawing)["answer"]
    wanted = "stroll" if graded != "stroll" else "climb"
    offers = post("tune", drawing=drawing, grade=wanted)["offers"]
    assert offers
    for offer in offers:
        made = offer["drawing"]
        assert offer["text"] and made != drawing and made["grade"] == wanted
        assert {key for key in made if made[key] != drawing[key]} <= {"cages", "givens", "grade"}
        text = post("write", drawing=made)["text"]
        document = parse_document(Path("written"), text)
        entry = read_puzzle(document, (), document.data, allow_uncaged=False).entry
        assert entry is not None and str(only_answer(entry.puzzle)) == "".join(answer)
        found = post("study", stamp=2, drawing=made)
        assert (found["grade"], round(found["score"], 1)) == (wanted, offer["score"])


def test_what_has_no_path_has_none_near_it_and_no_other_grade_is_known(drawn: Drawn, post: Post) -> None:
    drawing = drawn()["drawing"]
    low = {**drawing, "cages": [{**cage, "sum": 8} if cage["sum"] == 9 else cage for cage in drawing["cages"]]}
    assert post("tune", drawing=low, grade="summit") == {"offers": []}
    high = {**drawing, "cages": [{**cage, "sum": 99} for cage in drawing["cages"]]}
    assert post("tune", drawing=high, grade="summit") == {"offers": []}
    post("tune", 400, drawing=drawing, grade="impossible")
    assert post("stop-tune", id="lamp") == {}


def test_the_search_for_another_grade_is_stopped(drawn: Drawn, post: Post) -> None:
    """One that takes much longer than it is let: what it is asked of is a nine by nine made a summit."""
    drawing = drawn("loft")["drawing"]
    told: list[Any] = []
    asking = threading.Thread(target=lambda: told.append(post("tune", 409, drawing=drawing, grade="summit")))
    asking.start()
    while asking.is_alive():        # it may not have begun yet
        asking.join(0.5)
        post("stop-tune", id="loft")
    assert told == [{"error": "superseded"}]


def test_what_is_written_for_copying_is_read_again(drawn: Drawn, post: Post) -> None:
    drawing = drawn("loft")["drawing"]
    assert post("read", text=post("write", drawing=drawing)["text"]) == {"drawing": drawing, "faults": []}
    said = post("read", text="aabb\naabb\nccdd\nccdd\nz 3")
    assert said["faults"][0] | {"message": ""} == {"line": 5, "column": 1, "message": "", "hint": ""}
    assert post("read", text="a poem")["drawing"] is None


@pytest.mark.parametrize("options", [[], ["--read-only"]])
def test_the_address_that_is_printed_has_a_token_that_is_granted(book: Path, options: list[str]) -> None:
    """As the command itself, to another client; for reading only, it has none."""
    command = [sys.executable, "-m", "cagework.typeset", "desk", str(book), "--no-cache", *options]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as running:
        assert running.stdout is not None
        try:
            at = urlsplit(running.stdout.readline().split()[0])
            token = parse_qs(at.query).get("token", [""])[0]
            assert bool(token) is not bool(options)
            link = http.client.HTTPConnection(at.netloc, timeout=600)
            link.request("POST", "/do", '{"do": "write", "drawing": {"size": 4}}', {
                "Content-Type": "application/json", "Origin": f"http://{at.netloc}", "X-Desk-Token": token})
            answer = link.getresponse()
            assert answer.status == (403 if options else 200), answer.read()
            link.close()
        finally:
            running.terminate()
            assert running.wait(600) == 0


def test_it_ends_without_a_word_while_a_study_is_under_way(book: Path) -> None:
    """Ctrl-C, while it works at a large grid that somebody asked about."""
    puzzle = compose(7, Recipe(size=16), lambda _: Verdict(Outcome.SOUND, None, None, 0)).puzzle
    drawing = drawing_json(Drawing(16, cages_in_order(puzzle.cages), id="large"))
    command = [sys.executable, "-m", "cagework.typeset", "desk", str(book), "--no-cache"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as running:
        assert running.stdout is not None
        at = urlsplit(running.stdout.readline().split()[0])
        link = http.client.HTTPConnection(at.netloc, timeout=600)
        link.request("POST", "/do", json.dumps({"do": "study", "stamp": 1, "drawing": drawing}), {
            "Content-Type": "application/json", "Origin": f"http://{at.netloc}",
            "X-Desk-Token": parse_qs(at.query)["token"][0]})
        time.sleep(2)       # it begins
        running.send_signal(signal.SIGINT)
        assert (running.communicate(timeout=600)[1], running.returncode) == ("", 0)
        link.close()
