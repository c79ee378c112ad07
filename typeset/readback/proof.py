"""The way in: a finished file and the book it is to be, to every difference between them.

A file is read once, by `read_document(data, original.shapes().chars)`, for this and for the preflight.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain

from cagework.layouts.load import Layout
from cagework.typeset.book import Book, Entry, Solutions
from cagework.typeset.draw.setting import answer_anchor, puzzle_anchor
from cagework.typeset.draw.shown import Kind
from cagework.typeset.marks import MM, Page
from cagework.typeset.plan import Pages, Solved
from cagework.typeset.preflight.document import Document, Sheet
from cagework.typeset.preflight.geometry import Box
from cagework.typeset.readback.area import area_of
from cagework.typeset.readback.difference import Difference, in_brief
from cagework.typeset.readback.fences import compare_fences
from cagework.typeset.readback.figures import compare_figures
from cagework.typeset.readback.leads import Destinations, compare_bookmarks, compare_links, leads_of
from cagework.typeset.readback.leaf import read_leaf, trim_of
from cagework.typeset.readback.lines import lines_of
from cagework.typeset.readback.placed import Placed, placed, words_of
from cagework.typeset.readback.prose import compare_prose
from cagework.typeset.readback.references import References, whereabouts
from cagework.typeset.readback.shapes import Shapes
from cagework.typeset.readback.tints import compare_tints
from cagework.typeset.readback.wanted import NoAnswer, wanted
from cagework.typeset.work import turning_points


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
        texts = (text.string for page in self.laid.pages for text, _ in words_of(page.marks))
        return Shapes(self.laid.setting.fonts, chain.from_iterable(texts))


def read_back(
    document: Document, original: Original, links: bool = True, bookmarks: bool = True,
) -> tuple[Difference, ...]:
    """Every way in which a file is not the book, page by page; empty where it is. UnreadablePdf where a page's
    content makes no sense.

    Without `links` or `bookmarks`, the file may do without them; those it has are not looked at.
    """
    pages = original.laid.pages
    if len(document.sheets) != len(pages):
        said = f"the file has {len(document.sheets)} pages; the book has {len(pages)}"
        return (Difference(None, "", None, said),)
    trims = [trim_of(sheet, page.width, page.height) for sheet, page in zip(document.sheets, pages, strict=True)]
    sized = list(_missized(document.sheets, trims, pages))
    if sized:
        return tuple(sized)
    proof = _Proof(document, original, [trim for trim in trims if trim is not None])
    return tuple(in_brief(chain(proof.whole(), proof.grids(), proof.texts(), proof.leads(links, bookmarks))))


def may_lack(document: Document) -> tuple[bool, bool]:
    """Whether a file has links, and bookmarks: what to ask of one that came back from elsewhere."""
    links = any(True for sheet in document.sheets for _ in sheet.page.get("/Annots", ()))
    return links, "/Outlines" in document.root


def _missized(
    sheets: Sequence[Sheet], trims: Sequence[Box | None], pages: Sequence[Page],
) -> Iterator[Difference]:
    for sheet, trim, page in zip(sheets, trims, pages, strict=True):
        if trim is None:
            across, down = sheet.trim.size_mm
            yield Difference(sheet.number, "size", None, f"it is {across:.1f} x {down:.1f} mm; it should be "
                             f"{page.width / MM:.1f} x {page.height / MM:.1f} mm")


class _Proof:
    """One file under way."""

    def __init__(self, document: Document, original: Original, trims: Sequence[Box]) -> None:
        self._document, self._original = document, original
        self._trims = trims
        self._pages = original.laid.pages
        self._places = placed(self._pages)
        self._entries = {entry.id: entry for entry in original.book.entries}
        self._leaves = [read_leaf(sheet, trim) for sheet, trim in zip(document.sheets, trims, strict=True)]
        self._lines = [lines_of(leaf) for leaf in self._leaves]
        self._told: list[Placed] = []
        self._where = whereabouts(original.book, self._pages, self._places)

    def whole(self) -> Iterator[Difference]:
        """Whether every puzzle, answer and diagram of the book has its place, once."""
        count: dict[tuple[Kind, str, int], int] = {}
        for place in self._places:
            if place.shown.in_book:
                key = place.shown.kind, place.shown.id, place.shown.stage
                count[key] = count.get(key, 0) + 1
        for key in chain.from_iterable(self._due(entry) for entry in self._entries.values()):
            if count.get(key, 0) != 1:
                yield Difference(None, f"{key[0]} of '{key[1]}'", None, f"it stands in {count.get(key, 0)} places")

    def _due(self, entry: Entry) -> Iterator[tuple[Kind, str, int]]:
        yield Kind.PUZZLE, entry.id, 0
        yield Kind.ANSWER, entry.id, 0
        if entry.solutions is not Solutions.NONE:
            for stage in turning_points(self._original.solved.works[entry.id].path):
                yield Kind.STAGE, entry.id, stage

    def grids(self) -> Iterator[Difference]:
        """Figures, lines and tints of every grid."""
        heavy = _told_apart(self._original.book.layout)
        for place in self._places:
            try:
                want = wanted(place.shown, self._entries, self._original.solved.answers)
            except NoAnswer as error:
                yield Difference(place.page, place.name, None, str(error))
                continue
            area = area_of(place, self._leaves[place.page - 1])
            found = [*compare_figures(area, want), *compare_fences(area, want, heavy), *compare_tints(area, want)]
            if found:
                self._told.append(place)
            yield from found

    def texts(self) -> Iterator[Difference]:
        """Page numbers first, then all words, but those of grids that `grids` has told of."""
        references = References(self._original.laid.setting, self._where, self._pages, self._lines)
        yield from references.compare(self._places)
        for number, (page, leaf) in enumerate(zip(self._pages, self._leaves, strict=True), 1):
            yield from compare_prose(page, leaf, self._original.laid.setting.fonts,
                                     [place for place in self._places if place.page == number],
                                     [place for place in self._told if place.page == number])

    def leads(self, links: bool, bookmarks: bool) -> Iterator[Difference]:
        """Links and bookmarks, as far as the file is to have them."""
        anchors = dict(self._where.anchors)
        anchors.update((puzzle_anchor(name), page) for name, page in self._where.puzzles.items())
        anchors.update((answer_anchor(name), page) for name, page in self._where.answers.items())
        destinations = Destinations(self._document.reader)
        if links:
            for sheet, trim, page, lines in zip(self._document.sheets, self._trims, self._pages, self._lines,
                                                strict=True):
                found = list(leads_of(sheet, trim, destinations))
                yield from compare_links(sheet.number, page, found, anchors, lines)
        if bookmarks:
            yield from compare_bookmarks(self._document.root, destinations, self._original.laid.bookmarks, anchors)


def _told_apart(layout: Layout) -> bool:
    """Whether the layout means lines between regions to be heavier than cell lines, in its smallest grids, too."""
    return layout.weights.region > 1.02 * max(layout.weights.cell, 0.4)
