"""A puzzle drawn in a real browser by the mouse and by the keyboard, mended, saved, and what stands in the way."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from cagework.solver.editing.compose import Recipe, compose
from cagework.solver.model import Cage, Puzzle
from cagework.solver.search.exact import solve
from cagework.typeset.manifest.load import load_book

Edit = Callable[[str, str, str], None]
Spot = tuple[int, int]


@pytest.fixture(scope="module")
def wanted() -> Puzzle:
    """A nine by nine of 28 cages, which has one answer."""
    for seed in range(400):
        found = compose(seed, Recipe(size=9, sizes={2: 4.0, 3: 4.0, 4: 2.0})).puzzle
        if len(found.cages) == 28:
            return found
    raise LookupError("no puzzle of 28 cages was composed")


def visited(cage: Cage) -> list[Spot]:
    """A walk over all cells of a cage, from side to side, back where it has to."""
    inside = {(cell.row, cell.col) for cell in cage.cells}
    seen: set[Spot] = set()

    def step(here: Spot) -> list[Spot]:
        seen.add(here)
        route = [here]
        for down, across in ((0, 1), (1, 0), (0, -1), (-1, 0)):
            there = here[0] + down, here[1] + across
            if there in inside and there not in seen:
                route += [*step(there), here]
        return route

    return step(min(inside))


def between(here: Spot, there: Spot) -> list[Spot]:
    """Along the row, then along the column."""
    def span(a: int, b: int) -> range:
        return range(a, b + 1) if b >= a else range(a, b - 1, -1)

    along = [(here[0], column) for column in span(here[1], there[1])]
    return along + [(row, there[1]) for row in span(here[0], there[0])][1:]


def as_drawn(puzzle: Puzzle) -> set[tuple[frozenset[str], int | None]]:
    return {(frozenset(map(str, cage.cells)), cage.total) for cage in puzzle.cages}


def read(book: Path, name: str) -> Puzzle:
    found = next(one.entry for one in load_book(book).puzzles if one.id == name)
    assert found is not None
    return found.puzzle


def test_a_puzzle_of_28_cages_is_drawn_by_the_mouse_and_saved(hand: Any, book: Path, wanted: Puzzle) -> None:
    hand.new("attic")
    rng = random.Random(1)
    for cage in rng.sample(wanted.cages, len(wanted.cages)):
        hand.over(visited(cage) if len(cage.cells) > 1 else [visited(cage)[0]])
        hand.page.keys(*str(cage.total))
    hand.settled("One answer")
    added = hand.save()
    assert "id: attic" in added and not [line for line in added.splitlines() if line.startswith("-")]
    assert as_drawn(read(book, "attic")) == as_drawn(wanted)
    hand.page.until(lambda: hand.page.js("return document.querySelector('tr[data-id=attic]') !== null"))


def test_the_same_puzzle_is_drawn_by_the_keyboard_alone(hand: Any, book: Path, wanted: Puzzle) -> None:
    page = hand.page
    page.js("document.querySelector('#new').focus()")
    page.keys(Keys.ENTER)
    page.until(lambda: page.js("return document.activeElement.id") == "new-id")
    page.keys("cellar", Keys.ENTER)
    page.until(lambda: page.one("#grid").is_displayed())
    assert hand.at() == (1, 1)
    for number, cage in enumerate(sorted(wanted.cages, key=lambda one: one.cells[0])):
        route = visited(cage)
        hand.walk(between(hand.at(), route[0]))
        if number % 2 and len(route) > 1:
            page.keys(Keys.SHIFT, *hand.arrows(route), Keys.NULL)
        else:
            page.keys(Keys.SPACE)
            hand.walk(route)
        if len(route) > 1:
            assert hand.said() == f"{len(cage.cells)} cells selected"
        page.keys(Keys.ENTER)
        assert f"cage of {len(cage.cells)} cell" in hand.said()
        page.keys(*str(cage.total), Keys.ENTER)
        assert f"sum {cage.total}; combinations " in hand.said()
    hand.settled("One answer")
    page.keys(Keys.F6, Keys.F6)
    assert page.js("return document.activeElement.dataset.tool") == "cage"
    page.keys(Keys.SHIFT, Keys.F6, Keys.F6, Keys.NULL)
    assert hand.at()[0] >= 1
    page.js("document.querySelector('#save').focus()")
    page.keys(Keys.ENTER)
    page.until(lambda: page.js("return document.activeElement.id") == "save-do")
    page.keys(Keys.ENTER)
    page.until(lambda: not page.one("#save-dialog").is_displayed())
    assert as_drawn(read(book, "cellar")) == as_drawn(wanted)


def test_a_slip_is_mended_by_a_repair_and_only_its_keys_change(hand: Any, edit: Edit, book: Path) -> None:
    def offered() -> list[Any]:
        return list(hand.page.driver.find_elements(By.CSS_SELECTOR, "#study:not([inert]) #repairs button"))

    file = book.parent / "puzzles" / "lamp.yaml"
    edit("puzzles/lamp.yaml", "size: 4\n", "size: 4     # small, for a start\n\n# The cages, from the top.\n")
    before = file.read_text(encoding="utf-8")
    hand.open("lamp")
    hand.settled("One answer")
    hand.over([(1, 3)])
    hand.page.keys("7", Keys.ENTER)
    hand.settled("No answer")
    hand.page.until(offered)
    next(one for one in offered() if re.search(r"\b6\b", one.text) and "7" in one.text).click()
    hand.settled("One answer")
    for column in (3, 4):
        hand.over([(1, column)])
        hand.page.keys(Keys.BACKSPACE, Keys.ENTER)
    hand.settled("Two answers")
    hand.page.until(offered)
    next(one for one in offered() if re.search(r"sum 6\b", one.text)).click()
    hand.settled("One answer")
    assert hand.at() == (1, 4), "back in the grid"
    hand.page.keys(Keys.CONTROL, "z", Keys.NULL)
    hand.settled("Two answers")
    hand.page.keys(Keys.CONTROL, Keys.SHIFT, "z", Keys.NULL)
    hand.settled("One answer")
    for spot in ((1, 3), (1, 4)):
        hand.over([spot])
        hand.page.keys("6", Keys.ENTER)
    hand.over([(2, 1)])
    hand.page.keys("g")
    hand.page.keys(str(answer_of(book, "lamp")[1][0]))
    hand.settled("One answer")
    shown = [line for line in hand.save().splitlines() if line.startswith(("+", "-"))]
    after = file.read_text(encoding="utf-8")
    assert all("givens" in line or "r2c1" in line for line in shown), shown
    kept = [line for line in after.splitlines() if "givens" not in line and "r2c1:" not in line]
    assert kept == before.splitlines()


def answer_of(book: Path, name: str) -> list[list[int]]:
    found = solve(read(book, name)).answer
    assert found is not None
    return [[found.digits[4 * row + column] for column in range(4)] for row in range(4)]


def test_a_puzzle_whose_id_was_rubbed_out_keeps_it(hand: Any, book: Path) -> None:
    file = book.parent / "puzzles" / "lamp.yaml"
    hand.open("lamp")
    hand.studied()
    hand.page.one("#known summary").click()
    hand.page.one("#name-id").clear()
    hand.page.one("#name-note").send_keys("Mind the step.", Keys.TAB)
    hand.save()
    hand.page.one("#name-note").send_keys(" And the cat.", Keys.TAB)
    hand.save()
    after = file.read_text(encoding="utf-8")
    assert "id: lamp\n" in after and "note: Mind the step. And the cat.\n" in after


def test_a_conflicting_save_is_refused_and_nothing_is_lost(hand: Any, edit: Edit, book: Path) -> None:
    file = book.parent / "puzzles" / "lamp.yaml"
    hand.open("lamp")
    hand.page.one("#cage-tools [data-tool=given]").click()
    hand.over([(1, 1)])
    hand.page.keys(str(answer_of(book, "lamp")[0][0]))
    hand.page.one("#save").click()
    hand.page.until(lambda: hand.page.one("#save-do").is_displayed())
    edit("puzzles/lamp.yaml", "size: 4", "size: 4\nnote: Mind the step.")
    theirs = file.read_text(encoding="utf-8")
    hand.page.one("#save-do").click()
    hand.page.until(lambda: hand.page.one("#save-mine").is_displayed())
    assert "changed" in hand.page.one("#save-title").text
    assert file.read_text(encoding="utf-8") == theirs, "nothing was written"
    assert "given" in hand.page.one("[data-cell=r1c1]").get_dom_attribute("aria-label"), "nothing is lost"
    hand.page.one("#save-mine").click()
    hand.page.until(lambda: not hand.page.one("#save-dialog").is_displayed())
    hand.page.until(lambda: hand.said() == "yours, with what the file has besides")
    hand.save()
    after = file.read_text(encoding="utf-8")
    assert "givens" in after and "note: Mind the step." in after, "mine, and what else the file has now"
    hand.page.one("[data-tool=cage]").click()
    hand.over([(1, 3)])
    hand.page.keys("5", Keys.ENTER)
    edit("puzzles/lamp.yaml", "Mind the step.", "Mind both steps.")
    hand.page.until(lambda: hand.page.one("#draw-notice").is_displayed())
    hand.page.one("#notice-theirs").click()
    cell = hand.page.one("[data-cell=r1c3]")
    hand.page.until(lambda: "sum 6" in cell.get_dom_attribute("aria-label"))
    assert hand.page.one("#name-note").get_property("value") == "Mind both steps."
    assert not hand.page.one("#draw-dirty").is_displayed()
    hand.page.keys(Keys.CONTROL, "z", Keys.NULL)
    assert "sum 5" in cell.get_dom_attribute("aria-label"), "undo brings back what was drawn"


def test_a_new_puzzle_that_is_refused_says_why_and_offers_no_file(hand: Any, book: Path) -> None:
    (book.parent / "puzzles" / "attic.yaml").write_text("puzzles: []\n", encoding="utf-8")
    hand.page.knows(lambda said: said["faults"])       # which is said on top, and moves all below
    hand.new("attic")
    hand.page.one("#save").click()
    hand.page.until(lambda: hand.page.one("#save-title").text == "Not saved")
    assert "there is a file attic.yaml already" in hand.page.one("#save-body").text
    assert not hand.page.one("#save-mine").is_displayed() and not hand.page.one("#save-theirs").is_displayed()


def test_a_difference_of_two_files_names_both(hand: Any, edit: Edit) -> None:
    names = [f"puzzles/{name}.yaml" for name in ("fork", "hall", "lamp", "loft")]
    edit("book.yaml", "puzzles/*.yaml", f"[{', '.join(names)}]")
    hand.new("attic")
    hand.page.one("#save").click()
    hand.page.until(lambda: hand.page.one("#save-do").is_displayed())
    shown = hand.page.one(".difference").text.splitlines()
    assert [line for line in shown if line.startswith("@ ")] == ["@ attic.yaml", "@ book.yaml"]
    assert shown.index("+id: attic") < shown.index("@ book.yaml")
    assert [line for line in shown if line.startswith("-")] == [f"-  puzzles_from: [{', '.join(names)}]"]


def test_a_puzzle_that_went_away_is_said_to_be_gone(hand: Any, edit: Edit) -> None:
    page = hand.page
    hand.open("lamp")
    page.keys(Keys.DELETE)
    edit("puzzles/lamp.yaml", "size: 4", "size: 4\nnote: Mind the step.")
    page.until(lambda: page.one("#draw-notice").is_displayed())
    edit("puzzles/lamp.yaml", "id: lamp", "id: candle")
    page.until(lambda: page.one("#draw-broken").is_displayed())
    page.one("#notice-theirs").click()
    page.until(lambda: "no puzzle" in hand.said() and "lamp" in hand.said())


def test_what_is_not_saved_outlives_a_reload_and_is_not_left_unasked(hand: Any) -> None:
    page = hand.page
    hand.open("lamp")
    page.keys(Keys.DELETE)
    assert hand.said() == "cage dissolved"
    page.one("#draw-close").click()
    page.until(lambda: page.one("#leave").is_displayed())
    page.one("#leave-stay").click()
    assert page.js("return dispatchEvent(new Event('beforeunload', { cancelable: true }))") is False
    page.load()
    page.until(lambda: page.one("#grid").is_displayed())
    assert page.one("[data-cell=r1c1]").get_dom_attribute("aria-label").startswith("row 1, column 1, in no cage")
    assert page.one("#draw-dirty").is_displayed()
    page.one("#draw-close").click()
    page.one("#leave-drop").click()
    page.until(lambda: not page.one("#grid").is_displayed())
    page.until(lambda: page.js("return document.activeElement.id") == "detail-title")


def test_keys_do_as_listed_and_the_focus_stays(hand: Any) -> None:
    page = hand.page
    hand.new("yard", 6)
    page.keys("5")
    assert hand.said() == "sum 5; combinations 1", "a cell in no cage is fenced when its sum is typed"
    page.keys(Keys.BACKSPACE)
    assert hand.said() == "no sum yet"
    page.keys("3", Keys.ENTER, Keys.ARROW_RIGHT, Keys.SHIFT, Keys.ARROW_DOWN, Keys.NULL, Keys.ENTER)
    page.keys("9", Keys.ENTER)
    assert hand.said() == "cage of 2 cells, sum 9; combinations 2"
    page.keys(Keys.ARROW_UP, Keys.SHIFT, Keys.ARROW_LEFT, Keys.NULL, "m")
    assert hand.said() == "cage of 3 cells, sum 12; combinations 3"
    page.keys("s")
    assert hand.said() == "cage of 1 cell, no sum yet"
    page.keys(Keys.CONTROL, "z", Keys.NULL)
    assert hand.said() == "undone, 1 cage"
    page.keys("t")
    assert hand.said() == "r1c1 in no cage"
    page.keys(Keys.SHIFT, Keys.ARROW_RIGHT, Keys.NULL, Keys.ESCAPE)
    assert hand.at() == (1, 2) and not page.driver.find_elements(By.CSS_SELECTOR, "[aria-selected=true]")
    page.keys(Keys.ESCAPE)
    assert hand.at() == (1, 2) and page.one("#grid").is_displayed()
    for key, column in ((Keys.END, 6), (Keys.HOME, 1), (Keys.ARROW_RIGHT, 2)):
        page.keys(key)
        assert hand.at() == (1, column)
    page.keys(*([Keys.ARROW_LEFT] + [Keys.CONTROL, "z", Keys.NULL] * 12))
    assert hand.said() == "nothing to undo" and page.one("#draw-title").text == "yard"
    assert not page.one("#undo").is_enabled()


def test_what_is_typed_amiss_moves_nothing_and_a_new_selection_begins_a_new_sum(hand: Any) -> None:
    page = hand.page
    hand.new("yard", 4)
    page.keys("a", "2", "7")
    assert hand.said() == "digits go to 4" and hand.at() == (1, 2)
    page.keys("3")
    assert "your answer 3" in page.one("[data-cell=r1c2]").get_dom_attribute("aria-label") and hand.at() == (1, 3)
    page.keys("c", "1", Keys.CONTROL, "a", Keys.NULL, "9")
    assert hand.said().startswith("sum 9;")


def test_a_drag_from_a_cage_grows_it_over_others(hand: Any) -> None:
    hand.new("yard", 6)
    hand.over([(1, 1), (1, 2)])
    hand.page.keys("1", "0")
    hand.over([(1, 3), (1, 4), (2, 4)])
    hand.page.keys("1", "4")
    hand.over([(1, 2), (1, 3)])
    assert hand.said() == "r1c3 taken from the cage of 14; cage of 3 cells, sum 10; combinations 3"
    hand.page.until(lambda: hand.page.one("[data-cell=r1c4]").get_dom_attribute("aria-label")
                    == "row 1, column 4, cage of 2 cells, sum 14, at fault")     # two of 1 to 6 add to 11 at most
    assert "cannot add to 14" in hand.page.one("#draw-faults").text
