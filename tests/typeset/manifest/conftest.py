"""How a reading is shown as text, for the expected files that stand beside the manifests."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import fields
from pathlib import Path

import pytest

from cagework.solver.model import Puzzle
from cagework.typeset.book import Book, PressSettings
from cagework.typeset.faults import UnreadableManifest, render
from cagework.typeset.manifest.load import Reading, load_book

HERE = Path(__file__).parent


def _told(path: Path, *, puzzles_suffice: bool) -> str:
    try:
        reading = load_book(path, puzzles_suffice=puzzles_suffice)
    except UnreadableManifest as error:
        text = f"UNREADABLE\n{render(error.fault)}"
    else:
        text = "\n\n".join(render(fault) for fault in reading.faults) or "no faults"
    return text.replace(f"{path.parent}/", "") + "\n"


@pytest.fixture
def told() -> Callable[..., str]:
    """What an editor is told about a file, its folder left out of the paths."""
    return _told


def _shown(puzzle: Puzzle) -> list[str]:
    letters = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"
    grid = {cell: letters[n] for n, cage in enumerate(puzzle.cages) for cell in cage.cells}
    rows = ["".join(grid.get(cell, ".") for cell in puzzle.cells[at:at + puzzle.size])
            for at in range(0, puzzle.size**2, puzzle.size)]
    sums = " ".join(f"{letters[n]}={cage.total}" for n, cage in enumerate(puzzle.cages))
    givens = " ".join(f"{given.cell}={given.digit}" for given in puzzle.givens)
    return [*rows, f"sums: {sums}", f"givens: {givens}", f"pairs: {len(puzzle.pairs)}",
            *(f"{house.name}: {' '.join(map(str, house.cells))}" for house in puzzle.houses[2 * puzzle.size:]
              if not house.name.startswith("box"))]


def _book_shown(book: Book) -> list[str]:
    lines = [f"title: {book.title!r} subtitle: {book.subtitle!r} by: {book.by!r} language: {book.language}",
             f"imprint: {book.imprint} isbn: {book.isbn} layout: {book.layout.name}",
             f"introduction: {book.introduction!r}", f"press: {_press_shown(book.press)}"]
    if book.cover:
        cover = book.cover
        lines += ["", f"cover: {cover.puzzle.size} x {cover.puzzle.size}",
                  f"ean5: {cover.ean5} at {cover.magnification}",
                  f"bound: {cover.binding} in {cover.stock}",
                  f"spine: {cover.caliper} + {cover.allowance} or {cover.spine} mm",
                  f"spine_text: {cover.spine_text} reversed: {cover.reversed} blurb: {cover.blurb!r}",
                  f"places: {' '.join(f'{key}:{at.line}:{at.column}' for key, at in cover.places.items())}"]
    if book.grade_words or book.index:
        words = {grade.value: word for grade, word in (book.grade_words or {}).items()}
        lines += ["", f"grades: {book.grades} {words} index: {' '.join(book.index)}"]
    for page in book.text_pages:
        lines += ["", f"page: {page.title!r} {page.position} {page.section} numbered: {page.numbered} "
                      f"listed: {page.listed} at: {page.place_of('text').line}",
                  *(f"{block.kind} {block.number}: {' '.join(f'{span.look}({span.text})' for span in block.spans)}"
                    for block in page.blocks)]
    for section in book.sections:
        lines += ["", f"section: {section.title!r} intro: {section.intro!r}"]
        for entry in section.entries:
            lines += ["", f"{entry.id}: {entry.title!r} by: {entry.by!r}",
                      f"grade: {entry.grade} note: {entry.note!r}",
                      f"at: {entry.place.file.name}:{entry.place.line}:{entry.place.column}",
                      f"rules: {' '.join(type(rule).__name__ for rule in entry.rules)}", *_shown(entry.puzzle)]
    return lines


def _press_shown(press: PressSettings) -> str:
    """What differs from the press settings of a manifest that says nothing."""
    usual = PressSettings(stated=press.stated)
    return " ".join(f"{field.name}={getattr(press, field.name)}" for field in fields(press)
                    if getattr(press, field.name) != getattr(usual, field.name)) or "as usual"


@pytest.fixture
def shown() -> Callable[[Reading], str]:
    """A book in plain lines: every field, and every puzzle with its cages named a, b, c by first cell."""
    def show(reading: Reading) -> str:
        assert reading.book is not None
        return "\n".join(_book_shown(reading.book)) + "\n"
    return show
