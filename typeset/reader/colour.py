"""Colour spaces and colours as a PDF states them (ISO 32000-1, 8.6), and the inks they come to."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from pypdf.generic import StreamObject

from cagework.typeset.reader.functions import Function, read_function
from cagework.typeset.reader.keys import each, follow, look

_SHORT = {"G": "DeviceGray", "RGB": "DeviceRGB", "CMYK": "DeviceCMYK", "I": "Indexed"}
"""Names inline images may use (ISO 32000-1, table 93)."""

_DEFAULTS = {"DeviceGray": "/DefaultGray", "DeviceRGB": "/DefaultRGB", "DeviceCMYK": "/DefaultCMYK"}
"""What stands for a device's space where the resources say so (ISO 32000-1, 8.6.5.6)."""

_PROCESS = {"Cyan": 0, "Magenta": 1, "Yellow": 2, "Black": 3}
_COUNTS = {"DeviceGray": 1, "CalGray": 1, "DeviceRGB": 3, "CalRGB": 3, "Lab": 3, "DeviceCMYK": 4, "Indexed": 1,
           "Separation": 1}

FAMILIES = frozenset((*_COUNTS, "DeviceN", "ICCBased", "Pattern"))
"""All there are."""

_DEPTH = 8
"""Spaces within spaces; more is a file that runs in circles."""

Inks = tuple[float, float, float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Space:
    """A colour space: its family, the inks it names (Separation, DeviceN), the space it rests on.

    `count` is how many numbers a colour has, 0 where that is unknown; `table` an Indexed space's colours;
    `transform` what turns tints into colours of the base.
    """

    family: str
    names: tuple[str, ...] = ()
    base: Space | None = None
    count: int = 0
    table: bytes = b""
    transform: Function | None = None

    def chain(self) -> Iterator[Space]:
        """Itself and all it rests on."""
        yield self
        if self.base is not None:
            yield from self.base.chain()


GRAY = Space("DeviceGray", count=1)
RGB = Space("DeviceRGB", count=3)
CMYK = Space("DeviceCMYK", count=4)


@dataclass(frozen=True, slots=True)
class Colour:
    """A colour: its space, and its values where it is one plain colour (empty for images and shadings)."""

    space: Space
    values: tuple[float, ...] = ()

    @property
    def inks(self) -> Inks | None:
        """Cyan, magenta, yellow, black, each from 0 to 1; None where that is not known.

        A spot ink counts as black: how much it is, not its hue, is what the rules ask. Colours by profile count
        as the gray or CMYK they are given in.
        """
        match self.space.family, self.values:
            case ("DeviceGray" | "CalGray" | "ICCBased"), (gray,):
                return 0.0, 0.0, 0.0, 1 - gray
            case ("DeviceCMYK" | "ICCBased"), (cyan, magenta, yellow, black):
                return cyan, magenta, yellow, black
            case ("Separation" | "DeviceN"), tints if len(tints) == len(self.space.names):
                return _named(self.space.names, tints)
            case "Indexed", (index,):
                return self._listed(int(index))
        return None

    def _listed(self, index: int) -> Inks | None:
        base, table = self.space.base, self.space.table
        if base is None or not base.count or index < 0 or (index + 1) * base.count > len(table):
            return None
        entry = table[index * base.count:(index + 1) * base.count]
        return Colour(base, tuple([byte / 255 for byte in entry])).inks

    @property
    def total(self) -> float | None:
        """All inks together, 1 being one solid ink; None where that is not known."""
        inks = self.inks
        return None if inks is None else sum(inks)


def _named(names: Sequence[str], tints: Sequence[float]) -> Inks:
    """Inks by their names."""
    if tuple(names) == ("All",):
        return tints[0], tints[0], tints[0], tints[0]
    inks = [0.0, 0.0, 0.0, 0.0]
    for name, tint in zip(names, tints, strict=True):
        if name != "None":
            inks[_PROCESS.get(name, 3)] += tint
    return inks[0], inks[1], inks[2], inks[3]


BLACK = Colour(GRAY, (0.0,))


def colour_of(space: Space, operands: Iterable[Any]) -> Colour:
    """A colour by its numbers. ValueError where a space takes more or fewer."""
    colour = Colour(space, tuple(map(float, operands)))
    if space.count and len(colour.values) != space.count:
        raise ValueError(f"{space.family} takes {space.count} numbers, not {len(colour.values)}")
    return colour


def first_colour(space: Space) -> Colour:
    """The colour a space starts with (ISO 32000-1, 8.6.3 ff.)."""
    match space.family:
        case "DeviceGray" | "CalGray" | "Indexed":
            return Colour(space, (0.0,))
        case "DeviceCMYK":
            return Colour(space, (0.0, 0.0, 0.0, 1.0))
        case "Separation" | "DeviceN":
            return Colour(space, (1.0,) * len(space.names))
        case "ICCBased" if space.count in (1, 4):
            return Colour(space, (0.0,) * space.count)
    return Colour(space)


def device_space(space: Space, resources: Any) -> Space:
    """What a device's space stands for where these resources hold."""
    listed = look(resources, "/ColorSpace")
    if isinstance(listed, dict) and space.family in _DEFAULTS:
        default = look(listed, _DEFAULTS[space.family])
        if default is not None:
            return read_space(default, None, 1)
    return space


def read_space(thing: Any, resources: Any, depth: int = 0) -> Space:
    """A colour space given by name or as an array; names not built in are looked up in the resources."""
    thing = follow(thing)
    if depth > _DEPTH:
        raise ValueError("colour spaces within colour spaces without end")
    if isinstance(thing, str):
        name = thing.lstrip("/")
        listed = look(look(resources, "/ColorSpace"), thing)
        if listed is not None:
            return read_space(listed, resources, depth + 1)
        family = _SHORT.get(name, name)
        return device_space(Space(family, count=_COUNTS.get(family, 0)), resources)
    parts = each(thing)
    if not parts:
        raise ValueError("a colour space that is none")
    family = str(parts[0]).lstrip("/")
    family = _SHORT.get(family, family)
    if len(parts) == 1 or family in _DEFAULTS:
        return read_space(parts[0], resources, depth + 1)
    match family:
        case "Indexed":
            return Space(family, (), read_space(parts[1], resources, depth + 1), 1, _bytes(parts[3]))
        case "Separation":
            return Space(family, (str(parts[1])[1:],), read_space(parts[2], resources, depth + 1), 1,
                         transform=_transform(parts))
        case "DeviceN":
            names = tuple(str(name)[1:] for name in each(parts[1]))
            return Space(family, names, read_space(parts[2], resources, depth + 1), len(names),
                         transform=_transform(parts))
        case "ICCBased":
            return Space(family, count=int(look(parts[1], "/N", 0)))
        case "Pattern":
            return Space(family, (), read_space(parts[1], resources, depth + 1))
    return Space(family, count=_COUNTS.get(family, 0))


def _bytes(table: Any) -> bytes:
    if isinstance(table, StreamObject):
        return bytes(table.get_data())
    return bytes(table.original_bytes if hasattr(table, "original_bytes") else table)


def _transform(parts: Sequence[Any]) -> Function | None:
    try:
        return read_function(parts[3])
    except Exception:   # what it does is not needed to know which inks there are
        return None
