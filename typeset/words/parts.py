"""Parts of sentences about steps, in English: sets of digits, reasons, what loses digits, and sums."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import TypeVar

from cagework.solver.step import DeadWay, Held

Alike = TypeVar("Alike", DeadWay, Held)

LEAVES_CELL = "{ways} ({ways:leaving|each leaving} {cell} nothing)"
LEAVES_CAGE = "{ways} ({ways:leaving|each leaving} {cage} only {held:in})"
LEAVES_HOUSE = "{ways} ({ways:leaving|each leaving} {digit} no place in {house})"
"""Ways to make a cage, with what each would leave nothing for."""

SETS: Mapping[int, tuple[str, str]] = MappingProxyType({
    2: ("a {digits} pair", "an {digits} pair"),
    3: ("a {digits} triple", "an {digits} triple"),
    4: ("a {digits} quad", "an {digits} quad"),
})
"""So many digits by one name, and by one that begins with a vowel."""

VOWELS = frozenset({8, 11})
"""Digits whose English names begin with a vowel."""

REST = "what is left of {cage}"
LACK, CAN_BE, HELD = "{cell} is not {digits:or}", "{cell} can only be {digits:or}", "{digits:or} in {cell}"
NO_OTHER: Mapping[tuple[bool, bool, bool], str] = MappingProxyType({
    (True, False, False): ", with no {barred:or} left to use",
    (False, True, False): ", with no room for {unfit}",
    (True, True, False): ", with no {barred:or} left to use and no room for {unfit}",
    (False, False, True): ", as {lacks}",
    (True, False, True): ", with no {barred:or} left to use, and as {lacks}",
})
"""Why there is no other way: by digits that no cell can be, sets that do not fit, what cells cannot be."""

IN_GROUPS, IN_SIGHT = "of {groups:or}", "in sight of them all ({cells})"
IN_BOTH = "of {groups:or} or in sight of them all ({cells})"
"""Cells that lose a digit."""

ADD, MORE = "{plus} add to {total}", "{plus} {plus:is|make} {total} more than {minus}{minus:| together}"
SAME = "{plus} {plus:equals|make as much as} {minus}{minus:| together}"
"""What cells make, or how those of two sides compare."""

PARTS = (
    *(text for pair in SETS.values() for text in pair), REST, LACK, CAN_BE, HELD, *NO_OTHER.values(), IN_GROUPS,
    IN_SIGHT, IN_BOTH, ADD, MORE, SAME, LEAVES_CELL, LEAVES_CAGE, LEAVES_HOUSE,
)
"""All of these, for a catalogue to translate."""


def alike(values: Iterable[Alike]) -> list[list[Alike]]:
    """Ways that leave the same without anything, and cells that hold the same, together."""
    groups: dict[object, list[Alike]] = {}
    for one in values:
        key = one.digits if isinstance(one, Held) else (one.leaves, one.digit, one.held)
        groups.setdefault(key, []).append(one)
    return list(groups.values())
