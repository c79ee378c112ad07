"""The rows of the index as they are read off a page, turnover lines and all, and the pages they should name."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from cagework.typeset.draw.index import index_groups
from cagework.typeset.draw.setting import Setting
from cagework.typeset.readback.difference import Difference
from cagework.typeset.readback.text_lines import GAP, TextLine, squeezed

_BELOW = 40.0
"""Points within which a turnover line stands below the one before it."""

_SET_IN = 40.0
"""Points by which a line of the same row may begin further left or right."""


class IndexSaid(NamedTuple):
    """On page `page` a row says `label`, without its blanks, and then the number `said`."""

    page: int
    label: str
    said: int


class IndexRows:
    """Reads the rows of one book's index off the lines of a page."""

    def __init__(self, setting: Setting) -> None:
        self._due = [(row.label, row.target) for by in setting.book.index for group in index_groups(setting, by)
                     for row in group.rows]
        self._labels = sorted({squeezed(label) for label, _ in self._due})

    def read(self, number: int, lines: Sequence[TextLine]) -> Iterator[IndexSaid]:
        """Those on page `number`."""
        if not self._labels:
            return
        for place, line in enumerate(lines):
            parts = list(_parts(line))
            for at, (left, text) in enumerate(parts):
                for label in self._beginning(text):
                    said = (_number(parts, at + 1) if label == text else
                            _followed(lines[place + 1:], line.base, left, label[len(text):]))
                    if said is not None:
                        yield IndexSaid(number, label, said)

    def amiss(self, rows: Iterable[IndexSaid], pages: Mapping[str, int], span: range) -> Iterator[Difference]:
        """Rows that are missing from the index, which stands on some pages, or name another page than their
        puzzle's.
        """
        if not self._due or not span:
            return
        found = Counter((row.label, row.said) for row in rows if row.page in span)
        for (label, target), times in Counter(self._due).items():
            key = squeezed(label), pages.get(target, 0)
            if found[key] < times:
                yield Difference(span[0], "index", None, f"'{label}' is not in it with page {key[1]}")

    def _beginning(self, start: str) -> Iterator[str]:
        at = bisect_left(self._labels, start)
        while start and at < len(self._labels) and self._labels[at].startswith(start):
            yield self._labels[at]
            at += 1


def _parts(line: TextLine) -> Iterator[tuple[float, str]]:
    """What stands between wide gaps on a line, and where it begins."""
    at = 0
    for text in line.text.split(GAP):
        if text:
            yield line.lefts[at], text
        at += len(text) + 1


def _number(parts: Sequence[tuple[float, str]], at: int) -> int | None:
    return int(parts[at][1]) if at < len(parts) and parts[at][1].isdecimal() else None


def _followed(lines: Sequence[TextLine], base: float, left: float, rest: str) -> int | None:
    """The number after the rest of a row that goes on in lines below."""
    for place, line in enumerate(lines):
        if line.base - base > _BELOW:
            break
        parts = list(_parts(line))
        for at, (start, text) in enumerate(parts):
            if abs(start - left) > _SET_IN or not rest.startswith(text):
                continue
            said = (_number(parts, at + 1) if rest == text else
                    _followed(lines[place + 1:], line.base, start, rest[len(text):]))
            if said is not None:
                return said
    return None
