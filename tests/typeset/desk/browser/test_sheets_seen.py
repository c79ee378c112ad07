"""Cover, press sheets and booklet in the page, by its choice and by the keyboard."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from selenium.webdriver.common.keys import Keys

Edit = Callable[[str, str, str], None]
COVER = "  solutions: full\n  cover: {caliper: 0.5, blurb: Four doors and a stair.}\n  press: {marks: true}\n"
BARE = "  solutions: full\n  cover: {spine_text: true, spine: 2}\n"


def at(page: Any, kind: str, number: int) -> None:
    shown = "return document.documentElement.dataset.sheet"
    page.until(lambda: str(page.js(shown)).startswith(f"{kind} {number} "))
    page.until(lambda: page.js("return document.querySelector('#sheet-picture').naturalWidth") > 0)


def test_sheets_are_turned_by_the_keyboard_alone(page: Any, edit: Edit) -> None:
    edit("book.yaml", "  solutions: full\n", COVER)
    page.until(lambda: page.js("return fetch('/sheets.json').then((one) => one.json()).then((one) => one.cover)"))
    page.knows(lambda said: said["fresh"])
    page.go("8")
    page.until(lambda: page.one("#where").text.startswith("Pages 8–9"))
    page.keys("v")
    at(page, "cover", 1)
    alt = str(page.one("#sheet-picture").get_dom_attribute("alt"))
    assert "a spine of 6.0 mm" in alt and "Four doors and a stair" in alt
    notes = page.one("#sheet-notes").text
    assert "Spine 6.00 mm · flat 302 × 210 mm" in notes and "ask the printer" in notes
    assert "A printer’s own specification counts for more" in notes
    assert not page.one("#table").is_displayed() and not page.one("#thumbs").is_displayed()
    page.keys("o")
    spine, sheet = page.one("#sheet .spine").rect, page.one(".paper-sheet").rect
    assert spine["width"] / sheet["width"] == pytest.approx(6 / (302 + 2 * 10.175), rel=0.05)
    assert spine["x"] + spine["width"] / 2 == pytest.approx(sheet["x"] + sheet["width"] / 2, abs=1)
    page.keys("o", "v")
    at(page, "press", 8)
    page.keys(Keys.ARROW_RIGHT)
    at(page, "press", 9)
    assert page.one("#where").text == "Press sheet 9 of 24"
    assert "with crop and registration marks" in page.one("#sheet-picture").get_dom_attribute("alt")
    page.keys(Keys.END)
    at(page, "press", 24)
    page.keys("v")
    at(page, "booklet", 1)
    assert page.one("#sheet-picture").get_dom_attribute("alt") == "Side 1 of sheet 1 of a4: page 24 and page 1"
    page.one("#on").click()
    at(page, "booklet", 2)
    edit("puzzles/lamp.yaml", "title: Lamp", "title: Lantern")
    page.knows(lambda said: "Lantern" in {row["title"] for row in said["puzzles"]})
    at(page, "booklet", 2)
    page.keys("v")
    assert page.one("#table").is_displayed()
    page.until(lambda: page.one("#where").text.startswith("Pages 8–9"))
    edit("book.yaml", COVER, BARE)
    page.keys("v")
    page.until(lambda: "book.yaml:" in page.one("#sheet-notes").text)
    assert "too thin for text" in page.one("#sheet-notes").text and page.one("#where").text == "No cover"
    edit("book.yaml", BARE, "  solutions: full\n")
    page.until(lambda: page.one("#table").is_displayed())


def test_axe_finds_nothing_where_sheets_are_shown(page: Any, edit: Edit) -> None:
    edit("book.yaml", "  solutions: full\n", COVER)
    page.until(lambda: page.js("return fetch('/sheets.json').then((one) => one.json()).then((one) => one.cover)"))
    page.knows(lambda said: said["fresh"])
    for kind, number in (("cover", 1), ("press", 1), ("booklet", 1)):
        page.keys("v")
        at(page, kind, number)
        assert page.faults_everywhere("pages") == []
        for width in (390, 1024, 1440):
            page.size(width, 800)
            sheet, room = page.one(".paper-sheet").rect, page.one("#sheet").rect
            assert sheet["width"] > 100 and sheet["x"] >= room["x"]
            assert sheet["x"] + sheet["width"] <= room["x"] + room["width"] + 1
