"""The parts of a slot as pieces: what each looks like at a given tightness."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

from cagework.layouts.column import Beside, Each, Element, Item, Row, elements_of
from cagework.solver.reasoning.grade import Grade
from cagework.solver.reasoning.reason import told_apart
from cagework.typeset.columns.issue import Earlier, Issue, ProvedPuzzle
from cagework.typeset.columns.norms import (
    LeastCells,
    answer_look,
    grid_look,
    least_answer_cell,
    limits_of,
    step_look,
    weights_of,
)
from cagework.typeset.columns.pieces import ColumnPiece, kept_high, side_by_side, solid, stacked, upside_down
from cagework.typeset.draw.clues import margin, outer_cells
from cagework.typeset.draw.diagram import draw_steps, edge_room
from cagework.typeset.draw.furniture import grade_mark, grade_width
from cagework.typeset.draw.grid import draw_grid
from cagework.typeset.draw.squares import squares_of
from cagework.typeset.marks import MM, Fill, Mark, rectangle
from cagework.typeset.solving.worked import moments
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.text.paragraph import SetLine, Style, set_paragraph

_LEADING = 1.2
HEAD, BODY, _BOLD = "serif-semibold", "sans", "sans-semibold"   # thin serifs do not survive coarse paper
_ROOMY = 1.15
"""A diagram's cells as wished, times the least that hold notes."""
EDGE = 0.5 * MM
"""White kept inside a slot's edges, in pt: what touches an edge may be clipped where the file is placed."""


@lru_cache(maxsize=256)
def _set_lines(text: str, style: Style, width: float, fonts: Fonts) -> tuple[SetLine, ...]:
    """A paragraph's lines: fitting tries the same ones again and again, and the rules are those of every date."""
    return set_paragraph(text, style, width, fonts)


@dataclass(frozen=True, slots=True)
class Tightness:
    """Which parts are left out, and how near all else is to the least the paper holds (0 as wished, 1 at it)."""

    squeeze: float
    dropped: frozenset[Element]

    def between(self, wished: float, least: float) -> float:
        """A size in pt between the one wished and the least."""
        return wished if wished <= least else wished + (least - wished) * self.squeeze


Where = tuple[int, ...]
"""A stack in a slot's design: which items, from the outermost in, it lies within."""


@dataclass(frozen=True, slots=True)
class Fixed:
    """What is alike on all dates: how tight all is down to the grids, and the heights over them in pt by stack."""

    squeeze: float
    heights: Mapping[Where, float]


