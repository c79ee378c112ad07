"""The page in a real browser, by the keyboard and the mouse: Chromium without a window, driven by selenium."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

Edit = Callable[[str, str, str], None]


def test_a_save_changes_the_page_it_touches_and_no_other(page: Any, edit: Edit) -> None:
    page.go("lamp")
    images = page.driver.find_elements(By.CSS_SELECTOR, "#spread img")
    page.until(lambda: any("Lamp" in str(img.get_attribute("alt")) for img in images))
    here = ["Lamp" in str(img.get_attribute("alt")) for img in images]
    before = page.pages()
    edit("puzzles/lamp.yaml", "size: 4", "size: 4\nnote: Mind the step.")
    page.until(lambda: page.pages() != before)
    assert [one != other for one, other in zip(page.pages(), before, strict=True)] == here
    edit("puzzles/lamp.yaml", "\nnote: Mind the step.", "")
    page.until(lambda: page.pages() == before)


def test_a_path_is_walked_by_the_keyboard_alone(page: Any, book: Path) -> None:
    done = subprocess.run([sys.executable, "-m", "cagework.typeset", "explain", "--json", str(book), "hall"],
                          capture_output=True, text=True, check=False)
    steps = json.loads(done.stdout)["steps"]
    page.keys("/")
    page.keys("hall", *[Keys.TAB] * 4)      # past state, grade and what makes a new puzzle, into the list
    page.keys(Keys.ARROW_DOWN)
    page.keys(Keys.ENTER)
    page.until(lambda: page.driver.find_elements(By.CSS_SELECTOR, "#work .grid[src]"))
    pictures = []
    for number, step in enumerate(steps, 1):
        page.until(lambda: f"steps/{number - 1}.svg" in str(page.one(".grid").get_dom_attribute("src")))  # noqa: B023
        assert page.one("#work .where").text == f"Step {number} of {len(steps)}"
        assert step["text"] in page.one(".words").text and "proved" in page.one(".words").text
        pictures.append(page.one(".grid").get_dom_attribute("src"))
        page.until(lambda: page.js("return document.querySelector('.grid').naturalWidth") > 0)
        page.keys(Keys.ARROW_RIGHT)
    assert page.one("#work .where").text == "The end" and len(set(pictures)) == len(steps)
    page.keys("a")
    assert page.one("#work .where").text == "Answer"
    page.keys("a", Keys.HOME)
    assert page.one("#work .where").text == f"Step 1 of {len(steps)}"
    page.keys(Keys.ESCAPE)
    assert page.driver.switch_to.active_element.text.startswith("hall"), "back where one was in the list"


def test_a_broken_manifest_is_said_on_top_and_the_book_stays(page: Any, edit: Edit) -> None:
    page.go("lamp")
    before = page.pages()
    edit("book.yaml", "  - title: Stairs", "  - titel: Stairs")
    page.until(lambda: page.one("#faults").is_displayed())
    said = page.one("#faults").text
    assert "book.yaml:8:5" in said and "titel" in said and "did you mean title?" in said and "^^^^^" in said
    assert "last book" in page.one("#faults-head").text
    assert page.pages() == before
    assert page.one("#faults").location["y"] < page.one("#spread").location["y"]
    edit("book.yaml", "titel: Stairs", "title: Steps")
    page.until(lambda: not page.one("#faults").is_displayed())


def test_an_unsound_puzzle_shows_its_cells_and_repairs(
    page: Any, edit: Edit, without_sums: tuple[str, str, str],
) -> None:
    edit(*without_sums)
    page.until(lambda: "two answers" in page.one("tr[data-id=lamp]").text)
    page.until(lambda: "1 cannot be printed" in page.one("#status").text)
    page.one("tr[data-id=lamp]").click()
    page.until(lambda: page.driver.find_elements(By.CSS_SELECTOR, "#work .why"))
    said = page.one("#work").text
    assert "4 cells can swap their digits" in said and "leaves one answer, as proved" in said
    assert len(page.driver.find_elements(By.CSS_SELECTOR, "#work .parts li")) >= 1
    page.until(lambda: page.js("return document.querySelector('#work .grid').naturalWidth") > 0)


def test_the_list_is_filtered_and_sorted(page: Any) -> None:
    def ids() -> list[str | None]:
        rows = page.driver.find_elements(By.CSS_SELECTOR, "tbody tr[data-id]")
        return [row.get_dom_attribute("data-id") for row in rows]

    assert ids() == ["lamp", "fork", "hall", "loft"]
    page.one("th[data-key=id] button").click()
    assert ids() == ["fork", "hall", "lamp", "loft"]
    page.one("th[data-key=score] button").click()
    page.one("th[data-key=score] button").click()
    scores = [float(cell.text) for cell in page.driver.find_elements(By.CSS_SELECTOR, "tbody td:nth-child(5)")]
    assert scores == sorted(scores, reverse=True) and len(set(scores)) > 1
    assert page.one("th[data-key=score]").get_dom_attribute("aria-sort") == "descending"
    page.one("#words").send_keys("lo")
    assert ids() == ["loft"] and page.one("#count").text == "1 of 4"
    counts = page.driver.find_elements(By.CSS_SELECTOR, "#histogram .many")
    assert sum(int(count.text) for count in counts) == 4
    assert len(page.driver.find_elements(By.CSS_SELECTOR, "#curve circle")) == 4


def test_spreads_lie_as_they_will_with_the_marks_asked_for(page: Any) -> None:
    assert page.pages()[0] is None and page.pages()[1], "page 1 lies alone on the right"
    page.keys("g")
    page.keys("7", Keys.ENTER)
    page.until(lambda: page.one("#where").text.startswith("Pages 6–7 of"))
    assert all(page.pages())
    left, right = (leaf.rect for leaf in page.driver.find_elements(By.CSS_SELECTOR, "#spread .paper"))
    assert left["x"] + left["width"] == pytest.approx(right["x"], abs=1)
    assert left["width"] / left["height"] == pytest.approx(148 / 210, abs=0.005)
    shown = """
        const img = document.querySelector("#spread .left img"), box = img.getBoundingClientRect();
        const cut = getComputedStyle(img).clipPath.match(/[0-9.]+px/g).map(parseFloat), [top, right, low, left] =
            {1: [0, 0, 0, 0], 4: [0, 1, 2, 3]}[cut.length].map((at) => cut[at]);
        return [box.left + left, box.right - right, box.top + top, box.bottom - low];"""
    trimmed = [left["x"], left["x"] + left["width"], left["y"], left["y"] + left["height"]]
    assert page.js(shown) == pytest.approx(trimmed, abs=1), "of the picture, the trimmed page alone is seen"
    page.keys("o")
    mm = left["width"] / 148
    out = [trimmed[0] - 3 * mm, trimmed[1], trimmed[2] - 3 * mm, trimmed[3] + 3 * mm]
    assert page.js(shown) == pytest.approx(out, abs=1), "what bleeds is seen, but not across the spine"
    trim, bleed, safety, gutter = (
        page.one(f"#spread .left .{kind}").rect for kind in ("trim", "bleed", "safety", "gutter"))
    assert trim["width"] == pytest.approx(left["width"], abs=1)
    assert bleed["x"] == pytest.approx(left["x"] - 3 * mm, abs=1)
    assert bleed["x"] + bleed["width"] == pytest.approx(right["x"], abs=1), "no bleed into the spine"
    assert safety["x"] == pytest.approx(left["x"] + 5 * mm, abs=1)
    assert gutter["x"] + gutter["width"] == pytest.approx(right["x"], abs=1)
    page.keys("o")
    assert not page.one("#spread .left .trim").is_displayed()


@pytest.mark.parametrize("width", [360, 768, 1440])
def test_nothing_is_wider_than_the_window(page: Any, width: int) -> None:
    page.size(width, 800)
    for view in ("pages", "puzzles"):
        if width <= 900:
            page.one(f"#switch [data-to={view}]").click()
        assert page.js("return document.documentElement.scrollWidth") <= width
        assert page.one("#table" if view == "pages" else "#rows").is_displayed()


def test_axe_finds_nothing(page: Any, edit: Edit, without_sums: tuple[str, str, str]) -> None:
    """In every state of the page."""
    assert page.faults_everywhere("pages") == []
    page.one("tr[data-id=loft]").click()
    page.until(lambda: page.driver.find_elements(By.CSS_SELECTOR, "#work .grid[src]"))
    page.one(".all summary").click()
    assert page.faults_everywhere("puzzles") == []
    page.keys("?")
    assert page.faults_everywhere() == []
    page.keys(Keys.ESCAPE)
    page.keys(Keys.ESCAPE)
    edit("book.yaml", "  - title: Stairs", "  - titel: Stairs")
    edit(*without_sums)
    page.until(lambda: page.one("#faults").is_displayed())
    page.until(lambda: "two answers" in page.one("tr[data-id=lamp]").text)
    assert page.faults_everywhere("puzzles") == []


def test_what_the_score_says_is_had_by_mouse_and_by_keyboard(page: Any) -> None:
    said = page.js("return document.getElementById('score-says').textContent")
    assert "hardest step" in said
    assert page.one("#rows [data-key=score] button").get_dom_attribute("title") == said
    assert not page.one("#score-says").is_displayed()
    page.js("document.querySelector('#score-key summary').focus()")
    page.keys(Keys.ENTER)
    page.until(lambda: page.one("#score-says").is_displayed())
    page.keys(Keys.ENTER)
    page.until(lambda: not page.one("#score-says").is_displayed())
