"""The book built from the page: by its button and its key, stopped, refused, and seen by a second page."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

Edit = Callable[[str, str, str], None]


def known(page: Any) -> str:
    """The number of the build that the page knows of, and how it goes or went."""
    return str(page.js("return document.documentElement.dataset.build ?? ''"))


def begin(page: Any, press: str = "document.querySelector('#build-go').click()") -> int:
    """Press the button; the number of the build, which is none that was before."""
    page.until(lambda: known(page))
    number = int(known(page).split()[0]) + 1
    page.js(press)
    return number


def ended(page: Any, number: int, *how: str) -> str:
    """Wait for a build to end in one of some ways; in which it did."""
    page.until(lambda: known(page) in [f"{number} {one}" for one in how])
    return known(page).split()[1]


def test_a_book_is_built_by_key_and_its_files_are_opened(page: Any) -> None:
    page.keys("b")
    assert page.one("#build-dialog").is_displayed() and page.one("#build-out").text == "out"
    page.until(lambda: page.one("#changes-said").text == "Never built here.")
    page.one("#build-press").click()
    number = begin(page, "")
    page.one("#build-go").click()
    first = page.driver.current_window_handle
    page.driver.switch_to.new_window("tab")
    page.driver.get(page.address)
    ended(page, number, "built")
    page.one("#build-open").click()
    assert page.driver.find_elements(By.CSS_SELECTOR, "#build-files a")
    log = page.js("return document.querySelector('#build-log pre').textContent")
    page.driver.close()
    page.driver.switch_to.window(first)
    ended(page, number, "built")
    assert log == page.js("return document.querySelector('#build-log pre').textContent")
    assert "checked: 4 of 7" in log and "read back: 7 of 7" in log
    assert page.one("#build-status").text.startswith("Built: ")
    links = page.driver.find_elements(By.CSS_SELECTOR, "#build-files > li > a")
    assert [one.text for one in links] == ["book.pdf", "book-press.pdf"]
    begins = page.driver.execute_async_script(
        "const done = arguments[1];"
        "fetch(arguments[0]).then((one) => one.text()).then((text) => done(text.slice(0, 5)))",
        links[0].get_dom_attribute("href"))
    assert begins == "%PDF-"
    assert "PDF/X-1a:2003" in page.one("#build-notes").text
    page.one("#build-close").click()
    assert page.js("return document.activeElement.id") != "build-dialog"


def test_what_has_changed_since_is_listed_with_ways_to_it(page: Any, edit: Edit) -> None:
    page.keys("b")
    ended(page, begin(page), "built")
    page.until(lambda: page.one("#changes-said").text == "Nothing has changed.")
    edit("puzzles/lamp.yaml", "size: 4", "size: 4\nnote: Mind the step.")
    edit("book.yaml", "  - title: Stairs", "  - title: Steps")
    page.until(lambda: all(word in page.one("#changes-list").text for word in ("lamp", "Steps", "8–9")))
    rows = page.js("return Object.fromEntries([...document.querySelectorAll('#changes-list > div')].map((row) => ("
                   "[row.querySelector('dt').innerText, row.querySelector('dd').innerText])))")
    assert rows["Puzzles"] == "lamp" and "section “Steps”" in rows["Texts"] and "8–9" in rows["Pages"]
    assert page.faults() == []
    page.js("document.querySelector('#changes-list dd button').click()")
    assert not page.one("#build-dialog").is_displayed()
    page.until(lambda: page.one("#detail-title").text == "1 Lamp")
    page.keys("b")
    page.until(lambda: page.js("""
        const buttons = [...document.querySelectorAll("#changes-list button")];
        const pages = buttons.find((one) => one.innerText === "8–9");
        if (pages) pages.click();
        return Boolean(pages);"""))
    page.until(lambda: page.one("#where").text == "Pages 8–9 of 24")


def test_a_build_is_stopped(page: Any) -> None:
    page.one("#build-open").click()
    page.one("#build-booklet").click()
    press = """
        const stop = document.querySelector("#build-stop");     // at once: what is kept is soon built
        const press = () => (stop.checkVisibility() ? stop.click() : setTimeout(press, 5));
        document.querySelector("#build-go").click();
        press();"""
    for _ in range(20):
        if ended(page, begin(page, press), "stopped", "built") == "stopped":
            break       # else the browser came too late
    assert page.one("#build-status").text == "Stopped: nothing was written"
    assert page.one("#build-go").is_enabled() and not page.one("#build-stop").is_displayed()


def test_axe_finds_nothing_in_any_state_of_a_build(
    page: Any, edit: Edit, without_sums: tuple[str, str, str],
) -> None:
    page.keys("b")
    assert page.faults_everywhere() == []
    page.js("const real = window.fetch; let first = true;"      # once it runs, the page hears no more of it
            "window.fetch = async (where, how) => {"
            "if (where !== '/build.json') return real(where, how);"
            "const said = await (await real(where, how)).json();"
            "if (said.state === 'running') { window.fetch = (other, more) => ("
            "other === '/build.json' ? new Promise(() => {}) : real(other, more)); }"
            "return new Response(JSON.stringify(said)); }")
    number = begin(page)
    page.until(lambda: page.one("#build-stop").is_displayed())
    assert page.faults_everywhere() == [] and page.one("#build-stop").is_displayed()
    page.load()
    ended(page, number, "built")
    page.keys("b")
    for summary in page.driver.find_elements(By.CSS_SELECTOR, "#build-dialog summary"):
        summary.click()
    assert page.faults_everywhere() == []
    edit(*without_sums)
    ended(page, begin(page), "refused")
    assert page.one("#build-status").text == "Not built: nothing was written, 1 fault to mend"
    assert page.faults_everywhere() == []
    assert page.js("return document.querySelector('#build-dialog').scrollWidth"
                   " <= document.querySelector('#build-dialog').clientWidth")
    page.one("#build-faults button").click()
    assert not page.one("#build-dialog").is_displayed()
    page.until(lambda: page.one("#detail-title").text.endswith("Lamp"))


def test_a_desk_for_reading_offers_no_build(page: Any, address: str) -> None:
    page.js("sessionStorage.clear()")
    page.driver.get(address)
    page.until(lambda: page.shown() >= 1)
    page.keys("b", Keys.NULL)
    assert not page.one("#build-open").is_displayed() and not page.one("#build-dialog").is_displayed()
