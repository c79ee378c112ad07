"""What the techniques of cage arithmetic share: citing a cage, and what follows of its sum."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from cagework.solver.bitset import members
from cagework.solver.combine import combinations, combinations_within, digits_of
from cagework.solver.model import Cage, Sum
from cagework.solver.reasoning.clashes import clash_of_each
from cagework.solver.reasoning.filling import fits, has_matching, supported, union_of
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.step import Cites, Digits, Held, Lack, NoOther, Rest, Step, Why

MOST_LISTED = 4
"""The most combinations that a sentence lists."""

_MOST_REST = 3
"""The most cells of a cage beside a pair of which a sentence says what the pair leaves them."""

_MOST_UNFIT = 3
"""The most combinations that it lists as unfit."""

Reach = dict[int, int]
"""Cell -> digits it can hold."""

Masks = Mapping[int, int] | Sequence[int]
"""By cell, what it holds."""


def removals(state: State, reach: Mapping[int, int]) -> tuple[tuple[int, int], ...]:
    """Return what each cell loses when it can hold only these digits."""
    return tuple([(cell, gone) for cell, mask in reach.items() if (gone := state.candidates[cell] & ~mask)])


def cage_cites(state: State, place: int) -> Cites:
    """Cite a cage and all that its cells lack."""
    frame = state.frame
    return Cites(state.missing(frame.cage_sets[place], frame.full), cages=(frame.puzzle.cages[place],))


def cage_left(frame: Frame, cage: Cage, eliminated: Mapping[int, int]) -> tuple[Reach, tuple[int, ...]]:
    """Return what a cage's cells can hold, and its combinations, where just these digits are missing."""
    reach, rest, total = cage_open(frame, cage, eliminated)
    kept, left = fits(tuple([reach[cell] for cell in rest]), total)
    reach.update(zip(rest, kept, strict=True))
    return reach, left


def ways_where(frame: Frame, cage: Cage, eliminated: Mapping[int, int]) -> tuple[int, ...]:
    """Return the combinations of a cage where just these digits are missing."""
    return _open_and_ways(frame, cage, eliminated)[1]


def _open_and_ways(
    frame: Frame, cage: Cage, eliminated: Mapping[int, int],
) -> tuple[Sequence[int], tuple[int, ...]]:
    """The open cells of a cage, and its combinations, where just these digits are missing."""
    reach, open_, total = cage_open(frame, cage, eliminated)
    return open_, fits(tuple([reach[cell] for cell in open_]), total)[1]


def barred(frame: Frame, step: Step) -> Step:
    """Return a step with what the open cells of its cage lose besides where no way to make it has a digit."""
    missing = frame.missing(step.cites)
    open_, ways = _open_and_ways(frame, step.cites.cages[0], missing)
    none = frame.full & ~union_of(ways)
    lost = dict(step.removes)
    for cell in open_:
        if gone := none & ~missing.get(cell, 0):
            lost[frame.cells[cell]] = lost.get(frame.cells[cell], 0) | gone
    return replace(step, removes=tuple(lost.items()))


def barred_by_notes(frame: Frame, step: Step, masks: Sequence[int]) -> Step:
    """Return a step with what is in no way to make its cage struck from all open cells of that where they hold
    `masks`, citing no more of what they lack than that takes; the same where that is all that it strikes.
    """
    cage = step.cites.cages[0]
    lacks = {cell: frame.full & ~masks[cell] for cell in map(frame.index.__getitem__, cage.cells)}
    open_, ways = _open_and_ways(frame, cage, lacks)
    none = frame.full & ~union_of(ways)
    removes = tuple([(frame.cells[cell], gone) for cell in open_ if (gone := masks[cell] & none)])
    if len(open_) < 2 or dict(removes) == dict(step.removes) or none == frame.full:
        return step
    wanted = replace(step, removes=removes)
    for cell in list(lacks):
        fewer = {other: mask for other, mask in lacks.items() if other != cell}
        if no_way_has(frame, wanted, fewer):
            lacks = fewer
    missing = tuple([(frame.cells[cell], mask) for cell, mask in lacks.items() if mask])
    return replace(wanted, cites=replace(step.cites, eliminated=missing))


def cage_cases(frame: Frame, cage: Cage, masks: Sequence[int]) -> int:
    """Return how many ways there are to make a cage of the digits that its open cells hold between them."""
    open_, total, _ = parted(frame, cage, masks)
    return len(combinations_within(union_of(open_.values()), len(open_), total)) if open_ else 1


def no_other(frame: Frame, cage: Cage, masks: Sequence[int], told: Iterable[int]) -> NoOther:
    """Return why a cage is made in no way but those told, where cells hold `masks`."""
    return no_other_filling(frame, *parted(frame, cage, masks), told)


def no_other_filling(frame: Frame, open_: Reach, total: int, used: int, told: Iterable[int]) -> NoOther:
    """Return why cells that differ make a total of digits besides those used in no way but those told."""
    union = union_of(open_.values())
    told = tuple(told)
    if len(told) == 1 and (pair := _pair(frame, open_, total, used, told[0])):
        return NoOther(Digits(0), (), pair=pair)
    missing = {way for way in combinations(frame.size, len(open_), total) if not way & used}.difference(told)
    barred = Digits(_enough([way & ~union for way in missing if way & ~union]))
    unfit = tuple(sorted(way for way in missing if not way & ~union))
    if len(unfit) <= _MOST_UNFIT:
        return NoOther(barred, tuple(map(Digits, unfit)), clashes=clash_of_each(frame.cells, open_, unfit))
    lacks = {cell: union_of(unfit) & ~mask for cell, mask in open_.items()}
    for cell in open_:      # each digit that is missed for no way goes, whole cells first
        for gone in (lacks[cell], *(1 << index for index in members(lacks[cell]))):
            fewer = lacks | {cell: lacks[cell] & ~gone}
            if not any(has_matching(tuple([way & ~lack for lack in fewer.values()])) for way in unfit):
                lacks = fewer
    told_of = [_lack(frame, cell, lack, open_[cell]) for cell, lack in lacks.items() if lack]
    return NoOther(barred, (), tuple(told_of))


