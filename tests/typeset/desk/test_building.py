"""The book built from the desk: whom it obeys, what it says, which files it gives, and how it is stopped."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from cagework.typeset.desk.building import Builder
from cagework.typeset.desk.feed import Feed
from cagework.typeset.desk.galley import Compositor
from cagework.typeset.desk.server import application
from cagework.typeset.host.disk import digest
from cagework.typeset.host.files import recorded

Edit = Callable[[str, str, str], None]
TOKEN = "a-token-of-this-run"
OWN = {"Origin": "http://127.0.0.1", "X-Desk-Token": TOKEN}


@pytest.fixture
def out(tmp_path: Path) -> Path:
    """Where the files go."""
    return tmp_path / "out"


@pytest.fixture
def client(compositor: Compositor, out: Path) -> Iterator[TestClient]:
    """The page, with a builder of its own."""
    app = application(compositor, Feed(compositor), token=TOKEN,
                      builder=Builder(compositor.manifest, out, ("--no-cache",)))
    yield TestClient(app, base_url="http://127.0.0.1", headers=OWN)
    app.state.pencil.close()


def ended(client: TestClient) -> dict[str, Any]:
    """How the build went, once it has ended."""
    while (said := client.get("/build.json").json())["state"] in ("running", "stopping"):
        time.sleep(0.05)
    return dict(said)


def do(client: TestClient, what: str, status: int = 200, **more: Any) -> Any:
    answer = client.post("/do", json={"do": what, **more})
    assert answer.status_code == status, answer.text
    return answer.json()


def test_what_it_builds_is_what_the_command_builds(
    client: TestClient, out: Path, book: Path, tmp_path: Path, run: Any,
) -> None:
    assert client.get("/build.json").json()["state"] == "none"
    said = do(client, "build", press=True, booklet=True, sheet="a3")
    assert said["state"] == "running" and said["options"] == ["--press", "--booklet", "--sheet", "a3"]
    assert "under way" in do(client, "build", 409)["error"], "one at a time"
    said = ended(client)
    assert said["state"] == "built" and said["done"] == said["of"] == 4 + 3 and said["faults"] == []
    run("build", book, "--out", tmp_path / "own", "--press", "--booklet", "--sheet", "a3").check_returncode()
    own = {file.relative_to(tmp_path / "own").as_posix(): file.read_bytes()
           for file in (tmp_path / "own").rglob("*.*")}
    assert set(said["files"]) == set(own) and "book-press.pdf" in own
    kinds = {".pdf": "application/pdf", ".svg": "image/svg+xml"}
    for name in said["files"]:
        answer = client.get(f"/built/1/{name}")
        assert answer.content == (out / name).read_bytes()
        assert answer.headers["content-type"].startswith(kinds[Path(name).suffix])
        assert "default-src 'none'" in answer.headers["content-security-policy"]
    assert (out / "puzzles" / "lamp.svg").read_bytes() == own["puzzles/lamp.svg"]


def test_only_what_it_wrote_is_given(client: TestClient, out: Path, book: Path) -> None:
    (out / "puzzles").mkdir(parents=True)
    (out / "mine.pdf").write_text("a secret", encoding="utf-8")
    assert client.get("/built/0/mine.pdf").status_code == 404
    do(client, "build")
    assert ended(client)["state"] == "built"
    for path in ("1/mine.pdf", "1/SHA256SUMS", "1/..%2f..%2fbook.yaml", "1/%2e%2e/mine.pdf", "0/book.pdf",
                 "2/book.pdf", f"1/{book}", f"1//{out}/mine.pdf", "1/", "x/book.pdf", "1/puzzles/../mine.pdf"):
        answer = client.get(f"/built/{path}")
        assert answer.status_code in (404, 400) and "secret" not in answer.text, path
    assert client.get("/built/1/book.pdf").status_code == 200
    (out / "book.pdf").write_bytes(b"%PDF another")
    assert client.get("/built/1/book.pdf").status_code == 404, "it is not what was written"
    (out / "puzzles" / "lamp.svg").unlink()
    (out / "puzzles" / "lamp.svg").symlink_to(out / "mine.pdf")
    assert client.get("/built/1/puzzles/lamp.svg").status_code == 404


def test_a_book_that_cannot_be_printed_is_refused_with_its_faults_where_they_lie(
    client: TestClient, compositor: Compositor, out: Path, edit: Edit, without_sums: tuple[str, str, str],
) -> None:
    edit(*without_sums)
    compositor.refresh()
    do(client, "build")
    said = ended(client)
    assert (said["state"], said["files"], out.exists()) == ("refused", [], False)
    (fault,) = [one for one in said["faults"] if one["severity"] == "error"]
    assert (fault["file"], fault["line"], fault["puzzle"]) == ("puzzles/lamp.yaml", 1, "lamp")
    assert "not sound" in fault["message"] and any("puzzles/lamp.yaml:1:1" in line for line in said["log"])
    edit("book.yaml", "sections:", "sections: [")
    do(client, "build")
    said = ended(client)
    assert said["state"] == "refused" and any("book.yaml" in line for line in said["log"])


def test_whom_it_does_not_obey(compositor: Compositor, client: TestClient, out: Path) -> None:
    reading = TestClient(application(compositor, Feed(compositor)), base_url="http://127.0.0.1")
    for what in ("build", "stop-build"):
        answer = reading.post("/do", json={"do": what}, headers=OWN)
        assert answer.status_code == 403 and "--read-only" in answer.json()["error"]
        for changed in ({"X-Desk-Token": "another"}, {"Origin": "http://puzzles.example"}):
            assert client.post("/do", json={"do": what}, headers=changed).status_code == 403
        assert client.get("/do").status_code == 405
    for more in ({"sheet": "a4; rm"}, {"out": "/etc"}, {"press": "yes"}, {"sheet": "--out"}, {"options": []}):
        do(client, "build", 400, **({"booklet": True} | more))
    assert reading.get("/build.json").json()["state"] == client.get("/build.json").json()["state"] == "none"
    assert not out.exists()


@pytest.mark.parametrize("early", [True, False])
def test_a_build_that_is_stopped_leaves_what_was_there(
    client: TestClient, compositor: Compositor, out: Path, early: bool, texts: dict[str, str],
) -> None:
    do(client, "build")
    assert ended(client)["state"] == "built"
    for _ in range(20):
        before = {file: file.read_bytes() for file in out.rglob("*") if file.is_file()}
        said = do(client, "build", press=True, booklet=True)
        while not early and said["state"] == "running" and said["done"] < 4 + 2:      # puzzles; pages set, drawn
            time.sleep(0.01)
            said = client.get("/build.json").json()
        do(client, "stop-build")
        if ended(client)["state"] == "stopped":
            break       # else this came too late
    assert client.get("/build.json").json()["state"] == "stopped"
    assert {file: file.read_bytes() for file in out.rglob("*") if file.is_file()} == before
    do(client, "stop-build")
    do(client, "build")
    assert ended(client)["state"] == "built", "another may begin"


@contextmanager
def desk_that_builds(book: Path, out: Path) -> Iterator[subprocess.Popen[str]]:
    """The command, as soon as it was asked to build."""
    command = [sys.executable, "-m", "cagework.typeset", "desk", book, "--no-cache", "--out", out]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as running:
        assert running.stdout is not None
        address, _, token = running.stdout.readline().split()[0].partition("/?token=")
        asked = urllib.request.Request(f"{address}/do", b'{"do": "build", "press": true}', {
            "Content-Type": "application/json", "Origin": address, "X-Desk-Token": token})
        urllib.request.urlopen(asked, timeout=600).read()
        yield running


def test_closing_the_desk_ends_the_build_and_leaves_nothing_half(book: Path, tmp_path: Path) -> None:
    with desk_that_builds(book, tmp_path / "out") as running:
        running.send_signal(signal.SIGTERM)
        assert running.wait(600) == 0
    out = tmp_path / "out"
    over(out)
    there = {file.relative_to(out).as_posix() for file in out.rglob("*") if file.is_file()} - {"SHA256SUMS"}
    assert there == set(recorded(out)), "nothing, or all of it where the book was built before the signal came"
    assert all(digest((out / name).read_bytes()) == stated for name, stated in recorded(out).items())


def test_every_page_hears_of_it(compositor: Compositor, out: Path) -> None:
    heard: list[dict[str, Any]] = []
    last = threading.Event()

    def hear(said: dict[str, Any]) -> None:
        heard.append(said)
        if said["state"] == "built":
            last.set()

    builder = Builder(compositor.manifest, out, ("--no-cache",))
    builder.listener = hear
    builder.start(())
    assert last.wait(600)
    builder.close()
    counts = [said["done"] for said in heard]
    assert counts == sorted(counts) and heard[0]["state"] == "running"
    assert {said["number"] for said in heard} == {1}


@pytest.mark.skipif(not Path("/proc/self/cmdline").exists(), reason="what runs is seen in /proc, on Linux alone")
def test_a_desk_that_is_killed_takes_its_build_with_it(book: Path, tmp_path: Path) -> None:
    """The build finds nobody to tell how far it is; before its files take their places it has to."""
    with desk_that_builds(book, tmp_path / "out") as running:
        under_way = builds(tmp_path / "out")
        for one in under_way:
            os.kill(int(one), signal.SIGSTOP)       # it goes on once the desk is no more
        running.kill()
        running.wait()
        assert under_way
        for one in under_way:
            os.kill(int(one), signal.SIGCONT)
    over(tmp_path / "out")
    assert not (tmp_path / "out").exists()


def over(out: Path) -> None:
    """Wait for the processes that build into a folder to end."""
    while builds(out):
        time.sleep(0.05)


def builds(out: Path) -> list[str]:
    """The processes that build into a folder."""
    found = []
    for one in Path("/proc").glob("[0-9]*"):
        try:
            words = (one / "cmdline").read_bytes().split(b"\0")
        except OSError:
            continue
        if b"build" in words and str(out).encode() in words:
            found.append(one.name)
    return found
