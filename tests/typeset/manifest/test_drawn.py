"""A drawing to the keys of a puzzle and back: what is read again is what was drawn."""

from __future__ import annotations

import random
from dataclasses import replace
from pathlib import Path

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from cagework.solver.crossing import runs
from cagework.solver.editing.compose import Recipe, compose
from cagework.solver.model import SIZES, Cage, Cell, Given, Puzzle, Shape, grid_cells
from cagework.solver.search.exact import Outcome, Verdict
from cagework.typeset.manifest.document import parse_document, read_document
from cagework.typeset.manifest.drawn import Drawing, NotDrawn, cages_in_order, drawing_of, settled_regions
from cagework.typeset.manifest.emit import emitted
from cagework.typeset.manifest.keyed import keys_of, reading_of
from cagework.typeset.manifest.notation import WIDEST

ROOT = Path(__file__).parents[3]
WORDS = st.text("aB9 é'\":,#-{}[]&*!|>%@`~.?ß☂", min_size=1, max_size=30).map(str.strip).filter(bool)
ONE_LINE = WORDS.map(lambda text: " ".join(text.split()))


def read_back(drawing: Drawing) -> Drawing:
    """Written and read again, by this project's reader and by PyYAML alone, which must agree."""
    text = emitted(keys_of(drawing))
    document = parse_document(Path("drawing"), text)
    assert not document.faults and isinstance(document.data, dict)
    assert list(yaml.safe_load(text)) == list(document.data)
    return drawing_of(document.data)


