"""One puzzle as marks: tints, cell lines, region lines, frame, cages, sums, givens or answer, back to front."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from cagework.layouts.load import Layout
from cagework.solver.figure import Clue, Tint, in_answer, in_puzzle, is_tinted
from cagework.solver.model import Answer, Cage, Cell, Puzzle
from cagework.solver.rule import Rule
from cagework.typeset.draw.cages import (
    DashFit,
    borders,
    cage_fit,
    inset_ring,
    is_roomy,
    lighter_cage,
    outline,
    ringed,
    rings,
)
from cagework.typeset.draw.clues import clues, drawn_clues
from cagework.typeset.draw.rule_figures import TINTS, Place, drawn_over, drawn_under
from cagework.typeset.draw.shades import shades_apart
from cagework.typeset.draw.shown import Shown
from cagework.typeset.marks import Cap, Fill, Group, Line, Mark, Outline, Text, rectangle
from cagework.typeset.text.fonts import Fonts

_MARKED = 0.25
CLEAR = 0.5
"""White between a sum and a digit under it, in pt."""
_HAIR = 0.3
"""White between a sum and the heaviest line beside it, at the least, in pt."""
LEAST_NOTE = 5.5
"""The smallest type of a diagram, in pt."""
LEAST_CELL = 3.0
"""A cell narrower than this, in mm, holds no digit that can be read (common practice)."""
_CORNER = 1 / 8
"""The share of its cell within which a sum begins: further in it is in no corner."""
UNMARKED: Mapping[Cell, str] = MappingProxyType({})
_UNDER_SUM = 1.0
"""By so much the number of a step may be smaller than a sum, in pt."""
_LEAST_LINE = 0.25
"""Thinnest line on uncoated book paper, in pt (a book printer's published floor; a printer's own counts)."""


@dataclass(frozen=True, slots=True)
class GridLook:
    """How one grid is drawn: cell side, line weights and least sum size in pt.

    Without a sum size the cages are tinted, not outlined; `cages` says it of a grid with sums: dashed, tinted or
    both. `tints_regions` tints crooked regions beside the outlines. `least_gap` between dashes, `tinted_line` and
    the `least_note` of a diagram, all in pt, are what the paper holds. A diagram has a `house_line` round the
    houses of its argument and a `cause_line` round their cages. Numbers outside the frame stand only where they
    have a `margin`.
    """

    cell: float
    cell_line: float
    cage_line: float
    region_line: float
    frame_line: float
    least_label: float | None = 6.0
    digit_height: float = 0.46
    least_gap: float = 0.0
    tinted_line: float = 0.0
    least_note: float = LEAST_NOTE
    house_line: float = 0.0
    cause_line: float = 0.0
    tints_regions: bool = False
    cages: str = "dashed"
    margin: bool = False

    @property
    def overhang(self) -> float:
        """How far the frame's stroke reaches beyond the cells, in pt."""
        return self.frame_line / 2

    @property
    def dashes(self) -> DashFit:
        """How the cages' dashes are laid; where a gap must keep open, so must the white beside the frame."""
        inset = (self.frame_line + self.cage_line + self.least_gap) / 2 if self.least_gap else 0.0
        return cage_fit(self.cell, self.least_gap, inset)

    @property
    def step_letter(self) -> float:
        """The type of a step's letter, in pt: as small as a note may be, or by as much smaller than a sum as in
        the finest look.
        """
        return max(self.least_note, (self.least_label or 0.0) - _UNDER_SUM)

    @property
    def cause_inset(self) -> float:
        """How far from its cells' edges a cage of an argument is outlined, in pt: all that is heavier, inwards."""
        return self.dashes.inset + max(0.0, self.cause_line - self.cage_line) / 2


def puzzle_look(layout: Layout, cell: float) -> GridLook:
    """A grid to be solved in."""
    weights = layout.weights
    return GridLook(cell, weights.cell, lighter_cage(weights.cage, cell), weights.region, weights.frame,
                    least_label=layout.type.label, digit_height=0.46 if is_roomy(cell) else 0.42,
                    tints_regions=layout.regions == "tints", cages=layout.cages, margin=True)


def answer_look(layout: Layout, cell: float) -> GridLook:
    """A finished grid: lighter lines, cages as tints, no sums. With no dashes beside them, the lines of regions
    are lightened most.
    """
    def lighter(weight: float, share: float) -> float:
        return max(weight * share, _LEAST_LINE)

    weights = layout.weights
    return GridLook(cell, lighter(weights.cell, 2 / 3), lighter(weights.cage, 2 / 3),
                    lighter(weights.region, 1 / 2), lighter(weights.frame, 1 / 2), least_label=None,
                    digit_height=0.42)


