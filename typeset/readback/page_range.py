"""A range of a book's pages, read one after another: what is wrong on each, and what must be held against others.

Nothing of a page is kept once it is read, so that a book may be of any length, and ranges of it read apart.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import chain
from typing import NamedTuple

from cagework.layouts.load import Layout
from cagework.typeset.plan import Pages, Solved
from cagework.typeset.readback.cage_outlines import compare_cage_outlines
from cagework.typeset.readback.difference import Difference
from cagework.typeset.readback.expected import NoAnswer, expected_of
from cagework.typeset.readback.figures import compare_figures
from cagework.typeset.readback.grid_area import area_of
from cagework.typeset.readback.grid_places import GridPlace, Standing, placed, words_of
from cagework.typeset.readback.links import Destinations, LinkTarget, links_of, links_on
from cagework.typeset.readback.page_content import PageContent, read_content
from cagework.typeset.readback.page_references import ContentsRow, Head, PageReferences, Said, folios
from cagework.typeset.readback.prose import compare_prose
from cagework.typeset.readback.text_lines import lines_of
from cagework.typeset.readback.tints import compare_tints
from cagework.typeset.reader.document import PdfDocument
from cagework.typeset.reader.geometry import Rectangle


class RangeRead(NamedTuple):
    """What reading some pages leaves, each kind in the order of the pages: the anchors and the book's grids with
    their pages; what is amiss in grids, round them, at the foot, with words and with links; page numbers and links
    that are yet to be held against where things stand.
    """

    anchors: tuple[tuple[str, int], ...]
    standing: tuple[Standing, ...]
    grids: tuple[Difference, ...]
    round: tuple[Difference | Said, ...]
    rows: tuple[ContentsRow, ...]
    heads: tuple[Head, ...]
    folios: tuple[Difference, ...]
    words: tuple[Difference, ...]
    links: tuple[Difference | LinkTarget, ...]


def joined(parts: Iterable[RangeRead]) -> RangeRead:
    """Parts that follow one another as one."""
    return RangeRead(*(tuple(chain.from_iterable(kind)) for kind in zip(*parts, strict=True)))


class RangeReader:
    """Reads the pages of a file against those a book was laid out on, `trims` being where these lie on its sheets;
    links only where `destinations` tell where they lead.
    """

    def __init__(self, document: PdfDocument, solved: Solved, laid: Pages, trims: Sequence[Rectangle],
                 destinations: Destinations | None) -> None:
        self._document, self._laid, self._trims = document, laid, trims
        self._answers = solved.answers
        self._entries = {entry.id: entry for entry in laid.setting.book.entries}
        self._sayings = PageReferences(laid.setting.book, laid.setting.words)
        self._told_apart = _told_apart(laid.setting.layout)
        self._destinations = destinations

    def read(self, places: Iterable[int]) -> RangeRead:
        """Pages by their places from 0, each read once. UnreadablePdf where a page's content makes no sense."""
        return joined(self._page(place + 1) for place in places)

    def _page(self, number: int) -> RangeRead:
        page = self._laid.pages[number - 1]
        sheet, trim = self._document.sheets[number - 1], self._trims[number - 1]
        leaf = read_content(sheet, trim)
        sheet.forget()
        lines = lines_of(leaf.runs)
        texts = tuple(words_of(page.marks))
        places = placed(number, page)
        amiss = [(place, list(self._grid(place, leaf))) for place in places]
        told = [place for place, found in amiss if found]
        links: Iterable[Difference | LinkTarget] = ()
        if self._destinations:
            links = links_on(page, number, list(links_of(sheet, trim, self._destinations)), lines)
        return RangeRead(
            tuple((anchor.name, number) for anchor in page.anchors),
            tuple(Standing(place.shown.kind, place.shown.id, place.shown.stage, number)
                  for place in places if place.shown.in_book),
            tuple(chain.from_iterable(found for _, found in amiss)),
            tuple(self._sayings.round_grids(places, lines)),
            tuple(self._sayings.rows(number, lines)),
            tuple(self._sayings.heads(number, lines)),
            tuple(folios(number, texts, lines)),
            tuple(compare_prose(page, texts, leaf, self._laid.setting.fonts, places, told)),
            tuple(links),
        )

    def _grid(self, place: GridPlace, leaf: PageContent) -> Iterator[Difference]:
        """Figures, lines and tints of a grid."""
        try:
            want = expected_of(place.shown, self._entries, self._answers)
        except NoAnswer as error:
            yield Difference(place.page, place.name, None, str(error))
            return
        area = area_of(place, leaf)
        yield from compare_figures(area, want)
        yield from compare_cage_outlines(area, want, self._told_apart)
        yield from compare_tints(area, want)


def _told_apart(layout: Layout) -> bool:
    """Whether the layout means lines between regions to be heavier than cell lines, in its smallest grids, too."""
    return layout.weights.region > 1.02 * max(layout.weights.cell, 0.4)
