"""Output conditions by their registered names, and which of them a profile was made for."""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping
from importlib.resources import files
from typing import Any

import yaml


@functools.cache
def _conditions() -> Mapping[str, Any]:
    path = files(__package__).joinpath("registered_conditions.yaml")
    read: Mapping[str, Any] = yaml.safe_load(path.read_text(encoding="utf-8"))
    return read


def plain(name: str) -> str:
    """A condition's name without blanks and case: writers set `CGATS TR 001` and `CGATS TR001`."""
    return re.sub(r"[\s_]+", "", name).lower()


def is_known(name: str) -> bool:
    """Whether a condition is one that is registered."""
    return any(re.fullmatch(pattern, plain(name)) for pattern in _conditions()["known"])


def condition_of(words: str) -> str:
    """The condition a profile says it was made for, in plain form; empty where it says none that is known.

    The registry has profiles name it in their target tag and their description (color.org, registry2).
    """
    said = words.lower()
    for word in re.findall(r"fogra ?\d\d|cgats ?tr ?0*\d|cgats21-2-crpc\d|crpc\d|ifra ?\d\d|jc\w?20\d{2,4}", said):
        if is_known(word):
            return plain(word)
    return next((name for phrase, name in _conditions()["words"].items() if phrase in said), "")
