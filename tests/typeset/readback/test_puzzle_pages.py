"""Where things stand on puzzle pages, in little books of small grids: what a layout, a section or a book asks for."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml

from cagework.layouts.load import shelf_layout
from cagework.typeset.draw.shown import GridKind
from cagework.typeset.editions import about_of
from cagework.typeset.manifest.load import load_book
from cagework.typeset.marks import MM, Outline, Page, flatten
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
