"""One way in which a file is not the book."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from cagework.solver.model import Cell

_MOST = 6
"""How many differences of one grid, or of one page's words, are told one by one."""


@dataclass(frozen=True, slots=True)
class Difference:
    """What stands in the file and what should: on which page, of what (a grid, in words), in which cell."""

    page: int | None
    of: str
    cell: Cell | None
    message: str

    def as_data(self) -> dict[str, Any]:
        """As programs read it."""
        return {"page": self.page, "of": self.of, "cell": str(self.cell) if self.cell else None,
                "message": self.message}

    def __str__(self) -> str:
        where = [f"page {self.page}"] if self.page else []
        where += [self.of] if self.of else []
        where += [str(self.cell)] if self.cell else []
        return f"{', '.join(where)}: {self.message}" if where else self.message


def in_brief(differences: Iterable[Difference]) -> Iterator[Difference]:
    """The same, the many of one grid or page cut to a few and their number."""
    for (page, of), group in groupby(differences, key=lambda one: (one.page, one.of)):
        told = list(group)
        yield from told[:_MOST]
        if len(told) > _MOST:
            yield Difference(page, of, None, f"{len(told) - _MOST} more differences here")
