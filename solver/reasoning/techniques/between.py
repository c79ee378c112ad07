"""Cells whose digits lie between those of two ends, by a rule of the puzzle's own: what all of them can hold."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from typing import ClassVar

from cagework.solver.between import Apart, held_between, orders
from cagework.solver.bitset import members, set_of
from cagework.solver.model import Between, Cage, House
from cagework.solver.reasoning.cage_sums import Masks, removals
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Claim, Digits, Held, Step, Why


class BetweenEnds(Technique):
    """Both ends are held against each other and against what lies between; where that says nothing, so is that
    cells of one house or cage need as many digits there.
    """

    cost = 220
    look = Scope.BETWEEN
    simple = True
    sentences: ClassVar = {
        "between": "{rule} {inner} {inner:lies|lie} between {ends}.",
        "held": "{rule} {inner} {inner:lies|lie} between {ends}, and {held:list}.",
        "apart": "{rule} {inner} lie between {ends}, and {differ} are different ({group}).",
        "apart_held": "{rule} {inner} lie between {ends}; {differ} are different ({group}), and {held:list}.",
    }
    in_passing: ClassVar = {
        "between": "{rule} {inner} {inner:lies|lie} between {ends}",
        "held": "{rule} {inner} {inner:lies|lie} between {ends}, and {held:list}",
        "apart": "{rule} {inner} lie between {ends}, and {differ} are different ({group})",
        "apart_held": "{rule} {inner} lie between {ends}, {differ} are different ({group}), and {held:list}",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """At most one step; where nothing fits, all that one cell can hold goes."""
        frame = state.frame
        line = frame.puzzle.betweens[place]
        cells = set_of(map(frame.index.__getitem__, line.cells))
        if 0 in _masks(frame, line, state.candidates):
            return
        for group in (None, *_groups(frame, line)):
            kept = _held(frame, line, group, state.candidates)
            removes = removals(state, kept) if kept else removals(state, dict.fromkeys(members(cells), 0))[:1]
            if removes:
                cites = Cites(state.missing(cells, frame.full), betweens=(line,),
                              houses=(group,) if isinstance(group, House) else (),
                              cages=(group,) if isinstance(group, Cage) else ())
                yield self.step(state, "", cites, {}, removes=removes)
                return

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """Whether it is open which end is the greater."""
        first, last, *inner = _masks(frame, step.cites.betweens[0], masks)
        return max(orders(first, last, inner), 1)

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """What goes still goes."""
        kept = _held(frame, step.cites.betweens[0], _group(step), frame.lacking(eliminated))
        return not any(mask & kept.get(frame.index[cell], 0) for cell, mask in step.removes)

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Say what the cells can hold that matter, digits that are known first."""
        (line,) = step.cites.betweens
        told, group = self.told_by(frame, step, masks), _group(step)
        cited = [(cell, told[frame.index[cell]]) for cell in line.cells if cell in step.cites.cells]
        held: tuple[Claim | Held, ...] = (
            *(Claim(cell, mask.bit_length(), holds=True) for cell, mask in cited if mask.bit_count() == 1),
            *(Held(cell, Digits(mask)) for cell, mask in cited if mask.bit_count() > 1))
        why: Why = {"inner": line.inner, "ends": line.ends, "held": held}
        if group:
            why |= {"differ": tuple([cell for cell in line.inner if cell in group.cells]), "group": group}
        plain = "held" if held else "between"
        return replace(step, key={"between": "apart", "held": "apart_held"}[plain] if group else plain, why=why)


def _group(step: Step) -> House | Cage | None:
    """The house or cage by which cells between the ends differ."""
    groups: tuple[House | Cage, ...] = (*step.cites.houses, *step.cites.cages)
    return groups[0] if groups else None


def _groups(frame: Frame, line: Between) -> list[House | Cage]:
    """The houses and cages that hold several of the cells between, those with most of them first."""
    met: dict[int, int] = {}
    for cell in map(frame.index.__getitem__, line.inner):
        for number in members(frame.group_bits[cell]):
            met[number] = met.get(number, 0) + 1
    return [frame.group(number) for number, count in sorted(met.items(), key=lambda one: (-one[1], one[0]))
            if count > 1]


def _masks(frame: Frame, line: Between, masks: Masks) -> list[int]:
    """What each cell of a line holds, the ends first."""
    return [masks[frame.index[cell]] for cell in line.cells]


def _held(frame: Frame, line: Between, group: House | Cage | None, masks: Masks) -> dict[int, int]:
    """What each cell of a line can hold where cells hold `masks`, those in the group differ; nothing where none of
    it can be.
    """
    first, last, *inner = _masks(frame, line, masks)
    apart: Apart = [[number for number, cell in enumerate(line.inner) if group and cell in group.cells]]
    kept = held_between(first, last, inner, apart)
    return dict(zip(map(frame.index.__getitem__, line.cells), kept, strict=True)) if kept else {}
