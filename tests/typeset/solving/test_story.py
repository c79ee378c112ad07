"""How a path is told: every digit accounted for, chapters in order, hints that can be followed."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise, product
from pathlib import Path

import pytest

from cagework.solver.editing.compose import Recipe, compose
from cagework.solver.model import Answer, Sum
from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.ideas import FAR_COST
from cagework.solver.reasoning.reason import explain
from cagework.solver.rule import Rule
from cagework.solver.step import Digits, Step
from cagework.typeset.book import Book
from cagework.typeset.entry import Entry, Solutions
from cagework.typeset.manifest.load import load_book
from cagework.typeset.solving.explained import explained
from cagework.typeset.solving.story import Chapter, Story, Wish, is_single
from cagework.typeset.solving.told import apart, hints_in_words, shape_in_words, thought_in_words
from cagework.typeset.solving.worked import Worked, moments
from cagework.typeset.words import languages
from cagework.typeset.words.breaths import once
from cagework.typeset.words.sentences import Sentences


@pytest.fixture(scope="module")
def works(entries: list[Entry], work: Callable[[Entry], Worked]) -> list[Worked]:
    return [work(entry) for entry in entries[::3]]


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("solutions", [Solutions.KEY, Solutions.FULL])
def test_every_digit_of_a_printed_solution_is_accounted_for(
    works: list[Worked], solutions: Solutions, language: str,
) -> None:
    """Read as a reader would: the text says of each empty cell, once, which digit it is."""
    sentences = Sentences(language)
    for worked in works:
        path, told = worked.path, dict[str, str]()
        assert path.answer is not None
        for thought in Story(path).thoughts(briefly=solutions is Solutions.KEY):
            text = thought_in_words(path, thought, sentences.about(path.puzzle))
            assert not re.search(r"[{}<>|_]|Cell|House|  ", text), text
            for cell, digit in _digits(text, language):
                assert told.setdefault(cell, digit) == digit, (worked.entry.id, cell, text)
        given = {one.cell for one in path.puzzle.givens}
        assert told.keys() >= {sentences.cell(cell) for cell in path.puzzle.cells if cell not in given}
        for cell in path.puzzle.cells:
            assert told.get(sentences.cell(cell), str(path.answer.at(cell))) == str(path.answer.at(cell))


def _digits(text: str, language: str) -> list[tuple[str, str]]:
    """The digits that a text says are found, as (cell, digit); not what is supposed, or is not so."""
    text = text.replace("\N{NO-BREAK SPACE}", " ")
    text = re.sub("Suppose it .*?(?=Either way)|Angenommen, (?:es ist|in) .*?(?=So oder so)", "", text)
    text = re.sub("Suppose .*?(?=So )|Angenommen, .*?(?=Damit entf)", "", text)
    if language == "de":
        return [*re.findall(r"\b(z\d+s\d+)\s=\s(\d+)(?! oder|,? \d|[+\d])", text),
                *re.findall(r"Restfeld (z\d+s\d+) die (\d+)", text),
                *re.findall(r"Außenfeld (z\d+s\d+)[^.]*? die (\d+)", text),
                *[(cell, digit) for digit, cell in re.findall(r"kann die (\d+) nur in (z\d+s\d+) stehen\.", text)],
                *[(cell, digit) for digit, cell in re.findall(
                    r"braucht die (\d+), und dafür kommt nur (z\d+s\d+)", text)],
                *re.findall(r"(?:^|\. )(z\d+s\d+) kann nur (\d+) sein\.", text),
                *re.findall(r"nur noch (z\d+s\d+) leer; dort fehlt die (\d+)", text)]
    return [*re.findall(r"(?<!at )\b(r\d+c\d+)(?:, [a-z ]+(?:\d+)?,)? is (\d+)(?! or| more|,? \d|[+\d])", text),
            *[(cell, digit) for digit, cell in re.findall(r"(\d+) can go only in (r\d+c\d+)\.", text)],
            *[(cell, digit) for digit, cell in re.findall(r"needs (\d+), which only (r\d+c\d+) can hold", text)],
            *re.findall(r"(?:^|\. )(r\d+c\d+) can only be (\d+)\.", text)]


def test_thoughts_tell_every_stage_once_and_chapters_come_in_order(works: list[Worked]) -> None:
    order = list(Chapter)
    for worked in works:
        story = Story(worked.path)
        chapters = story.chapters
        assert len(chapters) == len(worked.path.stages)
        assert all(order.index(one) <= order.index(other) for one, other in pairwise(chapters))
        for briefly in (False, True):
            told = story.thoughts(briefly=briefly)
            assert [n for one in told for n in range(one.first, one.last)] == list(range(len(chapters)))
            assert {one.chapter for one in told if one.begins} == set(chapters)
            assert tuple(one.picture for one in told if one.picture) == story.pictures
            assert not any(one.brief for one in told) or briefly
            assert not any(one.brief and one.picture for one in told)


def test_what_a_short_solution_tells_rests_on_what_it_has_told(
    works: list[Worked], cp_answers: Mapping[str, Answer],
) -> None:
    """Each step that it tells is proved from the printed puzzle, the steps told before it and digits; each digit
    told by itself from these and the steps that are told in passing with it: these with the ways of a cage, or the
    one way, and never as a cage alone.
    """
    named = 0
    for worked in works[-4:]:
        stages = worked.path.stages
        prover = Prover(worked.path.puzzle, cp_answers[worked.entry.id])
        board, sentences = prover.board(), Sentences("en").about(worked.path.puzzle)
        told = Story(worked.path).thoughts(briefly=True)
        said = apart(worked.path, told)
        for thought in told:
            behind, text = dict(thought.behind), thought_in_words(said, thought, sentences)
            assert "(from " not in text and "by the cage" not in text.lower(), text
            for number in range(thought.first, thought.last):
                step = stages[number].step
                for other in behind.get(number, ()):
                    digits = stages[other].step.why.get("digits")
                    if stages[other].step.technique == "fixed_combination" and isinstance(digits, Digits):
                        shown = list(map(str, digits))
                        assert any(f"is {a} {'-'.join(shown)} " in text for a in ("a", "an")) or (
                            f"is {'+'.join(shown)}" in text) or "every digit but" in text
                    board.apply(stages[other].step)
                    named += 1
                if step.places or not thought.brief:
                    assert prover.prove(board.candidates, step), (worked.entry.id, step)
                    board.apply(step)
    assert named > 10


@pytest.mark.parametrize(("seed", "kind"), [(0, "Which"), (7, "Can")])
def test_suppositions_of_one_cell_are_one_thought_with_a_question_and_what_is_left(seed: int, kind: str) -> None:
    """Read off a board: the digits the cell can be before and after, or those supposed where it can be many."""
    path = explain(compose(seed, Recipe(sizes={3: 3.0, 4: 4.0, 5: 2.0})).puzzle)
    board, sentences = Prover(path.puzzle).board(), Sentences("en").about(path.puzzle)
    seen = set()
    for thought in Story(path).thoughts(briefly=False):
        steps = [stage.step for stage in path.stages[thought.first:thought.last]]
        cell = steps[0].removes[0][0] if steps[0].technique == "what_if" else None
        run = [step for step in steps if step.technique == "what_if" and step.removes[0][0] == cell]
        text = thought_in_words(path, thought, sentences)
        before = board.candidates[board.at(cell)] if cell else 0
        for step in steps:
            board.apply(step)
        if len(run) < 2:
            assert not re.match(r"Which of|Can r\d", text)
            continue
        assert steps[:len(run)] == run
        struck = sum(step.removes[0][1] for step in run)
        question, closing = text[:text.index("?")], re.findall(r"Only (\d[^.]*) (?:is|are) left\.", text)
        asked = set(re.findall(r"\d", question.replace(str(cell), "")))
        left = set(re.findall(r"\d", "".join(closing)))
        word = text[:text.index(" ")]
        assert asked == set(map(str, Digits(before if word == "Which" else struck)))
        filled = any(name == cell for step in steps[len(run):len(run) + 1] for name, _ in step.places)
        assert left == set(map(str, Digits(before & ~struck if word == "Which" and not filled else 0)))
        seen.add(word)
    assert kind in seen


def far(step: Step) -> bool:
    """Whether a step looks further than at a cage or a house, if only at a new sum of several houses."""
    several = sum(not isinstance(one, Sum) for one in step.cites.added) > 1
    return step.cost >= FAR_COST or (several and step.key.split("+")[0] not in ("again", "cut"))


def test_the_way_in_is_the_last_of_the_dearest_steps_and_shows_all_notes(works: list[Worked]) -> None:
    for worked in works:
        story = Story(worked.path)
        most = max(step.cost for step in story.steps)
        full = [picture for picture in story.pictures if picture.wish is Wish.FULL_NOTES]
        if not any(far(step) for step in story.steps if step.cost == most):
            assert not full
            assert Chapter.BREAK_IN not in story.chapters
            continue
        (picture,) = full
        way_in = [step.cost for step, chapter in zip(story.steps, story.chapters, strict=True)
                  if chapter is Chapter.BREAK_IN]
        assert max(way_in) == most
        assert story.chapters[picture.first] is Chapter.BREAK_IN
        after = [step.cost for step, chapter in zip(story.steps, story.chapters, strict=True)
                 if chapter in (Chapter.AFTER, Chapter.FINISH)]
        assert all(cost < most for cost in after)


def test_a_thought_names_a_sum_or_a_pair_once(works: list[Worked]) -> None:
    """What the sentence before has said is not said again where the next goes on from it."""
    went_on = listed_once = 0
    for worked in works:
        path = worked.path
        for thought in Story(path).thoughts(briefly=False):
            text = thought_in_words(path, thought, Sentences("en").about(path.puzzle))
            named = re.findall(r"(?:[Tt]he|[Ww]hat is left of the) (cage[^.,]*? can only be an? [\d-]+)", text)
            assert not re.search(r"Where in ([^?]*?) can [^?]*\? (?:\(\w\) )?In \1,", text), text
            recalled = re.findall(r"([^.]*) \(as the cages of [^)]* showed\)", text)
            assert len(named) == len(set(named)), text
            assert len(recalled) == len(set(recalled)), text
            for listed in re.findall(r"Sums rule digits out[:.] ((?:[^.]* cannot hold [^.]*\.)+)", text):
                cages = re.findall(r"[Tt]he (cage[^(]*\([^)]*\)) cannot hold", listed)
                assert len(cages) == len(set(cages)), text
                for cage, ways in re.findall(r"[Tt]he (cage of \d+(?: at r\dc\d)?) \((\d[^,)]*)[,)]", listed):
                    assert f"he {cage} is {ways}" not in text, text
                    listed_once += f"he {cage} needs" in text
            assert not re.search(r"[Tt]he (cage of \d+(?: at r\dc\d)?) is \d\+[^.]*\. The \1 (is \d\+|can)", text)
            bound = re.search(r"\(b\) [^(]* at (least|most) \d+, so ", text)
            went_on += "So no other cell of" in text or bound is not None
    assert went_on > 1
    assert listed_once


def test_a_step_by_a_rule_says_by_which(root: Path, work: Callable[[Entry], Worked]) -> None:
    """On the paths of the sample's puzzles with rules; and the shape says by which single cells are marked. A
    digit by a sum is told with all others of that sum.
    """
    book = load_book(root / "books" / "clear-skies" / "book.yaml").book
    assert book is not None
    seen, summed = set(), 0
    for entry in book.entries:
        path = work(entry).path
        sentences = Sentences("en").about(path.puzzle, entry.rules)
        own = {fact: rule.by for rule in entry.rules for fact in rule.facts()}
        said = [(shape_in_words(Story(path).shape, sentences), path.puzzle.domains)]
        said += [(sentences.step(stage.step), stage.step.cites.ruled)
                 for stage in path.stages if stage.step.technique in ("related_pair", "rule_sum", "between")]
        for text, facts in said:
            named = {by for by in own.values() if by in text.lower()}
            assert named == {own[fact] for fact in facts}, text
            assert Rule.by not in text.lower()
            seen |= named
        for step in [stage.step for stage in path.stages if stage.step.technique == "rule_sum"]:
            for cell in step.cites.sums[0].cells if step.places else ():
                assert path.answer is not None
                assert f"{cell} is {path.answer.at(cell)}" in sentences.step(step)
                summed += 1
    assert len(seen) > 8 and summed > 4


def test_a_reason_is_told_once_of_all_cells_that_it_holds_for(works: list[Worked]) -> None:
    """And it holds: every way to fill the cage by the notes before the first of them is gone through."""
    merged = 0
    recipe = Recipe(sizes={2: 3.0, 3: 4.0, 4: 3.0, 5: 1.0})
    paths = [*(worked.path for worked in works), *(explain(compose(seed, recipe).puzzle) for seed in range(9, 14))]
    for path in paths:
        known = moments(path)
        place = {cell: number for number, cell in enumerate(path.puzzle.cells)}
        for thought in Story(path).thoughts(briefly=False):
            text = thought_in_words(path, thought, Sentences("en").about(path.puzzle))
            said = re.findall(r"If [^.,]* were ([^.]*), but ([^.]*)\.", text)
            assert len(said) == len(set(said)), text
            stages = path.stages[thought.first:thought.last]
            for step in once(stages)[0]:
                if step.technique != "no_fit" or not step.key.endswith("_cells"):
                    continue
                merged += 1
                cage = step.cites.cages[0]
                first = next(number for number, stage in enumerate(stages, thought.first)
                             if stage.step.technique == "no_fit" and stage.step.removes[0] in step.removes)
                notes = [list(Digits(known[first].candidates[place[cell]])) for cell in cage.cells]
                fills = [dict(zip(cage.cells, fill, strict=True)) for fill in product(*notes)
                         if sum(fill) == cage.total and len(set(fill)) == len(fill)]
                assert not any(fill[cell] in set(Digits(mask)) for fill in fills for cell, mask in step.removes)
    assert merged > 2


def test_a_way_that_leaves_a_cage_no_way_says_what_its_cells_cannot_make(
    books: Sequence[Book], work: Callable[[Entry], Worked],
) -> None:
    """All ways to fill these cells with what is named are gone through: none makes the number that is."""
    (entry,) = [entry for book in books for entry in book.entries if entry.id == "spiral-stair"]
    path, numbers = work(entry).path, []
    for stage in path.stages:
        text = Sentences("en").about(path.puzzle).step(stage.step)
        for cage, held, makes in re.findall(
                r"leaving (?:what is left of )?the cage of (\d+)(?: at r\dc\d)? only ([^()]*), never making (\d+)",
                text):
            cells = re.findall(r"([\d, or to]+?) in ((?:r\dc\d(?: and |, )?)+)", held)
            each = [_listed(digits) for digits, named in cells for _ in re.findall(r"r\dc\d", named)]
            assert each and int(makes) <= int(cage)
            assert not any(sum(fill) == int(makes) and len(set(fill)) == len(fill) for fill in product(*each))
            numbers.append(makes)
        assert len(re.findall(r"leaving [^()]*cage of", text)) == len(re.findall("never making", text))
    assert numbers


def _listed(digits: str) -> list[int]:
    """`1, 4 to 7 or 9` as digits."""
    spans = [[*map(int, re.findall(r"\d", part))] for part in re.split(", | or ", digits)]
    return [digit for span in spans for digit in range(span[0], span[-1] + 1)]


def test_a_cage_has_room_only_in_some_cells_where_the_notes_say_so_or_it_is_said_why(works: list[Worked]) -> None:
    """Any other cell that has a note of the digit is accounted for: every way to fill the cage by the notes, gone
    through one by one, has it elsewhere.
    """
    why = 0
    for worked in works:
        path, known = worked.path, moments(worked.path)
        place = {cell: number for number, cell in enumerate(path.puzzle.cells)}
        for number, stage in enumerate(path.stages):
            step = stage.step
            if step.technique != "needed_digit" or not {"room", "places"} & set(step.key.split("_")):
                continue
            cage, cells, digits = step.cites.cages[0], step.why["cells"], step.why["digits"]
            assert isinstance(cells, tuple) and isinstance(digits, Digits)
            notes = {cell: set(Digits(known[number].candidates[place[cell]])) for cell in cage.cells}
            others = [cell for cell in cage.cells if cell not in cells and len(notes[cell]) > 1
                      and notes[cell] & set(digits)]
            said = Sentences("en").about(path.puzzle).step(step)
            assert bool(others) is (" elsewhere" in said), said
            why += bool(others)
            filled = [dict(zip(cage.cells, fill, strict=True)) for fill in product(*notes.values())
                      if sum(fill) == cage.total and len(set(fill)) == len(fill)] if others else []
            assert not any(fill[cell] in set(digits) for fill in filled for cell in others)
    assert why > 2


def test_a_sum_names_the_found_digits_that_it_counts(
    works: list[Worked], cp_answers: Mapping[str, Answer],
) -> None:
    """What is said that cages make is their sums, and the digits in the cells named, by CP-SAT's answer."""
    cells = r"(r\dc\d(?:(?:, | and )r\dc\d)*)"
    counted = 0
    for worked in works:
        path, answer = worked.path, cp_answers[worked.entry.id]
        at = {str(cell): answer.at(cell) for cell in path.puzzle.cells}
        for stage in path.stages:
            step = stage.step
            text = Sentences("en").about(path.puzzle).step(step)
            assert not re.search("digits (already )?found", text), text
            said = re.search(
                rf"the cages (?:inside|over [a-z\d, ]+?)(?:,(?: with {cells})?(?: and)?(?: less {cells})?,)?"
                r" (?:add )?to (\d+)", text, re.IGNORECASE)
            if said is None or step.cites.added_too:
                continue
            more, less = (re.findall(r"r\dc\d", group or "") for group in said.groups()[:2])
            makes = sum(cage.total or 0 for cage in step.cites.taken)
            assert int(said[3]) == makes + sum(map(at.__getitem__, more)) - sum(map(at.__getitem__, less)), text
            counted += len(more) + len(less)
    assert counted > 20