class ColumnMatter:
    """Makes one issue's pieces: of one tightness, but for what is `fixed`. `over` is how high what stands over
    its grids is by itself.
    """

    def __init__(
        self, issue: Issue, tightness: Tightness, fonts: Fonts, least_cells: LeastCells,
        fixed: Fixed | None = None,
    ) -> None:
        self._issue, self._tight, self._fonts, self._least_cells = issue, tightness, fonts, least_cells
        self._heights = fixed.heights if fixed else {}
        self._down_to_grid = self if fixed is None else ColumnMatter(
            issue, Tightness(fixed.squeeze, tightness.dropped), fonts, least_cells)
        self.over: dict[Where, float] = {}
        self._design = issue.slot.design
        self._words = issue.phrases.words
        wished, least = self._design.type, limits_of(self._design).type
        self._heading = tightness.between(wished.heading, max(least, 0.6 * wished.heading))
        self._title = tightness.between(wished.title, least)
        self._text = tightness.between(wished.text, least)
        self._small = tightness.between(wished.small, least)
        self._gap = tightness.between(0.9 * wished.text, 0.5 * least)

    def whole(self) -> ColumnPiece:
        """All the slot carries, in order, but for what is dropped."""
        width = self._design.width * MM - 2 * EDGE
        return stacked(tuple(self._items(self._design.carries, width, self._design.columns, self._issue.puzzles)))

    def _items(
        self, items: Sequence[Item], width: float, columns: int, puzzles: Sequence[ProvedPuzzle],
        where: Where = (),
    ) -> Iterator[ColumnPiece]:
        """What stands over a grid, and the grid, are as fixed; what comes after yields."""
        grid = next((number for number, item in enumerate(items) if Element.GRID in elements_of(item)), 0)
        if grid:
            top = self._down_to_grid
            over = stacked([one for number, item in enumerate(items[:grid])
                            for one in top._item(item, width, columns, puzzles, (*where, number))])
            self.over[where] = max(over.height, self.over.get(where, 0.0))
            yield kept_high(over, self._heights.get(where, 0.0))
        for number, item in enumerate(items[grid:], grid):
            yield from self._item(item, width, columns, puzzles, (*where, number))

    def _item(
        self, item: Item, width: float, columns: int, puzzles: Sequence[ProvedPuzzle], where: Where,
    ) -> Iterator[ColumnPiece]:
        has_grid = Element.GRID in elements_of(item)
        top = self._down_to_grid if has_grid else self
        match item:
            case Row():
                for number, piece in enumerate(top._row(item.parts, width, puzzles)):
                    yield replace(piece, kept=has_grid and number == 0)
            case Each():
                for one in puzzles:
                    pieces = tuple(self._items(item.carries, width, columns, (one,), where))
                    yield replace(stacked(pieces, 1.6 * top._gap), kept=has_grid)
            case Beside():
                for piece in self._beside(item, width, columns, puzzles, where):
                    yield replace(piece, before=top._gap, kept=has_grid)

    def _beside(
        self, item: Beside, width: float, columns: int, puzzles: Sequence[ProvedPuzzle], where: Where,
    ) -> Iterator[ColumnPiece]:
        gutter = self._design.gutter * MM
        column = (width - (columns - 1) * gutter) / columns
        placed, at = [], 0.0
        for number, stack in enumerate(item.stacks):
            wide = stack.columns * column + (stack.columns - 1) * gutter
            pieces = tuple(self._items(stack.carries, wide, stack.columns, puzzles, (*where, number)))
            if pieces:
                placed.append((at, stacked(pieces)))
            at += wide + gutter
        if placed:
            yield side_by_side(placed, self._gap)

    def _row(
        self, parts: Sequence[Element], width: float, puzzles: Sequence[ProvedPuzzle],
    ) -> Iterator[ColumnPiece]:
        kept = [part for part in parts if part not in self._tight.dropped]
        if len(parts) == 1 and parts[0] in _SOLID:
            if kept:
                yield from _SOLID[parts[0]](self, width, puzzles)
            if parts[0] is Element.GRID and not self._rules_say_all and (own := self._issue.own_rules(puzzles[0])):
                yield self._prose(own, width)
            return
        said = [one for part in kept for one in self._said(part, puzzles)]
        if said:
            yield self._line(said, width)

    @property
    def _rules_say_all(self) -> bool:
        """Whether the rules line goes on to the puzzle's own rules; else they stand under its grid."""
        standing = Element.RULES in set(self._design.parts) - self._tight.dropped
        return standing and self._design.puzzles == 1

    # one line: title, number, date, grade, credit

    def _said(self, part: Element, puzzles: Sequence[ProvedPuzzle]) -> Iterator[_Said]:
        entry = puzzles[0].entry
        match part:
            case Element.TITLE if entry.title:
                yield _Said((entry.title,), HEAD, self._title)
            case Element.NUMBER:
                number = self._words.columns.number.format(number=self._issue.day.number)
                yield _Said((number,), _BOLD, self._small)
            case Element.DATE:
                date = self._issue.day.date
                yield _Said((self._issue.phrases.date(date), self._issue.phrases.date(date, short=True)), BODY,
                            self._small)
            case Element.GRADE if entry.grade:
                yield _Said((self._words.grades[entry.grade],), BODY, self._small, entry.grade)
            case Element.CREDIT if entry.by:
                yield _Said((self._words.by.format(name=entry.by),), BODY, self._small)

    def _line(self, said: Sequence[_Said], width: float) -> ColumnPiece:
        """All on one line where there is room, the last ranged right; else one under the other."""
        for shortest in (False, True):
            widths = [one.width(self._fonts, shortest) for one in said]
            if sum(widths) + (len(said) - 1) * self._small <= width:
                return self._one_line(said, widths, width, shortest)
        if len(said) > 1:
            return stacked(tuple(self._line([one], width) for one in said), 0.6 * self._gap)
        return self._set((said[0].texts[-1], said[0].face, said[0].size), width)

    def _one_line(
        self, said: Sequence[_Said], widths: Sequence[float], width: float, shortest: bool,
    ) -> ColumnPiece:
        size = max(one.size for one in said)

        def draw(x: float, y: float) -> tuple[Mark, ...]:
            marks: list[Mark] = []
            at, base = x, y + 0.8 * size
            for number, (one, wide) in enumerate(zip(said, widths, strict=True)):
                last = number == len(said) - 1 and number > 0
                marks += one.marks(self._fonts, x + width - wide if last else at, base, shortest)
                at += wide + self._small
            return tuple(marks)

        return solid(size, draw, 0.6 * self._gap)

    # running text

    def _style(self, size: float) -> Style:
        return Style(BODY, _BOLD, size, _LEADING * size, False, self._issue.phrases.language)

    def _prose(self, text: str, width: float) -> ColumnPiece:
        lines = _set_lines(text, self._style(self._text), width, self._fonts)
        leading = _LEADING * self._text

        def draw(x: float, y: float) -> tuple[Mark, ...]:
            return tuple(mark for number, line in enumerate(lines)
                         for mark in line.marks(x, y + 0.8 * self._text + number * leading))

        return solid(len(lines) * leading - 0.15 * self._text, draw, self._gap, self._widest(lines) - width)

    def _set(self, said: tuple[str, str, float], width: float) -> ColumnPiece:
        """A heading or a long title, broken where it must be."""
        text, face, size = said
        lines = set_paragraph(text, Style(face, face, size, size, False, None), width, self._fonts)
        leading = 1.08 * size

        def draw(x: float, y: float) -> tuple[Mark, ...]:
            return tuple(mark for number, line in enumerate(lines)
                         for mark in line.marks(x, y + 0.8 * size + number * leading))

        return solid(len(lines) * leading - 0.08 * size, draw, 0.6 * self._gap, self._widest(lines) - width)

    def _widest(self, lines: Sequence[SetLine]) -> float:
        return max((at + self._fonts.measure(text.rstrip(), face, line.size)
                    for line in lines for at, text, face in line.words), default=0.0)

    def _head(self, width: float, _puzzles: Sequence[ProvedPuzzle]) -> Iterator[ColumnPiece]:
        weight = 2 * weights_of(self._design).frame
        words = self._set((self._issue.heading, HEAD, self._heading), width)
        drop = weight + 0.25 * self._heading

        def draw(x: float, y: float) -> tuple[Mark, ...]:
            bar = Fill((rectangle(x, y, width, weight),), 1.0)
            return (bar, *words.draw(x, y + drop, words.height))

        yield solid(words.height + drop, draw, self._gap, words.over)

    def _rules(self, width: float, _puzzles: Sequence[ProvedPuzzle]) -> Iterator[ColumnPiece]:
        own = self._issue.own_rules(self._issue.puzzles[0]) if self._rules_say_all else ""
        yield self._prose(" ".join(filter(None, (self._issue.rules, own))), width)

    def _hint(self, width: float, puzzles: Sequence[ProvedPuzzle]) -> Iterator[ColumnPiece]:
        for one in puzzles:
            if one.hint is not None:
                said = self._told(one, one.worked.path.stages.index(one.hint))
                yield self._prose(f"*{self._words.columns.hint}.* {said}", width)

    def _told(self, one: ProvedPuzzle, number: int) -> str:
        """A step of a path where no others are told."""
        sentences = self._issue.phrases.sentences.about(one.entry.puzzle, one.entry.rules)
        return sentences.step(told_apart(one.worked.path, [number])[number])

    # grids

    def _grid(self, width: float, puzzles: Sequence[ProvedPuzzle]) -> Iterator[ColumnPiece]:
        entry = puzzles[0].entry
        frame, (across, down) = weights_of(self._design).frame, outer_cells(entry.puzzle, entry.rules)
        least = self._least_cells.of(entry.puzzle)
        cell = self._tight.between(min(self._design.cell * MM, (width - frame) / across), least)
        cell = max(cell, least)
        look = grid_look(self._design, cell, self._fonts)
        wide, edge = across * cell + frame, margin(entry.rules) * cell + frame / 2

        def draw(x: float, y: float) -> tuple[Mark, ...]:
            left = x + (width - wide) / 2 + edge
            return (draw_grid(entry.puzzle, entry.rules, look, self._fonts, left, y + edge),)

        yield solid(down * cell + frame, draw, self._gap, wide - width)

    def _step(self, width: float, puzzles: Sequence[ProvedPuzzle]) -> Iterator[ColumnPiece]:
        one = puzzles[0]
        number = one.key_step
        if number is None:
            return
        path, frame = one.worked.path, weights_of(self._design).frame
        puzzle, squares, steps = path.puzzle, squares_of(path.puzzle), (path.stages[number].step,)
        known = moments(path, (number,))[number]
        least = self._least_cells.of(puzzle)
        wish = min(self._design.cell * MM, max(least, _ROOMY * self._least_cells.noted(puzzle)))
        margin = edge_room(step_look(self._design, wish, self._fonts), puzzle.rows, self._fonts)[0]
        cell = max(least, self._tight.between(min(wish, (width - frame - margin) / squares.across), least))
        look = step_look(self._design, cell, self._fonts)
        left, top = edge_room(look, puzzle.rows, self._fonts)
        wide, high = squares.across * cell + frame, squares.down * cell + frame

        def draw(x: float, y: float) -> tuple[Mark, ...]:
            at = x + left + (width - wide - left + frame) / 2
            return (draw_steps(puzzle, one.entry.rules, known, steps, look, self._fonts, at, y + top + frame / 2),)

        said = self._told(one, number)
        yield self._set((self._words.columns.step, _BOLD, self._text), width)
        yield solid(top + high, draw, self._gap, left + wide - width)
        yield self._prose(said, width)

    def _answer(self, width: float, _puzzles: Sequence[ProvedPuzzle]) -> Iterator[ColumnPiece]:
        if not self._issue.earlier:
            return
        caption = self._prose(f"*{self._issue.answer_caption}*", width)
        rows = tuple(self._answer_rows(width))
        piece = stacked((caption, *rows), self._gap)
        yield upside_down(piece, width) if self._design.answer.turned else piece

    def _answer_rows(self, width: float) -> Iterator[ColumnPiece]:
        """The finished grids, as many to a row as it holds."""
        space = self._gap
        waiting: list[tuple[float, ColumnPiece]] = []
        at = 0.0
        for earlier in self._issue.earlier:
            side, piece = self._finished(earlier, width)
            if waiting and at + side > width:
                yield side_by_side(waiting, space)
                waiting, at = [], 0.0
            waiting.append((at, piece))
            at += side + space
        yield side_by_side(waiting, space)

    def _finished(self, earlier: Earlier, width: float) -> tuple[float, ColumnPiece]:
        puzzle = earlier.puzzle
        least = least_answer_cell(self._design, puzzle.size, self._fonts)
        frame = answer_look(self._design, least).frame_line
        wish = min(self._design.answer.cell * MM, (width - frame) / puzzle.columns)
        cell = max(least, self._tight.between(wish, least))
        look = answer_look(self._design, cell)
        wide, high = puzzle.columns * cell + frame, puzzle.rows * cell + frame

        def draw(x: float, y: float) -> tuple[Mark, ...]:
            return (draw_grid(puzzle, (), look, self._fonts, x + frame / 2, y + frame / 2,
                              earlier.answer),)

        return wide, solid(high, draw, self._gap, wide - width)


