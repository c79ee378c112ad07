"""What a page says to a reader who hears it, as a PDF's structure tree (ISO 32000-1, 14.7).

Pages are drawn with marked content numbered from 0; here each number becomes an element, and each link one more.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

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
from cagework.typeset.write.objects import FileObjects


@dataclass(frozen=True, slots=True)
class TaggedElement:
    """A piece of marked content: its tag, what is said in its place where it is a figure, its extent in pt; of the
    label of an item, whether it is a `number` or a `bullet`.
    """

    tag: Tag
    alt: str = ""
    extent: tuple[float, float, float, float] | None = None
    label: str = ""


def add_structure(
    file: FileObjects, pages: Sequence[Sequence[TaggedElement]], links: Sequence[Sequence[Link]],
) -> None:
    """Give a file its structure: for each page, what is told on it in order, then its links."""
    root, document = DictionaryObject(), DictionaryObject()
    root_at, document_at = file.add(root), file.add(document)
    tree = _Tree(file, document_at)
    for page, told, leading in zip(file.pages, pages, links, strict=True):
        tree.add_page(page, told, leading)
    document.update(_named({"/Type": _name("/StructElem"), "/S": NameObject("/Document"), "/P": root_at,
                            "/K": ArrayObject(tree.elements)}))
    parents = _named({"/Nums": ArrayObject(part for key, value in enumerate(tree.parents)
                                           for part in (NumberObject(key), value))})
    root.update(_named({"/Type": NameObject("/StructTreeRoot"), "/K": document_at,
                        "/ParentTree": file.add(parents),
                        "/ParentTreeNextKey": NumberObject(len(tree.parents))}))
    file.root.update(_named({
        "/StructTreeRoot": root_at, "/MarkInfo": _named({"/Marked": BooleanObject(True)}),
        "/ViewerPreferences": _named({"/DisplayDocTitle": BooleanObject(True)}),
    }))


_NUMBERING = {"number": "/Decimal", "bullet": "/Disc"}
"""Of the items' labels: how a list is numbered (ISO 32000-1, table 347)."""


class _Tree:
    """The tree under way: its elements in order, and what each number of the parent tree leads to."""

    def __init__(self, file: FileObjects, document: IndirectObject) -> None:
        self.elements: list[IndirectObject] = []
        self.parents: list[ArrayObject | IndirectObject] = []
        self._file, self._document = file, document

    def add_page(self, page: DictionaryObject, told: Sequence[TaggedElement], links: Sequence[Link]) -> None:
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
        told_of = elements[:len(told)]
        self.elements += [*self._in_lists(page, told, told_of), *elements[len(told):]]

    def _in_lists(
        self, page: DictionaryObject, told: Sequence[TaggedElement], elements: Sequence[IndirectObject],
    ) -> Iterator[IndirectObject]:
        """A page's elements, those of lists put in lists: L, and in it an LI for each label and what it says, or
        for what goes on from another page (ISO 32000-1, 14.8.4.3.3).
        """
        held: ArrayObject | None = None
        list_at, numbering = self._document, ""
        for one, element in zip(told, elements, strict=True):
            if one.tag not in (Tag.LABEL, Tag.ITEM):
                held = None
                yield element
                continue
            if held is None or (one.label and numbering not in ("", one.label)):
                held, numbering = ArrayObject(), ""
                list_at = self._branch(page, "L", self._document, held)
                yield list_at
            if one.label and not numbering:
                numbering = one.label
                _dictionary(list_at)[NameObject("/A")] = _named({
                    "/O": NameObject("/List"), "/ListNumbering": NameObject(_NUMBERING[numbering])})
            if one.tag is Tag.LABEL or not held or _is_whole(held[-1]):
                held.append(self._branch(page, "LI", list_at, ArrayObject()))
            item = held[-1]
            _dictionary(item)["/K"].append(element)
            _dictionary(element)[NameObject("/P")] = item

    def _branch(
        self, page: DictionaryObject, tag: str, parent: IndirectObject, kids: ArrayObject,
    ) -> IndirectObject:
        return self._file.add(_named({
            "/Type": _name("/StructElem"), "/S": _name(f"/{tag}"), "/P": parent,
            "/Pg": page.indirect_reference, "/K": kids}))

    def _element(self, page: DictionaryObject, tag: str, kid: NumberObject | DictionaryObject, alt: str,
                 extent: tuple[float, float, float, float] | None) -> IndirectObject:
        element = _named({"/Type": _name("/StructElem"), "/S": _name(f"/{tag}"), "/P": self._document,
                          "/Pg": page.indirect_reference, "/K": kid})
        if alt:
            element[_name("/Alt")] = _Said(alt)
        if extent:
            box = ArrayObject(FloatObject(round(edge, 3)) for edge in extent)
            element[_name("/A")] = _named({"/O": _name("/Layout"), "/BBox": box})
        return self._file.add(element)


class _Said(TextStringObject):
    """A string that may be long: written as pypdf does, but not letter by letter."""

    def write_to_stream(self, stream: Any) -> None:
        """Write it, all but letters, figures and blanks as their codes."""
        data = self.get_encoded_bytes()
        for code in sorted(set(data) - _PLAIN, key=lambda code: code != _BACKSLASH):
            data = data.replace(bytes((code,)), b"\\%03o" % code)
        stream.write(b"(%b)" % data)


_PLAIN = frozenset(code for code in range(128) if chr(code).isalnum()) | {32}
_BACKSLASH = ord("\\")


def _is_whole(item: IndirectObject) -> bool:
    """Whether an item has what it says."""
    return any(_dictionary(kid)["/S"] == f"/{Tag.ITEM}" for kid in _dictionary(item)["/K"])


def _dictionary(at: IndirectObject) -> Any:
    return at.get_object()


def _named(entries: dict[str, object]) -> DictionaryObject:
    return DictionaryObject({_name(key): value for key, value in entries.items()})


_name = lru_cache(64)(NameObject)
