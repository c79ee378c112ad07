"""Lies about a step that holds: each contradicts the answer, and cites or argues something to make it seem so.

A lie that has nothing to work on returns None; one that turned out true is for its user to drop.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from cagework.solver.model import Answer, Cage, Cell, House, Pair, Puzzle, Sum
from cagework.solver.step import Cites, Step

_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class Moment:
    """A step that holds, the candidates before it (masks in the order of cells), and an answer that fits both."""

    puzzle: Puzzle
    answer: Answer
    board: tuple[int, ...]
    step: Step

    def at(self, cell: Cell) -> int:
        """The candidates of a cell."""
        return self.board[self.puzzle.cells.index(cell)]

    def own(self, cell: Cell) -> int:
        """The answer's digit in a cell, as a mask."""
        return 1 << self.answer.at(cell) - 1

    @property
    def near(self) -> list[Cell]:
        """The cells that the step speaks of."""
        cites = self.step.cites
        cells = [cell for cell, _ in (*self.step.places, *self.step.removes, *cites.eliminated)]
        cells += [cell for fact in (*cites.cages, *cites.houses) for cell in fact.cells]
        return list(dict.fromkeys(cells))


def pick(rng: random.Random, items: Sequence[_T]) -> _T:
    """One of these."""
    return items[int(rng.random() * len(items))]


def _denying(moment: Moment, rng: random.Random, cell: Cell) -> Step:
    """The step with a conclusion that the answer refutes in this cell, of the kind the step's own is."""
    step = moment.step
    wrong = [digit for digit in range(1, moment.puzzle.size + 1)
             if moment.at(cell) & ~moment.own(cell) & 1 << digit - 1]
    if step.places and wrong:
        return replace(step, places=((cell, pick(rng, wrong)),), removes=())
    return replace(step, places=(), removes=((cell, moment.own(cell)),))


def striking(moment: Moment, rng: random.Random) -> Step:
    """All that is true is said, and one thing more."""
    cell = pick(rng, moment.near)
    removes = dict(moment.step.removes)
    removes[cell] = removes.get(cell, 0) | moment.own(cell)
    return replace(moment.step, removes=tuple(removes.items()))


def placing(moment: Moment, rng: random.Random) -> Step:
    """A wrong digit is placed beside what is true."""
    cell = pick(rng, moment.near)
    digit = 1 + int(rng.random() * moment.puzzle.size)
    return replace(moment.step, places=(*moment.step.places, (cell, digit)))


def aimed_elsewhere(moment: Moment, rng: random.Random) -> Step:
    """The conclusion is drawn about another cell."""
    return _denying(moment, rng, pick(rng, moment.near))


def a_fact_dropped(moment: Moment, rng: random.Random) -> Step | None:
    """One house or cage fewer is cited."""
    step = _denying(moment, rng, pick(rng, moment.near))
    facts = (*step.cites.houses, *step.cites.cages)
    return replace(step, cites=_without(step.cites, pick(rng, facts))) if facts else None


def a_fact_swapped(moment: Moment, rng: random.Random) -> Step | None:
    """Another house or cage of the puzzle is cited in place of one."""
    step = _denying(moment, rng, pick(rng, moment.near))
    cites, puzzle = step.cites, moment.puzzle
    if cites.cages and (not cites.houses or rng.random() < 0.5):
        return replace(step, cites=_swapped(cites, pick(rng, cites.cages), pick(rng, puzzle.cages)))
    if not cites.houses:
        return None
    return replace(step, cites=_swapped(cites, pick(rng, cites.houses), pick(rng, puzzle.houses)))


def a_total_off_by_one(moment: Moment, rng: random.Random) -> Step | None:
    """A cage is cited with a total one too high or too low."""
    cages = [cage for cage in moment.step.cites.cages if cage.total is not None]
    if not cages:
        return None
    cage = pick(rng, cages)
    wrong = replace(cage, total=(cage.total or 0) + pick(rng, (-1, 1)))
    step = _denying(moment, rng, pick(rng, cage.cells if not moment.step.cites.added else moment.near))
    return replace(step, cites=_swapped(step.cites, cage, wrong))


