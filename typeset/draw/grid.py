"""One puzzle as marks: tints, cell lines, region lines, frame, cages, sums, givens or answer, back to front."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from types import MappingProxyType

from cagework.solver.figure import Clue, Tint, in_answer, in_puzzle, is_tinted
from cagework.solver.model import Answer, Cage, Cell, Puzzle
from cagework.solver.rule import Rule
from cagework.typeset.draw.cages import borders, inset_ring, outline, ringed, rings
from cagework.typeset.draw.clues import clues, drawn_clues
from cagework.typeset.draw.crossing import black_squares, run_sums
from cagework.typeset.draw.labels import CLEAR, SumLabels, cage_label, sum_foot, summed_cells
from cagework.typeset.draw.look import GridLook
from cagework.typeset.draw.rule_figures import TINTS, Place, drawn_over, drawn_under
from cagework.typeset.draw.shades import shades_apart
from cagework.typeset.draw.shown import Shown
from cagework.typeset.draw.squares import Squares, squares_of
from cagework.typeset.marks import Cap, Fill, Group, Line, Mark, Outline, Point, Ring, Text, rectangle
from cagework.typeset.text.fonts import Fonts

_MARKED = 0.25
UNMARKED: Mapping[Cell, str] = MappingProxyType({})


def draw_grid(
    puzzle: Puzzle, rules: Collection[Rule], look: GridLook, fonts: Fonts, x: float, y: float,
    answer: Answer | None = None, marked: Mapping[Cell, str] = UNMARKED, causes: Collection[Cage] = (),
    shows: Shown | None = None,
) -> Group:
    """A puzzle, the corner of its frame at (x, y) pt; with `answer`, every digit in place of the givens.

    `marked` cells are tinted, and carry a few small figures; the cages that are `causes` have a solid outline.
    """
    squares = squares_of(puzzle, summed=look.summed)
    frame = rectangle(x, y, squares.across * look.cell, squares.down * look.cell)
    x, y = first_cell(squares, look, x, y)
    figures = tuple(figure for rule in rules for figure in rule.figures())
    given = [one.cell for one in puzzle.givens]
    figures = in_puzzle(figures, given) if look.summed else in_answer(figures)
    tints = tuple(figure for figure in figures if isinstance(figure, Tint))
    fine = max(look.cell_line * 1.6, look.tinted_line)
    place = Place(x, y, look.cell, fine, max(look.cage_line * 1.2, fine))
    lines = tuple(drawn_over(figures, place))
    outlined, shaded = cages_shown(puzzle, look, taken=bool(marked) or is_tinted(figures))
    apart = told_apart(puzzle, cages=shaded, regions=look.tints_regions and not is_tinted(figures))
    inks = shades_apart(apart)
    shade = {cell: ink for cells, ink in zip(apart, inks, strict=True) for cell in cells}
    shade |= cell_shades(rules, marked)
    parts: list[Mark] = [
        Group("tints", (*_part_tints(apart, inks, look, x, y), *_tints(tints, look, x, y))),
        Group("marked", tuple(_cell_tints(marked, _MARKED, look, x, y))),
        Group("under", tuple(drawn_under(figures, place))),
        Group("squares", tuple(black_squares(puzzle, look, x, y)) if puzzle.shape else ()),
        Group("cells", tuple(cell_lines(frame, squares, look))),
        Group("regions", tuple(region_lines(puzzle, look, x, y))),
        Outline((frame,), look.frame_line),
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
    if puzzle.shape and look.summed:
        parts += [Group("figures", lines), Group("run-sums", tuple(run_sums(puzzle, look, fonts, x, y)))]
    elif look.summed:
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
        foot = dict.fromkeys(summed_cells(puzzle), sum_foot(look, fonts)) if given and look.summed else {}
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
        left, top = look.corner(cell, x, y)
        yield Fill((rectangle(left, top, look.cell, look.cell),), ink)


def cages_shown(puzzle: Puzzle, look: GridLook, *, taken: bool) -> tuple[bool, bool]:
    """Whether cages have outlines, and whether they have tints. Where tints are `taken`, and mean something else,
    they have outlines alone; where cells are in no cage, which tints would not say, they have outlines too. Runs
    end at black squares, and need neither.
    """
    if puzzle.shape is not None:
        return False, False
    if not look.summed:
        return False, True
    if taken or look.cages == "dashed":
        return True, False
    caged = sum(len(cage.cells) for cage in puzzle.cages) == len(puzzle.cells)
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


def first_cell(squares: Squares, look: GridLook, x: float, y: float) -> Point:
    """The top left of the cell r1c1 of a grid whose frame has its corner at (x, y) pt."""
    return x + (1 - squares.left) * look.cell, y + (1 - squares.top) * look.cell


def cell_lines(frame: Ring, squares: Squares, look: GridLook) -> Iterator[Line]:
    """The fine lines between cells, from side to side of the frame."""
    (left, top), _, (right, low), _ = frame
    for n in range(1, max(squares.down, squares.across)):
        at = n * look.cell
        if n < squares.down:
            yield Line(left, top + at, right, top + at, look.cell_line)
        if n < squares.across:
            yield Line(left + at, top, left + at, low, look.cell_line)


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
    labels = fonts.once(SumLabels, look, look.dashes)
    made = [cage_label(cage, shade.get(cage.first, 0.0), labels, x, y, bent=bent)
            for cage in cages if cage.total is not None]
    return tuple(under for under, _ in made), tuple(text for _, text in made)


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
    left, top = look.corner(cell, x, y)
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
