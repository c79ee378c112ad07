"""Crossing sums of as many squares as there may be, drawn in windows of any width."""

from __future__ import annotations

from typing import Any

from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from cagework.typeset.manifest.notation import WIDEST


def test_the_largest_crossing_sums_are_drawn_in_any_window(hand: Any) -> None:
    """Squares stay large enough for a finger (24 px: WCAG 2.2, 2.5.8); the grid moves in its frame."""
    page = hand.page
    hand.crossing("tower", WIDEST, WIDEST)
    assert len(page.driver.find_elements(By.CSS_SELECTOR, "[role=gridcell]")) == WIDEST ** 2
    page.one("#squares-part summary").click()
    page.one("#squares-rows").send_keys(Keys.ARROW_UP, Keys.BACKSPACE, "9", Keys.TAB)
    assert page.one("#squares-rows").get_property("value") == str(WIDEST), "there are no more"
    page.js("document.querySelector('#grid [tabindex=\"0\"]').focus()")
    page.keys(Keys.SPACE)
    hand.settled("Not finished")
    assert page.faults() == []
    for width in (1440, 1024, 390):
        page.size(width, 800)
        steps = WIDEST - 1
        right, left = (Keys.END, Keys.HOME) if width > 390 else (Keys.ARROW_RIGHT * steps, Keys.ARROW_LEFT * steps)
        for keys in (Keys.ARROW_DOWN * steps, right, Keys.ARROW_UP * steps, left):
            page.keys(keys)
            cell, frame = page.driver.switch_to.active_element.rect, page.one("#frame").rect
            assert cell["width"] >= 24 and cell["height"] >= 24
            for at, size in (("x", "width"), ("y", "height")):
                assert frame[at] <= cell[at] and cell[at] + cell[size] <= frame[at] + frame[size] + 1
        assert hand.at() == (1, 1)
        assert page.js("return document.documentElement.scrollWidth <= innerWidth")
    assert page.one("#grid-help").text.endswith("Two fingers move the grid.")
    page.size(1440, 900)
    page.one("#draw-close").click()
    page.one("#leave-drop").click()


def test_two_fingers_move_a_grid_that_is_larger_than_its_frame(hand: Any) -> None:
    """In a tab of its own, which Chromium (156) sends no touches any more after those of two fingers."""
    page, driver = hand.page, hand.page.driver
    first = driver.current_window_handle
    driver.switch_to.new_window("tab")
    page.size(1440, 900)
    page.load()
    hand.crossing("tower", WIDEST, WIDEST)
    page.size(390, 800)
    frame = page.one("#frame").rect
    for kind, points in (("touchStart", [(60, 200)]), ("touchStart", [(60, 200), (120, 200)]),
                         ("touchMove", [(40, 100), (100, 100)]), ("touchEnd", [])):
        driver.execute_cdp_cmd("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [
            {"x": frame["x"] + x, "y": frame["y"] + y, "id": number} for number, (x, y) in enumerate(points)]})
    assert page.js("const { scrollLeft, scrollTop } = document.querySelector('#frame'); "
                   "return [scrollLeft, scrollTop]") == [20, 100]
    assert driver.find_elements(By.CSS_SELECTOR, "#grid [aria-label$=', black']") == [], "they draw nothing"
    page.one("#draw-close").click()
    driver.close()
    driver.switch_to.window(first)
