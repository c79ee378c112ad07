"""Books laid out, their finished files, and ways to spoil those with a program that did not write them."""

from __future__ import annotations

import io
import re
import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from cagework.solver.model import Cell
from cagework.typeset.build import lay
from cagework.typeset.draw.shown import GridKind
from cagework.typeset.editions import about_of
from cagework.typeset.manifest.load import load_book
from cagework.typeset.readback.compare import Original, ReadBack, read_back
from cagework.typeset.readback.glyph_shapes import Shapes
from cagework.typeset.readback.grid_places import GridPlace, placed
from cagework.typeset.reader.document import read_document
from cagework.typeset.solving.cache import Cache
from cagework.typeset.solving.crew import Crew
from cagework.typeset.which_file import compare_returned
from cagework.typeset.write.pdf import pdf_bytes


@dataclass(frozen=True, repr=False)
class Finished:
    """A book and its finished file."""

    original: Original
    data: bytes
    shapes: Shapes

    def places(self) -> list[GridPlace]:
        """Where all grids stand."""
        return [one for number, page in enumerate(self.original.laid.pages, 1) for one in placed(number, page)]

    def grid(self, kind: GridKind, puzzle: str) -> GridPlace:
        """Where a puzzle, its answer, or its first diagram stands."""
        return next(one for one in self.places() if one.shown.kind is kind and one.shown.id == puzzle)

    def told(self, data: bytes) -> list[str]:
        """What the read-back says of a file that came back."""
        return [str(one) for one in self.compared(data).differences]

    def compared(self, data: bytes, edition: Any = None) -> ReadBack:
        """All the read-back finds in a file, by default in one that came back."""
        document = read_document(data, self.shapes.chars)
        if edition is None:
            return compare_returned(document, self.original).read
        return read_back(document, self.original, edition(self.original.laid))


LITTLE = """
book:
  title: Platform 9
  layout: a5-one-up
  puzzles_from: puzzles/*.yaml
  pages: {first_hints: true}
  imprint: [Three puzzles to spoil.]
sections:
  - title: All Change
    solutions: key
    intro: Mind the gap.
    puzzles: [platform-nine, four-windows, crossed-rails]
puzzles:
  - id: platform-nine
    title: Platform 9
    size: 4
    map: |
      aabc
      debc
      debc
      deff
    sums: {a: 5, b: 7, c: 9, d: 8, e: 7, f: 4}
    givens: {r2c1: 1}
"""


