"""Paragraphs to lines: hyphenated, justified or ragged, broken for the best paragraph as a whole.

The line breaker weighs all breaks of a paragraph together (Knuth and Plass, "Breaking paragraphs into
lines", Software: Practice and Experience 11, 1981), without its fitness classes.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise

import pyphen

from cagework.layouts.load import Layout
from cagework.typeset.marks import After, Text
from cagework.typeset.text import Fonts

_STRETCH, _SHRINK = 0.5, 0.22      # of a word space, from memory of common practice
_HYPHEN_COST = 60.0
_HYPHENS_RUNNING = 4000.0
_SHORT_END = 1500.0                # a last line shorter than an indent looks like a slip


class _After(Enum):
    """What may happen after a fragment."""

    NOTHING = 0
    SPACE = 1
    SOFT = 2        # may break, and then shows a hyphen
    DASH = 3        # may break as it is


@dataclass(frozen=True, slots=True)
class _Fragment:
    text: str
    face: str
    width: float
    after: _After


@dataclass(frozen=True, slots=True)
class Style:
    """How a paragraph is set: faces, size and leading in pt, whether to justify and to divide words."""

    face: str
    emphasis: str
    size: float
    leading: float
    justify: bool
    language: str | None


@dataclass(frozen=True, slots=True)
class SetLine:
    """One line: words with their x from the left edge in pt; `divided` where it ends in the middle of one."""

    words: tuple[tuple[float, str, str], ...]   # x, text, face
    size: float
    divided: bool = False

    def marks(self, fonts: Fonts, x: float, y: float) -> tuple[Text, ...]:
        """The line set with its left edge at x on baseline y."""
        runs: list[tuple[str, list[tuple[float, str]]]] = []
        for at, text, face in self.words:
            if not runs or runs[-1][0] != face:
                runs.append((face, []))
            runs[-1][1].extend([(at + dx, chunk) for dx, chunk in fonts[face].chunks(text, self.size)])
        end = After.DIVISION if self.divided else After.SPACE
        return tuple([
            Text(x, y, tuple(chunks), face, self.size, after=end if number == len(runs) else After.NOTHING)
            for number, (face, chunks) in enumerate(runs, 1)
        ])


def prose_style(layout: Layout, language: str, size: float | None = None) -> Style:
    """The layout's running text, in another size where one is given (the leading keeps its ratio)."""
    prose, kind = layout.prose, layout.type
    chosen = size or kind.body
    face = "serif" if prose.family == "serif" else "sans"
    emphasis = ("serif-italic" if face == "serif" else "sans-semibold") if prose.italics else f"{face}-semibold"
    return Style(face, emphasis, chosen, chosen * kind.leading / kind.body, prose.align == "justified",
                 language if prose.hyphenate else None)


def paragraphs(text: str) -> tuple[str, ...]:
    """Split prose at blank lines; line ends within a paragraph are spaces."""
    return tuple(" ".join(part.split()) for part in re.split(r"\n\s*\n", text) if part.strip())


def set_paragraph(
    text: str, style: Style, measure: float, fonts: Fonts, indent: float = 0.0,
) -> tuple[SetLine, ...]:
    """Break one paragraph into lines of `measure` pt, the first `indent` pt shorter. `*word*` is emphasis."""
    fragments = tuple(_fragments(text, style, fonts))
    if not fragments:
        return ()
    space = fonts[style.face].width(" ", style.size)
    hyphen = fonts[style.face].width("-", style.size)
    ends = _break(fragments, style, measure, space, hyphen, indent)
    lines = []
    start = 0
    for end in ends:
        last = end == len(fragments)
        lead = indent if start == 0 else 0.0
        lines.append(_line(fragments[start:end], style, measure, space, fonts, last, lead))
        start = end
    return tuple(lines)


def _fragments(text: str, style: Style, fonts: Fonts) -> Iterator[_Fragment]:
    divider = _divider(style.language)
    emphatic = False
    words = text.split(" ")
    for number, word in enumerate(words):
        parts = word.split("*")
        pieces: list[tuple[str, str]] = []
        for index, part in enumerate(parts):
            if index:
                emphatic = not emphatic
            if part:
                pieces.append((part, style.emphasis if emphatic else style.face))
        for index, (piece, face) in enumerate(pieces):
            ends_word = index == len(pieces) - 1
            outer = _After.NOTHING if not ends_word or number == len(words) - 1 else _After.SPACE
            key = (piece, face, outer, style.size, style.language)
            divided = fonts.divided.get(key)
            if divided is None:
                divided = fonts.divided[key] = tuple(_divide(piece, face, outer, style.size, divider, fonts))
            yield from divided


@functools.cache
def _divider(language: str | None) -> pyphen.Pyphen | None:
    known = language and pyphen.language_fallback(language.replace("-", "_"))
    return pyphen.Pyphen(lang=known, left=2, right=3) if known else None


