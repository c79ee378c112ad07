"""Worked solutions as a reader with a pencil takes them: what was said is not said anew, and all of it holds."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import product
from pathlib import Path

import pytest

from cagework.solver.model import House
from cagework.solver.step import Digits, Step
from cagework.typeset.book import Solutions
from cagework.typeset.draw.argument import argument_of
from cagework.typeset.manifest.load import load_book
from cagework.typeset.solving.story import Chapter, Story, Thought
from cagework.typeset.solving.told import apart, letters_of_stages, thought_in_words
from cagework.typeset.solving.worked import Worked, moments, work_out
from cagework.typeset.words import languages
from cagework.typeset.words.sentences import Sentences


@pytest.fixture(scope="module")
def works(sample: Path) -> list[Worked]:
    """Those that the sample book prints, by their paths."""
    book = load_book(sample).book
    assert book is not None
    return [work_out(entry) for entry in book.entries if entry.solutions is not Solutions.NONE]


def told(worked: Worked, language: str) -> Iterator[tuple[Thought, str]]:
    """Its paragraphs as they are printed."""
    path = worked.path
    thoughts = Story(path).thoughts(briefly=worked.entry.solutions is Solutions.KEY)
    sentences = Sentences(language).about(path.puzzle, worked.entry.rules).by_letters(letters_of_stages(thoughts))
    said = apart(path, thoughts)
    for thought in thoughts:
        yield thought, thought_in_words(said, thought, sentences).replace("\N{NO-BREAK SPACE}", " ")


@pytest.mark.parametrize("language", languages())
def test_a_digit_goes_in_one_cell_and_is_in_every_way_that_is_its_reason(
    works: list[Worked], language: str,
) -> None:
    cell, equals = {"en": (r"r\dc\d", "is"), "de": (r"z\ds\d", "=")}[language]
    reasons = 0
    for worked in works:
        for _, text in told(worked, language):
            said = re.sub(r"one of [^.]*? is \d", "", text)
            assert not re.search(rf"{cell} (?:and|und) {cell} {equals} \d(?! or|[,\d])", said), text
            for digit, ways in re.findall(
                    rf"{cell} {equals} (\d) \([^()]*? (?:is|ist) (\d\+[\d+]*(?:(?:, | or | oder )[\d+]+)*)", said):
                assert all(digit in way for way in re.findall(r"[\d+]+", ways)), text
                reasons += 1
    assert reasons


@pytest.mark.parametrize("language", languages())
def test_a_sum_told_under_a_letter_is_not_told_anew(works: list[Worked], language: str) -> None:
    """Where a digit is told by what a house adds to, no sum of that cell with others, all of them filled, was told
    before; and what is recalled stands in the paragraph of the letter that is named.
    """
    cell, add = {"en": (r"r\dc\d", "adds? to"), "de": (r"z\ds\d", "ergibt|ergeben")}[language]
    recalled = 0
    for worked in works:
        size = worked.path.puzzle.size
        known: dict[str, str] = {}
        sums: list[set[str]] = []
        placed: set[str] = set()
        for thought, text in told(worked, language):
            for found, house in re.findall(rf"({cell}) (?:is|=) \d \(([^()]* (?:{add}) [^()]*)\)", text):
                if str(size * (size + 1) // 2) in house and thought.brief:
                    assert not any(found in one and one - {found} <= placed for one in sums), text
            for said in re.findall(rf"{cell}[^.;()]*? \([^()]*?\b([A-Z])\)", text):
                assert said in known, text
                recalled += 1
            if thought.name:
                known[thought.name] = text
            if not thought.brief:
                sums += [set(re.findall(cell, one)) for one in re.findall(
                    rf"(?:so|also)(?: ergeben die Restfelder)? ((?:{cell}(?:, | and | und ))+{cell})"
                    r"[^.;]*? (?:add to|zusammen) \d", text)]
            placed |= set(re.findall(rf"({cell}) (?:is|=) \d", text))
    assert recalled > 20


def test_a_picture_shows_where_in_a_house_the_digit_asked_for_can_go(works: list[Worked]) -> None:
    """By the board: each cell of the house that still has the digit shows its notes."""
    shown = 0
    for worked in works:
        known, cells = moments(worked.path), worked.path.puzzle.cells
        for picture in Story(worked.path).pictures:
            now, steps = known[picture.first], picture.steps(worked.path)
            noted = argument_of(steps).noted(worked.path.puzzle, now, full=False)
            for step in steps[:1]:
                house, digits = step.why.get("house"), step.why.get("digits", step.why.get("digit"))
                if isinstance(house, House) and not step.places and not step.cites.added:
                    asked = [digits] if isinstance(digits, int) else digits if isinstance(digits, Digits) else []
                    for digit in asked:
                        can = {cell for cell in house.cells if now.candidates[cells.index(cell)] >> digit - 1 & 1}
                        assert can <= noted | now.placed.keys(), (worked.entry.id, step.key, digit, can - noted)
                        shown += len(can)
    assert shown > 50


@pytest.mark.parametrize("language", languages())
def test_a_new_sum_of_several_houses_has_a_paragraph_and_a_picture(works: list[Worked], language: str) -> None:
    """And where it is said that cages one by one and their houses are enough, there is none."""
    named = re.compile({
        "en": r"(?i)(?:rows|columns|boxes) \d[^.;()]*? add to \d+ and|the cages over (?:rows|columns|boxes)",
        "de": r"(?i)die (?:Zeilen|Spalten|Blöcke) \d[^.;()]*? ergeben|Käfige über den"}[language])
    found = 0
    for worked in works:
        for thought, text in told(worked, language):
            if named.search(text):
                assert thought.name and not thought.brief and thought.chapter is not Chapter.FINISH, text
                found += 1
    assert found > 20


def test_a_paragraph_with_a_letter_is_about_one_sum_cage_or_house(works: list[Worked]) -> None:
    several = 0
    for worked in [one for one in works if one.entry.solutions is Solutions.KEY]:
        for thought in Story(worked.path).thoughts(briefly=True):
            steps = [stage.step for stage in worked.path.stages[thought.first:thought.last]]
            steps = [step for step in steps if not step.places]
            for number, step in enumerate(steps[1:], 1):
                if thought.name:
                    assert any(_about(step) & _about(other) for other in steps[:number]), thought
                    several += 1
    assert several > 10


def _about(step: Step) -> set[object]:
    """The sums, the house and the cage that a step is about, the cells it names and what it supposes of."""
    own: list[object] = [*step.cites.additions, step.why.get("house")]
    if not step.cites.added and step.why.get("house") is None:
        own += step.cites.cages[:1]
    if step.parts:
        own += [cell for cell, _ in step.removes]
    return {*own, step.why.get("cells")} - {None}


def test_digits_that_need_one_cell_and_ways_of_two_cages_are_named(works: list[Worked]) -> None:
    """Each way listed has two of the digits named; each pair of ways that share no digit, all that it takes."""
    needed = shared = 0
    for worked in works:
        for _, text in told(worked, "en"):
            for ways, pairs in re.findall(r"would be ([^.]*?), but ([^.,]*(?:, [^.,]*)*?) would both need", text):
                two = [set(pair) for pair in re.findall(r"(\d) and (\d)", pairs)]
                assert all(any(pair <= set(way) for pair in two) for way in re.findall(r"[\d+]*\+\d", ways)), text
                needed += 1
            for *cages, digits in re.findall(
                    r"is (\d\+[^.]*?) and [^.]*? is (\d\+[^.]*?), and they share no digit\."
                    r" Either way they use (.*?) b", text):
                pairs = product(*([set(re.findall(r"\d", way)) for way in re.findall(r"[\d+]*\+\d", ways)]
                                  for ways in cages))
                both = [one | other for one, other in pairs if not one & other]
                assert both and all(set(re.findall(r"\d", digits)) <= way for way in both), text
                shared += 1
            assert "two of these digits" not in text and "is left for" not in text, text
    assert needed and shared


@pytest.mark.parametrize("language", languages())
def test_cages_go_by_their_sum_and_by_a_cell_only_where_two_have_the_same(
    works: list[Worked], language: str,
) -> None:
    for worked in works:
        sentences = Sentences(language).about(worked.path.puzzle)
        totals = [cage.total for cage in worked.path.puzzle.cages]
        for cage in worked.path.puzzle.cages:
            alone = totals.count(cage.total) == 1
            assert (sentences.cell(cage.first) in sentences.named(cage)) is not alone
