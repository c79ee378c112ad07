"""Help: the manual in the page, by the keyboard alone."""

from __future__ import annotations

from typing import Any

from selenium.webdriver.common.keys import Keys


def follow(page: Any, address: str, title: str) -> None:
    page.one(f"#manual-page a[href$='{address}']").send_keys(Keys.ENTER)
    page.until(lambda: page.one("#manual-title").text == title)


def test_the_manual_is_read_in_the_page(page: Any, pictures: Any) -> None:
    words, said = pictures.words_of_desk(), page.js("return document.body.textContent")
    assert len(words) > 12 and [word for word in words if word not in said] == [], "make its picture again"
    page.keys("h")
    page.until(lambda: page.one("#manual-title").text == "The manual")
    assert page.one("#manual").get_dom_attribute("lang") == "en"
    assert page.js("return document.activeElement.id") == "manual-title"
    follow(page, "/keys.html", "Every key")
    page.one("#manual-page a[href='#at-cover-keys']").send_keys(Keys.ENTER)
    page.until(lambda: page.js("return document.activeElement.id") == "at-cover-keys")
    top, window = page.js("return document.activeElement.getBoundingClientRect().y"), page.one("#manual-page").rect
    assert window["y"] - 1 <= top < window["y"] + window["height"]
    page.js("document.querySelector('#manual-index').focus()")
    page.keys(Keys.ENTER)
    page.until(lambda: page.one("#manual-title").text == "The manual")
    follow(page, "/layouts.html", "Layouts")
    assert page.faults() == []
    page.size(390, 800)
    assert page.js("return document.documentElement.scrollWidth") <= 390
    assert page.js("return document.querySelector('#manual-page').scrollWidth") <= 390
    page.keys(Keys.ESCAPE)
    page.until(lambda: not page.one("#manual").is_displayed())
    page.size(1440, 900)
    page.keys("h")
    assert page.one("#manual-title").text == "Layouts", "it opens where the reader was"
