"""Cells that use up some digits -> what else loses them: the rest of houses and cages, and what sees them all."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from cagework.solver.bitset import members, set_of
from cagework.solver.model import Cage, Cell, House
from cagework.solver.reasoning.frame import Frame
from cagework.solver.step import Cites, Eliminated, Elsewhere


def cover(frame: Frame, homes: Iterable[int], targets: int) -> tuple[tuple[int, ...], int]:
    """Return the fewest of these groups, near enough, that hold every target that any of them holds, and the
    targets that none does.
    """
    sets, left, open_ = frame.group_sets, targets, list(homes)
    chosen = []
    while left and open_:
        best = max(open_, key=lambda group: (left & sets[group]).bit_count())
        if not left & sets[best]:
            break
        chosen.append(best)
        left &= ~sets[best]
    return tuple(sorted(chosen)), left


def elsewhere(frame: Frame, chosen: Iterable[int], seen: int = 0) -> Elsewhere:
    """Name groups by number, and cells."""
    return Elsewhere(tuple([frame.group(number) for number in chosen]),
                     tuple([frame.cells[cell] for cell in members(seen)]))


def group_cites(frame: Frame, chosen: Iterable[int]) -> Cites:
    """Cite groups by number."""
    groups = [frame.group(number) for number in chosen]
    return Cites(houses=tuple([group for group in groups if isinstance(group, House)]),
                 cages=tuple([group for group in groups if isinstance(group, Cage)]))


def cited_elsewhere(frame: Frame, cites: Cites, own: Cage | None, used: int, removes: Eliminated) -> Elsewhere:
    """Name what loses digits to the cells `used`, as `cites` has it; `own` is a cage that it cites besides."""
    homes = [frame.house_number(house) for house in cites.houses]
    homes += [len(frame.houses) + frame.cage_number(cage) for cage in cites.cages if cage is not own]
    homes = [number for number in homes if not used & ~frame.group_sets[number]]
    chosen, seen = cover(frame, homes, set_of(frame.index[cell] for cell, _ in removes))
    others: list[House | Cage] = [*cites.houses, *[cage for cage in cites.cages if cage is not own]]
    return replace(elsewhere(frame, chosen, seen), by=sight(frame, others, used, seen))


def sight(frame: Frame, groups: Sequence[House | Cage], used: int, seen: int) -> tuple[House | Cage, ...]:
    """Return those of these houses and cages by which the cells `seen` see all the cells `used`, the fewest near
    enough; none where they do not say so of all.
    """
    sets = [frame.cells_of(group) for group in groups]
    by = set()
    for cell in members(seen):
        left = used
        while left:
            most, best = max([((left & cells).bit_count(), -number) for number, cells in enumerate(sets)
                              if cells >> cell & 1], default=(0, 0))
            if not most:
                return ()
            by.add(-best)
            left &= ~sets[-best]
    return tuple([group for number, group in enumerate(groups) if number in by])


def emptied(frame: Frame, cites: Cites, own: Cage | House | None, used: int, digits: int) -> Eliminated:
    """Return what is barred from all other cells of the houses and cages that `cites` has besides `own` and that
    hold the cells `used`, which use up these digits.
    """
    lost: dict[Cell, int] = {}
    missing = frame.missing(cites)
    groups: list[House | Cage] = [*cites.houses, *cites.cages]
    for group in groups:
        cells = frame.cells_of(group)
        if group is not own and not used & ~cells:
            for cell in members(cells & ~used):
                if gone := digits & ~missing.get(cell, 0):
                    lost[frame.cells[cell]] = gone
    return tuple(lost.items())


def spots_of(frame: Frame, cites: Cites, house: House, digit: int, masks: Sequence[int] | None = None) -> int:
    """Return the cells that a digit has in a house, as bits: by a citation or, where cells hold `masks`, those of
    them that are left.
    """
    bit, missing = 1 << digit - 1, frame.missing(cites)
    cells = [frame.index[cell] for cell in house.cells]
    cited = set_of(cell for cell in cells if not missing.get(cell, 0) & bit)
    left = cited if masks is None else set_of(cell for cell in members(cited) if masks[cell] & bit)
    return left or cited


def without_idle(cites: Cites, own: Cage | House | None, where: Elsewhere) -> Cites:
    """The citation without houses and cages in which nothing goes that is not told of another."""
    told = set(where.groups)
    cells = set(where.cells)

    def acts(group: House | Cage) -> bool:
        return group in told or group is own or not cells.isdisjoint(group.cells)

    return replace(cites, houses=tuple(filter(acts, cites.houses)), cages=tuple(filter(acts, cites.cages)))


def linked(frame: Frame, cites: Cites, own: Cage | None, used: int, removes: Iterable[tuple[Cell, int]]) -> bool:
    """Whether what is cited besides `own` makes each cell that loses a digit differ from all the cells `used`."""
    groups = [frame.cells_of(house) for house in cites.houses]
    groups += [frame.cells_of(cage) for cage in cites.cages if cage is not own]
    groups += [1 << frame.index[pair.first] | 1 << frame.index[pair.second] for pair in cites.pairs]
    for name, _ in removes:
        cell, seen = frame.index[name], 0
        for cells in groups:
            if cells >> cell & 1:
                seen |= cells
        if used & ~seen:
            return False
    return True
