"""A run of steps -> those that something later needs, each citing only what it cannot do without."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace

from cagework.solver.bitset import members
from cagework.solver.model import Cell
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Technique
from cagework.solver.step import Cites, Step, joined


class Trail:
    """Steps applied to a state, in order, and who eliminated what."""

    def __init__(self, state: State) -> None:
        self.state = state
        self.steps: list[Step] = []
        self.ends: list[int] = []
        self.start = len(state.log)

    def add(self, step: Step) -> None:
        """Apply a step and remember what it changed."""
        self.state.apply(step)
        self.steps.append(step)
        self.ends.append(len(self.state.log))

    def copy(self) -> Trail:
        """Return a trail that goes on apart from this one, on a state of its own."""
        other = Trail(self.state.copy())
        other.state.log = self.state.log[:]
        other.steps, other.ends, other.start = self.steps[:], self.ends[:], self.start
        return other

    def authors(self) -> list[list[tuple[int, int]]]:
        """Return, for each cell, (digits eliminated, number of the step) in order."""
        found: list[list[tuple[int, int]]] = [[] for _ in self.state.candidates]
        begin = self.start
        for number, end in enumerate(self.ends):
            for cell, gone in self.state.log[begin:end]:
                if gone:
                    found[cell].append((gone, number))
            begin = end
        return found


class Pruner:
    """Works backwards from the steps that must stay."""

    def __init__(self, trail: Trail, goals: Iterable[int], techniques: Mapping[str, Technique]) -> None:
        self.trail = trail
        self.techniques = techniques
        self.authors = trail.authors()
        self.needed = set(goals)
        self.frame = trail.state.frame
        self.outside: dict[Cell, int] = {}
        self.links: list[tuple[int, int]] = []
        self.clearing = self._clearings()

    def run(self) -> dict[int, Step]:
        """Return the steps needed, by number, in order.

        `outside` then holds what they use of what was missing before, and `links` which placed cell cleared
        which other one that they rely on.
        """
        kept: dict[int, Step] = {}
        for number in range(len(self.trail.steps) - 1, -1, -1):
            if number in self.needed:
                step = self._lean(number)
                kept[number] = step
                if not step.is_trial:
                    self._rest_on(step, number)
        return dict(sorted(kept.items()))

    def _rest_on(self, step: Step, number: int) -> None:
        """Note who eliminated the digits that a step wants gone, but for those that a needed placing before it
        clears from their cell anyway.
        """
        index, needed, links = self.frame.index, self.needed, self.links
        for name, mask in step.cites.eliminated:
            cell = index[name]
            for author, placed, bit in self.clearing[cell]:
                if author >= number or not mask:
                    break
                if author not in needed:
                    continue
                if placed == cell:
                    mask &= bit
                elif mask & bit:
                    mask ^= bit
                    links.append((placed, cell))
            for gone, author in self.authors[cell] if mask else ():
                if author >= number:
                    break
                used = gone & mask
                if used:
                    mask ^= used
                    needed.add(author)
                    links += [(index[placed], cell) for placed, digit in self.trail.steps[author].places
                              if placed != name and used >> digit - 1 & 1]
            if mask:
                self.outside[name] = self.outside.get(name, 0) | mask

    def _clearings(self) -> list[list[tuple[int, int, int]]]:
        """For each cell, the placings there and in sight of it as (step's number, cell, digit's bit), in order."""
        frame = self.frame
        found: list[list[tuple[int, int, int]]] = [[] for _ in frame.cells]
        for number, step in enumerate(self.trail.steps):
            for name, digit in step.places:
                placed = frame.index[name]
                one = number, placed, 1 << digit - 1
                for cell in members(frame.sees[placed] | 1 << placed):
                    found[cell].append(one)
        return found

    def _lean(self, number: int) -> Step:
        """The step without the missing digits it can do without: those of unneeded steps go first."""
        step = self.trail.steps[number]
        technique = self.techniques.get(step.technique)
        if technique is None or type(technique).holds is Technique.holds:
            return step
        eliminated = self.frame.missing(step.cites)
        if eliminated and self._holds(technique, step, {}):
            eliminated = {}     # it follows from the printed puzzle
        for author in self._unneeded(eliminated, number):
            trial = {
                cell: left for cell, mask in eliminated.items()
                if (left := mask & ~self._eliminated_by(cell, author))
            }
            if self._holds(technique, step, trial):
                eliminated = trial
        for cell in list(eliminated):
            trial = {other: mask for other, mask in eliminated.items() if other != cell}
            if self._holds(technique, step, trial):
                eliminated = trial
        step = self._fewer_facts(technique, step, eliminated)
        missing = tuple([(self.frame.cells[cell], mask) for cell, mask in eliminated.items()])
        return step if missing == step.cites.eliminated else replace(
            step, cites=replace(step.cites, eliminated=missing))

    def _holds(self, technique: Technique, step: Step, eliminated: Mapping[int, int]) -> bool:
        """Whether a step still follows from so little, and a reader can still hold its cases in mind."""
        frame = self.frame
        return technique.holds(frame, step, eliminated) and not technique.asks_too_much(
            frame, frame.lacking(eliminated), step)

    def _fewer_facts(self, technique: Technique, step: Step, eliminated: dict[int, int]) -> Step:
        """The step without the facts it can do without; what they alone needed leaves `eliminated`."""
        cites = step.cites
        if not (cites.added or cites.sums or cites.betweens) and (
                len(cites.houses) + len(cites.cages) + len(cites.pairs) < 3):
            return step
        for fact in (*cites.houses, *cites.cages, *cites.pairs):
            if fact in cites.reckoned:
                continue
            fewer = replace(
                step.cites,
                houses=tuple([house for house in step.cites.houses if house is not fact]),
                cages=tuple([cage for cage in step.cites.cages if cage is not fact]),
                pairs=tuple([pair for pair in step.cites.pairs if pair is not fact]),
            )
            trial = replace(step, cites=fewer)
            if self._holds(technique, trial, eliminated):
                step = trial
        if step.cites is cites:
            return step
        for cell in list(eliminated):
            without = {other: mask for other, mask in eliminated.items() if other != cell}
            if self._holds(technique, step, without):
                del eliminated[cell]
        return step

    def _unneeded(self, eliminated: Mapping[int, int], number: int) -> list[int]:
        """The steps before this one that eliminated any of these digits, unless already needed; newest first."""
        found = {
            author for cell, mask in eliminated.items() for gone, author in self.authors[cell]
            if gone & mask and author < number and author not in self.needed
        }
        return sorted(found, reverse=True)

    def _eliminated_by(self, cell: int, author: int) -> int:
        mask = 0
        for gone, who in self.authors[cell]:
            if who == author:
                mask |= gone
        return mask


def total_cites(trimmer: Pruner, steps: Iterable[Step]) -> Cites:
    """Return one citation for a whole argument: its steps' houses and cages, and what was missing before."""
    parts = [Cites(houses=own.houses, cages=own.cages, pairs=own.pairs, sums=own.sums, betweens=own.betweens)
             for own in [step.cites for step in steps]]
    links = [trimmer.trail.state.link(one, other) for one, other in dict.fromkeys(trimmer.links)]
    return joined(Cites(tuple(trimmer.outside.items())), *parts, *links)
