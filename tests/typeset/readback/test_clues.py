"""Numbers outside a grid: whatever is drawn there is held against the puzzle's diagonals."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from cagework.typeset.draw import grid
from cagework.typeset.draw.shown import GridKind
from cagework.typeset.manifest.load import load_book
from cagework.typeset.marks import Fill, Group, Line, Mark, Text

Change = Callable[[list[Mark]], list[Mark]]
ID = "shooting-stars"


@pytest.fixture
def laid(root: Path, finish: Any, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Any]:
    """A book of the sample that has them; what stands round its frame is changed wherever it is drawn."""
    reading = load_book(root / "books" / "clear-skies" / "book.yaml")
    book = reading.book
    assert book is not None
    (section, entry), = ((section, entry) for section in book.sections for entry in section.entries
                         if entry.id == ID)
    alone = replace(book, sections=(replace(section, entries=(entry,)),),
                    pages=replace(book.pages, how_to_solve=False))
    drawn = grid.drawn_clues

    def lay(change: Change = list) -> Any:
        def instead(*given: Any) -> Iterator[Mark]:
            marks = list(drawn(*given))
            yield from change(marks) if marks else ()

        monkeypatch.setattr(grid, "drawn_clues", instead)
        return finish(reading, alone)

    return lay


def first(kind: type[Mark], marks: list[Mark]) -> int:
    return next(index for index, mark in enumerate(marks) if isinstance(mark, kind))


def another(marks: list[Mark]) -> list[Mark]:
    """The first number is one that nobody wrote."""
    index = first(Text, marks)
    mark = marks[index]
    assert isinstance(mark, Text)
    said = "".join(text for _, text in mark.chunks)
    assert said == "42"
    return [*marks[:index], mark._replace(chunks=((0.0, "43"),)), *marks[index + 1:]]


def beside(marks: list[Mark]) -> list[Mark]:
    """The first number stands a cell further along the frame."""
    index = first(Text, marks)
    mark = marks[index]
    assert isinstance(mark, Text)
    return [*marks[:index], mark._replace(y=mark.y - 40), *marks[index + 1:]]


def without(kind: type[Mark]) -> Change:
    def change(marks: list[Mark]) -> list[Mark]:
        index = first(kind, marks)
        return [*marks[:index], *marks[index + 1:]]
    return change


@pytest.mark.parametrize(("change", "said"), [
    (another, ["r7c9: '43' stands outside the grid where the number 42 should"]),
    (beside, ["r7c9: nothing stands outside the grid where the number 42 should",
              "'42' stands outside the grid where no number should"]),
    (without(Text), ["r7c9: nothing stands outside the grid where the number 42 should"]),
    (without(Line), ["r7c9: no arrow points along its diagonal"]),
    (without(Fill), ["r7c9: no arrow points along its diagonal"]),
    (list, []),
], ids=["another", "beside", "no number", "no shaft", "no head", "as it should be"])
def test_what_is_drawn_amiss_round_the_frame_is_told(
    laid: Callable[..., Any], change: Change, said: list[str],
) -> None:
    book = laid(change)
    told = book.told(book.data)
    assert len(told) == len(said) and all(one in line for one, line in zip(said, told, strict=True)), told


def test_numbers_stand_clear_of_frame_words_and_each_other(laid: Callable[..., Any]) -> None:
    """Within the type area; the answer has none."""
    book = laid()
    place, answer = book.grid(GridKind.PUZZLE, ID), book.grid(GridKind.ANSWER, ID)
    pages, setting = book.original.laid.pages, book.original.laid.setting
    boxes = []
    for text in texts(pages[place.page - 1].marks, "outside"):
        wide = setting.fonts.measure("".join(said for _, said in text.chunks), text.face, text.size)
        boxes.append((text.x, text.y - 0.7 * text.size, text.x + wide, text.y))
    assert len(boxes) == 8
    block = setting.block(place.page)
    for number, (left, top, right, bottom) in enumerate(boxes):
        assert block.x <= left < right <= block.right and block.y < top < bottom < block.bottom
        assert (right < place.x - 3 or left > place.x + place.width + 3
                or bottom < place.y - 3 or top > place.y + place.height + 3)
        assert not any(left < right2 + 1 and left2 < right + 1 and top < bottom2 + 1 and top2 < bottom + 1
                       for left2, top2, right2, bottom2 in boxes[:number])
    assert not list(texts(pages[answer.page - 1].marks, "outside"))


def texts(marks: Any, name: str, group: str = "") -> Iterator[Text]:
    for mark in marks:
        if isinstance(mark, Group):
            yield from texts(mark.marks, name, mark.name)
        elif isinstance(mark, Text) and group == name:
            yield mark
