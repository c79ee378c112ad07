"""Colour spaces and colours as a PDF states them (ISO 32000-1, 8.6), and the inks they come to."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from cagework.typeset.reader.keys import each, follow, look

_SHORT = {"G": "DeviceGray", "RGB": "DeviceRGB", "CMYK": "DeviceCMYK", "I": "Indexed"}
"""Names inline images may use (ISO 32000-1, table 93)."""

_DEPTH = 8
"""Spaces within spaces; more is a file that runs in circles."""


@dataclass(frozen=True, slots=True)
class Space:
    """A colour space: its family, the inks it names (Separation, DeviceN), the space it rests on."""

    family: str
    names: tuple[str, ...] = ()
    base: Space | None = None

    def chain(self) -> Iterator[Space]:
        """Itself and all it rests on."""
        yield self
        if self.base is not None:
            yield from self.base.chain()


GRAY = Space("DeviceGray")
RGB = Space("DeviceRGB")
CMYK = Space("DeviceCMYK")


@dataclass(frozen=True, slots=True)
class Colour:
    """A colour: its space, and its values where it is one plain colour (empty for images and shadings)."""

    space: Space
    values: tuple[float, ...] = ()

    @property
    def inks(self) -> tuple[float, float, float, float] | None:
        """Cyan, magenta, yellow, black, each from 0 to 1; None where that is not known.

        A spot ink counts as black: how much it is, not its hue, is what the rules ask.
        """
        match self.space.family, self.values:
            case "DeviceGray", (gray,):
                return 0.0, 0.0, 0.0, 1 - gray
            case "DeviceCMYK", (cyan, magenta, yellow, black):
                return cyan, magenta, yellow, black
            case "Separation", (tint,):
                return (tint, tint, tint, tint) if self.space.names == ("All",) else (0.0, 0.0, 0.0, tint)
        return None

    @property
    def total(self) -> float | None:
        """All inks together, 1 being one solid ink; None where that is not known."""
        inks = self.inks
        return None if inks is None else sum(inks)


BLACK = Colour(GRAY, (0.0,))


def first_colour(space: Space) -> Colour:
    """The colour a space starts with (ISO 32000-1, 8.6.3 ff.)."""
    match space.family:
        case "DeviceGray":
            return Colour(space, (0.0,))
        case "DeviceCMYK":
            return Colour(space, (0.0, 0.0, 0.0, 1.0))
        case "Separation" | "DeviceN":
            return Colour(space, (1.0,) * len(space.names))
    return Colour(space)


def read_space(thing: Any, resources: Any, depth: int = 0) -> Space:
    """A colour space given by name or as an array; names not built in are looked up in the resources."""
    thing = follow(thing)
    if depth > _DEPTH:
        raise ValueError("colour spaces within colour spaces without end")
    if isinstance(thing, str):
        name = thing.lstrip("/")
        listed = look(look(resources, "/ColorSpace"), thing)
        return Space(_SHORT.get(name, name)) if listed is None else read_space(listed, resources, depth + 1)
    parts = each(thing)
    family = str(parts[0]).lstrip("/")
    family = _SHORT.get(family, family)
    match family:
        case "Indexed":
            return Space(family, (), read_space(parts[1], resources, depth + 1))
        case "Separation":
            return Space(family, (str(parts[1])[1:],), read_space(parts[2], resources, depth + 1))
        case "DeviceN":
            names = tuple(str(name)[1:] for name in each(parts[1]))
            return Space(family, names, read_space(parts[2], resources, depth + 1))
        case "Pattern" if len(parts) > 1:
            return Space(family, (), read_space(parts[1], resources, depth + 1))
    return Space(family)
