"""Marks to SVG. One user unit is one point; sizes are stated in mm.

Text is drawn as glyph outlines by default, so that no reader's fonts can change the page; every run keeps
its words in an `aria-label`. Live text names its fonts and trusts the reader to have them.
"""

from __future__ import annotations

import base64
from collections.abc import Iterable
from functools import lru_cache
from typing import Any
from xml.etree.ElementTree import tostring

import svgwrite

from cagework.typeset.marks import MM, Cap, Fill, Group, Leaf, Line, Mark, Outline, Picture, Ring, Text
from cagework.typeset.text.fonts import Fonts


def svg_text(
    marks: Iterable[Mark], width: float, height: float, fonts: Fonts, title: str, description: str = "",
    live_text: bool = False, around: float = 0.0,
) -> str:
    """A complete SVG file of `width` x `height` pt, and so many pt more `around` it for marks that reach past it;
    with `live_text`, words stay text a program can edit.
    """
    across, down = width + 2 * around, height + 2 * around
    drawing = svgwrite.Drawing(
        size=(f"{_number(across / MM)}mm", f"{_number(down / MM)}mm"),
        viewBox=f"{_number(-around)} {_number(-around)} {_number(across)} {_number(down)}", debug=False,
        role="img",
    )
    drawing.set_desc(title=title, desc=description or None)
    writer = fonts.once(_SvgWriter, live_text)
    around_all = tostring(drawing.get_xml(), encoding="unicode").removesuffix(_END)
    return "".join((around_all, *map(writer.code, marks), _END, "\n"))


_END = "</svg>"


class _SvgWriter:
    """Marks to code. Lines, words and fills stand alike in one grid after another: the newest are kept ready."""

    def __init__(self, fonts: Fonts, live_text: bool) -> None:
        self._fonts, self._live_text = fonts, live_text
        self._make = svgwrite.Drawing(debug=False)
        self._kept, self._group = lru_cache(maxsize=8192)(self._made), lru_cache(maxsize=256)(self._made_group)

    def code(self, mark: Mark) -> str:
        """A mark with all that is in it."""
        match mark:
            case Group():
                empty = self._group(mark.name)
                return "".join((empty.removesuffix(" />"), ">", *map(self.code, mark.marks), "</g>")
                               ) if mark.marks else empty
            case Line() | Text() | Fill():
                return self._kept(mark)
            case Outline() | Picture():
                return self._made(mark)

    def _made(self, mark: Leaf) -> str:
        return tostring(self._drawn(mark).get_xml(), encoding="unicode")

    def _made_group(self, name: str) -> str:
        return tostring(self._make.g(class_=name).get_xml(), encoding="unicode")

    def _drawn(self, mark: Leaf) -> Any:
        match mark:
            case Line():
                extra = {} if mark.cap is Cap.BUTT else {"stroke_linecap": mark.cap.value}
                return self._make.line(
                    (_number(mark.x1), _number(mark.y1)), (_number(mark.x2), _number(mark.y2)),
                    stroke=_colour(mark), stroke_width=_number(mark.weight), **extra, **_dash(mark),
                )
            case Outline():
                return self._make.path(
                    d=_path(mark.rings), fill="none", stroke=_colour(mark), stroke_width=_number(mark.weight),
                    stroke_linejoin="miter", **_dash(mark),
                )
            case Fill():
                return self._make.path(d=_path(mark.rings), fill=_colour(mark), fill_rule="evenodd")
            case Picture():
                return self._make.image(
                    "data:image/png;base64," + base64.b64encode(mark.raster.png()).decode(),
                    insert=(_number(mark.x), _number(mark.y)), preserveAspectRatio="none",
                    size=(_number(mark.width), _number(mark.height)))
            case Text():
                return self._live(mark) if self._live_text else self._outlined(mark)

    def _live(self, mark: Text) -> Any:
        """A run as text: one span a chunk, so that kerning stays where the chunks put it."""
        style = self._fonts[mark.face].style
        extra = {}
        if mark.angle:
            extra["transform"] = _turn(mark)
        if mark.tracking:
            extra["letter_spacing"] = _number(mark.tracking)
        text = self._make.text("", fill=_colour(mark), font_family=f"'{style.family}'",
                               font_size=_number(mark.size), font_weight=style.weight,
                               font_style="italic" if style.italic else "normal",
                               **{"xml:space": "preserve"}, **extra)
        for offset, chunk in mark.chunks:
            text.add(self._make.tspan(chunk, x=[_number(mark.x + offset)], y=[_number(mark.y)]))
        return text

    def _outlined(self, mark: Text) -> Any:
        """A run as one path in font units, y up, scaled into place."""
        face = self._fonts[mark.face]
        scale = mark.size / face.units
        drawn = []
        for offset, chunk in mark.chunks:
            at = offset / scale
            for char in chunk:
                outline = face.glyph(char)[0]
                if outline:
                    drawn.append(f"M{_number(at)} 0{outline}")
                at += face.advance(char) + mark.tracking / scale
        place = f"matrix({scale:.8g} 0 0 {-scale:.8g} {_number(mark.x)} {_number(mark.y)})"
        turned = f"{_turn(mark)} {place}" if mark.angle else place
        extra = {"role": "img", "aria-label": mark.string, "transform": turned}
        return self._make.path(d="".join(drawn) or "M0 0", fill=_colour(mark), **extra)


def _turn(mark: Text) -> str:
    return f"rotate({_number(mark.angle)} {_number(mark.x)} {_number(mark.y)})"


def _dash(mark: Line | Outline) -> dict[str, str]:
    if mark.dash is None:
        return {}
    return {
        "stroke_dasharray": f"{_number(mark.dash.on)} {_number(mark.dash.off)}",
        "stroke_dashoffset": _number(mark.dash.phase),
    }


def _path(rings: Iterable[Ring]) -> str:
    return " ".join(
        "M" + " L".join(f"{_number(x)},{_number(y)}" for x, y in ring) + " Z" for ring in rings
    )


def _colour(mark: Line | Outline | Fill | Text) -> str:
    """A mark's ink on a screen."""
    parts = mark.spot.rgb(mark.ink) if mark.spot else (1 - mark.ink,) * 3
    return "#" + "".join(f"{round(255 * part):02x}" for part in parts)


def _number(value: float) -> str:
    """A coordinate to a ten-thousandth of a point, without trailing zeros."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
