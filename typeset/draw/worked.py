"""Worked solutions as columns: a heading a puzzle, its thoughts, and pictures of those that look far."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from math import ceil, floor

from cagework.layouts.load import Layout
from cagework.solver.model import Answer, Puzzle
from cagework.typeset.draw.column import Piece, baseline, paragraph, solid, whole_lines
from cagework.typeset.draw.describe import describe_picture, figure
from cagework.typeset.draw.diagram import (
    diagram_look,
    draw_steps,
    edge_room,
    least_diagram_cell,
    least_lessened_cell,
)
from cagework.typeset.draw.look import GridLook
from cagework.typeset.draw.setting import PageNumbers, Setting, hints_anchor, worked_anchor
from cagework.typeset.draw.shown import GridKind, Shown
from cagework.typeset.draw.squares import squares_of
from cagework.typeset.entry import Entry, Solutions
from cagework.typeset.marks import MM, Line, Mark, Tag
from cagework.typeset.solving.story import Picture, Story, Wish
from cagework.typeset.solving.told import (
    apart,
    headings,
    hints_in_words,
    letters_of_stages,
    shape_in_words,
    thought_in_words,
)
from cagework.typeset.solving.worked import Example, Moment, Worked, moments
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.words.breaths import Listed

_MOST_TOGETHER = 0.6
"""Hints of a puzzle that are no higher than this share of a column stand together."""

_BETWEEN_HINTS = 5
"""How many lines wider the space over a puzzle's first hints may be, to level columns."""

_NEAR = 1e-6

_SMALLER, _LARGER = 0.92, 1.08
"""The cells of a picture, as shares of those that the layout wishes, where others make it whole lines high."""

_ROUND_PICTURE = 1 / 6
"""To level columns, the white over a picture and under it may be wider by as much of its height."""

_TRIES = 6
"""How often a cell is brought nearer to one that does: the rest is less than a hair."""


def solution_pieces(setting: Setting, worked: Worked, width: float, lean: int = 0) -> tuple[Piece, ...]:
    """One puzzle's worked solution, as much of it as its entry asks for; its pictures lean to fewer lines or to
    more (`place_of`).
    """
    head = _head(setting, worked.entry, width, worked_anchor(worked.entry.id))
    return (head, *_told(setting, worked, width, lean))


def bare_head(setting: Setting, entry: Entry, width: float, anchor: str) -> Piece:
    """The heading of a puzzle that has no path to tell: the spot `anchor`."""
    head = _head(setting, entry, width, anchor)
    return replace(head, block=replace(head.block, keep=False, gives=0))


def _told(setting: Setting, worked: Worked, width: float, lean: int) -> Iterator[Piece]:
    """The shape of the solve, then thought by thought; each chapter begins with its name."""
    path, size, words = worked.path, setting.layout.solutions.size, setting.words
    sentences = setting.sentences.about(path.puzzle, worked.entry.rules)
    story, pictured = Story(path), False
    place = place_of(setting, path.puzzle, width, lean)
    most = _most_white(place)
    yield paragraph(setting, shape_in_words(story.shape, sentences), width, size=size, lead=words.in_short)
    told = story.thoughts(briefly=worked.entry.solutions is Solutions.KEY)
    known = moments(path, [thought.picture.first for thought in told if thought.picture])
    said, sentences = apart(path, told), sentences.by_letters(letters_of_stages(told))
    headed, listed = headings(story, words), Listed()
    for thought in told:
        name = thought.name
        lead = headed[thought.chapter] if thought.begins else ""
        yield paragraph(setting, thought_in_words(said, thought, sentences, listed), width, size=size,
                        lead=f"{lead} ({name})" if lead and name else lead or name,
                        before=setting.line if lead else 0.0, indent=not lead, keep=thought.picture is not None,
                        gives=bool(lead) or pictured, most=most if pictured else 1)
        pictured = thought.picture is not None
        if thought.picture:
            yield _picture(setting, worked, thought.picture, known[thought.picture.first], place, name=name)


def _head(setting: Setting, entry: Entry, width: float, anchor: str) -> Piece:
    """Number and title and the page of the puzzle, over a fine line: the spot `anchor`."""
    kind, fonts = setting.layout.type, setting.fonts
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
        base = y + max(fonts[setting.bold].cap_height * size, baseline(setting.told))
        end = x + width - fonts.measure(page, "sans", small)
        marks: list[Mark] = [fonts.left(x, base, number, setting.bold, size)]
        for index, line in enumerate(title):
            marks.extend(line.marks(x + lead, base + index * leading))
        low = base + more + size * 0.45
        marks += [fonts.left(end, base, page, "sans", small),
                  Line(x, low, x + width, low, max(0.5, setting.layout.weights.cell))]
        return tuple(marks)

    head = solid(whole_lines(size * 1.5 + more, setting.line), draw, before=setting.line, keep=True,
                 tag=Tag.SUBHEADING, gives=1, most=2)
    return replace(head, anchor=anchor)


def example_piece(setting: Setting, example: Example, width: float) -> Piece:
    """The moment before the stage that an example is of, as a picture."""
    worked, number = example.worked, example.stage
    known = moments(worked.path, (number,))[number]
    place = place_of(setting, worked.path.puzzle, width)
    return _picture(setting, worked, Picture(number, number + 1), known, place, example.answer, keep=True)