def a_cage_made_up(moment: Moment, rng: random.Random) -> Step:
    """A cage is cited that would leave a cell no choice but a wrong one."""
    cell = pick(rng, moment.near)
    digit = moment.answer.at(cell) % moment.puzzle.size + 1
    step = _denying(moment, rng, cell)
    return replace(step, cites=replace(step.cites, cages=(*step.cites.cages, Cage((cell,), digit))),
                   places=(), removes=((cell, moment.own(cell)),))


def a_house_made_up(moment: Moment, rng: random.Random) -> Step | None:
    """A house is cited with one of its cells traded for one that holds the same digit as another."""
    if not moment.step.cites.houses:
        return None
    house = pick(rng, moment.step.cites.houses)
    cell, gone = house.cells[0], house.cells[-1]
    twin = pick(rng, [one for one in moment.puzzle.cells
                       if one not in house.cells and moment.own(one) == moment.own(cell)] or [gone])
    false = replace(house, cells=(*house.cells[:-1], twin))
    step = _denying(moment, rng, cell)
    cites = _swapped(step.cites, house, false)
    missing = (*cites.eliminated, (twin, _full(moment) & ~moment.own(twin)))
    return replace(step, cites=replace(cites, eliminated=missing), places=(), removes=((cell, moment.own(cell)),))


def a_pair_made_up(moment: Moment, rng: random.Random) -> Step:
    """Two cells are said to be related in a way that the answer's digit has no part in."""
    cell, other = pick(rng, moment.near), pick(rng, moment.puzzle.cells)
    allowed = tuple(0 if 1 << i == moment.own(cell) else _full(moment) for i in range(moment.puzzle.size))
    step = _denying(moment, rng, cell)
    return replace(step, places=(), removes=((cell, moment.own(cell)),),
                   cites=replace(step.cites, pairs=(*step.cites.pairs, Pair(cell, other, allowed))))


def a_sum_made_up(moment: Moment, rng: random.Random) -> Step | None:
    """A sum that is not stated, or a stated one with another total, leaves no room for any digit."""
    if moment.step.cites.added:     # of long sums the proof gives many up, but only after all its tries
        return None
    if moment.step.cites.sums:
        one = pick(rng, moment.step.cites.sums)
        cell, false = pick(rng, one.cells), replace(one, totals=(99,))
    else:
        cell, other = pick(rng, moment.near), pick(rng, moment.puzzle.cells)
        false = Sum((cell,), () if cell == other else (other,), (99,))
    step = _denying(moment, rng, cell)
    return replace(step, places=(), removes=((cell, moment.own(cell)),),
                   cites=replace(step.cites, sums=(*step.cites.sums, false)))


def digits_said_to_be_missing(moment: Moment, rng: random.Random) -> Step | None:
    """A cell's own digit is said to be gone, alone or with all others but one."""
    open_ = [cell for cell in moment.near if moment.at(cell) & ~moment.own(cell)]
    if not open_:
        return None
    cell = pick(rng, open_)
    step = _denying(moment, rng, cell)
    gone = moment.own(cell)
    for _, digit in step.places:
        gone = _full(moment) & ~(1 << digit - 1)
    struck = dict(step.cites.eliminated)
    struck[cell] = struck.get(cell, 0) | gone
    return replace(step, cites=replace(step.cites, eliminated=tuple(struck.items())))


def a_digit_said_to_have_no_other_place(moment: Moment, rng: random.Random) -> Step | None:
    """All cells of a whole house but one are said to lack a digit; so it is placed in that one."""
    size = moment.puzzle.size
    whole = [house for house in moment.step.cites.houses if len(house.cells) == size]
    if not whole:
        return None
    house = pick(rng, whole)
    cell, digit = pick(rng, house.cells), 1 + int(rng.random() * size)
    struck = tuple((other, 1 << digit - 1) for other in house.cells if other != cell)
    return replace(moment.step, places=((cell, digit),), removes=(), parts=(), cites=Cites(struck, (house,)))


def added_twice(moment: Moment, rng: random.Random) -> Step | None:
    """A house is added up twice, or a cage or a sum that a rule states taken away twice."""
    cites = moment.step.cites
    if not cites.added:
        return None
    (added, taken), end = _a_sum(cites, rng)
    if taken and rng.random() < 0.5:
        cites = replace(cites, **{f"taken{end}": (*taken, pick(rng, taken))})
    else:
        cites = replace(cites, **{f"added{end}": (*added, pick(rng, added))})
    return replace(_denying(moment, rng, pick(rng, moment.near)), cites=cites)