_SOLID: Mapping[Element, Callable[[ColumnMatter, float, Sequence[ProvedPuzzle]], Iterator[ColumnPiece]]] = {
    Element.HEADING: ColumnMatter._head, Element.GRID: ColumnMatter._grid, Element.RULES: ColumnMatter._rules,
    Element.HINT: ColumnMatter._hint, Element.STEP: ColumnMatter._step, Element.ANSWER: ColumnMatter._answer,
}
"""Parts that take lines of their own."""


@dataclass(frozen=True, slots=True)
class _Said:
    """A few words of a line, with shorter ways to say them; a grade has its peaks before it."""

    texts: tuple[str, ...]
    face: str
    size: float
    grade: Grade | None = None

    def width(self, fonts: Fonts, shortest: bool) -> float:
        lead = grade_width(self.size) + 0.4 * self.size if self.grade else 0.0
        return lead + fonts.measure(self.texts[-1 if shortest else 0], self.face, self.size)

    def marks(self, fonts: Fonts, x: float, base: float, shortest: bool) -> tuple[Mark, ...]:
        words = self.texts[-1 if shortest else 0]
        if self.grade is None:
            return (fonts.left(x, base, words, self.face, self.size),)
        after = x + grade_width(self.size) + 0.4 * self.size
        return (grade_mark(self.grade, x, base, self.size),
                fonts.left(after, base, words, self.face, self.size))
