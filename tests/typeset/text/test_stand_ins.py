"""Letters a face lacks, spaces no face has, and font files that are none: what is set, and what is said."""

from __future__ import annotations

import struct
from collections.abc import Callable
from pathlib import Path

import pypdfium2
import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st

from cagework.layouts.load import Layout
from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit
from cagework.typeset.faults import Severity
from cagework.typeset.manifest.load import load_book
from cagework.typeset.text.font_files import unfit
from cagework.typeset.text.fonts import Fonts, packaged_faces
from cagework.typeset.text.missing_glyphs import missing_glyphs

BOOK = """\
book: {title: T, layout: a5-one-up, LANGUAGE}
puzzles:
  - id: lamp
    title: The Lamp Room
    by: WORDS
    size: 4
    map: |
      aabc
      dabc
      deec
      dfff
    sums: {a: 7, b: 6, c: 6, d: 8, e: 4, f: 9}
"""
THIN, NARROW = "\N{THIN SPACE}", "\N{NARROW NO-BREAK SPACE}"


def build(tmp_path: Path, by: str, language: str = "en", layout: str = "a5-one-up") -> tuple[Path, int]:
    book = tmp_path / "book.yaml"
    text = BOOK.replace("WORDS", by).replace("LANGUAGE", f"language: {language}").replace("a5-one-up", layout)
    book.write_text(text, encoding="utf-8")
    return book, main(["build", str(book), "--out", str(tmp_path / "out"), "--no-cache"])


def fonts_of(pdf: Path, page: int, words: str) -> set[str]:
    """The base fonts of the text objects that have letters of some words on a page, as pdfium finds them."""
    found, document = set(), pypdfium2.PdfDocument(pdf.read_bytes())
    text = document[page].get_textpage()
    import ctypes
    name = ctypes.create_string_buffer(200)
    place = text.search(words, match_case=True).get_next()
    assert place is not None
    for index in range(place[0], place[0] + place[1]):
        if text.get_text_range(index, 1).strip():
            pypdfium2.raw.FPDFText_GetFontInfo(text, index, name, 200, ctypes.c_int())
            found.add(name.value.decode())
    return found


