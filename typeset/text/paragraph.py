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
from cagework.typeset.text.fonts import Fonts

_STRETCH, _SHRINK = 0.5, 0.22      # of a word space, from memory of common practice
_HYPHEN_COST = 60.0
_HYPHENS_RUNNING = 4000.0
_SHORT_END = 1500.0                # a last line shorter than an indent looks like a slip
_BEARABLE = 2000.0                 # such a line's spaces are more than twice as wide as they should be
_LONE_WORD = 100 * 4.0**3 + 10     # the least that a justified line without spaces costs
_NEVER = float("inf")
_HAIR = 1e-6                       # costs that differ by less are the same but for rounding


class _After(Enum):
    """What may happen after a fragment."""

    NOTHING = 0
    SPACE = 1
    SOFT = 2        # may break, and then shows a hyphen
    DASH = 3        # may break as it is


_NOTHING, _SPACE, _SOFT = _After.NOTHING, _After.SPACE, _After.SOFT


@dataclass(frozen=True, slots=True)
class _Run:
    """Text in one face and its width in pt; its chunks as it is, and with the space that follows it."""

    text: str
    face: str
    width: float
    plain: tuple[tuple[float, str], ...]
    spaced: tuple[tuple[float, str], ...]


@dataclass(frozen=True, slots=True)
class _Word:
    """What stands between two spaces of a line, and its width in pt."""

    runs: tuple[_Run, ...]
    width: float


@dataclass(frozen=True, slots=True)
class _Fragment:
    """What is never divided: its width in pt with the space (`advance`) or the hyphen (`shown`) after it, if any.

    `word` is what it makes where it stands alone between two spaces.
    """

    text: str
    face: str
    after: _After
    advance: float
    shown: float
    word: _Word


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
    """One line: words from `start` on with `gap` between them, in pt; `divided` where it ends in mid-word."""

    row: tuple[_Word, ...]
    size: float
    start: float
    gap: float
    divided: bool = False

    @property
    def words(self) -> tuple[tuple[float, str, str], ...]:
        """(x, text, face) of each run, x from the left edge in pt; the last of a word takes its space along."""
        return tuple([(at, run.text + " " * spaced, run.face) for at, run, spaced in self._placed()])

    def marks(self, x: float, y: float) -> tuple[Text, ...]:
        """The line set with its left edge at x on baseline y."""
        runs: list[tuple[str, list[tuple[float, str]]]] = []
        face, chunks = "", list[tuple[float, str]]()
        for at, run, spaced in self._placed():
            if run.face != face:
                face, chunks = run.face, []
                runs.append((face, chunks))
            for dx, chunk in run.spaced if spaced else run.plain:
                chunks.append((at + dx, chunk))
        end = After.DIVISION if self.divided else After.SPACE
        return tuple([
            Text(x, y, tuple(chunks), face, self.size, after=end if number == len(runs) else After.NOTHING)
            for number, (face, chunks) in enumerate(runs, 1)
        ])

    def _placed(self) -> Iterator[tuple[float, _Run, bool]]:
        """Each run, where it begins, and whether a space follows it."""
        at = self.start
        left = len(self.row)
        for word in self.row:
            left -= 1
            inner = at
            for number, run in enumerate(word.runs, 1):
                yield inner, run, left > 0 and number == len(word.runs)
                inner += run.width
            at += word.width + self.gap


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
    key = (style.face, style.emphasis, style.size, style.language)
    vocabulary: _Vocabulary | None = fonts.kept.get(key)
    if vocabulary is None:
        vocabulary = fonts.kept[key] = _Vocabulary(style, fonts)
    fragments = vocabulary.fragments(text)
    lines = []
    start = 0
    for end in _break(fragments, style.justify, measure, vocabulary.space, indent):
        words = vocabulary.words(fragments[start:end])
        lead = 0.0 if start else indent
        gaps = len(words) - 1
        slack = measure - lead - sum([word.width for word in words]) - gaps * vocabulary.space
        stretched = style.justify and gaps and (end < len(fragments) or slack < 0)
        gap = vocabulary.space + slack / gaps if stretched else vocabulary.space
        lines.append(SetLine(words, style.size, lead, gap, fragments[end - 1].after is _SOFT))
        start = end
    return tuple(lines)


