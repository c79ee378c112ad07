"""What a press refuses: one file a rule, found by file name."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
from collections.abc import Mapping
from types import MappingProxyType

from cagework.typeset.preflight.rule import PressRule


def _discover() -> Mapping[str, PressRule]:
    found: dict[str, PressRule] = {}
    for name in sorted(module.name for module in pkgutil.iter_modules(__path__)):
        module = importlib.import_module(f"{__name__}.{name}")
        (kind,) = (
            kind for _, kind in inspect.getmembers(module, inspect.isclass)
            if issubclass(kind, PressRule) and kind.__module__ == module.__name__
        )
        found[name] = kind()
    return MappingProxyType(dict(sorted(found.items(), key=lambda item: item[1].number)))


RULES: Mapping[str, PressRule] = _discover()
"""Name -> rule, by number. A file that does not hold exactly one Rule stops the import."""
