"""What is kept from one save to the next is what would be made anew."""

from __future__ import annotations

import gc
import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from cagework.layouts.load import shelf_layout
from cagework.solver.search.exact import Outcome
from cagework.typeset.desk.galley import Compositor, Galley
from cagework.typeset.draw.setting import answer_anchor, hints_anchor, puzzle_anchor, worked_anchor
from cagework.typeset.manifest.load import load_book
from cagework.typeset.manifest.reread import Reread
from cagework.typeset.marks import MM
from cagework.typeset.plan import Solved, lay_out
from cagework.typeset.solving.cache import Cache
from cagework.typeset.solving.check import check_puzzles
from cagework.typeset.solving.crew import Crew
from cagework.typeset.solving.rated import rated
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.words import words_or_english
from cagework.typeset.write.svg import svg_text

Edit = Callable[[str, str, str], None]

EDITS = (
    ("puzzles/lamp.yaml", "title: Lamp", "title: Lamp\nby: the porter\nsolutions: key"),
    ("book.yaml", "[hall, loft]", "[loft, hall]"),
    ("book.yaml", "title: Four Doors", "title: Five Doors\n  pages: {first_hints: true}"),
    ("puzzles/hall.yaml", "id: hall", "# a comment that moves every line down\nid: hall"),
    ("book.yaml", "  solutions: full\n", "  solutions: full\n  language: de\n"),
    ("puzzles/loft.yaml", "title: Loft", "title: Loft\ngrade: summit"),
    ("book.yaml", "  language: de\n", "  layout: a4-two-up\n"),
    ("puzzles/lamp.yaml", "sum: 9, cells: r4c2", "sum: 7, cells: r4c2"),
    ("puzzles/lamp.yaml", "sum: 7, cells: r4c2", "sum: 9, cells: r4c2"),
    ("book.yaml", "  - title: Stairs\n    puzzles: [loft, hall]\n", ""),
)


def drawn(compositor: Compositor) -> list[str]:
    return pictured(compositor.galley)


def pictured(galley: Galley) -> list[str]:
    pictures = galley.pictures
    assert pictures is not None and pictures.page(0) is None
    pages = [pictures.page(number) for number in range(1, len(pictures.plan.leaves) + 2)]
    assert pages.pop() is None
    return [page.svg for page in pages if page is not None]


def test_after_any_edit_the_galley_is_what_a_new_desk_would_show(
    book: Path, compositor: Compositor, edit: Edit,
) -> None:
    for file, old, new in EDITS:
        edit(file, old, new)
        one = compositor.refresh()
        fresh = Compositor(book, Crew(), None)
        two = fresh.refresh()
        assert drawn(compositor) == drawn(fresh), new
        assert one.faults == two.faults
        assert [(a.reading, a.verdict and a.verdict.outcome, a.grade, a.faults) for a in one.checked] == [
            (b.reading, b.verdict and b.verdict.outcome, b.grade, b.faults) for b in two.checked], new


def test_reading_again_is_reading_anew(tmp_path: Path) -> None:
    """In one file, where a line put in moves all that stands below, and an alias borrows from above."""
    head = "book: {title: T, allow_uncaged: true}\nx: &some {r1c1: 1}\npuzzles:\n"
    one = "- {id: one, title: One, size: 4, cages: [], givens: {r1c1: 1, r2c2: 3}}\n"
    two = "- {id: two, title: Two, size: 4, cages: [], givens: *some}\n"
    texts = [head + one + two, head + "\n" + one + two, head.replace("r1c1: 1", "r1c2: 9") + one + two,
             head + one.replace("One, ", "One, titel: x, ") + two, head + one + two + one, head + two + one,
             "- : ["]
    file, reread = tmp_path / "book.yaml", Reread()
    for text in [*texts, *reversed(texts[:-1])]:
        file.write_text(text, encoding="utf-8")
        try:
            again = load_book(file, reread=reread)
        except Exception as error:
            assert type(error).__name__ == "UnreadableManifest" and text == texts[-1]
            continue
        assert again == load_book(file)


def test_pages_are_the_marks_that_go_to_press(book: Path, compositor: Compositor) -> None:
    reading = load_book(book)
    assert reading.book is not None
    checked = check_puzzles(reading.puzzles, None)
    printed = rated(reading.book, checked)
    entries = {entry.id: entry for entry in printed.entries}
    solved = Solved(
        {one.worked.entry.id: one.verdict.answer for one in checked
         if one.worked and one.verdict and one.verdict.answer},
        {one.worked.entry.id: one.worked for one in checked if one.worked})
    fonts = Fonts(shelf_layout("a5-one-up"))
    assert all(entries[name].grade for name in solved.works)
    works = {name: type(work)(entries[name], work.path, work.rating) for name, work in solved.works.items()}
    laid = lay_out(printed, Solved(solved.answers, works), fonts, words_or_english(printed.language))
    assert drawn(compositor) == [
        svg_text(page.marks, page.width, page.height, fonts, f"Page {n}", around=3 * MM)    # the bleed, by default
        for n, page in enumerate(laid.pages, 1)]


