"""What is said besides the steps of a worked solution: the shape of the solve, and hints."""

from __future__ import annotations

from collections.abc import Container, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise, takewhile

from cagework.solver.model import Cage, Cell, House
from cagework.solver.reasoning.ideas import suppose_of_one_cell
from cagework.solver.reasoning.reason import Path, told_apart
from cagework.solver.reasoning.technique import Scope
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.step import Block, Digits, Step
from cagework.typeset.solving.story import Chapter, Shape, Story, Thought, letters_of
from cagework.typeset.solving.sum_ways import with_ways
from cagework.typeset.solving.worked import Worked, moments
from cagework.typeset.words import Words, words_or_english
from cagework.typeset.words.breaths import Listed, whole_steps, without_list
from cagework.typeset.words.phrases import (
    BEGIN_BOTH,
    BEGIN_CAGES,
    BEGIN_SEVERAL,
    BEGIN_SEVERAL_BOTH,
    BEGIN_SUMS,
    BREAK_IN,
    CAN,
    ENDS,
    ENDS_AT_ONCE,
    ENDS_PLAINLY,
    LEADS_TO,
    LEFT,
    LOOK_AT,
    MADE,
    MARKED,
    NEEDS,
    NEEDS_NOTHING,
    NEEDS_RULE,
    OTHERS,
    TRIED,
    TURNS,
    WHICH,
)
from cagework.typeset.words.sentences import Sentences

_NAMED = 3
"""The most cages that the shape of a solve names to begin with."""

_TOLD = 3
"""The most ways of reasoning that the shape of a solve names besides the dearest; those that cost most."""

_MOST_ASKED = 5
"""The most digits of a cell that are asked for: of more it is asked whether it can be those that are supposed."""


def headings(story: Story, words: Words) -> Mapping[str, str]:
    """What each chapter is headed: the way in, where others that look far come before it, as the turning point."""
    return {**words.chapters, Chapter.BREAK_IN: words.turning_point} if story.shape.turns else words.chapters


def shape_in_words(shape: Shape, sentences: Sentences) -> str:
    """Where a solve opens, what breaks it, what it needs and how it ends: a few sentences."""
    return " ".join(_shape(shape, sentences))


def _shape(shape: Shape, sentences: Sentences) -> Iterator[str]:
    areas, cages = shape.areas, shape.cages
    if shape.marks:
        yield sentences.say(MARKED, rules=sentences.by_rules(shape.marks))
    if areas or cages:
        several = (BEGIN_SEVERAL_BOTH if areas else BEGIN_SEVERAL) if len(cages) > _NAMED else (
            BEGIN_BOTH if areas else BEGIN_CAGES)
        yield sentences.say(several if cages else BEGIN_SUMS, areas=areas, cages=cages, count=len(cages))
    ways = words_or_english(sentences.language).techniques
    if shape.break_in is not None:
        yield sentences.say(TURNS if shape.turns else BREAK_IN, places=_places(shape.break_in),
                            way=ways[shape.break_in.technique].many)
    others = [name for name in shape.needs if shape.break_in is None or name != shape.break_in.technique]
    if others:
        told = sorted(others, key=lambda name: -TECHNIQUES[name].cost)[:_TOLD if len(others) > _TOLD + 1 else None]
        said = [ways[name].many for name in others if name in told]
        more = [sentences.fill(OTHERS, count=len(others) - len(told))] if len(told) < len(others) else []
        yield sentences.say(NEEDS, ways=sentences.listed(said + more))
    elif shape.break_in is None:
        yield sentences.say(NEEDS_RULE if shape.is_ruled else NEEDS_NOTHING)
    if shape.tried:
        yield sentences.say(TRIED, cells=shape.tried)
    if shape.last_from is not None and shape.last_digits > 1:
        ends = ENDS_PLAINLY if not shape.ends_in_singles else ENDS_AT_ONCE if shape.all_last else ENDS
        yield sentences.say(ends, cell=shape.last_from, count=shape.last_digits)


def apart(path: Path, told: Sequence[Thought]) -> Path:
    """The path as it is told where some thoughts tell their digits alone, each with its sum: no reader knows of
    what else these found. Sums by which others strike have the ways that a reader's notes leave.
    """
    numbers = {number for thought in told if not thought.brief for number in range(thought.first, thought.last)}
    behind = dict(pair for thought in told for pair in thought.behind)
    noted = _striking(path, numbers.union(*behind.values()))
    if not any(thought.brief for thought in told):
        return with_ways(path, noted, numbers)
    alone = {number: [path.stages[other].step for other in behind.get(number, ())]
             for number, stage in enumerate(path.stages) if number not in numbers and stage.step.places}
    steps = told_apart(_striking(path, numbers), numbers | {number for number in alone if TECHNIQUES[
        path.stages[number].step.technique].in_brief}, alone)
    return with_ways(replace(path, stages=tuple([
        replace(stage, step=steps.get(number, stage.step)) for number, stage in enumerate(path.stages)])),
        noted, numbers)


