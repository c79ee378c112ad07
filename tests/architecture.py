"""Print who imports whom, as the chart in DEVELOPERS.md has it: python tests/architecture.py

The chart is drawn from the imports themselves. An arrow is left out where others lead the same way.
"""

from __future__ import annotations

import sys
from collections import defaultdict
from collections.abc import Mapping
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / ".types"))    # where all houses stand under one name

import grimp

HOUSES = ("typeset", "layouts", "solver")
DRAWN = ("typeset", "solver")
"""Houses whose rooms are shown; the others stand as a whole."""

Arrows = Mapping[str, set[str]]


def place(module: str, house: str) -> str:
    """The room of a house a module is in, or the house it is in, where that is another."""
    _, home, *room = module.split(".")
    return room[0] if home == house and room else home


def arrows_within(graph: grimp.ImportGraph, house: str) -> Arrows:
    """Each room of a house to what it imports, rooms and other houses."""
    arrows: defaultdict[str, set[str]] = defaultdict(set)
    for module in graph.find_descendants(f"cagework.{house}"):
        here = place(module, house)
        there = {place(other, house) for other in graph.find_modules_directly_imported_by(module)}
        arrows[here] |= there - {here}
    return arrows


def reached(arrows: Arrows, start: str) -> set[str]:
    """All that is at the end of some way along the arrows."""
    direct = arrows.get(start, set())
    return direct.union(*(reached(arrows, other) for other in direct))


def needed(arrows: Arrows) -> Arrows:
    """The arrows without those that say what a longer way says (a transitive reduction: there is no way round)."""
    return {start: {end for end in ends if not any(end in reached(arrows, other) for other in ends)}
            for start, ends in arrows.items()}


def drawn(arrows: Arrows) -> list[str]:
    """A line for all that have the same arrows."""
    starts: defaultdict[tuple[str, ...], list[str]] = defaultdict(list)
    for start, ends in sorted(arrows.items()):
        if ends:
            starts[tuple(sorted(ends))].append(start)
    return [f"  {' & '.join(like)} --> {' & '.join(ends)}" for ends, like in starts.items()]


def chart() -> str:
    """The chart, in Mermaid's words."""
    graph = grimp.build_graph("cagework", cache_dir=None)
    lines, between = ["flowchart TD"], []
    for house in DRAWN:
        arrows = needed(arrows_within(graph, house))
        lines += [f"subgraph {house}", *drawn({start: ends - {*HOUSES} for start, ends in arrows.items()}), "end"]
        between += [drawn({start: ends & {other} for start, ends in arrows.items()}) for other in HOUSES]
    return "\n".join(lines + [line.strip() for group in between for line in group])


if __name__ == "__main__":
    print(chart())
