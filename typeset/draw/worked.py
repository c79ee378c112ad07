"""Worked solutions as columns: a heading a puzzle, paragraphs, and a diagram at each turning point."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from cagework.solver.model import Answer
from cagework.solver.reasoning.reason import Stage
from cagework.typeset.book import Solutions
from cagework.typeset.draw.column import Piece, paragraph, solid
from cagework.typeset.draw.describe import describe_moment, figure
from cagework.typeset.draw.diagram import diagram_look, draw_step, focus
from cagework.typeset.draw.setting import PageNumbers, Setting
from cagework.typeset.draw.shown import GridKind, Shown
from cagework.typeset.marks import MM, Line, Mark, Tag
from cagework.typeset.solving.worked import SINGLES, Example, Moment, Worked, moments, passages, turning_points

_HINTS = 3


def solution_pieces(setting: Setting, worked: Worked, width: float) -> tuple[Piece, ...]:
    """One puzzle's worked solution, as much of it as its entry asks for."""
    told = _in_full if worked.entry.solutions is Solutions.FULL else _key_steps
    return (_head(setting, worked, width), *told(setting, worked, width))


def _in_full(setting: Setting, worked: Worked, width: float) -> Iterator[Piece]:
    size = setting.layout.solutions.size
    told = passages(worked.path)
    known = moments(worked.path, [passage.first for passage in told if passage.diagram])
    for passage in told:
        if passage.diagram:
            yield _diagram(setting, worked, passage.first, known[passage.first], width)
        said = setting.sentences.paragraph(worked.path.stages[passage.first:passage.last])
        yield paragraph(setting, said, width, before=size * 0.35, size=size)


def _key_steps(setting: Setting, worked: Worked, width: float) -> Iterator[Piece]:
    size = setting.layout.solutions.size
    for number, moment in moments(worked.path, turning_points(worked.path)).items():
        yield _diagram(setting, worked, number, moment, width)
        said = setting.sentences.step(worked.path.stages[number].step)
        yield paragraph(setting, said, width, before=size * 0.35, size=size)
    yield paragraph(setting, setting.words.rest_follows, width, before=size * 0.5, size=size)


def _head(setting: Setting, worked: Worked, width: float) -> Piece:
    """Number and title and the page of the puzzle, over a fine line."""
    kind, fonts, entry = setting.layout.type, setting.fonts, worked.entry
    size = max(setting.layout.solutions.size * 1.25, kind.title * 0.8)
    small = min(kind.small, setting.layout.solutions.size)

    number = str(setting.number_of[entry.id])
    lead = fonts.measure(number, setting.bold, size) + size * 0.5
    aside = fonts.measure(setting.words.puzzle_on.format(page="000"), "sans", small) + small
    title = setting.display(entry.title, setting.roman, size, width - lead - aside)
    leading = size * 1.12

    def draw(pages: PageNumbers, x: float, y: float) -> tuple[Mark, ...]:
        page = setting.words.puzzle_on.format(page=pages.puzzle(entry.id))
        base, end = y + size, x + width - fonts.measure(page, "sans", small)
        marks: list[Mark] = [fonts.left(x, base, number, setting.bold, size)]
        for index, line in enumerate(title):
            marks.extend(line.marks(x + lead, base + index * leading))
        low = base + (len(title) - 1) * leading + size * 0.35
        marks += [fonts.left(end, base, page, "sans", small),
                  Line(x, low, x + width, low, max(0.5, setting.layout.weights.cell))]
        return tuple(marks)

    return solid(size * 1.5 + (len(title) - 1) * leading, draw, before=size * 1.6, keep=True,
                 tag=Tag.SUBHEADING)


def example_piece(setting: Setting, example: Example, width: float) -> Piece:
    """The moment before the stage that an example is of, as a picture."""
    worked, number = example.worked, example.stage
    return _diagram(setting, worked, number, moments(worked.path, (number,))[number], width, example.answer)


def _diagram(
    setting: Setting, worked: Worked, number: int, moment: Moment, width: float, answer: Answer | None = None,
) -> Piece:
    puzzle, plan = worked.path.puzzle, setting.layout.solutions
    look = diagram_look(setting.layout, min(plan.cell * MM, (width - 2) / puzzle.size))
    side = look.cell * puzzle.size
    pad = plan.size * 0.5

    def draw(_pages: PageNumbers, x: float, y: float) -> tuple[Mark, ...]:
        step = worked.path.stages[number].step
        drawn = draw_step(puzzle, worked.entry.rules, moment.candidates, moment.placed, step, look, setting.fonts,
                          x + (width - side) / 2, y + pad)
        drawn = replace(drawn, shows=Shown(GridKind.STAGE, worked.entry.id, puzzle, worked, number, answer,
                                           in_book=answer is None))
        return (figure(drawn, describe_moment(puzzle, focus(step), setting.words.described, setting.sentences)),)

    return solid(side + 2 * pad, draw, before=plan.size * 0.5, keep=True, tag=None)


def hint_pieces(
    setting: Setting, works: Sequence[Worked], width: float,
) -> tuple[Piece, ...]:
    """The opening deductions, puzzle by puzzle."""
    size = setting.layout.solutions.size
    pieces: list[Piece] = []
    for worked in works:
        pieces.append(_head(setting, worked, width))
        pieces.extend(paragraph(setting, setting.sentences.step(stage.step), width, before=size * 0.3, size=size)
                      for stage in hinted(worked))
    return tuple(pieces)


def hinted(worked: Worked) -> tuple[Stage, ...]:
    """The first three deductions that are more than a look; the first three of all where there are none."""
    stages = [stage for stage in worked.path.stages if stage.step.technique not in SINGLES]
    return tuple((stages or list(worked.path.stages))[:_HINTS])