def _striking(path: Path, numbers: Container[int]) -> Path:
    """The path of which these stages alone strike anything."""
    return replace(path, stages=tuple([
        stage if number in numbers else replace(stage, step=replace(stage.step, removes=()))
        for number, stage in enumerate(path.stages)]))


def letters_of_stages(told: Iterable[Thought]) -> Mapping[int, str]:
    """The letter under which each stage is told, where it has one."""
    return {number: thought.name for thought in told if thought.name
            for number in range(thought.first, thought.last)}


def thought_in_words(path: Path, thought: Thought, sentences: Sentences, listed: Listed | None = None) -> str:
    """What a thought asks, then its steps; only what it finds where it is brief. `sentences` are about
    its puzzle. Ways to make a cage that thoughts before it `listed` are not listed again; its own are added.
    """
    listed = {} if listed is None else listed
    if thought.brief:
        all_steps, behind = [stage.step for stage in path.stages], dict(thought.behind)
        return sentences.briefly([(all_steps[number], [all_steps[one] for one in behind.get(number, ())])
                                  for number in thought.digits])
    stages = path.stages[thought.first:thought.last]
    steps = [stage.step for stage in stages]
    said = [] if steps[0].places or "before" in steps[0].why else [sentences.question(steps[0])]
    asked = any(said)
    counted = thought.picture.last - thought.picture.first if thought.picture and thought.picture.lettered else 0
    told = _lettered(steps[:counted], sentences, listed, asked=asked)
    run, which, left = _of_one_cell(path, thought, sentences)
    said += [which, *told[:run], sentences.paragraph(stages[counted:run], listed=listed), left, *told[run:]]
    rest = max(len(told), run)
    said.append(sentences.paragraph(
        stages[rest:], steps[rest - 1] if rest else None, asked=asked and not rest, listed=listed))
    return " ".join(filter(None, said))


def _lettered(steps: Sequence[Step], sentences: Sentences, listed: Listed, *, asked: bool) -> list[str]:
    """A sentence for each step, with its letter; where the next says all of a step, nothing. The question of the
    first may be asked.
    """
    return [f"({letter}) {sentences.step(without_list(step, last, listed), last, asked=asked and not last)}"
            if step else "" for step, last, letter in zip(
                whole_steps(steps), [None, *steps], letters_of(steps), strict=False)]


def _of_one_cell(path: Path, thought: Thought, sentences: Sentences) -> tuple[int, str, str]:
    """How many suppositions of one cell's digits a thought begins with, what they ask, and what they leave, where
    that is not much and the next step does not say so; none for one alone.
    """
    steps = [stage.step for stage in path.stages[thought.first:thought.last]]
    run = 1 + sum(1 for _ in takewhile(lambda pair: suppose_of_one_cell(*pair), pairwise(steps)))
    if run == 1:
        return 0, "", ""
    ((cell, _),) = steps[0].removes
    known = moments(path, (thought.first, thought.first + run))
    before, left = (Digits(known[number].candidates[path.puzzle.cells.index(cell)]) for number in sorted(known))
    if len(before) > _MOST_ASKED:
        return run, sentences.say(CAN, cell=cell, digits=Digits(before.mask & ~left.mask)), ""
    is_said = any(name == cell for step in steps[run:run + 1] for name, _ in step.places)
    return run, sentences.say(WHICH, cell=cell, digits=before), "" if is_said else sentences.say(LEFT, digits=left)


def hints_in_words(worked: Worked, sentences: Sentences) -> tuple[str, ...]:
    """Hints that rise in strength: where to look, why, the first digit; where the way to that is long, what is
    seen first on it, and where it leads. Each can be followed from the printed puzzle and those before it. None
    where nothing leads to a digit.
    """
    path, story = worked.path, Story(worked.path)
    if not story.opening_chain:
        return ()
    stages = tuple([path.stages[number] for number in story.hinted])
    chain = list(told_apart(replace(path, stages=stages), range(len(stages))).values())
    sentences = sentences.about(path.puzzle, worked.entry.rules)
    *reasons, last = chain
    best = max(chain, key=lambda step: step.cost)
    why = sentences.paragraph([replace(stage, step=step) for stage, step in zip(stages, reasons, strict=False)])
    why = why or sentences.question(last) or "".join(
        [sentences.say(MADE, cage=cage) for cage in last.cites.cages[:1]])
    said = [sentences.say(LOOK_AT, places=_places(best)), why, sentences.step(last)]
    if not last.places:
        ((cell, _),) = story.steps[story.opening_chain[-1]].places
        said[-1] += " " + sentences.say(LEADS_TO, cell=cell)
    return tuple(filter(None, said))


def _places(step: Step) -> tuple[House | Block, ...] | tuple[Cage, ...] | tuple[Cell, ...]:
    """Where a step looks, as one would point at it; of a trial, which looks everywhere, what it tries."""
    cites = step.cites
    if step.is_trial:
        return tuple([cell for cell, _ in step.places])
    if TECHNIQUES[step.technique].look is Scope.HOUSE and not cites.added:
        return cites.houses[:1]
    return cites.summed or cites.cages or cites.houses
