"""What is said besides the steps of a worked solution: the shape of the solve, and hints."""

from __future__ import annotations

from collections.abc import Iterator

from cagework.solver.model import Cage, House
from cagework.solver.reasoning.reason import Path
from cagework.solver.step import Step
from cagework.typeset.solving.story import Shape, Story, Thought
from cagework.typeset.solving.worked import Worked
from cagework.typeset.words import words_or_english
from cagework.typeset.words.phrases import (
    BEGIN_BOTH,
    BEGIN_CAGES,
    BEGIN_SEVERAL,
    BEGIN_SEVERAL_BOTH,
    BEGIN_SUMS,
    BREAK_IN,
    ENDS,
    LOOK_AT,
    NEEDS,
    NEEDS_NOTHING,
    TRIED,
)
from cagework.typeset.words.sentences import Sentences

_NAMED = 3
"""The most cages that the shape of a solve names to begin with."""


def shape_in_words(shape: Shape, sentences: Sentences) -> str:
    """Where a solve opens, what breaks it, what it needs and how it ends: a few sentences."""
    return " ".join(_shape(shape, sentences))


def _shape(shape: Shape, sentences: Sentences) -> Iterator[str]:
    houses, cages = shape.houses, shape.cages
    if houses or cages:
        several = (BEGIN_SEVERAL_BOTH if houses else BEGIN_SEVERAL) if len(cages) > _NAMED else (
            BEGIN_BOTH if houses else BEGIN_CAGES)
        yield sentences.say(several if cages else BEGIN_SUMS, houses=houses, cages=cages, count=len(cages))
    ways = words_or_english(sentences.language).techniques
    if shape.break_in is not None:
        yield sentences.say(BREAK_IN, places=_places(shape.break_in), way=ways[shape.break_in.technique].many)
    others = [name for name in shape.needs if shape.break_in is None or name != shape.break_in.technique]
    if others:
        yield sentences.say(NEEDS, ways=sentences.listed([ways[name].many for name in others]))
    elif shape.break_in is None:
        yield sentences.say(NEEDS_NOTHING)
    if shape.tried:
        yield sentences.say(TRIED, cells=shape.tried)
    if shape.last_from is not None and shape.last_digits > 1:
        yield sentences.say(ENDS, cell=shape.last_from, count=shape.last_digits)


def thought_in_words(path: Path, thought: Thought, sentences: Sentences) -> str:
    """What a thought asks, then its steps; only what it finds where it is brief. `sentences` are about
    its puzzle.
    """
    stages = path.stages[thought.first:thought.last]
    steps = [stage.step for stage in stages]
    if thought.brief:
        return sentences.briefly(steps)
    said = [] if steps[0].places else [sentences.question(steps[0])]
    counted = thought.picture.last - thought.picture.first if thought.picture and thought.picture.numbered else 0
    said += [f"({number}) {sentences.step(step)}" for number, step in enumerate(steps[:counted], 1)]
    said.append(sentences.paragraph(stages[counted:]))
    return " ".join(filter(None, said))


def hints_in_words(worked: Worked, sentences: Sentences) -> tuple[str, ...]:
    """Hints that rise in strength: where to look, why, the first digit. Each can be followed from the printed
    puzzle and those before it. None where nothing leads to a digit.
    """
    path = worked.path
    chain = [path.stages[number].step for number in Story(path).opening_chain]
    if not chain:
        return ()
    sentences = sentences.about(path.puzzle)
    *reasons, last = chain
    best = max(chain, key=lambda step: step.cost)
    why = " ".join(map(sentences.step, reasons)) or sentences.question(last)
    first = sentences.say(LOOK_AT, places=_places(best))
    return tuple(text for text in (first, why, sentences.step(last)) if text)


def _places(step: Step) -> tuple[House, ...] | tuple[Cage, ...]:
    """Where a step looks, as one would point at it."""
    cites = step.cites
    return cites.added or cites.cages or cites.houses
