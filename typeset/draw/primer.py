"""How to solve: the rules in words and pictures, a small grid and its answer, the sums that leave no choice."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from cagework.solver.combine import combinations, digits_of, sum_range
from cagework.solver.crossing import crossing_sums
from cagework.solver.model import Answer, Cage, Cell, HouseKind, Puzzle, Shape, grid_cells, standard_houses
from cagework.solver.reasoning.reason import Reach
from cagework.typeset.draw.column import Piece, heading, paragraph, solid, whole_lines
from cagework.typeset.draw.describe import describe_grid, digits_met, figure, run_in_words
from cagework.typeset.draw.grid import draw_grid
from cagework.typeset.draw.look import answer_look, puzzle_look
from cagework.typeset.draw.rule_pictures import rule_pieces
from cagework.typeset.draw.setting import PageNumbers, Setting
from cagework.typeset.draw.shown import GridKind, Shown
from cagework.typeset.entry import Entry
from cagework.typeset.marks import MM, Line, Mark

_EXAMPLE_CAGES = (
    (7, "r1c1 r1c2 r2c2"), (6, "r1c3 r2c3"), (6, "r1c4 r2c4 r3c4"), (8, "r2c1 r3c1 r4c1"), (4, "r3c2 r3c3"),
    (9, "r4c2 r4c3 r4c4"),
)
_EXAMPLE_ANSWER = "2143342143121234"
_TABLE_COLUMNS = 2

_SMALL = 6
"""Grids of no more digits than this have short tables, so that each size has its own."""


def example(*, regions: bool = True) -> tuple[Puzzle, Answer]:
    """The primer's 4 x 4 puzzle, with regions or without, and its only answer."""
    cages = tuple(
        Cage(tuple(sorted(Cell.parse(name) for name in cells.split())), total) for total, cells in _EXAMPLE_CAGES
    )
    houses = [house for house in standard_houses(4) if regions or house.kind is not HouseKind.REGION]
    return (Puzzle(4, tuple(houses), tuple(sorted(cages, key=lambda cage: cage.first))),
            Answer(4, tuple(int(digit) for digit in _EXAMPLE_ANSWER)))


def fixed_sums(run: range) -> tuple[tuple[int, int, tuple[int, ...]], ...]:
    """(cells, sum, digits) for every sum that only one set of these digits makes, of two and up to all but one."""
    size, before = len(run), run[0] - 1
    return tuple(
        (count, before * count + total, tuple([before + digit for digit in digits_of(found[0])]))
        for count in range(2, size)
        for total in range(sum_range(size, count)[0], sum_range(size, count)[1] + 1)
        if len(found := combinations(size, count, total)) == 1
    )


def crossing_example() -> tuple[Puzzle, Answer]:
    """The primer's crossing sums and their only answer."""
    shape = Shape(3, 3, tuple(cell for cell in grid_cells(3) if cell not in (Cell(1, 1), Cell(3, 3))))
    puzzle = crossing_sums(shape, (16, 8, 4), (5, 15, 8))
    return puzzle, puzzle.answer((9, 7, 2, 5, 1, 3, 1))


def primer_pieces(setting: Setting) -> tuple[Piece, ...]:
    """The how-to-solve matter as a column."""
    words, measure, kind = setting.words, setting.measure, setting.layout.type
    caged = [entry for entry in setting.book.entries if entry.puzzle.shape is None]
    pieces = [heading(setting, words.how, measure, kind.heading, 0, kind.heading * 0.7, line=kind.leading)]
    if caged:
        pieces += _caged(setting, caged)
    if any(entry.puzzle.shape for entry in setting.book.entries):
        pieces += _crossing(setting, alone=not caged)
    pieces.extend(_sums(setting, _tabled(digits_met([entry.puzzle for entry in setting.book.entries]))))
    return tuple(pieces)


def _tabled(runs: Sequence[range]) -> list[range]:
    """The digits whose fixed sums are listed: where all grids are small those of each size, else the most, though
    no more than nine where there are such; of equally many the higher.
    """
    if all(len(run) <= _SMALL for run in runs):
        return list(runs)
    return [max([run for run in runs if len(run) <= 9] or runs, key=lambda run: (
        len(run) if len(run) <= 9 else 0, run[0]))]


def _goal(setting: Setting) -> Piece:
    whole = all(entry.reach is Reach.WHOLE for entry in setting.book.entries)
    words = setting.words
    return paragraph(setting, words.no_guessing if whole else words.one_answer, setting.measure, indent=True)


def _crossing(setting: Setting, *, alone: bool) -> Iterator[Piece]:
    """How to solve crossing sums, which may be all that the book has."""
    words, measure = setting.words, setting.measure
    yield paragraph(setting, words.crossing, measure, indent=not alone, before=0.0 if alone else setting.line)
    if alone:
        yield _goal(setting)
    yield paragraph(setting, words.crossing_lead, measure, indent=True, keep=True)
    yield _example(setting, *crossing_example())
    yield paragraph(setting, words.crossing_steps, measure, indent=True)


def digits_named(puzzles: Iterable[Puzzle]) -> list[range]:
    """The digits of some puzzles that the size of a grid tells; that some run from 0, where others do not, is for
    a rule to say.
    """
    met = digits_met(puzzles)
    return [run for run in met if run[0] == 1] or met