def _picture(
    setting: Setting, worked: Worked, picture: Picture, known: Moment, place: PicturePlace,
    answer: Answer | None = None, *, keep: bool = False, name: str = "",
) -> Piece:
    """A picture in its place. Its `name` is that of the paragraph before it."""
    puzzle, rules = worked.path.puzzle, worked.entry.rules
    steps, full = picture.steps(worked.path), picture.wish is Wish.FULL_NOTES
    sentences = setting.sentences.about(puzzle, rules)
    shown = Shown(GridKind.STAGE, worked.entry.id, puzzle, worked, picture, answer, in_book=answer is None)
    alt = describe_picture(puzzle, known, steps, setting.words.described, sentences, full=full)
    said = f"{name}. {alt}" if name else alt        # now, not each time that it is drawn: to print, and to compare

    def draw(_pages: PageNumbers, x: float, y: float) -> tuple[Mark, ...]:
        drawn = draw_steps(puzzle, rules, known, steps, place.look, setting.fonts, x + place.left,
                           y + place.over + place.top, full=full, lettered=picture.lettered, name=name)
        return (figure(replace(drawn, shows=shown), said),)

    return solid(place.lines * setting.line, draw, keep=keep, tag=None, wide=place.wide,
                 floats=not keep, gives=1, most=_most_white(place))


@dataclass(frozen=True, slots=True)
class PicturePlace:
    """How a picture stands in a column, or across all where its notes have no room in one and it is `wide`: the
    corner of its grid from the left and the top, in pt; in how many lines, and how far below their top, in pt.
    Without `notes` the page is too narrow for them.
    """

    look: GridLook
    left: float
    top: float
    lines: int
    over: float
    wide: bool
    notes: bool


def _most_white(place: PicturePlace) -> int:
    """How many lines a picture's surroundings give at the most."""
    return max(1, int(place.lines * _ROUND_PICTURE))


def place_of(setting: Setting, puzzle: Puzzle, width: float, lean: int = 0) -> PicturePlace:
    """The place of a picture of a puzzle in columns of `width` pt: cells as the layout wishes, or as large as
    notes of the least size ask for, a little larger or smaller where the picture is whole lines high then: the
    nearest such, or of two the smaller, where `lean` is -1, or the larger, where it is 1.
    """
    layout, fonts, squares = setting.layout, setting.fonts, squares_of(puzzle)
    least, across = least_diagram_cell(layout, puzzle, fonts), setting.block(1).width

    def largest(room: float, like: float) -> float:
        """The largest cells that go into so much room, the numbers of rows as wide as beside cells like these."""
        look = diagram_look(layout, like)
        return (room - edge_room(look, puzzle.rows, fonts)[0] - look.overhang) / squares.across

    wide = largest(width, least) < least and across > width
    room = across if wide else width
    wished = min(max(layout.solutions.cell * MM, least), room / squares.across)
    most = largest(room, wished)
    cell = least if min(wished, most) < least <= largest(room, least) else min(wished, most)
    style = setting.told
    cap = fonts[style.face].cap_height * style.size
    smallest = least_lessened_cell(layout, puzzle, fonts, max(_SMALLER * cell, least), cell)
    cell, lines = _in_lines(cell, (smallest, min(_LARGER * cell, most)), style.leading, cap,
                            lambda cell: _height(layout, cell, squares.down, fonts), lean)
    look = diagram_look(layout, cell)
    left, top = edge_room(look, puzzle.rows, fonts)
    spare = room - left - squares.across * look.cell - look.overhang
    over = baseline(style) - cap        # at the head of a column pictures begin alike, and as text does
    return PicturePlace(look, left + max(0.0, spare / 2), top, lines, over, wide, look.cell >= least - _NEAR)


def _height(layout: Layout, cell: float, down: int, fonts: Fonts) -> float:
    """How high a picture of so many rows of squares is with cells of a side, both in pt."""
    look = diagram_look(layout, cell)
    return edge_room(look, down, fonts)[1] + down * cell + look.overhang


def _in_lines(
    cell: float, within: tuple[float, float], line: float, cap: float, height: Callable[[float], float], lean: int,
) -> tuple[float, int]:
    """The cell near to one for which a picture begins with the capitals of one line and ends on the baseline of
    another, and how many lines these are; where none within the bounds does, the cell as it is, and the lines that
    hold the picture.
    """
    low, high = within
    lines = 1 + (height(cell) - cap) / line
    for count in sorted({floor(lines), ceil(lines)}, key=lambda count: abs(count - lines - lean)):
        near = cell
        for _ in range(_TRIES):
            near *= ((count - 1) * line + cap) / height(near)
        if low - _NEAR <= near <= high + _NEAR:
            return near, count
    return cell, ceil(lines - _NEAR)


def hint_pieces(
    setting: Setting, works: Sequence[Worked], width: float,
) -> tuple[Piece, ...]:
    """The hints to the first digit, puzzle by puzzle: those of a puzzle together, but where they take most of a
    column.
    """
    size = setting.layout.solutions.size
    pieces: list[Piece] = []
    for worked in works:
        head = _head(setting, worked.entry, width, hints_anchor(worked.entry.id))
        found = [replace(head, block=replace(head.block, most=_BETWEEN_HINTS))]
        found += [paragraph(setting, said, width, indent=number > 0, size=size)
                  for number, said in enumerate(hints_in_words(worked, setting.sentences))]
        high = sum(piece.block.before + piece.block.lines * piece.block.leading for piece in found)
        if high <= _MOST_TOGETHER * setting.block(1).height:
            found = [replace(piece, block=replace(piece.block, whole=True, keep=piece is not found[-1]))
                     for piece in found]
        pieces += found
    return tuple(pieces)
