"""Worked solutions as a reader with a pencil takes them: what was said is not said anew, and all of it holds."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from itertools import product
from pathlib import Path

import pytest

from cagework.solver.model import House
from cagework.solver.step import Digits, Step
from cagework.typeset.book import Book
from cagework.typeset.draw.argument import argument_of
from cagework.typeset.entry import Entry, Solutions
from cagework.typeset.manifest.load import load_book
from cagework.typeset.solving.story import Chapter, Story, Thought
from cagework.typeset.solving.told import apart, letters_of_stages, shape_in_words, thought_in_words
from cagework.typeset.solving.worked import Worked, moments, prover_of
from cagework.typeset.words import languages, load_words
from cagework.typeset.words.breaths import Listed
from cagework.typeset.words.sentences import Sentences


@pytest.fixture(scope="module")
def works(sample: Path, work: Callable[[Entry], Worked]) -> list[Worked]:
    """Those that the sample book prints, by their paths."""
    book = load_book(sample).book
    assert book is not None
    return [work(entry) for entry in book.entries if entry.solutions is not Solutions.NONE]


@pytest.fixture(scope="module")
def all_works(books: Sequence[Book], work: Callable[[Entry], Worked]) -> list[Worked]:
    """Those that any sample book prints."""
    return [work(entry) for book in books for entry in book.entries
            if entry.solutions is not Solutions.NONE]


def told(worked: Worked, language: str) -> Iterator[tuple[Thought, str]]:
    """Its paragraphs as they are printed."""
    path = worked.path
    thoughts = Story(path).thoughts(briefly=worked.entry.solutions is Solutions.KEY)
    sentences = Sentences(language).about(path.puzzle, worked.entry.rules).by_letters(letters_of_stages(thoughts))
    said, listed = apart(path, thoughts), Listed()
    for thought in thoughts:
        yield thought, thought_in_words(said, thought, sentences, listed).replace("\N{NO-BREAK SPACE}", " ")


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
def test_what_is_supposed_of_a_cell_of_a_cage_is_said_to_be_out(works: list[Worked], language: str) -> None:
    """In the same sentence, by the same digits."""
    begins, ends = {
        "en": (r"If (.*?) were ((?:\d|, | or | to )+), .*(?:but|could)",
               r", so (.*?) (?:cannot be|is not) (.*?)\."),
        "de": (r"Mit (?:einer )?(\d.*?) in (.*?) (?:bliebe|könnte)",
               r", also (?:kann|können) (.*?) (?:nicht|weder) (.*?) sein\."),
    }[language]
    told_of = 0
    for worked in works:
        for _, text in told(worked, language):
            for said in re.split(r"(?<=[.?]) ", text):
                if supposed := re.match(begins, said):
                    named = re.search(ends, said)
                    assert named, said
                    one, other = (sorted(re.findall(r"\w*\d", " ".join(found.groups())))
                                  for found in (supposed, named))
                    assert one == other, said
                    told_of += 1
    assert told_of > 10


def test_a_pair_has_its_reason_and_makes_what_the_cage_leaves(works: list[Worked]) -> None:
    """So does a triple or a quad of which it is said what else loses its digits."""
    sets = r"an? (\d(?:-\d)+) (?:pair|triple|quad)"
    makes = (rf"add to (\d+) and (?:are|can only be) {sets}", rf"all of the cage of (\d+)[^,.;]*, are {sets}",
             rf"(?<=, ){sets} \(all of the cage of (\d+)", rf"(?<=, ){sets} \(the rest of [^()]*, (\d+)\)")
    made = Counter[str]()
    for worked in works:
        for _, text in told(worked, "en"):
            for said in makes:
                for found in re.findall(said, text):
                    digits, total = sorted(found, key=lambda one: "-" not in one)
                    assert sum(map(int, digits.split("-"))) == int(total), text
                    made[said] += 1
            assert not re.search(r"r\dc\d and r\dc\d are an? [\d-]+ \w+, so", text), text
    assert made.keys() == set(makes)


def test_what_a_cage_takes_from_others_on_the_way_to_a_digit_is_said(works: list[Worked]) -> None:
    """A house of each cell outside the cage from which it takes what the digit rests on."""
    said = 0
    for worked in works:
        stages = worked.path.stages
        for thought, text in told(worked, "en"):
            for number, behind in thought.behind:
                rests = dict(stages[number].step.cites.eliminated)
                for step in [stages[one].step for one in behind]:
                    for cell, mask in step.removes if step.technique == "needed_digit" else ():
                        if mask & rests.get(cell, 0) and cell not in step.cites.cages[0].cells:
                            near = [house for house in step.cites.houses if cell in house.cells]
                            assert any(house.name in text for house in near), text
                            said += 1
    assert said > 3


@pytest.mark.parametrize("language", languages())
def test_digits_that_come_from_one_house_name_it_once(works: list[Worked], language: str) -> None:
    twice = re.compile({"en": r"\((\w+ \d)\); r\dc\d is \d \(\1\)",
                        "de": r"\((\w+ \d)\); z\ds\d = \d \(\1\)"}[language])
    once = re.compile({"en": r"r\dc\d is \d and r\dc\d is \d \((?:row|column|box)",
                       "de": r"z\ds\d = \d und z\ds\d = \d \("}[language])
    texts = [text for worked in works for thought, text in told(worked, language) if thought.brief]
    assert not [text for text in texts if twice.search(text)]
    assert sum(len(once.findall(text)) for text in texts) > 60


@pytest.mark.parametrize("language", languages())
def test_the_shape_of_a_solve_names_few_ways_and_where_it_turns(works: list[Worked], language: str) -> None:
    """The dearest, up to four more, or three and how many others; the way in only where it comes first."""
    words, turned = load_words(language), 0
    for worked in works:
        story = Story(worked.path)
        text = shape_in_words(story.shape, Sentences(language).about(worked.path.puzzle))
        named = {way.many for way in words.techniques.values() if way.many in text}
        assert len(named - {one for one in named for other in named if one in other and one != other}) <= 5, text
        first = next((one for one in story.thoughts(briefly=True) if one.name), None)
        if story.shape.break_in is not None and first is not None:
            assert (words.turning_point in text) is (first.chapter is not Chapter.BREAK_IN), text
            turned += words.turning_point in text
    assert turned > 3


def test_digits_told_house_by_house_rest_on_what_was_told_before(works: list[Worked]) -> None:
    """Each is proved from the printed puzzle and what the reader has heard of by then."""
    moved = 0
    for worked in works:
        stages, prover = worked.path.stages, prover_of(worked.path.puzzle, worked.path.answer)
        board = prover.board()
        for thought in Story(worked.path).thoughts(briefly=True):
            behind = dict(thought.behind)
            for number in thought.digits if thought.brief else range(thought.first, thought.last):
                for other in behind.get(number, ()):
                    board.apply(stages[other].step)
                assert prover.prove(board.candidates, stages[number].step), (worked.entry.id, number)
                board.apply(stages[number].step)
            moved += list(thought.digits) != sorted(thought.digits)
    assert moved > 50


def test_the_ways_to_make_a_cage_are_listed_again_only_where_they_are_others(works: list[Worked]) -> None:
    listed = 0
    for worked in works:
        seen: dict[str, str] = {}
        for thought, text in told(worked, "en"):
            for cage, ways in [] if thought.brief else re.findall(
                    r"[Tt]he (cage of \d+(?: at r\dc\d)?) (?:is |\()(\d\+[\d+]+(?:(?:, | or )\d\+[\d+]+)+)",
                    text):
                assert seen.get(cage) != ways, text
                seen[cage] = ways
                listed += 1
    assert listed > 50


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


_MOST_WORDS = 60
"""In a sentence: what is read through once, and not taken apart."""


@pytest.mark.parametrize("language", languages())
def test_no_sentence_is_long(all_works: list[Worked], language: str) -> None:
    told_of = 0
    for worked in all_works:
        shape = shape_in_words(Story(worked.path).shape, Sentences(language).about(worked.path.puzzle))
        for text in [shape, *(text for _, text in told(worked, language))]:
            for sentence in re.split(r"(?<=[.?]) ", text):
                assert len(sentence.split()) <= _MOST_WORDS, (worked.entry.id, sentence)
                told_of += len(sentence.split()) > _MOST_WORDS // 2
    assert told_of > 50


@pytest.mark.parametrize("language", languages())
def test_what_a_cell_is_said_not_to_be_it_is_not(all_works: list[Worked], language: str) -> None:
    """Held against the answer, in the words of step and digit alike."""
    names, cell, says = {
        "en": ("rc", r"r\d+c\d+", r"(?:[Ss]o |; )((?:{0}(?:, | and )?)+) cannot be ((?:\d(?:, | or | to )?)+)"),
        "de": ("zs", r"z\d+s\d+", r"die ((?:\d(?:, | und | und die | bis )?)+) in ((?:{0}(?:, | und )?)+)"),
    }[language]
    checked = 0
    for worked in all_works:
        puzzle, filled = worked.path.puzzle, worked.path.answer
        assert filled is not None
        answer = {f"{names[0]}{one.row}{names[1]}{one.col}": str(filled.at(one)) for one in puzzle.cells}
        for _, text in told(worked, language):
            for one, other in re.findall(says.format(cell), text if language == "en" else "".join(
                    re.findall(r"(?:Damit entf|also f)[^.]*\.", text))):
                cells, gone = (one, other) if language == "en" else (other, one)
                spans = re.sub(r"(\d) (?:to|bis) (\d)", lambda ends: " ".join(
                    map(str, range(int(ends[1]), int(ends[2]) + 1))), gone)
                assert not {answer[name] for name in re.findall(cell, cells)} & set(re.findall(r"\d", spans)), text
                checked += 1
    assert checked > 300


@pytest.mark.parametrize("language", languages())
def test_the_ways_to_make_a_sum_make_it_and_the_answer_is_one(all_works: list[Worked], language: str) -> None:
    """Each as digits that are added, less digits that are taken away; and each once."""
    ways = {"en": r"By now that can only be ([^.]*)\.", "de": r"Das kann jetzt nur noch ([^.]*) sein\."}[language]
    named = 0
    for worked in all_works:
        path, answer = worked.path, worked.path.answer
        assert answer is not None
        for thought, text in told(worked, language):
            listed = [re.findall(r"[\d+=\N{MINUS SIGN}]+", one) for one in re.findall(ways, text)]
            summed = [stage.step for stage in apart(path, Story(path).thoughts(
                briefly=worked.entry.solutions is Solutions.KEY)).stages[thought.first:thought.last]
                if "by_now" in stage.step.why] if listed else []
            for step, said in zip(summed, listed, strict=True):
                sides = [[[int(one) for one in re.findall(r"\d", side)] for side in (
                    way.split("=") if "=" in way else (*way.split("\N{MINUS SIGN}", 1), "")[:2])] for way in said]
                assert {sum(plus) - sum(minus) for plus, minus in sides} == {step.why["sum"]}, text
                assert [sorted(answer.at(cell) for cell in step.why[side])       # type: ignore[union-attr]
                        for side in ("greater", "lesser")] in sides, text
                assert len(said) == len(set(said)), text
                named += 1
    assert named > 30
