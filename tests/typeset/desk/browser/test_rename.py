"""Another id for a puzzle, from its panel: the difference first; panel, list and address follow."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys


@pytest.fixture
def page(page: Any, book: Path, texts: dict[str, str]) -> Iterator[Any]:
    """The page; files that got another name go again, and the book is as it was before the next test."""
    yield page
    for file in (book.parent / "puzzles").iterdir():
        if f"puzzles/{file.name}" not in texts:
            file.unlink()


def test_a_puzzle_is_renamed_and_all_that_shows_it_follows(page: Any, book: Path) -> None:
    page.one("tr[data-id=lamp] button").click()
    page.until(lambda: page.driver.find_elements(By.CSS_SELECTOR, "#work .grid[src]"))
    assert page.js("return location.hash") == "#lamp"
    page.one("#rename-this").click()
    assert page.js("return document.activeElement.id") == "rename-to" and not page.one("#rename-do").is_enabled()
    page.keys("fork", Keys.ENTER)
    page.until(lambda: "taken already" in page.one("#rename-body").text)
    page.keys(Keys.BACKSPACE * 4, "lantern", Keys.ENTER)
    page.until(lambda: page.one("#rename-do").is_enabled())
    lines = page.one("#rename-body").text.split("\n")
    for line in ("@ puzzles/lamp.yaml → puzzles/lantern.yaml", "-id: lamp", "+id: lantern", "@ book.yaml",
                 "-    puzzles: [lamp, fork]", "+    puzzles: [lantern, fork]"):
        assert line in lines, line
    assert page.faults_everywhere() == []
    assert (book.parent / "puzzles" / "lamp.yaml").exists()
    page.one("#rename-to").send_keys("s")
    assert not page.one("#rename-do").is_enabled(), "what was shown is of another id"
    page.keys(Keys.BACKSPACE, Keys.ENTER)
    page.until(lambda: page.js("return document.activeElement.id") == "rename-do")
    page.keys(Keys.ENTER)
    page.until(lambda: page.js("return location.hash") == "#lantern")
    page.until(lambda: "/lantern/" in str(page.one("#work .grid").get_dom_attribute("src")))
    page.knows(lambda said: said["fresh"] and not said["faults"])
    assert page.one("#detail-facts .place").text == "puzzles/lantern.yaml:1:1"
    page.keys(Keys.ARROW_RIGHT)
    page.one("#work .to-answer").click()
    page.until(lambda: "/lantern/answer.svg" in str(page.one("#work .grid").get_dom_attribute("src")))
    gone = page.js("return performance.getEntriesByType('resource').filter((one) => one.responseStatus === 404)"
                   ".map((one) => one.name)")
    assert [name for name in gone if "/puzzles/" in name] == []
    page.driver.refresh()
    page.until(lambda: page.one("#detail-title").text.endswith("Lamp"))
    assert page.one("#detail-facts .place").text == "puzzles/lantern.yaml:1:1"
    page.one("#close").click()
    assert page.js("return location.hash") == ""
    assert page.js("return document.activeElement.closest('tr').dataset.id") == "lantern"


def test_without_the_token_there_is_nothing_to_rename_with(page: Any, address: str) -> None:
    page.js("sessionStorage.clear()")
    page.driver.get(f"{address}#lamp")
    page.until(lambda: page.one("#detail-title").text.endswith("Lamp"))
    assert not page.one("#rename-this").is_displayed()
