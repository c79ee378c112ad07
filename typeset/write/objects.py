"""A PDF's objects, read from its bytes, changed and added to, and written as one file again (ISO 32000-1, 7.3 and
7.5).

They keep their numbers, and are neither copied nor looked through for what no page uses: that is for files that
reportlab has just written, and takes a third of the time of pypdf's own way.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping, Sequence
from functools import lru_cache
from types import MappingProxyType
from typing import Any

from pypdf.generic import (
    ArrayObject,
    ByteStringObject,
    DictionaryObject,
    IndirectObject,
    NameObject,
    NumberObject,
    StreamObject,
)

from cagework.typeset.reader.keys import look
from cagework.typeset.reader.parsing import Reader


class FileObjects:
    """The objects of one file whose tables are plain: numbered from 1 without a gap, none in a stream."""

    def __init__(self, data: bytes) -> None:
        reader = Reader(data, strict=True)
        self._held: list[Any] = [reader.get_object(IndirectObject(number, 0, reader))
                                 for number in sorted(reader.xref[0])]
        self._root, self._info = (reader.trailer.raw_get(key) for key in ("/Root", "/Info"))
        assert sorted(reader.xref[0]) == list(range(1, len(self._held) + 1)), "objects are numbered without a gap"

    @property
    def root(self) -> DictionaryObject:
        """The catalogue."""
        return self._dictionary(self._root)

    @property
    def info(self) -> DictionaryObject:
        """What the file says of itself."""
        return self._dictionary(self._info)

    @property
    def pages(self) -> Sequence[DictionaryObject]:
        """The pages, of a file that lists all in one node."""
        kids: Any = look(self.root["/Pages"], "/Kids")
        return [self._dictionary(kid) for kid in list.__iter__(kids)]

    def add(self, thing: Any) -> IndirectObject:
        """Take one more object: the reference to it."""
        self._held.append(thing)
        return IndirectObject(len(self._held), 0, self)

    def get_object(self, reference: IndirectObject) -> Any:
        """What a reference leads to, as pypdf asks for it."""
        return self._held[reference.idnum - 1]

    def _dictionary(self, reference: Any) -> DictionaryObject:
        found = self.get_object(reference)
        assert isinstance(found, DictionaryObject)
        return found

    def written(self, version: str, ident: bytes) -> bytes:
        """The whole as a file of a version such as 1.4, named by `ident`."""
        out = [f"%PDF-{version}\n".encode() + b"%\xe2\xe3\xcf\xd3\n"]
        at, places = len(out[0]), []
        for number, thing in enumerate(self._held, 1):
            places.append(at)
            out.append(b"%d 0 obj\n%b\nendobj\n" % (number, _code(thing)))
            at += len(out[-1])
        trailer = DictionaryObject({
            NameObject("/Size"): NumberObject(len(places) + 1), NameObject("/Root"): self._root,
            NameObject("/Info"): self._info, NameObject("/ID"): ArrayObject([ByteStringObject(ident)] * 2)})
        out.append(b"xref\n0 %d\n0000000000 65535 f \n" % (len(places) + 1))
        out += [b"%010d 00000 n \n" % place for place in places]
        out.append(b"trailer\n%b\nstartxref\n%d\n%%%%EOF\n" % (_code(trailer), at))
        return b"".join(out)


def _code(thing: Any) -> bytes:
    """An object as it stands in a file."""
    if (usual := _USUAL.get(type(thing))) is not None:
        return usual(thing)
    if isinstance(thing, StreamObject):
        thing[NameObject("/Length")] = NumberObject(len(thing._data))
        return b"%b\nstream\n%b\nendstream" % (_dictionary(thing), thing._data)
    out = io.BytesIO()
    thing.write_to_stream(out)
    return out.getvalue()


def _dictionary(thing: DictionaryObject) -> bytes:
    return b"<<%b>>" % b" ".join([b"%b %b" % (_name(key), _code(value)) for key, value in dict.items(thing)])


def _array(thing: ArrayObject) -> bytes:
    return b"[%b]" % b" ".join(map(_code, list.__iter__(thing)))


def _reference(thing: IndirectObject) -> bytes:
    return b"%d %d R" % (thing.idnum, thing.generation)


@lru_cache(4096)
def _name(name: NameObject) -> bytes:
    return name.renumber()


_USUAL: Mapping[type, Callable[[Any], bytes]] = MappingProxyType({
    DictionaryObject: _dictionary, ArrayObject: _array, IndirectObject: _reference, NameObject: _name,
    NumberObject: lambda number: b"%d" % number,
})
