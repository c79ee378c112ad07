"""The ways of reasoning: one file each, found by file name."""

from __future__ import annotations

import importlib
import pkgutil
from collections.abc import Mapping
from types import MappingProxyType

from cagework.solver.reasoning.technique import Technique


def _discover() -> Mapping[str, Technique]:
    found: dict[str, Technique] = {}
    for name in sorted(module.name for module in pkgutil.iter_modules(__path__)):
        module = importlib.import_module(f"{__name__}.{name}")
        (kind,) = (
            kind for kind in vars(module).values()
            if isinstance(kind, type) and kind.__module__ == module.__name__ and issubclass(kind, Technique)
        )
        found[name] = kind()
    for technique in found.values():
        technique.equip(found.values())
    return MappingProxyType(found)


TECHNIQUES: Mapping[str, Technique] = _discover()
"""File stem -> technique. A file that does not hold exactly one Technique stops the import."""
