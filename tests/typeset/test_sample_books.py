"""The sample books beside the train: each is built, read back and found fit for a press; what they are there to
show is on their pages. One is in large print: its type is measured with pdfium.
"""

from __future__ import annotations

import io
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pypdfium2
import pytest
from PIL import Image

from cagework.typeset.book import Book
from cagework.typeset.build import build
from cagework.typeset.draw.cover import CoverError, spine_for_text
from cagework.typeset.editions import about_of
from cagework.typeset.manifest.load import Reading, load_book
from cagework.typeset.marks import MM, Picture, flatten
from cagework.typeset.no_room import unfit_on_cover
from cagework.typeset.raster import Raster
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.words import load_words
from cagework.typeset.write.cover import CoverFile, cover_pdf

LARGE = 16.0
"""The least type in pt of a book in large print (UKAAF G003, 2019, as the layout names it)."""


def read(root: Path, name: str) -> tuple[Book, Reading]:
    reading = load_book(root / "books" / name / "book.yaml")
    assert reading.book is not None and reading.faults == (), reading.faults
    return reading.book, reading


def cover_of(book: Book) -> CoverFile:
    assert book.cover is not None
    return cover_pdf(book, book.cover, 52, about_of(book), Fonts(book.layout), load_words("en"))


def test_the_small_presss_book_is_built_in_two_inks_with_its_pictures_inside_and_on_its_cover(
    root: Path, tmp_path: Path,
) -> None:
    """All that `build` wrote it has read back, digit by digit and pixel by pixel, and held to the preflight. One
    test, so that it is built once.
    """
    book, reading = read(root, "marrowholm")
    made = build(book, reading, tmp_path, None, press=True)
    assert (made.warnings, made.pages % 4) == ((), 0)
    with pikepdf.open(tmp_path / "book-press.pdf") as pdf:
        inks = {str(space[1]) for page in pdf.pages for space in page.Resources.get("/ColorSpace", {}).values()
                if space[0] == "/Separation"}
        shown = {xobject.objgen for page in pdf.pages for xobject in page.Resources.get("/XObject", {}).values()}
        assert (inks, len(shown)) == ({"/Deep Tide"}, len(list(book.pictures)))
    said = "".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(tmp_path / "book.pdf"))
    assert all(words in said for words in ("Ebb", "Making tide", "High water", "Spring tide")), "all four grades"
    fills_the_front(book, tmp_path / "cover.pdf")
    stands_as_it_is_asked_to(book)


def fills_the_front(book: Book, file: Path) -> None:
    """As pdfium renders the press file: the picture from the fold over the edges into the bleed, upright."""
    with pikepdf.open(file) as pdf:
        trim, bleed = ([float(edge) for edge in box] for box in (pdf.pages[0].trimbox, pdf.pages[0].bleedbox))
        (image,) = pdf.pages[0].Resources.XObject.values()
        across, high = int(image.Width), int(image.Height)
    page = pypdfium2.PdfDocument(file)[0]
    (one,) = page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_IMAGE])
    left, low, right, top = one.get_bounds()
    assert (left, low, right) == pytest.approx(((trim[0] + trim[2]) / 2, bleed[1], bleed[2]), abs=0.1)
    assert (right - left) / (top - low) == pytest.approx(across / high, rel=0.002)
    assert across / (right - left) * 72 > 550
    assert book.cover is not None and book.cover.picture is not None
    source = book.cover.picture.raster
    height = page.get_size()[1]
    shown = page.render(scale=1, grayscale=True).to_pil().crop((left, height - top, right, height - low))
    drawn = Image.frombytes("L", (source.width, source.height), source.samples)
    due = drawn.resize(shown.size, Image.Resampling.BOX)
    off = np.abs(np.asarray(shown, float) - np.asarray(due, float)).mean()
    turned = np.abs(np.asarray(shown, float)[::-1] - np.asarray(due, float)).mean()
    assert off < 20 < 40 < turned, (off, turned)


