"""Where things stand on puzzle pages, in little books: what a layout, a section or a book asks for."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations, pairwise
from pathlib import Path
from typing import Any

import pytest
import yaml

from cagework.layouts.load import Trim, shelf_layout
from cagework.layouts.page import Box
from cagework.solver.model import Cage, Cell, Puzzle, standard_houses
from cagework.typeset.draw.foot import foot_marks
from cagework.typeset.draw.grid import cages_shown
from cagework.typeset.draw.look import puzzle_look
from cagework.typeset.draw.setting import Setting
from cagework.typeset.draw.shown import GridKind
from cagework.typeset.editions import about_of
from cagework.typeset.manifest.load import load_book
from cagework.typeset.marks import MM, Fill, Group, Line, Mark, Outline, Page, Text, flatten, groups
from cagework.typeset.no_room import too_large
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.words import load_words
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


@pytest.fixture(scope="module")
def turned(made: Maker) -> Any:
    """The book with answers upside down on the puzzles' pages, but for one section's at its end."""
    return made(layout="a4-four-up", answers="page", second={"answers": "section"}, pages={"first_hints": True})


def test_answers_stand_upside_down_under_their_puzzles(turned: Any) -> None:
    assert turned.told(turned.data) == []
    for name in NAMES[:2]:
        puzzle, answer = (turned.grid(kind, name) for kind in (GridKind.PUZZLE, GridKind.ANSWER))
        assert (answer.page, answer.shown.turned) == (puzzle.page, True)
        assert answer.y > puzzle.y + puzzle.height and answer.cell < puzzle.cell
    page = turned.original.laid.pages[puzzle.page - 1]
    assert [mark.angle for mark in flatten(digits(page)) if isinstance(mark, Text)] == [180.0] * 32
    assert [link.target for link in page.links] == [f"hints-{name}" for name in NAMES[:2]]      # and no answer


def test_answers_of_a_section_stand_at_its_end(turned: Any) -> None:
    laid = turned.original.laid
    for name in NAMES[2:]:
        puzzle, answer = (turned.grid(kind, name) for kind in (GridKind.PUZZLE, GridKind.ANSWER))
        assert not answer.shown.turned and puzzle.page // 2 < answer.page // 2, "not on the spread of its puzzle"
    ends = {anchor.name: number for number, page in enumerate(laid.pages, 1) for anchor in page.anchors}
    assert ends["answers-2"] == answer.page < ends["hints"] and "answers" not in ends
    assert [(mark.title, mark.anchor) for mark in laid.bookmarks if "answers" in mark.anchor] == [
        ("Answers", "answers-2")]


@pytest.mark.parametrize("how", ["level", "another digit"])
def test_a_turned_answer_spoiled_is_told(how: str, turned: Any) -> None:
    """A 6 on its feet among digits on their heads would read as a 9; so would 9 in its place."""
    place = turned.grid(GridKind.ANSWER, NAMES[0])
    page = turned.original.laid.pages[place.page - 1]
    wrong, *_ = (mark for mark in flatten(digits(page)) if isinstance(mark, Text))
    said = "".join(text for _, text in wrong.chunks)
    instead = wrong._replace(angle=0.0) if how == "level" else wrong._replace(
        chunks=((0.0, "1" if said != "1" else "2"),))
    told = turned.told(other(turned, place.page, replace(page, marks=tuple(
        exchanged(mark, wrong, instead) for mark in page.marks))))
    assert any(line.startswith(f"page {place.page}, answer of '{NAMES[0]}', r1c1") for line in told), told


def test_a_page_without_room_for_both_names_the_way_out(turned: Any, fonts: Fonts) -> None:
    """The first page too low, of ever lower ones, lacks room for the answers alone."""
    book, words = turned.original.book, turned.original.laid.setting.words
    trims = (Trim(width=210, height=height) for height in range(128, 50, -2))
    low = (replace(book, layout=book.layout.model_copy(update={"trim": trim})) for trim in trims)
    first, *_ = next(found for one in low if (found := list(too_large(Setting.of(one, fonts, words)))))
    assert first.hint == "print the answers of its section elsewhere, with answers: back or answers: section"
    assert first.where in {entry.place for entry in book.sections[0].entries}


def digits(page: Page) -> list[Mark]:
    """The digits of all answers of a page."""
    return [mark for group in groups(page.marks) if group.name == "answer" for mark in group.marks]


def exchanged(mark: Mark, wrong: Mark, instead: Mark) -> Mark:
    if isinstance(mark, Group):
        return replace(mark, marks=tuple(exchanged(one, wrong, instead) for one in mark.marks))
    return instead if mark is wrong else mark


@pytest.fixture(scope="module", params=["en", "de"])
def footed(request: Any, made: Maker) -> Any:
    """The book with sums worth knowing under one section's puzzles, and lines under the other's."""
    return request.param, made(language=request.param, foot="sums", second={"foot": "scratch"})


def test_sums_worth_knowing_stand_at_the_foot(footed: Any) -> None:
    """All that the grid's own cages have and one or two sets of digits make, by trying all sets."""
    language, book = footed
    assert book.told(book.data) == []
    for entry in list(book.original.book.entries)[:2]:
        place = book.grid(GridKind.PUZZLE, entry.id)
        page = book.original.laid.pages[place.page - 1]
        foot, = (group for group in groups(page.marks) if group.name == "foot")
        said = [mark.string for mark in flatten(foot.marks) if isinstance(mark, Text)]
        due = [load_words(language).sums]
        for count in (2, 3):
            totals = sorted({cage.total for cage in entry.puzzle.cages if len(cage.cells) == count})
            sets = list(combinations(range(1, 5), count))
            known = [[str(total), *("".join(map(str, way)) for way in sets if sum(way) == total)]
                     for total in totals]
            few = [word for words in known if len(words) <= 3 for word in words]
            due += [load_words(language).sums_cells.format(count=count), *few] if few else []
        assert said == due
        assert min(mark.y for mark in flatten(foot.marks) if isinstance(mark, Text)) > place.y + place.height


