"""Objects cut up the quick way, against pypdf's own reading of the same bytes."""

from __future__ import annotations

import io
import logging
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader
from pypdf.generic import DictionaryObject, IndirectObject, StreamObject, TextStringObject

from cagework.typeset.reader.parsing import Reader


def plain(thing: Any) -> Any:
    """An object with the types of all that is in it, references as their numbers."""
    if isinstance(thing, DictionaryObject):
        data = thing._data if isinstance(thing, StreamObject) else None
        return type(thing), [(plain(key), plain(dict.__getitem__(thing, key))) for key in thing], data
    if isinstance(thing, list):
        return type(thing), [plain(item) for item in list.__iter__(thing)]
    if isinstance(thing, IndirectObject):
        return thing.idnum, thing.generation
    if isinstance(thing, TextStringObject):
        return str(thing), thing.original_bytes, thing.autodetect_utf16, thing.autodetect_pdfdocencoding
    return type(thing), repr(thing)


def read(reader: PdfReader, number: int) -> Any:
    """An object, and the number it then knows itself by; or what stands against reading it."""
    try:
        found: Any = reader.get_object(IndirectObject(number, 0, reader))
    except Exception as error:
        return repr(error)
    return plain(found), getattr(getattr(found, "indirect_reference", None), "idnum", None)


def numbers(reader: PdfReader) -> list[int]:
    free = reader.xref_free_entry.get(0, {})
    return [number for number in reader.xref[0] if not free.get(number)]


def test_every_object_of_a_file_reads_as_pypdf_reads_it(pages_pdf: bytes, clean_x4: bytes) -> None:
    for data in (pages_pdf, clean_x4):
        ours, theirs = Reader(data, strict=True), PdfReader(io.BytesIO(data), strict=True)
        assert [read(ours, one) for one in numbers(ours)] == [read(theirs, one) for one in numbers(theirs)]
        quick = [number for number in numbers(ours) if ours._usual(number, 0) is not None]
        assert len(quick) > 0.9 * len(numbers(ours))


def with_body(body: bytes) -> bytes:
    """A file whose fourth object has this body."""
    bodies = [b"<< /Type /Catalog /Pages 2 0 R >>", b"<< /Type /Pages /Kids [ 3 0 R ] /Count 1 >>",
              b"<< /Type /Page /Parent 2 0 R /MediaBox [ 0 0 9 9 ] >>", body, b"3"]
    data, places = b"%PDF-1.4\n", []
    for number, one in enumerate(bodies, 1):
        places.append(len(data))
        data += b"%d 0 obj\n%b\nendobj\n" % (number, one)
    table = b"".join(b"%010d 00000 n \n" % place for place in places)
    end = b"xref\n0 6\n0000000000 65535 f \n%btrailer\n<< /Size 6 /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n"
    return data + end % (table, len(data))


PIECES = [
    b"<<", b">>", b"[", b"]", b"/A", b"/B", b"/Length", b"/A#42", b"/", b"/a.b+c", b"1", b"-2", b"+3", b"007",
    b"4.50", b"-.5", b"5.", b"--6", b"1.2.3", b"3 0 R", b"5 0 R", b"9 9 R", b"3 0 Rx", b"true", b"null", b"(a)",
    b"()", b"(a(b))", rb"(\(\)\\)", rb"(\101\60\7)", rb"(\777)", rb"(\n\r\t\b)", rb"(\\040)", rb"(\q)", b"(a\rb)",
    b"(\xe9\x93)", b"(\xfe\xff\0a)", b"(\x7f\x02)", b"<6162>", b"<616>", b"% c\n", b"stream\nabc\nendstream",
    b"stream\r\nabcd\nendstream", b"endobj", b"obj", b"{", b"R",
]
FORMS = [b"%b", b"<< %b >>", b"[ %b ]", b"<< /A %b >>", b"<</Length 3 /A %b>>\nstream\nabc\nendstream"]


@contextmanager
def quiet() -> Iterator[None]:
    logging.disable()
    try:
        yield
    finally:
        logging.disable(logging.NOTSET)


@pytest.mark.parametrize("strict", [True, False])
@given(st.lists(st.sampled_from(PIECES), max_size=7), st.sampled_from([b" ", b"\n", b"\r\n", b"\0", b""]),
       st.sampled_from(FORMS))
def test_any_object_reads_as_pypdf_reads_it(strict: bool, pieces: list[bytes], gap: bytes, form: bytes) -> None:
    data = with_body(form % gap.join(pieces))
    with quiet():
        ours, theirs = Reader(data, strict=strict), PdfReader(io.BytesIO(data), strict=strict)
        assert read(ours, 4) == read(theirs, 4)
