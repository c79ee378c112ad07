"""Real steps -> forged ones, each held against the known answer before it is put to the proof."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from lies import LIES, Moment, a_supposition_borrowed, pick  # type: ignore[import-not-found]

from cagework.solver.model import Answer, Cage, Cell, House, Pair, Puzzle, Sum
from cagework.solver.proving.proof import Prover
from cagework.solver.search.exact import solve
from cagework.solver.step import Step

_FEW = 14
"""Cells cited, at most, where a step is put to a proof that believes it."""

_MOST_LEFT_OVER = 7
"""Cells left over in a sum, at most: of longer ones the proof gives many up, but only after all its tries."""

CONVINCING = {
    "a_total_off_by_one", "a_cage_made_up", "a_house_made_up", "a_pair_made_up", "a_sum_made_up",
    "digits_said_to_be_missing", "a_digit_said_to_have_no_other_place",
}
"""The lies that would pass were what they make up so."""


@dataclass(frozen=True, slots=True)
class Forged:
    """A step that is false, the kind of lie, and the moment it was made from."""

    moment: Moment
    lie: str
    step: Step

    @property
    def denies_the_answer(self) -> bool:
        """Whether it places a digit that is not the answer's, or strikes one that is."""
        answer = self.moment.answer
        return (any(answer.at(cell) != digit for cell, digit in self.step.places)
                or any(mask >> answer.at(cell) - 1 & 1 for cell, mask in self.step.removes))

    @property
    def accepted(self) -> bool:
        """Whether the proof lets it pass."""
        return Prover(self.moment.puzzle).prove(self.moment.board, self.step)

    @property
    def short(self) -> bool:
        """Whether it cites so few cells that even a contradiction among them is soon seen to be one."""
        cites = self.step.cites
        return len({cell for fact in (*cites.houses, *cites.cages) for cell in fact.cells}) <= _FEW

    @property
    def left_over(self) -> int:
        """The cells in which what is added up and what is taken away do not cancel out."""
        cites = self.step.cites
        left: set[Cell] = set()
        for added, taken in cites.additions:
            counts: Counter[Cell] = Counter()
            for sign, summands in ((1, added), (-1, taken)):
                for one in summands:
                    for cell in one.cells:
                        counts[cell] += -sign if isinstance(one, Sum) and cell in one.minus else sign
            left.update(cell for cell, count in counts.items() if count)
        return len(left)

    @property
    def believable(self) -> bool:
        """Whether it would pass were all that it cites stated, and all that it says is missing gone."""
        puzzle, lost = self.moment.puzzle, dict(self.step.cites.eliminated)
        cited = [self.step.cites, *(part.cites for part in self.step.parts)]
        groups = [group for one in cited for group in (*one.houses, *one.cages, *one.reckoned)]
        gullible = replace(
            puzzle, houses=(*puzzle.houses, *(group for group in groups if isinstance(group, House))),
            cages=(*puzzle.cages, *(group for group in groups if isinstance(group, Cage))),
            pairs=(*puzzle.pairs, *(pair for one in cited for pair in one.pairs)),
            sums=(*puzzle.sums, *(made for one in cited for made in one.sums)))
        board = [mask & ~lost.get(cell, 0) for cell, mask in zip(puzzle.cells, self.moment.board, strict=True)]
        return Prover(gullible).prove(board, self.step)


def moments(puzzle: Puzzle, answer: Answer, steps: Iterable[Step]) -> Iterator[Moment]:
    """Each step of a path, where it stands."""
    board = Prover(puzzle).board()
    for step in steps:
        yield Moment(puzzle, answer, tuple(board.candidates), step)
        board.apply(step)


def fitting(puzzle: Puzzle, board: Sequence[int]) -> Answer | None:
    """Some answer within these candidates; each cell's are stated as a pair with the next cell."""
    cells, full = puzzle.cells, (1 << puzzle.size) - 1
    pairs = tuple(
        Pair(cell, cells[number - 1], tuple(full if mask >> i & 1 else 0 for i in range(puzzle.size)))
        for number, (cell, mask) in enumerate(zip(cells, board, strict=True)) if mask != full)
    return solve(replace(puzzle, pairs=(*puzzle.pairs, *pairs)), nodes=50_000).answer


@dataclass(slots=True)
class Forger:
    """Draws forged steps from moments; the same seed draws the same. No step is forged twice."""

    moments: Sequence[Moment]
    rng: random.Random
    seen: set[object] = field(default_factory=set)

    def forged(self, each: int) -> Iterator[Forged]:
        """`each` false steps for every technique among the moments, the lies taken in turn."""
        by_name: dict[str, list[Moment]] = {}
        for moment in self.moments:
            by_name.setdefault(moment.step.technique, []).append(moment)
        for name in sorted(by_name):
            made = tries = 0
            while made < each and tries < 60 * each:
                lie = list(LIES)[tries % len(LIES)]
                tries += 1
                one = self._tell(pick(self.rng, by_name[name]), lie)
                if one:
                    made += 1
                    yield one

    def _tell(self, moment: Moment, lie: str) -> Forged | None:
        if lie == "a_supposition_borrowed":
            others = [one.step for one in self.moments
                      if one.puzzle is moment.puzzle and one.step.parts and one is not moment]
            step = a_supposition_borrowed(moment, self.rng, others)
        else:
            step = LIES[lie](moment, self.rng)
        if step is None:
            return None
        one = Forged(moment, lie, step)
        if one.left_over > _MOST_LEFT_OVER:
            return None
        key = (id(moment.puzzle), *((part.places, part.removes, part.cites) for part in (step, *step.parts)))
        if not one.denies_the_answer or key in self.seen:
            return None
        self.seen.add(key)
        return one


@dataclass(slots=True)
class Tally:
    """How many were forged, would be believed, and were accepted, by technique and by lie."""

    techniques: Counter[str] = field(default_factory=Counter)
    lies: Counter[str] = field(default_factory=Counter)
    believable: Counter[str] = field(default_factory=Counter)
    accepted: list[Forged] = field(default_factory=list)

    def add(self, one: Forged) -> None:
        """Put one before the proof."""
        self.techniques[one.moment.step.technique] += 1
        self.lies[one.lie] += 1
        self.believable[one.lie] += one.short and one.believable
        if one.accepted:
            self.accepted.append(one)
