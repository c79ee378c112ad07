"""One size of grid for a size of puzzle: which slots a puzzle has, where in them its grid begins, and its cells.

Notes, rules and credits take room that is kept for them in every slot alike. A puzzle whose words need much more
than the others' has a larger slot; where there is none, it alone has smaller cells.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass

from cagework.layouts.load import Slots
from cagework.layouts.page import Box, roomier
from cagework.typeset.book import Entry
from cagework.typeset.draw.setting import Setting
from cagework.typeset.draw.slots import Placing, WordsRoom, fitting_cell, has_room, own_placing, words_room

_ALIKE = 0.85
"""A puzzle whose grid could have cells of less than this share of the largest of its size is set apart."""


@dataclass(frozen=True, slots=True)
class Allotted:
    """The slots that a puzzle has on its pages, and its place in them; `usual` is the cell side, in pt, of the
    others of its size, where its own is another.
    """

    plan: Slots
    placing: Placing
    usual: float | None = None


def allot(
    setting: Setting, entries: Iterable[Entry], first_slot: Callable[[Slots], Box],
) -> Mapping[str, Allotted]:
    """For each of some puzzles, by its id, the smallest slots that hold it and its place in them."""
    plans = roomier(setting.layout.puzzles)
    found: dict[str, Allotted] = {}
    usual: dict[int, float] = {}
    rest = list(entries)
    for plan in plans:
        slot = first_slot(plan)
        rooms = {entry.id: words_room(setting, slot, entry) for entry in rest}
        alike = _alike(setting, slot, rest, rooms)
        top = max((rooms[entry.id].head for entry in alike), default=0.0)
        cells: dict[int, float] = defaultdict(lambda: float("inf"))
        for entry in alike:
            cell = fitting_cell(setting, slot, entry, top, rooms[entry.id].foot)
            cells[entry.puzzle.size] = min(cell, cells[entry.puzzle.size])
        held = [entry for entry in alike if has_room(setting, entry, cells[entry.puzzle.size])]
        found |= {entry.id: Allotted(plan, Placing(top, cells[entry.puzzle.size]), usual.get(entry.puzzle.size))
                  for entry in held}
        usual = {entry.puzzle.size: cells[entry.puzzle.size] for entry in held} | usual
        rest = [entry for entry in rest if entry.id not in found]
        if plan is plans[-1]:
            found |= {entry.id: Allotted(plan, own_placing(setting, slot, entry, rooms[entry.id]),
                                         usual.get(entry.puzzle.size)) for entry in rest}
    return found


def _alike(
    setting: Setting, slot: Box, entries: Sequence[Entry], rooms: Mapping[str, WordsRoom],
) -> list[Entry]:
    """Those of some puzzles that the slot holds with cells near the largest of their size."""
    own = {entry.id: own_placing(setting, slot, entry, rooms[entry.id]).cell for entry in entries}
    most: dict[int, float] = defaultdict(float)
    for entry in entries:
        most[entry.puzzle.size] = max(most[entry.puzzle.size], own[entry.id])
    return [entry for entry in entries if own[entry.id] >= _ALIKE * most[entry.puzzle.size]
            and has_room(setting, entry, own[entry.id])]

