"""The pages of a plan as pictures, each drawn when the browser first asks for it."""

from __future__ import annotations

import threading
from dataclasses import dataclass

from cagework.typeset.last_build import look_of, picture_of
from cagework.typeset.plan import Plan

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
        self._looks: dict[int, str] = {}
        self._drawing = threading.Lock()

    def page(self, number: int) -> Picture | None:
        """Page `number`, from 1; None where there is no such page."""
        if not 0 < number <= len(self.plan.leaves):
            return None
        with self._drawing:
            if number not in self._drawn:
                self._drawn[number] = _drawn(self.plan, number)
                self._looks[number] = self._drawn[number].digest
                if len(self._drawn) > _KEPT:
                    del self._drawn[next(iter(self._drawn))]
            return self._drawn[number]

    def looks(self) -> list[str]:
        """The digests of all pages; those that nobody has asked for are drawn now."""
        found = []
        for number in range(1, len(self.plan.leaves) + 1):
            known = self._looks.get(number)
            drawn = self.page(number) if known is None else None
            found.append(known or (drawn.digest if drawn else ""))
        return found


def _drawn(plan: Plan, number: int) -> Picture:
    text = picture_of(plan.setting, plan.page(number), number)
    return Picture(text, look_of(text))
