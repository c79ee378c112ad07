"""Crossing sums drawn in a real browser: squares turned by mouse, keys and finger, sums typed, saved, copied."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from cagework.solver.crossing import is_across
from cagework.solver.editing.compose_crossing import CrossingRecipe, compose_crossing
from cagework.solver.model import Answer, Cage, Puzzle
from cagework.typeset.manifest.load import load_book

Edit = Callable[[str, str, str], None]
GAP = """\
id: lamp
title: Lamp
kind: crossing-sums
map: |          # five by five
  # . . # #
  . . . . #
  . . # . .
  # . . . .
  # # . . #
# as they lie
across: [10, 19, 9, 16, 25, 16]
down: [16, 13, 14, 17, 22, 13]    # checked
"""


@pytest.fixture(scope="module")
def wanted() -> Puzzle:
    """Crossing sums of 4 rows and 7 columns, which have one answer."""
    return compose_crossing(1, CrossingRecipe(4, 7)).puzzle


@pytest.fixture
def gap(hand: Any, book: Path, texts: dict[str, str]) -> Path:
    """The lamp is crossing sums; its file."""
    file = book.parent / "puzzles" / "lamp.yaml"
    file.write_text(GAP, encoding="utf-8")
    hand.page.knows(lambda said: said["fresh"] and {
        row["cage"] for row in said["puzzles"] if row["id"] == "lamp"} == {"run"})
    return file


def black(puzzle: Puzzle) -> list[tuple[int, int]]:
    white = set(puzzle.cells)
    return [(row, col) for row in range(1, puzzle.rows + 1) for col in range(1, puzzle.columns + 1)
            if (row, col) not in white]


def ways(puzzle: Puzzle) -> list[tuple[str, list[Cage]]]:
    return [("across", [run for run in puzzle.cages if is_across(run.cells)]),
            ("down", [run for run in puzzle.cages if not is_across(run.cells)])]


def named(page: Any, cell: str) -> str:
    return str(page.one(f"[data-cell={cell}]").get_dom_attribute("aria-label"))


def read(book: Path, name: str) -> Puzzle:
    found = next(one.entry for one in load_book(book).puzzles if one.id == name)
    assert found is not None
    return found.puzzle


def test_crossing_sums_are_drawn_by_the_keyboard_alone_and_saved(hand: Any, book: Path, wanted: Puzzle) -> None:
    page = hand.page
    hand.crossing("attic", wanted.rows, wanted.columns)
    assert hand.at() == (1, 1) and named(page, "r1c1") == (
        f"row 1, column 1, across {wanted.columns} cells, no sum, down {wanted.rows} cells, no sum")
    for row, column in black(wanted):
        here = hand.at()
        steps = [Keys.ARROW_DOWN] * (row - here[0]) + (
            [Keys.ARROW_RIGHT] * (column - here[1]) + [Keys.ARROW_LEFT] * (here[1] - column))
        page.keys(*steps, Keys.SPACE)
        assert hand.said().startswith(f"row {row}, column {column} black; ")
    for key, (way, part) in zip("ad", ways(wanted), strict=True):
        page.keys(key, Keys.HOME, *[Keys.ARROW_UP] * wanted.rows)
        while hand.at() != part[0].cells[0]:        # on to the first run
            page.keys(Keys.ENTER)
        for run in part:
            assert hand.at() == run.cells[0]
            page.keys(*str(run.total))
            assert hand.said().startswith(f"sum {run.total}; combinations ")
            page.keys(Keys.ENTER)
        assert hand.at() == part[0].cells[0], f"round to the first run {way}"
    hand.settled("One answer")
    page.until(lambda: page.one("#walk").is_displayed())
    assert not page.one("#tune").is_displayed() and not page.one("#rules-part").is_displayed()
    assert page.faults() == []
    added = hand.save()
    assert not [line for line in added.splitlines() if line.startswith("-")]
    assert read(book, "attic") == wanted


def test_crossing_sums_are_drawn_by_the_mouse(hand: Any, book: Path, wanted: Puzzle) -> None:
    """Squares one by one; some made black too much by a drag, and white again."""
    page = hand.page
    page.one("#new").click()
    page.one("#new-kind option[value=crossing]").click()
    page.one("#new-id").send_keys("cellar", Keys.ENTER)
    page.until(lambda: page.one("#grid").is_displayed())
    hand.studied()
    page.one("#squares-part summary").click()
    for name, many in (("rows", wanted.rows), ("columns", wanted.columns)):
        page.one(f"#squares-{name}").send_keys(Keys.CONTROL, "a", Keys.NULL, many, Keys.TAB)
    assert len(page.driver.find_elements(By.CSS_SELECTOR, "#grid [data-cell]")) == wanted.rows * wanted.columns

    def press(cell: tuple[int, int]) -> None:
        page.one(f"[data-cell=r{cell[0]}c{cell[1]}]").click()

    hand.over([(1, 1), (1, 3), (2, 3)])
    assert hand.said().startswith("4 squares black; ") and named(page, "r2c3") == "row 2, column 3, black"
    hand.over([(2, 3), (1, 3), (1, 1)])
    assert hand.said().startswith("4 squares white; ")
    for cell in black(wanted):
        press(cell)
    for way, part in ways(wanted):
        page.one(f"[data-tool={way}]").click()
        for run in part:
            press(run.cells[-1])
            page.keys(*str(run.total))
    hand.settled("One answer")
    hand.save()
    assert read(book, "cellar") == wanted


def test_a_sum_is_mended_and_only_its_keys_change(hand: Any, gap: Path) -> None:
    page = hand.page
    hand.open("lamp")
    hand.settled("One answer")
    assert named(page, "r1c1") == "row 1, column 1, black"
    assert named(page, "r2c2").startswith("row 2, column 2, across 4 cells, sum 19, down 4 cells, sum 13")
    page.one("[data-tool=across]").click()
    page.one("[data-cell=r1c3]").click()
    page.keys("9")
    hand.settled("At fault")
    assert "the sums across add to 94, those down to 95" in page.one("#draw-faults").text
    page.keys(Keys.ENTER, "1", "8", Keys.ENTER)
    page.keys("d")
    page.one("[data-cell=r5c3]").click()
    page.keys("2", "2")
    page.keys(Keys.CONTROL, "z", Keys.NULL, Keys.CONTROL, "z", Keys.NULL, Keys.CONTROL, "z", Keys.NULL)
    hand.settled("One answer")
    assert hand.said() == "undone, 12 runs" and not page.one("#draw-dirty").is_displayed()
    page.one("[data-cell=r1c2]").click()
    page.keys("9", Keys.DELETE)
    hand.settled("Not finished")
    assert "1 run" in page.one("#sums").text and hand.said() == "no sum yet"
    page.keys("1", "3", Keys.ENTER)
    hand.settled("One answer")
    page.keys("b")
    page.one("[data-cell=r5c3]").click()
    assert named(page, "r5c3") == "row 5, column 3, black", "the press turned it"
    assert "down" not in named(page, "r4c3")
    page.keys(Keys.SPACE)
    assert named(page, "r5c3").startswith("row 5, column 3, across 2 cells, no sum, down 2 cells, no sum")
    page.keys(*[Keys.CONTROL, "z", Keys.NULL] * 2)
    hand.settled("One answer")
    page.keys("g")
    page.one("[data-cell=r1c2]").click()
    page.keys("1")
    hand.settled("One answer")
    hand.save()
    assert gap.read_text(encoding="utf-8") == GAP + "givens: {r1c2: 1}\n"


def test_two_answers_are_told_and_mended_by_a_repair(hand: Any, gap: Path) -> None:
    """Two by two with sums that any digits make in two ways."""
    page = hand.page
    hand.crossing("porch", 2, 2)
    for tool, sums in (("a", ("7", "8")), ("d", ("6", "9"))):
        page.keys(tool)
        for total in sums:
            page.keys(total, Keys.ENTER)
    hand.settled("Two answers")
    page.until(lambda: page.driver.find_elements(By.CSS_SELECTOR, "#study:not([inert]) #repairs button"))
    assert "or" in named(page, "r1c1") and page.faults() == []
    page.one("#repairs button").click()
    hand.settled("One answer")
    assert "given" in " ".join(named(page, cell) for cell in ("r1c1", "r1c2", "r2c1", "r2c2"))
    page.keys(Keys.CONTROL, "z", Keys.NULL)
    hand.settled("Two answers")
    page.one("#draw-close").click()
    page.one("#leave-drop").click()


def in_rows(puzzle: Puzzle, answer: Answer) -> list[str]:
    said = str(answer).replace(".", "#")
    return [said[at:at + puzzle.columns] for at in range(0, len(said), puzzle.columns)]


def test_the_setters_answer_is_typed_held_and_saved(
    hand: Any, book: Path, gap: Path, only_answer: Callable[[Puzzle], Answer],
) -> None:
    """By keys: from white square to white square, over the ends of rows; a slip is marked and said."""
    page = hand.page
    rows = in_rows(read(book, "lamp"), only_answer(read(book, "lamp")))
    digits = "".join(rows).replace("#", "")
    hand.open("lamp")
    hand.settled("One answer")
    page.keys("s")
    assert hand.said() == "answer tool"
    page.keys("5")
    assert hand.said() == "this square is black" and hand.at() == (1, 1)
    page.keys(Keys.ARROW_RIGHT, *digits[:2])
    assert hand.at() == (2, 1) and hand.said() == f"answer {digits[1]}"
    slip = str(int(digits[2]) % 9 + 1)
    page.keys(slip, *digits[3:])
    page.until(lambda: "Your answer is not the puzzle's in r2c1" in page.one("#draw-faults").text)
    assert named(page, "r2c1").endswith(f"your answer {slip}, which is not the puzzle's")
    assert len(page.driver.find_elements(By.CSS_SELECTOR, "#grid .wrong")) == 1 and page.faults() == []
    page.one("#draw-faults button").click()
    assert hand.at() == (2, 1)
    page.keys(digits[2])
    page.until(lambda: not page.one("#draw-faults").text)
    page.keys(Keys.BACKSPACE)
    assert hand.at() == (2, 1) and hand.said() == "no answer", "it goes back to the square before"
    page.keys(Keys.DELETE)
    assert hand.at() == (2, 1) and "your answer" not in named(page, "r2c1") + named(page, "r2c2")
    page.keys(*[Keys.CONTROL, "z", Keys.NULL] * 2)
    hand.save()
    assert gap.read_text(encoding="utf-8") == GAP + "answer: |\n" + "".join(f"  {row}\n" for row in rows)
    reading = next(one for one in load_book(book).puzzles if one.id == "lamp")
    assert "".join(str(given.digit) for given, _ in reading.setters) == digits and not reading.faults


def test_an_answer_is_pasted_and_stays_in_the_squares_left(
    hand: Any, book: Path, gap: Path, only_answer: Callable[[Puzzle], Answer],
) -> None:
    """By the mouse; a row too few, a letter in a white square, digits in black ones."""
    page = hand.page
    rows = in_rows(read(book, "lamp"), only_answer(read(book, "lamp")))
    hand.open("lamp")
    page.one("#paste-part summary").click()

    def pasted(text: str) -> str:
        page.js("document.querySelector('#paste').value = arguments[0]", text)
        page.one("#paste-answer").click()
        return str(page.one("#paste-said").text)

    shape = "An answer is 5 rows of 5 digits, # for black squares, with dots for cells left open."
    assert pasted("\n".join(rows[1:])) == shape
    assert pasted("\n".join([rows[0].replace(rows[0][1], "x"), *rows[1:]])) == (
        f"X in row 1, column 2 is no digit. {shape}")
    dark = " ".join("\n".join(rows)).replace("#", "7")
    assert pasted(dark) == "Taken as your answer, but for digits in black squares."
    assert f"your answer {rows[1][0]}" in named(page, "r2c1")
    hand.settled("One answer")
    assert not page.one("#draw-faults").text
    page.one("[data-cell=r2c1]").click()        # black
    page.one("#squares-part summary").click()
    page.one("#squares-rows").send_keys(Keys.ARROW_DOWN)
    page.one("[data-tool=answer]").click()
    page.one("[data-cell=r2c2]").click()
    page.keys(Keys.DELETE)
    page.one("#copy").click()
    page.until(lambda: "id: lamp" in page.one("#paste").get_property("value"))
    copied = yaml.safe_load(page.one("#paste").get_property("value"))
    assert copied["answer"].split() == [rows[0], f"#.{rows[1][2:]}", *rows[2:4]]
    page.one("#paste-read").click()
    page.until(lambda: "Read into the grid" in page.one("#paste-said").text)
    assert f"your answer {rows[1][2]}" in named(page, "r2c3")


def test_a_bare_map_is_pasted_and_leads_to_its_runs_without_sums(hand: Any) -> None:
    page = hand.page
    hand.open("hall")
    page.one("#paste-part summary").click()
    page.js("document.querySelector('#paste').value = '#..#\\n....\\n##..\\n'")
    page.one("#paste-read").click()
    hand.settled("Not finished")
    assert named(page, "r2c1") == "row 2, column 1, across 4 cells, no sum"
    assert page.one("#paste-said").text.startswith("Read into the grid") and page.faults() == []
    open_runs = page.one("#sums button")
    assert open_runs.text == "6 runs: r1c2, r1c3, r2c1, r2c4, r3c3"
    open_runs.click()
    assert hand.at() == (1, 2)
    page.one("#draw-close").click()
    page.one("#leave-drop").click()


def test_a_finger_turns_squares(hand: Any, gap: Path) -> None:
    """Touches as the DevTools protocol sends them (Input.dispatchTouchEvent)."""
    page = hand.page
    hand.open("lamp")
    hand.settled("One answer")
    hand.studied()
    page.size(390, 800)
    boxes = [page.one(f"[data-cell={cell}]").rect for cell in ("r2c1", "r3c1")]
    spots = [{"x": box["x"] + box["width"] / 2, "y": box["y"] + box["height"] / 2} for box in boxes]
    for kind, points in (("touchStart", spots[:1]), ("touchMove", spots[1:]), ("touchEnd", [])):
        page.driver.execute_cdp_cmd("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    page.until(lambda: hand.said() == "2 squares black; 5 runs across, 5 down")
    assert named(page, "r3c1") == "row 3, column 1, black"


def test_crossing_sums_are_pasted_over_cages_and_copied(hand: Any) -> None:
    page = hand.page
    hand.open("hall")
    hand.studied()
    page.one("#paste-part summary").click()
    page.one("#paste").send_keys(GAP)
    page.one("#paste-read").click()
    page.until(lambda: page.one("[data-tool=black]").is_displayed())
    hand.settled("One answer")
    assert not page.one("[data-tool=cage]").is_displayed()
    assert page.one("[data-tool=black]").get_dom_attribute("aria-pressed") == "true"
    hand.studied()
    page.one("#copy").click()
    page.until(lambda: "id: hall" in page.one("#paste").get_property("value"))
    copied = yaml.safe_load(page.one("#paste").get_property("value"))
    given = yaml.safe_load(GAP)
    assert {key: copied[key] for key in ("kind", "across", "down")} == {
        key: given[key] for key in ("kind", "across", "down")}
    assert copied["map"] == given["map"].replace(" ", "")
    page.one("#undo").click()
    hand.settled("One answer")
    assert page.one("[data-tool=cage]").is_displayed() and "cage of" in named(page, "r1c1")
    page.one("#redo").click()
    hand.settled("One answer")
    page.one("#draw-close").click()
    page.one("#leave-drop").click()


def test_axe_finds_nothing_while_crossing_sums_are_drawn(hand: Any, gap: Path) -> None:
    page = hand.page
    page.one("#new").click()
    page.one("#new-kind option[value=crossing]").click()
    assert page.faults_everywhere() == []
    page.one("#new-cancel").click()
    hand.open("lamp")
    hand.studied()
    page.one("#squares-part summary").click()
    page.one("[data-tool=down]").click()
    page.one("[data-cell=r2c2]").click()
    page.keys("9", "9")
    hand.settled("At fault")
    assert named(page, "r2c2").endswith(", at fault")
    assert page.faults_everywhere() == []
    for width in (1440, 1024, 390):
        page.size(width, 800)
        picture, room = page.one("#grid svg").rect, page.one("#frame").rect
        assert room["x"] - 1 <= picture["x"]
        assert picture["x"] + picture["width"] <= room["x"] + room["width"] + 1
        assert room["y"] - 1 <= picture["y"]
        assert picture["y"] + picture["height"] <= room["y"] + room["height"] + 1
