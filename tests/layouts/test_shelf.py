"""The layouts that come with the tool, against the standards they name."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from cagework.layouts.load import Layout, LayoutError, layout_path, read_layout, shelf_names
from cagework.layouts.page import Box, is_recto, slots, text_block

TRIMS = {
    "a5": (148, 210),          # ISO 216
    "a4": (210, 297),          # ISO 216
    "6x9": (152.4, 228.6),     # 6 x 9 in, 25.4 mm to the inch
    "letter": (215.9, 279.4),  # 8.5 x 11 in, ANSI/ASME Y14.1 size A
}
UP = {"one": 1, "two": 2, "four": 4, "six": 6, "large": 1}


@pytest.mark.parametrize("name", shelf_names())
def test_a_layout_has_the_trim_and_the_slots_its_name_says(name: str, layout_of: Callable[[str], Layout]) -> None:
    layout = layout_of(name)
    size, up, _ = name.split("-")
    assert (layout.trim.width, layout.trim.height) == TRIMS[size]
    assert layout.puzzles.columns * layout.puzzles.rows == UP[up]


def test_the_shelf_holds_one_two_four_and_six_to_a_page() -> None:
    assert set(shelf_names()) >= {"a5-one-up", "6x9-one-up", "a4-two-up", "a4-four-up", "letter-four-up",
                                  "a4-large-print", "a4-six-up"}


@pytest.mark.parametrize("name", shelf_names())
def test_margins_mirror_with_the_wider_one_at_the_spine(name: str, layout_of: Callable[[str], Layout]) -> None:
    layout = layout_of(name)
    recto, verso = text_block(layout, 1), text_block(layout, 2)
    assert is_recto(1) and not is_recto(2)
    assert recto.x == pytest.approx(layout.trim.width - verso.right)
    assert recto.x > verso.x
    assert (recto.width, recto.height) == (verso.width, verso.height)


@pytest.mark.parametrize("name", shelf_names())
def test_slots_lie_in_the_block_and_apart(name: str, layout_of: Callable[[str], Layout]) -> None:
    layout = layout_of(name)
    block = text_block(layout, 1)
    for plan in (layout.puzzles, layout.answers):
        places = slots(block, plan)
        assert len(places) == plan.columns * plan.rows
        for number, place in enumerate(places):
            assert block.x - 1e-9 <= place.x and place.right <= block.right + 1e-9
            assert block.y - 1e-9 <= place.y and place.bottom <= block.bottom + 1e-9
            assert all(_apart(place, other) >= plan.gap - 1e-9 for other in places[:number])


def _apart(a: Box, b: Box) -> float:
    return max(b.x - a.right, a.x - b.right, b.y - a.bottom, a.y - b.bottom)


@pytest.mark.parametrize("name", shelf_names())
def test_type_and_lines_keep_to_book_printing_minimums(name: str, layout_of: Callable[[str], Layout]) -> None:
    """Lines of 0.25 pt or more in one ink, and type of 6 pt or more: book printers' published floors.

    Blurb, help article 360046232432 (0.25 pt); peakprint.ca guidelines (6 pt). The printer's own count.
    """
    layout = layout_of(name)
    weights = layout.weights
    assert 0.25 <= weights.cell < weights.region < weights.frame
    assert weights.cage >= 0.25
    assert layout.type.label >= 6
    assert layout.type.small * 0.86 >= 6, "the running head"


def test_large_print_meets_the_published_sizes(layout_of: Callable[[str], Layout]) -> None:
    """UKAAF G003 (2019): large print is at least 16 pt, ideally 18; sans, no italics, ranged left."""
    layout = layout_of("a4-large-print")
    kind, prose = layout.type, layout.prose
    assert min(kind.body, kind.small * 0.86, kind.label) >= 16
    assert kind.body >= 18
    assert (prose.family, prose.align, prose.hyphenate, prose.italics) == ("sans", "ragged", False, False)


def test_a_layout_with_faults_names_each_by_its_keys() -> None:
    data = {"title": "Bad", "trim": {"width": 100, "height": -1}, "margins": {"top": 1, "left": 2}, "type": 7}
    with pytest.raises(LayoutError) as caught:
        read_layout(data, "bad")
    paths = {problem.path for problem in caught.value.problems}
    assert paths >= {("trim", "height"), ("margins", "left"), ("margins", "bottom"), ("type",), ("puzzles",)}


@pytest.mark.parametrize(("key", "value", "said"), [
    ("margins", {"top": 100, "bottom": 100, "inside": 18, "outside": 13}, "text block"),
    ("weights", {"cell": 1.0, "cage": 0.5, "region": 0.5, "frame": 2.0}, "rise"),
    ("fonts", {"serif": "nowhere.ttf"}, "no font file"),
])
def test_a_layout_that_cannot_work_is_refused(
    key: str, value: object, said: str, layout_of: Callable[[str], Layout],
) -> None:
    data = layout_of("a5-one-up").model_dump(exclude={"name"}) | {key: value}
    with pytest.raises(LayoutError, match=said):
        read_layout(data, "odd")


def test_an_unknown_layout_is_an_error() -> None:
    with pytest.raises(LookupError, match="no layout 'a3'"):
        layout_path("a3", Path.cwd())


def test_tints_tell_regions_or_cages_apart_not_both(layout_of: Callable[[str], Layout]) -> None:
    data = layout_of("a5-one-up").model_dump(exclude={"name"}) | {"regions": "tints"}
    assert read_layout(data, "regions").cages == "dashed"
    for cages in ("tinted", "both"):
        with pytest.raises(LayoutError, match="cannot go together"):
            read_layout(data | {"cages": cages}, "odd")
