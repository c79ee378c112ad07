"""The desk's server: what it tells, whom it answers, and what it never gives."""

from __future__ import annotations

import asyncio
import http.client
import io
import json
import re
import socket
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit
from xml.etree import ElementTree

import numpy as np
import pytest
import resvg_py
import yaml
from PIL import Image
from starlette.testclient import TestClient

from cagework.solver.editing.compose_crossing import CrossingRecipe, compose_crossing
from cagework.solver.reasoning.grade import LIMITS, Grade
from cagework.typeset.commands.door import Exit
from cagework.typeset.desk.feed import Feed
from cagework.typeset.desk.galley import Compositor
from cagework.typeset.desk.server import application, bound
from cagework.typeset.desk.views import score_says
from cagework.typeset.manual.topics import topics

Edit = Callable[[str, str, str], None]


@pytest.fixture
def client(compositor: Compositor) -> Iterator[TestClient]:
    """The application alone, its feed not started: a test refreshes as it needs."""
    yield TestClient(application(compositor, Feed(compositor)), base_url="http://127.0.0.1")


@pytest.fixture(scope="module")
def still(standing: Compositor) -> TestClient:
    """The same, for all tests that leave the book as it is."""
    return TestClient(application(standing, Feed(standing)), base_url="http://127.0.0.1")


def test_the_state_says_what_check_finds(still: TestClient) -> None:
    said = still.get("/state.json").json()
    assert (said["title"], said["fresh"], said["faults"]) == ("Four Doors", True, [])
    assert [row["id"] for row in said["puzzles"]] == ["fork", "hall", "lamp", "loft"]
    assert {row["state"] for row in said["puzzles"]} == {"sound"}
    assert {row["number"] for row in said["puzzles"]} == {1, 2, 3, 4}
    assert all(row["grade"] in list(Grade) and row["hardest"] and row["steps"] for row in said["puzzles"])
    assert (said["sheet"]["width"], said["sheet"]["height"]) == (148, 210)
    for row in said["puzzles"]:
        assert f"puzzle {row['number']}, {row['title']}" in said["pages"][row["page"] - 1]


@pytest.mark.parametrize(("language", "told"), [("en-GB", "en-GB"), ("de", "de"), ("qaa", "en")])
def test_the_score_is_explained_in_the_books_language(language: str, told: str) -> None:
    said = score_says(language)
    assert said["language"] == told
    assert re.findall(r"\d+", said["text"]) == [f"{limit:g}" for limit, _ in LIMITS]
    assert all(grade.value in said["text"] for grade in Grade)


def test_pages_are_had_by_digest_and_only_changed_ones_change(
    client: TestClient, compositor: Compositor, edit: Edit,
) -> None:
    said = client.get("/state.json").json()
    query = ",".join(str(n) for n in range(1, len(said["pages"]) + 1))
    before = client.get(f"/digests.json?pages={query}").json()
    assert len(before) == len(said["pages"])
    lamp = next(row for row in said["puzzles"] if row["id"] == "lamp")
    page = client.get(f"/pages/{lamp['page']}/{before[str(lamp['page'])]}.svg")
    assert page.headers["content-type"].startswith("image/svg+xml") and ">Page" in page.text
    edit("puzzles/lamp.yaml", "size: 4", "size: 4\nnote: Mind the step.")
    compositor.refresh()
    after = client.get(f"/digests.json?pages={query}").json()
    assert [n for n in before if before[n] != after[n]] == [str(lamp["page"])]
    assert client.get(f"/pages/{lamp['page']}/{before[str(lamp['page'])]}.svg").status_code == 404