def stands_as_it_is_asked_to(book: Book) -> None:
    """A cover's picture of some width, one that has less room, and one too coarse, which is a fault."""
    cover = book.cover
    assert cover is not None and cover.picture is not None
    small = replace(cover.picture, width=60.0, raster=cover.picture.raster.cut_to(0.5).cut_to(2.0))
    drawn = cover_of(replace(book, cover=replace(cover, picture=small)))
    (mark,) = [one for one in flatten(drawn.page.marks) if isinstance(one, Picture)]
    assert (mark.width, mark.height) == pytest.approx((60 * MM, 120 * MM), rel=0.01)
    assert list(unfit_on_cover(replace(cover, picture=small), drawn.page)) == []
    coarse = replace(cover, picture=replace(small, width=150.0))
    said = list(unfit_on_cover(coarse, cover_of(replace(book, cover=coarse)).page))
    assert [fault.severity for fault in said] == ["warning"], "no room for 300 mm of height"
    assert "not 150 mm" in said[0].message and said[0].where == cover.picture.place
    few = replace(cover.picture, raster=cover.picture.raster.cut_to(20.0))
    few = replace(few, raster=few.raster.cut_to(1.0))
    asked = replace(cover, picture=few)
    (fault,) = unfit_on_cover(asked, cover_of(replace(book, cover=asked)).page)
    assert fault.is_error and "coated paper shows 300" in fault.message


def test_a_book_that_promises_that_none_needs_a_guess_has_no_trial(root: Path, built: Any) -> None:
    """Of the others no build here has a warning, and a path with a trial is one."""
    texts = {folder.name: "".join(file.read_text(encoding="utf-8") for file in folder.rglob("*")
                                  if file.suffix in (".yaml", ".md")) for folder in (root / "books").iterdir()}
    promising = {name for name, text in texts.items() if "guess" in text.casefold()}
    assert promising == {"slow-train", "marrowholm", "sixteen-beds", "clear-skies"}
    assert built.built.warnings == ()


def least_type(page: pypdfium2.PdfPage) -> float:
    """The smallest size of any letter on a page, in pt."""
    text = page.get_textpage()
    return min((pypdfium2.raw.FPDFText_GetFontSize(text, index) for index in range(text.count_chars())
                if text.get_text_range(index, 1).strip()), default=LARGE)


def test_every_size_in_the_book_in_large_print_is_large_down_to_the_spine(root: Path, tmp_path: Path) -> None:
    book, reading = read(root, "sixteen-beds")
    made = build(book, reading, tmp_path, None)
    assert (made.warnings, made.pages % 4) == ((), 0)
    pages = pypdfium2.PdfDocument(tmp_path / "book.pdf")
    sizes = {number: least_type(page) for number, page in enumerate(pages, 1)}
    assert {number: size for number, size in sizes.items() if size < LARGE - 0.01} == {}
    is_large_outside(replace(book, isbn=None))


def is_large_outside(book: Book) -> None:
    """The cover without the barcode; its spine stays bare where large type has no room."""
    cover, least = book.cover, spine_for_text(book.layout)
    assert cover is not None and cover.picture is not None
    plain = replace(cover.picture, raster=Raster(9, 9, 8, bytes(81)))
    cover = replace(cover, ean5=None, picture=plain)
    roomy, thin = (cover_of(replace(book, cover=replace(cover, spine=spine))) for spine in (least, least - 0.1))
    for drawn, times in ((roomy, 2), (thin, 1)):
        page = pypdfium2.PdfDocument(io.BytesIO(drawn.pdf))[0]
        assert least_type(page) >= LARGE - 0.01
        assert page.get_textpage().get_text_range().count("Sixteen Beds") == times
    assert (roomy.notes, len(thin.notes)) == ((), 1) and f"bare: under {least:.3g} mm" in thin.notes[0]
    with pytest.raises(CoverError, match="too thin for text"):
        cover_of(replace(book, cover=replace(cover, spine=7.0, spine_text=True)))


def test_the_book_of_rules_is_built_in_german_with_no_word_missing(root: Path, tmp_path: Path) -> None:
    """In German, since a sentence that nobody translated is a warning."""
    book, reading = read(root, "clear-skies")
    made = build(replace(book, language="de"), reading, tmp_path, None)
    assert made.warnings == ()
    said = " ".join("".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(
        tmp_path / "book.pdf")).split())
    assert all(words in said for words in (
        "öffnet sich zur größeren Ziffer hin", "steigen die Ziffern entlang", "das Doppelte",
        "jede Doppellinie", "Eine Zahl außerhalb", "hat keine Blöcke", "In die weißen Felder"))
