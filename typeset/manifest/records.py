"""Comma-separated values: their records with the place of each field, and what a spreadsheet must not take for a
formula (RFC 4180; OWASP, "CSV Injection").
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from cagework.typeset.manifest.nodes import Spot

SEPARATORS = ",;\t"
"""What fields may be parted by."""

_RISKY = re.compile(r"'*[=+\-@\t\r]")
"""How a text begins that a spreadsheet might run, or that was made harmless before."""


@dataclass(frozen=True, slots=True)
class Field:
    """A field's text, and where it stands with its quotation marks; `flaw` says what is wrong with these."""

    text: str
    spot: Spot
    flaw: str = ""


def separator_of(line: str) -> str:
    """What parts the fields of a line."""
    return max(SEPARATORS, key=line.count)


def records(text: str, start: int, separator: str) -> Iterator[list[Field]]:
    """The records of a text with plain newlines, from an offset on; those of blank lines have nothing in them."""
    field = re.compile(rf'[ ]*"((?:[^"]|"")*)"[ ]*|([^{separator}\n]*)')
    record: list[Field] = []
    at = start
    while at <= len(text):
        found = field.match(text, at)
        assert found is not None, "a field may be empty"
        at = found.end()
        quoted = found[1] is not None
        flaw = ""
        if quoted and text[at:at + 1] not in ("", "\n", separator):
            flaw = "text after the closing quotation mark of a field"
            at = re.compile(rf"[^{separator}\n]*").match(text, at).end()     # type: ignore[union-attr]
        elif not quoted and found[2].lstrip().startswith('"'):
            flaw = "a quotation mark opened here is never closed"
        begin = found.start() + len(found[0]) - len(found[0].lstrip(" "))
        inner = found[1].replace('""', '"') if quoted else found[2]
        record.append(Field(harmful(inner.strip()), Spot(begin, max(1, len(found[0].strip(" ")))), flaw))
        if text[at:at + 1] != separator:
            yield record
            record = []
        at += 1


def table(rows: Iterable[Sequence[object]]) -> bytes:
    """Rows as a file, UTF-8 with the mark by which spreadsheets know it; None is an empty field."""
    made = io.StringIO(newline="")
    csv.writer(made).writerows([harmless(one) if isinstance(one, str) else one for one in row] for row in rows)
    return made.getvalue().encode("utf-8-sig")


def harmless(text: str) -> str:
    """A text that no spreadsheet takes for a formula: with an apostrophe before it, if need be."""
    return f"'{text}" if _RISKY.match(text) else text


def harmful(text: str) -> str:
    """The text that was made harmless."""
    return text[1:] if text.startswith("'") and _RISKY.match(text, 1) else text
