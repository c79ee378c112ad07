"""What a file says to those who hear it, its structure tree, held against what the marks would say."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from pypdf.generic import IndirectObject

from cagework.typeset.marks import Fill, Group, Mark, Outline, Page, Picture, flatten
from cagework.typeset.readback.difference import Difference
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.geometry import box_round
from cagework.typeset.reader.keys import each, follow, look, numbers

_KEYS = frozenset({"/Type", "/S", "/P", "/Pg", "/K", "/Alt", "/A"})
"""Entries that a book's elements have (ISO 32000-1, table 323)."""

_MARKED = re.compile(rb"/([A-Za-z0-9]+)\s*<<([^<>]*)>>\s*BDC\b")
_NEAR = 0.5
"""Points by which a figure's extent may be off."""

_MOST = 60


class Due(NamedTuple):
    """A piece of a page that is told: its tag, what is said in its place, its extent where it is a figure."""

    tag: str
    alt: str
    extent: tuple[float, float, float, float] | None


Element = tuple[int, str]
"""An element's number in the file, 0 where it has none, and its tag, empty where that number has several."""


class TagsRead(NamedTuple):
    """Of one page: what is amiss, and its elements, in the order they should have."""

    amiss: tuple[Difference, ...]
    elements: tuple[Element, ...]


class Tags:
    """The structure tree of one file."""

    def __init__(self, document: PdfDocument) -> None:
        self._root = look(document.root, "/StructTreeRoot")
        self._marked = look(look(document.root, "/MarkInfo"), "/Marked", False)
        self._parents = dict(_numbered(look(self._root, "/ParentTree"), 0))

    def page(self, sheet: PdfPage, page: Page) -> TagsRead:
        """What is amiss with one page's."""
        if self._root is None:
            return TagsRead((), ())
        due = list(_due(page.marks, page.height))
        there = follow(self._parents.get(int(look(sheet.page, "/StructParents", -1))))
        raw = list(there) if isinstance(there, list) else []
        links = [self._parents.get(int(look(note, "/StructParent", -1)))
                 for note in each(look(sheet.page, "/Annots"))]
        amiss = list(self._elements(sheet, due, raw))
        amiss += self._links(page, links)
        amiss += _content(sheet, due)
        elements: tuple[Element, ...] = ((0, ""),)      # their order cannot be told; the links are told of
        if len(links) == len(page.links):
            read = len(raw) == len(due)
            elements = tuple([(_number(one), _tag(one) if read and _is_first(one) else "")
                              for one in (*raw, *links)])
        return TagsRead(tuple(Difference(sheet.number, "tags", None, message) for message in amiss), elements)

    def whole(self, elements: Iterable[Element]) -> Iterator[Difference]:
        """What is amiss with all of them: those of each page, in the order they are read."""
        for message in self._whole(list(elements)):
            yield Difference(None, "tags", None, message)

    def _whole(self, elements: list[Element]) -> Iterator[str]:
        if self._root is None:
            yield "the file has none: it says nothing to those who hear it"
            return
        if not self._marked:
            yield "the file does not say that it has them (MarkInfo)"
        for key in ("/RoleMap", "/ClassMap"):
            if key in self._root:
                yield f"they are given another meaning ({key[1:]})"
        document = look(self._root, "/K")
        if look(document, "/S") != "/Document":
            yield "they are not those of a document"
        kids = list(_leaves(look(document, "/K") or (), dict(elements)))
        if any((kid.tag in _LISTED) != kid.in_list for kid in kids):
            yield "lists are not told as lists"
        numbers_read = [number for number, _ in elements]
        if 0 not in numbers_read and [kid.number for kid in kids] != numbers_read:
            yield "the pages are not read in their order"

    def _elements(self, sheet: PdfPage, due: list[Due], raw: list[Any]) -> Iterator[str]:
        if len(raw) != len(due):
            yield f"there are {len(raw)}; there should be {len(due)}"
            return
        for number, (want, one) in enumerate(zip(due, raw, strict=True)):
            element = follow(one)
            yield from _unlike(want, element)
            if look(element, "/K") != number or not _same(element.get("/Pg"), sheet):
                yield f"that of the {_word(want.tag)} number {number + 1} is of something else"

    @staticmethod
    def _links(page: Page, raw: list[Any]) -> Iterator[str]:
        if len(raw) != len(page.links):
            return      # told of with the links
        for link, one in zip(page.links, raw, strict=True):
            yield from _unlike(Due("Link", link.says, None), follow(one))


class _Leaf(NamedTuple):
    """An element that is content: its number in the file, its tag, and whether it stands in an item of a list."""

    number: int
    tag: str
    in_list: bool


