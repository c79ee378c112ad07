"""The rules an editor may name: one file each, found by file name."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
from collections.abc import Mapping
from types import MappingProxyType

from cagework.solver.rule import Rule


def _discover() -> Mapping[str, type[Rule]]:
    found: dict[str, type[Rule]] = {}
    for name in sorted(module.name for module in pkgutil.iter_modules(__path__)):
        module = importlib.import_module(f"{__name__}.{name}")
        (found[name],) = (
            kind for _, kind in inspect.getmembers(module, inspect.isclass)
            if issubclass(kind, Rule) and kind.__module__ == module.__name__
        )
    return MappingProxyType(found)


RULES: Mapping[str, type[Rule]] = _discover()
"""Manifest name -> rule. A file that does not hold exactly one Rule stops the import."""
