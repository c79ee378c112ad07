"""A picture of a worked solution: the grid before some steps, what they rest on, and what they conclude."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from cagework.layouts.load import FaceName, Layout, Weights
from cagework.solver.figure import Role, Spot, Stroke
from cagework.solver.model import Cell, Puzzle, numbered
from cagework.solver.rule import Rule
from cagework.solver.step import Digits, Step
from cagework.typeset.draw.argument import Argument, argument_of
from cagework.typeset.draw.cages import lighter_cage, ringed
from cagework.typeset.draw.grid import cell_shades, digit_in_cell, draw_grid, first_cell
from cagework.typeset.draw.labels import label_size, sum_figures, sum_foot, summed_cells
from cagework.typeset.draw.look import LEAST_NOTE, GridLook
from cagework.typeset.draw.notes import FACE, LETTER_FACE, NotePlaces, least_cell, note_places
from cagework.typeset.draw.squares import squares_of
from cagework.typeset.marks import Chunks, Fill, Group, Line, Mark, Point, Text, in_a_row, in_rows, rectangle
from cagework.typeset.solving.story import LETTERS, letters_of
from cagework.typeset.solving.worked import Moment
from cagework.typeset.text.fonts import Fonts

_THIN = 0.25
_BESIDE_BLACK = 2.0
"""How many times as heavy the outline of an area is beside black squares, which swallow half of it."""
_LARGE_PRINT, _LEAST_IN_IT = 16.0, 14.4
"""A layout that has no smaller type is for large print (UKAAF G003); as large are notes in it to stay, in pt."""
_STEPS = 32
"""Cell sides that are tried between two."""
_PAD = 0.06
"""White round notes that a rule's line would run through, in ems."""
_PARTS = 97
"""Into so many parts a rule's line is cut to see through which cells it runs: more than cells are."""
_STROKE, _SHY = 0.065, 0.04
"""The weight of the line through a struck digit, and how far it stays within the digit's width, in ems."""


def diagram_look(layout: Layout, cell: float) -> GridLook:
    """Lines lighter than a puzzle's, sums as small as notes may be."""
    return _look(layout.weights, layout.type.label, cell)


def least_diagram_cell(layout: Layout, puzzle: Puzzle, fonts: Fonts) -> float:
    """The least cell side, in pt, of a diagram in which notes have room."""
    return fonts.once(_least_cell, layout.weights, layout.type.label, puzzle.size, sum_figures(puzzle))


def least_lessened_cell(layout: Layout, puzzle: Puzzle, fonts: Fonts, low: float, high: float) -> float:
    """The least cell side, in pt, from `low` on, of a diagram that may be as large as `high`: in large print notes
    stay large.
    """
    if layout.type.label < _LARGE_PRINT:
        return low

    def side(step: int) -> float:
        return low + (high - low) * step / _STEPS

    return side(bisect_left(range(_STEPS), _LEAST_IN_IT, key=lambda step: note_places(
        fonts, diagram_look(layout, side(step)), puzzle.size, sum_figures(puzzle)).size))


def _least_cell(fonts: Fonts, weights: Weights, label: float, digits: int, figures: int) -> float:
    return least_cell(fonts, lambda cell: _look(weights, label, cell), digits, figures)


def _look(weights: Weights, label: float, cell: float) -> GridLook:
    return pointing(GridLook(
        cell, max(_THIN, weights.cell * 0.7), lighter_cage(weights.cage * 0.75, cell),
        max(weights.region * 0.38, min(weights.region * 0.6, 0.66)),
        max(weights.frame * 0.35, min(weights.frame * 0.45, 0.72)),
        least_label=max(LEAST_NOTE, min(label, 0.31 * cell)), digit_height=0.44))


def pointing(look: GridLook) -> GridLook:
    """A look with lines for what an argument rests on, heavier than all others of their kind. Round its frame
    the numbers of rows and columns stand.
    """
    return replace(look, house_line=1.45 * look.frame_line, cause_line=1.5 * look.cage_line, margin=False)


