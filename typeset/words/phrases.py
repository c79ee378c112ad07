"""What sentences are made of besides the techniques' own: names of cells, cages and houses, the words between
clauses, and the frame of a told solution. English, which any other language's catalogue translates.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

CELL = "r{row}c{column}"
SO, AND_THEN = ", so ", "; "
"""Between clauses: where the second follows from the first, and where it only comes next."""

IS, IS_NOT = "{cell} is {digit}", "{cell} is not {digit}"
FROM_TO = "{first} to {last}"
STRUCK, STRIKES = "So {items}.", "{cells} cannot be {digits:or}"
CAGE, CAGE_WITHOUT_SUM = "the cage of {sum} at {cell}", "the cage at {cell}"
CAGES, CAGE_AMONG_SEVERAL = "the cages {cages}", "of {sum} at {cell}"
LONE_CAGE, LONE_CAGE_AMONG_SEVERAL = "the cage of {sum}", "of {sum}"
"""Of a sum that no other cage of the puzzle has."""

LEAVES_CELL, LEAVES_CAGE = "{way} (leaving {cell} nothing)", "{way} (leaving {cage} no way)"
LEAVES_HOUSE = "{way} (leaving {digit} no place in {house})"
"""A way to make a cage, with what it would leave nothing for."""

NUMBERED: Mapping[str, tuple[str, str]] = MappingProxyType({
    word: (f"{word} {{n}}", f"{many} {{n}}")
    for word, many in (("row", "rows"), ("column", "columns"), ("box", "boxes"))
})
"""The word of a house that a reader can count -> how one is named, and how several are."""

PLACED: Mapping[str, tuple[str, str]] = MappingProxyType({
    "region": ("the region at {cell}", "the regions at {cell}"),
    "window": ("the window at {cell}", "the windows at {cell}"),
    "extra house": ("the tinted group at {cell}", "the tinted groups at {cell}"),
})
"""The word of a house that is told by its first cell -> how one is named, and how several are."""

NAMED: Mapping[str, str] = MappingProxyType({
    "falling diagonal": "the falling diagonal", "rising diagonal": "the rising diagonal",
})
"""Houses of which there is but one."""

OTHER = "{name}"
"""A house that an editor named."""

FROM = "{cell} is {digit} (from {places})"
"""A digit whose reason is not told."""

RUN, CUT = "Plain steps lead on: {items}.", "Plain steps rule out what {cages} cannot hold."
"""What lies between the thoughts that a short solution tells."""

LOOK_AT = "Look at {places}."

BEGIN_SUMS, BEGIN_CAGES = "Begin with what {houses} {houses:adds|add} to.", "Begin with {cages}."
BEGIN_BOTH = "Begin with what {houses} {houses:adds|add} to, and with {cages}."
BEGIN_SEVERAL = "Begin with the cages: {count} of them rule digits out at once."
BEGIN_SEVERAL_BOTH = (
    "Begin with what {houses} {houses:adds|add} to, and with the {count} cages that rule digits out at once.")
BREAK_IN = "The way in: {places} ({way})."
NEEDS = "It takes, besides cages one by one: {ways}."
NEEDS_NOTHING = "Cages one by one and their houses are enough."
TRIED = "No short argument goes all the way: {cells} {cells:has|have} to be tried."
ENDS = "From {cell} on, the last {count} digits have one place each."
"""The shape of a solve."""
