"""A rule on cells from the manifest to the printed book read back, in a tree that follows the recipe for it."""

from __future__ import annotations

import io
import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pypdfium2
import pytest
from jsonschema import Draft202012Validator

from cagework.solver.editing.compose import Recipe, compose
from cagework.solver.model import Cell, Puzzle, Sum
from cagework.solver.rule import Named
from cagework.solver.rules import RULES
from cagework.solver.search.exact import Outcome, solve
from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit
from cagework.typeset.draw.describe import describe
from cagework.typeset.draw.grid import draw_grid
from cagework.typeset.draw.look import GridLook
from cagework.typeset.faults import render
from cagework.typeset.manifest.document import read_document
from cagework.typeset.manifest.load import load_book
from cagework.typeset.manifest.schema import schema
from cagework.typeset.marks import Page
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.words import load_words
from cagework.typeset.words.sentences import Sentences
from cagework.typeset.write.pdf import About, pdf_bytes

LETTERS = "abcdefghijklmnopqrstuvwxyz"
LINE = "r1c1 r2c2-r2c3"
"""The example, as it may be written."""
LEAD = "    rules: [{square_line: ["
SAID = {"en": "The digits along each line add to a square number, such as 4 or 9.",
        "de": "Die Ziffern auf jeder Linie ergeben eine Quadratzahl, etwa 4 oder 9."}
TOLD = {"en": f"{SAID['en']} That holds for r1c1 r2c2 r2c3; r5c6 r6c6.",
        "de": f"{SAID['de']} Das gilt für z1s1 z2s2 z2s3; z5s6 z6s6."}


def composed() -> Puzzle:
    """A grid of six with a square at the foot of its last column, whose answer hangs on the example's line."""
    for seed in range(60):
        made = compose(seed, Recipe(size=6, rules=("square_line",)))
        if made.answer.at(Cell(5, 6)) + made.answer.at(Cell(6, 6)) in (4, 9):
            without = replace(made.puzzle, sums=())
            if solve(without).outcome is Outcome.TWO_ANSWERS:
                return made.puzzle
    raise AssertionError("no such puzzle in sixty")


@pytest.fixture(scope="module")
def puzzle() -> Puzzle:
    return composed()


@pytest.fixture
def book(puzzle: Puzzle, tmp_path: Path) -> Callable[..., Path]:
    """Write a book of that puzzle, with these rules and in this language."""
    letter = {cell: LETTERS[number] for number, cage in enumerate(puzzle.cages) for cell in cage.cells}
    rows = ["".join(letter[Cell(row, column)] for column in range(1, 7)) for row in range(1, 7)]
    sums = ", ".join(f"{LETTERS[number]}: {cage.total}" for number, cage in enumerate(puzzle.cages))

    def write(lines: str = f"{LINE}, r5c6-r6c6", language: str = "en", name: str = "book") -> Path:
        path = tmp_path / f"{name}.yaml"
        path.write_text("\n".join([
            f"book: {{title: T, language: {language}, layout: a4-two-up, solutions: full}}", "puzzles:",
            "  - id: stair", "    title: Stair", "    size: 6", "    map: |", *(f"      {row}" for row in rows),
            f"    sums: {{{sums}}}", f"{LEAD}{lines}]}}]", ""]), encoding="utf-8")
        return path

    return write


def test_the_manifest_the_solver_and_the_oracle_agree(
    puzzle: Puzzle, book: Callable[..., Path], cpsat: ModuleType,
) -> None:
    reading = load_book(book())
    assert reading.book is not None, [render(fault) for fault in reading.faults]
    (entry,) = reading.book.entries
    named = [rule.named for rule in entry.rules]  # type: ignore[attr-defined]
    assert named == [RULES["square_line"].example(6), Named((Cell(5, 6), Cell(6, 6)))]
    assert entry.puzzle.sums == (*puzzle.sums, Sum((Cell(5, 6), Cell(6, 6)), (), (1, 4, 9)))
    ours = solve(entry.puzzle)
    theirs = cpsat.verdict(entry.puzzle, tuple(("square_line", one) for one in named))
    assert ours.outcome is theirs.outcome is Outcome.SOUND and ours.answer == theirs.answer
    assert cpsat.verdict(replace(entry.puzzle, sums=())).outcome is Outcome.TWO_ANSWERS


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_book_says_and_shows_it_and_is_read_back(
    language: str, book: Callable[..., Path], tmp_path: Path, capsys: Any,
) -> None:
    path, out = book(language=language), tmp_path / "out"
    assert main(["build", str(path), "--out", str(out), "--press"]) == Exit.FINE, capsys.readouterr()
    pdf = str(out / "book-press.pdf")
    said = "".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(pdf))
    assert SAID[language] in re.sub(r"\s+", " ", said)
    capsys.readouterr()
    assert main(["preflight", pdf, "--against", str(path), "--json"]) == Exit.FINE, capsys.readouterr()
    assert json.loads(capsys.readouterr().out)["differences"] == []


