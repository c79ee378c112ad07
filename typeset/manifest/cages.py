"""The cages of one puzzle, from a letter map or from cell lists, with everything wrong in them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from cagework.solver.model import Cage, Cell, grid_cells
from cagework.solver.wellformed import why_no_total
from cagework.typeset.faults import Severity, counted, listed, nearest, quoted
from cagework.typeset.manifest.nodes import KeyPath, Spot
from cagework.typeset.manifest.notation import NO_CAGE, Grid, read_cells, read_grid
from cagework.typeset.manifest.notes import Notes
from cagework.typeset.manifest.plain import KEYS, PlainPuzzle, plain_cage

if TYPE_CHECKING:
    from cagework.typeset.manifest.schema import PuzzlePart

_FEW = 6


@dataclass(frozen=True, slots=True)
class _Drawn:
    """A cage as written: what messages call it, where each cell and its total stand."""

    name: str
    spots: Mapping[Cell, Spot]
    total: int | None
    total_path: KeyPath

    @property
    def first_spot(self) -> Spot:
        return self.spots[min(self.spots)]


def read_cages(
    notes: Notes, part: PlainPuzzle | PuzzlePart, data: Mapping[str, Any], digits: range, allow_uncaged: bool,
) -> tuple[tuple[Cage, ...], bool]:
    """The cages by first cell, as far as they could be read, and whether each cell could. Faults go to `notes`: an
    unwritten or doubled cage form, misshapen maps, and cages that no digits could fill.
    """
    size = len(digits)
    has_map, has_cages = data.get("map") is not None, data.get("cages") is not None
    if has_map and has_cages:
        notes.add(notes.spot("cages", key=True), "the cages are given twice, by 'map' and by 'cages'",
                  "keep one of them")
        return (), False
    if has_cages:
        form = "cages"
        drawn, complete = _from_lists(notes, data["cages"], size)
    elif has_map:
        form = "map"
        drawn, complete = _from_map(notes, part, data, size)
    else:
        if not (_meant(data, "map") or _meant(data, "cages")):
            _no_form(notes, data)
        return (), False
    for cage in drawn:
        _check(notes, cage, digits)
    if complete and not allow_uncaged:
        _warn_uncaged(notes, form, drawn, size)
    cages = (Cage(tuple(sorted(cage.spots)), cage.total) for cage in drawn)
    return tuple(sorted(cages, key=lambda cage: cage.cells)), complete


def _no_form(notes: Notes, data: Mapping[str, Any]) -> None:
    if "sums" in data:
        notes.add(notes.spot("sums", key=True), "there are sums but no map", "add the map they belong to")
    else:
        notes.add(notes.spot(), "this puzzle has no cages", "give them as 'map' with 'sums', or as 'cages'")


def _meant(data: Mapping[str, Any], wanted: str) -> bool:
    """Whether an unknown key of the puzzle was most likely meant to be `wanted`."""
    return any(nearest(key, KEYS) == wanted for key in data if key not in KEYS)


def _from_map(
    notes: Notes, part: PlainPuzzle | PuzzlePart, data: Mapping[str, Any], size: int,
) -> tuple[list[_Drawn], bool]:
    """Cages of a letter map; False where cells were lost."""
    if part.map is None:
        return [], False
    grid, slips = read_grid(part.map, size, "the map")
    notes.add_slips(("map",), slips)
    if grid is None:
        return [], False
    letters, complete = _letters(notes, grid)
    written = data.get("sums")
    sums = written if isinstance(written, dict) else {}
    if isinstance(written, dict):
        _match_sums(notes, letters, written)
    elif written is None and letters and not _meant(data, "sums"):
        notes.add(notes.spot("map", key=True), "this map has no sums",
                  "add sums, such as sums: {a: 12, b: 7}")
    return [
        _Drawn(f"cage {quoted(letter)}", spots, _whole(sums.get(letter)), ("sums", letter))
        for letter, spots in letters.items()
    ], complete


def _whole(value: object) -> int | None:
    return int(value) if isinstance(value, int) and not isinstance(value, bool) else None


def _letters(notes: Notes, grid: Grid) -> tuple[dict[str, dict[Cell, Spot]], bool]:
    """Letter -> where its cells stand; False where a character cannot name a cage."""
    letters: dict[str, dict[Cell, Spot]] = {}
    complete = True
    for cell, symbol in grid.items():
        spot = notes.spot_in(("map",), symbol.offset)
        if symbol.char == "#" or not symbol.char.isprintable():
            complete = False
            notes.add(spot, f"{quoted(symbol.char)} cannot name a cage",
                      f"use a letter, or '{NO_CAGE}' for no cage; a block holds no comments")
        elif symbol.char != NO_CAGE:
            letters.setdefault(symbol.char, {})[cell] = spot
    return letters, complete


def _match_sums(notes: Notes, letters: Mapping[str, Mapping[Cell, Spot]], sums: Mapping[str, Any]) -> None:
    """Letters and sums must name the same cages."""
    spare = [key for key in sums if key not in letters]
    for letter, spots in letters.items():
        if letter in sums:
            continue
        other = letter.swapcase()
        if other in spare:
            spare.remove(other)
            notes.add(notes.spot("sums", other, key=True),
                      f"the sum is for {quoted(other)}, but the map has {quoted(letter)}",
                      f"write {letter}: {sums[other]}; capitals and small letters name different cages")
        else:
            notes.add(spots[min(spots)], f"the letter {quoted(letter)} has no sum",
                      f"add {letter}: to sums, with its total or with ~ for none")
    for key in spare:
        notes.add(notes.spot("sums", key, key=True),
                  f"there is a sum for {quoted(key)}, but the map has no such letter",
                  "a cage is named by one character" if len(key) > 1 else "delete it, or draw its cage")


def _from_lists(notes: Notes, items: object, size: int) -> tuple[list[_Drawn], bool]:
    """Cages of a list of cell lists; False where cells were lost. Wrong types are reported elsewhere."""
    if not isinstance(items, list):
        return [], False
    drawn: list[_Drawn] = []
    complete = True
    for index, item in enumerate(items):
        part = plain_cage(item)
        if part is None:
            complete = False
            continue
        spots, whole = read_spots(notes, ("cages", index, "cells"), item["cells"], size)
        complete = complete and whole
        if spots and whole:
            drawn.append(_Drawn(f"cage {index + 1}", spots, part.sum, ("cages", index, "sum")))
    apart = _without_overlaps(notes, drawn)
    return apart, complete and len(apart) == len(drawn)


def read_spots(
    notes: Notes, path: KeyPath, written: str | list[str], size: int,
) -> tuple[dict[Cell, Spot], bool]:
    """The cells of a cell list, text or list of texts, and where each stands; False where a word of it
    is no cell of the grid. A cell listed twice is reported.
    """
    texts = [(path, written)] if isinstance(written, str) else [
        ((*path, index), text) for index, text in enumerate(written)]
    spots: dict[Cell, Spot] = {}
    twice: dict[Spot, list[Cell]] = {}
    whole = True
    for at, text in texts:
        cells, slips = read_cells(text, size)
        notes.add_slips(at, slips)
        whole = whole and not slips
        for one in cells:
            spot = notes.spot_in(at, one.offset, one.length)
            if one.cell in spots:
                twice.setdefault(spot, []).append(one.cell)
            spots.setdefault(one.cell, spot)
    for spot, again in twice.items():
        notes.add(spot, f"{_few(again)} {_is(again)} listed twice", "list each cell once")
    return spots, whole


def _without_overlaps(notes: Notes, drawn: list[_Drawn]) -> list[_Drawn]:
    """The cages, each cell left to the first that has it; each pair that overlaps is reported once."""
    owner: dict[Cell, _Drawn] = {}
    kept = []
    for cage in drawn:
        shared: dict[str, list[Cell]] = {}
        for cell in cage.spots:
            if cell in owner:
                shared.setdefault(owner[cell].name, []).append(cell)
            owner.setdefault(cell, cage)
        for name, cells in shared.items():
            other = owner[cells[0]]
            notes.add(cage.spots[cells[0]],
                      f"{_few(cells)} {_is(cells)} in {cage.name} and in {name}"
                      f" (line {notes.line(other.first_spot)})", "a cell may be in one cage only")
        if not shared:
            kept.append(cage)
    return kept


def _check(notes: Notes, cage: _Drawn, digits: range) -> None:
    """One piece, no more cells than digits, and a total within reach."""
    count, size = len(cage.spots), len(digits)
    apart = pieces(cage.spots)
    if len(apart) > 1:
        stray = min(apart, key=len) if len({len(piece) for piece in apart}) > 1 else apart[1]
        notes.add(cage.spots[stray[0]],
                  f"{cage.name} is in {len(apart)} pieces: {stray[0]} does not join"
                  f" {next(piece for piece in apart if piece is not stray)[0]}",
                  "the cells of a cage share edges; give the other piece a cage of its own")
    if count > size:
        notes.add(cage.first_spot, f"{cage.name} has {count} cells, but there are only {size} digits",
                  "split it")
    elif cage.total is not None and (why := why_no_total(digits, count, cage.total)):
        notes.add(notes.spot(*cage.total_path), f"{cage.name} {why}")


def pieces(cells: Iterable[Cell]) -> list[list[Cell]]:
    """The cells parted into runs that join edge to edge, each sorted, by first cell."""
    left = set(cells)
    found = []
    while left:
        start = min(left)
        left.remove(start)
        piece, edge = [start], [start]
        while edge:
            for cell in edge.pop().neighbours():
                if cell in left:
                    left.remove(cell)
                    piece.append(cell)
                    edge.append(cell)
        found.append(sorted(piece))
    return found


def _warn_uncaged(notes: Notes, form: str, drawn: Iterable[_Drawn], size: int) -> None:
    covered = {cell for cage in drawn for cell in cage.spots}
    bare = [cell for cell in grid_cells(size) if cell not in covered]
    if bare:
        notes.add(notes.spot(form, key=True),
                  f"{counted(len(bare), 'cell')} {_is(bare)} in no cage: {_few(bare)}",
                  "if that is meant, write allow_uncaged: true under book", Severity.WARNING)


def _is(cells: list[Cell]) -> str:
    return "is" if len(cells) == 1 else "are"


def _few(cells: list[Cell]) -> str:
    """The first few cells in words."""
    if len(cells) <= _FEW:
        return listed(cells, "and")
    return listed([*cells[:_FEW - 1], f"{len(cells) - _FEW + 1} more"], "and")
