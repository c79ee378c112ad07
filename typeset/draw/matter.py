"""Front matter and openers: title, imprint, contents, the first page of a section."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from cagework.layouts.page import Box
from cagework.typeset.book import AnswersAt, Illustration, Position, Section
from cagework.typeset.draw.column import Piece, heading, paragraph, solid, whole_lines
from cagework.typeset.draw.furniture import TRACKING, listed_grade, motif
from cagework.typeset.draw.illustration import hang, mark_size, size_of
from cagework.typeset.draw.setting import PageNumbers, Setting, puzzle_anchor, section_anchor, text_anchor
from cagework.typeset.entry import Entry, Solutions
from cagework.typeset.marks import Group, Link, Mark, Tag
from cagework.typeset.text.paragraph import SetLine, paragraphs

_MOTIF_ROWS = 3


def title_page(setting: Setting, block: Box) -> tuple[Mark, ...]:
    """The title over the book's picture, or else the cages of its largest grid, the editor at the foot."""
    kind, book = setting.layout.type, setting.book
    y = block.y + 0.06 * block.height
    marks: list[Mark] = []
    for line in setting.balanced(book.title, setting.roman, kind.display, block.width * 0.94):
        y += kind.display * 1.12
        marks.extend(line.marks(block.x, y))
    marks = [Group("title", tuple(marks), Tag.TITLE)]
    if book.subtitle:
        y += kind.title * 0.7
        lines: list[Mark] = []
        for line in setting.balanced(book.subtitle, setting.italic, kind.title, block.width * 0.8):
            y += kind.title * 1.25
            lines.extend(line.marks(block.x, y))
        marks.append(Group("subtitle", tuple(lines), Tag.PARAGRAPH))
    foot = block.bottom
    if book.by:
        by = setting.fonts.left(block.x, foot, book.by, setting.roman, kind.body * 1.1)
        marks.append(Group("by", (by,), Tag.PARAGRAPH))
    foot -= kind.body * 3.2
    room = foot - y - kind.title * 2
    if book.picture:
        return tuple(marks) + _standing(book.picture, block.x, foot, block.width, room)
    artwork = max(book.entries, key=lambda entry: entry.puzzle.size, default=None)
    if artwork is not None:
        cell = block.width / artwork.puzzle.columns
        rows = min(artwork.puzzle.rows, int(room / cell))
        top = foot - rows * cell
        marks.append(motif(artwork.puzzle, block.x, top, block.width, rows, setting.layout.weights.cage * 1.2))
    return tuple(marks)


def _standing(picture: Illustration, x: float, foot: float, width: float, height: float) -> tuple[Mark, ...]:
    """A picture on the line `foot`, in a place of a width and height in pt; nothing where it has no room."""
    size = size_of(picture, width, height)
    return () if size is None else (hang(picture, size, x, foot - size.height),)


def imprint_page(setting: Setting, block: Box) -> tuple[Mark, ...]:
    """The imprint lines and ISBN, ending at the foot of the page, under the publisher's mark."""
    kind, book = setting.layout.type, setting.book
    lines: list[SetLine | None] = []
    size = max(kind.small * 1.08, min(kind.body, 9.0))
    said = [book.title, *book.imprint, *([f"ISBN {book.isbn}"] if book.isbn else [])]
    for text in said:
        lines.extend(setting.balanced(text, setting.roman, size, block.width * 0.82))
        lines.append(None)
    leading = size * 1.42
    heights = [leading if line else leading * 0.45 for line in lines[:-1]]
    y = block.bottom - sum(heights) + leading
    marks: list[Mark] = []
    for line, high in zip(lines, heights, strict=False):
        if line:
            marks.extend(line.marks(block.x, y))
        y += high
    top = block.bottom - sum(heights) - leading
    of_mark = mark_size(book.mark, block.width) if book.mark else None
    mark = (hang(book.mark, of_mark, block.x, top - of_mark.height),) if book.mark and of_mark else ()
    return (*mark, Group("imprint", tuple(marks), Tag.PARAGRAPH))