def draw_grid(
    puzzle: Puzzle, rules: Collection[Rule], look: GridLook, fonts: Fonts, x: float, y: float,
    answer: Answer | None = None, marked: Mapping[Cell, str] = UNMARKED, causes: Collection[Cage] = (),
    shows: Shown | None = None,
) -> Group:
    """A puzzle with its top-left corner at (x, y) pt; with `answer`, every digit in place of the givens.

    `marked` cells are tinted, and carry a few small figures; the cages that are `causes` have a solid outline.
    """
    summed = look.least_label is not None
    figures = tuple(figure for rule in rules for figure in rule.figures())
    given = [one.cell for one in puzzle.givens]
    figures = in_puzzle(figures, given) if summed else in_answer(figures)
    tints = tuple(figure for figure in figures if isinstance(figure, Tint))
    fine = max(look.cell_line * 1.6, look.tinted_line)
    place = Place(x, y, look.cell, fine, max(look.cage_line * 1.2, fine))
    lines = tuple(drawn_over(figures, place))
    side = puzzle.size * look.cell
    outlined, shaded = cages_shown(puzzle, look, taken=bool(marked) or is_tinted(figures))
    apart = told_apart(puzzle, cages=shaded, regions=look.tints_regions and not is_tinted(figures))
    inks = shades_apart(apart)
    shade = {cell: ink for cells, ink in zip(apart, inks, strict=True) for cell in cells}
    shade |= cell_shades(rules, marked)
    parts: list[Mark] = [
        Group("tints", (*_part_tints(apart, inks, look, x, y), *_tints(tints, look, x, y))),
        Group("marked", tuple(_cell_tints(marked, _MARKED, look, x, y))),
        Group("under", tuple(drawn_under(figures, place))),
        Group("cells", tuple(cell_lines(puzzle.size, look, x, y))),
        Group("regions", tuple(region_lines(puzzle, look, x, y))),
        Outline((rectangle(x, y, side, side),), look.frame_line),
    ]
    if outlined:
        fit = look.dashes
        parts.append(Group("cages", tuple(
            outline(cage.cells, look.cell, fit, x, y, look.cage_line)
            for cage in puzzle.cages if cage not in causes
        )))
        parts.append(Group("causes", tuple(
            ringed(cage.cells, look.cell, look.cause_inset, x, y, look.cause_line) for cage in causes
        )))
    if summed:
        partly = any(not isinstance(figure, Tint | Clue) for figure in figures) and is_tinted(figures)
        under, sums = _labels(puzzle.cages, shade, look, fonts, x, y, bent=partly)
        parts += [Group("knock-outs", under if outlined else ()), Group("figures", lines), Group("sums", sums)]
    else:
        parts.append(Group("figures", lines))
    if answer is not None:
        parts.append(Group("answer", tuple(
            _digit(cell, answer.at(cell), look, fonts, x, y, "sans") for cell in puzzle.cells
        )))
    else:
        foot = dict.fromkeys(summed_cells(puzzle), sum_foot(look, fonts)) if summed else {}
        parts.append(Group("givens", tuple(
            digit_in_cell(given.cell, given.digit, foot.get(given.cell, 0.0), look, fonts, x, y, "sans-semibold")
            for given in puzzle.givens
        )))
    outside = clues(rules) if look.margin else ()
    parts.append(Group("outside", tuple(drawn_clues(outside, puzzle.size, place, look.least_label or 0.0, fonts))))
    parts.append(Group("notes", tuple(
        figures_in_cell(cell, text, 0.27, look, fonts, x, y, "sans") for cell, text in marked.items() if text
    )))
    return Group("grid", tuple(part for part in parts if not isinstance(part, Group) or part.marks), shows=shows)


def cell_shades(rules: Iterable[Rule], marked: Iterable[Cell]) -> dict[Cell, float]:
    """The ink of the cells that a rule or a mark tints."""
    tints = (figure for rule in rules for figure in rule.figures() if isinstance(figure, Tint))
    shades = {cell: TINTS[tint.role] for tint in tints for cell in tint.cells}
    return shades | dict.fromkeys(marked, _MARKED)


def _tints(tints: Iterable[Tint], look: GridLook, x: float, y: float) -> Iterator[Fill]:
    for tint in tints:
        yield from _cell_tints(tint.cells, TINTS[tint.role], look, x, y)


