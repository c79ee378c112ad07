"""Moving about in the page by keyboard: where the focus is, where Tab stops, and that what is open keeps up."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

Edit = Callable[[str, str, str], None]

STOPS = """
    const all = [...document.querySelectorAll("button, input, select, a[href], summary, [tabindex]")];
    return all.filter((one) => one.tabIndex >= 0 && !one.disabled && one.checkVisibility()).length;"""


def focused(page: Any) -> str:
    return str(page.js("return document.activeElement.id || document.activeElement.className"
                       " || document.activeElement.tagName"))


def test_the_focus_goes_along_and_never_to_the_body(page: Any) -> None:
    page.one("tr[data-id=hall] button").click()
    assert focused(page) == "detail-title"
    page.keys(Keys.ESCAPE)
    assert page.driver.switch_to.active_element.text.startswith("hall")
    page.keys("n")
    assert page.one("#detail-title").text == "4 Loft" and focused(page) == "detail-title"
    alts = "return [...document.querySelectorAll('#spread img')].map((img) => img.alt).join()"
    page.until(lambda: "Loft" in page.js(alts))
    page.keys("/")
    assert focused(page) == "words"
    page.keys("lamp")
    page.keys(Keys.TAB, Keys.TAB, Keys.TAB, Keys.ARROW_DOWN, Keys.ENTER)
    page.size(390, 800)
    page.one("#show-page").click()
    page.keys(Keys.ESCAPE)
    assert page.driver.switch_to.active_element.text.startswith("lamp"), "the list is shown again, too"


def test_tab_stops_once_in_list_and_strip_and_arrows_move_there(page: Any) -> None:
    few = page.js(STOPS)
    rows, spreads = (len(page.driver.find_elements(By.CSS_SELECTOR, css)) for css in ("tbody tr", "#thumbs li"))
    assert rows == 4 and spreads > 10
    assert few < 30
    for css in ("tbody", "#thumbs"):
        assert len(page.driver.find_elements(By.CSS_SELECTOR, f"{css} button[tabindex='0']")) == 1
    page.js("document.querySelector('#thumbs button[tabindex=\"0\"]').focus()")
    for key, spread in ((Keys.ARROW_RIGHT, 1), (Keys.END, spreads - 1), (Keys.ARROW_LEFT, spreads - 2)):
        page.keys(key)
        assert page.driver.switch_to.active_element.get_dom_attribute("data-spread") == str(spread)
        assert page.driver.switch_to.active_element.get_dom_attribute("aria-current") == "true"
    assert page.one("#where").text.startswith(f"Pages {2 * spread}–{2 * spread + 1} of ")
    page.keys(Keys.HOME)
    assert page.one("#where").text.startswith("Page 1 of ")


def test_an_open_puzzle_keeps_up_with_its_file(page: Any, edit: Edit) -> None:
    page.one("tr[data-id=lamp] button").click()
    page.until(lambda: page.driver.find_elements(By.CSS_SELECTOR, "#work .grid[src]"))
    edit("puzzles/lamp.yaml", "size: 4", "size: 4\n  : [")
    page.until(lambda: "cannot be read" in page.one("#detail-facts").text)
    assert "sound" not in page.one("#detail").text and "lamp.yaml:" in page.one("#detail-faults").text
    page.keys(Keys.ARROW_RIGHT, "a")
    edit("puzzles/lamp.yaml", "size: 4\n  : [", "size: 4")
    page.until(lambda: page.driver.find_elements(By.CSS_SELECTOR, "#work .grid[src]"))
    assert "sound" in page.one("#detail-facts").text
    edit("puzzles/lamp.yaml", "id: lamp\ntitle: Lamp", "id: candle\ntitle: Candle")
    page.until(lambda: page.one("#detail-title").text.endswith("Candle"))
    page.until(lambda: "/candle/" in str(page.one("#work .grid").get_dom_attribute("src")))
    page.keys(Keys.ARROW_RIGHT)
    page.until(lambda: "/candle/steps/1.svg" in str(page.one("#work .grid").get_dom_attribute("src")))
    edit("book.yaml", "  title: Four Doors", "  title: [")
    page.until(lambda: "as last read: book.yaml has a fault" in page.one("#detail-facts").text)
    gone = page.js("return performance.getEntriesByType('resource').filter((one) => one.responseStatus === 404)"
                   ".map((one) => one.name)")
    assert [name for name in gone if "/puzzles/" in name] == []
