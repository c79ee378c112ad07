"""Every letter of a page: where it should stand, in its face, size and ink; none lost, changed, moved or added."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

from cagework.typeset.marks import Text
from cagework.typeset.readback.lettering import Lettering
from cagework.typeset.readback.misfit import Misfit, Pair, darkness_words, where
from cagework.typeset.readback.painted import SAME_INK
from cagework.typeset.readback.sides import PlacedGlyph, TurnedRun

_NEAR = 0.5
"""Points by which a letter may have been moved in the passing of a file through other programs."""

_SAME_SIZE = 0.01
"""The share of its size by which a letter may be larger or smaller."""

_SAME_WIDTH = 0.04
"""Ems by which a letter that stands alone may be wider or narrower."""

_WIDE = 0.6
"""How far apart, in ems, letters are that are told of apart."""

_BLANK = 0.15
"""How far apart, in ems, words are, at the least."""


def compare_letters(
    wanted: Sequence[PlacedGlyph], found: Sequence[PlacedGlyph], lettering: Lettering, pairs: list[Pair],
) -> Iterator[Misfit]:
    """Texts of which letters are missing, with what stands in their place; letters that look otherwise than they
    should; and letters too many.
    """
    buckets: dict[tuple[str, int, int], list[PlacedGlyph]] = defaultdict(list)
    for glyph in found:
        buckets[str(glyph.said), round(glyph.left), round(glyph.base)].append(glyph)
    matched: list[tuple[PlacedGlyph, PlacedGlyph]] = []
    missed: list[PlacedGlyph] = []
    for due in wanted:
        there = _nearest(due, buckets)
        if there is None:
            missed.append(due)
            continue
        buckets[str(there.said), round(there.left), round(there.base)].remove(there)
        matched.append((due, there))
        box = there.left, there.base - 0.7 * there.size, there.right, there.base
        pairs.append(Pair(due.order, there.order, box, False))
    left = sorted((glyph for some in buckets.values() for glyph in some),
                  key=lambda one: (round(one.base, 1), one.left))
    yield from _lost(missed, wanted, found, left)
    yield from _odd(matched, lettering)
    for said, first in _runs(left):
        faint = "" if first.look.ink > 0.4 and not first.look.oddity else (
            f", {', '.join(filter(None, (darkness_words(first.look.ink), first.look.oddity)))},")
        yield Misfit(first.left, first.base, "words",
                     f"'{_cut(said)}'{faint} stands {where(first.left, first.base)}, where nothing should")


def _nearest(due: PlacedGlyph, buckets: dict[tuple[str, int, int], list[PlacedGlyph]]) -> PlacedGlyph | None:
    """The letter of the file that is the wanted one, if there is any."""
    best: PlacedGlyph | None = None
    least = 0.0
    for over in (-1, 0, 1):
        for down in (-1, 0, 1):
            for one in buckets.get((due.said, round(due.left) + over, round(due.base) + down), ()):
                off = max(abs(one.left - due.left), abs(one.base - due.base))
                if off <= _NEAR and (best is None or (off, one.order) < (least, best.order)):
                    best, least = one, off
    return best


def _lost(
    missed: Sequence[PlacedGlyph], wanted: Sequence[PlacedGlyph], found: Sequence[PlacedGlyph],
    left: list[PlacedGlyph],
) -> Iterator[Misfit]:
    """Texts of which some letters are missing, and what stands in their place; what is `left` over there is taken.
    """
    for order, some in groupby(missed, key=lambda one: one.order):
        lost = list(some)
        text = lost[0].text
        assert text is not None, "wanted letters are of a text"
        whole = [one for one in wanted if one.order == order]
        first, last = whole[0].left - 1, whole[-1].right + 1
        for one in [one for one in left if _within(one, text.y, first, last)]:
            left.remove(one)
        there = sorted((one for one in found if _within(one, text.y, first, last)), key=lambda one: one.left)
        said = "".join(" " + one.said if before and one.left - before.right > _BLANK * one.size else one.said
                       for before, one in zip((None, *there), there, strict=False))
        yield Misfit(text.x, text.y, "words", f"'{_cut(text.string)}' should stand {where(text.x, text.y)}; "
                     + (f"'{_cut(said)}' stands there" if said else "nothing stands there"))


def _within(glyph: PlacedGlyph, base: float, left: float, right: float) -> bool:
    return abs(glyph.base - base) < 1 and left <= (glyph.left + glyph.right) / 2 <= right


def _odd(matched: Iterable[tuple[PlacedGlyph, PlacedGlyph]], lettering: Lettering) -> Iterator[Misfit]:
    """Letters that do not look as they should, a text at a time."""
    for _, some in groupby(matched, key=lambda pair: pair[0].order):
        told: dict[str, list[str]] = {}
        text: Text | None = None
        for due, there in some:
            text = due.text
            for message in _unlike(due, there, lettering):
                told.setdefault(message, []).append(due.said)
        for message, letters in told.items():
            assert text is not None
            said = "".join(letters)
            whole = len(said) == len("".join(text.string.split()))
            yield Misfit(text.x, text.y, "words", f"'{_cut(text.string if whole else said)}', "
                         f"{where(text.x, text.y)}, {message}")


def _width(glyph: PlacedGlyph) -> float:
    return glyph.right - glyph.left


def _unlike(due: PlacedGlyph, there: PlacedGlyph, lettering: Lettering) -> Iterator[str]:
    assert due.text is not None
    if abs(there.size - due.size) > _SAME_SIZE * due.size:
        yield f"is {there.size:.2f} pt large; it should be {due.size:.2f} pt"
    elif there.last and abs(_width(there) - due.text.tracking - _width(due)) > _SAME_WIDTH * due.size:
        yield "is stretched or squeezed"
    if abs(there.look.ink - due.look.ink) > SAME_INK:
        yield f"is {darkness_words(there.look.ink)}; it should be {darkness_words(due.look.ink)}"
    if there.look.oddity:
        yield f"is {there.look.oddity}"
    if lettering.same_face(due.text.face, there.said) is False:
        yield "is set in another face"
    if there.cut:
        yield "is cut off by a clip"


def compare_turned(
    wanted: Sequence[TurnedRun], found: Sequence[TurnedRun], lettering: Lettering, pairs: list[Pair],
) -> Iterator[Misfit]:
    """Texts that do not run from left to right, each as a whole."""
    left = list(found)
    for due in wanted:
        assert due.text is not None
        at = where(due.text.x, due.text.y)
        there = next((one for one in left if one.said == due.said and _apart(one, due) < 0.1 * due.size + 1), None)
        if there is None:
            yield Misfit(due.text.x, due.text.y, "words", f"'{_cut(due.text.string)}', turned, should stand {at}")
            continue
        left.remove(there)
        pairs.append(Pair(due.order, there.order, there.box, False))
        for message in _odd_turned(due, there, lettering):
            yield Misfit(due.text.x, due.text.y, "words", f"'{_cut(due.text.string)}', {at}, {message}")
    for one in left:
        yield Misfit(one.box[0], one.box[3], "words", f"'{_cut(one.said)}', turned, mirrored or slanted, stands "
                     f"{where(one.box[0], one.box[3])}, where nothing should")


def _apart(one: TurnedRun, other: TurnedRun) -> float:
    return max(abs(a - b) for a, b in zip(one.box, other.box, strict=True))


def _odd_turned(due: TurnedRun, there: TurnedRun, lettering: Lettering) -> Iterator[str]:
    assert due.text is not None
    if abs(there.size - due.size) > _SAME_SIZE * due.size:
        yield f"is {there.size:.2f} pt large; it should be {due.size:.2f} pt"
    if abs(there.look.ink - due.look.ink) > SAME_INK:
        yield f"is {darkness_words(there.look.ink)}; it should be {darkness_words(due.look.ink)}"
    if there.look.oddity:
        yield f"is {there.look.oddity}"
    if lettering.same_face(due.text.face, there.letter) is False:
        yield "is set in another face"


def _runs(glyphs: Sequence[PlacedGlyph]) -> Iterator[tuple[str, PlacedGlyph]]:
    """Letters that stand together, and the first of them."""
    joined: list[PlacedGlyph] = []
    for glyph in glyphs:
        if joined and (abs(glyph.base - joined[-1].base) > 0.3 or not
                       -glyph.size < glyph.left - joined[-1].right < _WIDE * glyph.size):
            yield "".join(one.said for one in joined), joined[0]
            joined = []
        joined.append(glyph)
    if joined:
        yield "".join(one.said for one in joined), joined[0]


def _cut(text: str) -> str:
    return text if len(text) <= 60 else text[:59] + "…"
