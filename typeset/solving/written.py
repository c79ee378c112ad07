"""Paths as JSON values, and back again: exactly, or not at all.

Cells are numbers (row by row from 0); houses, cages and what rules state are their places in the puzzle, which is
not kept: a path so written only means something beside the puzzle it goes through.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import fields
from typing import Any, TypeVar, assert_never

from cagework.solver.model import Answer, Cage, Cell, House, HouseKind, Puzzle, Sum, counted
from cagework.solver.reasoning.reason import Path, PathOutcome, Stage
from cagework.solver.step import (
    Block,
    Cites,
    Claim,
    Clash,
    Counted,
    Crush,
    DeadWay,
    Digits,
    Earlier,
    Eliminated,
    Else,
    Elsewhere,
    Held,
    Known,
    Lack,
    NoOther,
    Rest,
    Stated,
    Step,
    Summand,
    Value,
)

Named = TypeVar("Named")
Other = TypeVar("Other")

_USUAL = 6      # fields of what a step cites that are always written
_OF_HOUSE, _OF_CAGE = 3, 2      # parts of a house, or a cage, that is none of the puzzle's


class RecordError(ValueError):
    """What was written is not of this puzzle, or is damaged."""


def digits_of(answer: Answer | None) -> list[int] | None:
    """An answer's digits, row by row."""
    return None if answer is None else list(answer.digits)


def answer_of(digits: Sequence[int] | None, puzzle: Puzzle) -> Answer | None:
    """The answer of these digits."""
    return None if digits is None else Answer(puzzle.columns, tuple(digits))


def written(stages: Sequence[Stage], puzzle: Puzzle) -> list[Any]:
    """Stages of a path through `puzzle` as JSON values, one each."""
    return PathWriter(puzzle).stages(stages)


def read(data: list[Any], puzzle: Puzzle) -> tuple[Stage, ...]:
    """The stages that `written` made of the same puzzle. Raises RecordError."""
    try:
        return PathReader(puzzle).stages(data)
    except (ValueError, TypeError, IndexError, KeyError, AttributeError) as error:
        raise RecordError(str(error)) from error


