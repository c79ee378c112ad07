"""A note to oneself in the page: written beside the puzzle, kept while it is not saved, marked in the list."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

Edit = Callable[[str, str, str], None]


def text(page: Any) -> str:
    return str(page.one("#remark-text").get_property("value"))


def open_lamp(page: Any) -> None:
    page.one("tr[data-id=lamp] button").click()
    page.until(lambda: page.driver.find_elements(By.CSS_SELECTOR, "#work .grid[src]"))


def test_a_note_is_written_by_keys_alone_and_marked_in_the_list(page: Any, book: Path) -> None:
    file = book.parent / "puzzles" / "lamp.yaml"
    assert page.driver.find_elements(By.CSS_SELECTOR, ".noted") == []
    open_lamp(page)
    page.js("document.querySelector('#remark summary').focus()")
    page.keys(Keys.ENTER, Keys.TAB)
    page.keys("Easier than it looks: n and p?")
    assert page.one("#detail-title").text.endswith("Lamp"), "letters are text here, and no keys"
    page.keys(Keys.ESCAPE)
    page.one("tr[data-id=fork] button").click()
    assert text(page) == ""
    page.keys(Keys.ESCAPE)
    open_lamp(page)
    assert text(page).startswith("Easier") and "remark" not in file.read_text(encoding="utf-8"), "kept, not saved"
    page.one("#remark-text").send_keys(Keys.CONTROL, Keys.ENTER, Keys.NULL)
    page.until(lambda: page.one("#remark-said").text == "saved in puzzles/lamp.yaml")
    assert "remark: 'Easier than it looks: n and p?'\n" in file.read_text(encoding="utf-8")
    assert page.faults_everywhere("puzzles") == []
    page.keys(Keys.ESCAPE)
    page.until(lambda: page.driver.find_elements(By.CSS_SELECTOR, "tr[data-id=lamp] .noted"))
    name = page.js("return document.querySelector('tr[data-id=lamp] .name').textContent")
    assert "with a note to yourself" in name
    page.one("#words").send_keys("easier")
    assert page.one("#count").text == "1 of 4" and page.faults() == []


def test_a_note_that_was_changed_meanwhile_is_told_and_nothing_lost(page: Any, edit: Edit, book: Path) -> None:
    open_lamp(page)
    page.one("#remark summary").click()
    page.one("#remark-text").send_keys("Mine")
    edit("puzzles/lamp.yaml", "size: 4", "size: 4\nremark: Theirs")
    page.until(lambda: page.js("return document.querySelector('#remark-read').textContent") == "Theirs")
    assert text(page) == "Mine"
    page.one("#remark-save").click()
    page.until(lambda: "changed in the file" in page.one("#remark-said").text)
    assert "“Theirs”" in page.one("#remark-said").text and text(page) == "Mine"
    page.one("#remark-save").click()
    page.until(lambda: "remark: Mine" in (book.parent / "puzzles" / "lamp.yaml").read_text(encoding="utf-8"))
    page.until(lambda: page.js("return document.querySelector('#remark-read').textContent") == "Mine")
    edit("puzzles/lamp.yaml", "remark: Mine", "remark: Of the file")
    page.until(lambda: text(page) == "Of the file")


def test_without_the_token_a_note_is_only_read(page: Any, address: str, edit: Edit) -> None:
    edit("puzzles/lamp.yaml", "size: 4", "size: 4\nremark: Theirs")
    page.js("sessionStorage.clear()")
    page.driver.get(address)
    page.until(lambda: page.driver.find_elements(By.CSS_SELECTOR, "tr[data-id=lamp] .noted"))
    open_lamp(page)
    assert page.one("#remark-read").text == "Theirs" and not page.one("#remark-form").is_displayed()
