"""One deduction as data: what it looks at, why it holds, what it places or eliminates.

No sentence is stored: `why` holds values by name, and `key` names the template they fill.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from enum import StrEnum
from typing import TypeVar

from cagework.solver.model import Between, Cage, Cell, House, Pair, Sum

Fact = TypeVar("Fact", House, Cage, Pair, Sum, Between)

_SHOWN = 8
"""How many conclusions are shown of a step, for a look at it."""


@dataclass(frozen=True, slots=True)
class Digits:
    """A set of digits as a mask (bit d - 1 stands for digit d); iterating gives them, least first."""

    mask: int

    def __iter__(self) -> Iterator[int]:
        mask = self.mask
        while mask:
            low = mask & -mask
            yield low.bit_length()
            mask ^= low

    def __len__(self) -> int:
        return self.mask.bit_count()


@dataclass(frozen=True, slots=True)
class Claim:
    """That a cell is a digit, or is not."""

    cell: Cell
    digit: int
    holds: bool


@dataclass(frozen=True, slots=True)
class Held:
    """What a cell can hold."""

    cell: Cell
    digits: Digits


@dataclass(frozen=True, slots=True)
class DeadWay:
    """A way to make a cage, with what it would leave nothing for: a cell, a cage, or a house's `digit`.

    `held` is what a cage's open cells could then hold: between them where that makes it in no way, else each; and
    `left` what they have to make.
    """

    way: Digits
    leaves: Cell | Cage | House
    digit: int = 0
    held: Digits | tuple[Held, ...] = ()
    left: int = 0


class Crush(StrEnum):
    """How digits do not go into cells."""

    BARE = "bare"       # nothing is left for a cell
    ALIKE = "alike"     # two cells can hold but the one digit
    ALONE = "alone"     # two digits can go only in the one cell


@dataclass(frozen=True, slots=True)
class Clash:
    """Why cells cannot hold digits between them: `how`, at which cells, any of several where BARE, and with which
    digits; 0 for one digit of two cells that is not always the same.
    """

    how: Crush
    cells: tuple[Cell, ...]
    digits: Digits = Digits(0)


@dataclass(frozen=True, slots=True)
class Else:
    """What keeps `digits` from other cells of a cage that can hold one: clashes or, where that takes a longer
    reason, the few `ways` of which the rest could hold none, or the `sums` that it cannot make.
    """

    digits: Digits
    clashes: tuple[Clash, ...] = ()
    ways: tuple[Digits, ...] = ()
    sums: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Rest:
    """What the filled cells of a cage leave of it."""

    cage: Cage


@dataclass(frozen=True, slots=True)
class Counted:
    """Filled cells that are counted with cages: those of the houses that these leave out, less those that stick
    out. `inside` names the cages, too, as those inside the houses.
    """

    left_out: tuple[Cell, ...]
    sticking_out: tuple[Cell, ...]
    inside: bool = False


@dataclass(frozen=True, slots=True)
class Stated:
    """Sums that rules of the puzzle's own state."""

    sums: tuple[Sum, ...]


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of an area: what `cages` there make, if any, and so many `sums` that rules state, with the
    filled cells that are counted with them.
    """

    counted: Counted
    cages: bool
    sums: int


@dataclass(frozen=True, slots=True)
class Lack:
    """Digits that a cell cannot be."""

    cell: Cell
    digits: Digits


@dataclass(frozen=True, slots=True)
class NoOther:
    """Why a cage can be made in no way but those told: digits that none of its open cells can be, and the ways of
    other digits that do not fit its cells or, where these are many, what its cells lack or hold so that none does;
    and the ways that were struck before. Of one way, instead: what a `pair` of its cells makes, so that the rest
    can be made in one way only. `clashes` are what keeps out each of the `unfit`, where a few words say it.
    """

    barred: Digits
    unfit: tuple[Digits, ...]
    lacks: tuple[Lack | Held, ...] = ()
    struck: tuple[Digits, ...] = ()
    pair: tuple[Sum, ...] = ()
    clashes: tuple[Clash, ...] = ()


@dataclass(frozen=True, slots=True)
class Elsewhere:
    """What loses the digits that some cells use up: the rest of houses and cages, and cells that see them all `by`
    houses and cages.
    """

    groups: tuple[House | Cage, ...]
    cells: tuple[Cell, ...]
    by: tuple[House | Cage, ...] = ()


@dataclass(frozen=True, slots=True)
class Block:
    """Runs of crossing sums, all across or all down, whose sums are added up."""

    runs: tuple[Cage, ...]


@dataclass(frozen=True, slots=True)
class Earlier:
    """The step of a path that told a sum first, by its number from 0, and what it added up."""

    number: int
    houses: tuple[House | Block, ...]


Value = (Cell | int | Digits | House | Cage | Claim | Held | DeadWay | Clash | Else | Rest | Counted | Lack
         | NoOther | Elsewhere | Earlier | Sum | Block | Stated | Known | tuple["Value", ...])
"""What a sentence may name. An int is a digit or a total; Digits is a set of them; a tuple is a list, and one of
claims an argument, each claim because of the one before.
"""

Why = dict[str, Value]
"""Values by the names that a sentence has for them."""

Eliminated = tuple[tuple[Cell, int], ...]
"""Cells, each with a mask of digits it cannot hold."""

Summand = House | Cage | Sum
"""What has a total: a house of all digits, a cage or run with its sum, or a sum that a rule states."""

Addition = tuple[tuple[Summand, ...], tuple[Summand, ...]]
"""What is added up, and what is taken away from that."""


@dataclass(frozen=True, slots=True)
class Cites:
    """What a step rests on; a proof sees no more of the puzzle, but for the answer that a trial is held against.

    `houses`, `cages`, `pairs`, `sums` and `betweens` are facts that the puzzle states. `eliminated` are the cells
    whose candidates matter, each with just those missing digits that the step uses; any other cell, and any other
    digit, counts as open. `added` are those of `houses`, `cages` and `sums` whose totals are added up, and `taken`
    those whose totals are taken away from these, one sum by the 45 rule or of an area of runs; `added_too` and
    `taken_too` are those of a second one, where a step rests on two.
    """

    eliminated: Eliminated = ()
    houses: tuple[House, ...] = ()
    cages: tuple[Cage, ...] = ()
    pairs: tuple[Pair, ...] = ()
    added: tuple[Summand, ...] = ()
    taken: tuple[Summand, ...] = ()
    added_too: tuple[Summand, ...] = ()
    taken_too: tuple[Summand, ...] = ()
    sums: tuple[Sum, ...] = ()
    betweens: tuple[Between, ...] = ()

    def __repr__(self) -> str:
        counts = {"cells": self.eliminated, "houses": self.houses, "cages": self.cages, "pairs": self.pairs,
                  "sums": self.sums, "betweens": self.betweens}
        return f"Cites({', '.join([f'{len(facts)} {name}' for name, facts in counts.items() if facts])})"

    @property
    def ruled(self) -> tuple[Pair | Sum | Between, ...]:
        """What rules of the puzzle's own state."""
        return (*self.pairs, *self.sums, *self.betweens)

    @property
    def additions(self) -> tuple[Addition, ...]:
        """What each sum adds up and takes away: of none, one or two."""
        both = (self.added, self.taken), (self.added_too, self.taken_too)
        return tuple([one for one in both if one[0]])

    @property
    def reckoned(self) -> tuple[Summand, ...]:
        """All that is added up or taken away."""
        return self.added + self.added_too + self.taken + self.taken_too

    @property
    def summed(self) -> tuple[House | Block, ...]:
        """The houses of all sums, and each block of runs."""
        found: list[House | Block] = []
        for added, _ in self.additions:
            area = area_of(added)
            found += [area] if isinstance(area, Block) else area
        return tuple(found)

    @property
    def cells(self) -> tuple[Cell, ...]:
        """The cells whose candidates the step uses."""
        return tuple(cell for cell, _ in self.eliminated)


