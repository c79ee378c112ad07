"""Where things stand on puzzle pages, in little books: what a layout, a section or a book asks for."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import yaml

from cagework.layouts.load import shelf_layout
from cagework.solver.model import Cage, Cell, Puzzle, standard_houses
from cagework.typeset.draw.grid import cages_shown, puzzle_look
from cagework.typeset.draw.shown import GridKind
from cagework.typeset.editions import about_of
from cagework.typeset.manifest.load import load_book
from cagework.typeset.marks import MM, Fill, Group, Mark, Outline, Page, Text, flatten
from cagework.typeset.write.pdf import pdf_bytes

NAMES = ("platform-ticket", "left-luggage", "station-clock", "tea-urn")
Maker = Callable[..., Any]


@pytest.fixture(scope="module")
def made(sample: Path, tmp_path_factory: pytest.TempPathFactory, finish: Any) -> Maker:
    """Make a book of the sample's grids of four and of six, a section each."""
    puzzles = [one for one in yaml.safe_load(sample.read_text(encoding="utf-8"))["puzzles"] if one["id"] in NAMES]

    def make(first: dict[str, Any] | None = None, second: dict[str, Any] | None = None, **keys: Any) -> Any:
        manifest = tmp_path_factory.mktemp("places") / "book.yaml"
        data = {"book": {"title": "Tin Lantern", "pages": {"how_to_solve": False}} | keys,
                "sections": [{"title": "Small", "puzzles": list(NAMES[:2])} | (first or {}),
                             {"title": "Large", "puzzles": list(NAMES[2:])} | (second or {})],
                "puzzles": puzzles}
        manifest.write_text(yaml.safe_dump(data, sort_keys=False), encoding="utf-8")
        reading = load_book(manifest)
        assert reading.book is not None, reading.faults
        return finish(reading, reading.book)

    return make


def other(made: Any, number: int, page: Page) -> bytes:
    """The file with another page in one's place."""
    laid = made.original.laid
    pages = list(laid.pages)
    pages[number - 1] = page
    return pdf_bytes(pages, laid.bookmarks, about_of(laid.setting.book), laid.setting.fonts)


def test_a_section_has_slots_of_its_own(made: Maker) -> None:
    """Two puzzles on one page four-up, then two large ones with a page each; answers are all alike."""
    book = made(layout="a4-four-up", second={"layout": "a4-large-print"})
    assert book.told(book.data) == []
    places = [book.grid(GridKind.PUZZLE, name) for name in NAMES]
    small, large = shelf_layout("a4-four-up"), shelf_layout("a4-large-print")
    assert places[0].page == places[1].page < places[2].page < places[3].page
    assert places[0].cell == pytest.approx(small.puzzles.cell * MM * 1.5)       # small grids have larger cells
    assert places[2].cell > large.puzzles.cell * MM > small.puzzles.cell * MM * 1.5
    page = book.original.laid.pages[places[2].page - 1]
    frame = next(mark for mark in flatten(page.marks) if isinstance(mark, Outline) and mark.dash is None)
    assert frame.weight == large.weights.frame != small.weights.frame
    answers = [book.grid(GridKind.ANSWER, name) for name in NAMES]
    assert len({answer.page for answer in answers}) == 1


@pytest.fixture(scope="module", params=["tinted", "both"])
def shaded(request: Any, root: Path, made: Maker, tmp_path_factory: pytest.TempPathFactory) -> Any:
    """The book in a layout whose cages have tints, in place of dashes or besides."""
    own = tmp_path_factory.mktemp("shaded") / "own.yaml"
    text = (root / "layouts" / "shelf" / "a5-one-up.yaml").read_text(encoding="utf-8")
    own.write_text(f"{text}\ncages: {request.param}\n", encoding="utf-8")
    return request.param, made(layout=str(own), pages={"how_to_solve": True}, language="de")


def test_cages_are_told_apart_by_tints(shaded: Any) -> None:
    """Tints that black figures are read on, and dashes only where both are asked for; the rules say so."""
    style, book = shaded
    assert book.told(book.data) == []
    for name in NAMES:
        place = book.grid(GridKind.PUZZLE, name)
        page = book.original.laid.pages[place.page - 1]
        assert max(fill.ink for fill in tints(page)) <= 0.25 and len({fill.ink for fill in tints(page)}) >= 2
        assert any(isinstance(mark, Outline) and mark.dash for mark in flatten(page.marks)) == (style == "both")
    words = " ".join(mark.string for page in book.original.laid.pages for mark in flatten(page.marks)
                     if isinstance(mark, Text))
    assert ("Grauton" in words) == (style == "tinted")


def test_a_cage_in_its_neighbours_tint_is_told(shaded: Any) -> None:
    _, book = shaded
    place = book.grid(GridKind.PUZZLE, "tea-urn")
    page = book.original.laid.pages[place.page - 1]
    wrong, *_, lightest = sorted(tints(page), key=lambda fill: -fill.ink)
    instead = lightest.ink
    spoiled = replace(page, marks=tuple(reinked(mark, wrong, instead) for mark in page.marks))
    told = book.told(other(book, place.page, spoiled))
    assert any("though they are in different cages" in line for line in told), told


def tints(page: Page) -> list[Fill]:
    return [mark for group in groups(page.marks) if group.name == "tints" for mark in group.marks
            if isinstance(mark, Fill)]


def groups(marks: Sequence[Mark]) -> Iterator[Group]:
    for mark in marks:
        if isinstance(mark, Group):
            yield mark
            yield from groups(mark.marks)


def reinked(mark: Mark, wrong: Mark, ink: float) -> Mark:
    if isinstance(mark, Group):
        return replace(mark, marks=tuple(reinked(one, wrong, ink) for one in mark.marks))
    return mark._replace(ink=ink) if mark is wrong and isinstance(mark, Fill) else mark


def test_tints_with_another_meaning_leave_cages_their_dashes() -> None:
    """Windows are tinted by their rule; a cell in no cage would look like a white cage."""
    look = puzzle_look(shelf_layout("a5-one-up").model_copy(update={"cages": "tinted"}), 20.0)
    square = Puzzle(4, standard_houses(4), (Cage((Cell(1, 1), Cell(1, 2)), 5),))
    assert cages_shown(square, look, taken=False) == (True, True)
    assert cages_shown(square, look, taken=True) == (True, False)
    whole = replace(square, cages=tuple(Cage((cell,), 1) for cell in square.cells))
    assert cages_shown(whole, look, taken=False) == (False, True)