def _cell_tints(cells: Iterable[Cell], ink: float, look: GridLook, x: float, y: float) -> Iterator[Fill]:
    for cell in cells:
        left, top = _corner(cell, look, x, y)
        yield Fill((rectangle(left, top, look.cell, look.cell),), ink)


def cages_shown(puzzle: Puzzle, look: GridLook, *, taken: bool) -> tuple[bool, bool]:
    """Whether cages have outlines, and whether they have tints. Where tints are `taken`, and mean something else,
    they have outlines alone; where cells are in no cage, which tints would not say, they have outlines too.
    """
    if look.least_label is None:
        return False, True
    if taken or look.cages == "dashed":
        return True, False
    caged = sum(len(cage.cells) for cage in puzzle.cages) == puzzle.size**2
    return look.cages == "both" or not caged, True


def told_apart(puzzle: Puzzle, *, cages: bool, regions: bool) -> tuple[tuple[Cell, ...], ...]:
    """What a grid tells apart by tints: its cages, or its crooked regions."""
    if cages:
        return tuple(cage.cells for cage in puzzle.cages)
    return puzzle.own_regions if regions else ()


def _part_tints(
    parts: Sequence[tuple[Cell, ...]], inks: Sequence[float], look: GridLook, x: float, y: float,
) -> Iterator[Fill]:
    for cells, ink in zip(parts, inks, strict=True):
        if ink:
            yield Fill(tuple(inset_ring(ring, look.cell, 0.0, x, y) for ring in rings(cells)), ink)


def cell_lines(size: int, look: GridLook, x: float, y: float) -> Iterator[Line]:
    """The fine lines between cells."""
    end = size * look.cell
    for n in range(1, size):
        at = n * look.cell
        yield Line(x, y + at, x + end, y + at, look.cell_line)
        yield Line(x + at, y, x + at, y + end, look.cell_line)


def region_lines(puzzle: Puzzle, look: GridLook, x: float, y: float) -> Iterator[Line]:
    """The borders between regions, each straight run one line, ends squared so that corners fill."""
    for left, top, right, low in borders(puzzle.size, tuple([region.cells for region in puzzle.regions])):
        yield Line(x + left * look.cell, y + top * look.cell, x + right * look.cell, y + low * look.cell,
                   look.region_line, cap=Cap.SQUARE)


def _labels(
    cages: Iterable[Cage], shade: dict[Cell, float], look: GridLook, fonts: Fonts, x: float, y: float, *,
    bent: bool,
) -> tuple[tuple[Mark, ...], tuple[Mark, ...]]:
    """The knock-outs under all sums, `bent` as the outlines are where tints lie within cells, then the sums."""
    fit = look.dashes
    labels = [cage_label(cage, shade.get(cage.first, 0.0), look, fit, fonts, x, y, bent=bent)
              for cage in cages if cage.total is not None]
    return tuple(under for under, _ in labels), tuple(text for _, text in labels)


def label_size(look: GridLook) -> float:
    """The type size of the sums, in pt: in proportion to the cell, never under the layout's least."""
    return max(look.least_label or 0.0, 0.235 * look.cell)


def cage_label(
    cage: Cage, shade: float, look: GridLook, fit: DashFit, fonts: Fonts, x: float, y: float, *,
    bent: bool = False,
) -> tuple[Fill, Text]:
    """A sum, its ink where the outline's corner would be, over a patch that ends in the middle of a gap."""
    label = fonts.once(_label, str(cage.total), look, fit)
    left, top = _corner(cage.first, look, x, y)
    ring = rectangle(left + label.clear, top + label.clear, label.width, label.height)
    if bent:
        (x0, y0), _, (x1, y1), _ = ring
        within = fit.inset + look.cage_line / 2 + _HAIR
        inner_x, inner_y = left + within, top + within
        ring = ((x0, y0), (x1, y0), (x1, inner_y), (inner_x, inner_y), (inner_x, y1), (x0, y1))
    patch = Fill((ring,), shade)
    return patch, Text(left + label.inset - label.bearing, top + label.inset + label.rise, label.chunks,
                       label.face, label.size)


@dataclass(frozen=True, slots=True)
class _Label:
    """A sum in its cell, in pt: a patch `clear` of the edges, and the text, its ink `inset` and `rise` high."""

    clear: float
    width: float
    height: float
    inset: float
    bearing: float
    rise: float
    chunks: tuple[tuple[float, str], ...]
    face: str
    size: float


