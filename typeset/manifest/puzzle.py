"""One puzzle of a manifest to an Entry, with everything wrong in it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from cagework.solver.model import BOXES, Cell, Given, Puzzle, standard_houses
from cagework.typeset.choices import Kind
from cagework.typeset.entry import Entry, Place, Solutions
from cagework.typeset.faults import Fault, listed, quoted
from cagework.typeset.manifest.cages import pieces, read_cages
from cagework.typeset.manifest.document import YamlDocument
from cagework.typeset.manifest.givens import answer_in_block, digits_in_block, givens_by_cell, unlike
from cagework.typeset.manifest.nodes import KeyPath, Spot
from cagework.typeset.manifest.notation import NO_CAGE, read_grid
from cagework.typeset.manifest.notes import Notes
from cagework.typeset.manifest.plain import PlainPuzzle, plain_puzzle
from cagework.typeset.manifest.values import names_cells

if TYPE_CHECKING:
    from cagework.solver.rule import Rule
    from cagework.typeset.manifest.schema import PuzzlePart


NO_REGIONS = "none"
"""What is written for a grid of rows and columns only."""


@dataclass(frozen=True, slots=True)
class PuzzleReading:
    """A puzzle met in a file: `id` where it could be read, `entry` where the whole puzzle could, and
    its own faults; `setters` are the digits of the answer its setter means, each with its place; `map` is as
    written. `rough` is the puzzle as far as it could be read, where not all of it could. No entry has the
    `remark`, the editor's note to themselves: what makes pages cannot print it.
    """

    id: str | None
    file: Path
    place: Place
    entry: Entry | None
    faults: tuple[Fault, ...]
    grade_place: Place | None = None
    solutions: Solutions | None = None
    setters: tuple[tuple[Given, Place], ...] = ()
    rough: Entry | None = None
    remark: str | None = None
    map: str | None = None

    def __repr__(self) -> str:
        return f"PuzzleReading({self.id!r}, {self.entry!r}, {len(self.faults)} faults)"


def read_puzzle(
    document: YamlDocument, path: KeyPath, data: object, allow_uncaged: bool, default_id: str | None = None,
) -> PuzzleReading:
    """Read the puzzle that stands at a key path of a document."""
    notes = Notes(document, path)
    place = document.place(document.spot(path))
    if default_id is not None and isinstance(data, dict):
        data = {"id": default_id} | data
    part, unread = _part(notes, data)
    if part is None or not isinstance(data, dict):
        return PuzzleReading(None, document.file, place, None, tuple(notes.faults))
    if part.short_title and "title" not in data:
        notes.add(notes.spot("short_title"), "a puzzle without a title has no shorter one", "call it title")
    puzzle: Puzzle | None = None
    rules: tuple[Rule, ...] = ()
    if part.kind is Kind.CROSSING_SUMS:
        from cagework.typeset.manifest.crossing import read_crossing
        puzzle = read_crossing(notes, part, data)
    elif not unread:
        puzzle, rules = _read_grid(notes, part, data, allow_uncaged)
    meant = answer_in_block(notes, part.answer, puzzle) if puzzle is not None and part.answer else []
    known = None
    if puzzle is not None and part.id is not None:
        known = Entry(part.id, part.title, part.by, part.grade, part.note, puzzle, rules, place,
                      written=notes.writings(("title", "by", "note", "short_title")), short_title=part.short_title)
    stated = document.place(notes.spot("grade")) if part.grade else None
    entry, rough = (None, known) if notes.failed else (known, None)
    return PuzzleReading(part.id, document.file, place, entry, tuple(notes.faults), stated, part.solutions,
                         tuple((given, document.place(spot)) for given, spot in meant), rough, part.remark,
                         part.map)


def _part(notes: Notes, data: object) -> tuple[PlainPuzzle | PuzzlePart | None, bool]:
    """The puzzle's keys as far as they are right, and whether its size or kind is not; None where it has none."""
    plain = plain_puzzle(data)
    if plain is not None:
        return plain, False
    from cagework.typeset.manifest.schema import PuzzlePart
    from cagework.typeset.manifest.violations import findings, salvage
    found = findings(PuzzlePart, data)
    notes.add_findings(found)
    if not isinstance(data, dict):
        return None, False
    return salvage(PuzzlePart, data), any(finding.path in (("size",), ("kind",)) for finding in found)


