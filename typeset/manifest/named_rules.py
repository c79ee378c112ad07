"""The extra rules of one puzzle: `houses` and `rules` of a manifest to Rules, what stands beside a name included.

A rule says what it takes and which cell is at fault; where that cell stands in the file is known here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any

from cagework.solver.listed import ListedHouse
from cagework.solver.model import Cage, Cell
from cagework.solver.rule import Named, Rule, RuleError, Takes
from cagework.solver.rules import RULES
from cagework.typeset.faults import counted, or_else, quoted
from cagework.typeset.manifest.cages import read_spots
from cagework.typeset.manifest.nodes import KeyPath, Spot
from cagework.typeset.manifest.notation import named_as_text
from cagework.typeset.manifest.notes import Notes
from cagework.typeset.manifest.rule_names import house_rules, other_rules

Item = str | dict[str, object]
"""An item of `houses` or `rules`: a name alone, or a mapping."""

Seen = dict[tuple[str, Named | None], Spot]
"""The rules met so far, by name and what they are on, and where each stands."""


@dataclass(frozen=True, slots=True)
class _Known:
    """The cage and the region that each cell is in; None where not all of these could be read."""

    cages: Mapping[Cell, Cage] | None = None
    regions: Mapping[Cell, tuple[Cell, ...]] | None = None


_NOTHING = _Known()


@dataclass(frozen=True, slots=True)
class _Written:
    """What one rule is to be on, None for a name alone, and where it stands: as a whole, each cell, the number."""

    named: Named | None
    spot: Spot
    cells: Mapping[Cell, Spot] = field(default_factory=dict)
    number: Spot | None = None

    def place_of(self, error: RuleError) -> Spot:
        """Where what a rule objects to stands."""
        if error.at == "number":
            return self.number or self.spot
        return self.cells.get(error.at, self.spot) if error.at is not None else self.spot


def read_houses(notes: Notes, written: object, size: int, least: int = 1) -> tuple[Rule, ...]:
    """The rules of `houses`: named ones, and houses listed cell by cell; the puzzle's digits run from `least`."""
    rules: list[Rule] = []
    names: set[str] = set()
    seen: Seen = {}
    for index, item in _items(written):
        path: KeyPath = ("houses", index)
        if isinstance(item, dict) and ("cells" in item or "name" in item):
            house = _listed_house(notes, path, item, size, names)
            rules += [house] if house is not None else []
        else:
            rules += _named_rules(notes, path, item, size, seen, least=least)
    return tuple(rules)


def read_rules(
    notes: Notes, written: object, size: int, cages: Iterable[Cage] | None = (),
    regions: Iterable[tuple[Cell, ...]] | None = (), least: int = 1,
) -> tuple[Rule, ...]:
    """The rules of `rules` of a puzzle with these cages and regions, whose digits run from `least`; None where not
    all of these are known, and rules that go by them are left out.
    """
    seen: Seen = {}
    known = _Known(None if cages is None else {cell: cage for cage in cages for cell in cage.cells},
                   None if regions is None else {cell: region for region in regions for cell in region})
    return tuple(rule for index, item in _items(written)
                 for rule in _named_rules(notes, ("rules", index), item, size, seen, known, least))


def _items(written: object) -> list[tuple[int, Item]]:
    """The items of `houses` or `rules` that have the right type, and their positions; the model has
    reported the others.
    """
    listed = written if isinstance(written, list) else []
    return [(index, item) for index, item in enumerate(listed) if isinstance(item, str | dict) and item]


