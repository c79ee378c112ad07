"""What the page posts: whom the desk answers, what it says of a drawing, and what a save leaves of the files."""

from __future__ import annotations

import hashlib
import http.client
import os
import signal
import stat
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

from cagework.solver.model import Answer, Puzzle
from cagework.typeset.desk.feed import Feed
from cagework.typeset.desk.galley import Compositor
from cagework.typeset.desk.server import application
from cagework.typeset.desk.worker import JobFailed, Superseded, Worker
from cagework.typeset.manifest.document import parse_document
from cagework.typeset.manifest.load import load_book
from cagework.typeset.manifest.puzzle import read_puzzle

TOKEN = "a-token-of-this-run"
ORIGIN = {"Origin": "http://127.0.0.1", "X-Desk-Token": TOKEN}
Post = Callable[..., Any]


@pytest.fixture
def client(compositor: Compositor) -> Iterator[TestClient]:
    """The application alone, its feed not started."""
    app = application(compositor, Feed(compositor), token=TOKEN)
    yield TestClient(app, base_url="http://127.0.0.1")
    for route in app.routes:
        close = getattr(getattr(getattr(route, "endpoint", None), "__self__", None), "close", None)
        if close:
            close()


@pytest.fixture
def post(client: TestClient) -> Post:
    """Post as the page does; the status that is expected, 200 if left out."""
    def posted(do: str, status: int = 200, **more: Any) -> Any:
        answer = client.post("/do", json={"do": do, **more}, headers=ORIGIN)
        assert answer.status_code == status, answer.text
        assert "default-src 'none'" in answer.headers["content-security-policy"]
        return answer.json()
    return posted


def drawn(client: TestClient, name: str = "lamp") -> dict[str, Any]:
    """A puzzle as the page gets it."""
    found: dict[str, Any] = client.get(f"/puzzles/{name}/drawing.json").json()
    return found


# Whom it answers.

@pytest.mark.parametrize(("headers", "status"), [
    ({"Origin": "http://127.0.0.1"}, 403), ({"X-Desk-Token": TOKEN}, 403),
    (ORIGIN | {"X-Desk-Token": "another"}, 403), (ORIGIN | {"X-Desk-Token": TOKEN[:-1]}, 403),
    (ORIGIN | {"Origin": "http://puzzles.example"}, 403), (ORIGIN | {"Origin": "null"}, 403),
    (ORIGIN | {"Origin": "https://127.0.0.1"}, 403), (ORIGIN | {"Origin": "http://127.0.0.1:81"}, 403),
    (ORIGIN | {"Host": "puzzles.example", "Origin": "http://puzzles.example"}, 403),
    (ORIGIN | {"Content-Type": "text/plain"}, 415), (ORIGIN | {"Content-Type": "multipart/form-data"}, 415),
    (ORIGIN | {"Content-Type": "application/x-www-form-urlencoded"}, 415),
    (ORIGIN | {"Content-Length": "99999999"}, 413),
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

    answer = client.post("/do", content=endless(), headers=ORIGIN | {"Content-Type": "application/json"})
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
])
def test_a_body_of_another_type_is_refused(client: TestClient, body: bytes) -> None:
    answer = client.post("/do", content=body, headers=ORIGIN | {"Content-Type": "application/json"})
    assert answer.status_code == 400 and answer.json()["error"]


def test_read_only_lets_nothing_be_asked(compositor: Compositor, book: Path) -> None:
    client = TestClient(application(compositor, Feed(compositor)), base_url="http://127.0.0.1")
    before = {file: file.read_bytes() for file in book.parent.rglob("*.yaml")}
    for token in ("", TOKEN, "None"):
        answer = client.post("/do", json={"do": "save"}, headers=ORIGIN | {"X-Desk-Token": token})
        assert answer.status_code == 403 and "--read-only" in answer.json()["error"]
    assert client.get("/state.json").json()["read_only"] is True
    assert {file: file.read_bytes() for file in book.parent.rglob("*.yaml")} == before


# What it says of a drawing.

def test_a_puzzle_is_drawn_as_its_file_has_it(client: TestClient, book: Path) -> None:
    found = drawn(client)
    assert (found["file"], found["line"], found["uncaged"]) == ("puzzles/lamp.yaml", 1, False)
    assert found["digest"] == hashlib.sha256((book.parent / "puzzles" / "lamp.yaml").read_bytes()).hexdigest()
    drawing = found["drawing"]
    assert (drawing["id"], drawing["title"], drawing["size"], drawing["regions"]) == ("lamp", "Lamp", 4, None)
    assert {"cells": ["r1c1", "r1c2", "r2c2"], "sum": 7} in drawing["cages"] and len(drawing["cages"]) == 6
    assert client.get("/puzzles/nobody/drawing.json").status_code == 404


