"""What a press file is printed on: conditions by their registered names, and ICC profiles of printing inks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from cagework.typeset.choices import Stock

REGISTRY = "http://www.color.org"
"""Where the names of output conditions are registered, as an output intent's RegistryName says it."""


UNREGISTERED = "Custom"
"""What stands for the name of a condition that is not registered (PDF Reference 1.7, table 10.51)."""


@dataclass(frozen=True, slots=True)
class Condition:
    """A printing condition under its registered name, and what it is in words."""

    name: str
    info: str


CONDITIONS: Mapping[Stock, Condition] = MappingProxyType({
    Stock.COATED: Condition("FOGRA51", "Offset on coated paper, ISO 12647-2:2013"),
    Stock.UNCOATED: Condition("FOGRA52", "Offset on wood-free uncoated paper, ISO 12647-2:2013"),
    Stock.NEWSPRINT: Condition("IFRA26", "Coldset on newsprint, ISO 12647-3"),
})
"""Stock -> the output condition the file is made for; the names are reference names of the ICC registry.

FOGRA51 and FOGRA52 as corgae.it article 355 gives them; IFRA26 as WAN-IFRA's newspaper profile page does. None
of the three was read at the registry itself, so their exact spelling there is unchecked, IFRA26's most of all.
"""


def profile_inks(profile: bytes) -> int:
    """How many inks a printing profile is for: 1 (gray) or 4 (CMYK).

    ValueError where it is no ICC profile, not of class `prtr`, or for other inks (ICC.1, profile header: the
    class at byte 12, the colour space at 16, the signature `acsp` at 36).
    """
    if len(profile) < 128 or profile[36:40] != b"acsp":
        raise ValueError("this is not an ICC profile")
    if profile[12:16] != b"prtr":
        raise ValueError(f"this profile is of class '{_code(profile[12:16])}', not for printing ('prtr')")
    inks = {b"CMYK": 4, b"GRAY": 1}.get(profile[16:20])
    if inks is None:
        raise ValueError(f"this profile is for {_code(profile[16:20]).strip()}, not for gray or CMYK")
    return inks


def _code(four: bytes) -> str:
    return four.decode("ascii", "replace")
