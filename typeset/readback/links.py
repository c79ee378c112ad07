"""Links and bookmarks: where they lead, held against where what they name is found to stand."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

from pypdf import PdfReader
from pypdf.generic import Destination, DictionaryObject

from cagework.typeset.marks import Bookmark, Link, Page
from cagework.typeset.readback.difference import Difference
from cagework.typeset.readback.text_lines import TextLine
from cagework.typeset.reader.document import PdfPage, read_box
from cagework.typeset.reader.geometry import Rectangle
from cagework.typeset.reader.keys import each, look

_NEAR = 1.5
"""Points by which a link's edges may have been moved."""


@dataclass(frozen=True, slots=True)
class FoundLink:
    """A link as the file has it: its box in pt from the trim's corner, y down (`low` is its foot), and the page it
    leads to; None where it leads to none, and then `outside` says where.
    """

    box: Rectangle
    page: int | None
    outside: str

    @property
    def goes(self) -> str:
        """Where to, in words."""
        return f"page {self.page}" if self.page else self.outside


class LinkTarget(NamedTuple):
    """A link on page `page` over the words `said`: the anchor it should lead to, and the page it does (None where
    it leads to none), in words `goes`.
    """

    page: int
    said: str
    target: str
    to: int | None
    goes: str


class Destinations:
    """What names and page references of one file lead to."""

    def __init__(self, reader: PdfReader) -> None:
        self._named = reader.named_destinations
        self._numbers = {page.indirect_reference.idnum: number for number, page in enumerate(reader.pages, 1)
                         if page.indirect_reference is not None}

    def page(self, target: Any) -> int | None:
        """The page a destination leads to (ISO 32000-1, 12.3.2): a name, an array, or a dictionary with one."""
        if isinstance(target, dict) and not isinstance(target, Destination):
            target = look(target, "/D")
        if isinstance(target, (str, bytes)):
            name = target.decode("latin-1") if isinstance(target, bytes) else str(target)
            target = self._named.get(name)
        if isinstance(target, Destination):
            target = [target.raw_get("/Page")]
        if not isinstance(target, list) or not target:
            return None
        return self._numbers.get(getattr(target[0], "idnum", -1))


def links_of(sheet: PdfPage, trim: Rectangle, destinations: Destinations) -> Iterator[FoundLink]:
    """A page's links."""
    for note in each(look(sheet.page, "/Annots")):
        if look(note, "/Subtype") != "/Link":
            continue
        edge = read_box(note["/Rect"])
        box = Rectangle(edge.left - trim.left, trim.top - edge.low, edge.right - trim.left, trim.top - edge.top)
        action = look(note, "/A")
        target = look(action, "/D") if look(action, "/S") == "/GoTo" else look(note, "/Dest")
        page = destinations.page(target) if target is not None else None
        yield FoundLink(box, page, str(look(action, "/URI", look(action, "/S", "nowhere"))))


def links_on(
    page: Page, number: int, leads: Sequence[FoundLink], lines: Sequence[TextLine],
) -> Iterator[Difference | LinkTarget]:
    """A page's links where they lead to; those that are missing, or are not the book's."""
    left = list(leads)
    for link in page.links:
        lead = next((one for one in left if _over(link, one)), None)
        over = [line for line in lines if link.y < line.base < link.y + link.height]
        said = " ".join(filter(None, (line.words(link.x - 1, link.x + link.width + 1) for line in over)))
        if lead is None:
            yield Difference(number, "links", None, f"the link on '{said}' is missing")
            continue
        left.remove(lead)
        yield LinkTarget(number, said, link.target, lead.page, lead.goes)
    for lead in left:
        yield Difference(number, "links", None, f"a link leads to {lead.goes} that the book does not have")


def compare_links(links: Iterable[Difference | LinkTarget], anchors: Mapping[str, int]) -> Iterator[Difference]:
    """Links that lead elsewhere, or say another page than they lead to, among whatever else is amiss with them."""
    for link in links:
        if isinstance(link, Difference):
            yield link
            continue
        where = anchors.get(link.target)
        if link.to != where:
            yield Difference(link.page, "links", None,
                             f"the link on '{link.said}' leads to {link.goes}; it should to page {where}")
        elif (told := _last_number(link.said)) is not None and told != where:
            yield Difference(link.page, "links", None, f"the link on '{link.said}' leads to page {where}")


def _over(link: Link, lead: FoundLink) -> bool:
    return (abs(lead.box.left - link.x) + abs(lead.box.right - link.x - link.width) < _NEAR
            and abs(lead.box.top - link.y) + abs(lead.box.low - link.y - link.height) < _NEAR)


def _last_number(text: str) -> int | None:
    """The number a text ends in, on its own or after letters that are no figures."""
    word = text.split()[-1] if text.split() else ""
    digits = word[len(word.rstrip("0123456789")):]
    return int(digits) if digits else None


def compare_bookmarks(
    root: DictionaryObject, destinations: Destinations, bookmarks: Sequence[Bookmark], anchors: Mapping[str, int],
) -> Iterator[Difference]:
    """Bookmarks that are missing, in another order, or lead elsewhere."""
    found = list(_outline(look(root, "/Outlines"), destinations, 0))
    wanted = [(mark.level, mark.title, anchors.get(mark.anchor)) for mark in bookmarks]
    for (level, title, page), there in zip(wanted, found, strict=False):
        if there[:2] != (level, title):
            yield Difference(None, "bookmarks", None, f"'{there[1]}' stands where '{title}' should")
            return
        if there[2] != page:
            goes = f"page {there[2]}" if there[2] else "no page"
            yield Difference(None, "bookmarks", None, f"'{title}' leads to {goes}; it should to page {page}")
    if len(found) != len(wanted):
        yield Difference(None, "bookmarks", None, f"there are {len(found)}; there should be {len(wanted)}")


def _outline(parent: Any, destinations: Destinations, level: int) -> Iterator[tuple[int, str, int | None]]:
    """All entries below one: level, title, page (ISO 32000-1, 12.3.3); each once, should they run in circles."""
    entry = look(parent, "/First")
    seen: set[int] = set()
    while isinstance(entry, DictionaryObject) and id(entry) not in seen and level < 12:
        seen.add(id(entry))
        target = look(entry, "/Dest")
        if target is None:
            target = look(look(entry, "/A"), "/D")
        yield level, str(look(entry, "/Title", "")), destinations.page(target)
        yield from _outline(entry, destinations, level + 1)
        entry = look(entry, "/Next")