def contents_pieces(setting: Setting, tight: float = 1.0) -> tuple[Piece, ...]:
    """The contents as a column: a line for each section and each puzzle, and the matter round them.

    `tight` scales the leading of the rows.
    """
    kind = setting.layout.type
    leading = kind.leading * tight
    words, sections = setting.words, setting.book.sections
    pieces = [heading(setting, words.contents, setting.measure, kind.heading, 0, kind.heading * 0.9 * tight)]
    titles = {"introduction": words.introduction, "how": words.how}
    pieces.extend(_own_rows(setting, leading, Position.FRONT))
    pieces.extend(_section_row(setting, titles[anchor], anchor, leading) for anchor in _front(setting))
    for index, section in enumerate(sections):
        pieces.extend(_own_rows(setting, leading, Position.BEFORE, index))
        pieces.append(_section_row(setting, section.title, section_anchor(index), leading, keep=True))
        pieces.extend(_puzzle_row(setting, row, leading) for row in section.rows)
        pieces.extend(_own_rows(setting, leading, Position.AFTER, index))
    titles = {"hints": words.hints, "answers": words.answers, "primer": words.primer,
              "worked": words.worked, "index": words.index_title}
    pieces.extend(_section_row(setting, titles[anchor], anchor, leading) for anchor in _back(setting))
    pieces.extend(_own_rows(setting, leading, Position.BACK))
    return tuple(pieces)


def _own(setting: Setting, position: Position, section: int | None = None) -> list[tuple[str, str]]:
    """The publisher's own pages in some place that the contents name: their titles and anchors."""
    return [(page.title or "", text_anchor(number)) for number, page in setting.book.own(position, section)
            if page.listed]


def _own_rows(setting: Setting, leading: float, position: Position, section: int | None = None) -> Iterator[Piece]:
    return (_section_row(setting, title, anchor, leading) for title, anchor in _own(setting, position, section))


def contents_links(setting: Setting) -> dict[int, str]:
    """Which piece of the contents leads to which anchor."""
    def own(position: Position, section: int | None = None) -> list[str]:
        return [anchor for _, anchor in _own(setting, position, section)]

    targets = [*own(Position.FRONT), *_front(setting)]
    for index, section in enumerate(setting.book.sections):
        targets += own(Position.BEFORE, index)
        targets += [section_anchor(index), *(puzzle_anchor(row[0].id) for row in section.rows)]
        targets += own(Position.AFTER, index)
    targets += [*_back(setting), *own(Position.BACK)]
    return dict(enumerate(targets, 1))


def _front(setting: Setting) -> list[str]:
    """The anchors of the front matter that the contents name."""
    book = setting.book
    return [anchor for anchor, there in (("introduction", book.introduction), ("how", book.pages.how_to_solve))
            if there]


def _back(setting: Setting) -> list[str]:
    """The anchors of the back matter that the contents name."""
    book = setting.book
    told = any(entry.solutions is not Solutions.NONE for entry in book.entries)
    hints = book.pages.first_hints
    answers = any(book.answered(AnswersAt.BACK))
    there = {"hints": hints, "answers": answers, "primer": told or hints, "worked": told,
             "index": bool(book.index)}
    return [anchor for anchor, printed in there.items() if printed]


def _section_row(setting: Setting, title: str, anchor: str, leading: float, keep: bool = False) -> Piece:
    kind, fonts = setting.layout.type, setting.fonts
    room = setting.measure - fonts.measure("0000", setting.bold, kind.body) - kind.body
    lines = setting.name(title, setting.bold, kind.body, room)

    def draw(pages: PageNumbers, x: float, y: float) -> tuple[Mark, ...]:
        marks: list[Mark] = []
        for number, line in enumerate(lines):
            marks.extend(line.marks(x, y + kind.body + number * leading))
        last = y + kind.body + (len(lines) - 1) * leading
        page = str(pages.of[anchor])
        return (*marks, fonts.right(x + setting.measure, last, page, setting.bold, kind.body))

    return solid(leading * len(lines), draw, before=leading * 0.55, keep=keep)


