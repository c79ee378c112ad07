"""Each preflight rule fires on a file that breaks it alone, and all are silent on a clean one."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable
from typing import Any

import pikepdf
import pytest
from pikepdf import Array, Dictionary, Name, Stream, String
from pypdf import PdfWriter
from pypdf.generic import NameObject

from cagework.typeset.choices import Purpose, Stock
from cagework.typeset.preflight.profile import Profile, stock_limits
from cagework.typeset.preflight.report import as_json, details, preflight, table
from cagework.typeset.preflight.rules import RULES

MM = 72 / 25.4
LZW = bytes.fromhex("800B6050220C0C8501")
"""ISO 32000-1, 7.4.4.2: the standard's own example of LZW."""


def key(change: Callable[[Any], Any]) -> Callable[..., bytes]:
    """Break a key of the file."""
    return lambda data, altered: altered(data, change)


def drawn(code: str, page: int = 0) -> Callable[..., bytes]:
    """Draw more on a page, in mm from the trim's lower left corner. `/F` in the code is a font of the page."""
    def draw(pdf: Any) -> None:
        sheet = pdf.pages[page]
        font = next(iter(sheet.Resources.Font.keys()))
        left, low = (float(edge) for edge in sheet.TrimBox[:2])
        text = code.replace("/F ", f"{font} ")
        sheet.contents_add(f"q {MM} 0 0 {MM} {left} {low} cm {text} Q".encode())

    return key(draw)


def listed(kind: str, make: Callable[[Any], Any], **saving: Any) -> Callable[..., bytes]:
    """List something in a page's resources that nothing draws."""
    def add(pdf: Any) -> None:
        resources = pdf.pages[1].Resources
        if kind not in resources:
            resources[kind] = Dictionary()
        resources[kind]["/Extra"] = pdf.make_indirect(make(pdf))

    return lambda data, altered: altered(data, add, **saving)


def bad_start(data: bytes, altered: Any) -> bytes:
    return re.sub(rb"startxref\n\d+", b"startxref\n77", data)


def appended(data: bytes, altered: Any) -> bytes:
    writer = PdfWriter(io.BytesIO(data), incremental=True)
    writer.root_object[NameObject("/PageMode")] = NameObject("/UseOutlines")
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def locked(data: bytes, altered: Any) -> bytes:
    return altered(data, lambda pdf: None,
                   encryption=pikepdf.Encryption(owner="owner", user="", R=3, aes=False, metadata=False))


def two_boxes(pdf: Any) -> None:
    pdf.pages[2].ArtBox = pdf.pages[2].TrimBox


def narrower(pdf: Any) -> None:
    left, low, right, top = (float(edge) for edge in pdf.pages[2].TrimBox)
    pdf.pages[2].TrimBox = Array([left + 1, low, right - 1, top])


def untagged(pdf: Any) -> None:
    for font in pdf.pages[0].Resources.Font.values():
        font.BaseFont = Name("/" + str(font.BaseFont).split("+")[1])


def link(pdf: Any) -> None:
    pdf.pages[3].Annots = Array([pdf.make_indirect(Dictionary(
        Type=Name.Annot, Subtype=Name.Link, Rect=[100, 100, 200, 120], Dest=[pdf.pages[0].obj, Name.Fit]))])


def without(path: str, field: str) -> Callable[[Any], None]:
    def drop(pdf: Any) -> None:
        holder = pdf.docinfo if path == "info" else pdf.Root
        del holder[field]

    return drop


def less_xmp(pdf: Any) -> None:
    text = pdf.Root.Metadata.read_bytes()
    pdf.Root.Metadata.write(re.sub(rb"<xmpMM:VersionID>.*</xmpMM:VersionID>", b"", text))


def set_root(field: str, value: Callable[[], Any]) -> Callable[..., bytes]:
    def put(pdf: Any) -> None:
        pdf.Root[field] = value()

    return key(put)


def untrapped(pdf: Any) -> None:
    pdf.docinfo["/Trapped"] = String("False")