def _label(fonts: Fonts, text: str, look: GridLook, fit: DashFit) -> _Label:
    face, size = fonts["sans-semibold"], label_size(look)
    ink = face.bounds(text, size)
    inset = _sum_inset(look)
    rise = face.figure_height * size
    clear = max(look.region_line, look.frame_line) / 2 + 0.1
    pad = 0.3 * fit.pitch
    right = fit.clear_of(inset + ink.right - ink.left + pad)
    bottom = fit.clear_of(inset + rise + pad)
    return _Label(clear, right - clear, bottom - clear, inset, ink.left, rise, face.chunks(text, size), face.name,
                  size)


def _sum_inset(look: GridLook) -> float:
    """How far from the top and left of its cell a sum stands, in pt: in its cage's corner, clear of all lines."""
    return max(look.dashes.inset - look.cage_line / 2, max(look.frame_line, look.house_line) / 2 + _HAIR)


def sum_foot(look: GridLook, fonts: Fonts) -> float:
    """How far below the top of its cell a sum ends, in pt."""
    return _sum_inset(look) + fonts["sans-semibold"].figure_height * label_size(look)


def sum_figures(puzzle: Puzzle) -> int:
    """How many figures the longest sum of a puzzle has; 0 where no cage has one."""
    return max((len(str(cage.total)) for cage in puzzle.cages if cage.total is not None), default=0)


def sum_end(look: GridLook, fonts: Fonts, figures: int) -> float:
    """How far from the left of its cell a sum of so many figures ends, in pt."""
    ink = fonts["sans-semibold"].bounds("4" * figures, label_size(look))    # the widest figure
    return _sum_inset(look) + ink.right - ink.left


def sums_have_room(puzzle: Puzzle, look: GridLook, fonts: Fonts) -> bool:
    """Whether sums begin in the corners of their cells and end within them, and givens have room under them."""
    figures = sum_figures(puzzle)
    given = not summed_cells(puzzle).isdisjoint(given.cell for given in puzzle.givens)
    under = CLEAR + look.digit_height * look.cell if given else 0.0
    return not figures or (_sum_inset(look) <= _CORNER * look.cell and sum_end(look, fonts, figures) <= look.cell
                           and sum_foot(look, fonts) + under <= look.cell)


def summed_cells(puzzle: Puzzle) -> frozenset[Cell]:
    """The cells that have a sum in their corner."""
    return frozenset(cage.first for cage in puzzle.cages if cage.total is not None)


def digit_in_cell(
    cell: Cell, digit: int, foot: float, look: GridLook, fonts: Fonts, x: float, y: float, name: str,
) -> Text:
    """A digit in the middle of its cell, or lower, clear of what reaches `foot` pt down from the cell's top."""
    text = _digit(cell, digit, look, fonts, x, y, name)
    top = (1 - look.digit_height) / 2 * look.cell
    return text._replace(y=text.y + max(0.0, foot + CLEAR - top)) if foot else text


def _digit(cell: Cell, digit: int, look: GridLook, fonts: Fonts, x: float, y: float, name: str) -> Text:
    return figures_in_cell(cell, str(digit), look.digit_height, look, fonts, x, y, name)


def digit_size(digit: int, look: GridLook, fonts: Fonts) -> float:
    """The type size of a digit in the middle of its cell, in pt."""
    _, _, size, _ = fonts.once(_centred, str(digit), look.digit_height, look.cell, "sans")
    return size


def figures_in_cell(
    cell: Cell, text: str, height: float, look: GridLook, fonts: Fonts, x: float, y: float, name: str,
) -> Text:
    """Figures `height` of a cell high, their ink centred across the cell, their flat height centred down it."""
    across, down, size, chunks = fonts.once(_centred, text, height, look.cell, name)
    left, top = _corner(cell, look, x, y)
    return Text(left + across, top + down, chunks, name, size)


def _centred(
    fonts: Fonts, text: str, height: float, cell: float, name: str,
) -> tuple[float, float, float, tuple[tuple[float, str], ...]]:
    """Where figures stand in their cell (pt from its corner), their size, and their chunks."""
    face = fonts[name]
    size = height * cell / face.figure_height
    ink = face.bounds(text, size)
    widest = 0.74 * cell
    if ink.right - ink.left > widest:
        size *= widest / (ink.right - ink.left)
        ink = face.bounds(text, size)
    across, down = (cell - ink.left - ink.right) / 2, (cell + face.figure_height * size) / 2
    return across, down, size, face.chunks(text, size)


def _corner(cell: Cell, look: GridLook, x: float, y: float) -> tuple[float, float]:
    return x + (cell.col - 1) * look.cell, y + (cell.row - 1) * look.cell