class PathWriter:
    """Paths to JSON values. A step is its fields in order; what a sentence names is tagged by a letter."""

    def __init__(self, puzzle: Puzzle) -> None:
        puzzle = counted(puzzle)
        self._cell = {cell: number for number, cell in enumerate(puzzle.cells)}
        self._known = {id(group): number for groups in (puzzle.houses, puzzle.cages)
                       for number, group in enumerate(groups)}
        self._house = {house: number for number, house in enumerate(puzzle.houses)}
        self._cage = {cage: number for number, cage in enumerate(puzzle.cages)}
        self._pair = {pair: number for number, pair in enumerate(puzzle.pairs)}
        self._sum = {one: number for number, one in enumerate(puzzle.sums)}
        self._between = {one: number for number, one in enumerate(puzzle.betweens)}

    def path(self, path: Path) -> list[Any]:
        """A whole path."""
        return [self.stages(path.stages), path.outcome.value, digits_of(path.answer), path.tried]

    def stages(self, stages: Iterable[Stage]) -> list[Any]:
        """Stages of a path, one value each."""
        return [[self._step(stage.step), stage.openings, stage.follows_from_last, stage.idea, stage.printed]
                for stage in stages]

    def _step(self, step: Step) -> list[Any]:
        return [
            step.technique, step.cost, step.key, self._eliminated(step.places), self._eliminated(step.removes),
            self._cites(step.cites), {name: self._value(value) for name, value in step.why.items()},
            [self._step(part) for part in step.parts], step.load,
        ]

    def _cites(self, cites: Cites) -> list[list[Any]]:
        """All that is cited, in the order of its fields; of the rare ones at the end, none that are empty."""
        written = [
            self._eliminated(cites.eliminated), self._groups(cites.houses), self._groups(cites.cages),
            [self._pair[pair] for pair in cites.pairs], self._summed(cites.added), self._taken(cites.taken),
            self._summed(cites.added_too), self._taken(cites.taken_too), [self._sum[one] for one in cites.sums],
            [self._between[one] for one in cites.betweens],
        ]
        while len(written) > _USUAL and not written[-1]:
            written.pop()
        return written

    def _groups(self, groups: Iterable[House | Cage]) -> list[Any]:
        return [self._group(group) for group in groups]

    def _summed(self, added: Iterable[Summand]) -> list[Any]:
        """Houses as groups; a run, or a sum, with its tag."""
        return [self._group(one) if isinstance(one, House) else self._value(one) for one in added]

    def _taken(self, taken: Iterable[Summand]) -> list[Any]:
        """Cages as groups; a sum with its tag."""
        return [self._value(one) if isinstance(one, Sum) else self._group(one) for one in taken]

    def _eliminated(self, pairs: Eliminated) -> list[int]:
        """Cell, value, cell, value: places and removals alike."""
        return [number for cell, value in pairs for number in (self._cell[cell], value)]

    def _group(self, group: House | Cage) -> Any:
        """Its place in the puzzle; in full where it is none of the puzzle's."""
        known = self._known.get(id(group))
        if known is not None:
            return known
        if isinstance(group, House):
            place = self._house.get(group)
            whole: list[Any] = [group.name, group.kind.value]
        else:
            place = self._cage.get(group)
            whole = [group.total]
        return [*whole, [self._cell[cell] for cell in group.cells]] if place is None else place

    def _value(self, value: Value) -> Any:
        match value:
            case Cell():        # a tuple too, so first
                return ["c", self._cell[value]]
            case Digits():
                return ["d", value.mask]
            case House():
                return ["h", self._group(value)]
            case Cage():
                return ["g", self._group(value)]
            case Claim():
                return ["k", self._cell[value.cell], value.digit, value.holds]
            case DeadWay():
                return ["w", value.way.mask, self._value(value.leaves), value.digit, self._value(value.held),
                        value.left]
            case Clash():
                return ["x", value.how.value, self._value(value.cells), value.digits.mask]
            case Else():
                return ["y", value.digits.mask, self._value(value.clashes), self._value(value.ways),
                        self._value(value.sums)]
            case Held():
                return ["o", self._cell[value.cell], value.digits.mask]
            case Rest():
                return ["r", self._value(value.cage)]
            case Counted():
                return ["i", self._value(value.left_out), self._value(value.sticking_out), value.inside]
            case Stated():
                return ["m", *map(self._value, value.sums)]
            case Known():
                return ["j", self._value(value.counted), value.cages, value.sums]
            case Lack():
                return ["l", self._cell[value.cell], value.digits.mask]
            case NoOther():
                return ["n", value.barred.mask, *map(self._value, (
                    value.unfit, value.lacks, value.struck, value.pair, value.clashes))]
            case Elsewhere():
                return ["e", self._value(value.groups), self._value(value.cells), self._value(value.by)]
            case Earlier():
                return ["f", value.number, self._value(value.houses)]
            case Block():
                return ["b", *map(self._value, value.runs)]
            case Sum():
                return ["s", self._value(value.plus), self._value(value.minus), *value.totals]
            case tuple():
                return ["t", *map(self._value, value)]
            case int():
                return value
        assert_never(value)


