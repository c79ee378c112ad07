"""How much work a file may ask for before it is given up: counted, never timed, so as to be alike everywhere."""

from __future__ import annotations

PAGE_OPERATIONS = 600_000
"""Operations on one page, forms, patterns and glyphs among them. A street map has some hundred thousand; each
costs some hundred bytes while a page is looked at, which keeps that under 1 GB.
"""

PAGE_FORMS = 20_000
"""Streams run for one page: forms, cells of patterns, glyphs drawn by the page itself."""

PAGE_LETTERS = 2_000_000
"""Letters set on one page, each with a place of its own; a newspaper page set solid has some ten thousand."""

PAGE_BYTES = 24_000_000
"""Bytes of one page's content, unpacked; beyond, it is a bomb."""

FILE_OPERATIONS, FOR_EACH_BYTE = 600_000, 10
"""Operations in a whole file: some, and more the larger it is. Written out, a byte is no more than one operation;
packing makes it three or four; a form on every page, more.
"""


class TooMuchError(ValueError):
    """More than is allowed. The text is for the user."""


class FileBudget:
    """What is left to a file of `size` bytes."""

    def __init__(self, size: int) -> None:
        self._left = FILE_OPERATIONS + FOR_EACH_BYTE * size

    @property
    def operations(self) -> int:
        """How many are left. TooMuchError where none are."""
        self.spend(1)
        return self._left

    def spend(self, operations: int) -> None:
        """Take off some operations, or what costs as much. TooMuchError where none are left."""
        self._left -= operations
        if self._left < 0:
            raise TooMuchError("more drawing than a file of its size can hold")


class PageBudget:
    """What is left to one page of a file."""

    def __init__(self, file: FileBudget) -> None:
        self._file = file
        self._operations, self._forms, self._letters = PAGE_OPERATIONS, PAGE_FORMS, PAGE_LETTERS

    @property
    def operations(self) -> int:
        """How many are left, of the page's own and the file's. TooMuchError where the file has none."""
        return min(self._operations, self._file.operations)

    def spend(self, operations: int) -> None:
        """Take off operations. TooMuchError where none are left."""
        self._operations -= operations
        self._file.spend(operations)
        if self._operations < 0:
            raise TooMuchError("more drawing than a page can hold")

    def waste(self) -> None:
        """Take off all that the page had left: a stream was cut up so far, and then was too much."""
        left = self.operations
        self._operations -= left
        self._file.spend(left)

    def enter(self) -> None:
        """Take off a stream. TooMuchError where none are left."""
        self._forms -= 1
        if self._forms < 0:
            raise TooMuchError("more drawing than a page can hold")

    def set_letters(self, count: int) -> None:
        """Take off letters. TooMuchError where none are left."""
        self._letters -= count
        if self._letters < 0:
            raise TooMuchError("more letters than a page can hold")
