"""Steps of a path -> the same, each sum striking all it rules out as the notes stand, without what is then idle.

A step is found in one order and told in another: by its turn a sum may say more than it was wanted for, fill its
cells at once, and leave steps after it nothing to do.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping

from cagework.solver.bitset import members
from cagework.solver.model import Cell
from cagework.solver.reasoning.prune import Pruner, Trail
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Technique
from cagework.solver.step import Step

Spot = tuple[int, int]
"""A cell's number and a digit's index."""

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
    struck: dict[Spot, set[int]] = defaultdict(set)
    used: dict[Spot, set[int]] = defaultdict(set)
    for place, step in steps.items():
        for spot in _strikes(board, step):
            struck[spot].add(place)
        for spot in _rests_on(board, step):
            used[spot].add(place)
    idle = set()
    for place in sorted(steps, key=lambda place: -steps[place].cost):
        step = steps[place]
        uses = {spot: min([at for at in used[spot] if at > place], default=-1) for spot in _strikes(board, step)}
        if step.places or step.is_trial or not all(
                any(other < use for other in struck[spot] - {place}) for spot, use in uses.items() if use >= 0):
            continue
        idle.add(place)
        for spot in _strikes(board, step):
            struck[spot].discard(place)
        for spot in _rests_on(board, step):
            used[spot].discard(place)
    return idle


def _strikes(board: State, step: Step) -> list[Spot]:
    """What a step strikes."""
    index, sees = board.frame.index, board.frame.sees
    spots = [(index[cell], digit) for cell, mask in step.removes for digit in members(mask)]
    for cell, digit in step.places:
        spots += [(index[cell], other) for other in range(board.frame.size) if other != digit - 1]
        spots += [(other, digit - 1) for other in members(sees[index[cell]])]
    return spots


def _rests_on(board: State, step: Step) -> list[Spot]:
    """What a step cites as gone."""
    return [(board.frame.index[cell], digit) for cell, mask in step.cites.eliminated for digit in members(mask)]


def _bared(step: Step, board: State) -> list[Cell]:
    """The open cells to which a step leaves one digit."""
    index, masks = board.frame.index, board.candidates
    return [cell for cell, _ in step.removes
            if masks[index[cell]].bit_count() == 1 and not board.placed >> index[cell] & 1]


def _only_digit(board: State, cell: Cell, techniques: Mapping[str, Technique]) -> Step:
    number = board.frame.index[cell]
    return techniques["naked_single"].seen(board.frame, number, number, board.candidates)