class PathReader:
    """JSON values to paths: the inverse of `PathWriter`, field by field."""

    def __init__(self, puzzle: Puzzle) -> None:
        self._path_of, self._puzzle = puzzle, counted(puzzle)
        self._cells = puzzle.cells

    def path(self, data: list[Any]) -> Path:
        """A whole path."""
        stages, outcome, digits, tried = data
        answer = answer_of(digits, self._puzzle)
        return Path(self._path_of, self.stages(stages), PathOutcome(outcome), answer, tried)

    def stages(self, data: list[Any]) -> tuple[Stage, ...]:
        """Stages of a path."""
        return tuple([Stage(self._step(step), *rest) for step, *rest in data])

    def _step(self, data: list[Any]) -> Step:
        technique, cost, key, places, removes, cites, why, parts, load = data
        return Step(
            technique, cost, key, self._eliminated(places), self._eliminated(removes), self._cites(cites),
            {name: self._value(value) for name, value in why.items()},
            tuple([self._step(part) for part in parts]), load,
        )

    def _cites(self, data: list[list[Any]]) -> Cites:
        left_out: list[list[Any]] = [[]] * (len(fields(Cites)) - len(data))
        eliminated, houses, cages, pairs, added, taken, added_too, taken_too, sums, betweens = data + left_out
        house, cage = self._house, self._cage
        return Cites(
            self._eliminated(eliminated), tuple(map(house, houses)), tuple(map(cage, cages)),
            tuple([self._puzzle.pairs[pair] for pair in pairs]),
            self._summed(added), self._taken(taken), self._summed(added_too), self._taken(taken_too),
            tuple([self._puzzle.sums[item] for item in sums]),
            tuple([self._puzzle.betweens[item] for item in betweens]))

    def _eliminated(self, numbers: list[int]) -> Eliminated:
        cells = self._cells
        return tuple([(cells[numbers[at]], numbers[at + 1]) for at in range(0, len(numbers), 2)])

    def _summed(self, items: list[Any]) -> tuple[Summand, ...]:
        return tuple([self._house(item) if isinstance(item, int) or len(item) == _OF_HOUSE
                      else self._named(item, Cage, Sum) for item in items])

    def _taken(self, items: list[Any]) -> tuple[Summand, ...]:
        return tuple([self._cage(item) if isinstance(item, int) or len(item) == _OF_CAGE else self._one(Sum, item)
                      for item in items])

    def _house(self, item: Any) -> House:
        if isinstance(item, int):
            return self._puzzle.houses[item]
        name, kind, cells = item
        return House(name, HouseKind(kind), tuple([self._cells[cell] for cell in cells]))

    def _cage(self, item: Any) -> Cage:
        if isinstance(item, int):
            return self._puzzle.cages[item]
        total, cells = item
        return Cage(tuple([self._cells[cell] for cell in cells]), total)

    def _value(self, data: Any) -> Value:
        if isinstance(data, int):
            return data
        tag: str = data[0]
        rest: list[Any] = data[1:]
        match tag:
            case "c":
                return self._cells[int(rest[0])]
            case "d":
                return Digits(rest[0])
            case "h":
                return self._house(rest[0])
            case "g":
                return self._cage(rest[0])
            case "k":
                return Claim(self._cells[int(rest[0])], rest[1], rest[2])
            case "w":
                return self._dead_way(*rest)
            case "x":
                return Clash(Crush(rest[0]), self._all(Cell, rest[1]), Digits(rest[2]))
            case "y":
                return Else(Digits(rest[0]), self._all(Clash, rest[1]), self._all(Digits, rest[2]),
                            self._all(int, rest[3]))
            case "o":
                return Held(self._cells[int(rest[0])], Digits(rest[1]))
            case "r":
                return Rest(self._one(Cage, rest[0]))
            case "i":
                return Counted(self._all(Cell, rest[0]), self._all(Cell, rest[1]), bool(rest[2]))
            case "m":
                return Stated(tuple([self._one(Sum, item) for item in rest]))
            case "j":
                return Known(self._one(Counted, rest[0]), bool(rest[1]), int(rest[2]))
            case "l":
                return Lack(self._cells[int(rest[0])], Digits(rest[1]))
            case "n":
                lacks = tuple([self._named(item, Lack, Held) for item in rest[2][1:]])
                return NoOther(Digits(rest[0]), self._all(Digits, rest[1]), lacks, self._all(Digits, rest[3]),
                               self._all(Sum, rest[4]), self._all(Clash, rest[5]))
            case "e":
                groups, by = (tuple([self._named(item, House, Cage) for item in named[1:]])
                              for named in (rest[0], rest[2]))
                return Elsewhere(groups, self._all(Cell, rest[1]), by)
            case "b":
                return Block(tuple([self._one(Cage, item) for item in rest]))
            case "f":
                return Earlier(int(rest[0]), tuple([self._named(item, House, Block) for item in rest[1][1:]]))
            case "s":
                return Sum(self._all(Cell, rest[0]), self._all(Cell, rest[1]), tuple(map(int, rest[2:])))
            case "t":
                return tuple([self._value(item) for item in rest])
        raise ValueError(f"no value is tagged {tag}")

    def _dead_way(self, way: int, leaves: Any, digit: int, held: Any, left: int) -> DeadWay:
        what = self._value(leaves)
        if not isinstance(what, Cell | Cage | House):
            raise ValueError("a way leaves nothing for what is no cell, cage or house")
        could = self._one(Digits, held) if held[0] == "d" else self._all(Held, held)
        return DeadWay(Digits(way), what, digit, could, left)

    def _named(self, data: Any, one: type[Named], other: type[Other]) -> Named | Other:
        value = self._value(data)
        if not isinstance(value, one | other):
            raise ValueError(f"{value} is neither of {one} and {other}")
        return value

    def _one(self, kind: type[Named], data: Any) -> Named:
        value = self._value(data)
        if not isinstance(value, kind):
            raise ValueError(f"{value} is no {kind}")
        return value

    def _all(self, kind: type[Named], data: list[Any]) -> tuple[Named, ...]:
        return tuple([self._one(kind, item) for item in data[1:]])