def image(pdf: Any, **more: Any) -> Any:
    return Stream(pdf, bytes(16), Type=Name.XObject, Subtype=Name.Image, Width=4, Height=4, BitsPerComponent=8,
                  ColorSpace=Name.DeviceGray, **more)


def other_paper(pdf: Any) -> None:
    pdf.Root.OutputIntents[0].OutputConditionIdentifier = String("FOGRA51")


def state(**keys: Any) -> Callable[..., bytes]:
    return listed("/ExtGState", lambda pdf: Dictionary(Type=Name.ExtGState, **keys))


def page_key(field: str, value: Callable[[], Any]) -> Callable[..., bytes]:
    def put(pdf: Any) -> None:
        pdf.pages[1][field] = value()

    return key(put)


def white_overprint(pdf: Any) -> None:
    pdf.pages[0].Resources.ExtGState = Dictionary(Over=Dictionary(op=True, OPM=1))
    pdf.pages[0].contents_add(b"q /Over gs 0 0 0 0 k 200 200 50 50 re f Q")


DOTS = "BI /W 10 /H 10 /CS /G /BPC 8 ID " + "a" * 100 + " EI"
BITS = "BI /W 8 /H 10 /IM true ID " + "a" * 10 + " EI"

BREAKS: list[tuple[str, Callable[..., bytes]]] = [
    ("structure", bad_start),
    ("version", lambda data, altered: altered(data, lambda pdf: None, force_version="1.5")),
    ("encryption", locked),
    ("identification", key(without("info", "/GTS_PDFXVersion"))),
    ("document_info", key(untrapped)),
    ("document_info", key(without("info", "/ModDate"))),
    ("xmp", lambda data, altered: altered(data, less_xmp, force_version="1.6")),
    ("document_id", lambda data, altered: data.replace(b"/ID [", b"/IX [")),
    ("single_save", appended),
    ("output_intent", key(without("root", "/OutputIntents"))),
    ("output_intent", key(other_paper)),
    ("actions", set_root("/OpenAction", lambda: Dictionary(S=Name.URI, URI=String("http://example.org")))),
    ("actions", set_root("/AcroForm", lambda: Dictionary(Fields=[]))),
    ("actions", listed("/XObject", lambda pdf: Stream(pdf, b"", Subtype=Name.PS))),
    ("annotations", key(link)),
    ("optional_content", set_root("/OCProperties", lambda: Dictionary(OCGs=[], D=Dictionary()))),
    ("filters", listed("/XObject", lambda pdf: Stream(
        pdf, LZW, Subtype=Name.Form, BBox=[0, 0, 9, 9], Filter=Name.LZWDecode),
        compress_streams=False, stream_decode_level=pikepdf.StreamDecodeLevel.none)),
    ("filters", listed("/XObject", lambda pdf: image(pdf, Filter=Name.JPXDecode))),
    ("transparency", state(ca=0.5)),
    ("transparency", state(BM=Name.Multiply)),
    ("transparency", state(SMask=Dictionary(S=Name.Alpha))),
    ("transparency", listed("/XObject", lambda pdf: image(pdf, SMask=image(pdf)))),
    ("transparency", page_key("/Group", lambda: Dictionary(S=Name.Transparency))),
    ("transfer", state(TR=Name.Identity)),
    ("transfer", state(HT=Dictionary(HalftoneType=1, HalftoneName=String("mine")))),
    ("viewer_areas", set_root("/ViewerPreferences", lambda: Dictionary(ViewArea=Name.TrimBox))),
    ("boxes", key(two_boxes)),
    ("boxes", page_key("/UserUnit", lambda: 2)),
    ("page_size", key(narrower)),
    ("page_count", key(lambda pdf: pdf.pages.__delitem__(3))),
    ("bleed", drawn("0.5 g 60 0 20 20 re f")),
    ("bleed", drawn("0.5 g 60 -1 20 20 re f")),
    ("safety", drawn("0.5 g 60 3 20 20 re f")),
    ("safety", drawn("BT /F 4 Tf 1 0 0 1 146 100 Tm (edge) Tj ET", page=1)),
    ("gutter", drawn("0.5 g 8 60 20 20 re f")),
    ("gutter", drawn("0.5 g 118 60 22 20 re f", page=1)),
    ("fonts_embedded", listed("/Font", lambda pdf: Dictionary(
        Type=Name.Font, Subtype=Name.Type1, BaseFont=Name.Helvetica))),
    ("fonts_subset", key(untagged)),
    ("colour", drawn("1 0 0 rg 60 60 20 20 re f")),
    ("colour", drawn("/CalRGB cs 60 60 20 20 re f")),
    ("rich_black", drawn("0.6 0.4 0.4 1 k BT /F 4 Tf 1 0 0 1 60 60 Tm (rich) Tj ET")),
    ("rich_black", drawn("1 0 0 1 K 0.5 w 60 60 m 80 60 l S")),
    ("ink_total", drawn("1 1 1 0.5 k 60 60 20 20 re f")),
    ("light_tints", drawn("0.98 g 60 60 20 20 re f")),
    ("thin_lines", drawn("0.05 w 60 60 m 80 60 l S")),
    ("thin_lines", drawn("60 60 0.05 20 re f")),
    ("thin_lines", drawn("q 0.1 0 0 0.1 60 60 cm 0.4 w 0 0 m 200 0 l S Q")),
    ("small_type", drawn("BT /F 1.2 Tf 1 0 0 1 60 60 Tm (small) Tj ET")),
    ("small_type", drawn("BT /F 10 Tf 0.1 0 0 0.1 60 60 Tm (small) Tj ET")),
    ("small_type", drawn("0 g 50 50 40 20 re f 1 g BT /F 2 Tf 1 0 0 1 60 60 Tm (white) Tj ET")),
    ("image_resolution", drawn(f"20 0 0 20 60 60 cm {DOTS}")),
    ("image_resolution", drawn(f"1 0 0 1 60 60 cm {BITS}")),
    ("content", drawn("/Nil Do")),
    ("content", drawn("60 60 20 re f")),
    ("overprint", lambda data, altered: altered(data, white_overprint)),
]


