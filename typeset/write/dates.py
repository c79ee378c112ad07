"""The one moment a book's files name: never the clock's, so that every build of the same book is the same."""

from __future__ import annotations

import os
from datetime import UTC, date, datetime

UNDATED = datetime(2000, 1, 1, tzinfo=UTC)
"""What a file says of its making where no day is given: PDF/X wants one."""


def moment_of(day: date | None) -> datetime:
    """Midnight UTC of the manifest's day; without one what SOURCE_DATE_EPOCH says, in seconds since 1970
    (reproducible-builds.org specification), and else `UNDATED`.

    ValueError where SOURCE_DATE_EPOCH is set to no such number, a day given or not: other tools read it too.
    """
    said = os.environ.get("SOURCE_DATE_EPOCH", "").strip()
    try:
        epoch = datetime.fromtimestamp(int(said), UTC) if said else UNDATED
    except (ValueError, OverflowError, OSError):
        raise ValueError(f"'{said[:40]}' is not a time in seconds since 1970") from None
    return datetime(day.year, day.month, day.day, tzinfo=UTC) if day else epoch