def test_crossing_sums_are_shown_by_rows_and_columns(
    client: TestClient, compositor: Compositor, book: Path, crossing_part: Callable[..., dict[str, Any]],
) -> None:
    """Their size and runs in the list, and a picture of a step, which is as wide and high as they are."""
    puzzle = compose_crossing(1, CrossingRecipe(4, 7)).puzzle
    part = yaml.safe_dump(crossing_part(puzzle, "lamp", title="Lamp"))
    (book.parent / "puzzles" / "lamp.yaml").write_text(part, encoding="utf-8")
    compositor.refresh()
    row = next(row for row in client.get("/state.json").json()["puzzles"] if row["id"] == "lamp")
    assert (row["state"], row["size"], row["cages"], row["cage"]) == ("sound", "4 × 7", len(puzzle.cages), "run")
    picture = ElementTree.fromstring(client.get("/puzzles/lamp/steps/0.svg").text)
    _, _, wide, high = (float(part) for part in picture.attrib["viewBox"].split())
    assert 7 / 4 > wide / high > 7.5 / 6, "a column and a row more, and white round all"


def test_a_path_is_told_step_by_step_with_a_picture_each(still: TestClient, book: Path, run: Any) -> None:
    told = still.get("/puzzles/lamp/puzzle.json").json()
    steps = json.loads(run("explain", "--json", book, "lamp").stdout)["steps"]
    assert [step["text"] for step in told["steps"]] == [step["text"] for step in steps]
    assert all(step["proved"] for step in told["steps"]) and told["solved"]
    pictures = [still.get(f"/puzzles/lamp/steps/{n}.svg").text for n in range(len(steps) + 1)]
    assert len(set(pictures)) == len(pictures)
    assert still.get(f"/puzzles/lamp/steps/{len(steps) + 1}.svg").status_code == 404
    assert "Row 1: 2 1 4 3" in still.get("/puzzles/lamp/answer.svg").text


def test_the_first_step_is_shown_with_all_that_may_still_stand_in_each_cell(still: TestClient) -> None:
    """Nothing is known yet: four digits in each of 16 cells, the six sums, and the numbers of rows and columns."""
    labels = re.findall('aria-label="([^"]*)"', still.get("/puzzles/lamp/steps/0.svg").text)
    figures = "".join("".join(labels).split())
    cages = still.get("/puzzles/lamp/drawing.json").json()["drawing"]["cages"]
    assert len(figures) == 4 * 16 + sum(len(str(cage["sum"])) for cage in cages) + 2 * 4, labels


def test_a_picture_of_a_step_has_its_grid_in_the_middle(still: TestClient) -> None:
    """Four cells that a hand could write in, and as little room round them on one side as on the other."""
    picture = still.get("/puzzles/lamp/steps/0.svg").text
    image = np.asarray(Image.open(io.BytesIO(bytes(
        resvg_py.svg_to_bytes(svg_string=picture, background="white", dpi=254)))).convert("L"))
    ink = np.argwhere(image < 128)
    for axis in (0, 1):
        before, after = ink[:, axis].min() / 10, (image.shape[axis] - 1 - ink[:, axis].max()) / 10    # mm
        assert before == pytest.approx(after, abs=0.3) and 0 < before < 5
        assert 40 < image.shape[axis] / 10 - before - after < 80


def test_an_unsound_puzzle_has_its_cells_and_repairs(
    client: TestClient, compositor: Compositor, edit: Edit, without_sums: tuple[str, str, str],
) -> None:
    edit(*without_sums)
    compositor.refresh()
    row = next(row for row in client.get("/state.json").json()["puzzles"] if row["id"] == "lamp")
    assert row["state"] == "two answers" and "differ" in row["why"]
    found = client.get("/puzzles/lamp/why.json").json()
    assert found["differs"] and found["repairs"] and set(found["region"]) <= set(found["differs"])
    picture = client.get("/puzzles/lamp/why.svg").text
    assert picture.count('aria-label="') == 4 + 4, "the sums that are left, and two digits in each of four cells"
    assert client.get("/puzzles/fork/why.json").status_code == 404
    assert client.get("/puzzles/lamp/steps/0.svg").status_code == 404


def test_a_grade_that_is_not_earned_is_a_state(client: TestClient, compositor: Compositor, edit: Edit) -> None:
    edit("puzzles/lamp.yaml", "title: Lamp", "title: Lamp\ngrade: summit")
    compositor.refresh()
    row = next(row for row in client.get("/state.json").json()["puzzles"] if row["id"] == "lamp")
    assert (row["state"], row["wanted"]) == ("under grade", "summit")
    assert (row["faults"][0]["file"], row["faults"][0]["line"]) == ("puzzles/lamp.yaml", 3)


