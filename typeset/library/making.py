"""A puzzle made in code, held to all that one in a file is held to."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from pathlib import Path

from cagework.solver.errors import PuzzleError
from cagework.solver.model import Cell
from cagework.typeset.entry import Entry
from cagework.typeset.faults import Fault, render
from cagework.typeset.manifest.document import parse_document
from cagework.typeset.manifest.emit import emitted
from cagework.typeset.manifest.puzzle import read_puzzle
from cagework.typeset.manifest.rule_names import house_rules

Cells = str | Cell | tuple[Cell, ...]
"""Cells as a manifest writes them (`r1c1 r1c2`, `r1c1-r1c4`), one cell, or several."""


def make_puzzle(
    size: int,
    cages: Mapping[Cells, int | None],
    *,
    rules: str | Iterable[str | Mapping[str, object]] = (),
    regions: str | None = None,
    givens: Mapping[Cells, int] | None = None,
    id: str = "puzzle",
    title: str | None = None,
    by: str | None = None,
) -> Entry:
    """Return a puzzle of `size` x `size` cells (4 to 16), with digits from 1 to `size`, or from 0 where a
    rule says so.

    `cages` has cells and what they add to, None for a cage without a sum. Each of the `rules` is a name that
    manifests know under `houses` or `rules`, such as `diagonals` or `knight`, or one with its cells:
    `{"odd": "r1c1 r2c2"}`. `regions` is a block of letters, a row a line; None for the usual boxes, `none` for
    rows and columns alone. `givens` has the printed digits by cell. `id` names files; `title` and `by` are
    printed.

    Raises PuzzleError with all that is wrong: a cell off the grid or in two cages, a total out of reach, a size
    without usual boxes, a given that a house or cage has already, a rule that there is not.
    """
    if not isinstance(cages, Mapping):
        raise PuzzleError("cages are cells with their sums, as in {'r1c1 r1c2': 7}")
    keys: dict[str, object] = {"id": id, "title": title, "by": by, "size": size, "regions": regions}
    keys["cages"] = [{"cells": _cells(cells)} | ({} if total is None else {"sum": total})
                     for cells, total in cages.items()]
    if givens:
        keys["givens"] = {_cells(cell): digit for cell, digit in givens.items()}
    for rule in (rules,) if isinstance(rules, str) else rules:
        listed = keys.setdefault("houses" if _adds_houses(rule) else "rules", [])
        assert isinstance(listed, list)
        listed.append(dict(rule) if isinstance(rule, Mapping) else rule)
    document = parse_document(Path("puzzle"), emitted({key: one for key, one in keys.items() if one is not None}))
    reading = read_puzzle(document, (), document.data, allow_uncaged=True)
    wrong = [fault for fault in reading.faults if fault.is_error]
    if wrong or reading.entry is None:
        raise PuzzleError("\n".join(map(_said, wrong)))
    return reading.entry


def _cells(cells: Cells) -> str:
    return " ".join(map(str, cells)) if isinstance(cells, tuple) and not isinstance(cells, Cell) else str(cells)


def _adds_houses(rule: str | Mapping[str, object]) -> bool:
    """Whether a manifest has the rule under `houses`; cells alone are a house, too."""
    names = rule if isinstance(rule, Mapping) else (rule,)
    return any(name in (*house_rules(), "cells", "name") for name in names)


def _said(fault: Fault) -> str:
    """The fault with the line that is wrong, as a manifest would have it; there is no file to name a line of."""
    return re.sub(r" \(line \d+\)", "", render(fault).partition(": ")[2])
