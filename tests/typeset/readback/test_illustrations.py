"""A publisher's own pictures: how they are brought to one ink, where they stand, and that another is noticed.

The finished file is looked into and spoiled with pikepdf, rendered with pdfium, and written anew by Ghostscript.
"""

from __future__ import annotations

import io
import subprocess
import zlib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pypdfium2
import pytest
from PIL import Image, ImageDraw

from cagework.typeset.book import Book, Illustration
from cagework.typeset.choices import Stock
from cagework.typeset.manifest.load import load_book
from cagework.typeset.marks import MM, Group, Mark, Page, Picture, Tag, half_turned
from cagework.typeset.no_room import unfit_pictures
from cagework.typeset.raster import Raster

BOOK = """
book:
  title: Low Tide
  imprint: [Printed on the quay.]
  picture: {file: colours.png, alt: Four colours}
  mark: {file: mark.png, alt: A sail, width: 20}
sections:
  - {title: At the Quay, intro: Mind the step., picture: {file: sea.jpg, alt: ""}, puzzles: [q01]}
pages:
  - title: Fog
    text: A few words.
    picture: {file: fog.png, alt: The editor in fog, width: 60}
puzzles:
  - id: q01
    size: 4
    map: |
      aabc
      dabc
      deec
      dfff
    sums: {a: 7, b: 6, c: 6, d: 8, e: 4, f: 9}
"""
RED, GREEN, BLUE, GREY = (255, 0, 0), (0, 255, 0), (0, 0, 255), (119, 119, 119)
TITLE, IMPRINT, FOG, OPENER = 1, 2, 4, 7


def draw(folder: Path) -> None:
    colours = Image.new("RGB", (1400, 1400))
    pen = ImageDraw.Draw(colours)
    for place, colour in enumerate((RED, GREEN, BLUE, GREY)):
        left, top = place % 2 * 700, place // 2 * 700
        pen.rectangle((left, top, left + 699, top + 699), fill=colour)
    colours.save(folder / "colours.png")
    mark = Image.new("1", (1000, 1000), 1)
    ImageDraw.Draw(mark).polygon([(500, 100), (900, 900), (100, 900)], fill=0)
    mark.save(folder / "mark.png")
    slope = Image.linear_gradient("L")
    slope.rotate(90).resize((1600, 700)).save(folder / "sea.jpg", quality=95)
    fog = Image.new("RGBA", (800, 500), (0, 0, 0, 255))
    fog.putalpha(slope.resize((800, 500)))
    fog.save(folder / "fog.png")


@pytest.fixture(scope="module")
def hung(tmp_path_factory: pytest.TempPathFactory, finish: Callable[..., Any]) -> Any:
    """A little book with a picture in every place that takes one, and its finished file."""
    folder = tmp_path_factory.mktemp("hung")
    draw(folder)
    (folder / "book.yaml").write_text(BOOK, encoding="utf-8")
    reading = load_book(folder / "book.yaml")
    assert reading.book is not None, reading.faults
    return finish(reading, reading.book)


def pictures(page: Page) -> list[tuple[Group, Picture]]:
    return [(mark, one) for mark in page.marks if isinstance(mark, Group) for one in mark.marks
            if isinstance(one, Picture)]


def test_every_picture_stands_once_in_its_place(hung: Any) -> None:
    laid = hung.original.laid
    found = {number: pictures(page) for number, page in enumerate(laid.pages, 1) if pictures(page)}
    assert {number: [one.raster.width for _, one in there] for number, there in found.items()} == {
        TITLE: [1400], IMPRINT: [1000], FOG: [800], OPENER: [1600]}
    for number, [(group, one)] in found.items():
        block = laid.setting.block(number)
        assert block.x - 0.1 <= one.x and one.x + one.width <= block.right + 0.1
        assert block.y <= one.y and one.y + one.height <= block.bottom + 0.1
        assert one.width / one.height == pytest.approx(one.raster.width / one.raster.height)
        assert (group.tag, bool(group.alt)) == ((None, False) if number == OPENER else (Tag.FIGURE, True))
    assert found[FOG][0][1].width == pytest.approx(60 * MM)
    assert found[IMPRINT][0][1].width == pytest.approx(20 * MM)