def test_faults_are_located(client: TestClient, compositor: Compositor, edit: Edit) -> None:
    edit("book.yaml", "  - title: Stairs", "  - titel: Stairs")
    compositor.refresh()
    said = client.get("/state.json").json()
    assert not said["fresh"] and len(said["pages"]) > 8
    fault = said["faults"][0]
    assert (fault["file"], fault["line"], fault["column"]) == ("book.yaml", 8, 5)


@pytest.mark.parametrize("method", ["HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "TRACE"])
def test_only_get_is_answered(still: TestClient, method: str) -> None:
    for path in ("/", "/state.json", "/events", "/nowhere"):
        assert still.request(method, path).status_code == 405


@pytest.mark.parametrize("host", ["puzzles.example", "127.0.0.1.puzzles.example", "127.0.0.2", "0.0.0.0", ""])
def test_another_name_for_this_server_is_refused(still: TestClient, host: str) -> None:
    """DNS rebinding: a page elsewhere whose name has been pointed here."""
    assert still.get("/state.json", headers={"Host": host}).status_code == 400


@pytest.mark.parametrize("host", ["localhost:8080", "127.0.0.1:9", "[::1]:80", "LOCALHOST"])
def test_the_names_of_loopback_are_answered(still: TestClient, host: str) -> None:
    assert still.get("/state.json", headers={"Host": host}).status_code == 200


def test_every_answer_forbids_scripts_and_styles_from_elsewhere(still: TestClient) -> None:
    for path in ("/", "/static/desk.js", "/state.json", "/nowhere", "/puzzles/lamp/answer.svg"):
        policy = still.get(path).headers["content-security-policy"]
        assert "default-src 'none'" in policy and "script-src 'self'" in policy
        assert "http" not in policy and "unsafe" not in policy and "*" not in policy


def test_the_page_names_nothing_from_elsewhere(root: Path) -> None:
    for file in (root / "typeset" / "desk" / "static").iterdir():
        text = file.read_text(encoding="utf-8").replace("http://www.w3.org/2000/svg", "")
        assert "http:" not in text and "https:" not in text and "@import" not in text and "=\"//" not in text, file


def test_the_manual_is_there_with_all_it_links_to(client: TestClient) -> None:
    """Each page says what language it is in, and has nothing that the policy would not let it show."""
    seen, asked = set[str](), ["/manual/index.html"]
    while asked:
        at = asked.pop()
        answer = client.get(at)
        assert answer.status_code == 200, at
        seen.add(at)
        if at.endswith(".html"):
            assert '<html lang="en">' in answer.text and not re.search("style=|<script", answer.text)
            links = re.findall(r'(?:href|src)="(/[^"#]*)', answer.text)
            places = re.findall(r'href="#([^"]+)"', answer.text)
            assert all(f'id="{place}"' in answer.text for place in places)
            asked += {*links} - seen - {*asked}
    assert seen >= {f"/manual/{name}.html" for name in topics()}
    assert client.get("/manual/nowhere.html").status_code == 404
    assert client.get("/manual/pictures/nowhere.png").status_code == 404


PATHS = ("/static/../server.py", "/manual/..%2ftopics.html", "/manual/pictures/..%2findex.md",
         "/manual/pictures/../topics.py",
         "/static/%2e%2e/server.py", "/static/..%2fserver.py", "/static//etc/hostname",
         "/../book.yaml", "/%2e%2e/%2e%2e/secret.txt", "/book.yaml", "/puzzles/lamp.yaml", "/static/__init__.py",
         "/puzzles/..%2f..%2fsecret/puzzle.json", "/puzzles/%2e%2e/answer.svg", "/pages/1/..%2f..%2fsecret.svg",
         "/pages/-1/x.svg", "/pages/1/x.svg", "/static/", "/static", "//etc/passwd", "/static/desk.css%00.yaml")


def test_no_path_leads_to_a_file(address: str, book: Path) -> None:
    """Sent as they are: a client library would tidy them first."""
    (book.parent / "secret.txt").write_text("a secret", encoding="utf-8")
    at = urlsplit(address)
    for path in PATHS:
        link = http.client.HTTPConnection(at.hostname or "", at.port or 0, timeout=600)
        link.putrequest("GET", path, skip_accept_encoding=True)
        link.endheaders()
        answer = link.getresponse()
        body = answer.read()
        link.close()
        assert answer.status in (400, 404), path
        assert b"secret" not in body.replace(path.encode(), b"") and len(body) < 60, path


@pytest.mark.parametrize("query", ["", "?pages=", "?pages=x", "?pages=1,%2e%2e", "?pages=-1",
                                   "?pages=" + "1," * 400 + "1"])
def test_a_question_that_makes_no_sense_is_refused(still: TestClient, query: str) -> None:
    assert still.get(f"/digests.json{query}").status_code == 400


def test_pages_that_are_not_there_have_no_digest(still: TestClient) -> None:
    assert still.get("/digests.json?pages=0,9999,99999999999999999999").json() == {}


def test_a_save_is_told_to_a_listening_page(address: str, edit: Edit) -> None:
    with urllib.request.urlopen(f"{address}events", timeout=600) as events:
        def heard() -> tuple[str, dict[str, object]]:
            lines = [events.readline().decode().strip() for _ in range(3)]
            assert lines[0].startswith("event: ") and lines[1].startswith("data: ") and lines[2] == ""
            return lines[0][7:], json.loads(lines[1][6:])

        assert heard()[0] == "state"
        edit("puzzles/lamp.yaml", "title: Lamp", "title: Lantern")
        edit("puzzles/fork.yaml", "title: Fork", "title: Fork\ngivens: {r1c1: 1}")
        while (told := heard()) != ("progress", {"done": 1, "of": 1}):
            assert told[0] == "state" or told[1] == {"done": 0, "of": 1}
        assert heard()[0] == "state"
    with urllib.request.urlopen(f"{address}state.json", timeout=600) as answer:
        assert "Lantern" in answer.read().decode()


def test_it_listens_on_loopback_alone(address: str) -> None:
    at = urlsplit(address)
    assert at.hostname == "127.0.0.1"
    own = {info[4][0] for info in socket.getaddrinfo(socket.gethostname(), None, socket.AF_INET)} - {"127.0.0.1"}
    for name in own:
        if not str(name).startswith("127."):
            with pytest.raises(OSError), socket.create_connection((str(name), at.port or 0), timeout=10):
                pass


def test_a_port_that_is_taken_and_a_manifest_that_is_not_there_are_said(book: Path, run: Any) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        for arguments, status, said in (
            (["desk", book, "--port", other.getsockname()[1]], Exit.USAGE, "cannot serve at port"),
            (["desk", book, "--port", 70000], Exit.USAGE, "not a port"),
            (["desk", book.with_name("none.yaml")], Exit.UNREADABLE, "no such file"),
        ):
            done = run(*arguments)
            assert (done.returncode, said in done.stderr) == (status, True), done.stderr


def test_small_answers_are_not_held_back() -> None:
    """RFC 1122, 4.2.3.4: Nagle's algorithm must be off where an answer of several small parts is waited for."""
    async def ask() -> int:
        told: asyncio.Queue[int] = asyncio.Queue()

        def accept(_reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
            told.put_nowait(writer.get_extra_info("socket").getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY))
            writer.close()

        at = bound(0)
        async with await asyncio.start_server(accept, sock=at):
            _, writer = await asyncio.open_connection(*at.getsockname())
            off = await told.get()
            writer.close()
            await writer.wait_closed()
        return off

    assert asyncio.run(ask())


@pytest.mark.parametrize("path", ["/pages/{}/0.svg", "/puzzles/lamp/steps/{}.svg"])
@pytest.mark.parametrize("number", ["9" * 4301, "-1", "1.5", "\u0664", ""])
def test_a_number_that_is_none_of_ours_is_not_found(still: TestClient, path: str, number: str) -> None:
    assert still.get(path.format(number)).status_code == 404
