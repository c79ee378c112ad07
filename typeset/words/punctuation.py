"""Punctuation as it is typed to punctuation as it is printed: quotation marks, apostrophes, dashes, ellipses.

The marks are CLDR's (unicode-org/cldr-json, `delimiters.json`: `quotationStart`, `quotationEnd`,
`alternateQuotationStart`, `alternateQuotationEnd`; those of `und` for a language without a row here). That ' and "
are typed for either side, and that the apostrophe is ’, is The Unicode Standard, 6.2, "Quotation Marks" and
"Apostrophes". Which side is meant is told from what stands before and after: our rule. Dashes are common practice.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from types import MappingProxyType

TIED = "\u00a0"
"""A space that no line may end at."""


@dataclass(frozen=True, slots=True)
class _Marks:
    """What a language prints: quotation marks round all, and round what is quoted within; what breaks a sentence
    off; and words that an apostrophe begins, as their first letters are left out.
    """

    double: tuple[str, str]
    single: tuple[str, str]
    broken_off: str
    clipped: re.Pattern[str]


def _marks(double: str, single: str, broken_off: str = f"{TIED}–", clipped: str = "n") -> _Marks:
    def pair(both: str) -> tuple[str, str]:
        return both[:len(both) // 2], both[len(both) // 2:]

    return _Marks(pair(double), pair(single), broken_off, re.compile(rf"(?:{clipped})(?!\w)", re.IGNORECASE))


_ROOT = _marks("“”", "‘’")
_MARKS: Mapping[str, _Marks] = MappingProxyType({
    "en": _marks("“”", "‘’", "—", "n|em|til|tisn?|twasn?|twere|twill|twould|neath|tween"),
    "de": _marks("„“", "‚‘", clipped="s|n|ne|nem|nen|ner|nes"),
    "fr": _marks(f"«{TIED}{TIED}»", f"«{TIED}{TIED}»"),
    "it": _marks("«»", "“”"),
    "pl": _marks("„”", "«»"),
})

_APOSTROPHE = "’"
_YEAR = re.compile(r"\d\ds?(?![\w':]|[.,]\d)")
_BOTH_CLIPPED = re.compile(r"(?<!\S)'([nN])'(?!\S)")
_OPENING = frozenset("([{<„‚¿¡/")
_DASHES = frozenset("-–—")
_GENITIVE = frozenset("sSxXzZß")

_PARAGRAPH = re.compile(r"(\n[^\S\n]*\n\s*)")
_BEFORE = r"(?<=[^\s\-–—(\[{<„‚])"
_RULES: tuple[tuple[re.Pattern[str], str], ...] = tuple((re.compile(rule), put) for rule, put in (
    (r"(?<!\.)\.{3}(?!\.)", "…"),
    (r"(?<!\.)\.{4}(?!\.)", "….",),
    (r"(?<!-)---(?!-)", "—"),
    (_BEFORE + r"(?<![\s(\[][\"'])(?<!^[\"'])--(?=[\"'“„‘‚«(\[*]*\w)", f"{TIED}– "),
    (_BEFORE + r"\s+--?\s+(?=[^\s\-])", f"{TIED}– "),
    (_BEFORE + r"\s+--?(?=[\"'”’“‘»)\],;:!?]|\.(?!\d)|$)", f"{TIED}–"),
    (r"(?<!\S)--(?=\s)", "–"),
))
_CUT_SHORT = re.compile(_BEFORE + "--(?!-)")
_TIES = re.compile(r"(?<=\S)[ \t\n]+(?=[–—…](?:[\s.,;:!?)\]\"'”’“‘»]|$))")


def printed(text: str, language: str) -> str:
    """A text as it is printed in a language (a BCP 47 tag): what was typed properly stays.

    -- and - between words are a spaced en dash, --- is an em dash, and no line can begin with either, for the
    space before it is a no-break space. Marks after a digit that close no quotation are primes, and stay.
    """
    marks = _MARKS.get(language.split("-")[0].lower(), _ROOT)
    parts = _PARAGRAPH.split(text)
    return "".join([part if number % 2 else _paragraph(part, marks) for number, part in enumerate(parts)])


def _paragraph(text: str, marks: _Marks) -> str:
    for rule, put in _RULES:
        text = rule.sub(put, text)
    text = _CUT_SHORT.sub(marks.broken_off, text)
    if "'" in text or '"' in text:
        text = _Curling(_BOTH_CLIPPED.sub(rf"{_APOSTROPHE}\1{_APOSTROPHE}", text), marks).curled()
    return _TIES.sub(TIED, text)


_NUMBER = r"(?=\d|\{(?:sum|total|reckoned|count|least|most|bound|last|n|number|page|ranges?)[:}])"
_COUNTED = (
    r"rows?|columns?|box(?:es)?|digits?|page|Part|No\.|of|to|"
    r"Zeilen?|Spalten?|Block|Blöcken?|Ziffern?|Summe|Seite|Teil|Nr\.|auf|um|bis|von|aus")
_AFTER_NOUN = re.compile(rf"(?<!\w)({_COUNTED}) {_NUMBER}", re.IGNORECASE)
_BEFORE_NOUN = re.compile(r"(\{count\}) (?=\w)")


@lru_cache(maxsize=2048)
def tied(phrase: str) -> str:
    """A phrase of the tool's own, in any language, with no-break spaces between a number, or a blank for one, and
    the noun or the small word it belongs to: `row {n}`, `cage of {sum}`, `{count} cells` (common practice).
    """
    return _BEFORE_NOUN.sub(rf"\1{TIED}", _AFTER_NOUN.sub(rf"\1{TIED}", phrase))


class _Curling:
    """One paragraph's straight marks, from the first to the last; `open` are those that wait to be closed."""

    def __init__(self, text: str, marks: _Marks) -> None:
        self._text, self._marks = text, marks
        self._set: list[str] = []
        self._open: list[str] = []

    def curled(self) -> str:
        """The paragraph with every mark that has a side turned to it."""
        for at, char in enumerate(self._text):
            self._set.append(self._double(at) if char == '"' else self._single(at) if char == "'" else char)
        return "".join(self._set)

    def _around(self, at: int) -> tuple[str, str]:
        """The last character before a mark, as it is set, and the next one; stars of emphasis do not count."""
        before = next((char[-1] for char in reversed(self._set) if char != "*"), "")
        after = next((char for char in self._text[at + 1:] if char != "*"), "")
        return before, after

    def _double(self, at: int) -> str:
        before, after = self._around(at)
        is_open = '"' in self._open
        if before.isdigit() and (not is_open or self._closes_later('"', at)):
            return '"'
        if self._is_start(before) and after.strip():
            return self._opens('"')
        if not is_open and after.isalnum() and not before.isalnum():
            return self._opens('"')
        if is_open:
            return self._closes('"')
        return '"' if self._is_start(before) else self._marks.double[1]

    def _single(self, at: int) -> str:
        before, after = self._around(at)
        is_open = "'" in self._open
        if before.isdigit() and (after.isdigit() or not (is_open or after.isalnum())):
            return "'"
        if before.isalnum() and after.isalnum():
            return _APOSTROPHE
        begins = self._is_start(before) or (before in _DASHES and not is_open)
        if begins and after.strip():
            if self._is_clipped(at, before, after):
                return _APOSTROPHE
            return self._opens("'")
        if is_open and not (before in _GENITIVE and self._closes_later("'", at)):
            return self._closes("'")
        return "'" if self._is_start(before) else _APOSTROPHE

    def _is_clipped(self, at: int, before: str, after: str) -> bool:
        """Whether a mark that begins a word stands for letters left out: so does one that nothing could close, but
        for a paragraph's first, as a quotation may go on in the next.
        """
        rest = self._text[at + 1:]
        if self._marks.clipped.match(rest) or _YEAR.match(rest):
            return True
        return bool(before or not after.isupper()) and not self._closes_later("'", at)

    def _closes_later(self, kind: str, at: int) -> bool:
        """Whether a later mark could close a quotation, before one that could open another."""
        ends = r"[^\s\d]" if kind == '"' else r"\S"      # after a digit, a prime as likely
        either = rf"(?:^|(?<=[^\w]))(?P<opens>{kind})(?=\w)|(?<={ends}){kind}(?!\w)"
        later = re.search(either, self._text[at + 1:])
        return later is not None and later["opens"] is None

    def _opens(self, kind: str) -> str:
        self._open.append(kind)
        return (self._marks.double if kind == '"' else self._marks.single)[0]

    def _closes(self, kind: str) -> str:
        """The closing mark, and with it whatever within was left open."""
        while self._open.pop() != kind:
            pass
        return (self._marks.double if kind == '"' else self._marks.single)[1]

    def _is_start(self, before: str) -> bool:
        """Whether a word or a quotation may begin after a character; none is the start of a paragraph."""
        opening = {self._marks.double[0][0], self._marks.single[0][0]}
        return not before.strip() or before in _OPENING or before in opening
