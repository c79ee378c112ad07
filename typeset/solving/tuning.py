"""A sound puzzle to others near it that are as they are wanted: graded so, with and without certain ideas."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

from cagework.solver.editing.compose import MOST_NODES
from cagework.solver.editing.edits import EASIER, HARDER, Edit, EditKind, edits
from cagework.solver.editing.tiling import shuffled
from cagework.solver.model import Answer, Puzzle
from cagework.solver.reasoning.grade import LIMITS, Grade, Rating, rate
from cagework.solver.reasoning.reason import Path, Reach
from cagework.solver.search.exact import Outcome, solve
from cagework.typeset.solving.crew import Crew

_EACH = 48
"""Edits of a kind that are tried on one puzzle, chosen by chance: there may be hundreds of splits."""
_ONWARD = 4
"""Puzzles, the nearest to what is wanted, that are edited once more, with fewer edits of a kind each."""
_AT_ONCE = 24
"""Puzzles whose paths are sought before it is seen whether there are enough."""


@dataclass(frozen=True, slots=True)
class Wish:
    """How a puzzle should be: its grade, and techniques, by name, that its path has and has not. A path that is
    not known is never as wished.
    """

    grade: Grade | None = None
    needs: frozenset[str] = frozenset()
    without: frozenset[str] = frozenset()

    def amiss(self, path: Path | None) -> float:
        """How far a path is from the wish, in points of the score; 0 where it is as wished."""
        if path is None or path.reach not in (Reach.WHOLE, Reach.TRIAL):
            return _NOWHERE
        ideas = techniques(path)
        slips = len(self.needs - ideas) + len(self.without & ideas)
        return self._off(rate(path)) + _IDEA * slips

    def harder(self, path: Path) -> bool | None:
        """Whether a puzzle with this path has to become harder; None where its grade is not what is wrong."""
        off = self._off(rating := rate(path))
        return None if self.grade is None or not off else rating.score < _limits(self.grade)[0]

    def _off(self, rating: Rating) -> float:
        if self.grade in (None, rating.grade):
            return 0.0
        least, most = _limits(self.grade)
        return max(least - rating.score, rating.score - most, 1.0)


_NOWHERE = 1e6
_IDEA = 250.0
"""What an idea that lacks, or is one too many, counts for in points of the score: our judgement."""


def _limits(grade: Grade) -> tuple[float, float]:
    grades = list(Grade)
    bounds = [0.0, *[limit for limit, _ in LIMITS], _NOWHERE]
    return bounds[grades.index(grade)], bounds[grades.index(grade) + 1]


def techniques(path: Path) -> frozenset[str]:
    """The techniques of a path, by name."""
    return frozenset(stage.step.technique for stage in path.stages)


@dataclass(frozen=True, slots=True)
class Tuned:
    """What came of a puzzle by `edits`, one after another: sound, with the answer it had, and its path."""

    edits: tuple[Edit, ...]
    path: Path

    @property
    def puzzle(self) -> Puzzle:
        """The puzzle after the last edit."""
        return self.edits[-1].puzzle

    @property
    def rating(self) -> Rating:
        """What its path makes it."""
        return rate(self.path)

    @property
    def load(self) -> int:
        """How much its path asks of a reader."""
        return sum(stage.step.load for stage in self.path.stages)

    def order(self) -> tuple[int, int, list[int], int]:
        """What is less comes first: fewer edits, fewer cages and digits changed, smaller kinds, a lighter path."""
        kinds = list(EditKind)
        return (len(self.edits), sum(len(edit.gone) + len(edit.givens) for edit in self.edits),
                [kinds.index(edit.kind) for edit in self.edits], self.load)


def tuned(
    puzzle: Puzzle, answer: Answer, path: Path, wish: Wish, crew: Crew, seconds: float | None, *, most: int = 2,
    offered: int = 5, tick: Callable[[], None] = lambda: None,
    fits: Callable[[Puzzle], bool] = lambda _: True,
) -> tuple[Tuned, ...]:
    """Up to `offered` puzzles that are as wished, best first, by at most `most` edits; each is proved to have
    this answer alone and obeys `fits`. Only where one edit does not do it are two tried. `tick` is called for
    each path.
    """
    met: set[Puzzle] = {puzzle}
    near: list[tuple[tuple[Edit, ...], Puzzle, Path]] = [((), puzzle, path)]
    for number in range(most):
        tried: list[Tuned] = []
        trials = (
            (before, edit) for before, each, known in near
            for edit in _proved(each, answer, _kinds(wish.harder(known)), _EACH // (1 + 2 * number), met, fits))
        for batch in _batches(trials, _AT_ONCE):
            tried += _worked(batch, crew, seconds, tick)
            if sum(not wish.amiss(one.path) for one in tried) >= offered:
                break
        found = sorted([one for one in tried if not wish.amiss(one.path)], key=Tuned.order)
        if found:
            return tuple(found[:offered])
        tried.sort(key=lambda one: (wish.amiss(one.path), one.order()))
        near = [(one.edits, one.puzzle, one.path) for one in tried[:_ONWARD]]
    return ()


def _kinds(harder: bool | None) -> Sequence[EditKind]:
    if harder is None:
        return EditKind.SHIFT, EditKind.SPLIT, EditKind.MERGE
    return HARDER if harder else EASIER


def _proved(
    puzzle: Puzzle, answer: Answer, kinds: Sequence[EditKind], each: int, met: set[Puzzle],
    fits: Callable[[Puzzle], bool],
) -> Iterator[Edit]:
    """Edits that leave one answer, up to `each` of a kind, kind after kind."""
    rng = random.Random(0)
    for _, some in groupby(edits(puzzle, answer, kinds), key=lambda edit: edit.kind):
        for edit in shuffled(list(some), rng)[:each]:
            if edit.puzzle in met:
                continue
            met.add(edit.puzzle)
            verdict = solve(edit.puzzle, nodes=MOST_NODES, near=answer)
            if verdict.outcome is Outcome.SOUND and fits(edit.puzzle):
                yield edit


def _worked(
    trials: Sequence[tuple[tuple[Edit, ...], Edit]], crew: Crew, seconds: float | None, tick: Callable[[], None],
) -> list[Tuned]:
    """Trials with their paths, in the order given."""
    found: dict[int, Path] = {}
    for number, result in crew.find([edit.puzzle for _, edit in trials], seconds):
        tick()
        if result.path:
            found[number] = result.path
    return [Tuned((*before, edit), found[number]) for number, (before, edit) in enumerate(trials)
            if number in found]


def _batches(items: Iterable[tuple[tuple[Edit, ...], Edit]], size: int) -> Iterator[
        list[tuple[tuple[Edit, ...], Edit]]]:
    batch = []
    for item in items:
        batch.append(item)
        if len(batch) == size:
            yield batch
            batch = []
    if batch:
        yield batch