def test_the_finish_needs_no_more_than_cages_one_by_one_and_their_houses(works: list[Worked]) -> None:
    """Where no step of a path looks further anyway, it is singles to the end."""
    for worked in works:
        story = Story(worked.path)
        finish = [n for n, chapter in enumerate(story.chapters) if chapter is Chapter.FINISH]
        looks_far = list(map(far, story.steps))
        assert not any(looks_far[number] for number in finish)
        assert story.shape.ends_in_singles is all(is_single(story.steps[number]) for number in finish)
        assert any(looks_far) or story.shape.ends_in_singles
        assert not finish or finish == list(range(finish[0], len(story.steps)))


def test_the_first_sums_rest_on_the_printed_puzzle(works: list[Worked], cp_answers: Mapping[str, Answer]) -> None:
    """Each step of the first chapter is proved from the printed puzzle and the steps of its own idea alone."""
    checked = 0
    for worked in works:
        path = worked.path
        prover = Prover(path.puzzle, cp_answers[worked.entry.id])
        board, idea = prover.board(), -1
        for stage, chapter in zip(path.stages, Story(path).chapters, strict=True):
            if chapter is not Chapter.FIRST_SUMS:
                break
            if stage.idea != idea:
                board, idea = prover.board(), stage.idea
            assert prover.prove(board.candidates, stage.step), (worked.entry.id, stage.step)
            board.apply(stage.step)
            checked += 1
    assert checked > len(works)


