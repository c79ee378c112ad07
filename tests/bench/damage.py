"""Sound bytes to damaged ones, by a few seeded moves: bytes, lines, or values of a YAML tree."""

from __future__ import annotations

import contextlib
import copy
import random
from collections.abc import Callable, Iterator, Sequence
from typing import Any

import yaml

NASTY: Sequence[Any] = (
    None, True, False, 0, -1, 1, 7, 10**9, -(10**30), 1.5, -0.0, float("nan"), float("inf"), "", " ", "~",
    "x" * 300, "y" * 5000, "r1c1", "r1c1-r9c9", ",", "a\u2028b", "soft\u00adhyphen", "\u202eright to left",
    "e\u0301" * 50, "\U0001f682", "\x00", "\ufeff", "../..", "/", "*", "[", "2026-11-28", "0000-00-00", 2026, [],
    {}, [[]], {"a": {}}, ["r1c1", ["r1c2"]], "1e400", "0x10", "0o7", "1_000", "yes", "on", "null", "a: b", "- a",
    "#", "'", '"', "%", "{page}", "{title", "<b>", "&amp;", "\\", "aabb\nccdd", "\t", "—" * 40, "W" * 126, "ﬀ",
    "\u200b", "\ud7ff", "日本語", "2027-03-01", "45 mm", "1p6", "0 mm", "-3 mm",
)

Mangle = Callable[[random.Random, bytes], bytes]


def bytes_moved(chance: random.Random, data: bytes) -> bytes:
    """Bytes flipped, dropped, doubled, or put in."""
    held = bytearray(data)
    for _ in range(chance.choice((1, 1, 2, 5, 20))):
        at = chance.randrange(len(held) + 1) if held else 0
        match chance.randrange(5):
            case 0 if at < len(held):
                held[at] ^= 1 << chance.randrange(8)
            case 1:
                held[at:at] = bytes([chance.randrange(256)])
            case 2:
                del held[at:at + chance.choice((1, 1, 4, 50))]
            case 3:
                held[at:at] = held[at:at + chance.randrange(1, 60)]
            case _:
                held = held[:at] if chance.random() < 0.2 else held
    return bytes(held)


def lines_moved(chance: random.Random, data: bytes) -> bytes:
    """Lines dropped, doubled, swapped, indented or cut."""
    lines = data.split(b"\n")
    for _ in range(chance.choice((1, 1, 2, 3))):
        at = chance.randrange(len(lines))
        other = chance.randrange(len(lines))
        match chance.randrange(6):
            case 0:
                del lines[at]
            case 1:
                lines.insert(other, lines[at])
            case 2:
                lines[at], lines[other] = lines[other], lines[at]
            case 3:
                lines[at] = b" " * chance.randrange(1, 5) + lines[at]
            case 4:
                lines[at] = lines[at][chance.randrange(1, 4):]
            case _:
                lines[at] = b"\t" + lines[at].lstrip()
        lines = lines or [b""]
    return b"\n".join(lines)


def tree_moved(chance: random.Random, data: bytes) -> bytes:
    """Values of the YAML tree put in each other's place, dropped, doubled, or made nasty."""
    try:
        tree = yaml.safe_load(data)
    except yaml.YAMLError:
        return data
    for _ in range(chance.choice((1, 1, 1, 2, 4))):
        spots = list(_spots(tree))
        if not spots:
            break
        holder, key = chance.choice(spots)
        match chance.randrange(6):
            case 0:
                del holder[key]
            case 1 if chance.random() < 0.6:
                other, its = chance.choice(spots)
                with contextlib.suppress(KeyError, IndexError):
                    holder[key] = copy.deepcopy(other[its])
            case 2 if isinstance(holder, dict):
                holder[chance.choice(("titel", "id", "sum", 1, None, True, "cells", "x" * 90))] = holder.pop(key)
            case 3 if isinstance(holder[key], str) and holder[key]:
                text = holder[key]
                at = chance.randrange(len(text))
                holder[key] = text[:at] + str(chance.choice(NASTY)) + text[at + chance.randrange(3):]
            case 4 if isinstance(holder[key], list) and holder[key]:
                holder[key] = holder[key] * chance.choice((2, 50))
            case 1 | 2 | 4 if isinstance(holder[key], int | float) and not isinstance(holder[key], bool):
                holder[key] = round(holder[key] * chance.choice((0.2, 0.5, 0.8, 1.2, 2, 5)), 2)
            case _:
                holder[key] = copy.deepcopy(chance.choice(NASTY))
    with contextlib.suppress(yaml.YAMLError, ValueError, RecursionError):
        return yaml.safe_dump(tree, allow_unicode=True, sort_keys=False).encode("utf-8", "surrogatepass")
    return data


def _spots(tree: Any) -> Iterator[tuple[Any, Any]]:
    if isinstance(tree, dict):
        for key, value in list(tree.items()):
            yield tree, key
            yield from _spots(value)
    elif isinstance(tree, list):
        for index, value in enumerate(tree):
            yield tree, index
            yield from _spots(value)


def mangled(chance: random.Random, data: bytes) -> bytes:
    """A text damaged in one of these ways."""
    way: Mangle = chance.choice((tree_moved, tree_moved, tree_moved, lines_moved, bytes_moved))
    return way(chance, data)
