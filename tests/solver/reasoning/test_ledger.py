"""No sum is told twice: it is derived once, then recalled or cut down, and what is said of it is so."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import combinations, permutations
from pathlib import Path as File

import pytest

from cagework.solver.editing.compose import Recipe, compose
from cagework.solver.model import Cell, Puzzle, Sum
from cagework.solver.proving.proof import Board, Prover
from cagework.solver.reasoning.reason import Path, told_apart
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.step import Claim, DeadWay, Digits, Elsewhere, Held, NoOther, Step, Summand, Value
from cagework.typeset.examples import example_entry
from cagework.typeset.manifest.load import load_book

Signs = Mapping[Cell, int]


@pytest.fixture(scope="module")
def paths(corpus_paths: list[Path], sample: File, path_of: Callable[[Puzzle], Path]) -> list[Path]:
    """The corpus, the sample book, three harder puzzles and one that takes two sums at once, reasoned through."""
    book = load_book(sample).book
    assert book is not None
    puzzles = [entry.puzzle for entry in book.entries]
    puzzles += [compose(seed, Recipe(sizes={3: 3.0, 4: 4.0, 5: 2.0})).puzzle for seed in (3, 4, 11)]
    example = example_entry("shared_sums")
    assert example is not None
    return corpus_paths + [path_of(puzzle) for puzzle in (*puzzles, example.puzzle)]


def told(path: Path) -> Iterator[tuple[Step, Board, bool]]:
    """Each step of a path and part of a what-if, with the board it stands on, and whether that is supposed."""
    board = Prover(path.puzzle).board()
    for step in (stage.step for stage in path.stages):
        yield step, board, False
        if step.parts:
            below = Prover(path.puzzle).board()
            below.candidates = board.candidates[:]
            if not step.parts[0].supposes:
                ((cell, mask),) = step.removes
                below.place(cell, mask.bit_length())
            for part in step.parts:
                if part.supposes:
                    below.candidates = board.candidates[:]
                yield part, below, True
                below.apply(part)
        board.apply(step)


def sums(step: Step, board: Board) -> list[tuple[str, str, Signs, int]]:
    """Each sum a step tells: the key it is told by, what its values' names end in, its open cells, their total.

    None where two sums share no open cell any more: they are told as cited.
    """
    each = [(*told, *added_up(step, board, *of)) for told, of in zip(
        zip(step.key.split("+"), ("", "_too"), strict=False), step.cites.additions, strict=False)]
    return each if len(each) < 2 or each[0][2].keys() & each[1][2].keys() else []


def added_up(step: Step, board: Board, added: Sequence[Summand], taken: Sequence[Summand]) -> tuple[Signs, int]:
    """What houses less cages, and with sums that rules state, leave of cells with more than one candidate; and
    what these make.
    """
    signs: dict[Cell, int] = {}
    total = 0
    for sign, groups in ((1, added), (-1, taken)):
        for group in groups:
            minus: tuple[Cell, ...] = ()
            if isinstance(group, Sum):
                (made,), minus = group.totals, group.minus
            else:
                made = getattr(group, "total", len(group.cells) * (len(group.cells) + 1) // 2)
            total += sign * made
            for cell in group.cells:
                signs[cell] = signs.get(cell, 0) + (-sign if cell in minus else sign)
    placed = {cell for cell, _ in step.places}
    for cell, sign in list(signs.items()):
        mask = board.candidates[board.at(cell)]
        if mask.bit_count() == 1 and cell not in placed:
            total -= sign * mask.bit_length()
        if not sign or (mask.bit_count() == 1 and cell not in placed):
            del signs[cell]
    return signs, total


def cut(signs: Signs, total: int, board: Board, keep: Signs) -> tuple[Signs, int]:
    """A sum less its filled cells, but for those to keep."""
    left = {}
    for cell, sign in signs.items():
        mask = board.candidates[board.at(cell)]
        if mask.bit_count() == 1 and cell not in keep:
            total -= sign * mask.bit_length()
        else:
            left[cell] = sign
    return left, total


def turned(signs: Signs, total: int) -> tuple[Signs, int]:
    return {cell: -sign for cell, sign in signs.items()}, -total


def test_no_sum_is_derived_in_full_twice(paths: list[Path]) -> None:
    """Nor one that follows from a sum told before, where cells of it were filled since."""
    again = 0
    for path in paths:
        known: list[tuple[Signs, int]] = []
        for step, board, supposed in told(path):
            for key, _, *now in sums(step, board):
                if key in ("again", "cut"):
                    again += 1
                elif key != "set" and (step.places or len(now[0]) > 1):     # else it is told as cited
                    seen = [cut(*before, board, now[0]) for before in known]
                    assert tuple(now) not in seen
                    assert turned(*now) not in seen, step
                if len(now[0]) > 1 and not supposed and key != "set":
                    known.append((now[0], now[1]))
    assert again > 50


def test_what_is_recalled_was_told_and_is_so(paths: list[Path]) -> None:
    """The answer makes every sum that is named, and the digits named with it are on the board."""
    keys = set()
    for path in paths:
        known: list[tuple[frozenset[Cell], frozenset[Cell], int]] = []
        for step, board, supposed in told(path):
            for key, end, signs, total in sums(step, board):
                if key == "set":
                    continue
                plus, minus = (frozenset(cell for cell, one in signs.items() if one == sign) for sign in (1, -1))
                if key in ("again", "cut"):
                    keys |= {step.key, f"{key}{end}"}
                    before, now, found = (step.why[name + end] for name in ("before", "now", "found"))
                    assert isinstance(before, Sum) and isinstance(now, Sum) and isinstance(found, tuple)
                    named = frozenset(before.plus), frozenset(before.minus), before.totals[0]
                    assert supposed or named in known or (named[1], named[0], -named[2]) in known
                    assert len(signs) < 2 or {       # of one cell or none it is told as cited
                        (frozenset(now.plus), frozenset(now.minus), now.totals[0]),
                        (frozenset(now.minus), frozenset(now.plus), -now.totals[0])} & {(plus, minus, total)}
                    for claim in found:
                        assert isinstance(claim, Claim) and claim.holds
                        assert board.candidates[board.at(claim.cell)] == 1 << claim.digit - 1
                        assert claim.cell in before.plus + before.minus
                    assert bool(found) is (key == "cut")
                    if path.answer is not None and not supposed:
                        for one in (before, now):
                            made = [sum(map(path.answer.at, cells)) for cells in (one.plus, one.minus)]
                            assert made[0] - made[1] == one.totals[0]
                known.append((plus, minus, total))
    assert keys >= {"again", "again_too", "cut", "cut+set"}, keys


def test_a_step_told_apart_tells_its_sum_in_full(paths: list[Path]) -> None:
    """As on a page that shows it alone; several that are told apart share what they tell."""
    turned = 0
    for path in paths[::4]:
        steps = [stage.step for stage in path.stages]
        numbers = [number for number, step in enumerate(steps) if step.key.startswith(("again", "cut"))]
        for number in numbers[:5]:
            (alone,) = told_apart(path, [number]).values()
            step = steps[number]
            assert not alone.key.startswith(("again", "cut"))
            assert (alone.cites, alone.removes, alone.places) == (step.cites, step.removes, step.places)
            turned += 1
        assert list(told_apart(path, range(len(steps))).values()) == steps
    assert turned > 5


def test_every_step_has_the_sentences_and_the_values_that_it_is_told_by(
    paths: list[Path], unfilled: Callable[[str, Step], set[str]],
) -> None:
    """However much more is open where it stands than where it was found."""
    for path in paths:
        for step, _, _ in told(path):
            for template in TECHNIQUES[step.technique].templates(step.key):
                assert not unfilled(template, step), step


def test_a_sentence_names_what_the_notes_have_and_leaves_nothing_that_it_bars(paths: list[Path]) -> None:
    """Whatever the order, and whatever was there when the step was found."""
    barred = named = 0
    for path in paths:
        for step, board, supposed in told(path):
            if supposed or step.parts:
                continue
            notes = {cell: board.candidates[board.at(cell)] for cell in path.puzzle.cells}
            for held in _held(tuple(step.why.values())):
                assert not held.digits.mask & ~notes[held.cell], step
            assert all(mask & notes[cell] for cell, mask in step.removes)
            digits, cells, where = (step.why.get(name) for name in ("digits", "cells", "where"))
            mask = digits.mask if isinstance(digits, Digits) else sum(1 << d - 1 for d in [step.why.get("digit")]
                                                                      if isinstance(d, int))
            spots = {cell for cell in cells if isinstance(cell, Cell)} if isinstance(cells, tuple) else set()
            if step.technique in ("locked", "seen_by_all"):
                named += 1
                assert all(notes[cell] & mask for cell in spots), step
            if isinstance(where, Elsewhere) and step.technique != "needed_digit":
                barred += 1
                after = dict(step.removes)
                assert not any(notes[cell] & ~after.get(cell, 0) & mask for group in where.groups
                               for cell in group.cells if cell not in spots), step
    assert min(barred, named) > 100


def _held(value: Value) -> Iterator[Held]:
    """What cells are said to hold, however deep in a value."""
    if isinstance(value, Held):
        yield value
    elif isinstance(value, DeadWay):
        yield from _held(value.held)
    elif isinstance(value, NoOther):
        yield from _held(value.lacks)
    elif isinstance(value, tuple) and not isinstance(value, Cell):
        for one in value:
            yield from _held(one)


def test_two_cells_are_made_equal_once(paths: list[Path]) -> None:
    """By two sums, or a sum and a cage, only where no one sum has said so before, and the proof takes either."""
    made = 0
    for path in paths:
        equal: set[frozenset[Cell]] = set()
        for stage in path.stages:
            step = stage.step
            pair = frozenset(cell for name in ("one", "other") if isinstance(cell := step.why.get(name), Cell))
            if step.technique == "equal_cells":
                assert pair not in equal or step.key.startswith("again"), step
                made += 1
            for sum_ in (step.why.get("now"), step.why.get("left")):
                if isinstance(sum_, Sum) and len(sum_.plus) == len(sum_.minus) == 1 and sum_.totals == (0,):
                    equal.add(frozenset(sum_.plus + sum_.minus))
            if step.key.startswith("same") and len(innies := step.why["innies"]) == len(step.why["outies"]) == 1:
                equal.add(frozenset(innies + step.why["outies"]))
    assert made


def test_why_a_cage_cannot_be_made_is_so(paths: list[Path]) -> None:
    """By every choice of digits that its open cells hold between them, of which none goes into the cells."""
    reasons: set[str] = set()
    for path in paths:
        for step, board, _ in told(path):
            if not (step.key.startswith("no_sum_") or step.key.removesuffix("_cells") in ("clash", "none_one")):
                continue
            cage, gone = step.cites.cages[0], dict(step.removes)
            notes = {cell: set(Digits(board.candidates[board.at(cell)])) for cell in cage.cells}
            open_ = [held for held in notes.values() if len(held) != 1]
            if not all(open_) or len(set().union(*open_)) < len(open_):
                continue        # told by what is cited: a supposition may fail at once in two ways
            reasons.add(step.key)
            left = (cage.total or 0) - sum(min(held) for held in notes.values() if len(held) == 1)
            notes = {cell: held for cell, held in notes.items() if len(held) > 1}
            chosen = [set(way) for way in combinations(sorted(set().union(*notes.values())), len(notes))]
            made = [way for way in chosen if sum(way) == left]
            goes = [dict(zip(notes, order, strict=True)) for way in made for order in permutations(way)
                    if all(digit in held for digit, held in zip(order, notes.values(), strict=True))]
            if step.technique == "no_fit":
                assert not any(mask >> way[cell] - 1 & 1 for way in goes for cell, mask in gone.items()), step
                made = [way for way in made for mask in gone.values() if way & set(Digits(mask))]
            else:
                assert notes or (step.why["sum"] == (cage.total or 0) - left and left)
                assert not notes or not goes, step
            if step.key == "no_sum_most":
                assert max(map(sum, chosen)) == step.why["sum"] < step.why["left"] == left
            if step.key == "no_sum_least":
                assert min(map(sum, chosen)) == step.why["sum"] > step.why["left"] == left
            ways = step.why["ways"] if "ways" in "".join(TECHNIQUES[step.technique].templates(step.key)) else ()
            assert isinstance(ways, tuple)
            assert all(set(way) in made for way in ways if isinstance(way, Digits)), step
            assert step.key != "no_sum_ways" or len(ways) == len(made)
    assert {"no_sum_most", "no_sum_least", "clash", "none_one"} <= reasons, reasons