def rules_of(data: bytes, profile: Profile) -> set[str]:
    return {finding.rule for finding in preflight(data, profile).findings}


def test_clean_files_give_no_finding(clean: bytes, clean_x4: bytes, profile: Profile) -> None:
    for data in (clean, clean_x4):
        report = preflight(data, profile)
        assert report.findings == ()
        assert report.passes
        assert report.pages == 4
        assert set(report.rules_run) == set(RULES), "a press file is held to every rule"


@pytest.mark.parametrize(("rule", "broken"), BREAKS, ids=[f"{rule}-{n}" for n, (rule, _) in enumerate(BREAKS)])
def test_a_file_that_breaks_one_rule_is_found_by_that_rule_alone(
    rule: str, broken: Callable[..., bytes], clean: bytes, clean_x4: bytes, profile: Profile, altered: Any,
) -> None:
    base = clean_x4 if rule == "xmp" else clean
    report = preflight(broken(base, altered), profile)
    assert {finding.rule for finding in report.findings} == {rule}
    for finding in report.findings:
        assert finding.number == RULES[rule].number
        assert finding.message


def test_every_rule_has_a_file_that_breaks_it() -> None:
    assert {rule for rule, _ in BREAKS} == set(RULES)


def test_rules_are_numbered_from_one_without_a_gap_and_say_what_they_ask_and_who_asks() -> None:
    assert [rule.number for rule in RULES.values()] == list(range(1, len(RULES) + 1))
    for name, rule in RULES.items():
        assert rule.name == name
        assert rule.statement.endswith(".")
        assert rule.source


def test_a_page_without_a_trim_is_found(clean: bytes, profile: Profile, altered: Any) -> None:
    def drop(pdf: Any) -> None:
        del pdf.pages[2]["/TrimBox"]

    findings = preflight(altered(clean, drop), profile).findings
    assert ("boxes", 3, "the page has no TrimBox") in {
        (finding.rule, finding.page, finding.message) for finding in findings}


