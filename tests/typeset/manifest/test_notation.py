"""Cell lists, letter maps, ISBNs and language tags against their definitions."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cagework.solver.model import BOXES, Cell, Puzzle, grid_cells
from cagework.typeset.manifest.document import parse_document
from cagework.typeset.manifest.notation import is_language, read_cells
from cagework.typeset.manifest.notes import Notes
from cagework.typeset.manifest.puzzle_files import read_puzzle_file
from cagework.typeset.manifest.reread import Reread


def _cells(text: str) -> str:
    cells, slips = read_cells(text, 9)
    assert not slips
    return " ".join(str(one.cell) for one in cells)


@pytest.mark.parametrize(("written", "cells"), [
    ("r1c1", "r1c1"),
    ("r1c1 r2c1, r3c1", "r1c1 r2c1 r3c1"),
    ("r1c1,r2c1", "r1c1 r2c1"),
    ("R1C1", "r1c1"),
    ("r1c3-r1c5", "r1c3 r1c4 r1c5"),
    ("r3c1-r1c1", "r3c1 r2c1 r1c1"),
    ("r2c2-r3c3", "r2c2 r2c3 r3c2 r3c3"),
    ("r3c3-r2c2", "r3c3 r3c2 r2c3 r2c2"),
    ("r1c1-r1c2 r1c1", "r1c1 r1c2 r1c1"),
    ("r5c5-r5c5", "r5c5"),
])
def test_cell_lists(written: str, cells: str) -> None:
    assert _cells(written) == cells


@pytest.mark.parametrize("written", ["r0c1", "r1c0", "r10c1", "r1c99", "c1r1", "r1", "r1c1-", "-", "r1c1--r1c2",
                                     "r1c1-r1c2-r1c3", "r1c1;r1c2", "r1 c1", "rIcI", "r١c١"])
def test_what_is_no_cell_is_a_slip_at_its_own_word(written: str) -> None:
    text = f"r1c1, {written}"
    _, slips = read_cells(text, 9)
    assert slips and slips[0].offset == 6
    assert text[slips[0].offset:][:slips[0].length] in written


def _puzzle(text: str) -> Puzzle:
    notes = Notes(parse_document(Path("x.yaml"), text))
    (found,) = read_puzzle_file(notes.document, True, notes, Reread())
    assert found.reading.entry is not None, found.reading.faults
    return found.reading.entry.puzzle


@st.composite
def tilings(draw: st.DrawFn) -> tuple[int, list[tuple[list[Cell], int | None]]]:
    """A size and disjoint joined cages with totals in reach; some cells may be in none."""
    size = draw(st.sampled_from([4, 6, 9]))
    free = set(grid_cells(size))
    cages: list[tuple[list[Cell], int | None]] = []
    for start in draw(st.permutations(sorted(free)).map(lambda cells: cells[:20])):
        if start not in free:
            continue
        cage = [start]
        free.remove(start)
        for _ in range(draw(st.integers(0, size - 1))):
            edge = sorted({near for cell in cage for near in cell.neighbours() if near in free})
            if not edge:
                break
            cell = draw(st.sampled_from(edge))
            cage.append(cell)
            free.remove(cell)
        k = len(cage)
        total = draw(st.none() | st.integers(k * (k + 1) // 2, k * (2 * size - k + 1) // 2))
        cages.append((cage, total))
    return size, cages


LETTERS = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789+*&@"


@given(tilings(), st.booleans())
def test_a_letter_map_and_the_equal_cell_lists_are_one_puzzle(
    made: tuple[int, list[tuple[list[Cell], int | None]]], spaced: bool,
) -> None:
    size, cages = made
    names = {cell: LETTERS[n] for n, (cells, _) in enumerate(cages) for cell in cells}
    gap = " " if spaced else ""
    rows = [gap.join(names.get(Cell(r, c), ".") for c in range(1, size + 1)) for r in range(1, size + 1)]
    head = f"id: q\ntitle: Q\nsize: {size}\n"
    sums = ", ".join(
        f"'{LETTERS[n]}': {'~' if total is None else total}" for n, (_, total) in enumerate(cages))
    lettered = head + "map: |\n" + "".join(f"  {row}\n" for row in rows) + f"sums: {{{sums}}}\n"
    items = "".join(
        f"  - {{cells: '{' '.join(map(str, cells))}'{'' if total is None else f', sum: {total}'}}}\n"
        for cells, total in cages)
    puzzle = _puzzle(lettered)
    assert puzzle == _puzzle(head + "cages:\n" + items)
    assert {(frozenset(cage.cells), cage.total) for cage in puzzle.cages} == {
        (frozenset(cells), total) for cells, total in cages}
    assert list(puzzle.cages) == sorted(puzzle.cages, key=lambda cage: cage.first)


@pytest.mark.parametrize("size", BOXES)
def test_givens_as_a_mapping_and_as_a_block_are_one_puzzle(size: int) -> None:
    head = f"id: q\ntitle: Q\nsize: {size}\ncages: []\n"
    digits = {Cell(n, n * 3 % size + 1): n for n in range(1, size + 1)}
    # Letters for digits from ten up, as in positional notation to base 17.
    rows = ["".join("." if (d := digits.get(Cell(r, c))) is None else "0123456789ABCDEFG"[d]
                    for c in range(1, size + 1)) for r in range(1, size + 1)]
    block = _puzzle(head + "givens: |\n" + "".join(f"  {row}\n" for row in rows))
    assert block == _puzzle(head + "givens: {" + ", ".join(f"{cell}: {d}" for cell, d in digits.items()) + "}\n")
    assert {given.cell: given.digit for given in block.givens} == digits


# RFC 5646, appendix A
@pytest.mark.parametrize("tag", [
    "de", "fr", "ja", "zh-Hant", "zh-cmn-Hans-CN", "cmn-Hans-CN", "zh-yue-HK", "sr-Latn-RS", "sl-rozaj",
    "sl-rozaj-biske", "sl-nedis", "de-CH-1901", "sl-IT-nedis", "hy-Latn-IT-arevela", "de-DE", "en-US", "es-419",
    "de-CH-x-phonebk", "az-Arab-x-AZE-derbend", "en-US-u-islamcal", "zh-CN-a-myext-x-private",
    "en-a-myext-b-another",
])
def test_language_tags(tag: str) -> None:
    assert is_language(tag) and is_language(tag.lower())


@pytest.mark.parametrize(
    "text", ["de-419-DE", "a-DE", "", "en_GB", "English", "en-", "-en", "en--GB", "e", "en GB"])
def test_what_is_no_language_tag(text: str) -> None:
    """The first two are the malformed examples of RFC 5646, appendix A."""
    assert not is_language(text)
