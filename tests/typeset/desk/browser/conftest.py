"""Chromium without a window, driven by selenium: the desk as an editor has it, and a hand that draws there."""

from __future__ import annotations

import json
import os
import re
import shutil
import urllib.request
from collections.abc import Callable, Iterable, Iterator
from importlib.resources import files
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from selenium import webdriver
from selenium.common.exceptions import StaleElementReferenceException, TimeoutException
from selenium.webdriver.common.action_chains import ActionChains
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys
from selenium.webdriver.remote.webelement import WebElement
from selenium.webdriver.support.ui import WebDriverWait

Spot = tuple[int, int]
ARROWS = {(0, 1): Keys.ARROW_RIGHT, (0, -1): Keys.ARROW_LEFT, (1, 0): Keys.ARROW_DOWN, (-1, 0): Keys.ARROW_UP}
WIDTHS = (1440, 1024, 390)
FAR = """
    const wide = document.documentElement.scrollWidth > innerWidth ? ["the page"] : [];
    const box = document.querySelector("#draw").getBoundingClientRect();
    return [...wide, ...[...document.querySelectorAll("#draw *")].filter((one) => one.checkVisibility()
        && !one.closest("svg, .unseen") && one.getBoundingClientRect().right > box.right + 1)
        .map((one) => one.id || one.className)];"""
FRAMES = """
    const done = arguments[1];
    const wait = () => (innerWidth === arguments[0]
        ? requestAnimationFrame(() => requestAnimationFrame(done)) : requestAnimationFrame(wait));
    wait();"""
SPREAD = """
    const shown = [...document.querySelectorAll("#spread img")];
    const [first, last] = document.querySelector("#where").textContent.match(/[0-9]+/g).map(Number);
    const pages = document.querySelector("#where").textContent.includes("–") ? [first, last]
        : [first % 2 ? null : first, first % 2 ? first : null];
    return shown.every((one, side) => (pages[side] === null ? true
        : one.getAttribute("src")?.startsWith(`/pages/${pages[side]}/`) && one.naturalWidth > 0));"""
FLAGS = ("--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
         "--disable-background-networking", "--disable-component-update", "--disable-sync")


