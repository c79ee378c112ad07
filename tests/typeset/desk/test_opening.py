"""Files of the book opened in the editor's own program: which, with what arguments, and what is refused."""

from __future__ import annotations

import json
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from cagework.typeset.commands.door import Exit
from cagework.typeset.desk.feed import Feed
from cagework.typeset.desk.galley import Compositor
from cagework.typeset.desk.opening import NoCommand, editor_of
from cagework.typeset.desk.server import application

TOKEN = "a-token-of-this-run"
OWN = {"Origin": "http://127.0.0.1", "X-Desk-Token": TOKEN}
Opened = Callable[[], list[str]]


@pytest.fixture
def program(tmp_path: Path) -> Path:
    """A program that writes down what it was called with, and ends as the file beside it says."""
    made = tmp_path / "an editor"
    made.write_text(
        f"#!{sys.executable}\nimport json, pathlib, sys, time\nhere = pathlib.Path(__file__)\n"
        "part = here.with_name('part')\npart.write_text(json.dumps(sys.argv[1:]))\n"
        "part.rename(here.with_name('called'))\n"
        "how = here.with_name('how')\nexec(how.read_text() if how.exists() else '')\n", encoding="utf-8")
    made.chmod(0o755)
    return made


@pytest.fixture
def opened(program: Path) -> Opened:
    """The arguments of the last call, which is forgotten."""
    def found() -> list[str]:
        file = program.with_name("called")
        while not file.exists():        # it is not waited for, where it takes its time
            time.sleep(0.01)
        said: list[str] = json.loads(file.read_text(encoding="utf-8"))
        file.unlink()
        return said
    return found


@pytest.fixture
def page(compositor: Compositor, program: Path) -> Iterator[TestClient]:
    """The page of a desk whose editor is the program."""
    app = application(compositor, Feed(compositor), token=TOKEN,
                      editor=editor_of(f"'{program}' -g {{file}}:{{line}} --at={{column}}"))
    yield TestClient(app, base_url="http://127.0.0.1", headers=OWN)
    app.state.pencil.close()


def test_a_puzzle_and_a_fault_are_opened_at_their_place(
    page: TestClient, post: Callable[..., Any], opened: Opened, compositor: Compositor, book: Path,
) -> None:
    book.write_bytes(book.read_bytes().replace(b"  - title: Stairs", b"  - titel: Stairs"))
    compositor.refresh()
    state = page.get("/state.json").json()
    assert state["editor"] == "an editor"
    row = next(row for row in state["puzzles"] if row["id"] == "lamp")
    for at in (row, state["faults"][0]):
        said = post("open", file=at["file"], line=at["line"], column=at["column"])
        assert said == {"opened": f"{at['file']}:{at['line']}", "editor": "an editor"}
        assert opened() == ["-g", f"{book.parent / at['file']}:{at['line']}", f"--at={at['column']}"]
    assert (state["faults"][0]["file"], state["faults"][0]["line"]) == ("book.yaml", 8)


def test_names_of_files_are_arguments_whatever_is_in_them(
    page: TestClient, post: Callable[..., Any], opened: Opened, compositor: Compositor, book: Path,
) -> None:
    """What a shell would take for commands, an option or a blank; what a template would for its own."""
    lamp = book.parent / "puzzles" / "lamp.yaml"
    for name in ("a; touch pwned #.yaml", "$(touch pwned) `touch pwned`.yaml", "-x '\" \\ .yaml",
                 "{line}{0}.yaml"):
        strange = lamp.with_name(name)
        lamp.rename(strange)
        try:
            compositor.refresh()
            post("open", file=f"puzzles/{name}", line=3)
            assert opened() == ["-g", f"{strange}:3", "--at=1"]
        finally:
            strange.rename(lamp)
    assert not any(folder.joinpath("pwned").exists() for folder in (Path(), book.parent, lamp.parent))


REFUSED = (
    ({"file": "/etc/passwd"}, 404), ({"file": "../book/book.yaml"}, 404), ({"file": "puzzles/../book.yaml"}, 404),
    ({"file": "secret.txt"}, 404), ({"file": "puzzles"}, 404), ({"file": ""}, 404), ({"file": "./book.yaml"}, 404),
    ({"line": 0}, 400), ({"line": "1; x"}, 400), ({"column": -1}, 400), ({"command": "x"}, 400),
    ({"file": None}, 400),
)


