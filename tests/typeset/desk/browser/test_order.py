"""Puzzles put in order in the list: by mouse, finger and keyboard alone, between sections, and back again."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

Edit = Callable[[str, str, str], None]
BOXES = "return arguments[0].map((css) => document.querySelector(css).getBoundingClientRect().toJSON())"
COMMENTED = "\n    - hall  # cold\n    # high\n    - loft"


def listed(page: Any) -> list[str]:
    """What the list shows: headings of sections, and ids."""
    found: list[str] = page.js("""return [...document.querySelectorAll("#rows tbody tr")]
        .map((row) => row.dataset.id ?? row.innerText.trim())""")
    return found


def saved(book: Path) -> list[list[str]]:
    """By PyYAML alone."""
    return [one["puzzles"] for one in yaml.safe_load(book.read_text(encoding="utf-8"))["sections"]]


def numbered(page: Any) -> None:
    """Wait for the book to be read again: its puzzles have the numbers of their places by then."""
    def counted(said: dict[str, Any]) -> bool:
        numbers = {row["id"]: row["number"] for row in said["puzzles"]}
        groups = [([numbers[one] for one in group["ids"]], group["graded"]) for group in said["order"]["groups"]
                  if not group["loose"]]
        found = [one for group, graded in groups for one in (sorted(group) if graded else group)]
        return bool(said["fresh"]) and found == list(range(1, len(found) + 1))

    page.knows(counted)


def held(page: Any) -> str:
    return str(page.js("return document.activeElement.closest('tr')?.dataset.id"))


def press(page: Any, held: str, key: str) -> None:
    """A key with another held, wherever the focus is, though the page puts another row in place meanwhile."""
    ActionChains(page.driver).key_down(held).send_keys(key).key_up(held).perform()


def drag(page: Any, name: str, to: str, share: float, *, hold: bool = False, by: str = ".name") -> None:
    """Drag a row by the mouse to a share of another's height."""
    start, goal = page.js(BOXES, [f"tr[data-id={name}] {by}", to])
    chain = ActionChains(page.driver, duration=0)
    pointer = chain.w3c_actions.pointer_action
    x = round(start["x"] + 12)
    pointer.move_to_location(x, round(start["y"] + start["height"] / 2))
    pointer.pointer_down()
    pointer.move_to_location(x + 9, round(start["y"] + start["height"] / 2 + 9))
    pointer.move_to_location(x, round(goal["y"] + goal["height"] * share))
    if not hold:
        pointer.pointer_up()
    chain.perform()


@pytest.fixture
def page(page: Any, book: Path) -> Iterator[Any]:
    """The list of puzzles, in the order of the book, which is put back as it was."""
    before = book.read_bytes()
    page.until(lambda: listed(page) == ["Ground floor", "lamp", "fork", "Stairs", "hall", "loft"])
    yield page
    book.write_bytes(before)


def test_a_row_is_dragged_within_its_section_and_into_another(page: Any, book: Path, edit: Edit) -> None:
    edit("book.yaml", "[hall, loft]", COMMENTED)
    edit("book.yaml", "Four Doors", "Five Doors")
    before = book.read_text(encoding="utf-8")
    page.knows(lambda said: said["title"] == "Five Doors")
    drag(page, "loft", "tr[data-id=hall]", 0.2)
    page.until(lambda: saved(book)[1] == ["loft", "hall"])
    page.until(lambda: page.one("#moved-said").text == "loft is 1 of 2 in Stairs")
    assert not page.one("#detail").is_displayed(), "a drag is no press"
    page.one("#move-back").click()
    page.until(lambda: book.read_text(encoding="utf-8") == before)
    page.until(lambda: not page.one("#move-back").is_displayed())
    assert page.js("return document.activeElement.id") == "move-again", "the next to press"
    page.one("#move-again").click()
    page.until(lambda: saved(book)[1] == ["loft", "hall"])
    page.until(lambda: page.one("#move-back").is_displayed() and not page.one("#move-again").is_displayed())
    page.one("#move-back").click()
    page.until(lambda: book.read_text(encoding="utf-8") == before)
    page.until(lambda: listed(page) == ["Ground floor", "lamp", "fork", "Stairs", "hall", "loft"])
    numbered(page)
    drag(page, "fork", "tr[data-id=hall]", 0.8, by=".number")
    page.until(lambda: saved(book) == [["lamp"], ["hall", "fork", "loft"]])
    assert book.read_text(encoding="utf-8") == before.replace("[lamp, fork]", "[lamp]").replace(
        "# cold\n", "# cold\n    - fork\n")
    page.until(lambda: listed(page) == ["Ground floor", "lamp", "Stairs", "hall", "fork", "loft"])
    page.until(lambda: page.one("tr[data-id=fork] td.number").text == "3")
    numbered(page)
    drag(page, "fork", "tr.section[data-group='1']", 0.2)       # on a heading: after all that is above it
    page.until(lambda: book.read_text(encoding="utf-8") == before)
    page.until(lambda: page.one("tr[data-id=fork] td.number").text == "2")
    numbered(page)
    drag(page, "lamp", "tr[data-id=loft]", 0.8, hold=True)
    assert page.driver.find_elements(By.CSS_SELECTOR, "tr.drop-after[data-id=loft]")
    page.keys(Keys.ESCAPE)
    assert not page.driver.find_elements(By.CSS_SELECTOR, ".dragging, .drop-after, .moving")
    ActionChains(page.driver).release().perform()
    page.one("tr[data-id=lamp] button").click()
    assert page.one("#detail").is_displayed() and book.read_text(encoding="utf-8") == before


