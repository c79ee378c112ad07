"""The drawing itself, in the browser: operations against a model of their own, outlines against plane geometry."""

from __future__ import annotations

import random
from itertools import combinations, pairwise
from math import hypot
from typing import Any

import pytest

from cagework.solver.model import BOXES, SIZES, boxes
from cagework.typeset.manifest.notation import read_cells

IMPORT = """
    const done = arguments[arguments.length - 1];
    const given = arguments[0];
    Promise.all(["drawing", "outline", "figures", "crossing"].map((name) => import(`/static/${name}.js`)))
        .then((modules) => done((%s)(given, ...modules)));"""

WALK = """({ size, steps }, drawing) => {
    const history = new drawing.History(drawing.blank(size));
    const caged = (does) => (now, cells, sum) => {
        const index = drawing.cageOf(now, cells[0]);
        return index < 0 ? now : does(now, index, cells, sum);
    };
    const does = {
        fence: drawing.fence, split: drawing.split, merge: drawing.merge, take: drawing.take,
        dissolve: drawing.dissolve, grow: caged((now, index, cells) => drawing.grow(now, index, cells)),
        sum: caged((now, index, _, sum) => drawing.withSum(now, index, sum)),
    };
    const seen = [history.now];
    for (const [what, cells, sum] of steps) {
        const before = JSON.stringify(history.now);
        const kept = history.now;
        history.change(does[what](history.now, cells, sum));
        if (JSON.stringify(kept) !== before) return "an operation changed the drawing it was given";
        seen.push(history.now);
    }
    const back = [JSON.stringify(history.now)];
    while (history.undo()) back.push(JSON.stringify(history.now));
    const undone = JSON.stringify(history.now);
    while (history.redo());
    return { seen: seen.map((one) => one.cages), back: back.length, undone, redone: JSON.stringify(history.now),
        first: JSON.stringify(seen[0]), last: JSON.stringify(seen.at(-1)) };
}"""


@pytest.fixture
def run(page: Any) -> Any:
    """Run a function of the page's own modules on a value."""
    return lambda code, given: page.driver.execute_async_script(IMPORT % code, given)


class Model:
    """Cages as sets of cells with sums: what each operation is to do, said once more."""

    def __init__(self) -> None:
        self.cages: list[tuple[set[str], int | None]] = []

    def fence(self, cells: list[str], _sum: int) -> None:
        self.take(cells, 0)
        self.cages.append((set(cells), None))

    def take(self, cells: list[str], _sum: int) -> None:
        self.cages = [(kept, total) for held, total in self.cages if (kept := held - set(cells))]

    def grow(self, cells: list[str], _sum: int) -> None:
        mine = self._of(cells[0])
        if mine is not None:
            held, total = self.cages[mine]
            self.take(cells, 0)
            self.cages = [one for one in self.cages if not one[0] <= held] + [(held | set(cells), total)]

    def split(self, cells: list[str], _sum: int) -> None:
        for held, total in list(self.cages):
            part = held & set(cells)
            if part and part != held:
                self.cages.remove((held, total))
                self.cages += [(held - part, total), (part, None)]

    def merge(self, cells: list[str], _sum: int) -> None:
        joined = [one for one in self.cages if one[0] & set(cells)]
        if not joined:
            return
        held = set(cells).union(*(one for one, _ in joined))
        if held == joined[0][0]:
            return
        loose = set(cells) - set().union(*(one for one, _ in joined))
        totals = [total for _, total in joined]
        known = [total for total in totals if total is not None]
        self.cages = [one for one in self.cages if one not in joined]
        self.cages.append((held, None if loose or len(known) < len(totals) else sum(known)))

    def dissolve(self, cells: list[str], _sum: int) -> None:
        self.cages = [one for one in self.cages if not one[0] & set(cells)]

    def sum(self, cells: list[str], total: int) -> None:
        mine = self._of(cells[0])
        if mine is not None:
            self.cages[mine] = (self.cages[mine][0], total)

    def _of(self, cell: str) -> int | None:
        return next((index for index, (held, _) in enumerate(self.cages) if cell in held), None)

    def said(self) -> set[tuple[frozenset[str], int | None]]:
        return {(frozenset(held), total) for held, total in self.cages}


