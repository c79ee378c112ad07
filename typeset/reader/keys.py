"""Looking things up in a PDF's objects: references followed, null taken for absent, as ISO 32000-1, 7.3 has it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from pypdf.generic import BooleanObject, DictionaryObject, IndirectObject, NullObject


def follow(thing: Any) -> Any:
    """What a reference leads to; anything else as it is; None for null, and true or false as Python has them."""
    found = thing.get_object() if isinstance(thing, IndirectObject) else thing
    if isinstance(found, BooleanObject):        # which is never false as it is
        return found.value
    return None if isinstance(found, NullObject) else found


def look(holder: Any, key: str, default: Any = None) -> Any:
    """What stands under a key of a dictionary or stream; the default where nothing does, or it is neither."""
    holder = follow(holder)
    if not isinstance(holder, dict) or key not in holder:
        return default
    found = dict.__getitem__(holder, key)
    found = follow(found.get_object() if isinstance(found, IndirectObject) else found)
    return default if found is None else found


def each(array: Any) -> list[Any]:
    """An array's items, references followed; none where it is no array."""
    found = follow(array)
    return [follow(item) for item in found] if isinstance(found, list) else []


def numbers(array: Any) -> tuple[float, ...]:
    """An array of numbers."""
    return tuple(float(item) for item in each(array))


def entries(resources: Any, kind: str) -> Iterator[tuple[str, DictionaryObject]]:
    """The dictionaries and streams a resource dictionary lists under a kind, such as /Font, by name."""
    listed = look(resources, kind)
    if isinstance(listed, DictionaryObject):
        for name in listed:
            thing = look(listed, name)
            if isinstance(thing, DictionaryObject):
                yield str(name), thing


def outline_entries(root: DictionaryObject) -> Iterator[DictionaryObject]:
    """All bookmarks of a document; an outline that runs in circles is followed once."""
    waiting: list[Any] = [root["/Outlines"]] if "/Outlines" in root else []
    seen: set[int] = set()
    while waiting:
        entry = waiting.pop()
        if not isinstance(entry, DictionaryObject) or id(entry) in seen:
            continue
        seen.add(id(entry))
        yield entry
        waiting += [entry[key] for key in ("/Next", "/First") if key in entry]
