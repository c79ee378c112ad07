"""Tints that tell neighbouring cages apart where there is no room for outlines, and crooked regions."""

from __future__ import annotations

from collections.abc import Collection, Sequence

from cagework.solver.model import Cell

SHADES = (0.0, 0.08, 0.16, 0.25)
"""Ink of the tints, lightest first. Four do for any map (Appel and Haken, 1977), and the darkest still
carries black figures (text over a tint of at most 25 %: a newspaper's published limit).
"""


def shades_apart(parts: Sequence[Collection[Cell]]) -> tuple[float, ...]:
    """A tint for each part of a grid such that no two that share an edge have the same, light ones first."""
    owner: dict[Cell, int] = {cell: index for index, cells in enumerate(parts) for cell in cells}
    beside = [
        sorted({owner[near] for cell in cells for near in cell.neighbours() if near in owner} - {index})
        for index, cells in enumerate(parts)
    ]
    levels: list[int | None] = [None] * len(parts)
    order = _by_demand(beside)
    tried = [0] * len(order)
    at = 0
    while 0 <= at < len(order):
        index = order[at]
        taken = {levels[other] for other in beside[index]}
        levels[index] = next((level for level in range(tried[at], len(SHADES)) if level not in taken), None)
        if levels[index] is None:
            tried[at] = 0
            at -= 1
            if at >= 0:
                tried[at] = (levels[order[at]] or 0) + 1
                levels[order[at]] = None
            continue
        tried[at] = levels[index] or 0
        at += 1
    return tuple(SHADES[level or 0] for level in levels)


def _by_demand(beside: Sequence[Sequence[int]]) -> list[int]:
    """Parts ordered so that each has as many neighbours as can be among those before it."""
    order: list[int] = []
    rest = dict.fromkeys(range(len(beside)))
    chosen_beside = [0] * len(beside)
    while rest:
        chosen = max(rest, key=lambda index: (chosen_beside[index], len(beside[index]), -index))
        order.append(chosen)
        del rest[chosen]
        for other in beside[chosen]:
            chosen_beside[other] += 1
    return order
