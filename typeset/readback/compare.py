"""The way in: a finished file and the book it is to be, to every difference between them.

A file is read once, by `read_document(data, original.shapes().chars)`, for this and for the preflight.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import chain

from cagework.typeset.book import Book
from cagework.typeset.draw.shown import GridKind
from cagework.typeset.entry import Entry, Solutions
from cagework.typeset.host.parallel import Share, in_turn, page_runs
from cagework.typeset.marks import MM, Page
from cagework.typeset.plan import Pages, Solved
from cagework.typeset.preflight.rule import Finding
from cagework.typeset.readback.asked import Asked
from cagework.typeset.readback.difference import Difference, in_brief
from cagework.typeset.readback.entries import compare_entries
from cagework.typeset.readback.glyph_shapes import Shapes
from cagework.typeset.readback.grid_places import Standing
from cagework.typeset.readback.index_rows import IndexRows
from cagework.typeset.readback.links import Destinations, compare_bookmarks, compare_links
from cagework.typeset.readback.page_content import trim_of
from cagework.typeset.readback.page_range import FlatReader, Frames, PageLook, RangeReader, joined, no_look
from cagework.typeset.readback.sheets import missized
from cagework.typeset.readback.tags import Tags
from cagework.typeset.readback.whereabouts import References, whereabouts
from cagework.typeset.reader.document import PdfDocument
from cagework.typeset.solving.story import Picture, Story
from cagework.typeset.text.fonts import Fonts


@dataclass(frozen=True, slots=True)
class Original:
    """The book a file is held against: what was found of its puzzles, and how it was laid out."""

    solved: Solved
    laid: Pages

    @property
    def book(self) -> Book:
        """What the book says."""
        return self.laid.setting.book

    def shapes(self) -> Shapes:
        """What knows a file's letters by their shapes, for `read_document`."""
        return Shapes(self.laid.setting.fonts)


@dataclass(frozen=True, slots=True)
class ReadBack:
    """Every way in which a file is not the book, none where it is; what could not be compared, in words; the pages
    of the book itself that have no room for what stands on them, shown faithfully or not; and what was found by
    who was let look at each page, None where they were not read.
    """

    differences: tuple[Difference, ...]
    not_compared: tuple[str, ...]
    crowded: tuple[int, ...] = ()
    findings: tuple[Finding, ...] | None = None


_REST = ("the pages, since they are others",)
"""What is not compared where there are other pages than the book's."""


def read_back(
    document: PdfDocument, original: Original, asked: Asked, *, runs: Sequence[range] = (), share: Share = in_turn,
    look: PageLook = no_look,
) -> ReadBack:
    """Every way in which a file is not what is asked of it, page by page; `look` is let look at each page, too.
    UnreadablePdf where a page's content makes no sense.

    The pages are read in `runs` of their places from 0, by default such as are worth a job each, which `share` may
    have read elsewhere.
    """
    laid, sheets = original.laid, document.sheets
    if len(sheets) != len(laid.pages):
        said = f"the file has {len(sheets)} pages; the book has {len(laid.pages)}"
        return ReadBack((Difference(None, "", None, said),), _REST)
    width, height = laid.setting.layout.trim.width * MM, laid.setting.layout.trim.height * MM
    trims = [trim_of(sheet, width, height) for sheet in sheets]
    sized = [missized(sheet, width, height) for sheet, trim in zip(sheets, trims, strict=True) if trim is None]
    if sized:
        return ReadBack(tuple(sized), _REST)
    destinations = Destinations(document.reader) if asked.linked or asked.bookmarked else None
    tags = Tags(document) if asked.tagged else None
    reader = RangeReader(document, original.solved, laid, asked, [trim for trim in trims if trim is not None],
                         destinations if asked.linked else None, tags, look)
    document.read_fonts()
    read = joined(share([partial(reader.read, run) for run in runs or page_runs(len(sheets))]))
    where = whereabouts(read.anchors, read.standing)
    references = References(laid.setting, where, len(sheets), read.heads)
    leads = where.leads()
    marked = (compare_bookmarks(document.root, destinations, laid.bookmarks, leads)
              if asked.bookmarked and destinations else ())
    heard = tags.whole(read.elements) if tags else ()
    return ReadBack(tuple(in_brief(chain(
        _whole(original, read.standing), read.grids, references.turned(read.round), references.contents(read.rows),
        references.heads(), IndexRows(laid.setting).amiss(read.index_rows, leads, where.span(
            "index", len(sheets))), read.folios, read.ledger, compare_links(read.links, leads), marked,
        read.tags, heard, compare_entries(document, asked)))), asked.lacking, read.crowded, read.findings)


def read_flat(
    document: PdfDocument, pages: Sequence[Page], asked: Asked, fonts: Fonts, frames: Frames = lambda _: (), *,
    share: Share = in_turn, look: PageLook = no_look,
) -> ReadBack:
    """The same for a file that is not the book's pages one by one, as a cover or a booklet: each of its pages held
    against the marks it was to show. `frames` tells of a page, by its place from 0, where what stands on it is
    cut.
    """
    if len(document.sheets) != len(pages):
        said = f"the file has {len(document.sheets)} pages; it should have {len(pages)}"
        return ReadBack((Difference(None, "", None, said),), _REST)
    document.read_fonts()
    reader = FlatReader(document, pages, asked, fonts, frames, look)
    parts = list(share([partial(reader.read, run) for run in page_runs(len(pages))]))
    amiss = chain.from_iterable(part.amiss for part in parts)
    findings = tuple(chain.from_iterable(part.findings for part in parts))
    return ReadBack(tuple(in_brief(chain(amiss, compare_entries(document, asked)))), asked.lacking, (), findings)


def _whole(original: Original, standing: Iterable[Standing]) -> Iterator[Difference]:
    """Whether every puzzle, answer and diagram of the book has its place, once."""
    count = Counter((grid.kind, grid.id, grid.picture) for grid in standing)
    for entry in original.book.entries:
        for key in _due(original, entry):
            if count[key] != 1:
                yield Difference(None, f"{key[0]} of '{key[1]}'", None, f"it stands in {count[key]} places")


def _due(original: Original, entry: Entry) -> Iterator[tuple[GridKind, str, Picture | None]]:
    yield GridKind.PUZZLE, entry.id, None
    yield GridKind.ANSWER, entry.id, None
    if entry.solutions is not Solutions.NONE:
        for picture in Story(original.solved.works[entry.id].path).pictures:
            yield GridKind.STAGE, entry.id, picture