def _read_grid(
    notes: Notes, part: PlainPuzzle | PuzzlePart, data: Mapping[str, Any], allow_uncaged: bool,
) -> tuple[Puzzle, tuple[Rule, ...]]:
    """Everything that depends on the size. What could not be read is left out and reported."""
    for way in ("across", "down"):
        if data.get(way) is not None:
            notes.add(notes.spot(way, key=True), f"only crossing sums have sums {way}",
                      f"write kind: {Kind.CROSSING_SUMS} for such a puzzle")
    size = part.size
    regions = _read_regions(notes, part.regions, size) if part.regions is not None else None
    if data.get("regions") is None and size not in BOXES:
        notes.add(notes.spot("size"), f"a {size} x {size} grid has no usual boxes",
                  "draw its regions, or write regions: none")
    known_regions = regions is not None or (data.get("regions") is None and size in BOXES)
    least = _least_digit(data.get("rules"))
    cages, known_cages = read_cages(notes, part, data, range(least, least + size), allow_uncaged)
    puzzle = Puzzle(size, standard_houses(size, regions if known_regions else ()), cages, least=least)
    rules = _read_rules(notes, data, puzzle, known_cages, known_regions)
    if rules:
        from cagework.solver.rule import with_facts
        puzzle = with_facts(puzzle, (fact for rule in rules for fact in rule.facts()))
    return replace(puzzle, givens=_read_givens(notes, data.get("givens"), puzzle)), rules


def _least_digit(rules: object) -> int:
    """The digit from which all run; most puzzles have no rules, and load none."""
    if not rules:
        return 1
    from cagework.typeset.manifest.rule_names import least_digit
    return least_digit(rules)


def _read_rules(
    notes: Notes, data: Mapping[str, Any], puzzle: Puzzle, known_cages: bool, known_regions: bool,
) -> tuple[Rule, ...]:
    """The extra rules; most puzzles have none, and load none."""
    houses, rules = data.get("houses"), data.get("rules")
    if houses is rules is None:
        return ()
    from cagework.typeset.manifest.named_rules import read_houses, read_rules
    regions = tuple(house.cells for house in puzzle.regions) if known_regions else None
    return (*read_houses(notes, houses, puzzle.size, puzzle.least),
            *read_rules(notes, rules, puzzle.size, puzzle.cages if known_cages else None, regions, puzzle.least))


def _read_regions(notes: Notes, text: str, size: int) -> tuple[tuple[Cell, ...], ...] | None:
    """The regions by first cell; None where they do not part the grid into equal, joined pieces. None of them
    where that is what is written.
    """
    if text.strip() == NO_REGIONS:
        return ()
    grid, slips = read_grid(text, size, "the regions block")
    notes.add_slips(("regions",), slips)
    if grid is None:
        return None
    regions: dict[str, list[Cell]] = {}
    for cell, symbol in grid.items():
        if symbol.char in (NO_CAGE, "#"):
            notes.add(notes.spot_in(("regions",), symbol.offset), f"{cell} is in no region",
                      "every cell belongs to a region; name it with a letter")
            return None
        regions.setdefault(symbol.char, []).append(cell)
    wrong = {letter: cells for letter, cells in regions.items() if len(cells) != size}
    if wrong:
        least = min(wrong.values(), key=len)
        sizes = listed([f"{letter} has {len(cells)}" for letter, cells in list(wrong.items())[:9]], "and")
        notes.add(notes.spot_in(("regions",), grid[least[-1]].offset),
                  f"each region needs {size} cells, but {sizes}")
        return None
    for letter, cells in regions.items():
        apart = pieces(cells)
        if len(apart) > 1:
            stray = min(apart, key=len)
            notes.add(notes.spot_in(("regions",), grid[stray[0]].offset),
                      f"region {quoted(letter)} is in {len(apart)} pieces",
                      "the cells of a region share edges")
    return tuple(tuple(cells) for cells in regions.values())


def _read_givens(notes: Notes, written: object, puzzle: Puzzle) -> tuple[Given, ...]:
    """The givens by cell."""
    read: list[tuple[Given, Spot]] = []
    if isinstance(written, str) and written.strip() and not names_cells(written):
        read = digits_in_block(notes, written, puzzle.digits, "givens")
    elif isinstance(written, dict):
        read = [(given, notes.spot("givens", key)) for given, key in givens_by_cell(notes, written, puzzle)]
    groups = [(house.name, house.cells) for house in puzzle.houses]
    groups += [(f"the cage at {cage.first}", cage.cells) for cage in puzzle.cages]
    return unlike(notes, read, groups)
