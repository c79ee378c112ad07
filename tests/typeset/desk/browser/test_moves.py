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
    page.keys(*[Keys.TAB] * 4, Keys.ARROW_DOWN, Keys.ENTER)
    page.size(390, 800)
    page.one("#show-page").click()
    page.keys(Keys.ESCAPE)
    assert page.driver.switch_to.active_element.text.startswith("lamp"), "the list is shown again, too"


def test_tab_stops_once_in_list_and_strip_and_arrows_move_there(page: Any) -> None:
    few = page.js(STOPS)
    rows, spreads = (len(page.driver.find_elements(By.CSS_SELECTOR, css))
                     for css in ("tbody tr[data-id]", "#thumbs li"))
    assert rows == 4 and spreads > 10
    assert few < 34
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
    page.until(lambda: "faulty" in page.one("#detail-facts").text)
    assert "sound" not in page.one("#detail").text and "lamp.yaml:" in page.one("#detail-faults").text
    page.keys(Keys.ARROW_RIGHT, "a")
    edit("puzzles/lamp.yaml", "size: 4\n  : [", "size: 4")
    page.until(lambda: "sound" in page.one("#detail-facts").text)
    page.until(lambda: page.driver.find_elements(By.CSS_SELECTOR, "#work .grid[src]"))
    edit("puzzles/lamp.yaml", "id: lamp\ntitle: Lamp", "id: candle\ntitle: Candle")
    page.until(lambda: page.one("#detail-title").text.endswith("Candle"))
    page.until(lambda: "/candle/" in str(page.one("#work .grid").get_dom_attribute("src")))
    page.keys(Keys.ARROW_RIGHT)
    page.until(lambda: "/candle/steps/1.svg" in str(page.one("#work .grid").get_dom_attribute("src")))
    page.until(lambda: page.js("return document.querySelector('#work .grid').naturalWidth") > 0)
    edit("book.yaml", "  title: Four Doors", "  title: [")
    page.until(lambda: "as last read: book.yaml has a fault" in page.one("#detail-facts").text)
    gone = page.js("return performance.getEntriesByType('resource').filter((one) => one.responseStatus === 404)"
                   ".map((one) => one.name)")
    assert [name for name in gone if "/puzzles/" in name] == []


def test_words_stand_above_the_fold_and_tools_in_one_row(page: Any) -> None:
    page.size(1440, 757)
    page.one("tr[data-id=loft] button").click()
    page.until(lambda: page.driver.find_elements(By.CSS_SELECTOR, "#work .grid[src]"))
    said = page.one(".words").rect
    assert page.one("#detail").rect["y"] <= said["y"] and said["y"] + said["height"] <= 757
    page.size(1024, 757)
    tops = {round(page.one(css).rect["y"] + page.one(css).rect["height"] / 2) for css in ("#back", "#on", "#zoom")}
    assert max(tops) - min(tops) <= 2, "one row"
    page.keys(Keys.ESCAPE)
    for width in (1440, 1024, 390):
        page.size(width, 757)
        assert page.js("const one = document.querySelector('#rows'); return one.scrollWidth <= one.clientWidth")


def test_a_narrow_window_shows_one_page_and_its_tools_in_a_sheet(page: Any) -> None:
    page.size(390, 800)
    assert not page.one("#goto").is_displayed() and not page.one("#zoom").is_displayed()
    page.keys("g")
    page.keys("7", Keys.ENTER)
    assert not page.one("#goto").is_displayed()
    assert page.one("#where").text.startswith("Page 7 of ")
    page.pages()
    assert [leaf.is_displayed() for leaf in page.driver.find_elements(By.CSS_SELECTOR, ".leaf")] == [False, True]
    paper = page.one(".leaf.right .paper").rect
    assert paper["width"] > 200 and paper["x"] >= 0 and paper["x"] + paper["width"] <= 390
    page.one("#back").click()
    assert page.one("#where").text.startswith("Page 6 of ")
    page.pages()
    page.one("[popovertarget=marks]").click()
    page.one("#overlays input[value=trim]").click()
    page.keys(Keys.ESCAPE)
    assert not page.one("#zoom").is_displayed() and page.one(".leaf.left .trim").is_displayed()
    page.size(1440, 900)
    page.until(lambda: page.one("#where").text.startswith("Pages 6–7 of "))


def test_a_puzzle_that_cannot_be_printed_is_said_on_top(
    page: Any, edit: Edit, without_sums: tuple[str, str, str],
) -> None:
    edit(*without_sums)
    page.until(lambda: page.one("#unsound").is_displayed())
    said = page.one("#unsound").text.splitlines()
    assert said == ["1 puzzle cannot be printed as it stands", "lamp: two answers"]
    assert page.one("#unsound").location["y"] < page.one("#spread").location["y"]
    page.one("#unsound button").click()
    assert page.one("#detail-title").text.endswith("Lamp")
    name, old, new = without_sums
    edit(name, new, old)
    page.until(lambda: not page.one("#faults").is_displayed())
