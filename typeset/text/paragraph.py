"""Paragraphs to lines: hyphenated, justified or ragged, broken for the best paragraph as a whole.

All breaks of a paragraph are weighed together, as by Knuth and Plass, "Breaking paragraphs into lines", Software:
Practice and Experience 11 (1981), 1119-1184, whose words are used here. A paragraph is boxes, glue that stretches
and shrinks, and penalties; a line may end at a glue or at a penalty. A line's adjustment ratio is how much of its
stretch or shrink it takes, its badness is 100 times the cube of that, and the least total demerits win.

Ours differs in that
- demerits are badness and penalty added up, not squared, and badness is not rounded;
- the tolerance bounds a line's demerits, not its adjustment ratio, and is raised until nothing could be missed;
- there are no fitness classes, and no forced breaks within a paragraph;
- the last line is not filled by glue without limit: it is free, and costs a fixed sum where it is very short;
- a ragged line is as bad as its white is wide, squared; a line too long is allowed where there is no other way.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from enum import Enum
from itertools import pairwise

import pyphen

from cagework.layouts.load import Layout
from cagework.typeset.marks import After, Text
from cagework.typeset.text.fonts import Fonts

_STRETCH, _SHRINK = 0.5, 0.22      # of a glue's width, a word space; from memory of common practice
_LINE_PENALTY = 10.0               # of every line but the last
_HYPHEN_PENALTY = 60.0
_FLAGGED_TWICE = 4000.0            # further demerits where two lines running end in a hyphen
_SHORT_END = 1500.0                # a last line shorter than an indent looks like a slip
_OVERFULL = 1e7
_TOLERANCE = 2000.0                # such a line's spaces are more than twice as wide as they should be
_UNSTRETCHED = 4.0                 # the least adjustment ratio of a line without glue
_LONE_WORD = 100 * _UNSTRETCHED**3 + _LINE_PENALTY
_INFINITE = float("inf")
_HAIR = 1e-6                       # demerits that differ by less are the same but for rounding


class _Item(Enum):
    """The item after a box."""

    BOX = 0         # another box at once: no line may end between the two
    GLUE = 1        # a word space; the end of the paragraph counts as one
    HYPHEN = 2      # a flagged penalty, as wide as a hyphen where the line ends at it
    DASH = 3        # a penalty without width that costs nothing: the box ends in a dash of its own


_BOX, _GLUE, _HYPHEN = _Item.BOX, _Item.GLUE, _Item.HYPHEN


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
    """What stands between two glues of a line, and its width in pt."""

    runs: tuple[_Run, ...]
    width: float


@dataclass(frozen=True, slots=True)
class _TextBox:
    """What is never divided, and the item after it. Its width in pt is `going_on` with the glue, where a line goes
    on, and `ending` with the hyphen, where a line ends here.

    `word` is what it makes where it stands alone between two glues.
    """

    text: str
    face: str
    after: _Item
    going_on: float
    ending: float
    word: _Word


@dataclass(frozen=True, slots=True)
class Style:
    """How a paragraph is set: faces, size and leading in pt, whether to justify and to divide words. Where there
    is no face for emphasis, a star is a letter like any other.
    """

    face: str
    emphasis: str | None
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
            chunks += [(at + dx, chunk) for dx, chunk in (run.spaced if spaced else run.plain)]
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
            if len(word.runs) == 1:
                yield at, word.runs[0], left > 0
                at += word.width + self.gap
                continue
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


def italic_of(layout: Layout) -> str:
    """The face of by-lines and notes; upright where the layout wants no italics."""
    prose = layout.prose
    return "serif-italic" if prose.italics and prose.family == "serif" else prose.family


def paragraphs(text: str) -> tuple[str, ...]:
    """Split prose at blank lines; line ends within a paragraph are spaces, no-break spaces stay."""
    parts = [part for part in re.split(r"\n\s*\n", text) if part.strip()]
    return tuple(re.sub(r"[ \t\n]+", " ", part).strip(" ") for part in parts)


def set_paragraph(
    text: str | Sequence[tuple[str, str]], style: Style, measure: float, fonts: Fonts, indent: float = 0.0,
) -> tuple[SetLine, ...]:
    """Break one paragraph into lines of `measure` pt, the first `indent` pt shorter, or longer, to the left, where
    that is negative. In a text `*word*` is emphasis; runs of (text, face) stand as they are.
    """
    vocabulary = _vocabulary(style, fonts)
    boxes = vocabulary.boxes(text) if isinstance(text, str) else vocabulary.boxes_of_runs(text)
    lines = []
    start = 0
    for end in _breakpoints(boxes, style.justify, measure, vocabulary.space, indent):
        words = vocabulary.words(boxes[start:end])
        lead = 0.0 if start else indent
        glues = len(words) - 1
        white = measure - lead - sum([word.width for word in words]) - glues * vocabulary.space
        adjusted = style.justify and glues and (end < len(boxes) or white < 0)
        gap = vocabulary.space + white / glues if adjusted else vocabulary.space
        lines.append(SetLine(words, style.size, lead, gap, boxes[end - 1].after is _HYPHEN))
        start = end
    return tuple(lines)


def _vocabulary(style: Style, fonts: Fonts) -> _Vocabulary:
    return fonts.once(_Vocabulary, style.face, style.emphasis, style.size, style.language)


class _Vocabulary:
    """The words of one style as boxes, each cut up and measured once."""

    def __init__(self, fonts: Fonts, face: str, emphasis: str | None, size: float, language: str | None) -> None:
        self._fonts, self._face, self._emphasis, self._size = fonts, face, emphasis, size
        self._divider = _divider(language)
        self._cut: tuple[dict[str, tuple[_TextBox, ...]], ...] = ({}, {})
        self._made: dict[tuple[tuple[str, str], ...], _Word] = {}
        self.space = fonts[face].width(" ", size)
        self._hyphen = fonts[face].width("-", size)

    def boxes(self, text: str) -> list[_TextBox]:
        """A paragraph cut up."""
        found: list[_TextBox] = []
        emphatic = False
        known = self._cut[emphatic]
        for word in text.split(" "):
            boxes = known.get(word)
            if boxes is None:
                boxes = known[word] = tuple(self._boxes(word, emphatic))
            found += boxes
            if "*" in word and self._emphasis:
                emphatic ^= word.count("*") % 2 == 1
                known = self._cut[emphatic]
        return found

    def boxes_of_runs(self, runs: Iterable[tuple[str, str]]) -> list[_TextBox]:
        """Runs of (text, face) cut up; the face may change in mid-word."""
        words: list[list[tuple[str, str]]] = [[]]
        for text, face in runs:
            first, *more = text.split(" ")
            words[-1].append((first, face))
            words += [[(part, face)] for part in more]
        return [box for word in words for box in self._cut_up(word)]

    def words(self, boxes: Sequence[_TextBox]) -> tuple[_Word, ...]:
        """The boxes of one line joined into words, with a hyphen where the last one is divided."""
        words: list[_Word] = []
        part: list[_TextBox] = []
        for box in boxes:
            if box.after is _GLUE and not part:
                words.append(box.word)
                continue
            part.append(box)
            if box.after is _GLUE:
                words.append(self._joined(part))
                part = []
        if part:
            words.append(self._joined(part))
        return tuple(words)

    def _joined(self, part: Sequence[_TextBox]) -> _Word:
        runs: list[tuple[str, str]] = []
        for box in part:
            if runs and runs[-1][1] == box.face:
                runs[-1] = (runs[-1][0] + box.text, box.face)
            else:
                runs.append((box.text, box.face))
        if part[-1].after is _HYPHEN:
            runs[-1] = (f"{runs[-1][0]}-", runs[-1][1])
        return self._word(tuple(runs))

    def _word(self, runs: tuple[tuple[str, str], ...]) -> _Word:
        """A word of (text, face) runs."""
        word = self._made.get(runs)
        if word is None:
            size = self._size
            measured = tuple([
                _Run(text, name, face.width(text, size), face.chunks(text, size), face.chunks(f"{text} ", size))
                for text, name in runs for face in (self._fonts[name],)
            ])
            word = self._made[runs] = _Word(measured, sum([run.width for run in measured]))
        return word

    def _boxes(self, word: str, emphatic: bool) -> Iterator[_TextBox]:
        pieces: list[tuple[str, str]] = []
        emphasis = self._emphasis
        for number, part in enumerate(word.split("*") if emphasis else [word]):
            pieces.append((part, emphasis if emphasis and emphatic ^ number % 2 else self._face))
        return self._cut_up(pieces)

    def _cut_up(self, pieces: Sequence[tuple[str, str]]) -> Iterator[_TextBox]:
        """One word of (text, face) pieces."""
        pieces = [piece for piece in pieces if piece[0]]
        for number, (piece, asked) in enumerate(pieces, 1):
            face = self._fonts.face_for(asked, piece)
            for text, after in _divided(piece, _GLUE if number == len(pieces) else _BOX, self._divider):
                width = self._fonts[face].width(text, self._size)
                yield _TextBox(
                    text, face, after, width + self.space if after is _GLUE else width,
                    width + self._hyphen if after is _HYPHEN else width, self._word(((text, face),)))


@functools.cache
def _divider(language: str | None) -> pyphen.Pyphen | None:
    known = language and pyphen.language_fallback(language.replace("-", "_"))
    return pyphen.Pyphen(lang=known, left=2, right=3) if known else None


def _divided(word: str, outer: _Item, divider: pyphen.Pyphen | None) -> Iterator[tuple[str, _Item]]:
    """The pieces of a word, and the item after each; `outer` after the last. Digits stay together: 3-4, 1-3-8."""
    parts = [part for part in re.split(r"(?<=[-–—/])(?!(?<=\d-)\d)(?=[“„‘‚«]?\w)", word) if part]
    for number, part in enumerate(parts):
        closing = outer if number == len(parts) - 1 else _Item.DASH
        pieces = [part]
        if divider and len(parts) == 1 and not any(char.isdigit() for char in part):
            edges = [0, *_cuts(part, divider), len(part)]
            pieces = [part[a:b] for a, b in pairwise(edges)]
        for index, piece in enumerate(pieces):
            yield piece, closing if index == len(pieces) - 1 else _HYPHEN


def _cuts(word: str, divider: pyphen.Pyphen) -> list[int]:
    """Where a word may be divided; what surrounds its letters does not count as part of it."""
    letters = re.search(r"[^\W\d_]+(?:[’'][^\W\d_]+)*", word)
    if letters is None:
        return []
    return [letters.start() + cut for cut in divider.positions(letters.group())]


def _breakpoints(
    boxes: Sequence[_TextBox], justify: bool, measure: float, space: float, indent: float,
) -> list[int]:
    """The boxes after which the lines end, for the least total demerits; among several such ways, the later lines
    are the fuller.

    No line of the best paragraph has more demerits than the whole of another. So lines within the tolerance are
    tried alone, and what they come to says what line is worth trying, should that be more.
    """
    tolerance = _TOLERANCE
    while True:
        total, ends = _least(boxes, justify, measure, space, indent, tolerance)
        if total <= tolerance:
            return ends
        tolerance = total if total < _LONE_WORD else _INFINITE


def _least(
    boxes: Sequence[_TextBox], justify: bool, measure: float, space: float, indent: float, tolerance: float,
) -> tuple[float, list[int]]:
    """The least total demerits, and the ends of the lines, where no line has more than the tolerance; by dynamic
    programming over the legal breakpoints.

    A line from a later breakpoint is looser, and worse unless it is too long or has no glue. `active` are the
    breakpoints a line may begin at: box, width before it, room for the line, glues before, least total demerits so
    far, whether flagged.
    """
    count = len(boxes)
    came_from = [0] * (count + 1)
    active = [(0, 0.0, measure - indent, 0, 0.0, False)]
    least, at, glues = 0.0, 0.0, 0
    for end, box in enumerate(boxes, 1):
        after = box.after
        reach, inside = at + box.ending, glues
        at += box.going_on
        glues += after is _GLUE
        if after is _BOX and end < count:
            continue
        least, chosen, spent = _INFINITE, 0, 0
        for start, begin, room, before, so_far, flagged in active:
            natural, within = reach - begin, inside - before
            fits = natural <= room
            if not fits and natural - room > within * space * _SHRINK and start < end - 1:
                spent += 1      # nor does any longer line from here
                if tolerance < _INFINITE:
                    continue
            if so_far >= least:
                continue
            demerits = _demerits(room, natural, within, space, justify, end == count)
            if demerits > tolerance:
                if fits:
                    break
                continue
            total = so_far + demerits
            if after is _HYPHEN:
                total += _HYPHEN_PENALTY + (_FLAGGED_TWICE if flagged else 0.0)
            if total < least - _HAIR:
                least, chosen = total, start
        del active[:spent]
        if least < _INFINITE:
            active.append((end, at, measure, glues, least, after is _HYPHEN))
            came_from[end] = chosen
    ends = []
    while count > 0:
        ends.append(count)
        count = came_from[count]
    return least, ends[::-1]


def _demerits(measure: float, natural: float, glues: int, space: float, justify: bool, last: bool) -> float:
    """Those of one line, of its natural width, before any penalty for a hyphen."""
    white = measure - natural
    if white < 0:
        ratio = -white / (glues * space * _SHRINK) if justify and glues else _INFINITE
        return 100 * ratio**3 + _LINE_PENALTY if ratio <= 1 else _OVERFULL * (1 - white / measure)
    if last:
        return _SHORT_END if natural < 2.5 * space * 4 else 0.0
    if not justify:
        return (100 * white / measure) ** 2 + _LINE_PENALTY
    ratio = white / (glues * space * _STRETCH) if glues else _UNSTRETCHED + 20 * white / measure
    return 100 * ratio**3 + _LINE_PENALTY
