"""Whatever bytes come in, preflight answers with a report or with its own error."""

from __future__ import annotations

import io
from typing import Any

import pikepdf
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pikepdf import Dictionary, Name, Stream

from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.report import Report, preflight
from cagework.typeset.reader.document import UnreadablePdf

QUIET = settings(max_examples=60)


def answered(data: bytes) -> None:
    try:
        assert isinstance(preflight(data, Profile()), Report)
    except UnreadablePdf as error:
        assert str(error)


@QUIET
@given(st.binary(max_size=400))
def test_random_bytes(data: bytes) -> None:
    answered(data)


@QUIET
@given(st.binary(max_size=400))
def test_random_bytes_behind_a_pdf_header(data: bytes) -> None:
    answered(b"%PDF-1.4\n" + data)


@QUIET
@given(at=st.floats(0, 1))
def test_a_truncated_file(at: float, clean: bytes) -> None:
    answered(clean[:int(at * len(clean))])


@QUIET
@given(at=st.floats(0, 0.999), put=st.binary(min_size=1, max_size=8))
def test_a_file_with_a_few_bytes_changed(at: float, put: bytes, clean: bytes) -> None:
    start = int(at * len(clean))
    answered(clean[:start] + put + clean[start + len(put):])


@QUIET
@given(code=st.lists(st.sampled_from(
    ["q", "Q", "1", "-2.5", "/F1", "/Nil", "(x)", "[(a) 3]", "<41", "cm", "Tm", "Tf", "Tj", "TJ", "'", "re",
     "f", "S", "W", "n", "k", "scn", "cs", "gs", "Do", "sh", "BT", "ET", "m", "l", "c", "w", "BI", "ID", "EI",
     "<<", "]"]),
    max_size=30).map(" ".join))
def test_operators_in_any_order(code: str, clean: bytes) -> None:
    with pikepdf.open(io.BytesIO(clean)) as pdf:
        pdf.pages[0].Contents = Stream(pdf, code.encode())
        out = io.BytesIO()
        pdf.save(out)
    answered(out.getvalue())


@pytest.mark.parametrize(("data", "says"), [
    (b"", "not a PDF"), (b"PK\x03\x04", "not a PDF"), (b"%PDF-1.4\n%%EOF\n", "broken"),
])
def test_what_is_no_pdf_is_called_so(data: bytes, says: str) -> None:
    with pytest.raises(UnreadablePdf, match=says):
        preflight(data, Profile())


def test_a_locked_file_is_called_so(clean: bytes, altered: Any) -> None:
    locked = altered(clean, lambda pdf: None, encryption=pikepdf.Encryption(
        owner="owner", user="user", R=3, aes=False, metadata=False))
    with pytest.raises(UnreadablePdf, match="password"):
        preflight(locked, Profile())


def test_a_file_without_pages_is_called_so(altered: Any) -> None:
    out = io.BytesIO()
    pikepdf.new().save(out)
    with pytest.raises(UnreadablePdf, match="no pages"):
        preflight(out.getvalue(), Profile())


def test_a_form_that_draws_itself_is_called_endless(clean: bytes, altered: Any) -> None:
    def loop(pdf: Any) -> None:
        form = pdf.make_indirect(Stream(pdf, b"/Me Do", Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 9, 9]))
        form.Resources = Dictionary(XObject=Dictionary(Me=form))
        pdf.pages[0].Resources.XObject = Dictionary(Me=form)
        pdf.pages[0].contents_add(b"/Me Do")

    with pytest.raises(UnreadablePdf, match=r"page 1 .* without end"):
        preflight(altered(clean, loop), Profile())


def test_forms_that_multiply_are_given_up(clean: bytes, altered: Any) -> None:
    """Eleven levels of ten each would draw a hundred thousand million lines."""
    def breed(pdf: Any) -> None:
        form = pdf.make_indirect(Stream(pdf, b"0 0 m 5 5 l S", Type=Name.XObject, Subtype=Name.Form,
                                        BBox=[0, 0, 900, 900]))
        for _ in range(11):
            form = pdf.make_indirect(Stream(
                pdf, b"/Me Do " * 10, Type=Name.XObject, Subtype=Name.Form, BBox=[0, 0, 900, 900],
                Resources=Dictionary(XObject=Dictionary(Me=form))))
        pdf.pages[0].Resources.XObject = Dictionary(Me=form)
        pdf.pages[0].contents_add(b"/Me Do")

    with pytest.raises(UnreadablePdf, match="more drawing"):
        preflight(altered(clean, breed), Profile())