def _caged(setting: Setting, entries: Sequence[Entry]) -> list[Piece]:
    """How to solve puzzles with cages."""
    words, measure = setting.words, setting.measure
    runs = digits_named([entry.puzzle for entry in entries])
    ranges = words.listed([run_in_words(run, words) for run in runs], setting.book.language)
    digits = (words.digits if len(runs) == 1 else words.digits_by_size).format(range=ranges, ranges=ranges)
    book = setting.book
    bounded = {bool(entry.puzzle.regions) for entry in entries}
    houses = words.houses_some_regions if len(bounded) > 1 else (
        words.houses if True in bounded else words.houses_without_regions)
    tinted = any(book.layout_in(section).cages == "tinted" for section in book.sections)
    pieces = [
        paragraph(setting, f"{houses} {digits}", measure),
        paragraph(setting, words.cages_tinted if tinted else words.cages, measure, indent=True),
        _goal(setting),
        paragraph(setting, words.example_lead, measure, indent=True, keep=True),
        _example(setting, *example(regions=True in bounded)),
        paragraph(setting, words.example_steps, measure, indent=True),
    ]
    if range(1, 10) in runs:
        forty_five = words.forty_five if True in bounded else words.forty_five_without_regions
        pieces.append(paragraph(setting, forty_five, measure, indent=True))
    if any(entry.rules for entry in entries):
        pieces.append(paragraph(setting, words.extra, measure, indent=True, keep=True))
        pieces.extend(rule_pieces(setting))
    return pieces


def _example(setting: Setting, puzzle: Puzzle, answer: Answer) -> Piece:
    """A puzzle four squares wide and high, and its answer beside it."""
    width = setting.measure
    least = setting.layout.type.label * 3.6
    cell = min(max(11 * MM, least), width / 9.5)
    look, solved = puzzle_look(setting.layout, cell), answer_look(setting.layout, cell)
    side, gap = 4 * cell, 1.2 * cell
    line = setting.layout.type.leading
    high = whole_lines(side + line * 0.8, line)
    pad = (high - side) / 2

    def draw(_pages: PageNumbers, x: float, y: float) -> tuple[Mark, ...]:
        left = x + (width - 2 * side - gap) / 2
        said, words, sentences = "how to solve", setting.words.described, setting.sentences
        shown = draw_grid(puzzle, (), look, setting.fonts, left, y + pad,
                          shows=Shown(GridKind.PUZZLE, said, puzzle, answer=answer, in_book=False))
        low = y + pad + side - puzzle.rows * cell
        filled = draw_grid(puzzle, (), solved, setting.fonts, left + side + gap, low, answer,
                           shows=Shown(GridKind.ANSWER, said, puzzle, answer=answer, in_book=False))
        return (figure(shown, describe_grid(puzzle, words, sentences)),
                figure(filled, describe_grid(puzzle, words, sentences, answer)))

    return solid(high, draw, tag=None)


def _sums(setting: Setting, runs: Sequence[range]) -> Iterator[Piece]:
    """The tables of fixed sums, one for each run of digits."""
    words, measure, kind = setting.words, setting.measure, setting.layout.type
    yield heading(setting, words.sums, measure, kind.heading * 0.8, kind.leading, kind.heading * 0.4,
                  line=kind.leading)
    for number, run in enumerate(runs):
        lead = words.sums_lead if number == 0 else words.sums_next
        yield paragraph(setting, lead.format(range=run_in_words(run, words)), measure, keep=True,
                        before=kind.leading if number else 0.0)
        yield _table(setting, run)


def _table(setting: Setting, run: range) -> Piece:
    """The table of fixed sums, counts of cells down two columns."""
    measure, kind = setting.measure, setting.layout.type
    counts = [
        [(total, digits) for cells, total, digits in fixed_sums(run) if cells == count]
        for count in range(2, len(run))
    ]
    half = (len(counts) + 1) // _TABLE_COLUMNS
    columns = [counts[:half], counts[half:]]
    rows = max(sum(len(group) + 1 for group in column) for column in columns)
    leading = kind.leading
    height = whole_lines(rows * leading + half * leading * 0.35, leading)

    def draw(_pages: PageNumbers, x: float, y: float) -> tuple[Mark, ...]:
        marks: list[Mark] = []
        width = (measure - kind.body * 2) / 2
        for index, column in enumerate(columns):
            left = x + index * (width + kind.body * 2)
            marks.extend(_sum_column(setting, column, 2 + index * half, left, y, width))
        return tuple(marks)

    return solid(height, draw)


def _sum_column(
    setting: Setting, groups: list[list[tuple[int, tuple[int, ...]]]], first: int, x: float, y: float,
    width: float,
) -> list[Mark]:
    kind, fonts = setting.layout.type, setting.fonts
    marks: list[Mark] = []
    tab = fonts.measure("000", "sans-semibold", kind.body) + kind.body
    for offset, group in enumerate(groups):
        y += kind.leading * (1.0 if offset == 0 else 1.35)
        marks.append(fonts.left(x, y, setting.words.sums_cells.format(count=first + offset), "sans", kind.small))
        marks.append(Line(x, y + kind.leading * 0.28, x + width, y + kind.leading * 0.28, 0.5))
        for total, digits in group:
            y += kind.leading
            marks.append(fonts.right(x + tab - kind.body * 0.8, y, str(total), "sans-semibold", kind.body))
            shown = "".join(str(digit) for digit in digits)
            marks.append(fonts.left(x + tab, y, shown, "sans", kind.body, tracking=kind.body * 0.16))
    return marks