def test_a_puzzle_is_moved_by_keys_alone_and_keeps_the_focus(page: Any, book: Path) -> None:
    before = book.read_bytes()
    page.js("document.querySelector('tr[data-id=lamp] button').focus()")

    def step(key: str, said: str, *wanted: list[str]) -> None:
        press(page, Keys.ALT, key)
        page.until(lambda: page.one("#moved-said").text == said)
        assert saved(book) == list(wanted) and held(page) == "lamp"

    step(Keys.ARROW_UP, "lamp is the first already", ["lamp", "fork"], ["hall", "loft"])
    step(Keys.ARROW_DOWN, "lamp is 2 of 2 in Ground floor", ["fork", "lamp"], ["hall", "loft"])
    step(Keys.ARROW_DOWN, "lamp is 1 of 3 in Stairs", ["fork"], ["lamp", "hall", "loft"])
    step(Keys.ARROW_DOWN, "lamp is 2 of 3 in Stairs", ["fork"], ["hall", "lamp", "loft"])
    page.until(lambda: page.one("tr[data-id=lamp] td.number").text == "3")       # the book was read again
    assert held(page) == "lamp" and listed(page) == ["Ground floor", "fork", "Stairs", "hall", "lamp", "loft"]
    ActionChains(page.driver).send_keys(Keys.ARROW_UP).perform()
    assert held(page) == "hall"
    press(page, Keys.CONTROL, "z")
    page.until(lambda: page.one("#moved-said").text == "undone: lamp is 1 of 2 in Ground floor")
    assert book.read_bytes() == before, "steps in one go are one move"
    press(page, Keys.CONTROL, "z")
    page.until(lambda: page.one("#moved-said").text == "no move to undo")
    ActionChains(page.driver).key_down(Keys.CONTROL).key_down(Keys.SHIFT).send_keys("z").key_up(
        Keys.SHIFT).key_up(Keys.CONTROL).perform()
    page.until(lambda: page.one("#moved-said").text == "done again: lamp is 2 of 3 in Stairs")
    assert saved(book) == [["fork"], ["hall", "lamp", "loft"]]
    press(page, Keys.CONTROL, "y")
    page.until(lambda: page.one("#moved-said").text == "no move to redo")


def test_keys_that_come_faster_than_the_book_is_read_are_all_heard(page: Any, book: Path) -> None:
    """Each answer of the state comes late, so that it knows nothing of the moves made meanwhile."""
    before = book.read_bytes()
    page.js("const real = window.fetch; window.fetch = async (where, how) => {"
            "const said = await real(where, how);"
            "if (where === '/state.json') await new Promise((on) => setTimeout(on, 400)); return said; }")
    page.js("document.querySelector('tr[data-id=lamp] button').focus()")
    for _ in range(5):
        for key in (*[Keys.ARROW_DOWN] * 3, *[Keys.ARROW_UP] * 2):
            press(page, Keys.ALT, key)
        page.until(lambda: saved(book) == [["fork", "lamp"], ["hall", "loft"]])
        page.until(lambda: page.one("#moved-said").text == "lamp is 2 of 2 in Ground floor")
        assert held(page) == "lamp"
        press(page, Keys.ALT, Keys.ARROW_UP)
        page.until(lambda: book.read_bytes() == before)


def test_a_section_and_a_place_are_chosen(page: Any, book: Path) -> None:
    page.js("document.querySelector('tr[data-id=loft] button').focus()")
    page.keys("m")
    page.until(lambda: page.one("#move-dialog").is_displayed())
    assert page.faults() == []
    page.keys(Keys.ARROW_UP, Keys.TAB)
    names = [one.text for one in page.driver.find_elements(By.CSS_SELECTOR, "#move-place option")]
    assert names == ["first", "after lamp", "after fork"]
    page.keys(Keys.ARROW_UP, Keys.TAB, Keys.TAB, Keys.ENTER)
    page.until(lambda: saved(book) == [["lamp", "loft", "fork"], ["hall"]])
    page.until(lambda: page.one("#moved-said").text == "loft is 2 of 3 in Ground floor")
    assert held(page) == "loft"
    ActionChains(page.driver).send_keys(Keys.ENTER).perform()
    assert page.one("#detail").is_displayed()
    page.one("#move-this").click()
    page.one("#move-group option:last-child").click()
    page.one("#move-do").click()
    page.until(lambda: saved(book) == [["lamp", "fork"], ["hall"]])
    page.until(lambda: page.one("#moved-said").text == "loft is in no section, so it is left out of the book")
    page.keys(Keys.ESCAPE)
    page.until(lambda: listed(page)[-2:] == ["In no section, so left out of the book", "loft"])
    assert page.faults() == []