def test_a_sound_drawing_is_judged_as_cp_sat_has_it(
    client: TestClient, post: Post, only_answer: Callable[[Puzzle], Answer],
) -> None:
    for name in ("lamp", "hall", "loft"):
        drawing = drawn(client, name)["drawing"]
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


def test_what_is_wrong_or_missing_is_said_by_cell(client: TestClient, post: Post) -> None:
    drawing = drawn(client)["drawing"]
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
    number = next(n for n, cage in enumerate(high["cages"]) if cage["sum"] == 30)
    assert said["known"]["impossible"] == [
        {"cage": number, "message": "2 different digits make 3 to 7, not 30"}]
    assert (said["state"], said["faults"]) == ("faulty", [{
        "message": "the cage at r3c2 cannot add to 30: 2 different digits make 3 to 7", "hint": "",
        "cells": ["r3c2", "r3c3"]}])
    empty = post("judge", stamp=5, drawing={"size": 9})
    assert empty["state"] == "unfinished" and len(empty["known"]["uncaged"]) == 81


def test_the_setters_answer_is_held_against_the_only_one(client: TestClient, post: Post) -> None:
    drawing = drawn(client)["drawing"]
    answer = post("judge", stamp=1, drawing=drawing)["answer"]
    assert post("judge", stamp=2, drawing={**drawing, "answer": answer})["setter"] == []
    slip = [answer[0].translate({ord(answer[0][0]): answer[0][1], ord(answer[0][1]): answer[0][0]}), *answer[1:]]
    assert post("judge", stamp=3, drawing={**drawing, "answer": slip})["setter"] == ["r1c1", "r1c2"]


def test_a_study_offers_whole_drawings_that_are_sound(client: TestClient, post: Post) -> None:
    drawing = drawn(client)["drawing"]
    path = post("study", stamp=1, drawing=drawing)
    assert path["path"] == "whole" and path["grade"] and path["steps"] and path["steps"][0]["text"]
    two = {**drawing, "cages": [{**cage, "sum": None} if cage["sum"] == 6 else cage for cage in drawing["cages"]]}
    found = post("study", stamp=2, drawing=two)
    assert found["lines"] and len(found["region"]) == 4 and found["repairs"]
    low = {**drawing, "cages": [{**cage, "sum": 8} if cage["sum"] == 9 else cage for cage in drawing["cages"]]}
    mended = post("study", stamp=3, drawing=low)
    assert mended["conflict"] and any("sums alone" in line for line in mended["lines"]) and mended["repairs"]
    for number, repair in enumerate((*found["repairs"], *mended["repairs"])):
        assert post("judge", stamp=number, drawing=repair["drawing"])["state"] == "sound", repair["text"]


def test_what_is_written_for_copying_is_read_again(client: TestClient, post: Post) -> None:
    drawing = drawn(client, "loft")["drawing"]
    assert post("read", text=post("write", drawing=drawing)["text"]) == {"drawing": drawing, "faults": []}
    said = post("read", text="aabb\naabb\nccdd\nccdd\nz 3")
    assert said["faults"][0] | {"message": ""} == {"line": 5, "column": 1, "message": "", "hint": ""}
    assert post("read", text="a poem")["drawing"] is None


# What a save leaves.

def test_a_save_changes_the_keys_of_its_puzzle_alone(client: TestClient, post: Post, book: Path) -> None:
    file = book.parent / "puzzles" / "lamp.yaml"
    file.write_bytes(b"# kept\r\n" + file.read_bytes().replace(b"\n", b"\r\n"))
    file.chmod(0o640)
    others = {one: one.read_bytes() for one in book.parent.rglob("*.yaml") if one != file}
    before = file.read_bytes()
    found = drawn(client)
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


def test_a_file_that_was_changed_meanwhile_is_not_written(client: TestClient, post: Post, book: Path) -> None:
    file = book.parent / "puzzles" / "lamp.yaml"
    found = drawn(client)
    file.write_bytes(file.read_bytes() + b"# somebody else\n")
    before = file.read_bytes()
    for do in ("difference", "save"):
        said = post(do, 409, id="lamp", drawing={**found["drawing"], "title": "Mine"}, digest=found["digest"])
        assert "changed since" in said["error"] and file.read_bytes() == before
    post("save", 409, id="lamp", drawing=found["drawing"], digest=None)
    post("save", 404, id="nobody", drawing=found["drawing"], digest=found["digest"])
    post("save", 400, id="lamp", drawing={**found["drawing"], "id": "other"}, digest=drawn(client)["digest"])
    assert file.read_bytes() == before