@dataclass(frozen=True, slots=True)
class _Drawing:
    """One picture under way, its first cell's corner at (x, y) pt and its frame's at (left, top)."""

    puzzle: Puzzle
    rules: tuple[Rule, ...]
    look: GridLook
    fonts: Fonts
    x: float
    y: float
    left: float
    top: float

    def corner(self, cell: Cell) -> Point:
        return self.look.corner(cell, self.x, self.y)

    def houses(self, argument: Argument) -> Iterator[Mark]:
        look, weight = self.look, self.look.house_line
        if self.puzzle.shape:       # as far into the cells, at the most, as notes keep clear
            weight = min(_BESIDE_BLACK * weight, 2 * look.cause_inset + look.cause_line)
        for cells in argument.areas:
            yield ringed(cells, look.cell, 0.0, self.x, self.y, weight)

    def digits(self, digits: Mapping[Cell, int], face: FaceName, letter_foot: float = 0.0) -> Iterator[Text]:
        """Digits clear of sums, and of letters that reach so far down their cells, in pt."""
        if not digits:
            return
        summed, foot = summed_cells(self.puzzle), max(letter_foot, sum_foot(self.look, self.fonts))
        given, before = {one.cell for one in self.puzzle.givens}, self.puzzle.least - 1
        for cell, digit in sorted(digits.items()):
            if cell not in given:
                clear_of = foot if cell in summed else letter_foot
                yield digit_in_cell(cell, before + digit, clear_of, self.look, self.fonts, self.x, self.y, face)

    def notes(self, places: NotePlaces, candidates: Sequence[int], cells: Collection[Cell],
              argument: Argument) -> Iterator[Mark]:
        """The notes of some cells, those crossed out that the steps strike; a rule's line ends short of them."""
        crossed = crossed_cells(self.rules)
        shades = cell_shades(self.rules, argument.concluded) if crossed else {}
        number_of = numbered(self.puzzle.cells)
        figures = self.fonts.once(_note_figures, places.size, self.puzzle.size)
        spots = [places.at(digit) for digit in range(1, self.puzzle.size + 1)]
        rows: dict[tuple[float, str], list[tuple[float, Chunks]]] = {}
        strokes: list[Line] = []
        before = self.puzzle.least - 1
        for cell in sorted(cells):
            left, top = self.corner(cell)
            struck = argument.struck.get(cell, 0)
            digits = Digits(candidates[number_of[cell]])
            if cell in crossed and digits:
                yield self._patch(places, digits, left, top, shades.get(cell, 0.0))
            for digit in digits:
                across, down = spots[digit - 1]
                figure = figures[before + digit]
                rows.setdefault((top + down, figure.face), []).append((left + across + figure.x, figure.chunks))
                if struck >> digit - 1 & 1:
                    strokes.append(self._stroke(left + across, top + down, str(before + digit), places.size))
        for (y, face), row in rows.items():
            yield Text(row[0][0], y, in_a_row(row), face, places.size)
        yield from strokes

    def _patch(self, places: NotePlaces, digits: Iterable[int], left: float, top: float, ink: float) -> Fill:
        """A patch under some notes of a cell."""
        face, before = self.fonts[FACE], self.puzzle.least - 1
        spots = [(places.at(digit), str(before + digit)) for digit in digits]
        wide = [(x - face.width(said, places.size) / 2, x + face.width(said, places.size) / 2)
                for (x, _), said in spots]
        start, end = min(x for x, _ in wide), max(x for _, x in wide)
        high, low = min(y for (_, y), _ in spots) - face.figure_height * places.size, max(y for (_, y), _ in spots)
        pad = _PAD * places.size
        return Fill((rectangle(left + start, top + high - pad, end - start, low - high + 2 * pad),), ink)

    def _stroke(self, middle: float, base: float, said: str, size: float) -> Line:
        wide, high = self.fonts[FACE].width(said, size) / 2, self.fonts[FACE].figure_height * size
        wide -= _SHY * size
        return Line(middle - wide, base, middle + wide, base - high,
                    max(_STROKE * size, self.look.cell_line))

    def letters(self, places: NotePlaces, argument: Argument, letters: Sequence[str]) -> Iterator[Text]:
        """Which step concludes something of a cell."""
        for cell, number in sorted(argument.step_of.items()):
            left, top = self.corner(cell)
            set_at, (across, down) = self.fonts.right, places.over
            if places.under and cell not in argument.found:
                set_at, (across, down) = self.fonts.left, places.under
            yield set_at(left + across, top + down, letters[number], LETTER_FACE, self.look.step_letter)

    def edges(self, name: str) -> Iterator[Text]:
        """The numbers of columns above, and of rows on the left; the picture's name where they meet."""
        size, cell = label_size(self.look), self.look.cell
        middle = (cell + self.fonts[FACE].figure_height * size) / 2
        gap = _edge_gap(self.look)
        if name:
            left = self.left - edge_room(self.look, self.puzzle.rows, self.fonts)[0]
            yield self.fonts.left(left, self.top - gap, name, LETTER_FACE, size)
        for col in range(1, self.puzzle.columns + 1):
            yield self.fonts.centre(self.x + (col - 0.5) * cell, self.top - gap, str(col), FACE, size)
        for row in range(1, self.puzzle.rows + 1):
            yield self.fonts.right(self.left - gap, self.y + (row - 1) * cell + middle, str(row), FACE, size)