def test_a_finding_names_the_page_and_measures_where_it_is(clean: bytes, profile: Profile, altered: Any) -> None:
    """The line was drawn 0.05 mm = 0.142 pt thick, 60 mm from the left and 210 - 60 mm from the top."""
    data = drawn("0.05 w 60 60 m 80 60 l S", page=2)(clean, altered)
    (finding,) = preflight(data, profile).findings
    assert finding.page == 3
    assert finding.measured["worst"] == pytest.approx(0.05 * MM, abs=0.001)
    assert (finding.measured["x_mm"], finding.measured["y_mm"]) == pytest.approx((60, 150), abs=0.1)
    assert "0.142 pt" in finding.message


def test_programs_are_told_the_same_place_as_readers(clean: bytes, profile: Profile, altered: Any) -> None:
    (finding,) = preflight(drawn("0.5 g 60.04 0 20 20.13 re f")(clean, altered), profile).findings
    assert finding.rule == "bleed"
    x, y = finding.measured["x_mm"], finding.measured["y_mm"]
    assert (x, y) == pytest.approx((60.04, 210 - 20.13), abs=0.051)
    assert f"the first {x} mm from the left and {y} mm from the top" in finding.message


@pytest.mark.parametrize(("many", "says"), [(0, "has no PDF/X output intents"), (2, "has 2 PDF/X output intents")])
def test_the_output_intents_are_counted(
    many: int, says: str, clean: bytes, profile: Profile, altered: Any,
) -> None:
    def repeat(pdf: Any) -> None:
        pdf.Root.OutputIntents = Array([pdf.Root.OutputIntents[0]] * many)

    (finding,) = preflight(altered(clean, repeat), profile).findings
    assert (finding.rule, finding.measured["count"]) == ("output_intent", many)
    assert says in finding.message


@pytest.mark.parametrize("change", ["mntr", "RGB ", "no signature", "wrong N"])
def test_a_profile_that_is_none_for_printing_is_found(
    change: str, clean_x4: bytes, profile: Profile, altered: Any, icc: Any,
) -> None:
    made = {"mntr": icc(kind=b"mntr"), "RGB ": icc(space=b"RGB "), "no signature": icc(signature=b"    "),
            "wrong N": icc(space=b"GRAY")}[change]

    def put(pdf: Any) -> None:
        pdf.Root.OutputIntents[0].DestOutputProfile.write(made)

    assert rules_of(altered(clean_x4, put, force_version="1.6"), profile) == {"output_intent"}


def test_a_newspaper_asks_for_more(clean: bytes) -> None:
    """On newsprint the same file has lines too thin, and is made for other paper (stocks.yaml)."""
    found = rules_of(clean, Profile(stock=Stock.NEWSPRINT))
    assert found == {"thin_lines", "output_intent"}


def test_what_pdf_x4_allows_is_let_pass_there_alone(
    clean: bytes, clean_x4: bytes, profile: Profile, altered: Any,
) -> None:
    def veil(pdf: Any) -> None:
        pdf.pages[0].Group = Dictionary(S=Name.Transparency)

    assert rules_of(altered(clean, veil), profile) == {"transparency"}
    assert rules_of(altered(clean_x4, veil, force_version="1.6"), profile) == set()


def test_what_lies_inside_a_form_is_measured_as_placed(clean: bytes, profile: Profile, altered: Any) -> None:
    """A line of 1 pt in a form that is drawn at a tenth of its size."""
    def nest(pdf: Any) -> None:
        form = Stream(pdf, b"1 w 0 0 m 50 0 l S", Type=Name.XObject, Subtype=Name.Form, BBox=[-9, -9, 60, 60],
                      Matrix=[0.5, 0, 0, 0.5, 0, 0])
        pdf.pages[0].Resources.XObject = Dictionary(Fm=pdf.make_indirect(form))
        pdf.pages[0].contents_add(b"q 0.2 0 0 0.2 200 200 cm /Fm Do Q")

    (finding,) = preflight(altered(clean, nest), profile).findings
    assert finding.rule == "thin_lines"
    assert finding.measured["worst"] == pytest.approx(0.1)


