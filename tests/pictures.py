"""Make the pictures of README and manual again, with the tool itself: python tests/pictures.py --write

Pages of the sample book and of the sample month are as pdfium draws them; tests hold them against what is built
(`like`), and the picture of the rules against what is drawn. Two show the desk in Chromium; they carry the words
that its page shows besides the book's, and a test looks for them there.
"""

from __future__ import annotations

import io
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path

import numpy as np
import pypdfium2
import resvg_py
from PIL import Image, PngImagePlugin

from cagework.solver.rules import RULES
from cagework.typeset.draw.rule_pictures import rule_pieces
from cagework.typeset.draw.setting import PageNumbers, Setting
from cagework.typeset.manifest.load import load_book
from cagework.typeset.marks import Mark
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.words import load_words
from cagework.typeset.write.svg import svg_text

ROOT = Path(__file__).parents[1]
PICTURES = ROOT / "typeset" / "manual" / "pictures"
COLUMN = "2027-03-06-two-column.pdf"
PUZZLE = "four-windows"
WORDS = "words"
"""What the desk's picture calls its words."""

NAMES = ("spread", "worked", "column", "rules", "desk", "list")
SHADES = 16
_BLOCK, _NEAR = 8, 24
"""Pictures are alike where no block of so many pixels square differs by so many of 255 shades on the average: two
versions of a renderer smooth edges differently, but a digit that is another is seen.
"""

_ON_PAGE = """return [...document.querySelectorAll("button, label, legend, figcaption")]
    .filter((one) => one.checkVisibility() && !one.closest("tbody, #thumbs, #work, .steps"))
    .map((one) => (one.firstChild?.textContent ?? "").trim())"""


def page_of(document: pypdfium2.PdfDocument, *words: str) -> int:
    """The first page that has all these words, from 0."""
    return next(number for number, page in enumerate(document)
                if all(word in page.get_textpage().get_text_range() for word in words))


def drawn(document: pypdfium2.PdfDocument, pages: Iterable[int], scale: float) -> Image.Image:
    """Pages side by side, in shades of grey, with a hair between them; `scale` is pixels a point."""
    looks = [document[page].render(scale=scale, grayscale=True).to_pil().convert("L") for page in pages]
    wide = sum(look.width for look in looks) + len(looks) - 1
    whole = Image.new("L", (wide, looks[0].height), 153)
    left = 0
    for look in looks:
        whole.paste(look, (left, 0))
        left += look.width + 1
    return whole


def of_book(pdf: Path) -> dict[str, Image.Image]:
    """Name -> picture, of the sample book: two puzzles as they face each other, and a page of worked solutions."""
    document = pypdfium2.PdfDocument(pdf)
    right = page_of(document, "Four Windows", "by the lamp boy")
    worked = page_of(document, "Rack and Pinion", "In short.")
    return {"spread": drawn(document, (right - 1, right), 1.9), "worked": drawn(document, (worked,), 2.2)}


def of_month(folder: Path) -> dict[str, Image.Image]:
    """Name -> picture, of the sample month: a day's puzzle in a slot of two columns."""
    return {"column": drawn(pypdfium2.PdfDocument(folder / COLUMN), (0,), 2.2)}


