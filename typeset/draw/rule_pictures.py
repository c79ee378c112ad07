"""The rules of their own that puzzles of a book have: sentences, each beside a small grid that shows it."""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import ClassVar

from cagework.solver.figure import Figure, Tint
from cagework.solver.model import (
    BOXES,
    Answer,
    Cage,
    Cell,
    Domain,
    Given,
    LeastDigit,
    Pair,
    Puzzle,
    standard_houses,
)
from cagework.solver.rule import Fact, Rule, RuleError, RuleOnCells, Takes, with_facts
from cagework.solver.search.exact import random_answer
from cagework.typeset.draw.clues import margin
from cagework.typeset.draw.column import Piece, baseline, solid, whole_lines
from cagework.typeset.draw.describe import cells_in_words, describe_grid, figure, rule_in_words
from cagework.typeset.draw.grid import draw_grid
from cagework.typeset.draw.look import LEAST_CELL, GridLook, answer_look, puzzle_look
from cagework.typeset.draw.setting import PageNumbers, Setting
from cagework.typeset.draw.shown import GridKind, Shown
from cagework.typeset.marks import MM, Group, Mark, Tag
from cagework.typeset.text.paragraph import prose_style

_SIZES = 4, 6, 9
"""The sizes of pictures: the least on which a rule can be shown."""

_ROUND = 6
"""The least size on which all round a middle cell is in the grid, a knight's move away too."""

_CELL, _LEAST = 1.8, 1.4
"""The cells of a picture, and the least in which digits stand, in ems of the text."""

_WIDEST = 5
"""A picture of more cells a side is no wider than one of so many."""

_APART, _AROUND = 1.2, 0.4
"""Between a picture and its sentence, and over and under it, in ems."""


@dataclass(frozen=True, slots=True)
class _Tinted(Rule):
    """A rule that only words state, as it is shown beside them: what it ties to one cell has a tint."""

    rule: Rule
    cells: tuple[Cell, ...]
    sentence: ClassVar[str] = ""

    def allows(self, digits: Mapping[Cell, int]) -> bool:
        """As the rule does."""
        return self.rule.allows(digits)

    def facts(self) -> tuple[Fact, ...]:
        """The rule's."""
        return self.rule.facts()

    def figures(self) -> tuple[Figure, ...]:
        """A tint over the cells."""
        return (Tint(self.cells),)


@dataclass(frozen=True, slots=True)
class RulePicture:
    """A rule on its example: a grid with digits in the cells that it is about, and the answer these are from."""

    puzzle: Puzzle
    rule: Rule
    shown: Rule
    answer: Answer

    @property
    def edge(self) -> float:
        """The room for numbers on each side of the frame, in cells."""
        return margin((self.shown,))


def rules_shown(rules: Iterable[Rule]) -> tuple[RulePicture, ...]:
    """A picture for each kind of rule, in the order they come in; of one whose sentence names the digits, for each
    size.
    """
    kinds = dict.fromkeys((type(rule), *((rule.size, rule.least) if "{most}" in rule.sentence else (0, 1)))
                          for rule in rules)
    return tuple(_pictured(*kind) for kind in kinds)


@lru_cache(maxsize=64)
def _pictured(kind: type[Rule], size: int, least: int) -> RulePicture:
    """The rule on a grid of some size, or of the least that shows it for 0, and digits from `least` on. ValueError
    where none does.
    """
    for side in (size,) if size else _SIZES:
        try:
            rule = kind.exemplar(side, least)
        except RuleError:
            continue
        if not size and side < _ROUND and not rule.figures():
            continue
        areas = rule.named.areas if isinstance(rule, RuleOnCells) and rule.takes is Takes.CAGES else ()
        cages = tuple(Cage(cells, None) for cells in dict.fromkeys(areas))
        regions = None if side in BOXES else ()
        puzzle = with_facts(Puzzle(side, standard_houses(side, regions), cages, least=rule.least), rule.facts())
        answer = random_answer(puzzle, random.Random(side), nodes=10_000)
        if answer is not None:
            return _with_digits(puzzle, rule, answer)
    raise ValueError(f"no grid shows {kind.__name__}")


