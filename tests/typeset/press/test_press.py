"""The press file read back with pikepdf, which did not write it: each key PDF/X asks for, and the same pages.

The rows are those of the PDF/X tables as the PDFlib tutorial, Kodak's help pages and PDF Reference 1.7 state them.
"""

from __future__ import annotations

import io
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime, timedelta, timezone
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pikepdf
import pypdfium2
import pytest
from pikepdf import Dictionary, Name, String

from cagework.typeset.book import Standard
from cagework.typeset.choices import Stock
from cagework.typeset.trade.printing_condition import CONDITIONS
from cagework.typeset.write.press import PressError, PressSpec, press_bytes

MM = 72 / 25.4


@pytest.fixture
def x1a(clean: bytes) -> Iterator[Any]:
    with pikepdf.open(io.BytesIO(clean)) as pdf:
        yield pdf


@pytest.fixture
def x4(clean_x4: bytes) -> Iterator[Any]:
    with pikepdf.open(io.BytesIO(clean_x4)) as pdf:
        yield pdf


def test_versions_and_syntax(x1a: Any, x4: Any) -> None:
    """Row 1: PDF 1.4 and 1.6 at most; row 6: no encryption. `check_pdf_syntax` is qpdf's own check."""
    assert (x1a.pdf_version, x4.pdf_version) == ("1.4", "1.6")
    for pdf in (x1a, x4):
        assert pdf.check_pdf_syntax() == []
        assert not pdf.is_encrypted


def test_information_and_identification(x1a: Any, x4: Any) -> None:
    """Rows 2 and 3: the version key, title, dates, and trapping as a name."""
    assert str(x1a.docinfo["/GTS_PDFXVersion"]) == "PDF/X-1a:2003"
    assert "/GTS_PDFXConformance" not in x1a.docinfo
    for pdf in (x1a, x4):
        assert str(pdf.docinfo["/Title"]) == "Harbour Lights"
        assert str(pdf.docinfo["/Author"]) == "the editors"
        assert str(pdf.docinfo["/CreationDate"]) == str(pdf.docinfo["/ModDate"]) == "D:20260301123000+00'00'"
        assert pdf.docinfo["/Trapped"] == Name("/False")


def test_xmp_of_x4(x4: Any) -> None:
    """Rows 2 to 4: the packet is XML, uncompressed, and says what the information says."""
    stream = x4.Root.Metadata
    assert (stream.Type, stream.Subtype) == (Name.Metadata, Name.XML)
    assert "/Filter" not in stream
    tree = ElementTree.fromstring(stream.read_bytes())
    said = {one.tag: (one.text or "").strip() for one in tree.iter()}
    assert said["{http://www.npes.org/pdfx/ns/id/}GTS_PDFXVersion"] == "PDF/X-4"
    xmp, xmp_mm = "{http://ns.adobe.com/xap/1.0/}", "{http://ns.adobe.com/xap/1.0/mm/}"
    assert said["{http://www.w3.org/1999/02/22-rdf-syntax-ns#}li"] == "Harbour Lights"
    assert said["{http://ns.adobe.com/pdf/1.3/}Trapped"] == "False"
    assert said[f"{xmp}CreatorTool"]
    for name in ("CreateDate", "ModifyDate", "MetadataDate"):
        assert datetime.fromisoformat(said[xmp + name]) == datetime.fromisoformat("2026-03-01T12:30:00+00:00")
    ids = [said[f"{xmp_mm}{name}"] for name in ("DocumentID", "InstanceID")]
    assert all(re.fullmatch(r"uuid:[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}", one) for one in ids)
    assert ids[0] != ids[1]
    assert (said[f"{xmp_mm}VersionID"], said[f"{xmp_mm}RenditionClass"]) == ("1", "default")


def test_x1a_has_no_xmp(x1a: Any) -> None:
    assert "/Metadata" not in x1a.Root


def test_the_id_is_made_of_the_content(x1a: Any, clean: bytes, pages_pdf: bytes, spec: PressSpec) -> None:
    """Row 5: two strings in the trailer; another title makes another."""
    ident = [bytes(part) for part in x1a.trailer["/ID"]]
    assert len(ident) == 2
    assert all(len(part) == 16 for part in ident)
    with pikepdf.open(io.BytesIO(press_bytes(pages_pdf, replace(spec, title="Other Lights")))) as other:
        assert [bytes(part) for part in other.trailer["/ID"]] != ident