def of_rules() -> dict[str, Image.Image]:
    """Name -> picture, of all extra rules as a book explains them: each drawn, with its sentence beside it."""
    book = load_book(ROOT / "books" / "slow-train" / "book.yaml").book
    assert book is not None
    section, *_ = book.sections
    entry = replace(section.entries[0], rules=tuple(kind.exemplar(9) for kind in RULES.values()))
    book = replace(book, language="en", sections=(replace(section, entries=(entry,)),))
    setting = Setting.of(book, Fonts(book.layout), load_words("en"))
    pieces = list(rule_pieces(setting))
    half, gap = -(-len(pieces) // 2), 20.0
    marks, high = list[Mark](), 0.0
    for column, left in ((pieces[:half], gap), (pieces[half:], setting.measure + 2 * gap)):
        below = gap
        for piece in column:
            marks += piece.draw(PageNumbers({}), left, below, 0, 1)
            below += piece.block.leading
        high = max(high, below + gap)
    svg = svg_text(marks, 2 * setting.measure + 3 * gap, high, setting.fonts, "Extra rules")
    png = bytes(resvg_py.svg_to_bytes(svg_string=svg, background="white", dpi=122))
    return {"rules": Image.open(io.BytesIO(png)).convert("L")}


def like(one: Image.Image, other: Image.Image) -> bool:
    """Whether two pictures look alike."""
    return one.size == other.size and bool((np.abs(_blocks(one) - _blocks(other)) < _NEAR).all())


def _blocks(picture: Image.Image) -> np.ndarray:
    shades = np.asarray(picture.convert("L"), dtype=float)
    high, wide = (length // _BLOCK * _BLOCK for length in shades.shape)
    cut = shades[:high, :wide].reshape(high // _BLOCK, _BLOCK, wide // _BLOCK, _BLOCK)
    return np.asarray(cut.mean(axis=(1, 3)))


def kept(name: str) -> Image.Image:
    """A picture as it is in the manual."""
    with Image.open(PICTURES / f"{name}.png") as picture:
        picture.load()
        return picture


def words_of_desk() -> list[str]:
    """The words that the desk's picture carries."""
    return str(kept("desk").info[WORDS]).split("\n")


@contextmanager
def _desk(book: Path) -> Iterator[str]:
    command = [sys.executable, "-m", "cagework.typeset", "desk", str(book)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as running:
        assert running.stdout is not None
        try:
            yield running.stdout.readline().split()[0]
        finally:
            running.terminate()


def of_desk(book: Path) -> tuple[dict[str, Image.Image], list[str]]:
    """Name -> picture, of the desk with a book: one of its puzzles open beside its page, and the list of them all;
    and the words on the page that are not the book's.
    """
    from selenium import webdriver
    options = webdriver.ChromeOptions()
    options.binary_location = shutil.which("chromium") or shutil.which("google-chrome") or ""
    for flag in ("--headless", "--no-sandbox", "--hide-scrollbars", "--window-size=1400,960"):
        options.add_argument(flag)
    with _desk(book) as address:
        driver = webdriver.Chrome(options, webdriver.ChromeService(shutil.which("chromedriver")))

        def look(css: str, click: str) -> Image.Image:
            """The page once it has what `css` names, and a button of its was pressed."""
            while not driver.execute_script("return document.querySelector(arguments[0])?.checkVisibility()", css):
                time.sleep(0.2)
            driver.execute_script("document.querySelector(arguments[0]).click()", click)
            time.sleep(4)
            return Image.open(io.BytesIO(driver.get_screenshot_as_png())).convert("RGB")

        driver.get(f"{address}#{PUZZLE}")
        pictures = {"desk": look("#work .grid[src]", "#show-page")}
        words = driver.execute_script(_ON_PAGE)
        pictures["list"] = look("#close", "#close")
        words += driver.execute_script(_ON_PAGE)
        driver.quit()
    return pictures, sorted({word for word in words if re.fullmatch(r"[A-Za-z …‹›]{3,}", word)})


def write(name: str, picture: Image.Image, words: Iterable[str] = ()) -> None:
    """Put a picture into the manual, in few colours, so that it stays small."""
    info = PngImagePlugin.PngInfo()
    if said := "\n".join(words):
        info.add_itxt(WORDS, said)
    few = picture.quantize(*((128, Image.Quantize.FASTOCTREE) if picture.mode == "RGB" else (SHADES,)),
                           dither=Image.Dither.NONE)
    few.save(PICTURES / f"{name}.png", optimize=True, pnginfo=info)


def made(names: Iterable[str]) -> Iterator[tuple[str, Image.Image, list[str]]]:
    """Those pictures of these names, or all for none, each with the words that it carries."""
    from cagework.typeset.commands.door import main as command
    sample, wanted = ROOT / "books" / "slow-train" / "book.yaml", {*names} or {*NAMES}
    with tempfile.TemporaryDirectory() as folder:
        if wanted & {"spread", "worked"}:
            assert command(["build", str(sample), "--out", f"{folder}/book"]) == 0
            yield from ((*one, []) for one in of_book(Path(folder, "book", "book.pdf")).items())
        if "column" in wanted:
            assert command(["columns", str(ROOT / "books/gazette/series.yaml"), "--out", f"{folder}/month"]) == 0
            yield from ((*one, []) for one in of_month(Path(folder, "month")).items())
    if "rules" in wanted:
        yield from ((*one, []) for one in of_rules().items())
    if wanted & {"desk", "list"}:
        pictures, words = of_desk(sample)
        yield from ((*one, words) for one in pictures.items())


if __name__ == "__main__":
    if "--write" not in sys.argv or not {*sys.argv[2:]} <= {*NAMES}:
        sys.exit(f"say --write, and which, if not all: {' '.join(NAMES)}")
    PICTURES.mkdir(exist_ok=True)
    for one in made(sys.argv[2:]):
        write(*one)
