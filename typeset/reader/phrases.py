"""A content stream's bytes to what the interpreter obeys: operations, and the commonest turns of them as one.

Nearly all that a page paints are straight lines from place to place, upright rectangles and lines of text, each by
a few operators that always follow one another. Such a phrase is taken at one go, in a third of the time; all else
one by one, as `operations` has it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from typing import Any, NamedTuple

from cagework.typeset.reader.budget import PAGE_OPERATIONS, TooMuchError
from cagework.typeset.reader.operations import (
    ARRAY,
    END,
    NUMBER,
    OPERATION,
    OPERATORS,
    SPACE,
    Operation,
    array,
    operation,
    pieces,
    unpacked,
    unusual,
)
from cagework.typeset.reader.path import way_round

PATH = "m l h S"
"""One m; any l; h or not; S, f* or neither. The operands: the corners, and the operator that paints, if any."""

RECTANGLE = "re f*"
"""Of x, y, width and height: the corners, and f*."""

TEXT = "BT Td TJ ET"
"""The operands: x, y, and the strings and moves."""


class Phrases(NamedTuple):
    """All of a stream in order, and how many operators that are."""

    obeyed: Sequence[Operation]
    operators: int


_GAP = rb"[\t\n\f\r ]++"      # NUL is a blank, too (ISO 32000-1, table 1), but not one that `split` knows
_PLACE = NUMBER + _GAP + NUMBER + _GAP
_PHRASE = re.compile(
    SPACE + rb"*+(?:(" + _PLACE + rb"m" + _GAP + rb"(?:" + _PLACE + rb"l" + _GAP + rb")*+)(h" + _GAP
    + rb")?+((?:S|f\*)" + END + rb")?+|(" + _PLACE + _PLACE + rb")re" + _GAP + rb"f\*" + END
    + rb"|BT" + _GAP + rb"(" + _PLACE + rb")Td" + _GAP + rb"(" + ARRAY + rb")" + SPACE + rb"*+TJ" + _GAP + rb"ET"
    + END + rb"|" + OPERATION + rb")")
"""A path's m and l, its h, and what paints it; a rectangle's numbers; a text's place and its array; an operation's
groups.
"""


def phrases(stream: Any, pdf: Any, most: int = PAGE_OPERATIONS) -> Phrases:
    """All of a content stream, or an array of them; what pypdf raises where it is broken. TooMuchError where there
    are more operators than `most`.
    """
    content, data = unpacked(stream, pdf)
    found = _phrases(data, most)
    if found is None:
        usual = unusual(content, data)
        return Phrases(usual, len(usual))
    return found


_FEW = 24
"""Bytes of operands up to which an operation is remembered: inks and weights come again and again."""

_short = lru_cache(4096)(operation)


def _phrases(data: bytes, most: int) -> Phrases | None:
    """The phrases of a stream that holds nothing unusual; None where it does."""
    found: list[Operation] = []
    count = 0
    for path, closed, painter, rectangle, place, strings, operands, operator, astray in pieces(_PHRASE, data):
        if count > most:
            raise TooMuchError("more drawing than a page can hold")
        if strings:
            x, y = place.split()
            found.append(((float(x), float(y), array(strings)), TEXT))
            count += 4
        elif path:
            words = path.split()
            ring = tuple(zip(map(float, words[::3]), map(float, words[1::3]), strict=True))
            found.append(((ring + ring[:1] if closed else ring, painter.decode()), PATH))
            count += len(ring) + bool(closed) + bool(painter)
        elif operator in OPERATORS:
            found.append(_short(operands, operator) if len(operands) < _FEW else operation(operands, operator))
            count += 1
        elif rectangle:
            found.append(((way_round(*map(float, rectangle.split())), "f*"), RECTANGLE))
            count += 2
        elif operator or astray:
            return None
    return Phrases(found, count)

