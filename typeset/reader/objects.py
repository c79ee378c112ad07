"""Every dictionary and stream below a page or the catalogue, each once, and what it is there as."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from pypdf.generic import ArrayObject, DictionaryObject, IndirectObject

from cagework.typeset.reader.keys import follow

_ASIDE = frozenset((
    "/Parent", "/P", "/Pg", "/Dest", "/StructParent", "/StructParents", "/B", "/Next", "/Prev", "/Popup", "/IRT",
    "/Pages", "/StructTreeRoot", "/Outlines", "/Threads", "/Dests", "/SD",
))
"""Keys that lead away from what a page or a catalogue holds itself."""

_MOST = 100_000
"""Things below one page; a file with more is not what it seems."""


class Held(NamedTuple):
    """A dictionary or stream, the key it stands under, and the key its holder stands under."""

    holder: str
    key: str
    thing: DictionaryObject

    @property
    def is_resources(self) -> bool:
        """Whether it is a resource dictionary."""
        return self.key == "/Resources"

    @property
    def is_font(self) -> bool:
        """Whether it is a font that text may be set in, not one below a composite font."""
        return "/Font" in (self.holder, self.key) and "/Subtype" in self.thing

    @property
    def is_state(self) -> bool:
        """Whether it is a set of graphics state parameters."""
        return self.holder == "/ExtGState" or (self.key == "/ExtGState" and not _STATE.isdisjoint(self.thing))


_STATE = frozenset(("/Type", "/ca", "/CA", "/BM", "/SMask", "/TR", "/TR2", "/HT", "/OP", "/op", "/LW", "/Font"))


class Objects:
    """What lies below what in one file, each dictionary looked into once."""

    def __init__(self) -> None:
        self._children: dict[int, tuple[Any, list[tuple[str, DictionaryObject]]]] = {}

    def below(self, top: DictionaryObject) -> tuple[Held, ...]:
        """All below a dictionary, itself first. ValueError where that is more than makes sense."""
        found = [Held("", "", top)]
        seen = {id(top)}
        for held in found:
            for key, thing in self._below(held.thing):
                if id(thing) not in seen:
                    seen.add(id(thing))
                    found.append(Held(held.key, key, thing))
            if len(found) > _MOST:
                raise ValueError(f"more than {_MOST} things lie below it")
        return tuple(found)

    def _below(self, thing: DictionaryObject) -> list[tuple[str, DictionaryObject]]:
        if id(thing) not in self._children:     # kept with it, so that its id stays its own
            self._children[id(thing)] = (thing, [
                (str(key), child) for key, value in thing.items() if key not in _ASIDE
                for child in _dictionaries(value)
            ])
        return self._children[id(thing)][1]


def _dictionaries(value: Any) -> Iterator[DictionaryObject]:
    """A value's dictionary, or those in an array, however nested."""
    waiting = [value]
    for item in waiting:
        if isinstance(item, IndirectObject):
            try:
                item = follow(item)
            except Exception:       # a reference to nothing readable, met again where it is used
                continue
        if isinstance(item, DictionaryObject):
            yield item
        elif isinstance(item, ArrayObject) and len(waiting) < _MOST:
            waiting += [part for part in list.__iter__(item)
                        if isinstance(part, (IndirectObject, DictionaryObject, ArrayObject))]
