"""A book in two inks: what is on which plate, what a screen shows, and that another ink is noticed.

The plates are made by Ghostscript (tiffsep), the files looked into and spoiled with pikepdf.
"""

from __future__ import annotations

import io
import shutil
import subprocess
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pikepdf
import pytest
from PIL import Image

from cagework.typeset.build import build
from cagework.typeset.commands.door import main
from cagework.typeset.draw.second_ink import in_second_ink
from cagework.typeset.draw.shown import GridKind
from cagework.typeset.faults import render
from cagework.typeset.manifest.load import load_book
from cagework.typeset.marks import Group, Text, flatten
from cagework.typeset.spot import SpotInk
from cagework.typeset.write.svg import svg_text

BOOK = """
book:
  title: Low Tide
  ink: {name: Harbour Blue, cmyk: [100, 60, 0, 20]}
  pages: {how_to_solve: false}
  puzzles_from: puzzles/*.yaml
sections:
  - {title: At the Quay, puzzles: [q01]}
  - {title: At Sea, solutions: key, puzzles: [crossed-rails]}
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
BLUE = SpotInk("Harbour Blue", (1.0, 0.6, 0.0, 0.2))
DOTS = 100


class TwoInks:
    """The book laid out, its file for a screen, and its file for a press."""

    def __init__(self, folder: Path, finished: Any) -> None:
        self.folder, self.finished, self.laid = folder, finished, finished.original.laid
        self.press = (folder / "out" / "book-press.pdf").read_bytes()

    def number(self, kind: GridKind, puzzle: str) -> int:
        return int(self.finished.grid(kind, puzzle).page)


@pytest.fixture(scope="module")
def two(root: Path, tmp_path_factory: pytest.TempPathFactory, finish: Callable[..., Any]) -> TwoInks:
    folder = tmp_path_factory.mktemp("two")
    (folder / "puzzles").mkdir()
    shutil.copy(root / "books" / "slow-train" / "puzzles" / "crossed-rails.yaml", folder / "puzzles")
    (folder / "book.yaml").write_text(BOOK, encoding="utf-8")
    reading = load_book(folder / "book.yaml")
    assert reading.book is not None, reading.faults
    built = build(reading.book, reading, folder / "out", None, press=True, booklet=True)
    assert "2 inks (black and Harbour Blue)" in " ".join(built.notes)
    return TwoInks(folder, finish(reading, reading.book))


@pytest.fixture(scope="module")
def plates(two: TwoInks) -> Callable[[int, str], Any]:
    """What Ghostscript puts on a plate: how much ink, from 0 to 1, by rows of pixels of the sheet."""
    out = two.folder / "plates"
    out.mkdir()
    subprocess.run(["gs", "-q", "-dBATCH", "-dNOPAUSE", "-sDEVICE=tiffsep", f"-r{DOTS}", "-o", out / "%03d.tif",
                    two.folder / "out" / "book-press.pdf"], check=True)

    def plate(number: int, name: str) -> Any:
        with Image.open(out / f"{number:03}({name}).tif") as picture:
            return 1 - np.asarray(picture.convert("L"), float) / 255

    return plate


def on(plate: Any, two: TwoInks, x: float, y: float, width: float, height: float) -> float:
    """The most ink in a box of the page, in pt from the trim's top left."""
    room = two.laid.setting.book.press.bleed * 72 / 25.4
    left, top, right, low = (int((edge + room) * DOTS / 72) for edge in (x, y, x + width, y + height))
    return float(plate[top:low, left:right].max())


