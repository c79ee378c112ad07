"""Whatever bytes come in, preflight answers with a report or with its own error."""

from __future__ import annotations

import io
import subprocess
import sys
from pathlib import Path
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

    assert told(altered(clean, loop)) == [("content", 1, "without end")]


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

    assert told(altered(clean, breed)) == [("content", 1, "more drawing")]


def told(data: bytes) -> list[tuple[str, int | None, str]]:
    """Rule and page of each finding, and which of the words looked for it says."""
    words = ("without end", "more drawing", "MB of drawing", "broken", "pixels are more", "lie below",
        "more letters",
             "are the most")
    return [(finding.rule, finding.page, next((word for word in words if word in finding.message),
        finding.message))
            for finding in preflight(data, Profile()).findings]


def drawn_by(code: bytes, **keys: Any) -> Any:
    def put(pdf: Any) -> None:
        pdf.pages[1].Contents = Stream(pdf, code)
        for key, value in keys.items():
            pdf.pages[1].Resources[f"/{key}"] = value(pdf)

    return put


PIXELS = Name.DeviceCMYK


@pytest.mark.parametrize(("change", "says"), [
    (drawn_by(b"0 0 m 9 9 l S\n" * 3_000_000), "MB of drawing"),
    (drawn_by(b"0 0 m 9 9 l S\n" * 300_000), "more drawing"),
    (drawn_by(b"q " * 5_000_000), "more drawing"),
    (drawn_by(b"BT /F9 9 Tf " + (b"(" + b"a" * 30_000 + b") Tj ") * 300 + b"ET", Font=lambda pdf: Dictionary(
        F9=next(iter(pdf.pages[0].Resources.Font.values())))), "more letters"),
    (drawn_by(b"BT /F9 9 Tf (" + b"a" * 20_000_000 + b") Tj ET", Font=lambda pdf: Dictionary(
        F9=next(iter(pdf.pages[0].Resources.Font.values())))), "are the most"),
    (drawn_by(b"/Im Do", XObject=lambda pdf: Dictionary(Im=pdf.make_indirect(Stream(
        pdf, b"0", Subtype=Name.Image, Width=10 ** 6, Height=10 ** 6, BitsPerComponent=8, ColorSpace=PIXELS)))),
     "pixels are more"),
])
def test_a_bomb_is_refused_where_it_lies_and_the_rest_is_told(
    change: Any, says: str, clean: bytes, altered: Any,
) -> None:
    def spoil(pdf: Any) -> None:
        change(pdf)
        del pdf.docinfo["/ModDate"]

    data = altered(clean, spoil)
    assert len(data) < 300_000
    found = told(data)
    assert ("content", 2, says) in found
    assert ("document_info", None) in {finding[:2] for finding in found}
    assert {page for _, page, _ in found} == {None, 2}


def test_a_bomb_takes_little_memory(clean: bytes, altered: Any, tmp_path: Path) -> None:
    """Its own process, held to 1 GB by the system: forms that multiply lines, each with a pattern's cell."""
    def breed(pdf: Any) -> None:
        form = pdf.make_indirect(Stream(pdf, b"0 0 m 5 5 l 9 9 l h B " * 9000, Type=Name.XObject,
            Subtype=Name.Form,
                                        BBox=[0, 0, 900, 900]))
        pdf.pages[0].Resources.XObject = Dictionary(Me=form)
        pdf.pages[0].contents_add(b"/Me Do " * 20000)

    path = tmp_path / "bomb.pdf"
    path.write_bytes(altered(clean, breed))
    code = ("import resource, sys; resource.setrlimit(resource.RLIMIT_AS, (1 << 30, 1 << 30));"
            "from cagework.typeset.commands.door import main; sys.exit(main(sys.argv[1:]))")
    done = subprocess.run([sys.executable, "-c", code, "preflight", str(path)], capture_output=True, text=True,
                          check=False)
    assert done.stderr == ""
    assert "more drawing than a page can hold" in " ".join(done.stdout.split())


def test_one_bad_page_leaves_the_others_told(clean: bytes, altered: Any) -> None:
    def spoil(pdf: Any) -> None:
        pdf.pages[0].Contents = Stream(pdf, b"0.5 w", Filter=Name.FlateDecode)
        pdf.pages[1].MediaBox = pikepdf.Array([1, 2])
        pdf.pages[2].Resources = 7
        pdf.pages[3].contents_add(b"q 0.1 w 200 200 m 300 300 l S Q")

    data = altered(clean, spoil, compress_streams=False, stream_decode_level=pikepdf.StreamDecodeLevel.none)
    rules = {(finding.rule, finding.page) for finding in preflight(data, Profile()).findings}
    assert {("content", 1), ("boxes", 2), ("content", 3), ("thin_lines", 4)} <= rules


def test_a_file_whose_pages_share_a_bomb_is_given_up_as_a_whole(clean: bytes, altered: Any) -> None:
    """Each page may draw so much, all together not: the file is small."""
    def share(pdf: Any) -> None:
        stream = pdf.make_indirect(Stream(pdf, b"0 0 m 9 9 l S\n" * 100_000))
        for _ in range(40):
            pdf.pages.append(pdf.pages[0])
        for page in pdf.pages:
            page.Contents = stream

    report = preflight(altered(clean, share), Profile())
    refused = {finding.page for finding in report.findings if "a file of its size" in finding.message}
    assert 1 not in refused
    assert {40, 41, 42, 43, 44} <= refused
