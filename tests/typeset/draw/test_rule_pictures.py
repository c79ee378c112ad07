"""The small grids beside rules: each obeys its rule, and says where it is to those who hear it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from cagework.layouts.load import Layout
from cagework.solver.figure import Tint
from cagework.solver.listed import ListedHouse
from cagework.solver.model import Pair
from cagework.solver.recheck import obeys
from cagework.solver.rule import Rule, RuleError, RuleOnCells
from cagework.solver.rules import RULES
from cagework.typeset.draw.rule_pictures import RulePicture, rule_pieces, rules_shown
from cagework.typeset.draw.setting import PageNumbers, Setting
from cagework.typeset.draw.shown import Shown
from cagework.typeset.manifest.load import load_book
from cagework.typeset.marks import Group, Outline, Tag, Text
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.words import languages, load_words

KINDS: dict[str, type[Rule]] = {**RULES, "listed": ListedHouse}


def picture(kind: type[Rule], size: int = 9) -> RulePicture:
    (shown,) = rules_shown([kind.exemplar(size)] * 2)
    return shown


@pytest.mark.parametrize("name", KINDS)
def test_a_picture_obeys_its_rule_and_shows_where_it_is(name: str) -> None:
    shown = picture(KINDS[name])
    digits = dict(zip(shown.puzzle.cells, shown.answer.digits, strict=True))
    assert shown.rule.allows(digits) and obeys(shown.puzzle, shown.answer)
    given = {one.cell for one in shown.puzzle.givens}
    assert all(digits[one.cell] == one.digit for one in shown.puzzle.givens) and given
    if isinstance(shown.rule, RuleOnCells):
        assert given >= set(shown.rule.named.cells)
        assert all(given.issuperset(cage.cells) for cage in shown.puzzle.cages)


@pytest.mark.parametrize("name", [
    name for name, kind in KINDS.items() if not kind.exemplar(9).figures() and name != "from_zero"])
def test_what_only_words_state_is_shown_round_one_cell(name: str) -> None:
    """The cells with a tint are those that the rule's pairs tie to the one other digit."""
    shown = picture(KINDS[name])
    (tint,) = shown.shown.figures()
    assert isinstance(tint, Tint)
    (middle,) = {one.cell for one in shown.puzzle.givens} - set(tint.cells)
    tied = {pair.first if pair.second == middle else pair.second for pair in shown.rule.facts()
            if isinstance(pair, Pair) and middle in (pair.first, pair.second)}
    assert tied == set(tint.cells) and len(tied) in (4, 8)


def test_digits_from_zero_are_shown_in_a_row() -> None:
    shown = picture(KINDS["from_zero"])
    (tint,) = shown.shown.figures()
    assert isinstance(tint, Tint)
    assert {one.cell for one in shown.puzzle.givens} == set(tint.cells)
    assert len({cell.row for cell in tint.cells}) == 1
    assert sorted(one.digit for one in shown.puzzle.givens) == list(range(9))


@pytest.mark.parametrize("size", [4, 5, 7, 9, 16])
def test_a_rule_that_names_the_digits_is_shown_in_the_puzzles_size(size: int) -> None:
    for kind in KINDS.values():
        if "{most}" in kind.sentence:
            try:
                assert picture(kind, size).puzzle.size == size
            except RuleError:
                assert size != 9


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("layout", ["a5-one-up", "a4-large-print"])
def test_each_rule_of_a_book_is_told_beside_its_picture(
    language: str, layout: str, root: Path, layout_of: Callable[[str], Layout],
) -> None:
    book = load_book(root / "books" / "clear-skies" / "book.yaml").book
    assert book is not None
    book = replace(book, layout=layout_of(layout), language=language)
    setting = Setting.of(book, Fonts(book.layout), load_words(language))
    kinds = list({type(rule): rule for entry in book.entries for rule in entry.rules}.values())
    pieces = list(rule_pieces(setting))
    for kind, piece in zip(kinds, pieces, strict=True):
        said, figure = piece.draw(PageNumbers({}), 0.0, 0.0, 0, 1)
        assert isinstance(said, Group) and isinstance(figure, Group)
        assert (said.tag, figure.tag) == (Tag.PARAGRAPH, Tag.FIGURE)
        text = "".join(mark.string for mark in said.marks if isinstance(mark, Text))
        least, most = kind.digits[0], kind.digits[-1]
        assert letters(text) == letters(setting.sentences.text(kind.sentence).format(least=least, most=most))
        assert isinstance(figure.shows, Shown) and figure.shows.puzzle.givens
        cells = [setting.sentences.cell(given.cell) for given in figure.shows.puzzle.givens]
        assert all(cell in figure.alt for cell in cells)
        right = max(x for x, _ in next(mark for mark in figure.marks if isinstance(mark, Outline)).rings[0])
        assert all(mark.x > right for mark in said.marks if isinstance(mark, Text))


def letters(text: str) -> str:
    """Without the hyphens and spaces at the ends of lines."""
    return "".join(filter(str.isalnum, text))

