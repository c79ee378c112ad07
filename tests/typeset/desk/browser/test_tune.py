"""A puzzle made another grade while it is drawn: changes found, one taken and undone, the search stopped."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys


def offers(page: Any) -> list[Any]:
    return list(page.driver.find_elements(By.CSS_SELECTOR, "#study:not([inert]) #tune-offers button"))


def graded(hand: Any, name: str) -> str:
    """Open a puzzle, wait for its path, and give its grade."""
    hand.open(name)
    hand.page.until(lambda: hand.page.one("#tune-grades").is_displayed())
    return str(hand.page.one(".graded").text.split()[0])


def test_a_change_that_makes_it_another_grade_is_taken_and_undone(hand: Any, book: Path) -> None:
    page, grade = hand.page, graded(hand, "loft")
    wanted = "climb" if grade == "stroll" else "stroll"
    before = {file: file.read_bytes() for file in book.parent.rglob("*.yaml")}
    names = "return [...document.querySelectorAll('#tune-grades button')].filter((one) => one.checkVisibility())" \
            ".map((one) => one.innerText)"
    assert page.js(names) == [f"Make it a {one}" for one in ("stroll", "climb", "scramble", "summit")
                              if one != grade]
    page.js(f"document.querySelector('#tune-grades [data-grade={wanted}]').focus()")
    page.keys(Keys.ENTER)
    page.until(lambda: offers(page))
    assert page.one("#tune-said").text == f"A {wanted}, the smallest changes first:"
    assert page.js("return document.activeElement === document.querySelector('#tune-offers button')")
    said = offers(page)[0].text.split("\n")[0]
    assert page.faults_everywhere() == []
    page.keys(Keys.ENTER)
    assert hand.said() == f"done: {said}" and hand.at()[0] >= 1, "back in the grid"
    page.until(lambda: page.driver.find_elements(By.CSS_SELECTOR, "#study:not([inert]) .graded")
               and page.one(".graded").text.startswith(wanted))
    assert hand.verdict().endswith("One answer") and not offers(page), "they were of the drawing before"
    assert page.one("#draw-dirty").is_displayed()
    page.keys(Keys.CONTROL, "z", Keys.NULL)
    page.until(lambda: page.driver.find_elements(By.CSS_SELECTOR, ".graded")
               and page.one(".graded").text.startswith(grade))
    assert not page.one("#draw-dirty").is_displayed()
    assert {file: file.read_bytes() for file in book.parent.rglob("*.yaml")} == before, "nothing is saved"


def test_the_search_is_stopped_by_a_button_and_by_the_next_stroke(hand: Any) -> None:
    """For a nine by nine made a summit, which takes much longer than it is let."""
    page = hand.page
    assert graded(hand, "loft") != "summit"
    button = page.one("#tune-grades [data-grade=summit]")
    button.click()
    assert page.js("return document.activeElement.id") == "tune-stop" and not button.is_displayed()
    assert page.faults_everywhere() == [] and page.one("#tune-stop").is_displayed()
    page.keys(Keys.ENTER)
    assert page.one("#tune-said").text == "Stopped." and not page.one("#tune-stop").is_displayed()
    assert page.js("return document.activeElement.textContent").startswith("Make it a ")
    button.click()
    hand.over([(1, 1)])
    page.keys("g", "1")
    page.until(lambda: not page.one("#tune-stop").is_displayed())
    page.keys(Keys.BACKSPACE)
    page.until(lambda: button.is_displayed())
    assert page.one("#tune-said").text == "" and not offers(page)


def test_a_page_that_is_left_lets_the_search_go(hand: Any) -> None:
    """Else another's would wait for its end."""
    page = hand.page
    graded(hand, "loft")
    page.js("""const real = window.fetch; window.fetch = (where, how) => {
        if (how?.body?.includes("stop-tune")) localStorage.setItem("asked", `${how.keepalive} ${how.body}`);
        return real(where, how); }""")
    page.one("#tune-grades [data-grade=summit]").click()
    page.until(lambda: page.one("#tune-stop").is_displayed())
    page.load()
    assert page.js("return localStorage.getItem('asked')") == 'true {"do":"stop-tune","id":"loft"}'


def test_it_is_said_that_nothing_was_found(hand: Any) -> None:
    """Of a six by six that stays a stroll."""
    page = hand.page
    assert graded(hand, "hall") == "stroll"
    page.one("#tune-grades [data-grade=climb]").click()
    page.until(lambda: page.one("#tune-said").text
               == "Nothing was found that makes it a climb, by two changes at most.")
    assert page.js("return document.activeElement.dataset.grade") == "climb" and not offers(page)