class _Vocabulary:
    """The words of one style, cut up and measured once each."""

    def __init__(self, style: Style, fonts: Fonts) -> None:
        self._style, self._fonts = style, fonts
        self._divider = _divider(style.language)
        self._cut: tuple[dict[str, tuple[_Fragment, ...]], ...] = ({}, {})
        self._made: dict[tuple[tuple[str, str], ...], _Word] = {}
        self.space = fonts[style.face].width(" ", style.size)
        self._hyphen = fonts[style.face].width("-", style.size)

    def fragments(self, text: str) -> list[_Fragment]:
        """A paragraph cut up."""
        found: list[_Fragment] = []
        emphatic = False
        known = self._cut[emphatic]
        for word in text.split(" "):
            fragments = known.get(word)
            if fragments is None:
                fragments = known[word] = tuple(self._fragments(word, emphatic))
            found += fragments
            if "*" in word:
                emphatic ^= word.count("*") % 2 == 1
                known = self._cut[emphatic]
        return found

    def words(self, fragments: Sequence[_Fragment]) -> tuple[_Word, ...]:
        """The fragments of one line joined into words, with a hyphen where the last one is divided."""
        words: list[_Word] = []
        part: list[_Fragment] = []
        for fragment in fragments:
            if fragment.after is _SPACE and not part:
                words.append(fragment.word)
                continue
            part.append(fragment)
            if fragment.after is _SPACE:
                words.append(self._joined(part))
                part = []
        if part:
            words.append(self._joined(part))
        return tuple(words)

    def _joined(self, part: Sequence[_Fragment]) -> _Word:
        runs: list[tuple[str, str]] = []
        for fragment in part:
            if runs and runs[-1][1] == fragment.face:
                runs[-1] = (runs[-1][0] + fragment.text, fragment.face)
            else:
                runs.append((fragment.text, fragment.face))
        if part[-1].after is _SOFT:
            runs[-1] = (f"{runs[-1][0]}-", runs[-1][1])
        return self._word(tuple(runs))

    def _word(self, runs: tuple[tuple[str, str], ...]) -> _Word:
        """A word of (text, face) runs."""
        word = self._made.get(runs)
        if word is None:
            size = self._style.size
            measured = tuple([
                _Run(text, name, face.width(text, size), face.chunks(text, size), face.chunks(f"{text} ", size))
                for text, name in runs for face in (self._fonts[name],)
            ])
            word = self._made[runs] = _Word(measured, sum([run.width for run in measured]))
        return word

    def _fragments(self, word: str, emphatic: bool) -> Iterator[_Fragment]:
        pieces: list[tuple[str, str]] = []
        for number, part in enumerate(word.split("*")):
            if part:
                pieces.append((part, self._style.emphasis if emphatic ^ number % 2 else self._style.face))
        for number, (piece, face) in enumerate(pieces, 1):
            for text, after in _divided(piece, _After.SPACE if number == len(pieces) else _After.NOTHING,
                                        self._divider):
                width = self._fonts[face].width(text, self._style.size)
                yield _Fragment(
                    text, face, after, width + self.space if after is _SPACE else width,
                    width + self._hyphen if after is _SOFT else width, self._word(((text, face),)))


@functools.cache
def _divider(language: str | None) -> pyphen.Pyphen | None:
    known = language and pyphen.language_fallback(language.replace("-", "_"))
    return pyphen.Pyphen(lang=known, left=2, right=3) if known else None


def _divided(word: str, outer: _After, divider: pyphen.Pyphen | None) -> Iterator[tuple[str, _After]]:
    """The pieces of a word, and what may happen after each; `outer` after the last."""
    parts = [part for part in re.split(r"(?<=[-–—/])(?=\w)", word) if part]
    for number, part in enumerate(parts):
        closing = outer if number == len(parts) - 1 else _After.DASH
        pieces = [part]
        if divider and len(parts) == 1 and not any(char.isdigit() for char in part):
            edges = [0, *_cuts(part, divider), len(part)]
            pieces = [part[a:b] for a, b in pairwise(edges)]
        for index, piece in enumerate(pieces):
            yield piece, closing if index == len(pieces) - 1 else _After.SOFT


def _cuts(word: str, divider: pyphen.Pyphen) -> list[int]:
    """Where a word may be divided; what surrounds its letters does not count as part of it."""
    letters = re.search(r"[^\W\d_]+(?:[’'][^\W\d_]+)*", word)
    if letters is None:
        return []
    return [letters.start() + cut for cut in divider.positions(letters.group())]


def _break(
    fragments: Sequence[_Fragment], justify: bool, measure: float, space: float, indent: float,
) -> list[int]:
    """The ends of the lines that cost the least in all; among several such ways, the later lines are the fuller.

    No line of the best paragraph costs more than the whole of another. So lines that are bearable are tried alone,
    and what they come to says how bad a line is worth trying, should that be more.
    """
    bearable = _BEARABLE
    while True:
        cost, ends = _best(fragments, justify, measure, space, indent, bearable)
        if cost <= bearable:
            return ends
        bearable = cost if cost < _LONE_WORD else _NEVER


def _best(
    fragments: Sequence[_Fragment], justify: bool, measure: float, space: float, indent: float, bearable: float,
) -> tuple[float, list[int]]:
    """The best lines none of which costs more than is bearable, and what they cost; dynamic programming over the
    places where a line may end.

    A line that begins later is looser, and costs more unless it is too long or has no spaces. `active` are the
    starts: fragment, place, room for the line, spaces before, least cost so far, whether after a hyphen.
    """
    count = len(fragments)
    came_from = [0] * (count + 1)
    active = [(0, 0.0, measure - indent, 0, 0.0, False)]
    best, at, spaces = 0.0, 0.0, 0
    for end, fragment in enumerate(fragments, 1):
        after = fragment.after
        reach, inside = at + fragment.shown, spaces
        at += fragment.advance
        spaces += after is _SPACE
        if after is _NOTHING and end < count:
            continue
        best, chosen, spent = _NEVER, 0, 0
        for start, begin, room, before, so_far, hyphened in active:
            width, gaps = reach - begin, inside - before
            fits = width <= room
            if not fits and width - room > gaps * space * _SHRINK and start < end - 1:
                spent += 1
                if bearable < _NEVER:
                    continue
            if so_far >= best:
                continue
            line = _line_cost(room, width, gaps, space, justify, end == count)
            if line > bearable:
                if fits:
                    break
                continue
            cost = so_far + line
            if after is _SOFT:
                cost += _HYPHEN_COST + (_HYPHENS_RUNNING if hyphened else 0.0)
            if cost < best - _HAIR:
                best, chosen = cost, start
        del active[:spent]
        if best < _NEVER:
            active.append((end, at, measure, spaces, best, after is _SOFT))
            came_from[end] = chosen
    ends = []
    while count > 0:
        ends.append(count)
        count = came_from[count]
    return best, ends[::-1]


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
