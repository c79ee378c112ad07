"""The order of pages on books awkward enough to go wrong: spreads, page counts, the gutter."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import product
from pathlib import Path
from typing import Any

import pytest

from cagework.layouts.load import shelf_layout, shelf_names
from cagework.solver.model import Answer
from cagework.typeset.book import Section, SectionStart, SparePages
from cagework.typeset.draw.setting import answer_anchor, puzzle_anchor
from cagework.typeset.entry import Solutions
from cagework.typeset.manifest.load import load_book
from cagework.typeset.marks import Fill, Group, Page, Text, flatten
from cagework.typeset.plan import Pages, Solved, lay_out
from cagework.typeset.readback.crowding import is_crowded
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.words import load_words

MM = 72 / 25.4
Maker = Callable[..., Pages]


@pytest.fixture(scope="module")
def made(fonts: Fonts, sample: Path) -> Maker:
    """Lay out a book of the sample's small puzzles, so many to each section, without hints or worked solutions.

    Where pages fall does not depend on the digits of the answers, so all are ones.
    """
    whole = load_book(sample).book
    assert whole is not None
    small = [replace(entry, solutions=Solutions.NONE) for entry in whole.sections[0].entries]

    def make(counts: Sequence[int], layout: str = "a5-one-up", start: SectionStart = SectionStart.NEXT,
             contents: bool = False, intro: str | None = None, **press: Any) -> Pages:
        entries = [replace(small[number % len(small)], id=f"p{number}") for number in range(sum(counts))]
        answers = {entry.id: Answer(entry.puzzle.size, (1,) * entry.puzzle.size**2) for entry in entries}
        parts = [Section("Part", intro, tuple(entries.pop(0) for _ in range(count))) for count in counts]
        book = replace(
            whole, sections=tuple(parts), layout=shelf_layout(layout), introduction=None,
            pages=replace(whole.pages, contents=contents, how_to_solve=False, first_hints=False,
                          sections_start=start),
            press=replace(whole.press, **press))
        return lay_out(book, Solved(answers, {}), fonts, load_words("en"))

    return make


def numbers(laid: Pages) -> dict[str, int]:
    return {anchor.name: number for number, page in enumerate(laid.pages, 1) for anchor in page.anchors}


def spread(page: int) -> int:
    """Pages 2 and 3 lie side by side, as do 4 and 5: the first page of a book is a right-hand one."""
    return page // 2


def leaf(page: int) -> int:
    """Pages 1 and 2 are the two sides of a leaf, as are 3 and 4."""
    return (page + 1) // 2


@pytest.mark.parametrize("layout", ["a5-one-up", "a4-four-up"])
@pytest.mark.parametrize("start", list(SectionStart))
@pytest.mark.parametrize("fill", list(SparePages))
def test_no_answer_faces_its_puzzle_or_stands_on_its_back(
    layout: str, start: SectionStart, fill: SparePages, made: Maker,
) -> None:
    """Every small book of one or two sections: the last puzzles' answers begin right after them. A page has room
    for 12 answers at most, so that 13 puzzles keep their last apart.
    """
    near = 0
    for counts in [(n,) for n in (*range(1, 8), 13)] + list(product(range(1, 4), repeat=2)):
        laid = made(counts, layout, start, fill=fill)
        at = numbers(laid)
        for number in range(sum(counts)):
            puzzle, answer = at[puzzle_anchor(f"p{number}")], at[answer_anchor(f"p{number}")]
            assert spread(puzzle) != spread(answer) and leaf(puzzle) != leaf(answer), (counts, puzzle, answer)
        near += at["answers"] - puzzle == 1
        if start is SectionStart.RIGHT:
            assert at["answers"] % 2 == 1, "answers begin on the right, as sections do"
    if start is SectionStart.NEXT:
        assert near, "answers may begin right after the puzzles, so a page was not spent on every book"


@pytest.mark.parametrize(("multiple", "fill"), [(2, SparePages.BLANK), (4, SparePages.NOTES),
                                                (16, SparePages.NOTES)])
def test_the_page_count_is_what_the_binding_needs(multiple: int, fill: SparePages, made: Maker) -> None:
    for count in range(1, 6):
        laid = made((count,), multiple=multiple, fill=fill)
        plain = made((count,), multiple=1, fill=fill)
        assert len(laid.pages) % multiple == 0
        added = laid.pages[len(plain.pages):]
        assert len(added) < multiple
        for page in added:
            assert words(page)[:1] == (["Notes"] if fill is SparePages.NOTES else [])


def words(page: Page) -> list[str]:
    return [mark.string for mark in flatten(page.marks) if isinstance(mark, Text)]


def test_the_inside_margin_grows_with_the_page_count_until_both_fit(made: Maker) -> None:
    """kssct.org, standard margins for books: 0.375 in up to 150 pages, 0.75 in up to 400."""
    thin, thick = made((20,)), made((170,))
    assert len(thin.pages) <= 150 < len(thick.pages) <= 400
    assert thin.setting.layout.margins.inside == 18
    assert thick.setting.layout.margins.inside == 19.05
    for laid, inside in ((thin, 18), (thick, 19.05)):
        number = numbers(laid)[puzzle_anchor("p0")]
        page = laid.pages[number - 1]
        assert min(mark.x for mark in flatten(page.marks) if isinstance(mark, Text)) / MM == pytest.approx(
            inside if number % 2 else laid.setting.layout.margins.outside)


def mark_name(mark: Any) -> str:
    return mark.name if isinstance(mark, Group) else ""


def test_a_margin_that_makes_more_pages_is_kept(made: Maker) -> None:
    """A table with a step at the very count it brings about: the loop ends, and the wider margin stays."""
    count = len(made((30,)).pages)
    layout = shelf_layout("a5-one-up")
    margins = layout.margins.model_copy(update={"inside_from": {count: 60.0}})
    assert layout.model_copy(update={"margins": margins}).for_pages(count - 1).margins.inside == 18
    assert layout.model_copy(update={"margins": margins}).for_pages(count).margins.inside == 60


def test_a_section_that_is_not_the_book_itself_has_a_page_to_open_it(made: Maker) -> None:
    """One or several: the page bears the section's name, and its puzzles come after."""
    for counts in ((3,), (2, 2)):
        laid = made(counts)
        at = numbers(laid)
        assert at["section-1"] == at[puzzle_anchor("p0")] - 1
        assert "Part" in words(laid.pages[at["section-1"] - 1])


