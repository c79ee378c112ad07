"""The pages of a plan as pictures, each drawn when the browser first asks for it."""

from __future__ import annotations

import hashlib
import threading
from dataclasses import dataclass

from cagework.typeset.marks import MM
from cagework.typeset.plan import Plan
from cagework.typeset.write.svg import svg_text

_KEPT = 300
"""How many drawn pages are kept."""


@dataclass(frozen=True, slots=True)
class Picture:
    """One page as SVG; the digest tells one drawing from another."""

    svg: str
    digest: str


class PagePictures:
    """The pages of one plan, the last drawn kept. Any thread may ask, and none draws what another is drawing."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self._drawn: dict[int, Picture] = {}
        self._drawing = threading.Lock()

    def page(self, number: int) -> Picture | None:
        """Page `number`, from 1; None where there is no such page."""
        if not 0 < number <= len(self.plan.leaves):
            return None
        with self._drawing:
            if number not in self._drawn:
                self._drawn[number] = _drawn(self.plan, number)
                if len(self._drawn) > _KEPT:
                    del self._drawn[next(iter(self._drawn))]
            return self._drawn[number]


def _drawn(plan: Plan, number: int) -> Picture:
    page = plan.page(number)
    text = svg_text(page.marks, page.width, page.height, plan.setting.fonts, f"Page {number}",
                    around=plan.setting.book.press.bleed * MM)
    return Picture(text, hashlib.sha256(text.encode()).hexdigest()[:20])
