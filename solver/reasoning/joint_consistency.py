"""Cages, a house and a sum taken together: which digits no filling of them all has.

A *filling* gives every cell of the cages, the house and the sum a digit; cells that see each other differ, a
cage with a total makes it, a house holds every digit, the sum comes out. A digit that is in no filling can go:
that is generalised arc consistency of all these facts as one constraint.

`joint_problem` lays the facts out once. Each question about it takes candidates; `JointProblem.position` makes
tables of them, and `forward_checking.search` looks for a filling in these. What answers leave for later is in
`Memory`.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache

from cagework.solver.bitset import members, set_of
from cagework.solver.reasoning.forward_checking import (
    NOTHING_TO_SEARCH,
    Network,
    Position,
    network_of,
    search,
    settled_position,
)
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import Balance, State
from cagework.solver.reasoning.table_constraints import SumConstraint, Table, Tables, tables_of

_MOST_FILLINGS = 300
"""Fillings remembered of one house, or of other facts."""

_MOST_NOGOODS = 30
"""Candidates without a filling remembered of the same facts."""

_FEW_PLACES = 3
"""A digit with so few places in a house has a table too: its places."""


@dataclass(frozen=True, slots=True)
class Facts:
    """Numbers of cages and of whole houses, and at most one balance."""

    cages: tuple[int, ...]
    houses: tuple[int, ...] = ()
    balance: Balance | None = None

    @property
    def terms(self) -> tuple[int, ...]:
        """The open cells of the balance."""
        return self.balance.plus + self.balance.minus if self.balance else ()

    def cells(self, frame: Frame) -> int:
        """All cells concerned, as bits."""
        bits = 0
        for number in self.cages:
            bits |= frame.cage_sets[number]
        for number in self.houses:
            bits |= frame.house_sets[number]
        for cell in self.terms:
            bits |= 1 << cell
        return bits


@dataclass(slots=True, eq=False)
class Memory:
    """What answers about some facts leave for later questions. All of it stays true as a puzzle loses
    candidates: to forget it costs time, and at most an answer that the tries no longer suffice for.

    `fillings` (packed, each with the cages it fills as bits) are shared by all facts with the same house: one
    shows its digits to be possible for as long as they are candidates. `witnesses` are fillings too, each found
    when it was asked whether some digits are barred; that of a relaxed position may break what it leaves out,
    and at worst keeps a digit that could go. `nogoods` are candidates (packed) that have no filling: fewer have
    none either. `network` are the tables of the last question, linked.
    """

    fillings: dict[int, int]
    witnesses: deque[int] = field(default_factory=lambda: deque(maxlen=_MOST_FILLINGS))
    nogoods: deque[int] = field(default_factory=lambda: deque(maxlen=_MOST_NOGOODS))
    network: Network = field(default_factory=lambda: Network((), ()))

    def keep(self, fillings: Iterable[int], cages: int) -> None:
        """Remember fillings of these cages, and forget the oldest."""
        for filling in fillings:
            self.fillings[filling] = cages
        while len(self.fillings) > _MOST_FILLINGS:
            del self.fillings[next(iter(self.fillings))]

    def has_filling(self, candidates: int) -> bool | None:
        """Whether these candidates (packed) have a filling; None where nothing remembered tells."""
        if any(not witness & ~candidates for witness in self.witnesses):
            return True
        if any(not candidates & ~nogood for nogood in self.nogoods):
            return False
        return None


@dataclass(frozen=True, slots=True, eq=False)
class JointProblem:
    """Some facts laid out: cages and the sum as table constraints, a house as tables of the places of its
    digits.

    `sees` tells for each cell whom it differs from, `inside` are the cells concerned and `cages` the cages, as
    bits. `shifts` are the cells, each with where its candidates begin in a packed number, and `mask` all digits
    of them.
    """

    tables: Tables
    sees: Sequence[int]
    inside: int
    shifts: tuple[tuple[int, int], ...]
    mask: int
    cages: int
    constraints: tuple[SumConstraint, ...]
    sum: SumConstraint | None
    places: tuple[Table, ...]
    memory: Memory

    def impossible(self, masks: Sequence[int]) -> dict[int, int]:
        """Return what cells cannot hold out of their candidates (cell -> mask); empty where all goes wrong."""
        candidates = self._packed(masks)
        asked = candidates & ~self._known_possible(candidates)
        position = self.position(candidates) if asked else None
        gone = self._unsupported(position, asked) if position else 0
        return {cell: here for cell, shift in self.shifts
                if (here := gone >> shift & masks[cell]) and masks[cell] & masks[cell] - 1}

    def bars(self, masks: Sequence[int], cell: int, mask: int) -> bool:
        """Whether no filling gives the cell a digit of the mask, though some filling may exist."""
        if not self.inside >> cell & 1:
            return False
        candidates = self._packed(masks) & ~((masks[cell] & ~mask) << self.tables.size * cell)
        known = self.memory.has_filling(candidates)
        return self._has_none(candidates) if known is None else not known

    def _has_none(self, candidates: int) -> bool:
        """Whether it is proved that these candidates (packed) have no filling; remembered either way."""
        position = self.position(candidates)
        if position is None:
            return True
        found = search(position)
        if found.filling is not None:
            self.memory.witnesses.append(found.filling)
        elif found.proved:
            self.memory.nogoods.append(candidates)
        return found.filling is None and found.proved

    def position(self, candidates: int) -> Position | None:
        """Return the tables of these candidates (packed), all that is settled made to count; None where one has no
        tuple left.
        """
        tables = []
        alone = self.inside
        for constraint in self.constraints:
            table = constraint.table(candidates & constraint.mask)
            if table is not None:
                tables.append(table)
                alone &= ~table.inside
        relaxed = len(tables) < len(self.constraints)
        tables += [self.tables.cell(cell) for cell in members(alone)]
        tables += [places for places in self.places
                   if places.valid(candidates & places.mask).bit_count() <= _FEW_PLACES]
        live = [table.valid(candidates & table.mask) for table in tables]
        return settled_position(self._network(tuple(tables)), live, relaxed=relaxed) if all(live) else None

    def _network(self, tables: tuple[Table, ...]) -> Network:
        """The tables, linked."""
        if tables != self.memory.network.tables:
            self.memory.network = network_of(tables, self.tables, self.sees)
        return self.memory.network

    def _packed(self, masks: Sequence[int]) -> int:
        """The candidates of the cells concerned, packed."""
        packed = 0
        for cell, shift in self.shifts:
            packed |= masks[cell] << shift
        return packed

    def _known_possible(self, candidates: int) -> int:
        """What fillings met before show to be possible: those of at least these cages for which the sum comes
        out.
        """
        possible, mask, sum_ = 0, self.mask, self.sum
        for filling, cages in self.memory.fillings.items():
            here = filling & mask
            if not here & ~candidates and not self.cages & ~cages and (sum_ is None or sum_.is_satisfied(here)):
                possible |= here
        return possible

    def _unsupported(self, position: Position, asked: int) -> int:
        """Which of the digits asked for (packed) no filling has; a digit that is not settled counts as possible.

        Fillings with other digits that are asked for are looked for first, and those found are remembered.
        """
        gone, fillings = 0, []
        while asked:
            digit = asked & -asked
            trial = position.requiring(digit)
            found = search(trial, first=asked) if trial else NOTHING_TO_SEARCH
            if found.filling is not None:
                asked &= ~found.filling
                fillings.append(found.filling)
                continue
            asked ^= digit
            if found.proved:
                gone |= digit
                position = position.without(digit)
        self.memory.keep(() if position.relaxed else fillings, self.cages)
        return gone


@lru_cache(maxsize=1 << 11)
def joint_problem(frame: Frame, facts: Facts, sees: tuple[int, ...] | None = None) -> JointProblem:
    """Return the facts laid out; everything seen counts unless told what does."""
    tables = tables_of(frame)
    sight = frame.sees if sees is None else sees
    inside = facts.cells(frame)
    shifts = tuple([(cell, tables.size * cell) for cell in members(inside)])
    sum_ = None
    if facts.balance and facts.terms:
        sum_ = tables.sum(facts.balance.plus, facts.balance.minus, facts.balance.total, sight)
    cages = tuple([tables.cage(number) for number in facts.cages])
    return JointProblem(
        tables=tables, sees=sight, inside=inside, shifts=shifts,
        mask=sum([frame.full << shift for _, shift in shifts]),
        cages=set_of(facts.cages),
        constraints=cages if sum_ is None else (*cages, sum_),
        sum=sum_,
        places=tuple([table for house in facts.houses for table in tables.places(house)]),
        memory=Memory(_fillings_of(frame).setdefault(facts.houses or facts, {})),
    )


@lru_cache(maxsize=4)
def _fillings_of(frame: Frame) -> dict[object, dict[int, int]]:
    """The fillings remembered of a puzzle, by houses, or by facts without a house."""
    return {}


def leanest(frame: Frame, facts: Facts, masks: Sequence[int], cell: int, mask: int) -> Facts:
    """Return the facts without the houses and cages that barring these digits can do without."""
    def still(trial: Facts) -> bool:
        return joint_problem(frame, trial).bars(masks, cell, mask)

    for house in facts.houses:
        trial = replace(facts, houses=tuple([n for n in facts.houses if n != house]))
        if still(trial):
            facts = trial
    for cage in sorted(facts.cages, key=lambda n: (frame.cage_sets[n] >> cell & 1, -len(frame.cages[n]))):
        trial = replace(facts, cages=tuple([n for n in facts.cages if n != cage]))
        if still(trial):
            facts = trial
    return facts


def joint_removals(state: State, facts: Facts) -> Iterator[tuple[Facts, list[tuple[int, int]]]]:
    """Yield what the facts rule out, put together by the facts that are enough for it, fewest first."""
    frame, masks = state.frame, state.candidates
    by_facts: dict[Facts, dict[int, int]] = {}
    for cell, gone in joint_problem(frame, facts).impossible(masks).items():
        for index in members(gone):
            removed = by_facts.setdefault(leanest(frame, facts, masks, cell, 1 << index), {})
            removed[cell] = removed.get(cell, 0) | 1 << index
    for lean, removed in sorted(by_facts.items(), key=lambda item: len(item[0].cages)):
        yield lean, list(removed.items())
