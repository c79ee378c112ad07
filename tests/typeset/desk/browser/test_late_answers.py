"""Answers that come late: what is shown meanwhile, and that none takes the place of a newer question's."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

from selenium.webdriver.common.keys import Keys

Edit = Callable[[str, str, str], None]

HOLD = """
    const [where, words] = arguments, real = window.fetch;
    const gate = new Promise((open) => { window.letGo = open; });
    window.held = 0;
    window.fetch = async (address, how) => {
        const said = await real(address, how);
        if (!String(address).startsWith(where) || !`${address} ${how?.body ?? ""}`.includes(words)) return said;
        window.held += 1;
        await gate;
        return said;
    };"""
LET_GO = """
    const done = arguments[0];
    window.letGo();
    setTimeout(() => requestAnimationFrame(() => requestAnimationFrame(done)));"""


def hold(page: Any, where: str, words: str = "") -> None:
    """Keep answers from the page, to questions that have some words."""
    page.js(HOLD, where, words)


def held(page: Any) -> None:
    page.until(lambda: page.js("return window.held") > 0)


def let_go(page: Any) -> None:
    """Give the page what was kept, and time to take it."""
    page.driver.execute_async_script(LET_GO)


def test_pages_turned_to_are_not_overlaid_by_those_turned_away_from(page: Any, edit: Edit) -> None:
    """The strip is not answered, which else has asked for the same pages."""
    hold(page, "/digests.json", "=18,19")
    page.js("const here = window.fetch; window.fetch = (address, how) => ("
            "/^.digests.*,.*,/.test(address) ? new Promise(() => {}) : here(address, how))")
    edit("puzzles/lamp.yaml", "title: Lamp", "title: Lantern")
    page.knows(lambda said: "Lantern" in {row["title"] for row in said["puzzles"]})
    page.go("18")
    held(page)
    page.go("8")
    before = page.pages()
    alts = "return [...document.querySelectorAll('#spread img')].map((one) => one.alt.match(/^Page \\d+/)[0])"
    assert page.js(alts) == ["Page 8", "Page 9"]
    let_go(page)
    assert page.js(alts) == ["Page 8", "Page 9"] and page.pages() == before


def test_what_another_id_would_change_is_not_shown_for_the_one_typed_since(page: Any) -> None:
    page.one("tr[data-id=lamp] button").click()
    page.one("#rename-this").click()
    hold(page, "/do", "lantern")
    page.keys("lantern", Keys.ENTER)
    held(page)
    page.keys("s")
    let_go(page)
    assert page.one("#rename-body").text == "" and not page.one("#rename-do").is_enabled()


def test_a_note_is_gone_on_with_before_its_file_is_read_again(page: Any, book: Path) -> None:
    file = book.parent / "puzzles" / "lamp.yaml"
    page.one("tr[data-id=lamp] button").click()
    page.until(lambda: page.js("return document.querySelector('#work .grid')?.naturalWidth > 0"))
    hold(page, "/state.json")
    page.one("#remark summary").click()
    for text in ("Too easy", "; or is it?"):
        page.one("#remark-text").send_keys(text)
        page.one("#remark-save").click()
        page.until(lambda: page.one("#remark-said").text)
        assert page.one("#remark-said").text == "saved in puzzles/lamp.yaml"
    assert "remark: Too easy; or is it?\n" in file.read_text(encoding="utf-8")
    let_go(page)


def test_what_had_changed_is_not_shown_for_what_has(page: Any) -> None:
    page.keys("b")
    page.until(lambda: page.one("#changes-said").text == "Never built here.")
    page.one("#build-close").click()
    hold(page, "/changes.json")
    page.keys("b")
    assert page.one("#changes-said").text == "Looking…" and page.one("#changes-list").text == ""
    held(page)
    let_go(page)
    page.until(lambda: page.one("#changes-said").text == "Never built here.")