def _divide(
    word: str, face: str, outer: _After, size: float, divider: pyphen.Pyphen | None, fonts: Fonts,
) -> Iterator[_Fragment]:
    parts = [part for part in re.split(r"(?<=[-–—/])(?=\w)", word) if part]
    for number, part in enumerate(parts):
        closing = outer if number == len(parts) - 1 else _After.DASH
        pieces = [part]
        if divider and len(parts) == 1 and not any(char.isdigit() for char in part):
            edges = [0, *_cuts(part, divider), len(part)]
            pieces = [part[a:b] for a, b in pairwise(edges)]
        for index, piece in enumerate(pieces):
            after = closing if index == len(pieces) - 1 else _After.SOFT
            yield _Fragment(piece, face, fonts[face].width(piece, size), after)


def _cuts(word: str, divider: pyphen.Pyphen) -> list[int]:
    """Where a word may be divided; what surrounds its letters does not count as part of it."""
    letters = re.search(r"[^\W\d_]+(?:[’'][^\W\d_]+)*", word)
    if letters is None:
        return []
    return [letters.start() + cut for cut in divider.positions(letters.group())]


def _break(
    fragments: Sequence[_Fragment], style: Style, measure: float, space: float, hyphen: float, indent: float,
) -> tuple[int, ...]:
    """The ends of the best lines: dynamic programming over the places where a line may end."""
    count = len(fragments)
    widths = [fragment.width for fragment in fragments]
    after = [fragment.after for fragment in fragments]
    cheapest, came_from = [float("inf")] * (count + 1), [-1] * (count + 1)
    cheapest[0] = 0.0
    for start in range(count):
        so_far = cheapest[start]
        if so_far == float("inf"):
            continue
        room = measure - (indent if start == 0 else 0.0)
        running = start > 0 and after[start - 1] is _After.SOFT
        width, gaps = 0.0, 0
        for end in range(start + 1, count + 1):
            width += widths[end - 1]
            then = after[end - 1]
            soft = then is _After.SOFT
            if end == count or then is not _After.NOTHING:
                shown = width + hyphen if soft else width
                if so_far < cheapest[end]:      # else no line from here can be the better way there
                    cost = so_far + _line_cost(room, shown, gaps, space, style.justify, end == count)
                    if soft:
                        cost += _HYPHEN_COST + (_HYPHENS_RUNNING if running else 0.0)
                    if cost < cheapest[end]:
                        cheapest[end], came_from[end] = cost, start
                if shown - gaps * space * _SHRINK > room and end > start + 1:
                    break
            if then is _After.SPACE:
                width += space
                gaps += 1
    ends = []
    at = count
    while at > 0:
        ends.append(at)
        at = came_from[at]
    return tuple(reversed(ends))


def _line_cost(measure: float, width: float, gaps: int, space: float, justify: bool, last: bool) -> float:
    slack = measure - width
    if slack < 0:
        squeeze = -slack / (gaps * space * _SHRINK) if justify and gaps else float("inf")
        return 100 * squeeze**3 + 10 if squeeze <= 1 else 1e7 * (1 - slack / measure)
    if last:
        return _SHORT_END if width < 2.5 * space * 4 else 0.0
    if not justify:
        return (100 * slack / measure) ** 2 + 10
    stretch = slack / (gaps * space * _STRETCH) if gaps else 4 + 20 * slack / measure
    return 100 * stretch**3 + 10


def _line(
    fragments: Sequence[_Fragment], style: Style, measure: float, space: float, fonts: Fonts, last: bool,
    indent: float,
) -> SetLine:
    """Join fragments into words, then share the slack among the spaces."""
    words: list[list[tuple[str, str]]] = [[]]
    for index, fragment in enumerate(fragments):
        closing = index == len(fragments) - 1
        text = fragment.text + ("-" if closing and fragment.after is _After.SOFT else "")
        word = words[-1]
        if word and word[-1][1] == fragment.face:
            word[-1] = (word[-1][0] + text, fragment.face)
        else:
            word.append((text, fragment.face))
        if fragment.after is _After.SPACE and not closing:
            words.append([])
    widths = [sum(fonts[face].width(text, style.size) for text, face in word) for word in words]
    gaps = len(words) - 1
    slack = measure - indent - sum(widths) - gaps * space
    stretched = style.justify and gaps and (not last or slack < 0)
    gap = space + slack / gaps if stretched else space
    placed: list[tuple[float, str, str]] = []
    at = indent
    for number, (word, width) in enumerate(zip(words, widths, strict=True)):
        inner = at
        for index, (text, face) in enumerate(word):
            spaced = text + (" " if index == len(word) - 1 and number < gaps else "")
            placed.append((inner, spaced, face))
            inner += fonts[face].width(text, style.size)
        at += width + gap
    return SetLine(tuple(placed), style.size, fragments[-1].after is _After.SOFT)