def test_no_other_file_and_nothing_else_is_run(post: Callable[..., Any], program: Path, book: Path) -> None:
    (book.parent / "secret.txt").write_text("a secret", encoding="utf-8")
    try:
        for asked, status in REFUSED:
            assert post("open", status, **({"file": "book.yaml"} | asked))["error"], asked
            assert not program.with_name("called").exists(), asked
    finally:
        (book.parent / "secret.txt").unlink()


def test_a_command_that_fails_is_said_with_its_words(
    post: Callable[..., Any], program: Path, monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr("cagework.typeset.desk.opening._PATIENCE", 600.0)       # on a busy machine it fails late
    program.with_name("how").write_text("print('no\\nscreen', file=sys.stderr); sys.exit(3)", encoding="utf-8")
    said = post("open", 500, file="book.yaml")["error"]
    assert said == "'an editor' failed with 3: no screen"
    program.unlink()
    assert "cannot run" in post("open", 500, file="book.yaml")["error"]


def test_a_window_that_stays_open_is_not_waited_for(
    post: Callable[..., Any], opened: Opened, program: Path, tmp_path: Path,
) -> None:
    """It goes on until the test lets it go, and what it says meanwhile fills no pipe."""
    program.with_name("how").write_text(
        "print('x' * 1_000_000, flush=True)\nwhile not here.with_name('end').exists(): time.sleep(0.05)\n"
        "here.with_name('ended').touch()\n", encoding="utf-8")
    assert post("open", file="book.yaml")["opened"] == "book.yaml:1"
    assert opened() and not program.with_name("ended").exists()
    program.with_name("end").touch()
    while not program.with_name("ended").exists():
        time.sleep(0.05)


@pytest.mark.parametrize("headers", [
    {"Origin": "http://127.0.0.1"}, OWN | {"X-Desk-Token": "another"}, OWN | {"Origin": "http://puzzles.example"},
    OWN | {"Origin": "http://puzzles.example", "Host": "puzzles.example"}, OWN,
])
@pytest.mark.parametrize("token", [TOKEN, None])
def test_only_the_page_of_a_desk_that_has_a_command_opens_files(
    compositor: Compositor, program: Path, headers: dict[str, str], token: str | None,
) -> None:
    """For the page itself it has none; for others, and where it is for reading only, it has one."""
    own = headers == OWN and token is not None
    app = application(compositor, Feed(compositor), token=token, editor=None if own else editor_of(f"'{program}'"))
    client = TestClient(app, base_url="http://127.0.0.1")
    answer = client.post("/do", json={"do": "open", "file": "book.yaml"}, headers=headers)
    assert answer.status_code == (404 if own else 403) and not program.with_name("called").exists()
    if token is None or own:
        assert client.get("/state.json").json()["editor"] is None
    app.state.pencil.close()


def test_a_command_is_words_and_a_file_it_does_not_name_comes_last() -> None:
    known = editor_of(f"{sys.executable} -n '+{{line}} x' \"a b\"")
    assert known is not None
    place = Path("/a b/c.yaml")
    assert known.arguments(place, 7, 2) == [sys.executable, "-n", "+7 x", "a b", str(place)]
    assert editor_of(None) is editor_of("") is editor_of("  ") is None
    for command, why in (("no-such-program-anywhere {file}", "no program"), ("'editor {file}", "quotation mark")):
        with pytest.raises(NoCommand, match=why):
            editor_of(command)


@pytest.mark.parametrize("way", ["option", "variable"])
def test_the_command_line_refuses_a_command_that_is_none(
    book: Path, way: str, run: Any, monkeypatch: pytest.MonkeyPatch,
) -> None:
    """And the usual names of editors in a terminal are not asked."""
    if way == "variable":
        monkeypatch.setenv("CAGEWORK_EDITOR", "no-such-program-anywhere")
    done = run("desk", book, *(("--editor", "no-such-program-anywhere") if way == "option" else ()))
    assert (done.returncode, done.stdout) == (Exit.USAGE, "")
    assert "no program 'no-such-program-anywhere'" in done.stderr
