"""Prose of the publisher's own, as its pages set it: blocks of runs, each in one look."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple


class Look(StrEnum):
    """How a run of prose is set."""

    PLAIN = "plain"
    ITALIC = "italic"
    BOLD = "bold"


class Span(NamedTuple):
    """A run of prose in one look."""

    text: str
    look: Look


class ProseKind(StrEnum):
    """What a piece of a text page is."""

    HEADING = "heading"
    SUBHEADING = "subheading"
    PARAGRAPH = "paragraph"
    ITEM = "item"            # of a list


@dataclass(frozen=True, slots=True)
class ProseBlock:
    """A piece of a text page; an item has the number before it, or a bullet where that is None."""

    kind: ProseKind
    spans: tuple[Span, ...]
    number: int | None = None

    @property
    def text(self) -> str:
        """What it says."""
        return "".join(span.text for span in self.spans)