@pytest.mark.parametrize("stock", list(Stock))
def test_output_intents(stock: Stock, pages_pdf: bytes, spec: PressSpec) -> None:
    """Row 7 (PDF Reference 1.7, table 10.51): one intent, its condition by registered name, no profile."""
    with pikepdf.open(io.BytesIO(press_bytes(pages_pdf, replace(spec, stock=stock)))) as pdf:
        (intent,) = pdf.Root.OutputIntents
        assert intent.S == Name.GTS_PDFX
        assert str(intent.OutputConditionIdentifier) == CONDITIONS[stock].name
        assert str(intent.RegistryName) == "http://www.color.org"
        assert str(intent.Info)
        assert "/DestOutputProfile" not in intent


def test_x4_embeds_the_profile(x4: Any, icc: Any) -> None:
    """Rows 7 and 8: the very bytes, with the number of inks."""
    (intent,) = x4.Root.OutputIntents
    assert intent.DestOutputProfile.read_bytes() == icc()
    assert intent.DestOutputProfile.N == 4


def test_boxes(x1a: Any) -> None:
    """Row 9: trim inside bleed inside media, in the middle of the sheet, 3 mm apart; no ArtBox beside."""
    for page in x1a.pages:
        media, bleed, trim = ([float(edge) / MM for edge in page[name]]
                              for name in ("/MediaBox", "/BleedBox", "/TrimBox"))
        assert media == pytest.approx([0, 0, 174, 236], abs=0.01)
        assert trim == pytest.approx([13, 13, 161, 223], abs=0.01)
        assert bleed == pytest.approx([10, 10, 164, 226], abs=0.01)
        assert "/ArtBox" not in page


def test_boxes_of_a_sheet_that_does_not_start_at_nought(pages_pdf: bytes, spec: PressSpec) -> None:
    """A MediaBox may lie anywhere (ISO 32000-1, 14.11.2): what is in the middle of it stays there."""
    corner, moved = (30, -50, 30, -50), io.BytesIO()
    with pikepdf.open(io.BytesIO(pages_pdf)) as pdf:
        for page in pdf.pages:
            page.mediabox = [float(edge) + by for edge, by in zip(page.mediabox, corner, strict=True)]
            for name in ("/TrimBox", "/BleedBox", "/CropBox"):
                if name in page.obj:
                    del page.obj[name]
        pdf.save(moved)
    with pikepdf.open(io.BytesIO(press_bytes(moved.getvalue(), spec))) as pdf:
        for page in pdf.pages:
            for name, edges in (("/TrimBox", (13, 13, 161, 223)), ("/BleedBox", (10, 10, 164, 226))):
                box = [(float(edge) - by) / MM for edge, by in zip(page.obj[name], corner, strict=True)]
                assert box == pytest.approx(edges, abs=0.01)


def test_nothing_barred_is_left(x1a: Any) -> None:
    """Rows 10, 11, 13 to 18 over every object of the file."""
    root = x1a.Root
    for name in ("/OpenAction", "/AA", "/AcroForm", "/OCProperties", "/Names", "/ViewerPreferences"):
        assert name not in root
    for thing in x1a.objects:
        if isinstance(thing, (pikepdf.Dictionary, pikepdf.Stream)):
            for name in ("/SMask", "/Group", "/TR", "/HT", "/OPI", "/JS", "/Annots", "/Dests"):
                assert name not in thing
            assert thing.get("/Type") not in (Name.Annot, Name.Action)
        if isinstance(thing, pikepdf.Stream):
            filters = thing.get("/Filter", [])
            names = {str(filters)} if isinstance(filters, pikepdf.Name) else set(map(str, filters))
            assert names <= {"/FlateDecode", "/ASCII85Decode"}
    for page in x1a.pages:
        used = {str(item.operator) for item in pikepdf.parse_content_stream(page)}
        assert not used & {"rg", "RG", "cs", "CS", "sc", "SC", "scn", "SCN", "sh", "gs"}


def test_fonts_are_embedded_subsets(x1a: Any) -> None:
    """Row 12."""
    fonts = [font for page in x1a.pages for font in page.Resources.Font.values()]
    assert fonts
    for font in fonts:
        assert "/FontFile2" in font.FontDescriptor
        assert re.match(r"/[A-Z]{6}\+", str(font.BaseFont))


