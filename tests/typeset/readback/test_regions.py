"""Crooked regions in tints: the read-back sees one that has not its own, or its neighbour's."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from cagework.typeset.draw.shown import GridKind
from cagework.typeset.editions import about_of
from cagework.typeset.manifest.load import load_book
from cagework.typeset.marks import Fill, Group, Mark
from cagework.typeset.write.pdf import pdf_bytes


@pytest.fixture(scope="module")
def crooked(root: Path, tmp_path_factory: pytest.TempPathFactory, finish: Any) -> Any:
    """A book of one puzzle, in a layout that tints regions."""
    folder = tmp_path_factory.mktemp("crooked")
    shutil.copy(root / "books" / "slow-train" / "puzzles" / "crooked-fields.yaml", folder)
    layout = (root / "layouts" / "shelf" / "a5-one-up.yaml").read_text(encoding="utf-8")
    (folder / "own.yaml").write_text(f"{layout}regions: tints\n", encoding="utf-8")
    (folder / "book.yaml").write_text("book: {title: T, layout: own.yaml, puzzles_from: crooked-fields.yaml}\n",
                                      encoding="utf-8")
    reading = load_book(folder / "book.yaml")
    return finish(reading, reading.book)


def test_neighbours_differ_in_their_tints(crooked: Any) -> None:
    """Nine regions, in white and at most three tints of at most a quarter, which black figures are read on."""
    place = crooked.grid(GridKind.PUZZLE, "crooked-fields")
    fills = tints(crooked.original.laid.pages[place.page - 1].marks)
    assert 1 < len({fill.ink for fill in fills}) <= 3 and max(fill.ink for fill in fills) <= 0.25
    assert crooked.told(crooked.data) == []


@pytest.mark.parametrize("number", range(4))
def test_a_region_in_another_tint_is_told(crooked: Any, number: int) -> None:
    place = crooked.grid(GridKind.PUZZLE, "crooked-fields")
    laid = crooked.original.laid
    pages = list(laid.pages)
    page = pages[place.page - 1]
    wrong = tints(page.marks)[number]
    other = next(fill.ink for fill in tints(page.marks) if fill.ink != wrong.ink)
    pages[place.page - 1] = replace(page, marks=tuple(changed(mark, wrong, other) for mark in page.marks))
    told = crooked.told(pdf_bytes(pages, laid.bookmarks, about_of(laid.setting.book), laid.setting.fonts))
    assert any("though they are in different regions" in line for line in told)


def tints(marks: Sequence[Mark]) -> list[Fill]:
    inner = [mark for group in marks if isinstance(group, Group) for mark in
             (tints(group.marks) if group.name != "tints" else group.marks)]
    return [mark for mark in inner if isinstance(mark, Fill)]


def changed(mark: Mark, wrong: Fill, ink: float) -> Mark:
    if isinstance(mark, Group):
        return replace(mark, marks=tuple(changed(one, wrong, ink) for one in mark.marks))
    return mark._replace(ink=ink) if mark is wrong and isinstance(mark, Fill) else mark
