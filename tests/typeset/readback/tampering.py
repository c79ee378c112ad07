"""Ways to tamper with a finished file, noted by name, and what they are made with."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pikepdf
from pikepdf import Dictionary, Name

from cagework.solver.model import Cell
from cagework.typeset.draw.shown import GridKind

WINDOWS, RAILS, GIVEN = "four-windows", "crossed-rails", "platform-nine"
Tamper = Callable[[Any, Any], None]

TAMPERS: dict[str, tuple[Tamper, str]] = {}
"""Name -> what it does to a file, given the book, and words that must be in what is said of it."""


def tamper(said: str) -> Callable[[Tamper], Tamper]:
    """Note a way to tamper, by the name of its function."""
    def note(change: Tamper) -> Tamper:
        TAMPERS[change.__name__] = change, said
        return change
    return note


def page_of(pdf: Any, little: Any, kind: GridKind = GridKind.PUZZLE, puzzle: str = WINDOWS) -> Any:
    return pdf.pages[little.grid(kind, puzzle).page - 1]


def anchored(pdf: Any, little: Any, name: str) -> Any:
    pages = little.original.laid.pages
    return next(pdf.pages[at] for at, page in enumerate(pages) if any(one.name == name for one in page.anchors))


def over(pdf: Any, page: Any, code: str) -> None:
    page.contents_add(f"q {code} Q".encode())


def under(pdf: Any, page: Any, code: str, end: str = "") -> None:
    page.contents_add(code.encode(), prepend=True)
    if end:
        page.contents_add(end.encode())


def state(page: Any, **entries: Any) -> None:
    """A graphics state under the name /Odd."""
    states = page.Resources.get("/ExtGState", Dictionary())
    states["/Odd"] = Dictionary(**entries)
    page.Resources["/ExtGState"] = states


def recode(pdf: Any, page: Any, change: Callable[[list[Any]], list[Any]]) -> None:
    """A page's operations changed."""
    code = change([list(one) for one in pikepdf.parse_content_stream(page)])
    page.Contents = pdf.make_stream(pikepdf.unparse_content_stream([(one[0], one[1]) for one in code]))


def replace(pdf: Any, page: Any, old: str, new: str, count: int = 1) -> None:
    """A page's content with a pattern replaced, in its first places."""
    content, found = re.subn(old.encode(), new.encode(), content_of(page), count=count)
    assert found, f"there is no {old}"
    page.Contents = pdf.make_stream(content)


def content_of(page: Any) -> bytes:
    page.contents_coalesce()
    return bytes(page.Contents.read_bytes())


def cell(page: Any, place: Any, cell: Cell) -> tuple[float, float, float]:
    """A cell's left and low edge in the page's own space, and its side."""
    x, y = place.corner(cell)
    return x, float(page.MediaBox[3]) - y - place.cell, place.cell


def solid(pdf: Any) -> Any:
    return pdf.make_stream(bytes(3), Type=Name.XObject, Subtype=Name.Image, Width=1, Height=1, BitsPerComponent=8,
                           ColorSpace=Name.DeviceRGB)