def test_a_picture_is_gray_by_rec_709_and_flat_and_line_art_stays_so(hung: Any) -> None:
    """ITU-R BT.709-6, item 3.2: E'Y = 0.2126 E'R + 0.7152 E'G + 0.0722 E'B."""
    with pikepdf.open(io.BytesIO(hung.data)) as pdf:
        images = {number: image(pdf, number) for number in (TITLE, IMPRINT, FOG, OPENER)}
        assert {str(one.ColorSpace) for one in images.values()} == {"/DeviceGray"}
        assert {number: int(one.BitsPerComponent) for number, one in images.items()} == {
            TITLE: 8, IMPRINT: 1, FOG: 8, OPENER: 8}
        assert not any(key in one for one in images.values() for key in ("/SMask", "/Mask"))
        colours = pikepdf.PdfImage(images[TITLE]).as_pil_image()
        due = [0.2126 * red + 0.7152 * green + 0.0722 * blue for red, green, blue in (RED, GREEN, BLUE, GREY)]
        there = [colours.getpixel(at) for at in ((350, 350), (1050, 350), (350, 1050), (1050, 1050))]
        assert there == pytest.approx(due, abs=1)
        fog = np.asarray(pikepdf.PdfImage(images[FOG]).as_pil_image(), float)
        assert fog[0].mean() > 250 and fog[-1].mean() < 5           # nothing of black on white, then all of it
        assert fog[250].mean() == pytest.approx(127, abs=4)


def test_the_page_shows_the_picture_upright(hung: Any) -> None:
    """As pdfium renders it."""
    [(_, one)] = pictures(hung.original.laid.pages[TITLE - 1])
    shown = pypdfium2.PdfDocument(hung.data)[TITLE - 1].render(scale=1, grayscale=True).to_pil()
    quarter = [shown.getpixel((int(one.x + one.width * x), int(one.y + one.height * y)))
               for y in (0.25, 0.75) for x in (0.25, 0.75)]
    assert quarter == pytest.approx([54, 182, 18, 119], abs=2)


def test_it_is_read_aloud_by_its_words(hung: Any) -> None:
    with pikepdf.open(io.BytesIO(hung.data)) as pdf:
        said = [str(one.Alt) for one in pdf.Root.StructTreeRoot.K.K if one.S == "/Figure" and "/Alt" in one]
    assert [text for text in said if "grid" not in text.lower()] == ["Four colours", "A sail", "The editor in fog"]


def image(pdf: Any, number: int) -> Any:
    (found,) = pdf.pages[number - 1].Resources.XObject.values()
    return found


def spoil(data: bytes, number: int, change: Callable[[Any, Any], None]) -> bytes:
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(data)) as pdf:
        change(pdf, pdf.pages[number - 1])
        pdf.save(out)
    return out.getvalue()


def placed_by(matrix: bytes) -> Callable[[Any, Any], None]:
    """Draw the page's picture by another matrix."""
    def change(pdf: Any, page: Any) -> None:
        data = page.Contents.read_bytes()
        head, _, rest = data.partition(b" cm /FormXob")
        start = head.rindex(b"q ") + 2
        edges = head[start:].split()
        page.Contents = pdf.make_stream(data[:start] + matrix % tuple(edges[n] for n in (0, 3, 4, 5))
                                        + b" cm /FormXob" + rest)
    return change


def one_pixel(pdf: Any, page: Any) -> None:
    (found,) = page.Resources.XObject.values()
    data = bytearray(found.read_bytes())
    data[350 * 1400 + 350] ^= 0x40
    found.write(zlib.compress(bytes(data)), filter=pikepdf.Name.FlateDecode)


def coloured(pdf: Any, page: Any) -> None:
    (found,) = page.Resources.XObject.values()
    data = found.read_bytes()
    found.ColorSpace = pikepdf.Name.DeviceRGB
    found.write(zlib.compress(b"".join(bytes((0, level, level)) for level in data)),
                filter=pikepdf.Name.FlateDecode)


def seen_through(pdf: Any, page: Any) -> None:
    (found,) = page.Resources.XObject.values()
    found.SMask = pdf.make_stream(bytes(1), Type=pikepdf.Name.XObject, Subtype=pikepdf.Name.Image, Width=1,
                                  Height=1, ColorSpace=pikepdf.Name.DeviceGray, BitsPerComponent=8)


def turned_over(pdf: Any, page: Any) -> None:
    (found,) = page.Resources.XObject.values()
    found.Decode = pikepdf.Array([1, 0])


