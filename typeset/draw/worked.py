"""Worked solutions as columns: a heading a puzzle, its thoughts, and pictures of those that look far."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import product
from string import ascii_uppercase

from cagework.solver.model import Answer, Puzzle
from cagework.typeset.book import Solutions
from cagework.typeset.draw.column import Piece, paragraph, solid
from cagework.typeset.draw.describe import describe_picture, figure
from cagework.typeset.draw.diagram import diagram_look, draw_steps, edge_room, least_diagram_cell
from cagework.typeset.draw.grid import GridLook
from cagework.typeset.draw.setting import PageNumbers, Setting, hints_anchor, worked_anchor
from cagework.typeset.draw.shown import GridKind, Shown
from cagework.typeset.marks import MM, Line, Mark, Tag
from cagework.typeset.solving.story import Picture, Story, Wish
from cagework.typeset.solving.told import apart, hints_in_words, shape_in_words, thought_in_words
from cagework.typeset.solving.worked import Example, Moment, Worked, moments

_MOST_TOGETHER = 0.6
"""Hints of a puzzle that are no higher than this share of a column stand together."""

_NEAR = 1e-6


def solution_pieces(setting: Setting, worked: Worked, width: float) -> tuple[Piece, ...]:
    """One puzzle's worked solution, as much of it as its entry asks for."""
    return (_head(setting, worked, width, worked_anchor(worked.entry.id)), *_told(setting, worked, width))


def _told(setting: Setting, worked: Worked, width: float) -> Iterator[Piece]:
    """The shape of the solve, then thought by thought; each chapter begins with its name."""
    path, size, words = worked.path, setting.layout.solutions.size, setting.words
    sentences = setting.sentences.about(path.puzzle)
    story = Story(path)
    yield paragraph(setting, shape_in_words(story.shape, sentences), width, size=size, lead=words.in_short)
    told = story.thoughts(briefly=worked.entry.solutions is Solutions.KEY)
    known = moments(path, [thought.picture.first for thought in told if thought.picture])
    said, names = apart(path, told), _names()
    for thought in told:
        name = next(names) if thought.picture else ""
        lead = words.chapters[thought.chapter] if thought.begins else ""
        yield paragraph(setting, thought_in_words(said, thought, sentences), width, size=size,
                        lead=f"{lead} ({name})" if lead and name else lead or name,
                        before=size * (0.8 if lead else 0.35), keep=thought.picture is not None)
        if thought.picture:
            yield _picture(setting, worked, thought.picture, known[thought.picture.first], width, name=name)


def _names() -> Iterator[str]:
    """What pictures and their paragraphs are called, for one may stand in the next column: A to Z, AA, AB."""
    for count in (1, 2):
        yield from map("".join, product(ascii_uppercase, repeat=count))


def _head(setting: Setting, worked: Worked, width: float, anchor: str) -> Piece:
    """Number and title and the page of the puzzle, over a fine line: the spot `anchor`."""
    kind, fonts, entry = setting.layout.type, setting.fonts, worked.entry
    size = max(setting.layout.solutions.size * 1.25, kind.title * 0.8)
    small = min(kind.small, setting.layout.solutions.size)

    number, name = setting.headed(entry)
    lead = fonts.measure(number, setting.bold, size) + size * 0.5
    aside = fonts.measure(setting.words.puzzle_on.format(page="000"), "sans", small) + small
    title = setting.name(name, setting.roman, size, width - lead - aside) if name else ()
    leading = size * 1.12
    more = max(0, len(title) - 1) * leading

    def draw(pages: PageNumbers, x: float, y: float) -> tuple[Mark, ...]:
        page = setting.words.puzzle_on.format(page=pages.puzzle(entry.id))
        base, end = y + size, x + width - fonts.measure(page, "sans", small)
        marks: list[Mark] = [fonts.left(x, base, number, setting.bold, size)]
        for index, line in enumerate(title):
            marks.extend(line.marks(x + lead, base + index * leading))
        low = base + more + size * 0.35
        marks += [fonts.left(end, base, page, "sans", small),
                  Line(x, low, x + width, low, max(0.5, setting.layout.weights.cell))]
        return tuple(marks)

    head = solid(size * 1.5 + more, draw, before=size * 1.6, keep=True, tag=Tag.SUBHEADING)
    return replace(head, anchor=anchor)