def test_what_is_clipped_away_counts_for_nothing(clean: bytes, profile: Profile, altered: Any) -> None:
    data = drawn("60 60 20 20 re W n 1 0 0 rg 0 0 20 20 re f")(clean, altered)
    assert rules_of(data, profile) == set()


def test_a_spot_ink_is_refused_and_separated_black_is_not(clean: bytes, profile: Profile, altered: Any) -> None:
    def spaced(name: str) -> bytes:
        def put(pdf: Any) -> None:
            function = Dictionary(FunctionType=2, Domain=[0, 1], C0=[0, 0, 0, 0], C1=[0, 0, 0, 1], N=1)
            pdf.pages[0].Resources.ColorSpace = Dictionary(
                Ink=Array([Name.Separation, Name("/" + name), Name.DeviceCMYK, function]))
            pdf.pages[0].contents_add(b"q /Ink cs 0.5 scn 200 200 50 50 re f Q")

        return altered(clean, put)

    assert rules_of(spaced("Harbour Blue"), profile) == {"colour"}
    assert rules_of(spaced("Black"), profile) == set()


def test_a_pattern_is_looked_into(clean: bytes, profile: Profile, altered: Any) -> None:
    def put(pdf: Any) -> None:
        tile = Stream(pdf, b"1 0 0 rg 0 0 5 5 re f", PatternType=1, PaintType=1, TilingType=1, BBox=[0, 0, 9, 9],
                      XStep=9, YStep=9, Resources=Dictionary())
        pdf.pages[0].Resources.Pattern = Dictionary(P=pdf.make_indirect(tile))
        pdf.pages[0].contents_add(b"q /Pattern cs /P scn 200 200 50 50 re f Q")

    assert rules_of(altered(clean, put), profile) == {"colour"}


def test_a_screen_file_may_have_links_and_is_held_to_little(pages_pdf: bytes) -> None:
    report = preflight(pages_pdf, Profile(purpose=Purpose.SCREEN))
    assert report.findings == ()
    assert "annotations" not in report.rules_run
    assert "annotations" in rules_of(pages_pdf, Profile())


def test_a_report_can_be_printed_and_read_by_programs(clean: bytes, profile: Profile, altered: Any) -> None:
    report = preflight(drawn("0.05 w 60 60 m 80 60 l S")(clean, altered), profile)
    (finding,) = json.loads(json.dumps(as_json(report)))["findings"]
    assert (finding["rule"], finding["number"], finding["page"], finding["severity"]) == (
        "thin_lines", RULES["thin_lines"].number, 1, "error")
    assert not as_json(report)["passes"]
    (row,) = table(report)
    assert row == (str(RULES["thin_lines"].number), "thin_lines", "error", "1", "1", finding["message"])
    assert details(report) == ((*row[:4], finding["message"]),)


def test_a_row_a_rule_tells_its_pages_how_many_findings_and_the_worst(clean: bytes, altered: Any) -> None:
    data = drawn("0.05 w 60 60 m 80 60 l 80 80 l S")(clean, altered)
    data = drawn("0.02 w 60 60 m 80 60 l S 60 70 m 80 70 l S", page=2)(data, altered)
    report = preflight(data, Profile())
    (row,) = table(report)
    assert row[3:5] == ("1, 3", "2")
    assert "2 found" in row[5]
    assert len(details(report)) == 2


def test_every_stock_has_limits_and_newsprint_is_the_most_demanding() -> None:
    limits = stock_limits()
    assert set(limits) == set(Stock)
    news, book = limits[Stock.NEWSPRINT], limits[Stock.UNCOATED]
    assert news.line > book.line
    assert news.type > book.type
    assert news.ink == 220, "ISO 12647-3:2013, as WAN-IFRA states it"
