"""Optional content: which layers are off when the file is opened (ISO 32000-1, 8.11)."""

from __future__ import annotations

from typing import Any

from cagework.typeset.reader.keys import each, follow, look

_DEPTH = 12
"""Expressions within expressions; more is a file that runs in circles."""


class Layers:
    """The layers of one file as its default configuration sets them."""

    def __init__(self, root: Any) -> None:
        properties = look(root, "/OCProperties")
        default = look(properties, "/D")
        listed = each(look(properties, "/OCGs"))
        off = {id(layer) for layer in listed} if look(default, "/BaseState") == "/OFF" else set()
        off -= {id(layer) for layer in each(look(default, "/ON"))}
        off |= {id(layer) for layer in each(look(default, "/OFF"))}
        self._off = off
        self._kept = properties, default    # so that each layer's id stays its own

    @property
    def any_off(self) -> bool:
        """Whether any layer is off at all."""
        return bool(self._off)

    def hides(self, content: Any) -> bool:
        """Whether a layer, or what is said of several (a membership dictionary), is off."""
        content = follow(content)
        if not self._off or not isinstance(content, dict):
            return False
        if look(content, "/Type") != "/OCMD":
            return id(content) in self._off
        if rule := each(look(content, "/VE")):
            return not self._holds(rule, 0)
        named = look(content, "/OCGs")
        off = [id(layer) in self._off for layer in (each(named) or [named]) if isinstance(layer, dict)]
        if not off:
            return False
        match look(content, "/P", "/AnyOn"):
            case "/AllOn":
                return any(off)
            case "/AnyOff":
                return not any(off)
            case "/AllOff":
                return not all(off)
        return all(off)

    def _holds(self, rule: Any, depth: int) -> bool:
        """A visibility expression: And, Or or Not, then layers or further ones."""
        rule = follow(rule)
        if not isinstance(rule, list) or depth > _DEPTH:
            return not self.hides(rule) if isinstance(rule, dict) else True
        parts = [self._holds(part, depth + 1) for part in rule[1:]]
        match str(follow(rule[0])):
            case "/And":
                return all(parts)
            case "/Not":
                return not all(parts)
        return any(parts)


ALL_ON = Layers(None)
"""For a file without layers."""
