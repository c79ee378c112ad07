"""Pictures of worked solutions: nothing touches anything, notes can be read, and marks say what the steps say."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from typing import Any

import pypdfium2
import pytest
from shapely import STRtree
from shapely.geometry import LineString, Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from cagework.layouts.load import shelf_layout, shelf_names
from cagework.solver.model import BOXES, Cage, Cell, Puzzle, standard_houses
from cagework.solver.rules import RULES
from cagework.solver.step import Cites, Step
from cagework.typeset.draw.argument import argument_of
from cagework.typeset.draw.describe import describe_picture
from cagework.typeset.draw.diagram import diagram_look, draw_steps, edge_room, least_diagram_cell
from cagework.typeset.draw.grid import first_cell
from cagework.typeset.draw.labels import sum_figures
from cagework.typeset.draw.notes import FACE, note_places
from cagework.typeset.draw.setting import Setting
from cagework.typeset.draw.squares import squares_of
from cagework.typeset.draw.worked import place_of
from cagework.typeset.examples import worked_example
from cagework.typeset.marks import Fill, Group, Line, Mark, Outline, Page, Text, flatten, groups
from cagework.typeset.solving.worked import Moment, moments
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.words import languages, load_words
from cagework.typeset.words.sentences import Sentences
from cagework.typeset.write.pdf import About, pdf_bytes

LEAST = 5.5
"""The least size of a note in pt, as asked for."""

EDGE = 20.0
"""White round a picture, in pt."""


def paired(size: int) -> Puzzle:
    """A grid of cages of two cells side by side, with sums as long as can be."""
    longest = 100 if size == 16 else 24
    cages = tuple(Cage((Cell(row, col), Cell(row, col + 1)), longest)
                  for row in range(1, size + 1) for col in range(1, size, 2) if col < size)
    return Puzzle(size, standard_houses(size), cages)


def full(size: int, rows: int = 2) -> Moment:
    """Every digit open in the cells of the first rows."""
    return Moment(tuple((1 << size) - 1 if n < rows * size else 1 for n in range(size * size)),
                  {Cell(n // size + 1, n % size + 1): n % size + 1 for n in range(rows * size, size * size)})


def step(puzzle: Puzzle, cells: Sequence[Cell], places: Sequence[tuple[Cell, int]] = (), houses: int = 3) -> Step:
    """One that strikes the odd digits from some cells, and rests on all cages of these and on a few houses."""
    odd = sum(1 << digit - 1 for digit in range(1, puzzle.size + 1, 2))
    cages = tuple(cage for cage in puzzle.cages if {*cells, *dict(places)} & set(cage.cells))
    return Step("outie", 1, "", tuple(places), tuple((cell, odd) for cell in cells),
                Cites(tuple((cell, 0) for cell in cells), puzzle.houses[:houses], cages))


def named(marks: Sequence[Mark], name: str) -> Iterator[Mark]:
    """The marks of all groups of a name."""
    for mark in marks:
        if isinstance(mark, Group):
            yield from flatten(mark.marks) if mark.name == name else named(mark.marks, name)


def figures(marks: Iterable[Mark]) -> Iterator[tuple[float, float, str]]:
    """What stands in rows of figures: where each starts, its baseline, and what it says. Blanks part them."""
    for mark in marks:
        assert isinstance(mark, Text)
        said, start = "", 0.0
        for dx, chunk in (*mark.chunks[:-1], (mark.chunks[-1][0], f"{mark.chunks[-1][1]} ")):
            start, said = start if said else mark.x + dx, said + chunk
            if said.endswith(" "):
                yield start, mark.y, said[:-1]
                said = ""


def inked(mark: Mark) -> list[BaseGeometry]:
    """What a line or an outline inks; a dashed one as if it were solid."""
    if isinstance(mark, Line):
        return [LineString([(mark.x1, mark.y1), (mark.x2, mark.y2)]).buffer(mark.weight / 2, cap_style="flat")]
    assert isinstance(mark, Outline)
    return [LineString([*ring, ring[0]]).buffer(mark.weight / 2, cap_style="flat", join_style="mitre")
            for ring in mark.rings]


def letters(marks: Sequence[Mark], width: float, height: float, fonts: Fonts) -> list[BaseGeometry]:
    """The boxes that letters ink on a page, by pdfium."""
    data = pdf_bytes((Page(width, height, tuple(marks)),), (), About("T", "", "", "en"), fonts)
    page = pypdfium2.PdfDocument(data)[0]
    text = page.get_textpage()
    boxes = [text.get_charbox(index) for index in range(text.count_chars())
             if text.get_text_range(index, 1).strip()]
    return [box(left, height - top, right, height - low) for left, low, right, top in boxes]


@pytest.mark.parametrize("size", BOXES)
@pytest.mark.parametrize("name", shelf_names())
def test_nothing_touches_anything_in_the_smallest_cells(name: str, size: int) -> None:
    """Letters clear of one another and of every line, with all notes, heavy cage lines and letters of steps."""
    layout, puzzle = shelf_layout(name), paired(size)
    fonts = Fonts(layout)
    look = diagram_look(layout, least_diagram_cell(layout, puzzle, fonts))
    steps = [step(puzzle, [Cell(1, 1), Cell(1, 2)]), step(puzzle, [Cell(2, size - 1)], [(Cell(2, size), size)])]
    left, top = (EDGE + room for room in edge_room(look, size, fonts))
    drawn = draw_steps(puzzle, (), full(size), steps, look, fonts, left, top, full=True, lettered=True)
    side = size * look.cell
    boxes = letters([drawn], left + side + EDGE, top + side + EDGE, fonts)
    notes = [mark for mark in named([drawn], "notes") if isinstance(mark, Text)]
    assert len(list(figures(notes))) == (2 * size - 1) * size and all(mark.size >= LEAST for mark in notes)
    tree = STRtree(boxes)
    touching = [pair for pair in tree.query(boxes, predicate="intersects").T.tolist() if pair[0] < pair[1]]
    assert touching == []
    patches = unary_union([Polygon(mark.rings[0]) for mark in named([drawn], "knock-outs")
                           if isinstance(mark, Fill)])
    lines = [shape for kind in ("cells", "regions", "houses") for mark in named([drawn], kind)
             for shape in inked(mark)]
    lines += [shape.difference(patches) for kind in ("cages", "causes") for mark in named([drawn], kind)
              for shape in inked(mark)]
    assert len(lines) > size
    assert tree.query(lines, predicate="intersects").T.tolist() == []


@pytest.mark.parametrize("size", BOXES)
@pytest.mark.parametrize("name", shelf_names())
def test_every_layout_of_the_shelf_has_room_for_notes(name: str, size: int, built: Any) -> None:
    """In a column, or across them all; but for 16 by 16 on the two smallest pages, which print no such answer."""
    book = replace(built.book, layout=shelf_layout(name))
    setting = Setting.of(book, Fonts(book.layout), load_words("en"))
    place = place_of(setting, paired(size), setting.column)
    right = place.left + size * place.look.cell + place.look.overhang
    room = setting.block(1).width if place.wide else setting.column
    assert place.left >= 0 and right <= room + 1e-6
    assert place.lines * setting.line <= setting.block(1).height - 2 * book.layout.type.heading
    assert place.notes is not (size == 16 and name in ("a5-one-up", "6x9-one-up"))
    assert not place.wide or size > 9


@pytest.mark.parametrize("size", BOXES)
def test_a_digit_stands_in_the_same_place_in_every_cell(size: int, fonts: Fonts) -> None:
    layout, puzzle = shelf_layout("a4-two-up"), paired(size)
    look = diagram_look(layout, least_diagram_cell(layout, puzzle, fonts))
    drawn = draw_steps(puzzle, (), full(size, size), (), look, fonts, 0, 0, full=True)
    places: dict[str, set[tuple[float, float]]] = {}
    for x, y, said in figures(named([drawn], "notes")):
        places.setdefault(said, set()).add((round(x % look.cell, 3), round(y % look.cell, 3)))
    assert set(places) == {str(digit) for digit in range(1, size + 1)}
    assert all(len(spots) == 1 for spots in places.values())
    assert len(set.union(*places.values())) == size


def test_a_thought_of_several_steps_has_the_marks_of_them_all(fonts: Fonts) -> None:
    puzzle, known = paired(9), full(9, 9)
    steps = [step(puzzle, [Cell(1, 1), Cell(1, 2)], houses=1), step(puzzle, [Cell(1, 2), Cell(5, 5)], houses=2),
             step(puzzle, [], [(Cell(5, 5), 4), (Cell(7, 8), 2)], houses=0)]
    look = diagram_look(shelf_layout("a4-two-up"), 20.0)

    def drawn(steps: Sequence[Step], lettered: bool = False) -> Group:
        return draw_steps(puzzle, (), known, steps, look, fonts, 0, 0, lettered=lettered)

    def at(mark: Mark) -> Cell:
        assert isinstance(mark, Text)
        return Cell(int(mark.y // look.cell) + 1, int(mark.x // look.cell) + 1)

    whole = drawn(steps, True)
    tinted = {Cell(round(mark.rings[0][0][1] / look.cell) + 1, round(mark.rings[0][0][0] / look.cell) + 1)
              for mark in named([whole], "marked") if isinstance(mark, Fill)}
    assert tinted == {Cell(1, 1), Cell(1, 2), Cell(5, 5), Cell(7, 8)}
    assert {at(mark): mark.string for mark in named([whole], "letters") if isinstance(mark, Text)} == {
        Cell(1, 1): "a", Cell(1, 2): "a", Cell(5, 5): "c", Cell(7, 8): "c"}
    assert len(list(named([whole], "houses"))) == 2 and len(list(named([whole], "causes"))) == 3
    assert len(list(named([whole], "cages"))) == len(puzzle.cages) - 3
    struck = [mark for mark in named([whole], "notes") if isinstance(mark, Line)]
    assert len(struck) == 2 * 5, "the odd digits of two cells; the third gets a digit"
    assert {at(mark): mark.string for mark in named([whole], "found")
            if isinstance(mark, Text)} == {Cell(5, 5): "4", Cell(7, 8): "2"}
    assert not list(named([drawn(steps)], "letters")) and not list(named([drawn(())], "marked"))


def test_a_rules_line_is_no_stroke_through_a_note(fonts: Fonts) -> None:
    """Both diagonals run through cells full of notes; what shows of them is clear of these."""
    puzzle, rules = paired(9), (RULES["diagonals"].exemplar(9),)
    look = diagram_look(shelf_layout("a4-two-up"), 20.0)
    drawn = draw_steps(puzzle, rules, full(9, 9), [step(puzzle, [Cell(5, 5)])], look, fonts, EDGE, EDGE, full=True)
    marks = list(named([drawn], "notes"))
    lines = [shape for mark in named([drawn], "figures") for shape in inked(mark)]
    patches = unary_union([Polygon(mark.rings[0]) for mark in marks if isinstance(mark, Fill)])
    notes = letters([mark for mark in marks if isinstance(mark, Text)], 220, 220, fonts)
    assert len(lines) == 2 and len(notes) == 81 * 9
    assert any(line.intersects(note) for line in lines for note in notes), "they would cross"
    assert not any(line.difference(patches).intersects(note) for line in lines for note in notes)


def test_rows_and_columns_are_numbered_outside_the_frame(fonts: Fonts) -> None:
    puzzle = paired(9)
    look = diagram_look(shelf_layout("a4-two-up"), 20.0)
    drawn = draw_steps(puzzle, (), full(9), (), look, fonts, 0, 0)
    edges = list(figures(named([drawn], "edges")))
    above = {int(x // look.cell) + 1: said for x, y, said in edges if y < 0}
    beside = {int(y // look.cell) + 1: said for x, y, said in edges if x < 0}
    assert above == beside == {number: str(number) for number in range(1, 10)}


@pytest.mark.parametrize("language", languages())
def test_a_picture_in_words_says_digits_notes_strikes_and_causes(language: str) -> None:
    """Read back by figures alone, whatever the words."""
    puzzle, known = paired(9), full(9)
    steps = [step(puzzle, [Cell(1, 1)], [(Cell(2, 2), 7)], houses=2)]
    words, sentences = load_words(language).described, Sentences(language)
    said = describe_picture(puzzle, known, steps, words, sentences)
    rows = {int(number): digits.split() for number, digits in re.findall(r"\w+ (\d+): ([\w ]+)\.", said)}
    assert rows == {row: [str(col) for col in range(1, 10)] for row in range(3, 10)}
    cell = r"((?:\d ?)+) in [rz](\d)[cs](\d)"
    assert re.findall(cell, said) == [("1 2 3 4 5 6 7 8 9", "1", "1"), ("1 3 5 7 9", "1", "1"), ("7", "2", "2")]
    outlined = said.split(":")[8]
    assert re.findall(r"[rz](\d)[cs](\d)", outlined) == [("1", "1"), ("2", "1")], "the cages by their first cells"
    assert len(re.findall(cell, describe_picture(puzzle, known, steps, words, sentences, full=True))) == 17 + 2


def test_a_trial_points_at_its_cell_alone() -> None:
    """It rests on the whole puzzle: to outline all of that would point at nothing."""
    example = worked_example("trial")
    assert example is not None
    trial = example.worked.path.stages[example.stage].step
    assert trial.is_trial and trial.cites.cages and trial.cites.houses
    argument = argument_of((trial,))
    ((cell, digit),) = trial.places
    assert (argument.cages, argument.houses, argument.areas) == ((), (), ())
    assert (argument.concluded, argument.found) == ((cell,), {cell: digit})


@pytest.mark.parametrize(("name", "english"), [
    ("area_cell", "the runs down in columns 5 and 6 (rows 1 to 3)"),
    ("area_cells", "the runs down in columns 1 and 2"),
])
def test_an_area_of_runs_has_one_outline_that_black_squares_leave_visible(
    name: str, english: str, fonts: Fonts,
) -> None:
    """Round all runs that it adds up, and none round a run; it ends short of where notes begin."""
    example, layout = worked_example(name), shelf_layout("a5-one-up")
    assert example is not None
    path, words = example.worked.path, load_words("en").described
    step, puzzle = path.stages[example.stage].step, path.puzzle
    known = moments(path, (example.stage,))[example.stage]
    look = diagram_look(layout, least_diagram_cell(layout, puzzle, fonts))
    parts = {group.name: group.marks for group in groups([draw_steps(
        puzzle, (), known, (step,), look, fonts, 0, 0)])}
    (ring,), causes = parts["houses"], parts.get("causes", ())
    assert isinstance(ring, Outline) and causes == ()
    left, top = first_cell(squares_of(puzzle), look, 0, 0)
    added = unary_union([box(left + (cell.col - 1) * look.cell, top + (cell.row - 1) * look.cell,
                             left + cell.col * look.cell, top + cell.row * look.cell)
                         for run in step.cites.added for cell in run.cells])
    assert Polygon(ring.rings[0], ring.rings[1:]).symmetric_difference(added).area < 0.01
    assert ring.weight / 2 >= 0.9 * look.frame_line     # what is not on black
    notes = note_places(fonts, look, puzzle.size, sum_figures(puzzle))
    digit = fonts[FACE].width("1", notes.size)
    assert ring.weight / 2 < notes.columns[0] - digit / 2
    said = describe_picture(puzzle, known, (step,), words, Sentences("en").about(puzzle))
    assert words.rests_on.format(items=english) in said