def test_there_are_two_plates_and_each_thing_is_on_its_own(
    two: TwoInks, plates: Callable[[int, str], Any],
) -> None:
    for number in range(1, len(two.laid.pages) + 1):
        for name in ("Cyan", "Magenta", "Yellow"):
            assert not plates(number, name).any(), (number, name)
    place = two.finished.grid(GridKind.PUZZLE, "crossed-rails")
    firsts = (cage.first for cage in place.shown.puzzle.cages)
    row, col = next((at.row, at.col) for at in firsts if at.row not in (at.col, 10 - at.col))    # on no diagonal
    left, top = place.x + (col - 0.94) * place.cell, place.y + (row - 0.94) * place.cell
    corner = left, top, 0.25 * place.cell, 0.2 * place.cell
    black, blue = (plates(place.page, name) for name in ("Black", "Harbour Blue"))
    assert on(blue, two, *corner) > 0.9 and on(black, two, *corner) < 0.1           # its sum, solid
    whole = place.x, place.y, place.width, place.height
    assert on(black, two, *whole) > 0.9
    wide = int(8 * DOTS / 25.4)
    assert 0.2 < max(blue[:, :wide].max(), blue[:, -wide:].max()) < 0.4             # the tab, a tint
    stage = next(one for one in two.finished.places() if one.shown.kind is GridKind.STAGE)
    tint = plates(stage.page, "Harbour Blue")
    assert on(tint, two, stage.x, stage.y, stage.width, stage.height) >= 0.2


def test_the_plate_is_named_and_stands_for_its_proof(two: TwoInks) -> None:
    """ISO 32000-1, 8.6.6.4."""
    with pikepdf.open(io.BytesIO(two.press)) as pdf:
        spaces = [page.Resources.ColorSpace.Second for page in pdf.pages if "/ColorSpace" in page.Resources]
        assert {(str(one[0]), str(one[1]), str(one[2])) for one in spaces} == {
            ("/Separation", "/Harbour Blue", "/DeviceCMYK")}
        function = spaces[0][3]
        assert [float(one) for one in function.C1] == pytest.approx([1, 0.6, 0, 0.2])
        assert (int(function.FunctionType), float(function.N)) == (2, 1)
        assert [float(one) for one in function.C0] == [0] * 4


def test_a_screen_shows_its_colour(two: TwoInks) -> None:
    """Solid 100 C 60 M 20 K: no red, 20 % green, 80 % blue."""
    for data in (two.finished.data, (two.folder / "out" / "booklet.pdf").read_bytes()):
        with pikepdf.open(io.BytesIO(data)) as pdf:
            streams = [one for one in pdf.objects if isinstance(one, pikepdf.Stream) and "/Length1" not in one]
            text = b"\n".join(one.read_bytes() for one in streams if one.get("/Subtype") != "/Image")
            assert b"0 .2 .8 rg" in text and b" scn" not in text
    page = two.laid.pages[two.number(GridKind.PUZZLE, "crossed-rails") - 1]
    assert '"#0033cc"' in svg_text(page.marks, page.width, page.height, two.laid.setting.fonts, "")
    assert BLUE.rgb(0.5) == pytest.approx((0.5, 0.6, 0.9))


def test_the_files_are_the_book(two: TwoInks) -> None:
    assert two.finished.told(two.finished.data) == []
    assert two.finished.told(two.press) == []


def test_a_file_from_elsewhere_may_keep_the_plate_and_claim_nothing(two: TwoInks) -> None:
    """As after a program that writes files anew and drops what it does not know."""
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(two.press)) as pdf:
        del pdf.docinfo["/GTS_PDFXVersion"], pdf.Root["/OutputIntents"]
        pdf.docinfo["/Producer"] = "a program that writes files anew"
        pdf.save(out)
    assert two.finished.told(out.getvalue()) == []


def test_the_layout_says_what_is_in_it(two: TwoInks) -> None:
    setting = two.laid.setting
    layout = setting.layout.model_copy(update={"second_ink": ("tabs",)})
    marks = two.laid.pages[two.number(GridKind.PUZZLE, "crossed-rails") - 1].marks
    bare = tuple(plain(mark) for mark in marks)
    tabs_only = in_second_ink(replace(setting, book=replace(setting.book, layout=layout)), bare)
    assert in_second_ink(setting, bare) == marks
    assert not any(isinstance(mark, Text) and mark.spot for mark in flatten(tabs_only))
    assert any(not isinstance(mark, Text) and getattr(mark, "spot", None) for mark in flatten(tabs_only))