def test_a_link_is_followed_and_stays_one(client: TestClient, post: Post, book: Path) -> None:
    file = book.parent / "puzzles" / "lamp.yaml"
    real = book.parent / "lamp.real"
    file.rename(real)
    file.symlink_to(real)
    try:
        found = drawn(client)
        post("save", id="lamp", drawing={**found["drawing"], "title": "Lantern"}, digest=found["digest"])
        assert file.is_symlink() and "title: Lantern\n" in real.read_text(encoding="utf-8")
    finally:
        file.unlink()
        real.unlink()


def test_what_cannot_be_spliced_is_refused_with_a_sentence(
    client: TestClient, post: Post, compositor: Compositor, book: Path,
) -> None:
    file = book.parent / "puzzles" / "lamp.yaml"
    text = file.read_text(encoding="utf-8").replace("\n", "\n  ").rstrip(" ")
    file.write_text(f"puzzles:\n- &lamp\n  {text}- <<: *lamp\n  id: lamp2\n  title: Two\n", encoding="utf-8")
    compositor.refresh()
    before = file.read_bytes()
    for name, why in (("lamp2", "<<"), ("lamp", "something else")):
        found = drawn(client, name)
        drawing = {**found["drawing"], "note": "New."}
        assert why in post("save", 400, id=name, drawing=drawing, digest=found["digest"])["error"]
    assert file.read_bytes() == before


def test_a_new_puzzle_gets_a_file_that_the_book_reads(client: TestClient, post: Post, book: Path) -> None:
    drawing = {**drawn(client)["drawing"], "id": "porch", "title": "Porch"}
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


def test_a_book_without_a_pattern_is_given_one(client: TestClient, post: Post, book: Path) -> None:
    text = book.read_text(encoding="utf-8")
    four = "[puzzles/l*.yaml, puzzles/hall.yaml, 'puzzles/fork.yaml'] # four"
    book.write_text(text.replace("puzzles/*.yaml", four), encoding="utf-8")
    drawing = {**drawn(client)["drawing"], "id": "porch", "title": "Porch"}
    try:
        post("save", id=None, drawing=drawing, digest=None)
        assert "[puzzles/l*.yaml, puzzles/hall.yaml, 'puzzles/fork.yaml', porch.yaml] # four" in book.read_text(
            encoding="utf-8")
        assert "porch" in {puzzle.id for puzzle in load_book(book).puzzles}
    finally:
        (book.parent / "porch.yaml").unlink(missing_ok=True)


def test_what_cannot_be_written_is_said(client: TestClient, post: Post, book: Path) -> None:
    """A folder stands where the file would wait for its turn."""
    file, waits = book.parent / "puzzles" / "lamp.yaml", book.parent / "puzzles" / ".lamp.yaml.part"
    before, found = file.read_bytes(), drawn(client)
    waits.mkdir()
    try:
        said = post("save", 403, id="lamp", drawing={**found["drawing"], "title": "X"}, digest=found["digest"])
        assert "cannot write lamp.yaml" in said["error"] and file.read_bytes() == before
    finally:
        waits.rmdir()


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


# The process that works: jobs of the standard library, which any process can find.

def test_a_worker_is_another_process_and_outlives_a_kill() -> None:
    worker = Worker(impatient=False, seconds=60)
    first = worker.do("a", os.getpid)
    assert first != os.getpid() and worker.do("a", os.getpid) == first
    with pytest.raises(JobFailed, match="no number"):
        worker.do("a", int, "no number")
    os.kill(first, signal.SIGKILL)
    second = worker.do("a", os.getpid)
    assert second not in (first, os.getpid())
    worker.close()


@pytest.mark.parametrize("impatient", [True, False])
def test_an_older_job_gives_way_to_a_newer(impatient: bool) -> None:
    """At once where the worker is impatient; else those that wait, and the one at work ends."""
    worker = Worker(impatient=impatient, seconds=600)
    worker.do("a", os.getpid)
    told: list[object] = []

    def ask(seconds: float) -> None:
        try:
            told.append(worker.do("a", time.sleep, seconds))
        except Superseded:
            told.append("superseded")

    lengths = (600.0, 0.0) if impatient else (1.0, 600.0, 0.0)
    threads = []
    for seconds in lengths:
        threads.append(threading.Thread(target=ask, args=(seconds,)))
        threads[-1].start()
        time.sleep(0.3)
    for thread in threads:
        thread.join(120)
        assert not thread.is_alive()
    assert told.count("superseded") == 1 and len(told) == len(lengths)
    worker.close()


def test_a_job_that_takes_too_long_is_given_up() -> None:
    worker = Worker(impatient=False, seconds=0.2)
    with pytest.raises(JobFailed, match="too long"):
        worker.do("a", time.sleep, 600.0)
    worker.close()