@pytest.fixture(scope="session")
def little_folder(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Three puzzles: one with a given and a title that ends in a figure, one with tinted cells, one with lines."""
    folder = tmp_path_factory.mktemp("little")
    (folder / "puzzles").mkdir()
    for name in ("four-windows", "crossed-rails"):
        shutil.copy(root / "books" / "slow-train" / "puzzles" / f"{name}.yaml", folder / "puzzles")
    (folder / "book.yaml").write_text(LITTLE, encoding="utf-8")
    return folder


@pytest.fixture(scope="session")
def little(little_folder: Path) -> Finished:
    """The little book."""
    reading = load_book(little_folder / "book.yaml")
    assert reading.book is not None
    return finished(reading, reading.book)


@pytest.fixture(scope="session")
def finish() -> Callable[..., Finished]:
    """Make a book's finished file."""
    return finished


def finished(reading: Any, book: Any) -> Finished:
    original = lay(book, reading, None, crew=Crew(Cache()))
    laid = replace(original.laid, pages=tuple(original.laid.pages))     # drawn once for all files held against it
    original = replace(original, laid=laid)
    about = about_of(laid.setting.book)
    data = pdf_bytes(laid.pages, laid.bookmarks, about, laid.setting.fonts)
    return Finished(original, data, original.shapes())


class Spoiler:
    """One page of a file opened for spoiling: its operations, and where its texts stand, y down. Each string of an
    array is shown by an operation of its own, from a place of its own, so that one can be changed alone.
    """

    def __init__(self, pdf: Any, number: int) -> None:
        self.pdf, self.page = pdf, pdf.pages[number - 1]
        self.height = float(self.page.MediaBox[3])
        self.code = list(self._one_by_one(pikepdf.parse_content_stream(self.page)))

    def _one_by_one(self, code: Any) -> Iterator[tuple[Any, Any]]:
        """Operations with arrays of strings taken apart (ISO 32000-1, 9.4.3 and 9.4.4)."""
        size = spacing = 0.0
        place = [1.0, 0.0, 0.0, 1.0, 0.0, 0.0]
        font: Any = None
        for operands, operator in code:
            match str(operator):
                case "Tf":
                    font, size = self.page.Resources.Font[operands[0]], float(operands[1])
                case "Tc":
                    spacing = float(operands[0])
                case "Td":
                    place = [1.0, 0.0, 0.0, 1.0, *map(float, operands)]
                    continue
                case "Tm":
                    place = list(map(float, operands))
                    continue
                case "TJ":
                    *parts, last = operands[0]
                    words = bytes(last).rstrip(b" ")        # the blank after a run is one of its own
                    for part in (*parts, pikepdf.String(words), pikepdf.String(bytes(last)[len(words):])):
                        if isinstance(part, pikepdf.String):
                            yield place, pikepdf.Operator("Tm")
                            yield [part], pikepdf.Operator("Tj")
                            by = sum(float(font.Widths[code]) / 1000 * size + spacing for code in bytes(part))
                        else:
                            by = -float(part) / 1000 * size
                        place = [*place[:4], place[4] + by * place[0], place[5] + by * place[1]]
                    continue
            yield operands, operator

    def texts(self) -> Iterator[tuple[int, float, float]]:
        """Each string shown that is not blank: the number of its operation, and where it starts."""
        x = y = 0.0
        for index, (operands, operator) in enumerate(self.code):
            if str(operator) == "Tm":
                x, y = float(operands[4]), self.height - float(operands[5])
            if str(operator) == "Tj" and bytes(operands[0]).strip():
                yield index, x, y

    def in_cell(self, place: GridPlace, cell: Cell, corner: bool = False) -> int:
        """The operation that shows a cell's digit, or with `corner` its sum."""
        left, top = place.corner(cell)
        high = 0.45 if corner else 1.0
        low = 0.0 if corner else 0.5
        return next(index for index, x, y in self.texts() if left <= x <= left + place.cell
                    and top + low * place.cell <= y <= top + high * place.cell)

    def row_end(self, text: str, title: str) -> int:
        """The operation that shows `text` at the end of the row in which `title` stands."""
        rows: dict[float, list[int]] = {}
        for index, _, y in self.texts():
            rows.setdefault(round(y, 1), []).append(index)
        row = next(row for row in rows.values() if title in "".join(self.said(index) for index in row))
        return next(index for index in reversed(row) if self.said(index) == text)

    def said(self, index: int) -> str:
        return bytes(self.code[index][0][0]).decode("latin-1")

    def renumber(self, old: int, new: int) -> None:
        """Change the first page number at the end of a phrase."""
        at = next(index for index, _, _ in self.texts() if re.search(rf"[a-z]? {old}$", self.said(index)))
        self.code[at] = ([pikepdf.String(self.said(at).replace(str(old), str(new)))], pikepdf.Operator("Tj"))

    def move(self, index: int, right: float, down: float) -> None:
        """Move a string by pt."""
        at = next(at for at in range(index, -1, -1) if str(self.code[at][1]) == "Tm")
        operands = list(self.code[at][0])
        self.code[at] = ([*operands[:4], float(operands[4]) + right, float(operands[5]) - down], self.code[at][1])

    def add(self, code: str) -> None:
        self.code += list(pikepdf.parse_content_stream(pikepdf.Stream(self.pdf, f"q {code} Q".encode())))

    def write(self, text: str, x: float, y: float, size: float) -> None:
        """One more string, in the last face used."""
        face = next(operands[0] for operands, operator in reversed(self.code) if str(operator) == "Tf")
        self.add(f"0 g BT {face} {size} Tf 0 Tc {x} {self.height - y} Td ({text}) Tj ET")

    def cover(self, x: float, y: float, width: float, height: float) -> None:
        """Paint a white rectangle over all."""
        self.add(f"1 g {x} {self.height - y - height} {width} {height} re f")

    def line(self, x1: float, y1: float, x2: float, y2: float) -> None:
        """One more line."""
        self.add(f"0 G 0.6 w {x1} {self.height - y1} m {x2} {self.height - y2} l S")

    def cut(self, x: float, y1: float, y2: float) -> None:
        """Take the part from y1 to y2 out of the upright line at x, in whatever path it is."""
        start = at = (0.0, 0.0)
        first = 0
        for index, (operands, operator) in enumerate(self.code):
            if str(operator) in ("m", "l"):
                to = float(operands[0]), self.height - float(operands[1])
                low, high = sorted((at[1], to[1]))
                upright = abs(to[0] - x) < 0.5 and abs(at[0] - x) < 0.5
                if str(operator) == "l" and upright and low < y1 and y2 < high:
                    break
                if str(operator) == "m":
                    start, first = to, index
                at = to
        ends = (y1, y2) if at[1] < to[1] else (y2, y1)
        close = next(at for at in range(index, len(self.code)) if str(self.code[at][1]) == "h")
        self.code[close] = ([start[0], self.height - start[1]], pikepdf.Operator("l"))
        self.code[index:index] = [([x, self.height - ends[0]], pikepdf.Operator("l")),
                                  ([x, self.height - ends[1]], pikepdf.Operator("m"))]
        assert first < index

    def blanch(self, place: GridPlace, cell: Cell) -> None:
        """Paint a cell white under its figures and lines, over its tint."""
        x, y = place.corner(cell)
        at = next(index for index, (operands, operator) in enumerate(self.code) if str(operator) == "m"
                  and str(self.code[index + 2][1]) == "S"
                  and place.holds(float(operands[0]) + 0.1, self.height - float(operands[1])))
        patch = f"q 1 g {x} {self.height - y - place.cell} {place.cell} {place.cell} re f Q"
        self.code[at:at] = list(pikepdf.parse_content_stream(pikepdf.Stream(self.pdf, patch.encode())))

    def unslant(self) -> None:
        """Leave all slanted lines undrawn."""
        for index in range(2, len(self.code)):
            move, line, stroke = self.code[index - 2:index + 1]
            if [str(one[1]) for one in (move, line, stroke)] == ["m", "l", "S"] and all(
                    abs(float(start) - float(end)) > 1 for start, end in zip(move[0], line[0], strict=True)):
                self.code[index] = ([], pikepdf.Operator("n"))

    def put(self) -> None:
        """Give the page its operations back."""
        self.page.Contents = self.pdf.make_stream(pikepdf.unparse_content_stream(self.code))


@pytest.fixture(scope="session")
def spoiled(little: Finished) -> Callable[..., bytes]:
    """Spoil one page of the little book's file by what a function does to it."""
    def spoil(number: int, change: Callable[[Spoiler], None]) -> bytes:
        out = io.BytesIO()
        with pikepdf.open(io.BytesIO(little.data)) as pdf:
            page = Spoiler(pdf, number)
            change(page)
            page.put()
            pdf.save(out, object_stream_mode=pikepdf.ObjectStreamMode.disable)
        return out.getvalue()

    return spoil