def test_bookmarks_stay_and_lead_to_pages(x1a: Any) -> None:
    """Row 15: each leads to a page by /Dest and has no action."""
    with x1a.open_outline() as outline:
        assert [item.title for item in outline.root] == [f"Page {number}" for number in range(1, 5)]
        for item, page in zip(outline.root, x1a.pages, strict=True):
            assert item.action is None
            assert item.destination[0] == page.obj


def test_the_file_has_one_end(clean: bytes) -> None:
    """Row 19: nothing appended."""
    assert clean.count(b"%%EOF") == clean.count(b"startxref") == 1


def test_the_pages_look_as_before(pages_pdf: bytes, clean: bytes) -> None:
    """Rendered by pdfium, pixel for pixel, once the whole sheet is shown."""
    before, after = (pypdfium2.PdfDocument(data) for data in (pages_pdf, clean))
    for one, other in zip(before, after, strict=True):
        assert (one.render(scale=1).to_numpy() == other.render(scale=1).to_numpy()).all()


def test_two_runs_are_byte_identical(pages_pdf: bytes, spec: PressSpec, clean: bytes, icc: Any,
                                     clean_x4: bytes, tmp_path: Path) -> None:
    """And a profile counts by its bytes, wherever it lies."""
    assert press_bytes(pages_pdf, spec) == clean
    path = tmp_path / "elsewhere.icc"
    path.write_bytes(icc())
    assert press_bytes(pages_pdf, replace(spec, standard=Standard.X4, icc=path)) == clean_x4


def test_dates_keep_their_zone(pages_pdf: bytes, spec: PressSpec) -> None:
    """ISO 32000-1, 7.9.4: D:YYYYMMDDHHmmSS+HH'mm'."""
    zone = timezone(timedelta(hours=5, minutes=45))
    made = press_bytes(pages_pdf, replace(spec, created=datetime(2026, 1, 2, 3, 4, 5, tzinfo=zone)))
    with pikepdf.open(io.BytesIO(made)) as pdf:
        assert str(pdf.docinfo["/CreationDate"]) == "D:20260102030405+05'45'"


@pytest.mark.parametrize(("change", "says"), [
    ({"title": " "}, "title"),
    ({"created": datetime(2026, 3, 1)}, "time zone"),
    ({"bleed_mm": -1.0}, "less than none"),
    ({"bleed_mm": 3.0, "trim_mm": None}, "trim"),
    ({"bleed_mm": 20.0}, "page 1 is 174.0 x 236.0 mm: too small"),
    ({"trim_mm": (210.0, 297.0), "bleed_mm": 0.0}, "too small"),
    ({"standard": Standard.X4}, "ICC profile"),
    ({"icc": Path("some.icc")}, "PDF/X-4 only"),
    ({"standard": Standard.X4, "icc": Path("missing.icc")}, "cannot be read"),
])
def test_a_spec_that_contradicts_itself_is_refused(
    change: dict[str, Any], says: str, pages_pdf: bytes, spec: PressSpec,
) -> None:
    with pytest.raises(PressError, match=re.escape(says)):
        press_bytes(pages_pdf, replace(spec, **change))


@pytest.mark.parametrize(("made", "says"), [
    ({"signature": b"none"}, "not an ICC profile"), ({"kind": b"mntr"}, "'mntr'"), ({"space": b"RGB "}, "RGB"),
])
def test_a_profile_not_for_printing_is_refused(
    made: dict[str, bytes], says: str, pages_pdf: bytes, spec: PressSpec, icc: Any, tmp_path: Path,
) -> None:
    path = tmp_path / "wrong.icc"
    path.write_bytes(icc(**made))
    with pytest.raises(PressError, match=says):
        press_bytes(pages_pdf, replace(spec, standard=Standard.X4, icc=path))


def test_a_bookmark_with_an_action_is_refused(pages_pdf: bytes, spec: PressSpec, altered: Any) -> None:
    def act(pdf: Any) -> None:
        entry = pdf.Root.Outlines.First.Next
        del entry["/Dest"]
        entry.A = Dictionary(S=Name.URI, URI=String("http://example.org"))

    with pytest.raises(PressError, match="Page 2"):
        press_bytes(altered(pages_pdf, act), spec)


def test_bytes_that_are_no_pdf_are_refused(spec: PressSpec) -> None:
    with pytest.raises(PressError, match="not a PDF"):
        press_bytes(b"cage-sum", spec)