def _named_rules(
    notes: Notes, path: KeyPath, item: Item, size: int, seen: Seen, known: _Known = _NOTHING,
    least: int = 1,
) -> Iterator[Rule]:
    """A registered rule, once for each group of cells beside its name; what cannot be read is reported."""
    key = path[0]
    name, value = (item, None) if isinstance(item, str) else next(iter(item.items()))
    spot = notes.spot(*path) if isinstance(item, str) else notes.spot(*path, name, key=True)
    here, there, other = house_rules(), other_rules(), "rules"
    if key == "rules":
        here, there, other = there, here, "houses"
    if isinstance(item, dict) and len(item) > 1:
        notes.add(spot, f"item {int(path[1]) + 1} of '{key}' has {len(item)} keys",
                  "write one name to an item, each item with its own '- '")
    elif name in there:
        notes.add(spot, f"'{name}' does not belong under '{key}'", f"write it under '{other}'")
    elif name not in here:
        word = "house" if key == "houses" else "rule"
        notes.add(spot, f"there is no {word} called {quoted(name)}", or_else(name, here) if here else "")
    else:
        for one in _groups(notes, path, name, value, size, spot):
            named = one.named
            if RULES[name].takes.in_areas:
                named = _in_areas(notes, one, RULES[name].takes, known)
                if named is None:
                    continue
            try:
                if _is_new(notes, seen, name, one, spot):
                    yield RULES[name].of(size, named, least)
            except RuleError as error:
                notes.add(one.place_of(error), str(error), error.hint)


def _is_new(notes: Notes, seen: Seen, name: str, one: _Written, spot: Spot) -> bool:
    """Whether a rule has not been met on these cells; reported where it has."""
    alone = RULES[name].takes is Takes.NOTHING
    here = spot if alone else one.spot
    what = (name, None if alone else one.named)
    first = seen.get(what)
    if first is None:
        seen[what] = here
        return True
    if alone:
        notes.add(here, f"'{name}' is named twice", "name it once")
    else:
        notes.add(here, f"'{name}' is on these cells already, on line {notes.line(first)}", "keep one of them")
    return False


def _groups(notes: Notes, path: KeyPath, name: str, value: object, size: int, spot: Spot) -> Iterator[_Written]:
    """What a rule is named on, once for each group of cells that could be read."""
    if RULES[name].takes is Takes.NOTHING:
        yield _Written(None, spot) if value is None else _Written(Named(()), notes.spot(*path, name))
        return
    if value is None or value == []:
        _ask(notes, spot, name, size)
        return
    several = isinstance(value, list)
    read = _numbered if RULES[name].takes.numbered else _unnumbered
    for number, part in enumerate(value if isinstance(value, list) else [value]):
        one = read(notes, (*path, name, number) if several else (*path, name), name, part, size)
        if one is not None:
            yield one


def _in_areas(notes: Notes, one: _Written, takes: Takes, known: _Known) -> Named | None:
    """What a rule is on with the cages or regions of its cells; None where they are not known."""
    if one.named is None:
        return None
    if takes is Takes.ACROSS:
        of = known.regions
        return None if of is None else replace(
            one.named, areas=tuple(of[cell] for cell in one.cells if cell in of))
    if known.cages is None or not _changes_cage(notes, one, known.cages):
        return None
    cages = [known.cages[cell] for cell in one.cells]
    return replace(one.named, areas=tuple(cage.cells for cage in cages), sums=tuple(cage.total for cage in cages))


def _changes_cage(notes: Notes, one: _Written, cage_of: Mapping[Cell, Cage]) -> bool:
    """Whether each cell is in another cage than the one before; reported where one is not, or is in none."""
    before = None
    for cell, spot in one.cells.items():
        cage = cage_of.get(cell)
        if cage is None or cage == before:
            where = "no cage" if cage is None else "the cage of the cell before it"
            notes.add(spot, f"{cell} is in {where}", "name cells on both sides of a border between two cages")
            return False
        before = cage
    return True


def _ask(notes: Notes, spot: Spot, name: str, size: int) -> None:
    takes, example = RULES[name].takes, RULES[name].example(size)
    assert example is not None, "it takes something"
    notes.add(spot, f"'{name}' needs {takes}", f"write it as {{{name}: {named_as_text(example)}}}")


def _unnumbered(notes: Notes, path: KeyPath, name: str, written: object, size: int) -> _Written | None:
    """A group of cells, or a line; None, reported, where it is neither."""
    if not isinstance(written, str) or not written.strip():
        _ask(notes, notes.spot(*path), name, size)
        return None
    before = len(notes.faults)
    spots, whole = read_spots(notes, path, written, size)
    takes = RULES[name].takes
    if whole and not spots:
        _ask(notes, notes.spot(*path), name, size)
    elif whole and takes.in_order:
        _check_line(notes, spots, beside=takes.beside)
    if len(notes.faults) > before:
        return None
    return _Written(Named(tuple(spots if takes.in_order else sorted(spots))), notes.spot(*path), spots)


