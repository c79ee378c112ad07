"""Pictures of several steps, lettered, and with all notes: read back as they are, and told where they are not."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path as File
from typing import Any

import pytest

from cagework.solver.reasoning.reason import Path
from cagework.typeset.draw.shown import GridKind
from cagework.typeset.editions import about_of
from cagework.typeset.manifest.load import load_book
from cagework.typeset.marks import Group, Mark, groups
from cagework.typeset.solving.story import Picture, Story, Wish
from cagework.typeset.write.pdf import pdf_bytes


def thoughts(path: Path) -> tuple[Picture, ...]:
    """Of each few steps a lettered picture; between them all the notes alone, and with two steps."""
    few = (Picture(first, min(first + 4, len(path.stages)), lettered=True)
           for first in range(5, min(17, len(path.stages)), 4))
    return (Picture(1, 1, Wish.FULL_NOTES), Picture(2, 4, Wish.FULL_NOTES), *few)


@pytest.fixture
def told_in_thoughts(little_folder: File, finish: Callable[..., Any], monkeypatch: pytest.MonkeyPatch) -> Any:
    """The little book with such pictures."""
    monkeypatch.setattr(Story, "pictures", property(lambda story: thoughts(story.path)))
    reading = load_book(little_folder / "book.yaml")
    return finish(reading, reading.book)


Change = Callable[[tuple[Mark, ...]], tuple[Mark, ...]]


def spoilt(book: Any, wish: Wish, name: str, change: Change) -> tuple[int, list[str]]:
    """What is told of its file where the marks of a group of the first picture of a kind were changed."""
    place = next(one for one in book.places() if one.shown.kind is GridKind.STAGE and one.shown.in_book
                 and one.shown.picture.wish is wish)

    def within(mark: Mark, inside: bool) -> Mark:
        if not isinstance(mark, Group):
            return mark
        inside = inside or mark.shows is place.shown
        if inside and mark.name == name:
            return replace(mark, marks=change(mark.marks))
        return replace(mark, marks=tuple(within(one, inside) for one in mark.marks))

    laid = book.original.laid
    pages = list(laid.pages)
    page = pages[place.page - 1]
    first = next(mark for mark in groups(page.marks) if mark.shows == place.shown)
    place = replace(place, shown=first.shows)
    pages[place.page - 1] = replace(page, marks=tuple(within(mark, False) for mark in page.marks))
    assert pages[place.page - 1] != page
    return place.page, book.told(pdf_bytes(pages, laid.bookmarks, about_of(laid.setting.book), laid.setting.fonts))


def test_pictures_of_several_steps_are_read_back(told_in_thoughts: Any) -> None:
    stages = [one.shown.picture for one in told_in_thoughts.places()
              if one.shown.kind is GridKind.STAGE and one.shown.in_book]
    assert {one.wish for one in stages} == set(Wish) and any(one.last - one.first == 4 for one in stages)
    assert told_in_thoughts.told(told_in_thoughts.data) == []


@pytest.mark.parametrize(("wish", "name", "change", "says"), [
    (Wish.FULL_NOTES, "notes", lambda marks: (
        marks[0]._replace(chunks=((0.0, "4 "), *marks[0].chunks[1:])), *marks[1:]),
     "should be different digits"),
    (Wish.STEPS, "letters", lambda marks: (marks[0]._replace(chunks=((0.0, "e"),)), *marks[1:]),
     "'e' stands where nothing should"),
    (Wish.STEPS, "marked", lambda marks: marks[1:], "its conclusion's tint is missing"),
    (Wish.STEPS, "houses", lambda marks: tuple(mark._replace(weight=0.2) for mark in marks),
     "is thin, where a house of the argument ends"),
    (Wish.STEPS, "causes", lambda marks: marks[1:], "its cage's outline is missing"),
    (Wish.STEPS, "edges", lambda marks: marks[1:], "nothing stands there"),
    (Wish.STEPS, "found", lambda marks: marks[1:], "does not stand where it should"),
])
def test_a_mark_changed_in_a_picture_is_told(
    wish: Wish, name: str, change: Change, says: str, told_in_thoughts: Any,
) -> None:
    page, told = spoilt(told_in_thoughts, wish, name, change)
    assert any(one.startswith(f"page {page}, ") and says in one for one in told), told