def _leaves(kids: Iterable[Any], known: Mapping[int, str]) -> Iterator[_Leaf]:
    """A document's elements in order, lists and their items opened (ISO 32000-1, 14.8.4.3.3); the tags of those
    that were read on their pages are known.
    """
    for kid in kids:
        tag = _known_tag(kid, known)
        if tag != "/L":
            yield _Leaf(_number(kid), tag, False)
            continue
        for item in each(look(follow(kid), "/K")):
            held = look(item, "/K") or ()
            tags = [_known_tag(one, known) for one in held]
            whole = look(item, "/S") == "/LI" and tags in _ITEMS
            yield from (_Leaf(_number(one), tag, whole) for one, tag in zip(held, tags, strict=True))


_ITEMS = (["/Lbl", "/LBody"], ["/LBody"])
"""What an item of a list has: its label, but where it goes on from another page, and what it says."""
_LISTED = ("/Lbl", "/LBody")


def _number(kid: Any) -> int:
    return kid.idnum if isinstance(kid, IndirectObject) else 0


def _is_first(kid: Any) -> bool:
    """Whether an element is the first of its number, as nearly all are."""
    return isinstance(kid, IndirectObject) and not kid.generation


def _known_tag(kid: Any, known: Mapping[int, str]) -> str:
    return (known.get(kid.idnum) if _is_first(kid) else None) or _tag(kid)


def _tag(kid: Any) -> str:
    return str(look(kid, "/S", ""))


def _numbered(tree: Any, depth: int) -> Iterator[tuple[int, Any]]:
    """The entries of a number tree (ISO 32000-1, 7.9.7), values as they stand."""
    listed = look(tree, "/Nums")
    if listed is not None:
        raw = list(listed)
        yield from ((int(key), value) for key, value in zip(raw[::2], raw[1::2], strict=False))
    if depth < 12:
        for kid in each(look(tree, "/Kids")):
            yield from _numbered(kid, depth + 1)


def _due(marks: Iterable[Mark], height: float) -> Iterator[Due]:
    for mark in marks:
        if isinstance(mark, Group) and mark.tag is None:
            yield from _due(mark.marks, height)
        elif isinstance(mark, Group):
            yield Due(str(mark.tag), mark.alt, _extent(mark, height) if mark.alt else None)


def _extent(group: Group, height: float) -> tuple[float, float, float, float] | None:
    points = [point for mark in flatten(group.marks) if isinstance(mark, Outline | Fill | Picture)
              for ring in mark.rings for point in ring]
    if not points:
        return None
    box = box_round(points)
    return box.left, height - box.top, box.right, height - box.low


def _unlike(want: Due, element: Any) -> Iterator[str]:
    """In what an element is not the wanted one."""
    tag = str(look(element, "/S", "")).lstrip("/")
    if tag != want.tag:
        yield f"a {_word(want.tag)} is tagged as '{tag}'"
        return
    alt = str(look(element, "/Alt", ""))
    if alt != want.alt:
        yield f"in place of a {_word(want.tag)} '{_cut(alt)}' is read aloud; it should be '{_cut(want.alt)}'"
    more = sorted(set(map(str, element)) - _KEYS)
    if more:
        yield f"a {_word(want.tag)} says something else to those who hear it ({', '.join(more)})"
    if want.extent is not None:
        edges = numbers(look(look(element, "/A"), "/BBox"))
        if len(edges) != 4 or max(abs(a - b) for a, b in zip(edges, want.extent, strict=True)) > _NEAR:
            yield f"the extent of a {_word(want.tag)} is another than it is drawn in"


def _content(sheet: PdfPage, due: list[Due]) -> Iterator[str]:
    """Whether the page's content is marked as its elements are numbered."""
    marked = [(tag.decode(), b"".join(said.split())) for tag, said in _MARKED.findall(sheet.unpack())]
    if marked != [(want.tag, b"/MCID%d" % number) for number, want in enumerate(due)]:
        yield "the page's content is not marked as it should be"


def _same(reference: Any, sheet: PdfPage) -> bool:
    return reference is not None and follow(reference) is follow(sheet.page.indirect_reference)


def _word(tag: str) -> str:
    return {"H1": "title", "H2": "heading", "H3": "heading", "H4": "heading", "P": "paragraph", "Figure": "figure",
            "Lbl": "label", "LBody": "list item", "Link": "link"}.get(tag, tag)


def _cut(text: str) -> str:
    return text if len(text) <= _MOST else text[:_MOST - 1] + "…"
