"""What a file is to be besides the pages of its book: how its sheets are cut, what it says of itself."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from cagework.typeset.marks import Mark, Page, Sheet
from cagework.typeset.spot import SpotInk
from cagework.typeset.write.pdf import About

Outside = Callable[[Page, int], tuple[Mark, ...]]
"""What stands outside the trim of a page, by the page and its number."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What is asked of a file.

    `ours` says that it is as cagework writes it, and so that all it writes must be there; a file that another
    program wrote anew may do without much. `sheet` is the paper round the trim, None where it may be any, and then
    nothing outside the trim is looked at. `dated` says that the file's dates are known. What is not `linked`,
    `bookmarked` or `tagged` has no links, bookmarks or tags to be compared; why not, if they should be, is said in
    `lacking`. `spot` is the book's second ink: on its own plate in a press file, as its colour in others.
    """

    about: About
    ours: bool
    press: bool
    sheet: Sheet | None
    outside: Outside | None
    dated: bool
    linked: bool
    bookmarked: bool
    tagged: bool
    lacking: tuple[str, ...] = ()
    spot: SpotInk | None = None
