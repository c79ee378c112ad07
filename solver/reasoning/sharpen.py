"""Steps of a path -> the same, each sum striking all it rules out as the notes stand, without what is then idle.

A step is found in one order and told in another: by its turn a sum may say more than it was wanted for, fill its
cells at once, and leave steps after it nothing to do.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from cagework.solver.bitset import members, set_of
from cagework.solver.model import Cell
from cagework.solver.reasoning.prune import Pruner, Trail
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Technique
from cagework.solver.step import Step

Spot = int
"""A cell's number and a digit's index, as one number."""

_CELL = 5
"""The bits of a spot that are a digit's index."""

Numbered = tuple[Step, int]
"""A step, and the number it goes by."""


def sharpened(
    steps: Iterable[Numbered], board: State, techniques: Mapping[str, Technique], looks: int,
) -> list[Numbered]:
    """Return the steps that are needed, in order; a cell that a sum leaves one digit is filled right after.

    `board` is what is known before the first; it is changed. What a step fills has the number it had. `looks` is
    what looking for shorter arguments may cost.
    """
    steps = list(steps)
    trail, numbers = Trail(board), []
    filled_by = {cell: number for step, number in steps for cell, _ in step.places}
    for step, number in steps:
        if not board.changes_by(step):
            continue
        technique = techniques[step.technique]
        if board.work.spent < looks:
            step = technique.shortened(board, step)
        sharp = technique.by_notes(board.frame, step, board.candidates)
        trail.add(sharp)
        numbers.append(number)
        if sharp is not step:
            for cell in _bared(sharp, board):
                trail.add(_only_digit(board, cell, techniques))
                numbers.append(filled_by[cell])
    goals = [place for place, step in enumerate(trail.steps) if step.places]
    kept = Pruner(trail, goals, {}).run()
    idle = _overtaken(board, kept)
    return [(step, numbers[place]) for place, step in kept.items() if place not in idle]


def _overtaken(board: State, steps: Mapping[int, Step]) -> set[int]:
    """The steps, by their places, of which every digit they strike goes by others before anything rests on it."""
    strikes = {place: _spots(board, step.removes) for place, step in steps.items()
               if step.removes and not step.places and not step.is_trial}
    struck = _filled_away(board, steps, {spot for spots in strikes.values() for spot in spots})
    used: dict[Spot, set[int]] = {spot: set() for spot in struck}
    for place, step in steps.items():
        for spot in _spots(board, step.removes):
            if spot in struck:
                struck[spot].add(place)
        for spot in _spots(board, step.cites.eliminated):
            if spot in used:
                used[spot].add(place)
    idle = set()
    for place, spots in sorted(strikes.items(), key=lambda one: -steps[one[0]].cost):
        uses = {spot: min([at for at in used[spot] if at > place], default=-1) for spot in spots}
        if not all(any(other < use for other in struck[spot] if other != place)
                   for spot, use in uses.items() if use >= 0):
            continue
        idle.add(place)
        for spot in spots:
            struck[spot].discard(place)
        for spot in _spots(board, steps[place].cites.eliminated):
            if spot in used:
                used[spot].discard(place)
    return idle


def _spots(board: State, held: Iterable[tuple[Cell, int]]) -> list[Spot]:
    """Cells and their digits, one by one."""
    index = board.frame.index
    return [index[cell] << _CELL | digit for cell, mask in held for digit in members(mask)]


def _filled_away(board: State, steps: Mapping[int, Step], spots: Iterable[Spot]) -> dict[Spot, set[int]]:
    """For each of these digits of cells, the steps that strike it by filling that cell or one that sees it."""
    index, sees, size = board.frame.index, board.frame.sees, board.frame.size
    filled = {index[name]: (place, digit - 1) for place, step in steps.items() for name, digit in step.places}
    holding = [set_of(cell for cell, (_, digit) in filled.items() if digit == held) for held in range(size)]
    found: dict[Spot, set[int]] = {}
    for spot in spots:
        cell, digit = spot >> _CELL, spot & (1 << _CELL) - 1
        found[spot] = {filled[other][0] for other in members(holding[digit] & sees[cell])}
        if cell in filled and filled[cell][1] != digit:
            found[spot].add(filled[cell][0])
    return found


def _bared(step: Step, board: State) -> list[Cell]:
    """The open cells to which a step leaves one digit."""
    index, masks = board.frame.index, board.candidates
    return [cell for cell, _ in step.removes
            if masks[index[cell]].bit_count() == 1 and not board.placed >> index[cell] & 1]


def _only_digit(board: State, cell: Cell, techniques: Mapping[str, Technique]) -> Step:
    number = board.frame.index[cell]
    return techniques["naked_single"].seen(board.frame, number, number, board.candidates)