def swapped(pdf: Any, page: Any) -> None:
    (name,) = page.Resources.XObject.keys()
    page.Resources.XObject[name] = image(pdf, OPENER)


def left_out(pdf: Any, page: Any) -> None:
    page.Contents = pdf.make_stream(page.Contents.read_bytes().replace(b" Do Q", b" Q"))


def twice(pdf: Any, page: Any) -> None:
    (name,) = page.Resources.XObject.keys()
    page.contents_add(b"q 20 0 0 20 200 560 cm %b Do Q" % name.encode())


@pytest.mark.parametrize(("change", "said"), [
    (placed_by(b"-%b 0 0 %b %b %b"), "is missing"), (placed_by(b"%b 0 0 -%b %b %b"), "is missing"),
    (placed_by(b"%b 0 0 %b 50 60 %% %b %b\n"), "is missing"), (left_out, "is missing"),
    (one_pixel, "is another picture"), (coloured, "is another picture"), (swapped, "is another picture"),
    (turned_over, "is another picture"), (seen_through, "is behind a mask"),
    (twice, "stands where nothing should"),
])
def test_another_picture_is_noticed(change: Callable[[Any, Any], None], said: str, hung: Any) -> None:
    told = hung.told(spoil(hung.data, TITLE, change))
    assert any(said in line for line in told) and all(line.startswith(f"page {TITLE}, ") for line in told), told


def test_the_file_is_the_book_and_so_it_is_when_it_comes_back(hung: Any, tmp_path: Path) -> None:
    """Ghostscript packs pictures with losses here."""
    assert hung.told(hung.data) == []
    (tmp_path / "book.pdf").write_bytes(hung.data)
    subprocess.run(["gs", "-q", "-dBATCH", "-dNOPAUSE", "-sDEVICE=pdfwrite", "-dAutoFilterGrayImages=false",
                    "-dGrayImageFilter=/DCTEncode", "-o", tmp_path / "back.pdf", tmp_path / "book.pdf"],
                   check=True)
    back = (tmp_path / "back.pdf").read_bytes()
    with pikepdf.open(io.BytesIO(back)) as pdf:
        assert all(image(pdf, number).Filter == "/DCTDecode" for number in (TITLE, OPENER))
    assert hung.told(back) == []
    assert any("is another picture" in line for line in hung.told(spoil(back, TITLE, swapped)))


def told(hung: Any, book: Book, press: bool) -> list[str]:
    laid = hung.original.laid
    pages = [laid.pages[number] for number in range(len(laid.pages))]
    was = {id(new): old for new, old in zip(book.pictures, laid.setting.book.pictures, strict=True)}
    assert was
    setting = replace(laid.setting, book=book)

    def hung_anew(mark: Mark) -> Mark:
        for new in book.pictures:
            if isinstance(mark, Group) and was[id(new)] is mark.shows:
                there = (one._replace(raster=new.raster) for one in mark.marks if isinstance(one, Picture))
                return replace(mark, shows=new, marks=tuple(there))
        return mark

    hanging = [replace(page, marks=tuple(map(hung_anew, page.marks))) for page in pages]
    return [f"{fault.severity}: {fault.message} ({fault.hint})"
            for fault in unfit_pictures(setting, hanging, laid.numbers, press)]


def test_a_coarse_picture_is_a_warning_and_for_a_press_a_fault(hung: Any) -> None:
    book = hung.original.laid.setting.book
    assert told(hung, book, True) == []
    fog = book.text_pages[0]

    def with_fog(pixels: int) -> Book:
        raster = Raster(pixels, pixels, 8, bytes(pixels * pixels))
        return replace(book, text_pages=(replace(fog, picture=replace(fog.picture, raster=raster)),))

    said = "this picture is printed 60 mm wide, with {} pixels an inch; uncoated paper shows 300 " \
           "(make it 709 pixels wide, or print it with width: {})"
    assert told(hung, with_fog(600), False) == ["warning: " + said.format(254, 50)]
    assert told(hung, with_fog(600), True) == ["error: " + said.format(254, 50)]
    assert told(hung, with_fog(350), False) == ["error: " + said.format(148, 29)]
    newsprint = replace(with_fog(500), press=replace(book.press, stock=Stock.NEWSPRINT))
    assert told(hung, newsprint, True) == []