def _puzzle_row(setting: Setting, row: Sequence[Entry], leading: float) -> Piece:
    """Number, title, grade and page; of a run of untitled puzzles, the page of the first. What the title's first
    line has no room for turns over, and grade and page with it.
    """
    kind, fonts = setting.layout.type, setting.fonts
    body = kind.body
    first = row[0]
    number, name = (str(setting.number_of[first.id]), first.title) if first.title else ("", setting.row(row))
    grade = first.grade if {entry.grade for entry in row} == {first.grade} else None
    widest = "0" * max(3, len(str(len(setting.number_of))))
    column = fonts.measure(widest, setting.roman, body) + body * 0.55
    end = setting.measure - fonts.measure("000", setting.roman, body) - body
    _, begin = listed_grade(setting, grade, end, 0.0, body)
    lines = setting.name(name, setting.roman, body, begin - body - column)

    def draw(pages: PageNumbers, x: float, y: float) -> tuple[Mark, ...]:
        base = y + body
        marks: list[Mark] = []
        if number:
            marks.append(fonts.right(x + column - body * 0.55, base, number, setting.roman, body))
        for place, line in enumerate(lines):
            marks.extend(line.marks(x + column, base + place * leading))
        last = base + (len(lines) - 1) * leading
        shown, _ = listed_grade(setting, grade, x + end, last, body)
        page = str(pages.puzzle(first.id))
        return (*marks, shown, fonts.right(x + setting.measure, last, page, setting.roman, body))

    return solid(leading * len(lines), draw)


def opener_pieces(setting: Setting, index: int, section: Section) -> tuple[Piece, ...]:
    """A section's opening as a column: its number and title, then what the editor says of it."""
    kind, fonts, block = setting.layout.type, setting.fonts, setting.block(1)
    part = setting.words.part.format(number=index + 1)
    small, size = kind.small, (kind.heading + kind.display) / 2
    title = setting.display(section.title, setting.roman, size, block.width)
    sunk, leading = 0.1 * block.height, size * 1.12
    high = whole_lines(sunk + kind.heading * 0.3 + len(title) * leading, kind.leading)

    def draw(_pages: PageNumbers, x: float, y: float) -> tuple[Mark, ...]:
        marks: list[Mark] = [
            fonts.left(x, y + sunk, part.upper(), "sans-semibold", small, tracking=TRACKING * small)]
        for number, line in enumerate(title, 1):
            marks.extend(line.marks(x, y + sunk + kind.heading * 0.3 + number * leading))
        return tuple(marks)

    measure = min(block.width, kind.body * 34)
    said = (paragraph(setting, text, measure, before=0.0 if number else kind.leading, indent=number > 0)
            for number, text in enumerate(paragraphs(section.intro or "")))
    return solid(high, draw, keep=bool(section.intro), tag=Tag.HEADING), *said


def ornament(setting: Setting, section: Section, block: Box, foot: float) -> tuple[Mark, ...]:
    """The section's picture, or else a band of the cages of its largest grid, at the foot of a page whose matter
    ends at `foot` pt; nothing where it would come near that.
    """
    if section.picture:
        room = block.bottom - foot - 2 * setting.layout.type.leading
        return _standing(section.picture, block.x, block.bottom, block.width, room)
    lead = max(section.entries, key=lambda entry: entry.puzzle.size, default=None)
    if lead is None:
        return ()
    cell = block.width / max(9, lead.puzzle.columns)
    rows = min(_MOTIF_ROWS, lead.puzzle.rows)
    top = block.bottom - rows * cell
    if top - foot < setting.layout.type.leading:
        return ()
    return (motif(lead.puzzle, block.x, top, cell * lead.puzzle.columns, rows, setting.layout.weights.cage),)


def row_links(
    setting: Setting, placed: Sequence[tuple[str, float, float]], pages: PageNumbers, x: float,
) -> tuple[Link, ...]:
    """Links over rows of the contents, given each row's target, its top and its height."""
    return tuple(
        Link(x, y, setting.measure, height, target, setting.words.puzzle_on.format(page=pages.of[target]))
        for target, y, height in placed
    )
