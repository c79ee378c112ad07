"""How things are painted besides their place and colour (ISO 32000-1, 8.4.1).

One object serves all paints between two changes of the graphics state.
"""

from __future__ import annotations

from typing import Any, NamedTuple

from cagework.typeset.reader.keys import each, look


class Group(NamedTuple):
    """What transparency groups round a thing do to it: opacity, a soft mask, the last blend mode but Normal."""

    alpha: float = 1.0
    masked: bool = False
    blend: str = "Normal"


class Style(NamedTuple):
    """The graphics state without matrix, clip, colours and font.

    `fill_alpha` and `stroke_alpha` are ca and CA; `masked` says that a soft mask holds, whose opacity is unknown.
    `blend` is the blend mode's name. `dash` is (lengths, phase) in the units in force, empty lengths a solid line;
    `cap`, `join` and `miter` are as ISO 32000-1, 8.4.3 numbers them; `render` is the text rendering mode.
    `fill_overprint`, `stroke_overprint` and `overprint_mode` are op, OP and OPM.
    """

    fill_alpha: float = 1.0
    stroke_alpha: float = 1.0
    masked: bool = False
    blend: str = "Normal"
    dash: tuple[tuple[float, ...], float] = ((), 0.0)
    cap: int = 0
    join: int = 0
    miter: float = 10.0
    render: int = 0
    fill_overprint: bool = False
    stroke_overprint: bool = False
    overprint_mode: int = 0
    group: Group = Group()

    @property
    def blending(self) -> str:
        """The blend mode that shows, a group's where it has none of its own."""
        return self.blend if self.blend != "Normal" else self.group.blend

    def opacity(self, stroked: bool) -> float | None:
        """How opaque a fill or stroke comes out, from 0 to 1; None where a soft mask leaves that unknown."""
        alpha = (self.stroke_alpha if stroked else self.fill_alpha) * self.group.alpha
        return None if alpha and (self.masked or self.group.masked) else alpha

    def as_group(self) -> Style:
        """The style a transparency group begins with (ISO 32000-1, 11.6.6)."""
        group = Group(self.group.alpha * self.fill_alpha, self.group.masked or self.masked, self.blending)
        return self._replace(fill_alpha=1.0, stroke_alpha=1.0, masked=False, blend="Normal", group=group)


PLAIN = Style()
"""What a page begins with."""


_LINE_KEYS = {"J": "cap", "j": "join", "M": "miter", "d": "dash"}


def lined(style: Style, operator: str, operands: Any) -> Style:
    """A style after J, j, M or d; the same where nothing changes."""
    key = _LINE_KEYS[operator]
    if operator == "d":
        lengths = tuple(map(float, operands[0]))
        value: Any = (lengths, float(operands[1])) if any(lengths) else ((), 0.0)
    else:
        value = type(getattr(PLAIN, key))(float(operands[0]))
    return style if getattr(style, key) == value else style._replace(**{key: value})


def restyled(style: Style, given: Any) -> Style:
    """A style after a dictionary of graphics state parameters (ISO 32000-1, table 58)."""
    changed: dict[str, Any] = {}
    for key, name, kind in _PARAMETERS:
        if (value := look(given, key)) is not None:
            changed[name] = kind(value)
    if "stroke_overprint" in changed:       # OP without op is for both
        changed.setdefault("fill_overprint", changed["stroke_overprint"])
    if (modes := look(given, "/BM")) is not None:
        changed["blend"] = _mode(modes)
    if (mask := look(given, "/SMask")) is not None:
        changed["masked"] = mask != "/None"
    if dash := each(look(given, "/D")):
        changed["dash"] = tuple(map(float, each(dash[0]))), float(dash[1])
    return style._replace(**changed) if changed else style


_PARAMETERS = (
    ("/ca", "fill_alpha", float), ("/CA", "stroke_alpha", float), ("/LC", "cap", int), ("/LJ", "join", int),
    ("/ML", "miter", float), ("/op", "fill_overprint", bool), ("/OP", "stroke_overprint", bool),
    ("/OPM", "overprint_mode", int),
)


def _mode(modes: Any) -> str:
    """The blend mode's name, the first of a list; Compatible is Normal."""
    first = str((each(modes) or [modes])[0]).lstrip("/")
    return "Normal" if first == "Compatible" else first