def test_a_picture_without_room_is_a_fault_and_one_with_less_a_warning(
    tmp_path: Path, finish: Callable[..., Any],
) -> None:
    draw(tmp_path)
    long = f"title: {'Low Tide ' * 22}\n  subtitle: {'High Water ' * 18}"
    (tmp_path / "book.yaml").write_text(
        BOOK.replace("title: Low Tide", long).replace("width: 60", "width: 300"), encoding="utf-8")
    reading = load_book(tmp_path / "book.yaml")
    assert reading.book is not None, reading.faults
    laid = finish(reading, reading.book).original.laid
    said = [(fault.where.line, fault.message) for fault in unfit_pictures(  # type: ignore[union-attr]
        laid.setting, laid.pages, laid.numbers, press=False)]
    assert (6, "there is no room for this picture on its page") in said
    assert any(line == 13 and "not 300 mm" in message for line, message in said)


def test_half_a_turn_turns_the_pixels() -> None:
    for bits, samples in ((8, bytes((0, 1, 2, 3, 4, 5))), (1, bytes((0b10000000, 0b01100000)))):
        mark = Picture(10, 20, 30, 40, Raster(3, 2, bits, samples))
        turned = half_turned(mark, 0, 0)
        assert isinstance(turned, Picture)
        assert (turned.x, turned.y, turned.width, turned.height) == (-40, -60, 30, 40)
        assert turned.raster.samples == (samples[::-1] if bits == 8 else bytes((0b11000000, 0b00100000)))
        assert half_turned(turned, 0, 0) == mark


def test_a_drawing_is_printed_as_it_is_drawn_at_600_pixels_an_inch(tmp_path: Path) -> None:
    """Its shapes by their own coordinates; colours by Rec. 709, what is half transparent on white."""
    (tmp_path / "art.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 40 20"><rect width="10" height="20" fill="#f00"/>'
        '<circle cx="20" cy="10" r="5" fill="#000"/><rect x="30" width="10" height="10" opacity="0.5"/></svg>',
        encoding="utf-8")
    drawn = read(tmp_path, "art.svg", 25.4)
    assert (drawn.width, drawn.height, drawn.bits) == (600, 300, 8)
    levels = np.frombuffer(drawn.samples, np.uint8).reshape(300, 600).astype(float)
    assert [levels[150, 75], levels[150, 300], levels[75, 525], levels[225, 525]] == pytest.approx(
        [0.2126 * 255, 0, 127.5, 255], abs=1)
    across = 20 / 40 * 600, 5 / 40 * 600
    disc = (255 - levels[:, 150:450]).sum() / 255
    assert disc == pytest.approx(np.pi * across[1] ** 2, rel=0.005)


def read(folder: Path, name: str, width: float) -> Raster:
    """A picture as the manifest in a folder has it."""
    puzzles = BOOK[BOOK.index("puzzles:\n"):]
    text = f"book: {{title: T, mark: {{file: {name}, alt: '', width: {width}}}}}\n{puzzles}"
    (folder / "book.yaml").write_text(text, encoding="utf-8")
    reading = load_book(folder / "book.yaml")
    assert reading.book is not None and reading.book.mark is not None, reading.faults
    return reading.book.mark.raster


@pytest.mark.parametrize(("mode", "level", "due"), [
    ("L", 100, 100), ("I;16", 100 * 257, 100), ("RGB", (100, 100, 100), 100), ("CMYK", (0, 0, 0, 155), 100),
    ("LA", (0, 128), 127), ("P", 7, 7), ("1", 1, 0x80)])
def test_every_kind_of_raster_is_brought_to_levels(mode: str, level: Any, due: int, tmp_path: Path) -> None:
    name = "one.jpg" if mode == "CMYK" else "one.png"
    picture = Image.new(mode, (1, 1), level)
    if mode == "P":
        picture.putpalette([place for place in range(256) for _ in range(3)])
    picture.save(tmp_path / name, **({"quality": 100} if mode == "CMYK" else {}))
    assert read(tmp_path, name, 10).samples[0] == pytest.approx(due, abs=1)


def test_the_words_are_those_of_the_manifest(hung: Any) -> None:
    found = [(one.file.name, one.alt, one.width) for one in hung.original.book.pictures]
    assert found == [("colours.png", "Four colours", None), ("mark.png", "A sail", 20), ("sea.jpg", "", None),
                     ("fog.png", "The editor in fog", 60)]
    assert all(isinstance(one, Illustration) for one in hung.original.book.pictures)
