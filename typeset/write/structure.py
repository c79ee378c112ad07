"""What a page says to a reader who hears it, as a PDF's structure tree (ISO 32000-1, 14.7).

Pages are drawn with marked content numbered from 0; here each number becomes an element, and each link one more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from pypdf import PageObject, PdfWriter
from pypdf.generic import (
    ArrayObject,
    BooleanObject,
    DictionaryObject,
    FloatObject,
    IndirectObject,
    NameObject,
    NumberObject,
    TextStringObject,
)

from cagework.typeset.marks import Link, Tag


@dataclass(frozen=True, slots=True)
class TaggedElement:
    """A piece of marked content: its tag, what is said in its place where it is a figure, its extent in pt."""

    tag: Tag
    alt: str = ""
    extent: tuple[float, float, float, float] | None = None


def add_structure(
    writer: PdfWriter, pages: Sequence[Sequence[TaggedElement]], links: Sequence[Sequence[Link]],
) -> None:
    """Give a file its structure: for each page, what is told on it in order, then its links."""
    root, document = DictionaryObject(), DictionaryObject()
    root_at, document_at = writer._add_object(root), writer._add_object(document)
    tree = _Tree(writer, document_at)
    for page, told, leading in zip(writer.pages, pages, links, strict=True):
        tree.add_page(page, told, leading)
    document.update(_named({"/Type": NameObject("/StructElem"), "/S": NameObject("/Document"), "/P": root_at,
                            "/K": ArrayObject(tree.elements)}))
    parents = _named({"/Nums": ArrayObject(part for key, value in enumerate(tree.parents)
                                           for part in (NumberObject(key), value))})
    root.update(_named({"/Type": NameObject("/StructTreeRoot"), "/K": document_at,
                        "/ParentTree": writer._add_object(parents),
                        "/ParentTreeNextKey": NumberObject(len(tree.parents))}))
    writer.root_object.update(_named({
        "/StructTreeRoot": root_at, "/MarkInfo": _named({"/Marked": BooleanObject(True)}),
        "/ViewerPreferences": _named({"/DisplayDocTitle": BooleanObject(True)}),
    }))


class _Tree:
    """The tree under way: its elements in order, and what each number of the parent tree leads to."""

    def __init__(self, writer: PdfWriter, document: IndirectObject) -> None:
        self.elements: list[IndirectObject] = []
        self.parents: list[ArrayObject | IndirectObject] = []
        self._writer, self._document = writer, document

    def add_page(self, page: PageObject, told: Sequence[TaggedElement], links: Sequence[Link]) -> None:
        """One page's elements, and those of its links."""
        elements = [self._element(page, one.tag, NumberObject(number), one.alt, one.extent)
                    for number, one in enumerate(told)]
        page[NameObject("/StructParents")] = NumberObject(len(self.parents))
        page[NameObject("/Tabs")] = NameObject("/S")
        self.parents.append(ArrayObject(elements))
        for note, link in zip(page.get("/Annots", ()), links, strict=True):
            note.get_object().update(_named({"/StructParent": NumberObject(len(self.parents)),
                                             "/Contents": TextStringObject(link.says)}))
            held = _named({"/Type": NameObject("/OBJR"), "/Obj": note, "/Pg": page.indirect_reference})
            element = self._element(page, "Link", held, link.says, None)
            self.parents.append(element)
            elements.append(element)
        self.elements += elements

    def _element(self, page: PageObject, tag: str, kid: NumberObject | DictionaryObject, alt: str,
                 extent: tuple[float, float, float, float] | None) -> IndirectObject:
        element = _named({"/Type": NameObject("/StructElem"), "/S": NameObject(f"/{tag}"), "/P": self._document,
                          "/Pg": page.indirect_reference, "/K": kid})
        if alt:
            element[NameObject("/Alt")] = TextStringObject(alt)
        if extent:
            box = ArrayObject(FloatObject(round(edge, 3)) for edge in extent)
            element[NameObject("/A")] = _named({"/O": NameObject("/Layout"), "/BBox": box})
        return self._writer._add_object(element)


def _named(entries: dict[str, object]) -> DictionaryObject:
    return DictionaryObject({NameObject(key): value for key, value in entries.items()})
