"""Steps of crossing sums in words: runs by sum, way and first cell, and never a cage."""

from __future__ import annotations

import random
from collections.abc import Sequence

import pytest

from cagework.solver.crossing import crossing_sums, is_across, runs
from cagework.solver.editing.compose_crossing import CrossingRecipe, compose_crossing
from cagework.solver.model import Cell, Puzzle, Shape
from cagework.solver.reasoning.reason import explain
from cagework.solver.step import Block
from cagework.typeset.solving.story import Story
from cagework.typeset.solving.told import shape_in_words
from cagework.typeset.words.cage_names import CageNames
from cagework.typeset.words.catalogue import templates
from cagework.typeset.words.phrases import OF_RUNS
from cagework.typeset.words.sentences import Sentences

SQUARE = Shape(2, 3, tuple(Cell(row, col) for row in (1, 2) for col in (1, 2, 3)))
PUZZLE = crossing_sums(SQUARE, [16, 16], [16, 4, 12])


@pytest.mark.parametrize(("language", "form", "names"), [
    ("en", "", ["the run of 16 across at r1c1", "the run of 16 across at r2c1", "the run of 16 down",
                "the run of 4 down", "the run of 12 down"]),
    ("de", "", ["der waagerechte 16er-Streifen bei z1s1", "der waagerechte 16er-Streifen bei z2s1",
                "der senkrechte 16er-Streifen", "der senkrechte 4er-Streifen", "der senkrechte 12er-Streifen"]),
    ("de", "of", ["des waagerechten 16er-Streifens bei z1s1", "des waagerechten 16er-Streifens bei z2s1",
                  "des senkrechten 16er-Streifens", "des senkrechten 4er-Streifens",
                  "des senkrechten 12er-Streifens"]),
])
def test_a_run_is_named_by_sum_way_and_cell(language: str, form: str, names: list[str]) -> None:
    """The first cell is left out where no other run of that way has the sum."""
    said = Sentences(language).about(PUZZLE)
    assert [said._value(cage, form) for cage in PUZZLE.cages] == names


def test_several_runs_are_named_together() -> None:
    assert Sentences("en").about(PUZZLE).named(PUZZLE.cages[1:4]) == (
        "the runs of 16 across at r2c1, of 16 down and of 4 down")


BLOCKS = ["..#....", "...##..", "#..#...", "...#..#", "..##...", "....#.."]
"""Runs across are numbered from 0, row by row."""


@pytest.mark.parametrize(("chosen", "english", "german"), [
    ([0, 2, 4], "rows 1 to 3 (columns 1 to 3)", "der Zeilen 1 bis 3 (in den Spalten 1 bis 3)"),
    ([0, 2], "rows 1 and 2 (columns 1 to 3)", "der Zeilen 1 und 2 (in den Spalten 1 bis 3)"),
    ([0, 1, 2, 3], "rows 1 and 2", "der Zeilen 1 und 2"),
    ([0, 5], "row 1 (columns 1 and 2) and row 3 (columns 5 to 7)",
     "von Zeile 1 (in den Spalten 1 und 2) und von Zeile 3 (in den Spalten 5 bis 7)"),
    ([2, 3, 1], "rows 1 and 2 (columns 4 to 7) and row 2",
     "der Zeilen 1 und 2 (in den Spalten 4 bis 7) und von Zeile 2"),
])
def test_a_block_is_named_by_where_its_runs_lie_alone(chosen: list[int], english: str, german: str) -> None:
    puzzle = _white(BLOCKS)
    block = Block(tuple(puzzle.cages[number] for number in chosen))
    assert Sentences("en").about(puzzle).named(block) == f"the runs across in {english}"
    said = Sentences("de").about(puzzle).named(block).replace("\xa0", " ")
    assert said == f"die waagerechten Streifen {german}"


def test_places_of_a_block_have_its_runs_and_no_others() -> None:
    """Read again from the numbers, as a person would: of these rows all runs within these columns."""
    rng = random.Random(4)
    for seed in range(20):
        made = compose_crossing(seed, CrossingRecipe(9, 9, longest=6))
        names, downs = CageNames(made.puzzle), [cage for cage in made.puzzle.cages if not is_across(cage.cells)]
        block = Block(tuple(rng.sample(downs, 5)))
        meant = set()
        for (lines, along), whole in names.places(block):
            columns, rows = range(lines[0], lines[1] + 1), range(along[0], along[1] + 1)
            meant |= {cage for cage in downs if all(
                cell.col in columns and (whole or cell.row in rows) for cell in cage.cells)}
        assert meant == set(block.runs)


def _white(rows: Sequence[str]) -> Puzzle:
    """Crossing sums of these white squares, all of 20."""
    cells = tuple(Cell(r, c) for r, row in enumerate(rows, 1) for c, square in enumerate(row, 1) if square == ".")
    shape = Shape(len(rows), len(rows[0]), cells)
    across, down = runs(shape)
    return crossing_sums(shape, [20] * len(across), [20] * len(down))


@pytest.mark.parametrize(("language", "words"), [("en", "cage"), ("de", "käfig")])
def test_nothing_is_said_of_cages(language: str, words: str) -> None:
    for seed in range(6):
        made = compose_crossing(seed, CrossingRecipe(8, 8, longest=7, black=0.2))
        path = explain(made.puzzle)
        said = Sentences(language).about(made.puzzle)
        told = [*(said.step(stage.step) for stage in path.stages), said.paragraph(path.stages),
                shape_in_words(Story(path).shape, said)]
        assert words not in " ".join(told).lower()


def test_what_is_said_otherwise_of_runs_is_said_of_cages() -> None:
    """A template that was changed is to be changed here, too."""
    assert set(OF_RUNS) <= set(templates())
    assert all("cage" in text.lower() or "{inside}" in text for text in OF_RUNS)     # `the cages inside`
