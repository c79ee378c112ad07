"""A grid in words says all that a reader needs: every fact of the puzzle can be read back."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from cagework.solver.listed import ListedHouse
from cagework.solver.model import BOXES, Cage, Cell, Given, Puzzle, boxes, standard_houses
from cagework.typeset.draw.describe import describe
from cagework.typeset.entry import Entry, Place
from cagework.typeset.words import languages, load_words
from cagework.typeset.words.sentences import Sentences

GROUP = (Cell(1, 1), Cell(2, 2), Cell(3, 3))


def told(puzzle: Puzzle, language: str) -> list[list[Cell]]:
    """The runs of cells a description names, in order, whatever its words."""
    place = Place(Path("x.yaml"), 1, 1)
    entry = Entry("x", "X", None, None, None, puzzle, (ListedHouse(4, "g", GROUP),), place)
    text = describe(entry, load_words(language).described, Sentences(language))
    cell = r"[rz](\d+)[cs](\d+)"
    return [[Cell(int(row), int(column)) for row, column in re.findall(cell, part)]
            for part in re.split(r"[;:.]", text) if re.search(cell, part)]


@pytest.mark.parametrize("language", languages())
def test_regions_cages_givens_and_groups_are_told_cell_by_cell(language: str) -> None:
    slanted = tuple(tuple(Cell(row, (column + row - 2) % 4 + 1) for row in range(1, 5)) for column in range(1, 5))
    cages = (Cage((Cell(1, 1), Cell(1, 2)), 5), Cage((Cell(4, 4),), None))
    puzzle = Puzzle(4, standard_houses(4, slanted), cages, (Given(Cell(2, 3), 1),))
    found = told(puzzle, language)
    assert [sorted(run) for run in found[:4]] == [sorted(region) for region in slanted]
    assert found[4:] == [list(cages[0].cells), list(cages[1].cells), [Cell(2, 3)], list(GROUP)]


@pytest.mark.parametrize("size", BOXES)
def test_the_usual_boxes_go_without_saying(size: int) -> None:
    assert Puzzle(size, standard_houses(size), ()).own_regions == ()
    assert Puzzle(size, standard_houses(size, reversed(boxes(size))), ()).own_regions == ()
