"""Make the pictures of README and manual again, with the tool itself: python tests/pictures.py --write

Three are pages of the sample book and of the sample month, as pdfium draws them; tests hold them against what is
built (`like`). The fourth is the desk in Chromium; it carries the words that its page shows besides the book's,
and a test looks for them there.
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
from pathlib import Path

import numpy as np
import pypdfium2
from PIL import Image, PngImagePlugin

ROOT = Path(__file__).parents[1]
PICTURES = ROOT / "typeset" / "manual" / "pictures"
COLUMN = "2027-03-06-two-column.pdf"
PUZZLE = "four-windows"
WORDS = "words"
"""What the desk's picture calls its words."""

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


def main() -> None:
    """Make them all."""
    from cagework.typeset.commands.door import main as command
    PICTURES.mkdir(exist_ok=True)
    sample = ROOT / "books" / "slow-train" / "book.yaml"
    with tempfile.TemporaryDirectory() as folder:
        assert command(["build", str(sample), "--out", f"{folder}/book"]) == 0
        assert command(["columns", str(ROOT / "books/gazette/series.yaml"), "--out", f"{folder}/month"]) == 0
        for name, picture in (of_book(Path(folder, "book", "book.pdf")) | of_month(Path(folder, "month"))).items():
            write(name, picture)
    pictures, words = of_desk(sample)
    for name, picture in pictures.items():
        write(name, picture, words)


if __name__ == "__main__":
    if "--write" not in sys.argv:
        sys.exit("say --write to make the pictures of the manual again")
    main()
