"""The lines of text on a page, put together from its letters: without blanks, with a mark where a gap is wide."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from operator import attrgetter, sub

from cagework.typeset.readback.page_content import TextRun

GAP = "\x1f"
"""Stands in a line's text where letters are further apart than words are."""

_WIDE = 0.8
"""How far apart, in ems, letters are that have a gap between them."""

_LEVEL = 0.3
"""Points by which baselines of one line may differ."""


@dataclass(frozen=True, slots=True)
class TextLine:
    """All letters on one baseline from left to right: their text, and for each character of it where it starts and
    ends, in pt.
    """

    base: float
    text: str
    lefts: Sequence[float]
    rights: Sequence[float]

    def at(self, x: float) -> int:
        """The first character, gaps aside, that starts at or right of x."""
        found = bisect_left(self.lefts, x)
        while found < len(self.text) and self.text[found] == GAP:
            found += 1
        return found

    def between(self, left: float, right: float) -> str:
        """The text whose letters have their middle between two edges."""
        return "".join(self.text[at] for at in self._within(left, right)).strip(GAP)

    def words(self, left: float, right: float) -> str:
        """The same with its blanks, to be shown: where letters are about a word space apart."""
        said: list[str] = []
        width = (sum(self.rights) - sum(self.lefts)) / max(1, len(self.text))
        for at in self._within(left, right):
            if said and self.text[at] != GAP and self.lefts[at] - self.rights[at - 1] > 0.25 * width:
                said.append(" ")
            said.append(" " if self.text[at] == GAP else self.text[at])
        return "".join(said).strip()

    def _within(self, left: float, right: float) -> Iterator[int]:
        return (at for at, (start, end) in enumerate(zip(self.lefts, self.rights, strict=True))
                if left <= (start + end) / 2 <= right)


def lines_of(runs: Iterable[TextRun]) -> tuple[TextLine, ...]:
    """The lines that some runs of letters make, from the top down."""
    found: list[TextLine] = []
    level: list[TextRun] = []
    for run in sorted((run for run in runs if run.said), key=attrgetter("base")):
        if level and run.base - level[0].base > _LEVEL:
            found.append(_line(level))
            level = []
        level.append(run)
    if level:
        found.append(_line(level))
    return tuple(found)


def _line(level: Sequence[TextRun]) -> TextLine:
    runs = sorted(level, key=_begin)
    if any(left.starts[-1] > right.starts[0] for left, right in pairwise(runs)):    # they lie in one another
        runs = sorted((_alone(run, at) for run in runs for at in range(len(run.said))), key=_begin)
    text: list[str] = []
    lefts: list[float] = []
    rights: list[float] = []
    for run in runs:
        wide = _WIDE * run.size
        if rights and run.starts[0] - rights[-1] > wide:
            text.append(GAP)
            lefts.append(run.starts[0])
            rights.append(run.starts[0])
        if len(run.said) == 1 or max(map(sub, run.starts[1:], run.ends)) <= wide:
            text += run.said
            lefts += run.starts
            rights += run.ends
            continue
        for char, start, end in zip(run.said, run.starts, run.ends, strict=True):
            if rights and start - rights[-1] > wide:
                text.append(GAP)
                lefts.append(start)
                rights.append(start)
            text.append(char)
            lefts.append(start)
            rights.append(end)
    said = "".join(text)
    if len(said) > len(text):           # some letters say more than one character
        lefts = [left for char, left in zip(text, lefts, strict=True) for _ in char]
        rights = [right for char, right in zip(text, rights, strict=True) for _ in char]
    return TextLine(level[0].base, said, lefts, rights)


def _begin(run: TextRun) -> float:
    return run.starts[0]


def _alone(run: TextRun, at: int) -> TextRun:
    """One letter of a run as a run of its own."""
    return run._replace(said=(run.said[at],), starts=(run.starts[at],), ends=(run.ends[at],))


def squeezed(text: str) -> str:
    """Text as a line holds it: without blanks."""
    return "".join(text.split())


def reads_as(text: str, start: int, said: str) -> int | None:
    """Where `said` ends in a line's text if it stands there from `start` on, gaps aside, else None."""
    end = at = start
    for char in squeezed(said):
        while at < len(text) and text[at] == GAP:
            at += 1
        if at == len(text) or text[at] != char:
            return None
        at += 1
        end = at
    return end