def _check_line(notes: Notes, spots: Mapping[Cell, Spot], *, beside: bool) -> None:
    """A line goes from cell to cell by edge or corner; cells that stand `beside` each other by edge."""
    if len(spots) < 2:
        what = "this takes" if beside else "a line needs"
        notes.add(next(iter(spots.values())), f"{what} two cells or more; this one has 1 cell")
    for one, other in pairwise(spots):
        if beside and other not in one.neighbours():
            notes.add(spots[other], f"{other} shares no side with {one}, the cell before it",
                      "name the cells in order, each beside the last")
            return
        if max(abs(one.row - other.row), abs(one.col - other.col)) > 1:
            notes.add(spots[other], f"{other} does not touch {one}, the cell before it on this line",
                      "name the cells in order, each beside the last or corner to corner")
            return


def _numbered(notes: Notes, path: KeyPath, name: str, written: object, size: int) -> _Written | None:
    """A group of cells with its number; None, reported, where it is no such thing."""
    if not isinstance(written, dict):
        _ask(notes, notes.spot(*path), name, size)
        return None
    for key in written:
        if key not in ("cells", "number"):
            notes.add(notes.spot(*path, key, key=True), f"unknown key {quoted(key)}",
                      f"{RULES[name].takes} have cells and number")
            return None
    texts, number = written.get("cells"), written.get("number")
    listed = texts if isinstance(texts, list) else [texts]
    if not listed or not all(isinstance(text, str) and text.strip() for text in listed):
        _ask(notes, notes.spot(*path, "cells"), name, size)
        return None
    if not isinstance(number, int) or isinstance(number, bool):
        notes.add(notes.spot(*path, "number"), f"'{name}' needs a whole number with its cells")
        return None
    before = len(notes.faults)
    spots, whole = read_spots(notes, (*path, "cells"), written["cells"], size)
    if whole and not spots:
        _ask(notes, notes.spot(*path, "cells"), name, size)
    if len(notes.faults) > before:
        return None
    cells = tuple(spots if RULES[name].takes.in_order else sorted(spots))
    return _Written(Named(cells, int(number)), notes.spot(*path, "cells"), spots,
                    notes.spot(*path, "number"))


def _listed_house(
    notes: Notes, path: KeyPath, item: Mapping[str, Any], size: int, names: set[str],
) -> Rule | None:
    """A house given by its cells; None, reported, where it cannot be one."""
    number = sum(name.startswith("extra house ") for name in names) + 1
    for key in item:
        if key not in ("cells", "name"):
            notes.add(notes.spot(*path, key, key=True), f"unknown key {quoted(key)}",
                      "a listed house has cells and a name")
            return None
    name = item.get("name", f"extra house {number}")
    name = getattr(name, "text", name)
    written = item.get("cells")
    texts = [written] if isinstance(written, str) else written
    if not isinstance(name, str) or not isinstance(texts, list) or not all(isinstance(t, str) for t in texts):
        wrong = "cells" if isinstance(name, str) else "name"
        notes.add(notes.spot(*path, wrong), f"the {wrong} of a listed house must be text",
                  "write it as cells: r1c1 r2c2, with a name if you like")
        return None
    before = len(notes.faults)
    spots, whole = read_spots(notes, (*path, "cells"), item["cells"], size)
    at = notes.spot(*path, "cells")
    if whole and len(spots) > size:
        notes.add(at, f"this house has {len(spots)} cells, but there are only {size} digits")
    elif whole and len(spots) < 2:
        notes.add(at, f"a house needs two cells or more; this one has {counted(len(spots), 'cell')}")
    if name in names:
        notes.add(notes.spot(*path, "name"), f"another house is called {quoted(name)}",
                  "give it a name of its own")
    names.add(name)
    return ListedHouse(size, name, tuple(sorted(spots))) if len(notes.faults) == before else None
