"""Paragraphs: every word kept, no line over the measure, divisions only where the dictionary allows."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise

import pyphen
import pytest
from hypothesis import given
from hypothesis import strategies as st

from cagework.layouts.load import Layout
from cagework.typeset.text import paragraph
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.text.paragraph import SetLine, Style, paragraphs, prose_style, set_paragraph

WORDS = ("train", "puzzle", "unfinished", "everything", "a", "the", "viaduct", "compartment", "of", "passenger’s",
         "re-use", "9", "arithmetic,", "stationmaster", "(between)", "signalwoman;", "cage.", "*sum*")


@pytest.fixture(scope="module")
def style(layout_of: Callable[[str], Layout]) -> Style:
    return prose_style(layout_of("a5-one-up"), "en-GB")


def said(line: SetLine) -> str:
    return "".join(text for _, text, _ in line.words)


texts = st.lists(st.sampled_from(WORDS), min_size=1, max_size=90).map(" ".join)


@given(texts, st.floats(150, 400), st.booleans())
def test_words_are_kept_and_divided_only_where_allowed(
    style: Style, fonts: Fonts, text: str, measure: float, justify: bool,
) -> None:
    lines = set_paragraph(text, _as(style, justify), measure, fonts)
    rebuilt = ""
    divider = pyphen.Pyphen(lang="en_GB", left=2, right=3)
    for number, line in enumerate(lines):
        shown = said(line)
        end = number == len(lines) - 1
        whole = text.replace("*", "")
        if not end and shown.endswith("-") and not whole.startswith(rebuilt + shown):
            rebuilt += shown[:-1]
            left = rebuilt.split(" ")[-1].strip("(")
            word = whole.split(" ")[rebuilt.count(" ")].strip("().,;").removesuffix("’s")
            assert len(left) in divider.positions(word), (left, word)
        else:
            joined = "" if shown.endswith("-") else " "
            rebuilt += shown + ("" if end else joined)
    assert rebuilt == text.replace("*", "")


@given(texts, st.floats(150, 400), st.booleans())
def test_lines_keep_to_the_measure_and_justified_ones_fill_it(
    style: Style, fonts: Fonts, text: str, measure: float, justify: bool,
) -> None:
    lines = set_paragraph(text, _as(style, justify), measure, fonts)
    for number, line in enumerate(lines):
        x, last, face = line.words[-1]
        end = x + fonts[face].width(last, line.size)
        assert end <= measure + 0.75
        if justify and number < len(lines) - 1 and len(line.words) > 1:
            assert end == pytest.approx(measure, abs=0.75)


def test_a_word_wider_than_the_measure_stands_alone(style: Style, fonts: Fonts) -> None:
    lines = set_paragraph("so Llanfairpwllgwyngyll" + "9" * 40 + " it is", _as(style, True), 90, fonts)
    assert any(len(line.words) == 1 and "999" in said(line) for line in lines)


def test_a_word_in_two_faces_is_set_without_a_gap_or_an_overlap(style: Style, fonts: Fonts) -> None:
    (line,) = set_paragraph("one *two*, three", _as(style, False), 400, fonts)
    ends = {text: (x, x + fonts[face].width(text, line.size)) for x, text, face in line.words}
    (start, end), = (ends[text] for text in ends if text.startswith("two"))
    comma = next(x for text, (x, _) in ends.items() if text.startswith(","))
    assert start < end == pytest.approx(comma, abs=0.05)


def test_emphasis_changes_the_face_and_leaves_no_asterisk(style: Style, fonts: Fonts) -> None:
    (line,) = set_paragraph("one *two three* four", _as(style, False), 400, fonts)
    assert said(line) == "one two three four"
    assert [face for _, _, face in line.words] == ["serif", "serif-italic", "serif-italic", "serif"]


@given(texts, st.floats(60, 400), st.booleans(), st.sampled_from((0.0, 12.0)))
def test_no_other_way_to_break_a_paragraph_costs_less(
    style: Style, fonts: Fonts, text: str, measure: float, justify: bool, indent: float,
) -> None:
    """The cheapest way from each place to the end, of all lines that can begin there."""
    style = _as(style, justify)
    lines = set_paragraph(text, style, measure, fonts, indent)
    boxes = paragraph._vocabulary(style, fonts).boxes(text)
    space = fonts[style.face].width(" ", style.size)
    count = len(boxes)

    def cost(start: int, end: int) -> float:
        inside, last = boxes[start:end - 1], boxes[end - 1]
        width = sum(box.going_on for box in inside) + last.ending
        glues = sum(box.after is paragraph._Item.GLUE for box in inside)
        room = measure if start else measure - indent
        line = paragraph._demerits(room, width, glues, space, justify, end == count)
        if last.after is paragraph._Item.HYPHEN:
            line += paragraph._HYPHEN_PENALTY
            flagged = start and boxes[start - 1].after is paragraph._Item.HYPHEN
            line += paragraph._FLAGGED_TWICE if flagged else 0.0
        return line

    rest = [0.0] * (count + 1)
    for start in reversed(range(count)):
        ends = [end for end in range(start + 1, count + 1)
                if end == count or boxes[end - 1].after is not paragraph._Item.BOX]
        rest[start] = min(cost(start, end) + rest[end] for end in ends)
    found = paragraph._breakpoints(boxes, justify, measure, space, indent)
    assert len(found) == len(lines)
    assert sum(cost(*line) for line in pairwise((0, *found))) == pytest.approx(rest[0], abs=1e-4)


def test_paragraphs_are_parted_by_blank_lines() -> None:
    assert paragraphs("one\ntwo\n\n  three \n\n\n") == ("one two", "three")
    assert paragraphs("  \n ") == ()


def _as(style: Style, justify: bool) -> Style:
    return Style(style.face, style.emphasis, style.size, style.leading, justify, style.language)