def example_piece(setting: Setting, example: Example, width: float) -> Piece:
    """The moment before the stage that an example is of, as a picture."""
    worked, number = example.worked, example.stage
    known = moments(worked.path, (number,))[number]
    return _picture(setting, worked, Picture(number, number + 1), known, width, example.answer, keep=True)


def _picture(
    setting: Setting, worked: Worked, picture: Picture, known: Moment, width: float, answer: Answer | None = None,
    *, keep: bool = False, name: str = "",
) -> Piece:
    """A picture in a column of `width` pt, or across all columns where its notes have no room in one. Its `name`
    is that of the paragraph before it.
    """
    puzzle, rules, plan = worked.path.puzzle, worked.entry.rules, setting.layout.solutions
    steps, full = picture.steps(worked.path), picture.wish is Wish.FULL_NOTES
    sentences = setting.sentences.about(puzzle)
    place = place_of(setting, puzzle, width)
    pad = plan.size * 0.5
    shown = Shown(GridKind.STAGE, worked.entry.id, puzzle, worked, picture, answer, in_book=answer is None)

    def draw(_pages: PageNumbers, x: float, y: float) -> tuple[Mark, ...]:
        drawn = draw_steps(puzzle, rules, known, steps, place.look, setting.fonts, x + place.left,
                           y + pad + place.top, full=full, numbered=picture.numbered, name=name)
        alt = describe_picture(puzzle, known, steps, setting.words.described, sentences, full=full)
        return (figure(replace(drawn, shows=shown), f"{name}. {alt}" if name else alt),)

    return solid(place.height + 2 * pad, draw, before=plan.size * 0.5, keep=keep, tag=None, wide=place.wide,
                 floats=not keep and not place.wide)


@dataclass(frozen=True, slots=True)
class PicturePlace:
    """How a picture stands in a column, or across all where it is `wide`: the corner of its grid from the left and
    the top, and the height of it all, in pt. Where it has no `notes` the page is too narrow for them.
    """

    look: GridLook
    left: float
    top: float
    height: float
    wide: bool
    notes: bool


def place_of(setting: Setting, puzzle: Puzzle, width: float) -> PicturePlace:
    """The place of a picture of a puzzle in columns of `width` pt: cells as the layout wishes, or as large as
    notes of the least size ask for.
    """
    layout, fonts, size = setting.layout, setting.fonts, puzzle.size
    least, across = least_diagram_cell(layout, puzzle, fonts), setting.block(1).width

    def largest(room: float, like: float) -> float:
        """The largest cells that go into so much room, the numbers of rows as wide as beside cells like these."""
        look = diagram_look(layout, like)
        return (room - edge_room(look, size, fonts)[0] - look.overhang) / size

    wide = largest(width, least) < least and across > width
    room = across if wide else width
    wished = min(max(layout.solutions.cell * MM, least), room / size)
    cell = min(wished, largest(room, wished))
    look = diagram_look(layout, least if cell < least <= largest(room, least) else cell)
    left, top = edge_room(look, size, fonts)
    spare = room - left - size * look.cell - look.overhang
    return PicturePlace(look, left + max(0.0, spare / 2), top, top + size * look.cell + look.overhang, wide,
                        look.cell >= least - _NEAR)


def hint_pieces(
    setting: Setting, works: Sequence[Worked], width: float,
) -> tuple[Piece, ...]:
    """The hints to the first digit, puzzle by puzzle: those of a puzzle together, but where they take most of a
    column.
    """
    size = setting.layout.solutions.size
    pieces: list[Piece] = []
    for worked in works:
        found = [_head(setting, worked, width, hints_anchor(worked.entry.id))]
        found += [paragraph(setting, said, width, before=size * 0.3, size=size)
                  for said in hints_in_words(worked, setting.sentences)]
        high = sum(piece.block.before + piece.block.lines * piece.block.leading for piece in found)
        if high <= _MOST_TOGETHER * setting.block(1).height:
            found = [replace(piece, block=replace(piece.block, whole=True, keep=piece is not found[-1]))
                     for piece in found]
        pieces += found
    return tuple(pieces)
