"""The way in: a finished file and the book it is to be, to every difference between them.

A file is read once, by `read_document(data, original.shapes().chars)`, for this and for the preflight.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import chain

from cagework.typeset.book import Book, Entry, Solutions
from cagework.typeset.draw.shown import GridKind
from cagework.typeset.host.parallel import Share, in_turn, page_runs
from cagework.typeset.marks import MM
from cagework.typeset.plan import Pages, Solved
from cagework.typeset.readback.difference import Difference, in_brief
from cagework.typeset.readback.glyph_shapes import Shapes
from cagework.typeset.readback.grid_places import Standing
from cagework.typeset.readback.links import Destinations, compare_bookmarks, compare_links
from cagework.typeset.readback.page_content import trim_of
from cagework.typeset.readback.page_range import RangeReader, joined
from cagework.typeset.readback.whereabouts import References, whereabouts
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.solving.worked import turning_points


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


def read_back(
    document: PdfDocument, original: Original, links: bool = True, bookmarks: bool = True, *,
    runs: Sequence[range] = (), share: Share = in_turn,
) -> tuple[Difference, ...]:
    """Every way in which a file is not the book, page by page; empty where it is. UnreadablePdf where a page's
    content makes no sense.

    Without `links` or `bookmarks`, the file may do without them; those it has are not looked at. The pages are
    read in `runs` of their places from 0, by default such as are worth a job each, which `share` may have read
    elsewhere.
    """
    laid, sheets = original.laid, document.sheets
    if len(sheets) != len(laid.pages):
        said = f"the file has {len(sheets)} pages; the book has {len(laid.pages)}"
        return (Difference(None, "", None, said),)
    width, height = laid.setting.layout.trim.width * MM, laid.setting.layout.trim.height * MM
    trims = [trim_of(sheet, width, height) for sheet in sheets]
    sized = [_missized(sheet, width, height) for sheet, trim in zip(sheets, trims, strict=True) if trim is None]
    if sized:
        return tuple(sized)
    destinations = Destinations(document.reader) if links or bookmarks else None
    reader = RangeReader(document, original.solved, laid, [trim for trim in trims if trim is not None],
                    destinations if links else None)
    document.read_fonts()
    read = joined(share([partial(reader.read, run) for run in runs or page_runs(len(sheets))]))
    where = whereabouts(read.anchors, read.standing)
    references = References(laid.setting, where, len(sheets))
    leads = where.leads()
    marked = (compare_bookmarks(document.root, destinations, laid.bookmarks, leads)
              if bookmarks and destinations else ())
    return tuple(in_brief(chain(
        _whole(original, read.standing), read.grids, references.turned(read.round), references.contents(read.rows),
        references.heads(read.heads), read.folios, read.words, compare_links(read.links, leads), marked)))


def may_lack(document: PdfDocument) -> tuple[bool, bool]:
    """Whether a file has links, and bookmarks: what to ask of one that came back from elsewhere."""
    links = any(True for sheet in document.sheets for _ in sheet.page.get("/Annots", ()))
    return links, "/Outlines" in document.root


def _missized(sheet: PdfPage, width: float, height: float) -> Difference:
    across, down = sheet.trim.size_mm
    return Difference(sheet.number, "size", None, f"it is {across:.1f} x {down:.1f} mm; it should be "
                      f"{width / MM:.1f} x {height / MM:.1f} mm")


def _whole(original: Original, standing: Iterable[Standing]) -> Iterator[Difference]:
    """Whether every puzzle, answer and diagram of the book has its place, once."""
    count = Counter((grid.kind, grid.id, grid.stage) for grid in standing)
    for entry in original.book.entries:
        for key in _due(original, entry):
            if count[key] != 1:
                yield Difference(None, f"{key[0]} of '{key[1]}'", None, f"it stands in {count[key]} places")


def _due(original: Original, entry: Entry) -> Iterator[tuple[GridKind, str, int]]:
    yield GridKind.PUZZLE, entry.id, 0
    yield GridKind.ANSWER, entry.id, 0
    if entry.solutions is not Solutions.NONE:
        for stage in turning_points(original.solved.works[entry.id].path):
            yield GridKind.STAGE, entry.id, stage