class Page:
    """The desk in the browser, with the few things the tests do to it."""

    def __init__(self, driver: webdriver.Chrome, address: str) -> None:
        self.driver = driver
        self.address = address
        self.size(1440, 900)
        self.colours("light")
        driver.get(address.replace("/?", "/static/icon.svg?"))
        self.js("sessionStorage.clear(); localStorage.clear()")     # what an earlier test has drawn and chosen
        self.load()

    def load(self) -> None:
        self.driver.get("about:blank")
        self.driver.get(self.address)
        self.until(lambda: self.shown() >= 1)

    def size(self, width: int, height: int) -> None:
        self.driver.execute_cdp_cmd("Emulation.setDeviceMetricsOverride", {
            "width": width, "height": height, "deviceScaleFactor": 1, "mobile": False})
        self.driver.execute_async_script(FRAMES, width)     # type: ignore[no-untyped-call]  # all is laid out anew

    def colours(self, scheme: str) -> None:
        self.driver.execute_cdp_cmd("Emulation.setEmulatedMedia", {
            "features": [{"name": "prefers-color-scheme", "value": scheme}]})

    def js(self, code: str, *arguments: object) -> Any:
        return self.driver.execute_script(code, *arguments)      # type: ignore[no-untyped-call]

    def until(self, true: Callable[[], object]) -> None:
        # The page may put another element in place between finding one and reading it.
        waits = WebDriverWait(self.driver, 200, 0.05, (StaleElementReferenceException,))
        try:
            waits.until(lambda _: true())
        except TimeoutException:
            said = self.js("return document.body.innerText")
            raise AssertionError(f"waited in vain; the page says:\n{said}") from None

    def knows(self, holds: Callable[[dict[str, Any]], object]) -> None:
        """Wait for the desk to say something that holds, and for the page to have taken that in."""
        def known() -> bool:
            with urllib.request.urlopen(f"{self.address.split('?')[0]}state.json", timeout=600) as answer:
                said = json.load(answer)
            return bool(holds(said)) and self.shown() >= said["number"]

        self.until(known)

    def one(self, css: str) -> WebElement:
        return self.driver.find_element(By.CSS_SELECTOR, css)

    def keys(self, *keys: str) -> None:
        self.driver.switch_to.active_element.send_keys(*keys)

    def shown(self) -> int:
        return int(self.js("return document.documentElement.dataset.shown ?? 0"))

    def pages(self) -> list[str | None]:
        """The pictures of the spread that is open, once they are those of its pages."""
        self.until(lambda: self.js(SPREAD))
        return [img.get_dom_attribute("src") for img in self.driver.find_elements(By.CSS_SELECTOR, "#spread img")]

    def faults(self, *rules: str) -> list[str]:
        """What axe-core (Deque) finds: its rules for WCAG 2.1 A and AA and its best practices, or some rules."""
        if not self.js("return Boolean(window.axe)"):
            self.js((files("axe_core_python") / "axe.min.js").read_text(encoding="utf-8"))
        found = self.driver.execute_async_script(       # type: ignore[no-untyped-call]
            "const done = arguments[1], rules = arguments[0];"
            "axe.run(document, rules.length ? { runOnly: { type: 'rule', values: rules } } : {})"
            ".then((found) => done(found.violations))", rules)
        return [f"{one['id']}: {node['html'][:200]}" for one in found for node in one["nodes"]]

    def faults_everywhere(self, view: str | None = None) -> list[str]:
        """The same at three widths, light and dark, and what reaches beyond the window.

        A scheme changes colours and nothing else: in the second only axe-core's rules of colour are asked. Where
        the window has room for one view alone, it is the one named.
        """
        found = []
        if view:
            self.js("document.querySelector(`#switch [data-to=${arguments[0]}]`).click()", view)
        for width in WIDTHS:
            self.size(width, 800)
            for scheme, rules in (("light", ()), ("dark", ("color-contrast", "link-in-text-block"))):
                self.colours(scheme)
                found += [f"{scheme}, {width}: {fault}" for fault in self.faults(*rules)]
            found += [f"{width}: {one} reaches beyond" for one in self.js(FAR)]
        self.size(1440, 900)
        self.colours("light")
        return found

    def go(self, where: str) -> None:
        self.one("#goto").clear()
        self.one("#goto").send_keys(where, Keys.ENTER)


@pytest.fixture(scope="session")
def driver(tmp_path_factory: pytest.TempPathFactory) -> Iterator[webdriver.Chrome]:
    """Chromium. Where it is missing, CI fails; elsewhere the check is skipped and says what to install."""
    browser = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
    if browser is None or shutil.which("chromedriver") is None:
        message = "this check did not run: it needs Chromium (Debian packages chromium and chromium-driver)"
        if os.environ.get("CI"):
            pytest.fail(message)
        pytest.skip(message)
    options = webdriver.ChromeOptions()
    options.binary_location = browser
    for flag in (*FLAGS, f"--user-data-dir={tmp_path_factory.mktemp('chromium')}"):
        options.add_argument(flag)
    options.set_capability("goog:loggingPrefs", {"browser": "ALL"})
    service = webdriver.ChromeService(shutil.which("chromedriver"))
    running = webdriver.Chrome(options=options, service=service)
    running.set_script_timeout(110)     # axe-core takes its time on a busy machine
    yield running
    running.quit()


@pytest.fixture
def page(driver: webdriver.Chrome, address: str, printed: str) -> Iterator[Page]:
    """The desk, loaded; afterwards nothing may stand in the browser's log, nor have left the machine."""
    driver.get("about:blank")
    driver.get_log("browser")       # type: ignore[no-untyped-call]  # what earlier pages left
    made = Page(driver, printed)
    yield made
    fetched = made.js("return performance.getEntriesByType('resource').map((entry) => entry.name)")
    assert len(fetched) > 5 and [name for name in fetched if not name.startswith(address)] == []
    said = [entry for entry in driver.get_log("browser")        # type: ignore[no-untyped-call]
            if "404" not in entry["message"]        # a page asked for while it changed; it is asked for again
            and not re.search(r"/do\b.* 40[09] ", entry["message"])     # what is refused in words
            and "beforeunload" not in entry["message"]]     # a window without an editor is not held open
    assert said == []


