"""What the page shows while a puzzle is drawn: axe in every state, what is pasted, the setter's answer, rules."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

Edit = Callable[[str, str, str], None]

def test_axe_finds_nothing_while_a_puzzle_is_drawn(hand: Any, edit: Edit) -> None:
    page = hand.page
    hand.open("lamp")
    hand.settled("One answer")
    hand.studied()
    page.one("#walk-on").click()
    page.js("for (const one of document.querySelectorAll('#known details:not([hidden])')) one.open = true")
    assert page.faults_everywhere() == []
    page.one("[data-cell=r1c3]").click()
    page.keys(Keys.SHIFT, Keys.ARROW_DOWN, Keys.NULL)
    assert page.faults_everywhere() == []
    page.keys("5")
    hand.settled("No answer")
    hand.studied()
    assert page.driver.find_elements(By.CSS_SELECTOR, "#why .parts li")
    assert page.faults_everywhere() == []
    for column in (3, 4):
        page.one(f"[data-cell=r1c{column}]").click()
        page.keys(Keys.BACKSPACE, Keys.BACKSPACE, Keys.ENTER)
    hand.settled("Two answers")
    hand.studied()
    assert page.driver.find_elements(By.CSS_SELECTOR, "#repairs button")
    assert page.faults_everywhere() == []
    page.one("#save").click()
    page.until(lambda: page.one("#save-do").is_displayed())
    assert page.faults_everywhere() == []
    edit("puzzles/lamp.yaml", "size: 4", "size: 4\nnote: Mind the step.")
    page.one("#save-do").click()
    page.until(lambda: page.one("#save-mine").is_displayed())
    assert page.faults_everywhere() == []
    page.keys(Keys.ESCAPE)
    page.until(lambda: page.one("#draw-notice").is_displayed())
    assert page.faults_everywhere() == []
    page.one("#draw-close").click()
    assert page.faults_everywhere() == []
    page.one("#leave-drop").click()
    page.one("#close").click()
    page.one("#new").click()
    assert page.faults_everywhere() == []


def test_what_is_pasted_is_drawn_and_what_is_drawn_is_copied(hand: Any, texts: dict[str, str]) -> None:
    page = hand.page
    hand.new("attic", 4)
    hand.studied()
    page.one("#paste-part summary").click()
    page.one("#paste").send_keys(texts["puzzles/lamp.yaml"] + "remark: too easy?\n")
    page.one("#paste-read").click()
    hand.settled("One answer")
    hand.studied()
    assert page.one("#name-remark").get_property("value") == "too easy?"
    assert page.one("#draw-title").text == "Lamp" and page.one("#name-id").get_property("value") == "attic"
    page.one("#copy").click()
    page.until(lambda: "attic" in page.one("#paste").get_property("value"))
    page.until(lambda: page.one("#paste-said").text in ("Copied.", "Written below, selected: copy it from there."))
    copied = page.one("#paste").get_property("value")
    assert "\nremark: too easy?\n" in copied
    page.one("[data-cell=r1c1]").click()
    page.keys(Keys.DELETE)
    hand.studied()
    page.one("#paste").clear()
    page.one("#paste").send_keys("3 nonsense: [")
    page.one("#paste-read").click()
    page.until(lambda: page.driver.find_elements(By.CSS_SELECTOR, "#paste-said li"))
    assert "no cage" in page.one("[data-cell=r1c1]").get_dom_attribute("aria-label"), "the drawing stays"
    page.one("#paste").clear()
    page.one("#paste").send_keys(copied)
    page.one("#paste-read").click()
    page.until(lambda: "sum 7" in page.one("[data-cell=r1c1]").get_dom_attribute("aria-label"))


def test_a_cage_without_a_sum_is_named_and_led_to(hand: Any) -> None:
    """No fault: a puzzle may have it. Its sum typed, nothing is said of it any more."""
    page = hand.page
    hand.open("lamp")
    hand.settled("One answer")
    page.one("[data-cell=r4c3]").click()
    page.keys(Keys.BACKSPACE)
    page.until(lambda: "1 cage: r4c2" in page.one("#sums").text)
    page.one("#sums button").click()
    assert hand.at() == (4, 2) and not page.one("#draw-faults").text
    page.keys("9")
    page.until(lambda: "Without a sum" not in page.one("#sums").text)


def test_what_was_known_of_another_drawing_is_not_offered(hand: Any) -> None:
    page = hand.page
    hand.open("lamp")
    for column in (3, 4):
        hand.over([(1, column)])
        page.keys(Keys.BACKSPACE, Keys.ENTER)
    hand.settled("Two answers")
    page.until(lambda: page.driver.find_elements(By.CSS_SELECTOR, "#study:not([inert]) #repairs button"))
    page.js("const real = window.fetch;"
            "window.fetch = (where, how) => (where === '/do' ? new Promise(() => {}) : real(where, how))")
    page.keys(Keys.DELETE)
    assert page.js("return document.querySelector('#study').inert"), "the repairs are of the drawing before"
    page.one("#draw-close").click()
    page.one("#leave-drop").click()
    page.one("#close").click()
    hand.open("hall")
    assert hand.verdict() == "… Being looked at" and not page.one("#study").is_displayed()
    page.one("#draw-close").click()


def test_the_grid_may_become_smaller_than_where_the_hand_is(hand: Any, texts: dict[str, str]) -> None:
    page = hand.page
    stop = "return document.querySelector('#grid [tabindex=\"0\"]').dataset.cell"
    hand.new("attic", 9)
    hand.over([(9, 9)])
    hand.studied()
    page.one("#paste-part summary").click()
    page.one("#paste").send_keys(texts["puzzles/lamp.yaml"])
    page.one("#paste-read").click()
    hand.settled("One answer")
    assert page.js(stop) == "r4c4"
    page.one("#undo").click()
    hand.over([(9, 9)])
    page.one("#redo").click()
    assert page.js(stop) == "r4c4" and len(page.driver.find_elements(By.CSS_SELECTOR, "[role=row]")) == 4


def test_the_setters_answer_is_held_against_the_puzzles(hand: Any) -> None:
    page = hand.page
    hand.open("lamp")
    hand.settled("One answer")
    hand.studied()
    right = page.driver.execute_async_script("""
        const done = arguments[0];
        const found = fetch("/puzzles/lamp/drawing.json").then((one) => one.json());
        Promise.all([import("/static/talk.js"), found]).then(([talk, { drawing }]) =>
            talk.ask("judge", { stamp: 1, drawing })).then((said) => done(said.answer));""")
    assert page.driver.find_elements(By.CSS_SELECTOR, "#grid .derived")
    page.one("#derived").click()
    assert not page.driver.find_elements(By.CSS_SELECTOR, "#grid .derived")
    page.one("#derived").click()
    page.one("[data-cell=r1c1]").click()
    page.keys("a")
    wrong = str(int(right[0][1]) % 4 + 1)
    page.keys(*(right[0][0] + wrong + right[0][2:]))
    page.until(lambda: "r1c2" in page.one("#draw-faults").text)
    assert page.one("[data-cell=r1c2]").get_dom_attribute("aria-label").endswith(
        f"your answer {wrong}, which is not the puzzle's")
    page.one("[data-cell=r1c2]").click()
    page.keys(right[0][1])
    page.until(lambda: not page.one("#draw-faults").text)
    hand.studied()
    page.one("#paste-part summary").click()
    page.one("#paste").send_keys("\n".join(right[:3]))
    page.one("#paste-answer").click()
    assert "4 rows of 4" in page.one("#paste-said").text
    page.one("#paste").send_keys("\n" + right[3])
    page.one("#paste-answer").click()
    assert f"your answer {right[3][3]}" in page.one("[data-cell=r4c4]").get_dom_attribute("aria-label")


def test_rules_and_regions_are_set_by_name_and_undone(hand: Any) -> None:
    page = hand.page
    hand.new("attic", 9)
    hand.studied()
    page.one("#rules-part summary").click()
    page.driver.find_elements(By.CSS_SELECTOR, "#rule-boxes input")[0].click()
    assert hand.said() == "both diagonals: on"
    page.one("[data-cell=r1c1]").click()
    page.keys(Keys.SHIFT, Keys.ARROW_RIGHT, Keys.ARROW_RIGHT, Keys.NULL)
    hand.studied()
    page.one("#rule-add").click()
    assert page.one("#rule-list code").text == "odd: r1c1 r1c2 r1c3"
    assert len(page.driver.find_elements(By.CSS_SELECTOR, "#grid circle.tinted")) == 3
    hand.studied()
    page.one("#rule-list button").click()
    assert not page.driver.find_elements(By.CSS_SELECTOR, "#rule-list li")
    page.one("[data-tool=region]").click()
    hand.over([(1, 1), (1, 2), (1, 3), (1, 4)])
    assert hand.said() == "region of 10 cells"
    page.until(lambda: page.one("#draw-faults").text)
    for _ in range(5):
        page.one("#undo").click() if page.one("#undo").is_enabled() else None
    assert not page.driver.find_elements(By.CSS_SELECTOR, "#rule-boxes input:checked")
    assert page.one("#regions").get_property("value") == "usual"


def test_a_finger_draws_too(hand: Any) -> None:
    """Touches as the DevTools protocol sends them (Input.dispatchTouchEvent)."""
    page = hand.page
    page.size(390, 800)
    page.one("#switch [data-to=puzzles]").click()
    hand.new("attic", 6)
    hand.studied()
    scrolled = page.js("return document.querySelector('#draw').scrollTop")
    box = page.one("#grid").rect
    spots = [{"x": box["x"] + (column - 0.5) * box["width"] / 6, "y": box["y"] + (row - 0.5) * box["height"] / 6}
             for row, column in ((2, 1), (2, 2), (3, 2))]
    touches = [("touchStart", spots[:1]), ("touchMove", spots[1:2]), ("touchMove", spots[2:]), ("touchEnd", [])]
    for kind, points in touches:
        page.driver.execute_cdp_cmd("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    page.until(lambda: hand.said() == "cage of 3 cells, no sum yet")
    assert page.js("return document.querySelector('#draw').scrollTop") == scrolled


def test_without_the_token_there_is_nothing_to_draw_with(page: Any, address: str) -> None:
    page.js("sessionStorage.clear()")
    page.driver.get(address)
    page.until(lambda: page.shown() >= 1)
    assert not page.one("#new").is_displayed()
    page.one("tr[data-id=lamp] button").click()
    page.keys("d")
    assert not page.one("#grid").is_displayed() and not page.one("#draw-this").is_displayed()