@pytest.mark.parametrize("size", [4, 9, 16])
def test_operations_do_what_they_say_and_are_undone(run: Any, size: int) -> None:
    rng = random.Random(size)
    steps = []
    for _ in range(300):
        row, column = rng.randint(1, size), rng.randint(1, size)
        cells = [f"r{row}c{column}"]
        for _ in range(rng.randint(0, 4)):
            row = max(1, min(size, row + rng.choice((-1, 0, 1))))
            column = max(1, min(size, column + rng.choice((-1, 1))))
            cells.append(f"r{row}c{column}")
        what = rng.choice(("fence", "fence", "grow", "split", "merge", "take", "dissolve", "sum", "sum"))
        steps.append([what, list(dict.fromkeys(cells)), rng.randint(1, 45)])
    found = run(WALK, {"size": size, "steps": steps})
    model = Model()
    for (what, cells, total), cages in zip(steps, found["seen"][1:], strict=True):
        getattr(model, what)(cells, total)
        assert {(frozenset(cage["cells"]), cage["sum"]) for cage in cages} == model.said(), (what, cells)
        held = [cell for cage in cages for cell in cage["cells"]]
        assert len(held) == len(set(held)) and all(cage["cells"] for cage in cages)
    changes = 1 + sum(one != other for one, other in pairwise(found["seen"]))
    assert found["back"] == changes and found["undone"] == found["first"] and found["redone"] == found["last"]


def test_combinations_are_counted(run: Any) -> None:
    asked = [(list(digits), count, total) for digits in (range(1, 5), range(1, 10), range(1, 13), range(9))
             for count in range(1, 5) for total in range(50)]
    found = run("(asked, drawing) => asked.map((one) => drawing.combinations(...one))", asked)
    assert found == [sum(sum(some) == total for some in combinations(digits, count))
                     for digits, count, total in asked]


Point = tuple[float, float]


def rings(path: str) -> list[list[Point]]:
    points = [[point.split() for point in ring.strip("M").split("L")] for ring in path.split("Z") if ring]
    return [[(float(x), float(y)) for x, y in ring] for ring in points]


def edges(ring: list[Point]) -> list[tuple[Point, Point]]:
    return list(pairwise([*ring, ring[0]]))


def test_outlines_go_round_their_cells_set_in_by_whole_dashes(run: Any) -> None:
    """The area within rings is that of the cells (shoelace formula), and each edge holds whole dashes."""
    rng = random.Random(7)
    shapes = [[f"r{row}c{column}" for row in range(1, 5) for column in range(1, 5) if rng.random() < share]
              for share in (0.3, 0.5, 0.7, 0.9) for _ in range(30)]
    shapes = [shape for shape in shapes if shape]
    plain, inset = run("(shapes, _, outline) => [shapes.map((one) => outline.outline(one, 0)), "
                       "shapes.map((one) => outline.outline(one))]", shapes)
    for shape, path in zip(shapes, plain, strict=True):
        area = sum(x * v - u * y for ring in rings(path) for (x, y), (u, v) in edges(ring))
        assert area / 2 == pytest.approx(len(shape) * 100 * 100)
    for path in inset:
        for ring in rings(path):
            for (x, y), (u, v) in edges(ring):
                assert x == pytest.approx(u) or y == pytest.approx(v), "edges lie along rows and columns"
                whole = hypot(u - x, v - y) / (100 / 7)
                assert whole == pytest.approx(round(whole), abs=1e-6) and round(whole) >= 1


