"""Long names: whole wherever they stand but in running heads, and large grids in slots that hold them."""

from __future__ import annotations

import re
from itertools import pairwise
from pathlib import Path
from typing import Any

import pypdfium2
import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from cagework.layouts.load import Slots, shelf_names
from cagework.layouts.page import Box, roomier, slots
from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.text.paragraph import Style, set_paragraph

LONG = ("The Station Master of Brindlemoor and His Seven Most Patient Cats, Who Waited All of One Winter "
        "Night for the 6 Train")
CREDIT = ("the stoker of the northern line, the lamp boy, both porters, the widow of the third signalman and "
          "everybody else who has ever waited at Brindlemoor for a train that did not come")
IN_EVERY_LAYOUT = [*((name, "en") for name in shelf_names()), ("a5-one-up", "de"), ("a4-large-print", "de")]
PLAIN: dict[str, Any] = {"size": 4, "map": "aabc\ndabc\ndeec\ndfff\n",
                         "sums": {"a": 7, "b": 6, "c": 6, "d": 8, "e": 4, "f": 9}}


def build(tmp_path: Path, data: dict[str, Any], *more: str) -> tuple[Path, int]:
    book = tmp_path / "book.yaml"
    book.write_text(yaml.safe_dump(data, allow_unicode=True, sort_keys=False, width=9999), encoding="utf-8")
    return book, main(["build", str(book), "--out", str(tmp_path / "out"), "--no-cache", *more])


def made(language: str, layout: str, **short: str) -> dict[str, Any]:
    """A book all of whose names are long."""
    of = dict[str, Any]
    return {"book": of(title=f"A Book of {LONG}", by="The Guild", language=language, layout=layout,
                       solutions="full", pages={"first_hints": True}) | short,
            "sections": [of(title=f"At {LONG}", puzzles=["lamp"]) | short, of(title="Other", puzzles=["room"])],
            "puzzles": [of(id="lamp", title=LONG, by=CREDIT) | PLAIN | short,
                        of(id="room", title="Room", size=4, map="aabb\nccdd\neeff\ngghh\n",
                           sums=dict.fromkeys("abcdefgh", 5) | {"a": 3, "b": 7, "c": 7, "d": 3, "e": 5, "f": 5,
                                                                 "g": 5, "h": 5},
                           givens={"r1c1": 1, "r2c1": 3, "r3c1": 2, "r1c3": 3})]}


def texts(tmp_path: Path) -> list[str]:
    document = pypdfium2.PdfDocument((tmp_path / "out" / "book.pdf").read_bytes())
    return [re.sub(r"\s+", "", page.get_textpage().get_text_range()) for page in document]


