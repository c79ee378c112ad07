"""Every rule in the registry: its meaning and its lowering say the same, and both refuse and accept."""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from itertools import combinations, pairwise, permutations, product
from math import dist, hypot

import pytest

from cagework.solver.figure import Clue, Role, Spot, Stroke, Tint, in_answer, in_puzzle, middle
from cagework.solver.model import (
    BOXES,
    Between,
    Cell,
    Domain,
    House,
    LeastDigit,
    Pair,
    Puzzle,
    grid_cells,
    standard_houses,
)
from cagework.solver.rule import Fact, Named, Rule, RuleError, RuleOnCells, Takes, with_facts
from cagework.solver.rules import RULES
from cagework.solver.search.exact import random_answer

Filling = Mapping[Cell, int]


def holds(fact: Fact, digits: Filling) -> bool:
    if isinstance(fact, House):
        return len({digits[cell] for cell in fact.cells}) == len(fact.cells)
    if isinstance(fact, Domain):
        return bool(fact.digits >> digits[fact.cell] - 1 & 1)
    if isinstance(fact, LeastDigit):
        return max(digits.values()) < fact.digit + len(digits) ** 0.5
    if isinstance(fact, Between):
        low, high = sorted(digits[end] for end in fact.ends)
        return all(digits[cell] in range(low + 1, high) for cell in fact.inner)
    if isinstance(fact, Pair):
        return bool(fact.allowed[digits[fact.first] - 1] >> digits[fact.second] - 1 & 1)
    return sum(digits[cell] for cell in fact.plus) - sum(digits[cell] for cell in fact.minus) in fact.totals


def latin_squares() -> Iterator[Filling]:
    """All 576 fillings of a 4 x 4 grid whose rows and columns hold each digit once."""
    for rows in product(permutations(range(1, 5)), repeat=4):
        if all(len(set(column)) == 4 for column in zip(*rows, strict=True)):
            yield dict(zip(grid_cells(4), [digit for row in rows for digit in row], strict=True))


def sampled(rule: Rule) -> Iterator[Filling]:
    """Grids made for the rule, made without it, and with two cells of one row exchanged."""
    rng = random.Random(5)
    size = rule.size
    plain = Puzzle(size, standard_houses(size), ())
    for plan in [with_facts(plain, rule.facts()), plain] * 6:
        answer = random_answer(plan, rng)
        assert answer is not None
        digits = dict(zip(grid_cells(size), answer.digits, strict=True))
        yield digits
        one, two = rng.sample([cell for cell in digits if cell.row == rng.choice((3, 4, 5)) or cell.row == 2], 2)
        yield {**digits, one: digits[two], two: digits[one]}


def read(name: str, size: int) -> Rule | None:
    try:
        return RULES[name].exemplar(size)
    except RuleError:
        return None


@pytest.mark.parametrize("name", RULES)
def test_meaning_and_lowering_agree(name: str) -> None:
    verdicts = set()
    rule = next(rule for size in (4, 6, 9) if (rule := read(name, size)))
    fillings = latin_squares() if rule.size == 4 and rule.least == 1 else sampled(rule)
    facts = rule.facts()
    for digits in fillings:
        allowed = rule.allows(digits)
        assert allowed == all(holds(fact, digits) for fact in facts)
        verdicts.add(allowed)
    assert verdicts == {True, False}


@pytest.mark.parametrize("name", RULES)
def test_every_rule_has_a_sentence_for_every_size(name: str) -> None:
    sentence = RULES[name].sentence.format(size=9, least=1, most=9, cells="r1c1", number=7)
    assert sentence.endswith(".")
    assert "{" not in sentence


@pytest.mark.parametrize("name", RULES)
def test_every_rule_applies_to_a_grid_of_nine(name: str) -> None:
    assert RULES[name].exemplar(9).size == 9


