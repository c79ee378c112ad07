"""The grades a puzzle may bear, easiest first."""

from __future__ import annotations

from enum import StrEnum


class Grade(StrEnum):
    """How hard a puzzle is, in the project's own four words; the order of definition is the order of effort."""

    STROLL = "stroll"
    CLIMB = "climb"
    SCRAMBLE = "scramble"
    SUMMIT = "summit"