def test_a_line_that_is_not_drawn_is_noticed(
    book: Callable[..., Path], tmp_path: Path, capsys: Any, monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The printed book lacks the second line; read back with it, the line and its disc are missed."""
    kind = RULES["square_line"]
    drawn = kind.figures
    with monkeypatch.context() as patch:
        patch.setattr(kind, "figures", lambda self: drawn(self) if len(self.named.cells) > 2 else ())
        assert main(["build", str(book()), "--out", str(tmp_path / "out")]) == Exit.FINE, capsys.readouterr()
    capsys.readouterr()
    assert main(["preflight", str(tmp_path / "out" / "book.pdf"), "--for", "screen", "--against", str(book()),
                 "--json"]) == Exit.FAULTS
    said = {(one["cell"], one["message"]) for one in json.loads(capsys.readouterr().out)["differences"]}
    assert ("r5c6", "its rule's figure is not drawn") in said
    assert any(message == "its rule's line is not drawn" for _, message in said)


def test_svg_and_picture_have_the_line_where_the_cells_are(
    book: Callable[..., Path], tmp_path: Path, fonts: Fonts,
) -> None:
    """The SVG tells it in words; on a raster by pdfium the line is there, and the disc under its first digit."""
    reading = load_book(book())
    assert reading.book is not None
    (entry,) = reading.book.entries
    assert TOLD["en"] in describe(entry, load_words("en").described, Sentences("en"))
    assert TOLD["de"] in describe(entry, load_words("de").described, Sentences("de"))
    assert main(["build", str(book()), "--out", str(tmp_path / "out")]) == Exit.FINE
    assert SAID["en"] in (tmp_path / "out" / "puzzles" / "stair.svg").read_text(encoding="utf-8")
    side = 30
    look = GridLook(side, 0.3, 0.5, 0.8, 1.2)
    with_line, without = (
        ink(draw_grid(entry.puzzle, rules, look, fonts, 0, 0), 6 * side, fonts) for rules in (entry.rules, ()))
    changed = np.abs(with_line - without) > 20

    def at(x: float, y: float) -> bool:
        column, row = int(x * side * 4), int(y * side * 4)
        return bool(changed[row - 6:row + 7, column - 6:column + 7].any())

    assert at(1.3, 1.3) and at(2, 1.5) and at(5.5, 5.1)    # between r1c1 and r2c2, r2c2 and r2c3, r5c6 and r6c6
    assert at(0.7, 0.65) and at(5.7, 4.65)                 # the discs
    assert not at(3.5, 3.5) and not at(0.5, 4.5)


def ink(grid: Any, side: float, fonts: Fonts) -> Any:
    """A drawing as grey at 288 dots to the inch."""
    data = pdf_bytes((Page(side, side, (grid,)),), (), About("t", "", "", "en"), fonts)
    page = pypdfium2.PdfDocument(io.BytesIO(data))[0]
    return np.asarray(page.render(scale=4).to_pil().convert("L")).astype(int)


@pytest.mark.parametrize(("lines", "word", "message"), [
    ("r1c1 r2c2 r2c9", "r2c9", "r2c9 is off the grid"),
    ("r5c5 r6c6, r1c1 r22", "r22", "'r22' is not a cell"),
    ("r1c1 r2c2 r1c1", "r1c1", "r1c1 is listed twice"),
    ("r1c1-r1c3 r3c3", "r3c3", "r3c3 does not touch r1c3, the cell before it on this line"),
    ("r1c1-r1c6 r2c6", "r2c6", "7 cells are more than a row has"),
    ("r4c4", "r4c4", "a line needs two cells or more; this one has 1 cell"),
    ("r5c5 r6c6, r1c1-r3c3", "r1c1-r3c3", "r2c1 does not touch r1c3, the cell before it on this line"),
    ("r5c5 r6c6, r1c1 r2c2, r5c5 r6c6", "r5c5 r6c6", "'square_line' is on these cells already, on line"),
])
def test_a_fault_in_a_line_is_located_at_the_cell(
    lines: str, word: str, message: str, book: Callable[..., Path],
) -> None:
    reading = load_book(book(lines=lines))
    (fault,) = reading.faults
    column = len(LEAD) + lines.rindex(word) + 1
    assert (fault.message[:len(message)], fault.column, fault.span) == (message, column, len(word))
    assert fault.source[fault.column - 1:][:len(word)] == word


@pytest.mark.parametrize("written", [
    "[square_line]", "[{square_line: }]", "[{square_line: []}]", "[{square_line: 5}]",
    "[{square_line: [r1c1 r1c2, 5]}]", "[{square_line: {cells: r1c1 r1c2}}]",
])
def test_what_is_no_line_is_refused_by_reader_and_schema(written: str, book: Callable[..., Path]) -> None:
    path = book()
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace(text[text.index(LEAD):].strip(), f"rules: {written}"), encoding="utf-8")
    (fault,) = load_book(path).faults
    assert fault.message == "'square_line' needs a line"
    assert fault.hint == "write it as {square_line: r1c1 r2c2 r2c3}"
    assert not Draft202012Validator(schema()).is_valid(read_document(path).data)


def test_several_lines_stand_in_a_list_or_each_on_its_own(book: Callable[..., Path]) -> None:
    path = book()
    listed = load_book(path).puzzles[0].entry
    assert Draft202012Validator(schema()).is_valid(read_document(path).data)
    text = path.read_text(encoding="utf-8")
    apart = "rules: [{square_line: r1c1 r2c2-r2c3}, {square_line: r5c6-r6c6}]"
    path.write_text(text.replace(text[text.index(LEAD):].strip(), apart), encoding="utf-8")
    alone = load_book(path).puzzles[0].entry
    assert listed is not None and alone is not None and listed.rules == alone.rules
    assert Draft202012Validator(schema()).is_valid(read_document(path).data)