def test_hints_lead_from_the_printed_puzzle_to_a_digit(
    works: list[Worked], cp_answers: Mapping[str, Answer],
) -> None:
    """Each step behind the hints is proved from the printed puzzle and the steps before it among them alone; where
    the way to a digit is long, hints begin it and say where it leads.
    """
    for worked in works:
        path, answer = worked.path, cp_answers[worked.entry.id]
        prover, story = Prover(path.puzzle, answer), Story(path)
        for numbers in {story.opening_chain, story.hinted}:
            board = prover.board()
            for step in [path.stages[number].step for number in numbers]:
                assert prover.prove(board.candidates, step), (worked.entry.id, step)
                board.apply(step)
        assert len(story.hinted) <= 5
        assert story.hinted == story.opening_chain or len(story.hinted) < 5 < len(story.opening_chain)
        ((cell, digit),) = path.stages[story.opening_chain[-1]].step.places
        assert answer.at(cell) == digit
        hints = hints_in_words(worked, Sentences("en"))
        assert len(hints) == 3
        assert hints[0].startswith("Look at ")
        assert str(cell) in hints[2]
        assert not re.search(rf"{cell} is {digit}\b", " ".join(hints[:2]))


def test_a_path_as_data_has_its_shape_ideas_and_chapters(works: list[Worked]) -> None:
    for worked in works:
        said = explained(worked, Sentences("en"), worked.path.answer)
        assert said["shape"] == shape_in_words(Story(worked.path).shape, Sentences("en").about(worked.path.puzzle))
        ideas = [step["idea"] for step in said["steps"]]
        assert ideas[0] == 1
        assert all(after - before in (0, 1) for before, after in pairwise(ideas))
        assert {step["chapter"] for step in said["steps"]} <= {chapter.value for chapter in Chapter}