@pytest.mark.parametrize("name", RULES)
def test_a_rule_takes_what_it_says_and_its_example_is_that(name: str) -> None:
    """One that takes nothing refuses a value, one that takes something refuses to go without."""
    kind = RULES[name]
    assert issubclass(kind, RuleOnCells) is (kind.takes is not Takes.NOTHING)
    with pytest.raises(RuleError):
        kind.read(9, Named((Cell(1, 1),)) if kind.takes is Takes.NOTHING else None)
    for size in BOXES:
        example = kind.example(size)
        assert (example is None) is (kind.takes is Takes.NOTHING)
        if example is not None:
            assert set(example.cells) <= set(grid_cells(size)) and len(set(example.cells)) == len(example.cells)
            assert (example.number is None) is (kind.takes not in (Takes.NUMBERED, Takes.DIAGONAL))


@pytest.mark.parametrize("name", RULES)
def test_a_reader_is_shown_or_told_what_a_rule_is_on(name: str) -> None:
    """Otherwise the printed puzzle cannot be solved: cells by figures or in the sentence, a number by one
    outside the grid, or in words.
    """
    rule = RULES[name].exemplar(9)
    if not isinstance(rule, RuleOnCells):
        assert "{cells}" not in rule.sentence and "{number}" not in rule.sentence
        return
    shown: set[Cell] = set()
    numbers = set()
    for figure in rule.figures():
        if isinstance(figure, Tint):
            shown |= set(figure.cells)
        if isinstance(figure, Clue):
            shown |= set(figure.cells)
            numbers.add(figure.number)
        if isinstance(figure, Stroke):
            shown |= {Cell(int(y) + 1, int(x) + 1) for x, y in figure.points}
        if isinstance(figure, Spot):
            (x, y), near = figure.centre, figure.reach / 2
            shown |= {Cell(int(y + down) + 1, int(x + right) + 1)
                      for down, right in ((0, 0), (0, near), (0, -near), (near, 0), (-near, 0))}
    assert "{cells}" in rule.sentence or set(rule.named.cells) <= shown
    if rule.named.number not in numbers:
        assert (rule.named.number is not None) is ("{number}" in rule.sentence)
        assert rule.named.number is None or "{cells}" in rule.sentence, "which cells the number is for"
    for line in in_answer(rule.figures()):
        if isinstance(line, Stroke) and line.role is Role.THREAD:
            assert all(hypot(x % 1 - 0.5, y % 1 - 0.5) > 0.3 for x, y in line.points), "digits are struck through"


@pytest.mark.parametrize("name", ["between", "equal_sums", "sum_line"])
def test_no_given_is_struck_through(name: str) -> None:
    """Whichever cells of a line have givens, fine lines keep clear of these and go on through the others."""
    rule = RULES[name].exemplar(9)
    assert isinstance(rule, RuleOnCells)
    lines, cells = _fine_lines(rule), rule.named.cells
    assert lines
    for count in range(len(cells) + 1):
        for given in combinations(cells, count):
            drawn = [one.points for one in in_puzzle(lines, given) if isinstance(one, Stroke)]
            places = [(x + (x2 - x) * part / 20, y + (y2 - y) * part / 20)
                      for points in drawn for (x, y), (x2, y2) in pairwise(points) for part in range(21)]
            for cell in cells:
                nearest = min(dist(middle(cell), place) for place in places)
                assert nearest > 0.3 if cell in given else nearest < 0.1 or cell in (cells[0], cells[-1])


def test_no_other_rule_has_fine_lines() -> None:
    """All that have are tried above."""
    assert {name for name, rule in RULES.items() if _fine_lines(rule.exemplar(9))} == {
        "between", "equal_sums", "sum_line"}


def _fine_lines(rule: Rule) -> list[Stroke]:
    return [one for one in rule.figures() if isinstance(one, Stroke) and one.role in (Role.THREAD, Role.DOUBLE)]


@pytest.mark.parametrize("name", RULES)
def test_houses_of_a_rule_on_cells_are_told_apart_by_a_cell(name: str) -> None:
    """It may be named several times, and two houses of one name would be one to a reader."""
    rule = RULES[name].exemplar(9)
    for house in rule.facts() if isinstance(rule, RuleOnCells) else ():
        assert not isinstance(house, House) or Cell.parse(house.name.rpartition(" ")[2]) in house.cells