NOTHING = Cites()
"""What a supposition rests on."""


def area_of(added: tuple[Summand, ...]) -> tuple[House, ...] | Block:
    """Houses that are added up as they are, runs as a block."""
    houses = tuple([one for one in added if isinstance(one, House)])
    return houses or Block(tuple([one for one in added if isinstance(one, Cage)]))


def summing(added: tuple[Summand, ...], taken: tuple[Summand, ...]) -> Cites:
    """Cite what is added up and what is taken away from that."""
    both = (*added, *taken)
    return Cites(houses=tuple([one for one in both if isinstance(one, House)]),
                 cages=tuple([one for one in both if isinstance(one, Cage)]), added=added, taken=taken,
                 sums=tuple([one for one in both if isinstance(one, Sum)]))


def joined(*parts: Cites) -> Cites:
    """Return one citation of all these, each thing once; a cell's missing digits are added up.

    What is added up and taken away is so once for each part that says it.
    """
    eliminated: dict[Cell, int] = {}
    for part in parts:
        for cell, mask in part.eliminated:
            eliminated[cell] = eliminated.get(cell, 0) | mask
    return Cites(
        tuple(eliminated.items()),
        _once([part.houses for part in parts]), _once([part.cages for part in parts]),
        _once([part.pairs for part in parts]),
        tuple([one for part in parts for one in part.added]),
        tuple([one for part in parts for one in part.taken]),
        tuple([one for part in parts for one in part.added_too]),
        tuple([one for part in parts for one in part.taken_too]),
        _once([part.sums for part in parts]), _once([part.betweens for part in parts]))


def _once(groups: Iterable[tuple[Fact, ...]]) -> tuple[Fact, ...]:
    """All of some facts in order, each once."""
    some = [facts for facts in groups if facts]
    if not some:
        return ()
    if len(some) == len(some[0]) == 1:
        return some[0]
    return tuple(dict.fromkeys([fact for facts in some for fact in facts]))


@dataclass(frozen=True, slots=True)
class Step:
    """One deduction.

    `technique` is the stem of the technique's file and `key` one of its sentences, filled from `why`.
    `places` are (cell, digit); `removes` are (cell, mask of digits that go). A placed digit also goes from
    every cell that sees it, which no step lists. `parts` is the argument of a what-if, in order; the last
    part is the dead end, and neither places nor removes. Where the first part is supposed, it is an argument of
    branches: each begins with what it supposes, and all come to what the step concludes. `load` is how many cases
    a reader must hold in mind at once to see the step; 0 for a trial, which is no reasoning.
    """

    technique: str
    cost: int
    key: str
    places: tuple[tuple[Cell, int], ...]
    removes: Eliminated
    cites: Cites
    why: Why = field(default_factory=dict)
    parts: tuple[Step, ...] = ()
    load: int = 1

    def __repr__(self) -> str:
        found = [f"{cell} = {digit}" for cell, digit in self.places]
        gone = [f"{cell} not {' '.join(map(str, Digits(mask)))}" for cell, mask in self.removes]
        shown = (found + gone)[:_SHOWN] + ["…"] * (len(found + gone) > _SHOWN)
        return f"Step({self.technique}: {', '.join(shown)})"

    @property
    def supposes(self) -> bool:
        """Whether it is supposed: it places or strikes something, and rests on nothing."""
        return bool(self.places or self.removes) and self.cites == NOTHING

    @property
    def is_trial(self) -> bool:
        """Whether it tries, and does not reason."""
        return self.load == 0
