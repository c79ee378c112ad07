"""Names in the order of the alphabet, for an index.

The order is word by word and that of the letters alone, by Unicode: accents and other marks count only where all
else is alike, as do capitals; a letter that is two, as æ or ß, is filed as both; figures stand before letters, by
their value; all that is no letter or figure is passed over. English and German are filed so (DIN 5007-1: ä as a;
from memory). Languages in which a letter with a mark is one of its own, filed elsewhere, are not told apart.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

_TWO = str.maketrans({"æ": "ae", "œ": "oe", "ø": "o", "ð": "d", "þ": "th", "ł": "l", "đ": "d", "ı": "i"})

FilingKey = tuple[tuple[tuple[int, int, str], ...], str]


def inverted(name: str, articles: Sequence[str]) -> str:
    """A name as it is filed: `Lamp Room, The`; as it is where it does not begin with one of the articles."""
    first, _, rest = name.partition(" ")
    return f"{rest}, {first}" if rest and first.casefold() in {one.casefold() for one in articles} else name


def filing_key(name: str) -> FilingKey:
    """What names are sorted by."""
    plain = "".join(char for char in unicodedata.normalize("NFKD", name.casefold()).translate(_TWO)
                    if not unicodedata.combining(char))
    words = re.findall(r"[0-9]+|[^\W\d_]+", re.sub("[’']", "", plain))
    return tuple((0, int(word), "") if word.isdecimal() else (1, 0, word) for word in words), name


def initial(name: str) -> str:
    """The letter a name is filed under; empty for one that begins with a figure, or has neither."""
    words, _ = filing_key(name)
    return words[0][2][:1] if words else ""
