"""The primer: each way of reasoning a book uses, in words and with a small example."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.typeset.draw.column import Piece, heading, paragraph
from cagework.typeset.draw.describe import digits_met, run_in_words
from cagework.typeset.draw.setting import Setting
from cagework.typeset.draw.worked import example_piece
from cagework.typeset.entry import Solutions
from cagework.typeset.marks import Tag
from cagework.typeset.solving.story import Story
from cagework.typeset.solving.worked import Example, Worked
from cagework.typeset.text.paragraph import paragraphs


def techniques_used(worked: Worked, hints: bool) -> frozenset[str]:
    """The techniques of all steps of a path that a book prints."""
    story, solutions = Story(worked.path), worked.entry.solutions
    used: set[str] = set()
    if solutions is not Solutions.NONE:
        used.update(step.technique for thought in story.thoughts(briefly=solutions is Solutions.KEY)
                    if not thought.brief for step in story.steps[thought.first:thought.last])
    if hints:
        used.update(story.steps[number].technique for number in story.hinted)
    return frozenset(used)


def cheapest_first(ways: Iterable[str]) -> tuple[str, ...]:
    """Techniques in the order in which a solver looks for them."""
    return tuple(sorted(ways, key=lambda name: (TECHNIQUES[name].cost, name)))


def _sizes(setting: Setting, examples: Mapping[str, Example]) -> Iterator[str]:
    """That some examples are of sizes that the book has no grid of, and which digits they have."""
    met = digits_met(entry.puzzle for entry in setting.book.entries)
    strange = [run for run in digits_met(example.worked.path.puzzle for example in examples.values())
               if run not in met]
    if strange:
        words = setting.words
        yield words.primer_sizes.format(
            ranges=words.listed([run_in_words(run, words) for run in strange], setting.book.language))


def technique_pieces(
    setting: Setting, ways: Sequence[str], examples: Mapping[str, Example], width: float,
) -> tuple[Piece, ...]:
    """The primer as a column: a lead, then a heading, a paragraph, a picture and its sentence for each way."""
    size = setting.layout.solutions.size
    pieces = [paragraph(setting, text, width, indent=number > 0, size=size)
              for number, text in enumerate((*paragraphs(setting.words.primer_lead), *_sizes(setting, examples)))]
    for name in ways:
        way = setting.words.techniques[name]
        pieces.append(heading(setting, way.name, width, size * 1.2, setting.line, size * 0.25, Tag.SUBHEADING,
                              setting.line))
        pieces.append(paragraph(setting, way.text, width, size=size))
        if name in examples:
            pieces.append(example_piece(setting, examples[name], width))
            worked = examples[name].worked
            sentences = setting.sentences.about(worked.path.puzzle, worked.entry.rules)
            told = sentences.step(worked.path.stages[-1].step)
            pieces.append(paragraph(setting, told, width, size=size, gives=1, most=2))
    return tuple(pieces)
