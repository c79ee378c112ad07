"""One size of grid for a size of puzzle: which slots a puzzle has, where in them its grid begins, and its cells.

Notes, rules and credits take room that is kept for them in every slot alike. A puzzle whose words need much more
than the others' has a larger slot; where there is none, it alone has smaller cells. Puzzles of few cells share a
page in smaller slots, where their cells are still no smaller than a nine's.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from cagework.layouts.load import Slots
from cagework.layouts.page import Box, denser, roomier
from cagework.typeset.book import Foot
from cagework.typeset.draw.clues import outer_cells
from cagework.typeset.draw.setting import Setting
from cagework.typeset.draw.slots import Placing, WordsRoom, fitting_cell, has_room, own_placing, words_room
from cagework.typeset.draw.squares import squares_of
from cagework.typeset.entry import Entry

_ALIKE = 0.85
"""A puzzle whose grid could have cells of less than this share of the largest of its size is set apart."""


_NINE = 9
_SHARE = 0.5
"""A grid takes at least this share of the height of a smaller slot."""

_TURNS = 1.2
"""Over a puzzle in a smaller slot its title may turn over once more, in ems."""


@dataclass(frozen=True, slots=True)
class Allotted:
    """The slots that a puzzle has on its pages, and its place in them; `usual` is the cell side, in pt, of the
    others of its size, where its own is another.
    """

    plan: Slots
    placing: Placing
    usual: float | None = None


def allot(
    setting: Setting, sections: Sequence[Sequence[Entry]], first_slot: Callable[[Slots], Box],
) -> Mapping[str, Allotted]:
    """For each of some puzzles, by its id, the smallest slots that hold it and its place in them."""
    found = _stated(setting, [entry for section in sections for entry in section], first_slot)
    if setting.book.foot is not Foot.NONE:      # the room that small grids leave is wanted
        return found
    return {**found, **_smaller(setting, sections, found, first_slot)}


def page_runs(plans: Sequence[Slots]) -> list[tuple[Slots, range]]:
    """What stands on each page: the slots it has, and whose are in them; those beside each other are alike."""
    runs: list[tuple[Slots, range]] = []
    for number, plan in enumerate(plans):
        last, run = runs[-1] if runs else (None, range(0))
        if last == plan and len(run) < plan.columns * plan.rows:
            runs[-1] = plan, range(run.start, number + 1)
        else:
            runs.append((plan, range(number, number + 1)))
    return runs


def _smaller(
    setting: Setting, sections: Sequence[Sequence[Entry]], found: Mapping[str, Allotted],
    first_slot: Callable[[Slots], Box],
) -> Mapping[str, Allotted]:
    """The puzzles of few cells in the smaller slots that make the fewest pages, of these the largest; none where
    that saves none.
    """
    few = [entry for section in sections for entry in section if squares_of(entry.puzzle).most < _NINE]
    if not few:
        return {}
    tried = [{}, *(_in_slots(setting, few, found, plan, first_slot) for plan in denser(setting.layout.puzzles))]

    def pages(smaller: Mapping[str, Allotted]) -> int:
        return sum(len(page_runs([smaller.get(entry.id, found[entry.id]).plan for entry in section]))
                   for section in sections)

    return min(tried, key=pages)


def _outer(entry: Entry) -> tuple[float, float]:
    """What grids of a size have in common: how many cells they are wide and high, with what stands outside."""
    return outer_cells(entry.puzzle, entry.rules)


def _in_slots(
    setting: Setting, few: Sequence[Entry], found: Mapping[str, Allotted], plan: Slots,
    first_slot: Callable[[Slots], Box],
) -> Mapping[str, Allotted]:
    """Those of some puzzles that small slots hold, by whole sizes, and their places: in cells no smaller than a
    nine's in the layout's own, under headings little higher, and with grids that fill them.
    """
    slot, stated = first_slot(plan), first_slot(setting.layout.puzzles)
    rooms = {entry.id: words_room(setting, slot, entry) for entry in few}
    least = max(_nine_cell(setting, stated, entry, found) for entry in few)
    high = max(found[entry.id].placing.top for entry in few) + _TURNS * setting.layout.type.title
    sizes = {_outer(entry) for entry in few}
    while sizes:
        alike = [entry for entry in few if _outer(entry) in sizes]
        top = max(rooms[entry.id].head for entry in alike)
        cells = {size: min(fitting_cell(setting, slot, entry, top, rooms[entry.id].foot)
                           for entry in alike if _outer(entry) == size) for size in sizes}
        out = {_outer(entry) for entry in alike
               if (cell := cells[_outer(entry)]) < least or cell * _outer(entry)[1] < _SHARE * slot.height
               or rooms[entry.id].head > high or not has_room(setting, entry, cell)}
        if not out:
            return {entry.id: Allotted(plan, Placing(top, cells[_outer(entry)])) for entry in alike}
        sizes -= out
    return {}


def _nine_cell(setting: Setting, slot: Box, entry: Entry, found: Mapping[str, Allotted]) -> float:
    """The cells that a grid of nine would have in a slot in the place of a puzzle, under words like its own."""
    nine = replace(entry, puzzle=replace(entry.puzzle, size=_NINE, shape=None))
    return fitting_cell(setting, slot, nine, found[entry.id].placing.top, words_room(setting, slot, entry).foot)


def _stated(
    setting: Setting, entries: Sequence[Entry], first_slot: Callable[[Slots], Box],
) -> Mapping[str, Allotted]:
    """Puzzles in the layout's own slots, or larger ones."""
    plans = roomier(setting.layout.puzzles)
    found: dict[str, Allotted] = {}
    usual: dict[tuple[float, float], float] = {}
    rest = list(entries)
    for plan in plans:
        slot = first_slot(plan)
        rooms = {entry.id: words_room(setting, slot, entry) for entry in rest}
        alike = _alike(setting, slot, rest, rooms)
        top = max((rooms[entry.id].head for entry in alike), default=0.0)
        cells: dict[tuple[float, float], float] = defaultdict(lambda: float("inf"))
        for entry in alike:
            cell = fitting_cell(setting, slot, entry, top, rooms[entry.id].foot)
            cells[_outer(entry)] = min(cell, cells[_outer(entry)])
        held = [entry for entry in alike if has_room(setting, entry, cells[_outer(entry)])]
        found |= {entry.id: Allotted(plan, Placing(top, cells[_outer(entry)]), usual.get(_outer(entry)))
                  for entry in held}
        usual = {_outer(entry): cells[_outer(entry)] for entry in held} | usual
        rest = [entry for entry in rest if entry.id not in found]
        if plan is plans[-1]:
            found |= {entry.id: Allotted(plan, own_placing(setting, slot, entry, rooms[entry.id]),
                                         usual.get(_outer(entry))) for entry in rest}
    return found


def _alike(
    setting: Setting, slot: Box, entries: Sequence[Entry], rooms: Mapping[str, WordsRoom],
) -> list[Entry]:
    """Those of some puzzles that the slot holds with cells near the largest of their size."""
    own = {entry.id: own_placing(setting, slot, entry, rooms[entry.id]).cell for entry in entries}
    most: dict[tuple[float, float], float] = defaultdict(float)
    for entry in entries:
        most[_outer(entry)] = max(most[_outer(entry)], own[entry.id])
    return [entry for entry in entries if own[entry.id] >= _ALIKE * most[_outer(entry)]
            and has_room(setting, entry, own[entry.id])]

