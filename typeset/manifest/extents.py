"""Where each value of a YAML text begins and ends, and how it is written: what an edit of it needs to know."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import yaml

from cagework.typeset.manifest.nodes import extent

_LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

Kind = Literal["scalar", "list", "mapping", "alias"]


@dataclass(frozen=True, slots=True)
class Part:
    """A value from offset `start` up to `end`, its anchor included, without blanks and comments after it.

    `style` is that of a scalar (as in YAML events), `flow` whether a collection stands in brackets. `parts` are
    the items of a list, or the keys and values of a mapping in turn.
    """

    kind: Kind
    start: int
    end: int
    style: str = ""
    flow: bool = False
    anchor: str | None = None
    text: str = ""
    parts: tuple[Part, ...] = ()

    @property
    def pairs(self) -> list[tuple[Part, Part]]:
        """The keys of a mapping with their values."""
        return list(zip(self.parts[::2], self.parts[1::2], strict=True))

    def within(self) -> Iterator[Part]:
        """This part and all below it."""
        yield self
        for part in self.parts:
            yield from part.within()


def extents(text: str) -> Part:
    """The root of a text of one document, which `document` has read before: so its depth is bounded."""
    events = yaml.parse(text, Loader=_LOADER)
    return next(part for event in events if (part := _part(event, events, text)) is not None)


def _part(event: yaml.Event, events: Iterator[yaml.Event], text: str) -> Part | None:
    start, end = extent(event)
    match event:
        case yaml.AliasEvent():
            return Part("alias", start, end, anchor=event.anchor)
        case yaml.ScalarEvent():
            end = start + len(text[start:end].rstrip()) if event.style in ("|", ">") else end
            return Part("scalar", start, end, event.style or "", anchor=event.anchor, text=event.value)
        case yaml.CollectionStartEvent():
            parts = []
            for inner in events:
                if isinstance(inner, yaml.CollectionEndEvent):
                    end = extent(inner)[1]
                    break
                if (part := _part(inner, events, text)) is not None:
                    parts.append(part)
            if not event.flow_style:        # it ends where its last value does, not where the next thing begins
                end = parts[-1].end if parts else start
            kind: Kind = "mapping" if isinstance(event, yaml.MappingStartEvent) else "list"
            return Part(kind, start, end, flow=bool(event.flow_style), anchor=event.anchor, parts=tuple(parts))
    return None
