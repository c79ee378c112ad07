"""Text as it was typed or pasted to text as it can be set: what only a screen knows is taken out or made plain."""

from __future__ import annotations

import re
import unicodedata

_UNSEEN = re.compile("[\u00ad\u200b\u2060\ufeff]")
"""Soft hyphen, zero-width space, word joiner, byte order mark: chances to break a line or not. Lines are broken by
the layout's own rules.
"""

_TIGHT = re.compile("[\u2006-\u2008\u200a]")
"""Spaces of a figure's width, a stop's or a hair's, for which no face is asked: a no-break space. The thin one
(U+2009) and the narrow no-break one (U+202F), as between initials, stay: they have a width of their own.
"""

_BLANK = re.compile("[\x1f\u1680\u2000-\u2005\u205f\u3000]")
"""Other spaces of a width of their own: set as a space."""

_LINE_END = re.compile("\r\n?|[\u2028\u0085\v\f\x1c-\x1e]")
_PARAGRAPH_END = re.compile("\u2029")


def settled(text: str) -> str:
    """The text, composed (Unicode Standard Annex 15, NFC), with nothing unseen; of all blanks, spaces, no-break
    and narrow ones, tabs and line ends are left.
    """
    text = _BLANK.sub(" ", _TIGHT.sub("\u00a0", _UNSEEN.sub("", text)))
    return unicodedata.normalize("NFC", _PARAGRAPH_END.sub("\n\n", _LINE_END.sub("\n", text)))