def test_lines_to_work_on_stand_at_the_foot(footed: Any) -> None:
    _, book = footed
    place = book.grid(GridKind.PUZZLE, NAMES[2])
    page, block = book.original.laid.pages[place.page - 1], book.original.laid.setting.block(place.page)
    foot, = (group for group in groups(page.marks) if group.name == "foot")
    heights = [mark.y1 for mark in foot.marks if isinstance(mark, Line)]
    assert len(heights) > 2 and heights[-1] == pytest.approx(block.bottom)
    assert min(heights) > place.y + place.height
    assert {round(low - high, 6) for high, low in pairwise(heights)} == {round(7 * MM, 6)}


def test_a_wrong_sum_at_the_foot_is_told(footed: Any) -> None:
    _, book = footed
    place = book.grid(GridKind.PUZZLE, NAMES[1])
    page = book.original.laid.pages[place.page - 1]
    foot, = (group for group in groups(page.marks) if group.name == "foot")
    wrong = [mark for mark in flatten(foot.marks) if isinstance(mark, Text)][-1]
    spoiled = tuple(exchanged(mark, wrong, wrong._replace(chunks=((0.0, "123"),))) for mark in page.marks)
    assert book.told(other(book, place.page, replace(page, marks=spoiled)))


def test_nothing_stands_at_a_foot_without_room(fonts: Fonts, footed: Any) -> None:
    """As rooms grow, nothing, then the sums of one set of digits, then all: never more than there is room for."""
    setting = footed[1].original.laid.setting
    puzzle = next(entry.puzzle for entry in setting.book.entries if entry.id == NAMES[3])
    seen = set()
    for width in range(60, 300, 20):
        before = 0
        for height in range(0, 120, 3):
            room = Box(0.0, 0.0, float(width), float(height))
            texts = [mark for mark in flatten(foot_marks(setting, room, puzzle)) if isinstance(mark, Text)]
            assert all(mark.y - 0.75 * mark.size >= 0 and mark.y <= height for mark in texts)
            assert all(mark.x + fonts.measure(mark.string, mark.face, mark.size) <= width for mark in texts)
            assert len(texts) >= before
            before = len(texts)
            seen.add(before)
    assert len(seen) == 3