def test_a_section_by_grade_says_why_it_has_no_other_order(page: Any, book: Path, edit: Edit) -> None:
    edit("book.yaml", "[hall, loft]", "[loft, hall]\n    order: grade")
    page.until(lambda: "Stairs, by grade" in listed(page))
    numbered(page)
    before = book.read_bytes()
    assert listed(page)[4:] == ["hall", "loft"], "as the book has them, and not as they are listed"
    page.js("document.querySelector('tr[data-id=hall] button').focus()")
    press(page, Keys.ALT, Keys.ARROW_DOWN)
    page.until(lambda: page.one("#moved-said").text == "Stairs stands in order of grade, easiest first")
    drag(page, "loft", "tr[data-id=hall]", 0.2)
    page.until(lambda: page.one("#moved-said").text.startswith("Stairs stands"))
    assert book.read_bytes() == before
    page.js("document.querySelector('tr[data-id=hall] button').focus()")
    press(page, Keys.ALT, Keys.ARROW_UP)
    page.until(lambda: saved(book) == [["lamp", "fork", "hall"], ["loft"]])
    page.until(lambda: page.one("#moved-said").text == "hall is 3 of 3 in Ground floor")
    page.one("th[data-key=score] button").click()
    assert page.driver.find_elements(By.CSS_SELECTOR, "#rows tr.section") == []
    page.js("document.querySelector('tr[data-id=hall] button').focus()")
    press(page, Keys.ALT, Keys.ARROW_UP)
    assert "another order" in page.one("#moved-said").text and not page.one(".grip").is_displayed()


def test_a_finger_moves_a_puzzle_by_its_grip(page: Any, book: Path) -> None:
    """Touches as the DevTools protocol sends them (Input.dispatchTouchEvent)."""
    page.size(390, 800)
    page.one("#switch [data-to=puzzles]").click()

    def touch(*rows: str) -> None:
        grip, *boxes = page.js(BOXES, ["tr[data-id=lamp] .grip", *rows])
        spots = [{"x": grip["x"] + 8, "y": box["y"] + box["height"] * share}
                 for box, share in zip(boxes, (0.5, 0.6, 0.8), strict=False)]
        moves = [("touchMove", [spot]) for spot in spots[1:]]
        for kind, points in [("touchStart", spots[:1]), *moves, ("touchEnd", [])]:
            page.driver.execute_cdp_cmd("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})

    touch("tr[data-id=lamp] .grip", "tr[data-id=fork]", "tr[data-id=hall]")
    page.until(lambda: saved(book) == [["fork"], ["hall", "lamp", "loft"]])
    page.until(lambda: page.one("tr[data-id=lamp] td.number").text == "3")
    touch("tr[data-id=lamp] .grip")
    page.until(lambda: page.one("#move-dialog").is_displayed())
    page.one("#move-cancel").click()
    assert saved(book) == [["fork"], ["hall", "lamp", "loft"]]


def test_a_manifest_that_was_changed_meanwhile_is_not_written(page: Any, book: Path) -> None:
    page.js("const real = window.fetch;"        # the page hears of nothing, as where the watcher is slow
            "window.fetch = (where, how) => (where === '/state.json' ? new Promise(() => {}) : real(where, how))")
    book.write_bytes(book.read_bytes() + b"# somebody else\n")
    before = book.read_bytes()
    drag(page, "lamp", "tr[data-id=loft]", 0.8)
    page.until(lambda: "changed since" in page.one("#moved-said").text)
    assert book.read_bytes() == before and listed(page)[1] == "lamp"


def test_axe_finds_nothing_when_a_puzzle_was_moved(page: Any, book: Path) -> None:
    drag(page, "lamp", "tr[data-id=loft]", 0.8)
    page.until(lambda: page.one("#move-back").is_displayed())
    assert page.faults_everywhere("puzzles") == []
    for width in (1440, 1024, 390):
        page.size(width, 800)
        assert page.js("const one = document.querySelector('#rows'); return one.scrollWidth <= one.clientWidth")
    page.size(1440, 900)
    page.one("#move-back").click()
    page.until(lambda: page.one("#move-again").is_displayed())
    assert page.faults_everywhere("puzzles") == []


def test_without_the_token_nothing_can_be_moved(page: Any, address: str, book: Path) -> None:
    before = book.read_bytes()
    page.js("sessionStorage.clear()")
    page.driver.get(address)
    page.until(lambda: page.shown() >= 1)
    assert listed(page)[0] == "Ground floor" and page.driver.find_elements(By.CSS_SELECTOR, ".grip") == []
    drag(page, "lamp", "tr[data-id=loft]", 0.8)
    page.js("document.querySelector('tr[data-id=lamp] button').focus()")
    press(page, Keys.ALT, Keys.ARROW_DOWN)
    page.keys("m")
    press(page, Keys.CONTROL, "z")
    assert not page.one("#move-dialog").is_displayed() and page.one("#moved-said").text == ""
    page.one("tr[data-id=lamp] button").click()
    assert not page.one("#move-this").is_displayed() and book.read_bytes() == before