def plain(mark: Any) -> Any:
    if isinstance(mark, Group):
        return replace(mark, marks=tuple(plain(one) for one in mark.marks))
    return mark._replace(spot=None)


def spoil(data: bytes, number: int, change: Callable[[Any], None]) -> bytes:
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(data)) as pdf:
        change(pdf.pages[number - 1])
        pdf.save(out)
    return out.getvalue()


def another(page: Any) -> None:
    page.Resources.ColorSpace.Second[1] = pikepdf.Name("/Warm Red")


def another_proof(page: Any) -> None:
    page.Resources.ColorSpace.Second[3].C1 = pikepdf.Array([0, 1, 1, 0])


@pytest.mark.parametrize(("change", "said"), [
    (another, "in the ink 'Warm Red'"), (another_proof, "in the ink 'Harbour Blue'")])
def test_another_ink_is_noticed(change: Callable[[Any], None], said: str, two: TwoInks) -> None:
    data = spoil(two.press, two.number(GridKind.PUZZLE, "crossed-rails"), change)
    assert any(said in line for line in two.finished.told(data))


@pytest.mark.parametrize(("there", "instead", "said"), [
    (b"/Second cs 1 scn", b"0 g", "is solid; it should be 100 % of the second ink"),
    (b"/Second cs 1 scn", b"/Second cs .6 scn", "is 60 % of the second ink; it should be 100 %"),
    (b"/Second cs 1 scn", b"1 .6 0 .2 k", "in colour"),
])
def test_a_sum_in_another_ink_is_noticed(there: bytes, instead: bytes, said: str, two: TwoInks) -> None:
    number = two.number(GridKind.PUZZLE, "crossed-rails")
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(two.press)) as pdf:
        page = pdf.pages[number - 1]
        data = page.Contents.read_bytes()
        assert there in data
        page.Contents = pdf.make_stream(data.replace(there, instead))
        pdf.save(out)
    told = two.finished.told(out.getvalue())
    assert any(said in line and "crossed-rails" in line for line in told), told[:3]


def test_a_press_that_was_not_told_of_the_ink_refuses_it(two: TwoInks, capsys: pytest.CaptureFixture[str]) -> None:
    file = str(two.folder / "out" / "book-press.pdf")
    assert main(["preflight", file]) == 1
    assert "spot ink Harbour Blue" in capsys.readouterr().out
    assert main(["preflight", file, "--ink", "Harbour Blue"]) == 0
    assert main(["preflight", file, "--against", str(two.folder / "book.yaml")]) == 0


@pytest.mark.parametrize(("ink", "message"), [
    ("{name: Cyan, cmyk: [100, 0, 0, 0]}", "3:15: 'Cyan' is no name for a second ink"),
    ("{name: Sea, cmyk: [100, 0, 0]}", "3:20: 'cmyk' must be four percentages, as [100, 60, 0, 20]"),
    ("{name: Sea, cmyk: [100, 0, 0, 120]}", "3:20: 'cmyk' must be four percentages, as [100, 60, 0, 20]"),
    ("{name: Sand, cmyk: [0, 5, 40, 0]}", "3:21: 'Sand' is too pale for sums"),
    ("{name: Air, cmyk: [4, 0, 0, 0]}", "3:20: 'Air' is too pale for sums"),
    ("{cmyk: [100, 0, 0, 0]}", "3:3: the ink has no 'name'"),
    ("Sea", "3:8: 'ink' must be keys with values, not text"),
])
def test_what_is_wrong_with_an_ink_is_told_in_its_place(ink: str, message: str, tmp_path: Path) -> None:
    text = BOOK.replace("{name: Harbour Blue, cmyk: [100, 60, 0, 20]}", ink).lstrip("\n")
    text = text.replace("  puzzles_from: puzzles/*.yaml\n", "").replace("[crossed-rails]", "[q01]").replace(
        "  - {title: At the Quay, puzzles: [q01]}\n", "")
    file = tmp_path / "book.yaml"
    file.write_text(text, encoding="utf-8")
    reading = load_book(file)
    assert reading.book is None
    assert f"{file}:{message}" in "\n".join(map(render, reading.faults))