class Hand:
    """What an editor's hand does on the page."""

    def __init__(self, page: Page) -> None:
        self.page = page

    def new(self, name: str, size: int = 9) -> None:
        self.page.one("#new").click()
        self.page.one(f"#new-size option[value='{size}']").click()
        self.page.one("#new-id").send_keys(name, Keys.ENTER)
        self.page.until(lambda: self.page.one("#grid").is_displayed())

    def crossing(self, name: str, rows: int, columns: int) -> None:
        """New crossing sums, by the keyboard alone: an option of a select is chosen by its first letters."""
        page = self.page
        page.js("document.querySelector('#new').focus()")
        page.keys(Keys.ENTER)
        page.until(lambda: page.one("#new-dialog").is_displayed())
        page.js("document.querySelector('#new-kind').focus()")
        page.keys("cr", Keys.TAB, str(rows), Keys.TAB, str(columns), Keys.TAB, name, Keys.ENTER)
        page.until(lambda: page.one("#grid").is_displayed())

    def open(self, name: str) -> None:
        self.page.one(f"tr[data-id={name}] button").click()
        self.page.one("#draw-this").click()
        self.page.until(lambda: self.page.one("#grid").is_displayed())

    def over(self, spots: Iterable[Spot]) -> None:
        """Drag the mouse from the first cell over the others."""
        box, rows = self.page.js("""const grid = document.querySelector("#grid");
            return [grid.getBoundingClientRect().toJSON(), grid.querySelectorAll("[role=row]").length];""")
        side = box["height"] / rows
        chain = ActionChains(self.page.driver, duration=0)
        for number, (row, column) in enumerate(spots):
            chain.w3c_actions.pointer_action.move_to_location(
                round(box["x"] + (column - 0.5) * side), round(box["y"] + (row - 0.5) * side))
            if number == 0:
                chain.w3c_actions.pointer_action.pointer_down()
        chain.w3c_actions.pointer_action.pointer_up()
        chain.perform()

    def arrows(self, spots: Iterable[Spot]) -> list[str]:
        """The keys that lead through cells, each beside the one before."""
        return [ARROWS[(b[0] - a[0], b[1] - a[1])] for a, b in pairwise(spots)]

    def walk(self, spots: Iterable[Spot]) -> None:
        """Move by arrows through cells, each beside the one before."""
        self.page.keys(*self.arrows(spots))

    def at(self) -> Spot:
        row, column = re.findall(r"\d+", self.page.js("return document.activeElement.dataset.cell"))
        return int(row), int(column)

    def verdict(self) -> str:
        return str(self.page.one("#verdict").text)

    def said(self) -> str:
        return str(self.page.one("#said").text)

    def judged(self) -> bool:
        """Whether what is said is of the drawing as it is now."""
        return bool(self.page.js("return !document.querySelector('#known').classList.contains('waiting')"))

    def settled(self, verdict: str) -> None:
        self.page.until(lambda: self.judged() and self.verdict().endswith(verdict))

    def studied(self) -> None:
        """Wait until all is said of the drawing, so that nothing moves beside the grid."""
        self.page.until(lambda: self.judged() and self.page.js("""
            const looked = ["One answer", "Two answers", "No answer"].some((one) => (
                document.querySelector("#verdict").textContent.endsWith(one)));
            return !looked || document.querySelector("#study:not([hidden], [inert])") !== null;"""))

    def save(self) -> str:
        """Ask for the difference, save it, and give it."""
        self.page.one("#save").click()
        self.page.until(lambda: self.page.one("#save-do").is_displayed())
        shown = str(self.page.one(".difference").text)
        self.page.one("#save-do").click()
        self.page.until(lambda: not self.page.one("#save-dialog").is_displayed())
        return shown


@pytest.fixture
def hand(page: Page, book: Path, texts: dict[str, str]) -> Iterator[Hand]:
    """A hand on the page; what it made beside the book's own files goes again."""
    yield Hand(page)
    for file in (book.parent / "puzzles").iterdir():
        if f"puzzles/{file.name}" not in texts:
            file.unlink()
