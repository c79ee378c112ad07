"""One page under way: what was found, what is left to spend, and whether the walk is in a pattern or a mask."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from cagework.typeset.reader.budget import PageBudget, TooMuchError
from cagework.typeset.reader.embedded_font import EmbeddedFonts
from cagework.typeset.reader.geometry import Rectangle
from cagework.typeset.reader.layers import Layers
from cagework.typeset.reader.operations import Operation
from cagework.typeset.reader.paint import Paint
from cagework.typeset.reader.phrases import Phrases, phrases

_DEPTH = 12
"""Forms within forms; a file that nests deeper runs in circles."""

_PROBLEMS = 20
"""Problems told of one page; the next hundred say no more."""


class Walk:
    """`found` gathers what the page paints and `problems` what makes no sense in its content."""

    def __init__(self, pdf: Any, faces: EmbeddedFonts, layers: Layers, budget: PageBudget) -> None:
        self.faces, self.layers, self.budget = faces, layers, budget
        self.found: list[Paint] = []
        self.problems: dict[str, int] = {}
        self.tiled = self.masking = self.annotated = False
        self._pdf = pdf
        self._hidden = 0
        self._special = False
        self._phrases: dict[int, tuple[Any, Phrases]] = {}
        self._seen: set[Any] = set()
        self._kept: list[Any] = []

    def phrases(self, contents: Any, depth: int) -> Sequence[Operation]:
        """What a stream that is entered now asks for, each stream cut up once."""
        if depth > _DEPTH:
            raise TooMuchError("forms within forms without end")
        self.budget.enter()
        if id(contents) not in self._phrases:
            try:
                found = phrases(contents, self._pdf, self.budget.operations)
            except TooMuchError:
                self.budget.waste()
                raise
            self._phrases[id(contents)] = (contents, found)
        found = self._phrases[id(contents)][1]
        self.budget.spend(found.operators)
        return found.obeyed

    def is_new(self, thing: Any, *how: Any) -> bool:
        """Whether a thing is met for the first time, used in such a way; it is kept, so its id stays its own."""
        key = (id(thing), *how)
        if key in self._seen:
            return False
        self._seen.add(key)
        self._kept.append(thing)
        return True

    def complain(self, problem: str) -> None:
        """Note what makes no sense."""
        if problem in self.problems or len(self.problems) < _PROBLEMS:
            self.problems[problem] = self.problems.get(problem, 0) + 1

    def add(self, paint: Paint, clip: Rectangle) -> None:
        """Keep a paint, as far as the clip lets it show."""
        left, low, right, top = box = paint.box
        inside = clip[0] <= left and clip[1] <= low and right <= clip[2] and top <= clip[3]
        shown = box if inside else box.cut_to(clip)
        if shown is not None:
            if self._special:
                paint = paint._replace(tiled=paint.tiled or self.tiled, hidden=self._hidden > 0,
                                       annotated=self.annotated, masking=self.masking)
            self.found.append(paint if inside else paint._replace(box=shown, cut=True))

    def hide(self, by: int) -> None:
        """Begin (1) or end (-1) what lies on a layer that is off."""
        self._hidden += by
        self._special = self.tiled or self.masking or self.annotated or self._hidden > 0

    @contextmanager
    def within(self, *, tiled: bool = False, masking: bool = False, annotated: bool = False) -> Iterator[None]:
        """Meanwhile the walk is inside a pattern's cell or a glyph, a soft mask, or an annotation."""
        before = self.tiled, self.masking, self.annotated
        self.tiled, self.masking = self.tiled or tiled or masking, self.masking or masking
        self.annotated = self.annotated or annotated
        self.hide(0)
        try:
            yield
        finally:
            self.tiled, self.masking, self.annotated = before
            self.hide(0)