def taken_that_does_not_belong(moment: Moment, rng: random.Random) -> Step | None:
    """A cage from elsewhere is taken away, or one that belongs is left in; cited or not."""
    cites = moment.step.cites
    if not cites.added or not moment.puzzle.cages:
        return None
    (_, taken), end = _a_sum(cites, rng)
    kind, other = int(rng.random() * 3), pick(rng, moment.puzzle.cages)
    if kind == 0 and taken:
        cites = replace(cites, **{f"taken{end}": tuple(cage for cage in taken if cage != pick(rng, taken))})
    elif kind == 1:
        cites = replace(cites, **{f"taken{end}": (*taken, other)})
    else:
        cites = replace(cites, **{f"taken{end}": (*taken, other)}, cages=(*cites.cages, other))
    return replace(_denying(moment, rng, pick(rng, moment.near)), cites=cites)


def added_that_is_no_house(moment: Moment, rng: random.Random) -> Step | None:
    """Cells are added up that hold other digits than a house does, or a run."""
    cites = moment.step.cites
    if not cites.added:
        return None
    (added, _), end = _a_sum(cites, rng)
    house = pick(rng, [one for one in added if not isinstance(one, Sum)])
    false = replace(house, cells=(*house.cells[1:], pick(rng, moment.puzzle.cells)))
    if rng.random() < 0.5:
        cites = replace(cites, houses=tuple(false if one == house else one for one in cites.houses),
                        cages=tuple(false if one == house else one for one in cites.cages))
    cites = replace(cites, **{f"added{end}": tuple(false if one == house else one for one in added)})
    return replace(_denying(moment, rng, pick(rng, moment.near)), cites=cites)


# What-ifs, from any step: the answer's own digit is supposed, and a dead end found where there is none.


def _supposing(moment: Moment, rng: random.Random, parts: tuple[Step, ...], cites: Cites | None = None) -> Step:
    cell = pick(rng, moment.near)
    cites = moment.step.cites if cites is None else cites
    return replace(moment.step, places=(), removes=((cell, moment.own(cell)),), cites=cites, parts=parts)


def _end(cites: Cites) -> Step:
    return Step("what_if", 0, "no_digit", (), (), cites)


def a_part_unproved(moment: Moment, rng: random.Random) -> Step:
    """The argument strikes all digits of a cell for no reason, after whatever else it says."""
    cell = pick(rng, moment.puzzle.cells)
    every = _full(moment)
    idle = replace(moment.step, places=(), removes=((cell, every),), parts=(),
                   cites=Cites(houses=moment.step.cites.houses[:1], cages=moment.step.cites.cages[:1]))
    return _supposing(moment, rng, (*moment.step.parts[:-1], idle, _end(Cites(((cell, every),)))))


def a_dead_end_that_is_not_there(moment: Moment, rng: random.Random) -> Step:
    """The argument ends at a cell, or at a house or cage, in which there is nothing wrong."""
    cites = moment.step.cites
    facts = (*cites.houses, *cites.cages)
    if not facts or rng.random() < 0.3:
        return _supposing(moment, rng, (_end(Cites(((pick(rng, moment.puzzle.cells), _full(moment)),))),))
    fact = pick(rng, facts)
    struck = tuple((cell, _full(moment) & ~moment.at(cell)) for cell in fact.cells)
    end = Cites(struck, (fact,)) if isinstance(fact, House) else Cites(struck, cages=(fact,))
    return _supposing(moment, rng, (_end(end),))


def a_dead_end_made_up(moment: Moment, rng: random.Random) -> Step | None:
    """The argument ends at a fact that the puzzle does not state: cited, added up or taken away."""
    if not moment.puzzle.houses:
        return None
    cell = pick(rng, moment.puzzle.cells)
    house = pick(rng, moment.puzzle.houses)
    twice, dear = replace(house, cells=(cell, cell)), Cage((cell,), 99)
    end = pick(rng, (
        Cites(houses=(twice,)), Cites(cages=(dear,)), Cites(pairs=(Pair(cell, cell, (0,) * moment.puzzle.size),)),
        Cites(houses=(house,), added=(twice,)), Cites(houses=(house,), added=(house,), taken=(dear,)),
    ))
    cites = moment.step.cites
    if house not in cites.houses:
        cites = replace(cites, houses=(*cites.houses, house))
    return _supposing(moment, rng, (_end(end),), cites)