def test_a_galley_is_drawn_alike_whatever_is_refreshed_since(compositor: Compositor, edit: Edit) -> None:
    """Before and after the page numbers, the puzzles' numbers and the digits that it shows have changed."""
    whole = pictured(compositor.galley)
    first = compositor.refresh()
    for file, old, new in EDITS:
        edit(file, old, new)
        assert compositor.refresh() is not first
    assert pictured(compositor.galley) != whole
    assert pictured(first) == whole


def test_pages_asked_for_during_a_refresh_are_not_taken_for_those_after_it(
    book: Path, compositor: Compositor, edit: Edit,
) -> None:
    done = threading.Event()

    def ask() -> None:
        while not done.is_set():
            pictured(compositor.galley)

    asking = threading.Thread(target=ask)
    asking.start()
    try:
        for file, old, new in EDITS:
            edit(file, old, new)
            compositor.refresh()
    finally:
        done.set()
        asking.join()
    fresh = Compositor(book, Crew(), None)
    fresh.refresh()
    assert drawn(compositor) == drawn(fresh)


def test_a_broken_manifest_leaves_the_last_book(compositor: Compositor, edit: Edit) -> None:
    before = drawn(compositor)
    for file, old, new in (("book.yaml", "sections:", "sektions: ["), ("book.yaml", "title: Stairs", "titel: S")):
        edit(file, old, new)
        galley = compositor.refresh()
        assert not galley.fresh and any(fault.is_error for fault in galley.faults)
        assert drawn(compositor) == before
        edit(file, new, old)
        assert compositor.refresh().fresh
    assert drawn(compositor) == before


def test_a_character_no_face_has_leaves_the_last_book(compositor: Compositor, edit: Edit) -> None:
    before = drawn(compositor)
    edit("puzzles/lamp.yaml", "title: Lamp", "title: Lamp ☃")
    galley = compositor.refresh()
    assert not galley.fresh and "U+2603" in galley.faults[-1].message
    assert drawn(compositor) == before


def test_an_unsound_puzzle_is_shown_without_an_answer_and_the_others_stay(
    compositor: Compositor, edit: Edit,
) -> None:
    before = drawn(compositor)
    edit("puzzles/lamp.yaml", "sum: 9, cells: r4c2", "sum: 7, cells: r4c2")
    galley = compositor.refresh()
    assert galley.fresh
    outcomes = {one.reading.id: one.verdict and one.verdict.outcome for one in galley.checked}
    assert outcomes.pop("lamp") is Outcome.NO_ANSWER
    assert set(outcomes.values()) == {Outcome.SOUND}
    assert drawn(compositor) != before


def test_only_what_changed_is_solved(compositor: Compositor, edit: Edit) -> None:
    told: list[tuple[int, int]] = []
    compositor.refresh(lambda done, of: told.append((done, of)))
    assert told == []
    edit("puzzles/lamp.yaml", "sum: 9, cells: r4c2", "sum: 7, cells: r4c2")
    compositor.refresh(lambda done, of: told.append((done, of)))
    assert told == [(0, 1), (1, 1)]
    edit("book.yaml", "title: Four Doors", "title: For Doors")
    compositor.refresh(lambda done, of: told.append((done, of)))
    assert told == [(0, 1), (1, 1)]


def test_titles_that_no_page_has_any_more_are_not_held(compositor: Compositor, edit: Edit) -> None:
    """Each title is new to the faces: what they measured of it would stay, a dozen things a save."""
    def held(first: int) -> int:
        for number in range(first, first + 64):
            before = f"title: Lamp {number}" if number else "title: Lamp"
            edit("puzzles/lamp.yaml", f"{before}\n", f"title: Lamp {number + 1}\n")
            assert compositor.refresh().fresh
        gc.collect()
        return len(gc.get_objects())

    _, first, second = held(0), held(64), held(128)
    assert second - first < 64 * 4


FAULTY = (
    ("puzzles/lamp.yaml", "sum: 9, cells: r4c2", "sum: 99, cells: r4c2"),
    ("puzzles/lamp.yaml", "size: 4", "size: four"),
    ("puzzles/lamp.yaml", "size: 4", "size: 4\nsize: 4"),
    ("puzzles/lamp.yaml", "cages:", "cages: ["),
    ("puzzles/lamp.yaml", "id: lamp", "id: lantern"),
    ("puzzles/lamp.yaml", "id: lamp", "id: fork"),
    ("puzzles/lamp.yaml", "title: Lamp", "titel: Lamp"),
    ("puzzles/lamp.yaml", "", "- nothing"),
    ("book.yaml", "fork, lamp", "fork, lump"),
)


