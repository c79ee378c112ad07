"""How the keys of a manifest are written: an example of each that is easily written otherwise."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from cagework.typeset.manifest.nodes import KeyPath

EXAMPLES: Mapping[str, str] = MappingProxyType({
    "across": "across: [16, 7, 23]",
    "by": "by: Ada Quill",
    "cells": "cells: r1c1 r1c2",
    "cover": "cover: {binding: saddle}",
    "down": "down: [16, 7, 23]",
    "givens": "givens: {r5c5: 7}",
    "grade": "grade: climb",
    "houses": "houses: [diagonals]",
    "id": "id: lamp-room",
    "imprint": "imprint: [First line, Second line]",
    "index": "index: [title, grade]",
    "mark": "mark: {file: art/mark.svg, alt: A lamp}",
    "picture": "picture: {file: art/lamp.png, alt: A lamp}",
    "press": "press: {stock: uncoated}",
    "puzzles_from": "puzzles_from: puzzles/*.yaml",
    "rules": "rules: [knight]",
    "size": "size: 9",
    "sum": "sum: 12",
    "sums": "sums: {a: 12, b: 7}",
    "title": "title: The lamp room",
})
"""Key -> how it is written."""

_LISTS: Mapping[str, str] = MappingProxyType({
    "cages": "write a cage a line under cages, as - {sum: 12, cells: r1c1 r1c2}",
    "puzzles": "begin each puzzle under puzzles by a dash and its id, as - id: lamp-room",
    "sections": "write a section a line under sections, as - {title: Evening, puzzles: [lamp-room, stairs]}",
})
"""Key of a list of larger things -> how one of them is written."""


def example_hint(path: KeyPath) -> str:
    """A hint that shows how the value at a key path is written; empty where there is nothing to show."""
    *above, last = path or ("",)
    if last == "book":
        return "write book: at the top, and title: and by: under it"
    if "sections" in above and "puzzles" in path:
        return "write puzzles: [lamp-room, stairs]"
    key = str(above[-1] if above and (isinstance(last, int) or above[-1] in ("sums", "givens")) else last)
    return _LISTS.get(key) or (f"write {EXAMPLES[key]}" if key in EXAMPLES else "")