def _pair(frame: Frame, open_: Reach, total: int, used: int, way: int) -> tuple[Sum, ...]:
    """What two cells that hold the same two digits make, and the rest, where this way alone makes that."""
    for one, other in pairwise(sorted(open_, key=lambda cell: (open_[cell], cell))):
        mask = open_[one]
        rest = tuple([cell for cell in open_ if cell not in (one, other)])
        if mask == open_[other] and mask.bit_count() == 2 and 1 < len(rest) <= _MOST_REST:
            makes = sum(digits_of(mask))
            ways = [left for left in combinations(frame.size, len(rest), total - makes)
                    if not left & (used | mask)]
            if ways == [way & ~mask]:
                return tuple([Sum(tuple([frame.cells[cell] for cell in cells]), (), (made,))
                              for cells, made in (((one, other), makes), (rest, total - makes))])
    return ()


def _enough(digits: Sequence[int]) -> int:
    """Of sets of digits (masks), one digit or more of each, and no more than it takes."""
    enough = union_of(digits)
    for index in members(enough):
        if all(one & enough & ~(1 << index) for one in digits):
            enough ^= 1 << index
    return enough


def _lack(frame: Frame, cell: int, lack: int, mask: int) -> Lack | Held:
    """Say what a cell lacks or, if that is less, what it holds."""
    fewer = lack.bit_count() < mask.bit_count()
    return Lack(frame.cells[cell], Digits(lack)) if fewer else Held(frame.cells[cell], Digits(mask))


def told_masks(frame: Frame, step: Step, masks: Sequence[int]) -> Sequence[int]:
    """Return the candidates by which a cage is told: `masks`, or what is cited where all of it is filled but one
    or, as in a supposition, a cell of it holds nothing, two hold one digit, or it has no way left.
    """
    cage = step.cites.cages[0]
    held = [masks[frame.index[cell]] for cell in cage.cells]
    filled = [mask for mask in held if mask.bit_count() == 1]
    told = (len(filled) < len(held) - 1 and all(held) and len(set(filled)) == len(filled)
            and ways_left(frame, cage, masks))
    return masks if told else frame.cited(step.cites)


def ways_left(frame: Frame, cage: Cage, masks: Sequence[int]) -> tuple[int, ...]:
    """Return the combinations of a cage where cells hold `masks`."""
    missing = {cell: frame.full & ~masks[cell] for cell in frame.cages[frame.cage_number(cage)]}
    return ways_where(frame, cage, missing)


def made_of(frame: Frame, cage: Cage, masks: Sequence[int]) -> Cage | Rest:
    """Name a cage, or what is left of it where cells of it are filled."""
    return Rest(cage) if any(masks[frame.index[cell]].bit_count() == 1 for cell in cage.cells) else cage


def ways_why(frame: Frame, cage: Cage, masks: Sequence[int], ways: Sequence[int]) -> Why:
    """Name the ways of a cage, what is made in them, and why there are no others, where cells hold `masks`."""
    return {"made": made_of(frame, cage, masks), "combinations": tuple(map(Digits, ways)),
            "reason": no_other(frame, cage, masks, ways)}


def cage_still_bars(frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
    """Whether the cage a step cites still rules out all it removes, with just these digits missing."""
    reach, rest, total = cage_open(frame, step.cites.cages[0], eliminated)
    kept = supported(tuple([reach[cell] for cell in rest]), total) if rest else ()
    reach.update(zip(rest, kept or [0] * len(rest), strict=True))
    return all(not reach[frame.index[cell]] & mask for cell, mask in step.removes)


def no_way_has(frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
    """Whether the cage a step cites can be made with just these digits missing, and never with one it removes."""
    return none_has(ways_where(frame, step.cites.cages[0], eliminated), step)


def none_has(ways: Sequence[int], step: Step) -> bool:
    """Whether there are ways to make a cage, and none has a digit that a step removes."""
    used = union_of(ways)
    return bool(ways) and not any(mask & used for _, mask in step.removes)


def cage_open(frame: Frame, cage: Cage, eliminated: Mapping[int, int]) -> tuple[Reach, tuple[int, ...], int]:
    """Return what a cage's cells hold where just these digits are missing, the open ones, and their total."""
    full = frame.full
    reach = {cell: full & ~eliminated.get(cell, 0) for cell in frame.cages[frame.cage_number(cage)]}
    open_, total, used = parted(frame, cage, reach)
    for cell, mask in open_.items():
        reach[cell] = mask & ~used
    return reach, tuple(open_), total


def parted(frame: Frame, cage: Cage, masks: Masks) -> tuple[Reach, int, int]:
    """What the open cells of a cage hold, what they make, and the digits of the others."""
    open_: Reach = {}
    total, used = cage.total or 0, 0
    for cell in frame.cages[frame.cage_number(cage)]:
        mask = masks[cell]
        if mask & mask - 1:
            open_[cell] = mask
        else:
            used |= mask
            total -= mask.bit_length()
    return open_, total, used