def _with_digits(puzzle: Puzzle, rule: Rule, answer: Answer) -> RulePicture:
    """Digits where the rule is; where it shows nowhere, in a middle cell and those that are tied to it, tinted; of
    one on the digits themselves, in a row.
    """
    facts, shown = rule.facts(), rule
    cells = {cell for fact in facts for cell in _cells_of(fact)}
    middle = Cell(puzzle.size // 2, puzzle.size // 2)
    if not cells:
        cells = set(puzzle.houses[middle.row - 1].cells)
        shown = _Tinted(rule.size, rule, tuple(sorted(cells)))
    elif not rule.figures():
        tied = {cell for fact in facts for cell in _cells_of(fact) if middle in _cells_of(fact)} - {middle}
        shown, cells = _Tinted(rule.size, rule, tuple(sorted(tied))), {middle, *tied}
    givens = tuple(Given(cell, answer.at(cell)) for cell in sorted(cells))
    return RulePicture(replace(puzzle, givens=givens), rule, shown, answer)


def _cells_of(fact: Fact) -> tuple[Cell, ...]:
    match fact:
        case Pair():
            return fact.first, fact.second
        case Domain():
            return (fact.cell,)
        case LeastDigit():
            return ()
    return fact.cells


def rule_pieces(setting: Setting) -> Iterator[Piece]:
    """A piece for each rule that the book's puzzles have: its picture, and its sentence to the right of that."""
    book, body = setting.book, setting.layout.type.body
    pictures = rules_shown(rule for entry in book.entries for rule in entry.rules)
    width = max((_cell(setting, one) * (one.puzzle.size + 2 * one.edge) for one in pictures), default=0.0)
    return (_piece(setting, picture, width + _APART * body) for picture in pictures)


def _cell(setting: Setting, picture: RulePicture) -> float:
    """The side of a picture's cells, in pt: with room for digits where nothing else shows the rule."""
    body = setting.layout.type.body
    least = 0.0 if picture.rule.figures() else _LEAST * body
    return max(least, LEAST_CELL * MM, _CELL * body * min(1.0, _WIDEST / picture.puzzle.size))


def _look(setting: Setting, cell: float) -> GridLook:
    """A puzzle's, with lines as light as those of answers, and numbers to be read: what a rule draws counts."""
    puzzle, light = puzzle_look(setting.layout, cell), answer_look(setting.layout, cell)
    return replace(puzzle, cell_line=light.cell_line, region_line=light.region_line, frame_line=light.frame_line,
                   least_label=setting.layout.type.small)


def _piece(setting: Setting, picture: RulePicture, lead: float) -> Piece:
    """A picture, its sentence `lead` pt from the left beside its middle."""
    cell, kind, puzzle = _cell(setting, picture), setting.layout.type, picture.puzzle
    look = _look(setting, cell)
    if cell < _LEAST * kind.body:
        puzzle = replace(puzzle, givens=())
    style = prose_style(setting.layout, setting.book.language)
    lines = setting.prose(rule_in_words(picture.rule, setting.sentences), setting.measure - lead)
    side, edge = cell * puzzle.size, cell * picture.edge
    told = len(lines) * style.leading
    high = whole_lines(max(side + 2 * edge + 2 * _AROUND * kind.body, told), kind.leading)
    alt = _in_words(setting, puzzle, picture)

    def draw(_pages: PageNumbers, x: float, y: float) -> tuple[Mark, ...]:
        shown = Shown(GridKind.PUZZLE, "how to solve", puzzle, answer=picture.answer, in_book=False,
                      rules=(picture.shown,))
        grid = draw_grid(puzzle, shown.rules, look, setting.fonts, x + edge, y + (high - side) / 2, shows=shown)
        first = y + (high - told) / 2 + baseline(style)
        said = tuple(mark for number, line in enumerate(lines)
                     for mark in line.marks(x + lead, first + number * style.leading))
        return Group("rule", said, Tag.PARAGRAPH), figure(grid, alt)

    return solid(high, draw, tag=None)


def _in_words(setting: Setting, puzzle: Puzzle, picture: RulePicture) -> str:
    """A picture for those who hear it: its grid, and the cells that the rule is on."""
    words, sentences = setting.words.described, setting.sentences
    tints = (tint.cells for tint in picture.shown.figures() if isinstance(tint, Tint))
    tinted = [" ".join(map(sentences.cell, cells)) for cells in tints]
    items = cells_in_words(picture.rule, words, sentences) or tinted
    said = [words.holds_for.format(items="; ".join(items))] if items else []
    return " ".join((describe_grid(puzzle, words, sentences), *said))
