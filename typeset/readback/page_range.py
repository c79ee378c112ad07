"""A range of a book's pages, read one after another: what is wrong on each, and what must be held against others.

Each page is read twice: its grids against their puzzles and answers, whatever was drawn; and the whole of it
against its marks, so that nothing is painted that the book does not have there, and nothing is missing.

Nothing of a page is kept once it is read, so that a book may be of any length, and ranges of it read apart.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from itertools import chain
from typing import NamedTuple

from cagework.layouts.load import Layout
from cagework.typeset.draw.shown import GridKind
from cagework.typeset.marks import Page
from cagework.typeset.plan import Pages, Solved
from cagework.typeset.preflight.rule import Finding
from cagework.typeset.readback.asked import Asked
from cagework.typeset.readback.cage_outlines import compare_cage_outlines
from cagework.typeset.readback.clues import compare_clues
from cagework.typeset.readback.contents import compare_contents
from cagework.typeset.readback.crowding import is_crowded
from cagework.typeset.readback.difference import Difference
from cagework.typeset.readback.expected import NoAnswer, expected_of
from cagework.typeset.readback.figures import compare_figures
from cagework.typeset.readback.grid_area import area_of
from cagework.typeset.readback.grid_places import GridPlace, Standing, placed, words_of
from cagework.typeset.readback.in_step import in_step
from cagework.typeset.readback.index_rows import IndexRows, IndexSaid
from cagework.typeset.readback.ledger import settle, sorted_out
from cagework.typeset.readback.lettering import Lettering
from cagework.typeset.readback.links import Destinations, LinkTarget, links_of, links_on
from cagework.typeset.readback.misfit import Box, Misfit
from cagework.typeset.readback.notes import compare_notes
from cagework.typeset.readback.page_content import PageContent, half_turned, read_content, trim_of
from cagework.typeset.readback.page_references import ContentsRow, Head, PageReferences, Said, folios
from cagework.typeset.readback.painted import Plate
from cagework.typeset.readback.sheets import compare_sheet, missized
from cagework.typeset.readback.spots import compare_spots
from cagework.typeset.readback.squares import compare_squares
from cagework.typeset.readback.tags import Element, Tags, TagsRead
from cagework.typeset.readback.text_lines import lines_of
from cagework.typeset.readback.tints import compare_tints
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.geometry import Rectangle
from cagework.typeset.reader.paint import Paint
from cagework.typeset.text.fonts import Fonts


class RangeRead(NamedTuple):
    """What reading some pages leaves, each kind in the order of the pages: the anchors and the book's grids with
    their pages; what is amiss in grids, on the page, round grids, at the foot, with links and
    tags; page numbers, links and elements that are yet to be held against where things stand; pages of the book
    that have no room for what stands on them; and what the preflight found.
    """

    anchors: tuple[tuple[str, int], ...]
    standing: tuple[Standing, ...]
    grids: tuple[Difference, ...]
    ledger: tuple[Difference, ...]
    round: tuple[Difference | Said, ...]
    rows: tuple[ContentsRow, ...]
    heads: tuple[Head, ...]
    index_rows: tuple[IndexSaid, ...]
    folios: tuple[Difference, ...]
    links: tuple[Difference | LinkTarget, ...]
    tags: tuple[Difference, ...]
    elements: tuple[Element, ...]
    crowded: tuple[int, ...]
    findings: tuple[Finding, ...]


def joined(parts: Iterable[RangeRead]) -> RangeRead:
    """Parts that follow one another as one."""
    return RangeRead(*(tuple(chain.from_iterable(kind)) for kind in zip(*parts, strict=True)))


PageLook = Callable[[PdfPage], Sequence[Finding]]
"""What else looks at a page while what it paints is known: to find that twice would take twice as long."""


def no_look(_: PdfPage) -> Sequence[Finding]:
    """Nothing else does."""
    return ()


class RangeReader:
    """Reads the pages of a file against those a book was laid out on, `trims` being where these lie on its sheets;
    links only where `destinations` tell where they lead. `look` is let look at each, too.
    """

    def __init__(self, document: PdfDocument, solved: Solved, laid: Pages, asked: Asked,
                 trims: Sequence[Rectangle], destinations: Destinations | None, tags: Tags | None,
                 look: PageLook = no_look) -> None:
        self._look = look
        self._document, self._laid, self._asked, self._trims = document, laid, asked, trims
        self._lettering = Lettering(laid.setting.fonts)
        self._tags = tags
        self._answers = solved.answers
        self._entries = {entry.id: entry for entry in laid.setting.book.entries}
        self._sayings = PageReferences(laid.setting.book, laid.setting.words)
        self._index = IndexRows(laid.setting)
        book = laid.setting.book
        self._layouts = {entry.id: layout for section in book.sections
                         for layout in [book.layout_in(section)] for entry in section.entries}
        self._destinations = destinations

    def read(self, places: Iterable[int]) -> RangeRead:
        """Pages by their places from 0, each read once. UnreadablePdf where a page's content makes no sense."""
        return joined(map(self._read, places))

    def _read(self, place: int) -> RangeRead:
        read = self._page(place + 1)
        self._document.sheets[place].forget()
        return read

    def _page(self, number: int) -> RangeRead:
        page = self._laid.pages[number - 1]
        sheet, trim = self._document.sheets[number - 1], self._trims[number - 1]
        leaf = read_content(sheet, trim)
        paints = sheet.paints
        findings = tuple(self._look(sheet))
        lines = lines_of(leaf.runs)
        texts = tuple(words_of(page.marks))
        places = placed(number, page)
        amiss = [(place, list(self._grid(place, leaf))) for place in places]
        told = [place for place, found in amiss if found]
        links: Iterable[Difference | LinkTarget] = ()
        if self._destinations:
            links = links_on(page, number, list(links_of(sheet, trim, self._destinations)), lines)
        heard = self._tags.page(sheet, page) if self._tags else TagsRead((), ())
        misfits = self._misfits(page, sheet, paints, leaf)
        return RangeRead(
            tuple((anchor.name, number) for anchor in page.anchors),
            tuple(Standing(place.shown.kind, place.shown.id, place.shown.picture, number)
                  for place in places if place.shown.in_book),
            tuple(chain.from_iterable(found for _, found in amiss)),
            tuple(sorted_out(misfits, number, places, told)),
            tuple(self._sayings.round_grids(places, lines)),
            tuple(self._sayings.rows(number, lines)),
            tuple(self._sayings.heads(number, lines)),
            tuple(self._index.read(number, lines)),
            tuple(folios(number, texts, lines)),
            (*_besides(self._document, sheet, trim, self._asked), *links),
            heard.amiss,
            heard.elements,
            (number,) if is_crowded(number, page, places, self._laid.setting) else (),
            findings,
        )

    def _misfits(
        self, page: Page, sheet: PdfPage, paints: Sequence[Paint], leaf: PageContent,
    ) -> Iterable[Misfit]:
        """What does not fit between a page's marks and its paints."""
        asked, trim = self._asked, self._trims[sheet.number - 1]
        marks = (*page.marks, *asked.outside(page, sheet.number)) if asked.outside else page.marks
        if in_step(marks, paints, leaf.runs, trim, self._lettering, _plate(asked)):
            return ()
        return settle(marks, paints, trim, sheet.media if asked.sheet else trim, self._lettering,
                      plate=_plate(asked))

    def _grid(self, place: GridPlace, leaf: PageContent) -> Iterator[Difference]:
        """Figures, lines and tints of a grid."""
        layout = self._laid.setting.layout
        if place.shown.kind is GridKind.PUZZLE and place.shown.in_book:
            layout = self._layouts.get(place.shown.id, layout)
        try:
            want = expected_of(place.shown, self._entries, self._answers, layout)
        except NoAnswer as error:
            yield Difference(place.page, place.name, None, str(error))
            return
        if place.shown.turned:
            leaf = half_turned(leaf, place.x + place.width / 2, place.y + place.height / 2)
        area = area_of(place, leaf)
        area, amiss = compare_spots(area, want)
        yield from amiss
        yield from compare_figures(area, want)
        yield from compare_squares(area, want)
        yield from compare_clues(area.place, leaf, want)
        yield from compare_cage_outlines(area, want, _told_apart(layout))
        yield from compare_tints(area, want)