def test_cell_lists_are_read_as_the_manifest_has_them(run: Any) -> None:
    """Against this package's own reader of manifests, which is what the page writes for."""
    texts = ["r1c1 r2c2", "r1c3-r1c5", "r2c2-r3c4, r9c9", "r4c4-r4c1", "r3c1-r1c1"]
    found = run("(texts, _, __, figures) => texts.map((one) => figures.named(one))", texts)
    assert found == [[str(one.cell) for one in read_cells(text, 9)[0]] for text in texts]


def test_an_answer_written_in_part_is_gone_on_with(run: Any) -> None:
    code = """(_, drawing) => {
        const two = { ...drawing.blank(4), answer: ["12", "3"] };
        return drawing.withAnswer(drawing.withAnswer(two, "r1c4", 3), "r4c2", 1).answer;
    }"""
    assert run(code, None) == ["12.3", "3...", "....", ".1.."]


def test_nought_is_a_digit_where_a_rule_says_so(run: Any) -> None:
    """It is written, read again and taken away like any other; what pasted answers may hold goes by it, too."""
    code = """(_, drawing) => {
        const bare = { ...drawing.blank(4), rules: ["from_zero"] };
        const made = drawing.withGiven(drawing.withAnswer(bare, "r1c1", 0), "r2c2", 0);
        const gone = drawing.withGiven(made, "r2c2", null);
        return [made.answer[0], drawing.answerAt(made.answer, "r1c1"), made.givens, gone.givens,
            drawing.digitsOf(made), drawing.digitsOf(drawing.blank(4))];
    }"""
    assert run(code, None) == ["0...", 0, {"r2c2": 0}, {}, [0, 1, 2, 3], [1, 2, 3, 4]]


def test_an_answer_stays_where_squares_let_it(run: Any) -> None:
    """Squares turn black and white, rows and columns go and come; of an answer without digits nothing is left."""
    code = """(_, drawing, __, ___, crossing) => {
        const two = drawing.withAnswer(drawing.withAnswer(crossing.blankCrossing(2, 3), "r1c1", 5), "r2c3", 7);
        const dark = crossing.withSquares(two, ["r1c1", "r1c2"], true);
        const wide = crossing.resized(dark, 3, 4);
        return [two, dark, crossing.withSquares(dark, ["r1c1"], false), wide, crossing.resized(wide, 2, 2),
            drawing.withAnswer(dark, "r2c3", null)].map((one) => one.answer);
    }"""
    assert run(code, None) == [
        ["5..", "..7"], ["##.", "..7"], [".#.", "..7"], ["##..", "..7.", "...."], None, None]


def test_an_answer_and_squares_that_two_hands_change_are_joined(run: Any) -> None:
    """Whoever left the answer alone takes that of the other, in the squares there are then."""
    code = """(_, drawing, __, ___, crossing) => {
        const base = drawing.withAnswer(crossing.blankCrossing(2, 3), "r1c1", 5);
        const typed = drawing.withAnswer(base, "r2c2", 7), turned = crossing.withSquares(base, ["r1c3"], true);
        return [drawing.joined(base, typed, turned), drawing.joined(base, turned, typed),
            drawing.joined(base, typed, base)].map((one) => [one.answer, one.black]);
    }"""
    both = [["5.#", ".7."], ["r1c3"]]
    assert run(code, None) == [both, both, [["5..", ".7."], []]]


def test_the_usual_boxes_are_the_solvers(run: Any) -> None:
    sizes = list(SIZES)
    found = run("(sizes, drawing) => sizes.map((one) => drawing.usualBoxes(one))", sizes)
    assert found == [[list(map(str, box)) for box in boxes(size)] if size in BOXES else None for size in sizes]


def test_regions_are_the_usual_ones_until_drawn_otherwise(run: Any) -> None:
    code = """(_, drawing) => {
        const nine = drawing.blank(9), seven = drawing.blank(7);
        const moved = drawing.region(nine, ["r1c4"], 0);
        const back = drawing.region(moved, ["r1c4"], 1);
        return [nine.regions, seven.regions, moved.regions[0].length, moved.regions[1].length, back.regions];
    }"""
    assert run(code, None) == [None, "none", 10, 8, None]
