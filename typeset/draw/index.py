"""The index: puzzles by title, by who made them, by grade, in columns."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from cagework.typeset.book import IndexBy, rows_of
from cagework.typeset.draw.column import Piece, heading, solid
from cagework.typeset.draw.setting import PageNumbers, Setting, puzzle_anchor
from cagework.typeset.entry import Entry
from cagework.typeset.marks import MM, Mark, Tag
from cagework.typeset.text.paragraph import Style, set_paragraph
from cagework.typeset.words.filing import filing_key, initial, inverted

_EMS = 16
"""The least width of a column, in ems of its type: names of some thirty letters stand on a line."""
_TURNED = 1.2
"""How far turnover lines are set in, in ems."""


@dataclass(frozen=True, slots=True)
class IndexRow:
    """A line of the index: what it says, and the anchor whose page it names."""

    label: str
    target: str


@dataclass(frozen=True, slots=True)
class IndexGroup:
    """Rows under a name, or under none."""

    name: str
    rows: tuple[IndexRow, ...]


def index_groups(setting: Setting, by: IndexBy) -> tuple[IndexGroup, ...]:
    """What one index holds, in its order: titles filed by their letters under none; else each maker, or grade,
    with its puzzles in the order of the book.
    """
    entries, words = tuple(setting.book.entries), setting.words
    if by is IndexBy.TITLE:
        rows = [IndexRow(inverted(entry.title, words.articles), puzzle_anchor(entry.id))
                for entry in entries if entry.title]
        return (IndexGroup("", tuple(sorted(rows, key=lambda row: filing_key(row.label)))),)
    groups: dict[str, list[Entry]] = {}
    if by is IndexBy.GRADE:
        groups = {words.grades[grade]: [] for grade in words.grades}
    for entry in entries:
        name = (words.grades[entry.grade] if entry.grade else None) if by is IndexBy.GRADE else (
            inverted(entry.by, words.articles) if entry.by else None)
        if name:
            groups.setdefault(name, []).append(entry)
    names = list(groups) if by is IndexBy.GRADE else sorted(groups, key=filing_key)
    return tuple(IndexGroup(name, tuple(_rows(setting, groups[name]))) for name in names if groups[name])


def _rows(setting: Setting, entries: Sequence[Entry]) -> Iterator[IndexRow]:
    """Untitled puzzles that follow one another in the book go together."""
    for row in rows_of(entries):
        numbers = [setting.number_of[entry.id] for entry in row]
        breaks = [0, *(at for at, (one, other) in enumerate(pairwise(numbers), 1) if other != one + 1), len(row)]
        for start, end in pairwise(breaks):
            yield IndexRow(setting.row(row[start:end]), puzzle_anchor(row[start].id))


def index_columns(setting: Setting) -> tuple[int, float]:
    """How many columns an index has on a page, and their width in pt."""
    width, gap = setting.block(1).width, setting.layout.solutions.gap * MM
    count = max(1, int((width + gap) / (_EMS * setting.layout.solutions.size + gap)))
    return count, (width - gap * (count - 1)) / count


def index_pieces(setting: Setting, width: float) -> tuple[tuple[Piece, ...], dict[int, str]]:
    """All indexes as columns of `width` pt, and which piece leads to which anchor."""
    pieces: list[Piece] = []
    targets: dict[int, str] = {}
    size, several = setting.layout.solutions.size, len(setting.book.index) > 1
    for by in setting.book.index:
        if several:
            title = heading(setting, setting.words.index_by[by], setting.block(1).width, size * 1.35, setting.line,
                            size * 0.7, Tag.SUBHEADING, setting.line)
            pieces.append(replace(title, block=replace(title.block, wide=True)))
        for number, group in enumerate(index_groups(setting, by)):
            if group.name:
                before = setting.line if number else 0.0
                pieces.append(_name(setting, group.name, width, before))
            last = None
            together = {0, len(group.rows) - 2}       # no row stands alone in a column, away from its group
            for place, row in enumerate(group.rows):
                parted = not group.name and last is not None and initial(row.label) != last
                last = initial(row.label)
                targets[len(pieces)] = row.target
                piece = _row(setting, row, width, setting.line if parted else 0.0)
                keep = place in together and place + 1 < len(group.rows)
                pieces.append(replace(piece, block=replace(piece.block, keep=keep)))
    return tuple(pieces), targets


def _name(setting: Setting, name: str, width: float, before: float) -> Piece:
    size = setting.layout.solutions.size
    tag = Tag.MINOR if len(setting.book.index) > 1 else Tag.SUBHEADING
    return heading(setting, name, width, size, before, 0.0, tag, setting.line)


def _row(setting: Setting, row: IndexRow, width: float, before: float) -> Piece:
    """A name and its page, ranged right; turnover lines are set in, and no name is cut."""
    size, fonts, face = setting.layout.solutions.size, setting.fonts, setting.roman
    leading, turned = size * setting.layout.type.leading / setting.layout.type.body, size * _TURNED
    room = width - fonts.measure("0000", face, size) - size * 1.2
    lines = set_paragraph([(row.label, face)], Style(face, None, size, leading, False, None), room - turned, fonts,
                          -turned)

    def draw(pages: PageNumbers, x: float, y: float) -> tuple[Mark, ...]:
        marks: list[Mark] = []
        base = y
        for number, line in enumerate(lines):
            base = y + number * leading + size
            marks.extend(line.marks(x + turned, base))
        return (*marks, fonts.right(x + width, base, str(pages.of[row.target]), face, size))

    return solid(len(lines) * leading, draw, before=before)
