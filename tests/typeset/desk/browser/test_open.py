"""The editor's own program from the page, where the desk has its command: a button, a key, places of faults."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from selenium.webdriver.common.by import By

Edit = Callable[[str, str, str], None]


@pytest.fixture(scope="module")
def called(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file that the command writes its arguments into; while it is a folder, the command fails."""
    return tmp_path_factory.mktemp("editor") / "called"


@pytest.fixture(scope="module")
def options(called: Path) -> list[str]:
    """A command that writes down where it was sent."""
    code = "import sys; open(sys.argv[1], 'w').write(' '.join(sys.argv[2:]))"
    return ["--editor", f"{sys.executable} -c \"{code}\" '{called}' {{file}}:{{line}}"]


def taken(page: Any, called: Path) -> str:
    page.until(called.is_file)
    page.until(lambda: called.read_text(encoding="utf-8"))
    said = called.read_text(encoding="utf-8")
    called.unlink()
    return said


def answered(page: Any) -> str:
    """What the page says once the button is pressed: that it is open, too, where the command failed too late."""
    page.js("document.querySelector('#status').textContent = ''")
    page.one("#open-this").click()
    page.until(lambda: page.one("#status").text)
    return str(page.one("#status").text)


def test_files_are_opened_by_button_key_and_place(
    page: Any, edit: Edit, book: Path, called: Path,
) -> None:
    page.keys("e")      # no puzzle is open
    page.one("tr[data-id=lamp] button").click()
    page.until(lambda: page.driver.find_elements(By.CSS_SELECTOR, "#work .grid[src]"))
    page.one("#open-this").click()
    assert taken(page, called) == f"{book.parent / 'puzzles' / 'lamp.yaml'}:1"
    page.until(lambda: "puzzles/lamp.yaml:1 is open in python" in page.one("#status").text)
    page.keys("e")
    assert taken(page, called) == f"{book.parent / 'puzzles' / 'lamp.yaml'}:1"
    edit("book.yaml", "  - title: Stairs", "  - titel: Stairs")
    page.until(lambda: page.one("#faults").is_displayed())
    assert page.faults_everywhere("puzzles") == []
    page.one("#faults-list button.place").click()
    assert taken(page, called) == f"{book}:8"


def test_a_command_that_fails_is_said(page: Any, called: Path) -> None:
    page.one("tr[data-id=lamp] button").click()
    called.mkdir()
    try:
        page.until(lambda: "failed with 1" in answered(page))
        assert "IsADirectoryError" in page.one("#status").text
    finally:
        called.rmdir()
    log = page.driver.get_log("browser")
    own = ("/do", "/favicon.ico")       # what is refused; what a browser asks for by itself
    assert [entry for entry in log if not any(one in entry["message"] for one in own)] == []


def test_without_the_token_there_is_nothing_to_open_with(page: Any, address: str, called: Path) -> None:
    page.js("sessionStorage.clear()")
    page.driver.get(address)
    page.until(lambda: page.shown() >= 1)
    page.one("tr[data-id=lamp] button").click()
    page.keys("e")
    assert not page.one("#open-this").is_displayed() and not called.exists()