def the_argument_of_another_digit(moment: Moment, rng: random.Random) -> Step | None:
    """A true argument against one candidate is given against the answer's own digit."""
    return _supposing(moment, rng, moment.step.parts) if moment.step.parts else None


def parts_dropped_or_shuffled(moment: Moment, rng: random.Random) -> Step | None:
    """The same, with parts left out or in another order."""
    parts = list(moment.step.parts)
    if not parts:
        return None
    if rng.random() < 0.5 and len(parts) > 1:
        del parts[int(rng.random() * len(parts))]
    else:
        parts.sort(key=lambda _: rng.random())
    return _supposing(moment, rng, tuple(parts))


def more_than_the_argument_is_about(moment: Moment, rng: random.Random) -> Step | None:
    """A true argument strikes the answer's digit as well, in its cell or in another, or places a wrong digit."""
    step = moment.step
    if not step.parts:
        return None
    (cell, mask), *more = step.removes
    other = pick(rng, moment.near)
    wrong = pick(rng, [digit for digit in range(1, moment.puzzle.size + 1) if digit != moment.answer.at(other)])
    match int(rng.random() * 4):
        case 0:
            return replace(step, removes=((cell, mask | moment.own(cell)), *more))
        case 1:
            return replace(step, removes=(*step.removes, (other, moment.own(other))))
        case 2:
            return replace(step, places=((other, wrong),))
        case _:
            return replace(step, places=((other, wrong),), removes=())


def a_supposition_borrowed(moment: Moment, rng: random.Random, others: Sequence[Step] = ()) -> Step | None:
    """The argument, or its dead end, of another what-if, with all that both cite."""
    if not others:
        return None
    other = pick(rng, others)
    mine, theirs = moment.step.cites, other.cites
    cites = Cites(mine.eliminated if rng.random() < 0.5 else theirs.eliminated, (*mine.houses, *theirs.houses),
                  (*mine.cages, *theirs.cages), (*mine.pairs, *theirs.pairs))
    parts = other.parts if rng.random() < 0.5 else (*moment.step.parts[:-1], other.parts[-1])
    return _supposing(moment, rng, parts, cites)


LIES: Mapping[str, Callable[..., Step | None]] = {
    lie.__name__: lie for lie in (
        striking, placing, aimed_elsewhere, a_fact_dropped, a_fact_swapped, a_total_off_by_one, a_cage_made_up,
        a_house_made_up, a_pair_made_up, digits_said_to_be_missing, a_digit_said_to_have_no_other_place,
        added_twice, taken_that_does_not_belong, added_that_is_no_house, a_part_unproved,
        a_dead_end_that_is_not_there, a_dead_end_made_up, the_argument_of_another_digit,
        parts_dropped_or_shuffled, more_than_the_argument_is_about, a_supposition_borrowed, a_sum_made_up,
    )
}


def _a_sum(cites: Cites, rng: random.Random) -> tuple[Any, str]:
    """One of the sums cited, and what the names of its parts end in."""
    second = bool(cites.added_too) and rng.random() < 0.5
    return cites.additions[second], "_too" if second else ""


def _full(moment: Moment) -> int:
    return (1 << moment.puzzle.size) - 1


def _without(cites: Cites, fact: House | Cage) -> Cites:
    def others(facts: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(one for one in facts if one != fact)

    return replace(cites, houses=others(cites.houses), cages=others(cites.cages),
                   added=others(cites.added), taken=others(cites.taken),
                   added_too=others(cites.added_too), taken_too=others(cites.taken_too))


def _swapped(cites: Cites, old: House | Cage, new: House | Cage) -> Cites:
    def all_of(facts: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(new if fact == old else fact for fact in facts)

    return replace(cites, houses=all_of(cites.houses), cages=all_of(cites.cages), added=all_of(cites.added),
                   taken=all_of(cites.taken), added_too=all_of(cites.added_too),
                   taken_too=all_of(cites.taken_too))