def draw_steps(
    puzzle: Puzzle, rules: tuple[Rule, ...], known: Moment, steps: Sequence[Step], look: GridLook, fonts: Fonts,
    x: float, y: float, *, full: bool = False, lettered: bool = False, name: str = "",
) -> Group:
    """The grid before some steps, the corner of its frame at (x, y) pt; outside, rows and columns are numbered
    (`edge_room`).

    Cages and houses that the steps rest on are outlined heavier, cells they conclude something of are tinted. The
    digits they place are bold, and of the notes in cells that they look at those are crossed out that they strike.
    `full` shows the notes of every open cell. Where the steps are `lettered`, and few, each cell says which one
    concludes something of it. Where notes of the look's least size have no room there are neither. Its `name`, if
    any, stands where the numbers of rows and columns meet.
    """
    argument = argument_of(steps)
    drawing = _Drawing(puzzle, rules, look, fonts, *first_cell(squares_of(puzzle), look, x, y), x, y)
    grid = draw_grid(puzzle, rules, look, fonts, x, y, marked=dict.fromkeys(argument.concluded, ""),
                     causes=argument.cages)
    places = fonts.once(note_places, look, puzzle.size, sum_figures(puzzle))
    noted = places.size >= look.least_note
    lettered = lettered and noted and len(steps) <= len(LETTERS)
    cells = argument.noted(puzzle, known, full=full)
    parts: dict[str, Iterable[Mark]] = {
        "edges": in_rows(drawing.edges(name)),
        "houses": drawing.houses(argument),
        "digits": in_rows(drawing.digits(known.placed, "sans")),
        "found": drawing.digits(argument.found, "sans-semibold", places.over[1] if lettered else 0.0),
        "notes": drawing.notes(places, known.candidates, cells, argument) if noted else (),
        "letters": drawing.letters(places, argument, letters_of(steps)) if lettered else (),
    }
    groups = [Group(name, tuple(marks)) for name, marks in parts.items()]
    return Group("diagram", (grid, *(group for group in groups if group.marks)))


def _note_figures(fonts: Fonts, size: float, digits: int) -> tuple[Text, ...]:
    """Each digit, 0 too, as a note whose middle is at the origin."""
    return tuple(fonts.centre(0.0, 0.0, str(digit), FACE, size) for digit in range(digits + 1))


_FINE_LINES = (Role.LINE, Role.DOUBLE, Role.THREAD)


def crossed_cells(rules: Iterable[Rule]) -> frozenset[Cell]:
    """The cells that a rule's fine lines run through."""
    figures = [figure for rule in rules for figure in rule.figures() if figure.role in _FINE_LINES]
    lines = [line for figure in figures if isinstance(figure, Stroke) for line in pairwise(figure.points)]
    rounded = frozenset(Cell(int(figure.centre[1]) + 1, int(figure.centre[0]) + 1)
                        for figure in figures if isinstance(figure, Spot))
    return rounded | frozenset(
        Cell(int(y1 + (y2 - y1) * part / _PARTS) + 1, int(x1 + (x2 - x1) * part / _PARTS) + 1)
        for (x1, y1), (x2, y2) in lines for part in range(1, _PARTS))


def edge_room(look: GridLook, rows: int, fonts: Fonts) -> tuple[float, float]:
    """How much room the numbers of rows and columns take left of a picture's grid, and above it, in pt."""
    gap, type_size = _edge_gap(look), label_size(look)
    return fonts[FACE].width(str(rows), type_size) + gap, fonts[FACE].figure_height * type_size + gap


def _edge_gap(look: GridLook) -> float:
    return max(look.frame_line, look.house_line) / 2 + 0.045 * look.cell
