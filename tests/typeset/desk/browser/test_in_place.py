"""Puzzles that cannot be printed keep their places, and what is open says at once what its file has become."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

Edit = Callable[[str, str, str], None]
TOO_MUCH = "puzzles/lamp.yaml", "sum: 9, cells: r4c2", "sum: 99, cells: r4c2"


def stamps(page: Any) -> list[str]:
    return [one.text for one in page.driver.find_elements(By.CSS_SELECTOR, ".stamps button")]


def where(page: Any) -> dict[str, str]:
    """The page of each puzzle, as the list has it, shown or not."""
    rows: list[list[str]] = page.js("return [...document.querySelectorAll('tbody tr[data-id]')].map("
                                    "(row) => [row.dataset.id, row.lastElementChild.firstChild.textContent])")
    return dict(map(tuple, rows))


def test_puzzles_that_cannot_be_printed_keep_their_pages_and_say_why(
    page: Any, edit: Edit, without_sums: tuple[str, str, str],
) -> None:
    page.go("lamp")
    page.until(lambda: stamps(page) == [] and all(number.isdigit() for number in where(page).values()))
    before = where(page)
    edit(*without_sums)
    page.until(lambda: stamps(page) == ["lamp: two answers"])
    assert page.js("return document.querySelector('#spread .left img').classList.contains('pale')")
    edit(without_sums[0], without_sums[2], without_sums[1])
    edit(*TOO_MUCH)
    edit("puzzles/fork.yaml", "cages:", "cages: [")
    page.knows(lambda said: sorted(row["id"] for row in said["puzzles"] if row["state"] == "faulty")
               == ["fork", "lamp"])
    first, second = stamps(page)
    assert first == "lamp: faulty: cage 6 cannot add to 99: 3 different digits make 6 to 9"
    assert "fork: faulty: not YAML" in second
    assert where(page) == before
    named = page.driver.find_elements(By.CSS_SELECTOR, "#unsound button")
    assert sorted(one.text for one in named) == ["fork: faulty", "lamp: faulty"]
    assert page.one("#unsound strong").text == "2 puzzles cannot be printed as they stand"
    next(one for one in named if one.text.startswith("fork")).click()
    page.until(lambda: page.one("#detail-title").text == "2 Fork")
    page.driver.find_elements(By.CSS_SELECTOR, ".stamps button")[0].click()
    page.until(lambda: page.one("#detail-title").text == "1 Lamp")
    page.until(lambda: page.js("return document.querySelector('#work .grid').naturalWidth") > 0)
    alt = str(page.one("#spread .left img").get_dom_attribute("alt"))
    assert alt.endswith("; lamp cannot be printed: faulty; fork cannot be printed: faulty")


def test_axe_finds_nothing_where_puzzles_cannot_be_printed(page: Any, edit: Edit) -> None:
    edit(*TOO_MUCH)
    edit("puzzles/fork.yaml", "cages:", "cages: [")
    page.knows(lambda said: [row["state"] for row in said["puzzles"]].count("faulty") == 2)
    assert len(page.driver.find_elements(By.CSS_SELECTOR, "#unsound button")) == 2
    page.js("document.getElementById('goto').value = '8'; document.getElementById('jump').requestSubmit()")
    page.until(lambda: any(stamps(page)))
    assert page.faults_everywhere("pages") == []
    page.one(".stamps button").click()
    page.until(lambda: page.one("#detail").is_displayed())
    assert page.faults_everywhere("puzzles") == []
    page.keys(Keys.ESCAPE)


@pytest.mark.parametrize(("old", "new", "said"), [
    ("cages:", "cages: [", "puzzles/lamp.yaml:5: not YAML"),
    ("sum: 9, cells: r4c2", "sum: nine, cells: r4c2", "sum"),
])
def test_a_file_that_breaks_under_a_drawing_is_said_at_once_and_the_drawing_stays(
    hand: Any, edit: Edit, old: str, new: str, said: str,
) -> None:
    page = hand.page
    hand.open("lamp")
    hand.settled("One answer")
    page.one("[data-cell=r1c3]").click()
    page.keys("5", Keys.ENTER)
    hand.settled("No answer")
    hand.studied()
    label = str(page.one("[data-cell=r1c3]").get_dom_attribute("aria-label")).removesuffix(", at fault")
    edit("puzzles/lamp.yaml", old, new)
    page.until(lambda: page.one("#draw-broken").is_displayed())
    assert said in page.one("#draw-broken").text and "can be saved once the file is whole" in page.one(
        "#draw-broken").text
    assert hand.verdict() == "! Its file cannot be read now" and not page.one("#save").is_enabled()
    assert page.faults() == []
    page.one("#undo").click()
    page.until(lambda: "sum 6" in page.one("[data-cell=r1c3]").get_dom_attribute("aria-label"))
    page.until(hand.judged)
    assert hand.verdict() == "! Its file cannot be read now", "also of what is drawn meanwhile"
    page.one("#redo").click()
    edit("puzzles/lamp.yaml", new, old)
    hand.settled("No answer")
    assert not page.one("#draw-broken").is_displayed() and page.one("#save").is_enabled()
    assert page.one("[data-cell=r1c3]").get_dom_attribute("aria-label").startswith(label)
    page.one("#undo").click()
    hand.settled("One answer")
    page.one("#draw-close").click()