def test_each_section_has_its_tab_and_all_are_apart(made: Maker) -> None:
    laid = made((2, 2, 2, 2, 2, 2, 2, 2, 2, 2, 2), bleed=3.0)
    seen: dict[float, list[int]] = {}
    for number, page in enumerate(laid.pages, 1):
        for mark in page.marks:
            if mark_name(mark) == "tab":
                points = [point for part in flatten((mark,)) if isinstance(part, Fill)
                          for ring in part.rings for point in ring]
                top, low = min(y for _, y in points), max(y for _, y in points)
                outer = max(x for x, _ in points) - page.width if number % 2 else -min(x for x, _ in points)
                assert outer == pytest.approx(3 * MM), "to the edge of the bleed"
                assert 0 < top < low < page.height
                seen.setdefault(round(top, 2), []).append(number)
                for other in seen:
                    assert other == round(top, 2) or other >= low or other < top
    assert len(seen) == 12, "a place for each section, and one for the answers"
    assert all(run == list(range(run[0], run[-1] + 1)) for run in seen.values())


def test_without_bleed_or_sections_to_tell_apart_there_are_no_tabs(made: Maker) -> None:
    for laid in (made((2, 2), bleed=0.0), made((4,), bleed=3.0)):
        assert not any(mark_name(mark) == "tab" for page in laid.pages for mark in page.marks)


def test_the_contents_of_a_thousand_puzzles_have_room_for_their_numbers(made: Maker) -> None:
    laid = made([1000], "a4-six-up", contents=True)
    contents = range(numbers(laid)["contents"], numbers(laid)[puzzle_anchor("p0")])
    assert len(contents) > 10
    for number in contents:
        assert not is_crowded(number, laid.pages[number - 1], (), laid.setting), number


@pytest.mark.parametrize("layout", shelf_names())
@pytest.mark.parametrize("count", [60, 450, 2000])
def test_a_section_may_be_introduced_at_any_length(layout: str, count: int, made: Maker) -> None:
    """Its words go on overleaf, all of them in order, no page with under five lines; the ornament yields."""
    said = [f"word{number}" for number in range(count)]
    laid = made((1, 1), layout, intro="\n\n".join(" ".join(said[at:at + 150]) for at in range(0, count, 150)))
    at = numbers(laid)
    first, last = at["section-1"], at[puzzle_anchor("p0")] - 1
    told: list[str] = []
    for number in range(first, last + 1):
        page = laid.pages[number - 1]
        lines = {mark.y for mark in flatten(page.marks) if isinstance(mark, Text) and "word" in text_of(mark)}
        assert len(lines) >= 5
        assert not is_crowded(number, page, (), laid.setting)
        told += [text_of(mark) for mark in flatten(page.marks) if isinstance(mark, Text)]
    assert re.findall(r"word\d+", " ".join(told)) == said


def text_of(mark: Text) -> str:
    return "".join(text for _, text in mark.chunks)