Frames = Callable[[int], Sequence[Box]]
"""A page's place, from 0, to where what stands on it is cut, should it be cut anywhere but at its edges."""


class FlatRead(NamedTuple):
    """What reading some pages against their marks leaves: what is amiss, and what the preflight found."""

    amiss: tuple[Difference, ...]
    findings: tuple[Finding, ...]


class FlatReader:
    """Reads the pages of a file against their marks alone. `look` is let look at each, too."""

    def __init__(self, document: PdfDocument, pages: Sequence[Page], asked: Asked, fonts: Fonts,
                 frames: Frames, look: PageLook = no_look) -> None:
        self._document, self._pages, self._asked, self._frames = document, pages, asked, frames
        self._lettering = Lettering(fonts)
        self._look = look

    def read(self, places: Iterable[int]) -> FlatRead:
        """Pages by their places from 0. UnreadablePdf where a page's content makes no sense."""
        amiss: list[Difference] = []
        findings: list[Finding] = []
        for place in places:
            sheet = self._document.sheets[place]
            findings += self._look(sheet)
            amiss += self._page(self._pages[place], sheet, place)
            sheet.forget()
        return FlatRead(tuple(amiss), tuple(findings))

    def _page(self, page: Page, sheet: PdfPage, place: int) -> Iterator[Difference]:
        trim = trim_of(sheet, page.width, page.height)
        if trim is None:
            yield missized(sheet, page.width, page.height)
            return
        paints = sheet.paints
        plate = _plate(self._asked)
        if not in_step(page.marks, paints, (), trim, self._lettering, plate):
            misfits = settle(page.marks, paints, trim, sheet.media, self._lettering, self._frames(place), plate)
            yield from sorted_out(misfits, sheet.number, placed(sheet.number, page), ())
        yield from _besides(self._document, sheet, trim, self._asked)


def _plate(asked: Asked) -> Plate | None:
    return Plate(asked.spot, asked.press if asked.ours else None) if asked.spot else None


def _besides(document: PdfDocument, sheet: PdfPage, trim: Rectangle, asked: Asked) -> Iterator[Difference]:
    """What is amiss with a page besides what it paints."""
    yield from compare_sheet(sheet, trim, asked)
    yield from compare_contents(document, sheet)
    yield from compare_notes(sheet, asked)


def _told_apart(layout: Layout) -> bool:
    """Whether the layout means lines between regions to be heavier than cell lines, in its smallest grids, too."""
    return layout.weights.region > 1.02 * max(layout.weights.cell, 0.4)