@pytest.mark.parametrize("language", ["en", "de"])
def test_a_word_the_italic_cannot_set_stands_in_roman_with_a_warning(
    language: str, tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    book, status = build(tmp_path, "old Ελένη", language)
    assert status == Exit.FINE
    said = capsys.readouterr()
    assert f"{book}:5:13: warning: serif-italic has no Ε (U+0395), λ (U+03BB)" in said.out + said.err
    pdf = tmp_path / "out" / "book.pdf"
    number = next(number for number, page in enumerate(pypdfium2.PdfDocument(pdf.read_bytes()))
                  if "Ελένη" in page.get_textpage().get_text_range())
    assert all("Regular" in one for one in fonts_of(pdf, number, "Ελένη"))
    assert all("It" in one for one in fonts_of(pdf, number, "old"))


def test_a_letter_no_face_has_stays_a_fault_at_its_place(
    tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    book, status = build(tmp_path, "old 茶")
    assert status == Exit.FAULTS
    assert f"{book}:5:13: the layout's faces cannot set 茶 (U+8336)" in capsys.readouterr().err
    assert not (tmp_path / "out" / "book.pdf").exists()


def test_a_short_title_is_looked_at_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    book, status = build(tmp_path, "x\n    short_title: Té 茶")
    assert status == Exit.FAULTS
    assert f"{book}:6:21: the layout's faces cannot set 茶 (U+8336)" in capsys.readouterr().err


def test_the_letters_of_pages_of_ones_own_and_of_grade_words_are_looked_at(
    tmp_path: Path,
) -> None:
    """Those of each look in the face of that look: the italic alone lacks Greek."""
    book = tmp_path / "book.yaml"
    book.write_text(BOOK.replace("LANGUAGE", "grade_words: {stroll: 易, climb: b, scramble: c, summit: d}")
                    .replace("WORDS", "x") + "pages:\n  - {title: T, text: So λ and **λ** and *λ* and 茶}\n",
                    encoding="utf-8")
    read = load_book(book).book
    assert read is not None
    faults = list(missing_glyphs(read, Fonts(read.layout)))
    assert [(fault.where.line, fault.message, fault.severity) for fault in faults] == [
        (1, "the layout's faces cannot set 易 (U+6613)", Severity.ERROR),
        (14, "serif-italic has no λ (U+03BB): words with it are set in serif", Severity.WARNING),
        (14, "the layout's faces cannot set 茶 (U+8336)", Severity.ERROR)]


def test_a_letter_is_told_once_of_each_text_however_often_it_is_set(tmp_path: Path) -> None:
    """The title stands in running heads and on the title page, in capitals and not."""
    book = tmp_path / "book.yaml"
    book.write_text(BOOK.replace("{title: T,", "{title: \N{CHEROKEE SMALL LETTER A} 茶,").replace("WORDS", "茶")
                    .replace("LANGUAGE", "language: en"), encoding="utf-8")
    read = load_book(book).book
    assert read is not None
    assert [fault.message for fault in missing_glyphs(read, Fonts(read.layout))] == [
        f"the layout's faces cannot set {letters}" for letters in (
            "\N{CHEROKEE SMALL LETTER A} (U+AB70), 茶 (U+8336)", "茶 (U+8336)")]


@pytest.mark.parametrize("space", [THIN, NARROW], ids=["thin", "narrow"])
def test_a_credit_may_have_thin_spaces(space: str, tmp_path: Path) -> None:
    _, status = build(tmp_path, f"J.{space}K. Stoker")
    assert status == Exit.FINE


@given(st.sampled_from(sorted(packaged_faces())), st.floats(5, 40), st.sampled_from([THIN, NARROW]))
def test_thin_spaces_are_a_fifth_of_an_em(fonts: Fonts, name: str, size: float, space: str) -> None:
    """The Unicode Standard, table 6-2. What is drawn there is a blank that every face has."""
    face = fonts[name]
    apart = face.width("J.", size) + face.width("K.", size)
    assert face.width(f"J.{space}K.", size) - apart == pytest.approx(size / 5, abs=0.01 * size)
    chunks = face.chunks(f"J.{space}K.", size)
    assert "".join(chunk for _, chunk in chunks) == "J.\N{NO-BREAK SPACE}K."
    start, last = chunks[-1]
    assert last == "K." and start == pytest.approx(face.width("J.", size) + size / 5, abs=0.01 * size)
    assert not face.lacks(f"J.{space}K.")


@given(st.text(alphabet="abcΕλένηДßé茶", min_size=1, max_size=6), st.sampled_from(sorted(packaged_faces())))
def test_the_face_that_stands_in_has_every_letter(fonts: Fonts, text: str, name: str) -> None:
    chosen = fonts.face_for(name, text)
    if not fonts[name].lacks(text):
        assert chosen == name
    elif chosen != name:
        assert not fonts[chosen].lacks(text)
    assert set(fonts.lacking(name, text)) <= set(fonts[name].lacks(text))
    assert ("茶" in text) == ("茶" in fonts.lacking(name, text))


def cff(file: Path) -> Path:
    """An OpenType font with PostScript outlines, made here: squares for all it has."""
    builder = FontBuilder(1000, isTTF=False)
    chars = [chr(code) for code in range(32, 127)]
    names = [".notdef", *(f"g{ord(char)}" for char in chars)]
    pen = T2CharStringPen(500, {})
    pen.moveTo((0, 0))
    for point in ((0, 700), (400, 700), (400, 0)):
        pen.lineTo(point)
    pen.closePath()
    drawn = pen.getCharString()
    builder.setupGlyphOrder(names)
    builder.setupCharacterMap({ord(char): f"g{ord(char)}" for char in chars})
    builder.setupCFF("Square", {}, dict.fromkeys(names, drawn), {})
    builder.setupHorizontalMetrics(dict.fromkeys(names, (500, 0)))
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({"familyName": "Square", "styleName": "Regular"})
    builder.setupOS2()
    builder.setupPost()
    builder.save(file)
    return file


def broken(file: Path) -> Path:
    whole = packaged_faces()["sans"].read_bytes()
    file.write_bytes(whole[:len(whole) // 3])
    return file


def web(file: Path) -> Path:
    font = TTFont(packaged_faces()["sans"])
    font.flavor = "woff"
    font.save(file)
    return file


def collection(file: Path) -> Path:
    file.write_bytes(b"ttcf" + struct.pack(">HHI", 1, 0, 0))
    return file


def text_file(file: Path) -> Path:
    file.write_text("no font at all\n" * 20, encoding="utf-8")
    return file


def empty(file: Path) -> Path:
    file.write_bytes(b"")
    return file


def without_digits(file: Path) -> Path:
    from fontTools import subset
    font = TTFont(packaged_faces()["sans"])
    made = subset.Subsetter()
    made.populate(text="ABCDEFGH1abc ")
    made.subset(font)
    font.save(file)
    return file


@pytest.mark.parametrize(("make", "words"), [
    (cff, "OpenType font with PostScript (CFF) outlines, which cannot be embedded"), (web, "web font (WOFF)"),
    (collection, "collection of several faces"), (broken, "cannot be read as a TrueType font"),
    (text_file, "cannot be read as a TrueType font"), (empty, "cannot be read as a TrueType font"),
    (without_digits, "has no 0, which grids and page numbers need"),
])
def test_a_file_that_is_no_face_is_a_fault_at_the_layouts_key(
    make: Callable[[Path], Path], words: str, root: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    make(tmp_path / "face.otf")
    shelf = (root / "layouts" / "shelf" / "a5-one-up.yaml").read_text(encoding="utf-8")
    layout = tmp_path / "own.yaml"
    layout.write_text(shelf + "fonts:\n  serif-italic: face.otf\n", encoding="utf-8")
    line = layout.read_text(encoding="utf-8").count("\n")
    _, status = build(tmp_path, "x", layout="own.yaml")
    said = capsys.readouterr().err
    assert status == Exit.FAULTS and f"{layout}:{line}:17: 'face.otf' " in said and words in said
    assert "hint: give a" in said and "Traceback" not in said


@pytest.mark.parametrize("face", sorted(packaged_faces()))
def test_the_packaged_faces_are_fit(face: str) -> None:
    assert unfit(face, packaged_faces()[face]) is None


def test_a_face_without_a_no_break_space_sets_a_space(layout_of: Callable[[str], Layout], tmp_path: Path) -> None:
    font = TTFont(packaged_faces()["serif"])
    for table in font["cmap"].tables:
        table.cmap.pop(0xA0, None)
    font.save(tmp_path / "bare.ttf")
    layout = layout_of("a5-one-up").model_copy(update={"fonts": {"serif": tmp_path / "bare.ttf"}})
    face = Fonts(layout)["serif"]
    assert not face.lacks("a\N{NO-BREAK SPACE}b")
    assert "".join(chunk for _, chunk in face.chunks("a\N{NO-BREAK SPACE}b", 10)) == "a b"
