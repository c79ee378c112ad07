"""Puzzles with several rules on cells of their own, drawn at random, and all that is held against other engines.

An answer comes first, and what is drawn holds in it: signs, dots, lines, numbers, groups, cages with sums or
without. The answer is never handed on: whether a puzzle has it, and no other, is for the engines to say.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import islice

from cagework.solver.editing.compose import Recipe, irregular_regions, tile
from cagework.solver.editing.laying import holding
from cagework.solver.listed import ListedHouse
from cagework.solver.model import BOXES, Answer, Cage, Cell, Given, House, HouseKind, Puzzle, standard_houses
from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.reason import explain
from cagework.solver.rule import Named, Rule, RuleError, Takes, with_facts
from cagework.solver.rules import RULES
from cagework.solver.search.exact import Outcome, Verdict, random_answer, solve

Stated = tuple[tuple[str, Named | None], ...]
Oracle = Callable[[Puzzle, Stated], Verdict]
"""Another engine: a puzzle without the facts of rules, and the rules by name, to a verdict."""

SIZES = (4, 5, 6, 6, 7, 8, 9)
WHOLE = tuple(name for name, rule in RULES.items() if rule.takes is Takes.NOTHING)
ON_CELLS = tuple(name for name in RULES if name not in WHOLE)

_TRIES = 40
_NODES, _WORK = 20_000, 10
"""What the search and the path may take: of grids that say little a second answer, or the next step, can take for
ever to find. Both are counted, not timed.
"""


@dataclass(frozen=True, slots=True)
class Ruled:
    """A puzzle as it is written: `plain` without its rules, these by name, and groups of cells that differ."""

    plain: Puzzle
    rules: Stated
    groups: tuple[tuple[Cell, ...], ...] = ()

    @property
    def puzzle(self) -> Puzzle:
        """With the facts that the rules are lowered to."""
        size, least = self.plain.size, self.plain.least
        made: list[Rule] = [RULES[name].of(size, named, least) for name, named in self.rules]
        made += [ListedHouse(size, f"group {cells[0]}", cells) for cells in self.groups]
        return with_facts(self.plain, [fact for rule in made for fact in rule.facts()])

    @property
    def told(self) -> Puzzle:
        """For an engine that is told the rules by name: the groups as houses."""
        groups = tuple(House(f"group {cells[0]}", HouseKind.REGION, cells) for cells in self.groups)
        return replace(self.plain, houses=(*self.plain.houses, *groups))


def drawn(seed: int, sizes: Sequence[int] = SIZES) -> tuple[Ruled, Answer] | None:
    """A puzzle without givens and an answer of it; None where these draws came to nothing."""
    rng = random.Random(seed)
    size = rng.choice(sizes)
    regions: tuple[tuple[Cell, ...], ...] | None = None
    if size not in BOXES or rng.random() < 0.15:
        regions = ()
    elif rng.random() < 0.2:
        regions = irregular_regions(size, rng)
    grid = Puzzle(size, standard_houses(size, regions), ())
    whole = tuple((name, None) for name in WHOLE if rng.random() < 0.12 and _applies(name, size))
    grid = replace(grid, least=0 if ("from_zero", None) in whole else 1)
    answer = random_answer(Ruled(grid, whole).puzzle, rng, nodes=2_000)
    groups = answer and _cages(answer, rng)
    if answer is None or groups is None:
        return None
    plain = replace(grid, cages=groups)
    written: dict[tuple[str, Named | None], None] = dict.fromkeys(whole)
    for name in rng.sample(ON_CELLS, rng.randint(1, 3)):
        for named in islice(_on_cells(name, plain, answer, rng), rng.randint(1, size // 2)):
            written[name, named] = None
    listed = tuple(_group(answer, rng) for _ in range(rng.choice((0, 0, 0, 1, 2))))
    return Ruled(plain, tuple(written), listed), answer


def _applies(name: str, size: int, named: Named | None = None, least: int = 1) -> bool:
    try:
        RULES[name].of(size, named, least)
    except RuleError:
        return False
    return True


def _cages(answer: Answer, rng: random.Random) -> tuple[Cage, ...] | None:
    """None at all, on a part of the grid or on all of it, some without sums."""
    kept = rng.choice((0.0, 0.5, 1.0, 1.0, 1.0))
    if not kept:
        return ()
    groups = next(filter(None, (tile(answer, Recipe(size=answer.columns, lone=True, dominoes=1), rng)
                                for _ in range(_TRIES))), None)
    bare = rng.choice((0.0, 0.0, 0.3, 1.0))
    return groups and tuple(Cage(cells, None if rng.random() < bare else sum(map(answer.at, cells)))
                            for cells in groups if rng.random() < kept)


def _group(answer: Answer, rng: random.Random) -> tuple[Cell, ...]:
    """Cells that differ in the answer, from anywhere."""
    cells = list(Puzzle(answer.columns, (), ()).cells)
    rng.shuffle(cells)
    of: dict[int, Cell] = {}
    for cell in cells:
        of.setdefault(answer.at(cell), cell)
    return tuple(sorted(list(of.values())[:rng.randint(2, answer.columns)]))


def _on_cells(name: str, plain: Puzzle, answer: Answer, rng: random.Random) -> Iterator[Named]:
    """What holds in an answer, one thing after the other; of single cells several at once, and of marks between
    cells as many in a row as there are, up to four.
    """
    takes = RULES[name].takes
    found = holding(name, plain, answer, rng, range(2, 7))
    if takes is Takes.CELLS:
        cells = [cell for named in found for cell in named.cells]
        while cells:
            yield Named(tuple(sorted(rng.sample(cells, min(len(cells), rng.randint(1, plain.size))))))
    elif takes is Takes.BESIDE:
        pairs = [named.cells for named in found]
        for pair in pairs:
            row, most = list(pair), rng.randint(2, 4)
            while len(row) < most and (on := [end for start, end in pairs if start == row[-1] and end not in row]):
                row.append(rng.choice(on))
            yield Named(tuple(row))
    else:
        yield from found


def mended(ruled: Ruled, answer: Answer) -> Iterator[Ruled]:
    """The puzzle with more and more givens of the answer, each where two answers differ, until there is one."""
    while True:
        verdict = solve(ruled.puzzle, near=answer)
        if verdict.outcome is not Outcome.TWO_ANSWERS:
            return
        assert verdict.answer is not None and verdict.second is not None
        other = verdict.second if verdict.answer == answer else verdict.answer
        cell = next(cell for cell in ruled.plain.cells if other.at(cell) != answer.at(cell))
        given = Given(cell, answer.at(cell))
        ruled = replace(ruled, plain=replace(ruled.plain, givens=(*ruled.plain.givens, given)))
        yield ruled


def flawed(ruled: Ruled, seed: int) -> Ruled:
    """With one thing that its answer contradicts: a relation turned round, a number one off, or a given."""
    rng = random.Random(seed)
    for at, (name, named) in rng.sample(list(enumerate(ruled.rules)), len(ruled.rules)):
        other: tuple[str, Named | None] | None = None
        if named is not None and name in ("greater", "rising", "greater_cage"):
            other = name, replace(named, cells=named.cells[::-1], areas=named.areas[::-1])
        elif named is not None and name in ("odd", "even"):
            other = {"odd": "even", "even": "odd"}[name], named
        elif named is not None and named.number is not None:
            other = name, replace(named, number=named.number + 1)
        if other is not None and _applies(
                other[0], ruled.plain.size, other[1], ruled.plain.least):
            return replace(ruled, rules=(*ruled.rules[:at], other, *ruled.rules[at + 1:]))
    given = Given(rng.choice(ruled.plain.cells), rng.choice(ruled.plain.digits))
    return replace(ruled, plain=replace(ruled.plain, givens=(*ruled.plain.givens, given)))


def held(seed: int, verdict: Oracle, sizes: Sequence[int] = SIZES) -> Counter[str] | None:
    """One puzzle as drawn, with its givens and with a flaw: the engine's verdicts are ours, and every step of the
    path is proved. What there was is counted, with what our search left undecided and nobody is asked about;
    AssertionError, with the seed, where anything differs.
    """
    found = drawn(seed, sizes)
    if found is None:
        return None
    ruled, answer = found
    *_, sound = ruled, *mended(ruled, answer)
    seen: Counter[str] = Counter({f"size {ruled.plain.size}": 1})
    seen.update(dict.fromkeys(["a group" if ruled.groups else "no group", *(name for name, _ in ruled.rules)], 1))
    seen["without cages"] += not ruled.plain.cages
    for one in (ruled, sound, flawed(sound, seed)) if sound is not ruled else (sound, flawed(sound, seed)):
        ours = solve(one.puzzle, nodes=_NODES)
        if ours.outcome is Outcome.UNDECIDED:
            seen["undecided"] += 1
            continue
        theirs = verdict(one.told, one.rules)
        assert ours.outcome is theirs.outcome, (seed, ours.outcome, theirs.outcome)
        assert ours.outcome is not Outcome.SOUND or ours.answer == theirs.answer, seed
        seen[str(ours.outcome)] += 1
    path = explain(sound.puzzle, seconds=_WORK)
    assert path.answer in (None, answer), seed
    assert Prover(sound.puzzle).first_unproved(stage.step for stage in path.stages) is None, seed
    seen.update({f"path {path.reach}": 1, "steps": len(path.stages)})
    seen["steps by a rule"] += sum(bool(stage.step.cites.pairs or stage.step.cites.sums) for stage in path.stages)
    return seen