def tiled(size: int, rng: random.Random, count: int) -> list[list[Cell]]:
    """The cells in so many runs of joined cells, more where some have no neighbour left; any of them may touch."""
    left = list(grid_cells(size))
    rng.shuffle(left)
    found: list[list[Cell]] = []
    while left:
        part = [left.pop()]
        while len(part) < max(1, size * size // count):
            near = [cell for cell in left if any(cell in one.neighbours() for one in part)]
            if not near:
                break
            part.append(rng.choice(near))
            left.remove(part[-1])
        found.append(sorted(part))
    return found


@st.composite
def drawings(draw: st.DrawFn) -> Drawing:
    """Of any size, sound or not: cells without cages, cages without sums, or too many for a map."""
    size = draw(st.sampled_from(SIZES))
    rng = random.Random(draw(st.integers(0, 2 ** 32)))
    parts = [part for part in tiled(size, rng, draw(st.integers(size, 2 * size * size))) if rng.random() < 0.95]
    cages = cages_in_order(Cage(tuple(part), rng.choice((None, rng.randint(1, 99)))) for part in parts)
    givens = sorted(rng.sample(grid_cells(size), draw(st.integers(0, size * size))))
    regions = draw(st.sampled_from(("boxes", "none", "own")))
    own = [grid_cells(size)[row * size:row * size + size] for row in range(size)] if regions == "own" else []
    return Drawing(
        size, cages, tuple(Given(cell, rng.randint(1, size)) for cell in givens),
        None if regions == "boxes" else settled_regions(size, own),
        draw(st.sampled_from(((), ("knight", "king"), ({"odd": "r1c1 r3c2"},), ({"greater": ["r1c1 r1c2"] * 30},),
                              ({"diagonal_sum": [{"cells": "r1c3 r3c1", "number": 14}]},)))),
        draw(st.sampled_from(((), ("diagonals",), ({"cells": "r1c1 r2c2", "name": "the pond"},)))),
        tuple("".join(rng.choice("123456789ABCDEFG"[:size]) for _ in range(size)) for _ in range(size))
        if rng.random() < 0.5 else (),
        id="drawn", title=draw(st.none() | ONE_LINE), by=draw(st.none() | ONE_LINE), grade=None,
        note=draw(st.none() | st.lists(WORDS, min_size=1, max_size=3).map("\n\n".join)),
        remark=draw(st.none() | st.lists(WORDS, min_size=1, max_size=3).map("\n\n".join)))


@st.composite
def crossings(draw: st.DrawFn) -> Drawing:
    """Crossing sums of any squares, some sums not known yet."""
    rows, columns = draw(st.integers(2, WIDEST)), draw(st.integers(2, WIDEST))
    rng = random.Random(draw(st.integers(0, 2 ** 32)))
    shape = Shape(rows, columns, tuple(Cell(row, col) for row in range(1, rows + 1)
                                       for col in range(1, columns + 1) if rng.random() < 0.7))
    cages = cages_in_order(
        Cage(run, rng.choice((None, rng.randint(3, 45)))) for each in runs(shape) for run in each)
    givens = sorted(rng.sample(shape.cells, min(len(shape.cells), draw(st.integers(0, 9)))))
    white = set(shape.cells)
    answer = ["".join(rng.choice("123456789.") if (row, col) in white else "#" for col in range(1, columns + 1))
              for row in range(1, rows + 1)] if rng.random() < 0.5 else []
    return Drawing(9, cages, tuple(Given(cell, rng.randint(1, 9)) for cell in givens), answer=tuple(answer),
                   id="drawn", remark=draw(st.none() | ONE_LINE), shape=shape)


@given(drawings() | crossings())
def test_any_drawing_is_read_back_as_it_was(drawing: Drawing) -> None:
    assert read_back(drawing) == drawing


def drawn(puzzle: Puzzle, **more: object) -> Drawing:
    """A composed puzzle as a drawing."""
    regions = settled_regions(puzzle.size, (house.cells for house in puzzle.regions))
    return Drawing(puzzle.size, cages_in_order(puzzle.cages), puzzle.givens, regions, id="made", **more)  # type: ignore[arg-type]


def taken(_: Puzzle) -> Verdict:
    """The first puzzle composed: it need not be sound to be written, and grids of 15 take long to be."""
    return Verdict(Outcome.SOUND, None, None, 0)


RECIPES = [Recipe(size=size, boxless=size in (5, 7, 11, 13, 14, 15)) for size in SIZES]
RECIPES += [Recipe(size=size, irregular=True) for size in (6, 8, 9)]


@pytest.mark.parametrize("recipe", RECIPES, ids=lambda recipe: f"{recipe.size}-{recipe.irregular:d}")
def test_a_composed_puzzle_is_read_back_as_it_was_composed(recipe: Recipe) -> None:
    """By the whole reader: every house, cage and given of what the composer made."""
    puzzle = compose(7, recipe, taken).puzzle
    drawing = drawn(puzzle)
    assert read_back(drawing) == drawing
    entry = reading_of(drawing, allow_uncaged=False).entry
    assert entry is not None
    assert (entry.puzzle.cages, entry.puzzle.givens) == (puzzle.cages, puzzle.givens)
    assert {house.cells for house in entry.puzzle.houses} == {house.cells for house in puzzle.houses}


@pytest.mark.parametrize(("key", "rule"), [("rules", "knight"), ("rules", "king"), ("houses", "diagonals")])
def test_rules_are_read_back_with_all_they_say(key: str, rule: str) -> None:
    puzzle = compose(3, Recipe(size=9, rules=(rule,)), taken).puzzle
    entry = reading_of(drawn(puzzle, **{key: (rule,)}), allow_uncaged=False).entry
    assert entry is not None
    assert (set(entry.puzzle.pairs), entry.puzzle.cages) == (set(puzzle.pairs), puzzle.cages)
    assert {house.cells for house in entry.puzzle.houses} == {house.cells for house in puzzle.houses}


FILES = sorted((ROOT / "books" / "slow-train" / "puzzles").glob("*.yaml"))


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_the_sample_book_is_written_as_it_stands(file: Path) -> None:
    """Letter by letter: the style is that of the book, and keys that no drawing has keep their places."""
    document = read_document(file)
    assert isinstance(document.data, dict)
    assert keys_of(drawing_of(document.data), document.data) == document.data
    plain = {key: value for key, value in document.data.items() if key != "solutions"}
    drawing = drawing_of(plain)
    assert emitted(keys_of(drawing)) == document.text.replace("solutions: full\n", "")


def test_letters_stay_with_the_cages_that_have_most_of_them() -> None:
    """A cage that is split keeps its letter in the larger part; one that grows keeps its own; new ones get new."""
    old = {"id": "x", "size": 4, "map": "a a b b\nc c c b\nd d c e\nd d e e\n",
           "sums": {"e": 9, "a": 3, "b": 8, "c": 10, "d": 10}}
    drawing = drawing_of(old)
    cages = {cage.first: cage for cage in drawing.cages}
    rest = [cage for first, cage in cages.items() if first not in (Cell(1, 3), Cell(2, 1))]
    changed = Drawing(4, cages_in_order([
        *rest, Cage((Cell(1, 3), Cell(1, 4), Cell(2, 4), Cell(2, 3)), 10), Cage((Cell(2, 1), Cell(2, 2)), None),
        Cage((Cell(3, 3),), 2)]), id="x")
    keys = keys_of(changed, old)
    assert keys["map"] == "a a b b\nc c b b\nd d f e\nd d e e\n"
    assert keys["sums"] == {"e": 9, "a": 3, "b": 10, "c": None, "d": 10, "f": 2}
    assert list(keys["sums"])[:5] == ["e", "a", "b", "c", "d"]  # type: ignore[call-overload]


def test_a_list_of_cages_stays_one_in_its_order() -> None:
    old = {"id": "x", "size": 4, "cages": [{"sum": 7, "cells": "r4c1-r4c2"}, {"cells": "r1c1-r2c2"}]}
    changed = Drawing(4, cages_in_order([
        Cage((Cell(4, 1), Cell(4, 2)), 6), Cage(tuple(Cell(r, c) for r in (1, 2) for c in (1, 2)), None),
        Cage((Cell(3, 1),), 3)]), id="x")
    assert keys_of(changed, old)["cages"] == [
        {"sum": 6, "cells": "r4c1-r4c2"}, {"cells": "r1c1-r2c2"}, {"sum": 3, "cells": "r3c1"}]


CORNER: dict[str, object] = {"id": "x", "kind": "crossing-sums", "map": "#..#\n....\n##..\n", "across": [4, 18, 5],
                             "down": [11, 7, 4], "answer": "x 3 1 x\n8 . 2 3\n\n0 0 . .\n"}


def test_an_answer_is_written_anew_only_where_it_is_another() -> None:
    """What stands in black squares, and between the digits, stays; a square that turns white has a dot."""
    drawing = drawing_of(CORNER)
    assert drawing.answer == ("#31#", "8.23", "##..") and keys_of(drawing, CORNER) == CORNER
    one = replace(drawing, answer=("#31#", "8523", "##..")), "x 3 1 x\n8 5 2 3\n\n0 0 . .\n"
    white = Shape(3, 4, (*drawing.shape.cells, Cell(3, 2))) if drawing.shape else None
    two = replace(drawing, shape=white, answer=("#31#", "8.23", "#4..")), "x 3 1 x\n8 . 2 3\n\n0 4 . .\n"
    less = replace(drawing, answer=("#31#", "8.23")), "#31#\n8.23\n"
    for changed, text in (one, two, less, (replace(drawing, answer=()), None)):
        assert keys_of(changed, CORNER).get("answer") == text
    grid = {"size": 4, "answer": "12 34\n34 12\n"}
    assert keys_of(replace(drawing_of(grid), answer=("1234", "3.12")), grid)["answer"] == "12 34\n3. 12\n"


@pytest.mark.parametrize(("keys", "why"), [
    ({"kind": "crossing-sums", "map": "..\n.x"}, "no square"), ({"kind": "crossing-sums"}, "block of text"),
    ({"kind": "crossing-sums", "map": "..\n..", "across": [3]}, "1 sum across for 2 runs"),
    ({"kind": "crossing-sums", "map": "." * 31 + "\n" + "." * 31}, "30 x 30"), ({"size": 3}, "4 to 16"),
    ({"map": "aab"}, "one line"), ({"map": 7}, "block of text"), ({"cages": 7}, "'cages'"),
    ({"cages": [{"cells": "r1c1", "sum": "x"}]}, "whole number"),
    ({"cages": [{"cells": "r99c1"}]}, "off the grid"),
    ({"cages": [{"cells": 4}]}, "r1c1 r1c2"), ({"givens": {"r1c1-r1c2": 4}}, "one cell"),
    ({"rules": "knight"}, "list"),
    ({"size": 4, "givens": "x...\n....\n....\n....\n"}, "no digit"), ({"regions": 4}, "regions block"),
])
def test_keys_that_cannot_be_drawn_say_why(keys: dict[str, object], why: str) -> None:
    with pytest.raises(NotDrawn, match=why):
        drawing_of(keys)
