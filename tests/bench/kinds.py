"""Seed -> puzzle, for each kind that `solver.py` and `limit.py` measure.

CP-SAT alone judges which puzzles of size 9 and less are sound; larger ones are judged by this project's own
search, because CP-SAT would take minutes to make one. Loose grids and drafts need no judge.
"""

from __future__ import annotations

import random
import sys
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "outside"))

from oracle import verdict  # type: ignore[import-not-found]

from cagework.solver.editing.compose import Composed, ComposeError, Judge, Recipe, compose, harden, tile
from cagework.solver.editing.compose_crossing import CrossingRecipe, compose_crossing, harden_crossing
from cagework.solver.editing.laying import holding, stated
from cagework.solver.model import Answer, Cage, Cell, Given, Puzzle, standard_houses
from cagework.solver.rule import Takes, with_facts
from cagework.solver.rules import RULES
from cagework.solver.search.exact import Outcome, random_answer

PLAIN = Recipe(sizes={2: 4.0, 3: 4.0, 4: 2.0, 5: 0.5})
_LOOSE = Recipe(sizes={2: 1.0, 4: 1.0, 6: 1.0, 9: 2.0}, dominoes=1.0, lone=True)

Maker = Callable[[int], Puzzle]


def sound(seed: int, recipe: Recipe, judge: Judge | None = verdict) -> Composed:
    """A sound puzzle of this recipe; a seed that leads to none is passed over."""
    while True:
        try:
            return compose(seed, recipe, judge if recipe.size <= 9 else None)
        except ComposeError:
            seed += 100_000


def hard(seed: int) -> Puzzle:
    """A plain puzzle with cages merged for as long as there is a single answer, down to 20 cages."""
    merged = harden(sound(seed, PLAIN), seed, lambda trial: verdict(trial).outcome is Outcome.SOUND, fewest=20)
    return merged.puzzle


def givens(seed: int) -> Puzzle:
    """Digits given one by one until there is a single answer; half the cages kept for odd seeds, else none."""
    rng = random.Random(seed)
    made = sound(seed, PLAIN)
    kept = tuple(cage for cage in made.puzzle.cages if seed % 2 and rng.random() < 0.5)
    return _given(replace(made.puzzle, cages=kept), made.answer, 10 if kept else 22, rng)


def _given(bare: Puzzle, answer: Answer, count: int, rng: random.Random) -> Puzzle:
    """Digits given one by one, `count` to begin with, until there is a single answer."""
    cells = sorted(bare.cells, key=lambda _: rng.random())
    while True:
        puzzle = replace(bare, givens=tuple(Given(cell, answer.at(cell)) for cell in cells[:count]))
        found = verdict(puzzle)
        if found.outcome is Outcome.SOUND:
            return puzzle
        # A cell in which two answers differ comes next.
        differs = next(c for c in cells[count:] if found.answer.at(c) != found.second.at(c))
        cells.remove(differs)
        cells.insert(count, differs)
        count += 1


_BARE = ("consecutive", "double", "greater", "rising", "sum_line", "equal_sums", "diagonal_sum", "between", "odd",
         "even", "king", "nonconsecutive")


def _bare(name: str) -> Maker:
    """No cages, but all that one rule can say of an answer, or a dozen lines; then digits given one by one."""
    def made(seed: int) -> Puzzle:
        rng = random.Random(seed)
        rule, grid = RULES[name], Puzzle(9, standard_houses(9), ())
        if rule.takes is Takes.NOTHING:
            grid = with_facts(grid, rule.read(9, None).facts())
        answer = _answer(rng, grid)
        lines = rule.takes in (Takes.LINE, Takes.ACROSS)
        taken: set[Cell] = set()
        for named in holding(name, grid, answer, rng, (2, 3, 4, 5)) if rule.takes is not Takes.NOTHING else ():
            if not lines or (len(taken) <= 40 and taken.isdisjoint(named.cells)):
                grid = stated(grid, ((name, named),))
                taken.update(named.cells)
        return _given(grid, answer, 0, rng)

    return made


def loose(seed: int) -> Puzzle:
    """Four to eleven cages of up to nine cells on a grid that is otherwise free."""
    rng = random.Random(seed)
    while True:
        answer = _answer(rng)
        groups = tile(answer, _LOOSE, rng)
        if groups:
            chosen = rng.sample(groups, min(len(groups), rng.randint(4, 11)))
            return Puzzle(9, standard_houses(9), tuple(Cage(g, sum(map(answer.at, g))) for g in sorted(chosen)))


def _answer(rng: random.Random, grid: Puzzle | None = None) -> Answer:
    answer = random_answer(grid or Puzzle(9, standard_houses(9), ()), rng)
    assert answer is not None
    return answer


_DRAFTED = (PLAIN, Recipe(), Recipe(size=6), Recipe(size=8), Recipe(irregular=True), Recipe(size=10),
            *(replace(PLAIN, rules=(name,)) for name in RULES))


def draft(seed: int) -> Puzzle:
    """A sound puzzle of some kind with some of its cages, or most, taken away; ten drafts of each."""
    rng = random.Random(seed)
    whole = sound(seed // 10, _DRAFTED[seed // 10 % len(_DRAFTED)], None).puzzle
    share = rng.uniform(0.05, 0.95)
    return replace(whole, cages=tuple(cage for cage in whole.cages if rng.random() > share))


def contradictory(seed: int) -> Puzzle:
    """A sound puzzle, every other one hard, with one total made greater by one and another less."""
    rng = random.Random(seed)
    puzzle = hard(seed) if seed % 2 else sound(seed, PLAIN).puzzle
    cages = list(puzzle.cages)
    for index, by in zip(rng.sample(range(len(cages)), 2), (1, -1), strict=True):
        cages[index] = replace(cages[index], total=(cages[index].total or 0) + by)
    return replace(puzzle, cages=tuple(cages))


def _crossed(rows: int, columns: int) -> Maker:
    return lambda seed: compose_crossing(seed, CrossingRecipe(rows, columns)).puzzle


def _crossed_hard(seed: int) -> Puzzle:
    """Crossing sums with long runs, hardened for as long as there is one answer."""
    made = None
    while made is None:
        try:
            made = compose_crossing(seed, CrossingRecipe(11, 11, longest=8, black=0.22, tries=2))
        except ComposeError:
            seed += 1000
    return harden_crossing(made, seed, changes=600).puzzle


def _made_of(recipe: Recipe) -> Maker:
    return lambda seed: sound(seed, recipe).puzzle


KINDS: Mapping[str, Maker] = {
    "plain": _made_of(PLAIN),
    "hard": hard,
    **{f"size {size}": _made_of(Recipe(size=size)) for size in (4, 6, 8, 9, 12, 16)},
    **{name: _made_of(replace(PLAIN, rules=(name,))) for name in RULES},
    **{f"bare {name}": _bare(name) for name in _BARE},
    "irregular": _made_of(replace(PLAIN, irregular=True)),
    "givens": givens,
    "loose": loose,
    "drafts": draft,
    "contradictory": contradictory,
    "crossing hard": _crossed_hard,
    **{f"crossing {rows} x {columns}": _crossed(rows, columns) for rows, columns in ((9, 9), (13, 10), (20, 20))},
}
"""Every kind by name."""
