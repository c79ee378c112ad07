"""Steps of crossing sums in words: runs by sum, way and first cell, and never a cage."""

from __future__ import annotations

import pytest

from cagework.solver.crossing import crossing_sums
from cagework.solver.editing.compose_crossing import CrossingRecipe, compose_crossing
from cagework.solver.model import Cell, Shape
from cagework.solver.reasoning.reason import explain
from cagework.typeset.solving.story import Story
from cagework.typeset.solving.told import shape_in_words
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
    assert all("cage" in text.lower() for text in OF_RUNS)