@pytest.mark.parametrize(("layout", "language"), IN_EVERY_LAYOUT)
def test_long_names_are_printed_whole(
    layout: str, language: str, tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    """Over puzzle, answer, hints and solution and in the contents, which pdfium reads; the build reads it back."""
    book, status = build(tmp_path, made(language, layout))
    said = capsys.readouterr()
    assert status == Exit.FINE, said.err
    pages = texts(tmp_path)
    name, credit = LONG.replace(" ", ""), CREDIT.replace(" ", "")
    assert sum(page.count(name) for page in pages) >= 7      # the section in the contents and its own page, too
    assert sum(page.count(credit) for page in pages) == 1
    heads = [line for line in (said.out + said.err).splitlines() if "running heads have no room" in line]
    assert bool(heads) == any("…" in page for page in pages), "what is cut short is told"
    if layout in ("a5-one-up", "6x9-one-up"):
        assert [line.split(": warning")[0] for line in heads] == [f"{book}:2:10", f"{book}:10:10"]


@pytest.mark.parametrize("layout", ["a5-one-up", "a4-six-up"])
def test_a_short_title_stands_in_running_heads(
    layout: str, tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    _, status = build(tmp_path, made("en", layout, short_title="Cats' Night"), "--press")
    said = capsys.readouterr()
    assert status == Exit.FINE, said.err
    assert "no room" not in said.out + said.err
    pages = texts(tmp_path)
    assert not any("…" in page for page in pages)
    assert any("CATS’NIGHT" in page for page in pages)
    assert any("1Cats’Nightpage" in page for page in pages), "over the answer, whose line the title does not fit"


def test_a_slug_that_is_cut_is_a_warning(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    data = made("en", "a5-one-up")
    data["book"] |= {"press": {"slug": True}, "pages": {"running_heads": False}, "title": "Slow Trains " * 8}
    book, status = build(tmp_path, data, "--press")
    said = capsys.readouterr()
    assert status == Exit.FINE, said.err
    assert f"{book}:2:10: warning: the slug line has no room for all of this" in said.out + said.err
    data["book"]["short_title"] = "Slow Trains"
    assert build(tmp_path, data, "--press")[1] == Exit.FINE
    said = capsys.readouterr()
    assert "slug line" not in said.out + said.err


def test_stars_in_a_title_are_letters(tmp_path: Path) -> None:
    data = made("en", "a5-one-up")
    data["puzzles"][0]["title"] = "Five * Star *Room*"
    assert build(tmp_path, data)[1] == Exit.FINE
    assert sum(page.count("Five*Star*Room*") for page in texts(tmp_path)) == 5


some_names = st.lists(st.sampled_from(["of", "the", "Brindlemoor", "cats,", "a"]), min_size=1, max_size=30)


@given(some_names.map(" ".join), st.floats(120, 300), st.floats(6, 12))
def test_lines_after_the_first_begin_further_in_and_none_is_too_long(
    fonts: Fonts, text: str, measure: float, size: float,
) -> None:
    hang = size
    lines = set_paragraph(text, Style("serif", None, size, size, False, None), measure - hang, fonts, -hang)
    assert " ".join("".join(part for _, part, _ in line.words).strip() for line in lines) == text
    for number, line in enumerate(lines):
        x, last, face = line.words[-1]
        assert line.words[0][0] == (0 if number else -hang)
        assert x + fonts[face].width(last.rstrip(), size) <= measure - hang + 0.01


# large grids

def sixteen(layout: str, language: str = "en", free: int = 3) -> dict[str, Any]:
    """A 16 by 16 of cages of four, most of its digits given, and an ordinary puzzle after it."""
    answer = [[(4 * (row % 4) + row // 4 + col) % 16 + 1 for col in range(16)] for row in range(16)]
    cages = [{"sum": sum(answer[row][col:col + 4]), "cells": f"r{row + 1}c{col + 1}-r{row + 1}c{col + 4}"}
             for row in range(16) for col in range(0, 16, 4)]
    givens = {f"r{row + 1}c{col + 1}": answer[row][col] for row in range(16) for col in range(16)
              if (5 * row + 7 * col) % free}
    return {"book": {"title": "Big", "layout": layout, "language": language},
            "puzzles": [{"id": "lamp", "title": "The Lamp"} | PLAIN,
                        {"id": "big", "title": "The Big One", "size": 16, "cages": cages, "givens": givens},
                        {"id": "room", "title": "Room"} | made("en", layout)["puzzles"][1]]}


@pytest.mark.parametrize(("layout", "language"), IN_EVERY_LAYOUT)
def test_sixteen_by_sixteen_with_givens_prints_in_every_layout(
    layout: str, language: str, tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    data = sixteen(layout, language)
    data["puzzles"][2]["id"] = "room"
    _, status = build(tmp_path, data)
    assert status == Exit.FINE, capsys.readouterr().err
    titles = [[name for name in ("TheLamp", "TheBigOne", "Room") if name in page]
              for page in texts(tmp_path) if not page.startswith(("CONTENTS", "INHALT", "Contents", "Inhalt"))]
    alone = [names for names in titles if "TheBigOne" in names]
    if layout == "a4-six-up":
        assert all(names == ["TheBigOne"] for names in alone), "a page of its own, for it and for its answer"


def test_a_grid_no_page_holds_is_a_fault_that_names_the_layouts_that_do(
    root: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    shelf = (root / "layouts" / "shelf" / "a5-one-up.yaml").read_text(encoding="utf-8")
    own = shelf.replace("width: 148", "width: 84").replace("solutions: {columns: 2", "solutions: {columns: 1")
    (tmp_path / "own.yaml").write_text(own, encoding="utf-8")
    book, status = build(tmp_path, sixteen("own.yaml"))
    said = capsys.readouterr().err
    assert status == Exit.FAULTS
    line = book.read_text(encoding="utf-8").splitlines().index("- id: big") + 1
    assert f"{book}:{line}:3: a page of this layout is too small for the grid of 'big'" in said
    assert "hint: choose a layout that holds it: 6x9-one-up, a4-four-up," in said


@given(st.integers(1, 12), st.integers(1, 12), st.floats(1, 8))
def test_roomier_plans_have_ever_larger_slots_down_to_one(columns: int, rows: int, gap: float) -> None:
    plans = roomier(Slots(columns=columns, rows=rows, gap=gap, cell=9))
    block = Box(0, 0, 200, 280)
    assert (plans[0].columns, plans[0].rows) == (columns, rows) and (plans[-1].columns, plans[-1].rows) == (1, 1)
    areas = [slots(block, plan)[0] for plan in plans]
    for small, large in pairwise(areas):
        assert large.width >= small.width and large.height >= small.height
        assert large.width * large.height > small.width * small.height