@pytest.mark.parametrize(("file", "old", "new"), FAULTY)
@pytest.mark.parametrize("listed", [True, False])
def test_a_puzzle_with_a_fault_keeps_its_place_and_the_others_theirs(
    book: Path, texts: dict[str, str], file: str, old: str, new: str, listed: bool,
) -> None:
    """In sections that name their puzzles, and in a book of all that its files hold, in order of their names."""
    head, sections = texts["book.yaml"].replace("lamp, fork", "fork, lamp").split("sections:")
    book.write_text(head + f"sections:{sections}" * listed, encoding="utf-8")
    compositor = Compositor(book, Crew(Cache()), None)
    before = compositor.refresh()
    text = (book.parent / file).read_text(encoding="utf-8")
    broken = text.replace(old, new) if old else new
    (book.parent / file).write_text(broken, encoding="utf-8")
    galley = compositor.refresh()
    assert galley.plan and before.plan
    wrong = any(fault.is_error for fault in galley.faults)
    assert wrong == (broken != text and (listed or new != "id: lantern")), "another id is no fault by itself"
    assert wrong == (load_book(book).book is None), "what is built refuses it"
    kept = {name: before.plan.pages.of[puzzle_anchor(name)] for name in ("fork", "hall", "loft")}
    assert galley.fresh and {name: galley.plan.pages.of[puzzle_anchor(name)] for name in kept} == kept
    (here,) = [one for one in galley.checked if one.reading.id not in kept and puzzle_anchor(
        one.reading.id or "") in galley.plan.pages.of]
    spot = puzzle_anchor(here.reading.id or "")
    assert galley.plan.pages.of[spot] == before.plan.pages.of[puzzle_anchor("lamp")]
    assert any(fault.is_error for fault in here.faults) == wrong
    assert len(pictured(galley)) > max(kept.values())
    (book.parent / file).write_text(text, encoding="utf-8")
    assert compositor.refresh().faults == before.faults and drawn(compositor) == pictured(before)


def test_a_fault_within_the_manifest_itself_is_the_puzzles_alone(tmp_path: Path, texts: dict[str, str]) -> None:
    """A key that stands twice is a fault of the document, and no reason to lose the book."""
    written = ["  - " + texts[f"puzzles/{name}.yaml"].strip().replace("\n", "\n    ") for name in ("lamp", "hall")]
    book, text = tmp_path / "book.yaml", "\n".join(["book: {title: T}", "puzzles:", *written, ""])
    book.write_text(text, encoding="utf-8")
    compositor = Compositor(book, Crew(), None)
    before = compositor.refresh()
    book.write_text(text.replace("size: 4", "size: 4\n    size: 5"), encoding="utf-8")
    galley = compositor.refresh()
    assert galley.fresh and galley.plan and before.plan and any(fault.is_error for fault in galley.faults)
    assert set(galley.plan.pages.of) == set(before.plan.pages.of) and load_book(book).book is None
    assert [(one.reading.id, one.verdict is None) for one in galley.checked] == [("lamp", True), ("hall", False)]
    book.write_text(text + "pages:\n  - {title: A, title: B, at: back}\n", encoding="utf-8")
    galley = compositor.refresh()
    assert any(fault.is_error for fault in galley.faults) and all(one.is_sound for one in galley.checked)


def test_a_puzzle_without_one_answer_keeps_its_heading_where_its_path_would_stand(
    book: Path, compositor: Compositor, edit: Edit, without_sums: tuple[str, str, str],
) -> None:
    def heads(anchor: Callable[[str], str]) -> list[str]:
        assert compositor.galley.plan is not None
        return [name for name in compositor.galley.plan.pages.of
                if name in {anchor(one) for one in ("lamp", "fork", "hall", "loft")}]

    edit("book.yaml", "  solutions: full\n", "  solutions: full\n  pages: {first_hints: true}\n")
    compositor.refresh()
    before = heads(worked_anchor), heads(hints_anchor), heads(answer_anchor)
    assert [len(one) for one in before] == [4, 4, 4]
    edit(*without_sums)
    compositor.refresh()
    assert (heads(worked_anchor), heads(hints_anchor), heads(answer_anchor)) == before


def test_in_order_of_grade_a_puzzle_stands_by_the_score_it_had(compositor: Compositor, edit: Edit) -> None:
    def order() -> list[str]:
        galley = compositor.galley
        assert galley.book is not None
        return [entry.id for entry in galley.book.sections[0].entries]

    edit("book.yaml", "  - title: Ground floor\n    puzzles: [lamp, fork]",
         "  - title: Ground floor\n    order: grade\n    puzzles: [lamp, fork, loft]")
    edit("book.yaml", "[hall, loft]", "[hall]")
    compositor.refresh()
    before = order()
    for name in before[:2]:
        edit(f"puzzles/{name}.yaml", "cages:", "cages: []\nnot_cages:")
        compositor.refresh()
        assert order() == before
        edit(f"puzzles/{name}.yaml", "cages: []\nnot_cages:", "cages:")
