"""What a command's exit status says."""

from __future__ import annotations

from enum import IntEnum


class Exit(IntEnum):
    """The statuses, as the manual lists them."""

    FINE = 0
    FAULTS = 1        # a puzzle is not sound, the manifest has faults, or a press would refuse the PDF
    UNREADABLE = 2    # a file cannot be read as a manifest, or as a PDF
    NOT_WRITTEN = 3   # the book is fine, but its files could not be written; or other machines went away
    USAGE = 64        # the command line itself is wrong, or no machines are where it says
    INTERRUPTED = 130
