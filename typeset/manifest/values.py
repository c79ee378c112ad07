"""Single values of a manifest: what each kind may be, in our own words where it is not.

The model of the keys (`schema`) is made of these, and so is the reading of what is plainly right (`plain`).
"""

from __future__ import annotations

import re
from collections.abc import Callable
from enum import StrEnum
from typing import Any, TypeVar

from cagework.solver.model import SIZES
from cagework.solver.reasoning.grade import Grade
from cagework.typeset.faults import listed, or_else, quoted
from cagework.typeset.manifest.characters import settled
from cagework.typeset.manifest.nodes import WrittenFloat, WrittenInt

ID = r"[A-Za-z0-9][A-Za-z0-9_-]*"
"""What a puzzle's id may be: it becomes a file name."""

LONGEST_LINE, LONGEST_PROSE = 200, 100_000
"""The most characters of a title or name, and of a text: more is a slip, and would take long to set."""

NOT_OF_CROSSING_SUMS = ("size", "sums", "cages", "regions", "houses", "rules")
"""Keys of a puzzle that say nothing of crossing sums."""

TEXT_JSON: dict[str, Any] = {"type": ["string", "number"]}
"""A line or a text as JSON Schema: a number is taken as it is written."""

Chosen = TypeVar("Chosen", bound=StrEnum)


class Unfit(ValueError):  # noqa: N818 - it says what the value is
    """A fault in our own words. `of_key` says that the message goes on from the key's name; `below` is a key or
    position inside the value to point at.
    """

    def __init__(self, message: str, hint: str = "", *, of_key: bool = False, below: str | int | None = None,
                 ) -> None:
        super().__init__(message)
        self.hint = hint
        self.of_key = of_key
        self.below = below


def as_text(value: object) -> object:
    """Numbers as they were written; a blank text as nothing."""
    if isinstance(value, WrittenInt | WrittenFloat):
        return value.text
    return None if isinstance(value, str) and not value.strip() else value


def one_line(value: str) -> str:
    """A title or name, on one line."""
    line = re.sub(r"[ \t\n]+", " ", settled(value)).strip(" ")
    if not line:
        raise Unfit("is empty", of_key=True)
    if len(line) > LONGEST_LINE:
        raise Unfit(f"is {len(line):,} characters long; a title or name may have {LONGEST_LINE:,}", of_key=True)
    return line


def prose(value: str) -> str:
    """A text of any number of lines."""
    text = settled(value).strip()
    if not text:
        raise Unfit("is empty", of_key=True)
    if len(text) > LONGEST_PROSE:
        raise Unfit(f"is {len(text):,} characters long; a text may have {LONGEST_PROSE:,}", of_key=True)
    return text


def texts(value: object) -> tuple[str, ...]:
    """One text or a list of them, none blank."""
    parts = value if isinstance(value, list) else [value]
    found = []
    for index, part in enumerate(parts):
        if not isinstance(part, str) or not part.strip():
            below = index if isinstance(value, list) else None
            raise Unfit("is empty" if part in (None, "") else "must be text", of_key=True, below=below)
        found.append(part)
    if not found:
        raise Unfit("is empty", of_key=True)
    return tuple(found)


def identifier(value: str) -> str:
    """The id of a puzzle."""
    if not re.fullmatch(ID, value):
        raise Unfit(f"{quoted(value)} cannot be an id",
                    "start with a letter or digit, then letters, digits, '-' and '_' (it becomes a file name), "
                    f"as in id: {re.sub('[^A-Za-z0-9_-]+', '-', value).strip('-_') or 'lamp-room'}")
    return value


def chosen(kind: type[Chosen], word: str) -> Callable[[object], object]:
    """A reader of one of an enum's words; `word` is what one of them is called."""
    def read(value: object) -> object:
        words = [choice.value for choice in kind]
        if value is None or isinstance(value, kind):
            return value
        if not isinstance(value, str):
            raise Unfit(f"must be {listed(words)}", of_key=True)
        if value not in words:
            raise Unfit(f"there is no {word} {quoted(value)}", or_else(value, words))
        return kind(value)

    return read


def grid_size(value: int) -> int:
    """A size there are puzzles of."""
    if value not in SIZES:
        raise Unfit(f"a puzzle's size cannot be {value}", f"sizes are {SIZES[0]} to {SIZES[-1]}")
    return value


def names_cells(text: str) -> bool:
    """Whether a text that should be a block of digits names cells instead."""
    return re.search(r"r\d+c\d", text, re.IGNORECASE) is not None


def givens(value: object) -> str | dict[str, int]:
    """A block of digits, or digits by cell."""
    if isinstance(value, str) and value.strip() and not names_cells(value):
        return value
    if not isinstance(value, dict):
        raise Unfit("must be keys with values, such as {r5c5: 7}, or a block of digits and '.'", of_key=True)
    for cell, digit in value.items():
        if not isinstance(digit, int) or isinstance(digit, bool):
            raise Unfit("must be a digit", of_key=True, below=cell)
    return value


def named(value: object) -> str | dict[str, object]:
    """A rule by name, alone or with its value; what the names mean is checked where the size is known."""
    if isinstance(value, str | dict) and value:
        return value
    raise Unfit("must be a name, or a name with its value, such as {name: value}", of_key=True)


GRADE_WORDS_JSON: dict[str, Any] = {
    "type": "object", "required": list(Grade), "additionalProperties": False,
    "properties": {grade.value: TEXT_JSON | {"description": f"What the book calls the grade {grade}."}
                   for grade in Grade}}
"""The same as JSON Schema."""


def grade_words(value: object) -> dict[Grade, str]:
    """A book's own words for all grades."""
    if not isinstance(value, dict):
        raise Unfit(f"must be keys with values, such as {{{Grade.STROLL}: Easy}}, with a word for each grade",
                    of_key=True)
    found: dict[Grade, str] = {}
    for grade, word in value.items():
        if grade not in list(Grade):
            raise Unfit(f"there is no grade {quoted(str(grade))}", or_else(str(grade), list(Grade)), below=grade)
        text = as_text(word)
        if not isinstance(text, str):
            raise Unfit("is empty" if text is None else "must be text", of_key=True, below=grade)
        try:
            line = one_line(text)
        except Unfit as error:
            raise Unfit(str(error), error.hint, of_key=True, below=grade) from error
        same = next((other for other, taken in found.items() if taken.casefold() == line.casefold()), None)
        if same is not None:
            raise Unfit(f"{quoted(line)} is the word for {same} already",
                        "give each grade a word of its own; grades: none prints none", below=grade)
        found[Grade(grade)] = line
    if missing := [grade.value for grade in Grade if grade not in found]:
        raise Unfit(f"has no word for {listed(missing, 'and')}", "give all four grades a word, or none",
                    of_key=True)
    return found
