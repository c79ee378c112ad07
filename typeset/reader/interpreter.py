"""A page's content stream to what it paints: where, in which colour, how thin, how small.

The graphics state is kept as ISO 32000-1, 8.4 has it; forms, tiling patterns, Type 3 glyphs, soft masks and
annotations are followed. Boxes are those of the page's own space, cut to the clip's box. Shapes behind a soft mask
or a curved clip count in full. What makes no sense is told and passed over, as viewers do.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import chain
from types import MappingProxyType
from typing import Any

from pypdf import PageObject
from pypdf.generic import DictionaryObject, StreamObject

from cagework.typeset.reader.appearances import Appearance, appearances
from cagework.typeset.reader.budget import TooMuchError
from cagework.typeset.reader.colour import (
    CMYK,
    FAMILIES,
    GRAY,
    RGB,
    Colour,
    Space,
    colour_of,
    device_space,
    first_colour,
    read_space,
)
from cagework.typeset.reader.geometry import UNMOVED, Matrix, Rectangle, box_round, matrix_of, thickness
from cagework.typeset.reader.graphics_state import GraphicsState
from cagework.typeset.reader.keys import each, look, numbers
from cagework.typeset.reader.operations import KNOWN, Operation
from cagework.typeset.reader.paint import Paint, made
from cagework.typeset.reader.painting import Ring, filled, graded, pictured, spelled, stroked
from cagework.typeset.reader.path import DrawnPath
from cagework.typeset.reader.phrases import PATH, RECTANGLE, TEXT
from cagework.typeset.reader.style import lined, restyled
from cagework.typeset.reader.text_object import TextObject
from cagework.typeset.reader.walk import Walk

_DEVICES = {"g": GRAY, "rg": RGB, "k": CMYK}
_WIDE = Rectangle(-1e6, -1e6, 1e6, 1e6)
_NOWHERE = Rectangle(-1e7, -1e7, -1e7, -1e7)      # nothing shows through an empty clip, nor through one far off


def walk_page(page: PageObject, media: Rectangle, walk: Walk) -> None:
    """Find all that a page paints, in order, its annotations last. TooMuchError where that is more than a page
    can hold; pypdf's errors where a stream cannot be unpacked.
    """
    # Wide, since a clip from nowhere would hide marks outside a broken MediaBox.
    start = GraphicsState(UNMOVED, media.grown(14400))
    contents = look(page, "/Contents")
    if contents is not None:
        _follow(walk, contents, look(page, "/Resources", DictionaryObject()), start, 0)
    for appearance in appearances(page):
        _annotate(walk, appearance, start)


def _follow(walk: Walk, contents: Any, resources: Any, state: GraphicsState, depth: int) -> None:
    """One content stream: a page's, a form's, a pattern's or a glyph's."""
    _Stream(walk, resources, state, depth).run(walk.phrases(contents, depth))


def _annotate(walk: Walk, appearance: Appearance, state: GraphicsState) -> None:
    """What an annotation paints over the page."""
    off = int(appearance.hidden or walk.layers.hides(appearance.layer))
    walk.hide(off)
    with walk.within(annotated=True):
        state = replace(state, matrix=appearance.matrix)
        _Stream(walk, DictionaryObject(), state, 0).draw_form(appearance.form)
    walk.hide(-off)


class _Stream:
    """One content stream under way: its state, its stack, its path, its text matrices."""

    def __init__(self, walker: Walk, resources: Any, state: GraphicsState, depth: int) -> None:
        self._walker = walker
        self._resources = resources
        self._state = replace(state)
        self._base = state.matrix
        self._depth = depth
        self._uncoloured = False
        self._devices: Mapping[str, Space] = _DEVICES
        if look(resources, "/ColorSpace") is not None:
            self._devices = {name: device_space(space, resources) for name, space in _DEVICES.items()}
        self._colours: dict[tuple[Any, ...], Colour] = {}
        self._stack: list[GraphicsState] = []
        self._path = DrawnPath()
        self._letters = TextObject()
        self._content: list[int] = []

    def run(self, operations: Sequence[Operation]) -> None:
        """All operations in order; one with too few operands, or of the wrong kind, is told."""
        walk, lenient = self._walker, 0
        known = _OPERATORS if walk.layers.any_off else _UNLAYERED
        for operands, name in operations:
            obey = known.get(name)
            if obey is not None:
                try:
                    obey(self, name, operands)
                except (TooMuchError, MemoryError, RecursionError):
                    raise
                except Exception as error:
                    walk.complain(f"'{name}' cannot be obeyed: {' '.join(str(error).split())[:80]}")
            elif name not in KNOWN and not lenient:
                walk.complain(f"'{name[:20]}' is no operator")
            elif name in ("BX", "EX"):
                lenient += 1 if name == "BX" else -1
        walk.hide(-sum(self._content))      # content marked and never ended
        if self._stack:
            walk.complain("q without its Q")

    def _named(self, kind: str, name: Any) -> Any:
        """What a resource name stands for; None, and a complaint, where it stands for nothing."""
        found = look(look(self._resources, kind), name)
        if found is None:
            self._walker.complain(f"{name} is not among the page's {kind[1:]} resources")
        return found

    def _set_state(self, name: str, operands: Any) -> None:
        state = self._state
        match name:
            case "q":
                self._stack.append(replace(state))
            case "Q":
                if self._stack:
                    self._state = self._stack.pop()
                else:
                    self._walker.complain("Q without its q")
            case "cm":
                moved = Matrix(*map(float, operands[:6]))
                if moved != UNMOVED:
                    state.matrix = moved.then(state.matrix)
            case "w":
                state.width = float(operands[0])
            case "gs":
                given = self._named("/ExtGState", operands[0])
                state.width = float(look(given, "/LW", state.width))
                state.style = restyled(state.style, given)
                self._mask(look(look(given, "/SMask"), "/G"))
                if chosen := each(look(given, "/Font")):
                    state.face, state.size = self._walker.faces.of(chosen[0]), float(chosen[1])

    def _set_line(self, name: str, operands: Any) -> None:
        self._state.style = lined(self._state.style, name, operands)

    def _mark(self, name: str, operands: Any) -> None:
        """Marked content: a layer that is off hides all up to its end."""
        if name == "EMC":
            if self._content:
                self._walker.hide(-self._content.pop())
            return
        off = 0
        if name == "BDC" and operands[0] == "/OC":
            off = int(self._walker.layers.hides(self._named("/Properties", operands[1])))
            self._walker.hide(off)
        self._content.append(off)

    def _set_colour(self, name: str, operands: Any) -> None:
        if self._uncoloured:
            return
        match name.lower():
            case "cs":
                colour = first_colour(self._space(operands[0]))
            case "sc" | "scn":
                space = (self._state.stroke if name.isupper() else self._state.fill).space
                if operands and isinstance(operands[-1], str):
                    self._pattern(operands, space)
                    colour = Colour(space)
                else:
                    colour = colour_of(space, operands)
            case device:
                known, given = self._colours, (device, *operands)
                if given not in known:
                    known[given] = colour_of(self._devices[device], operands)
                colour = known[given]
        if name.isupper():
            self._state.stroke = colour
        else:
            self._state.fill = colour

    def _space(self, thing: Any) -> Space:
        space = read_space(thing, self._resources)
        if space.family not in FAMILIES:
            raise ValueError(f"{thing} is no colour space")
        return space

    def _pattern(self, operands: Any, space: Space) -> None:
        """A pattern chosen: its cell, for its colours and sizes alone, or its shading."""
        pattern, walk = self._named("/Pattern", operands[-1]), self._walker
        tint = Colour(space.base, tuple(map(float, operands[:-1]))) if space.base and len(operands) > 1 else None
        if pattern is None or not walk.is_new(pattern, self._base, tint):
            return
        matrix = matrix_of(look(pattern, "/Matrix")).then(self._base)
        if not isinstance(pattern, StreamObject):
            style = restyled(self._state.style, look(pattern, "/ExtGState"))
            self._mask(look(look(look(pattern, "/ExtGState"), "/SMask"), "/G"))
            self._shade(look(pattern, "/Shading"), replace(self._state, style=style), True)
            return
        state = GraphicsState(matrix, _WIDE, style=self._state.style)
        if tint is not None:
            state.fill = state.stroke = tint
        with walk.within(tiled=True):
            inside = _Stream(walk, look(pattern, "/Resources", self._resources), state, self._depth + 1)
            inside._uncoloured = look(pattern, "/PaintType") == 2
            inside.run(walk.phrases(pattern, self._depth + 1))

    def _shade(self, shading: Any, state: GraphicsState, tiled: bool) -> None:
        space = self._space(look(shading, "/ColorSpace"))
        self._walker.add(graded(state, shading, Colour(space), tiled), state.clip)

    def _mask(self, form: Any) -> None:
        """A soft mask's group: not seen itself, but held to the same rules of colour."""
        if isinstance(form, StreamObject) and self._walker.is_new(form, self._state.matrix):
            with self._walker.within(masking=True):
                state = GraphicsState(self._state.matrix, _WIDE)
                _Stream(self._walker, self._resources, state, self._depth).draw_form(form)

    def _glyph_kind(self, name: str, _operands: Any) -> None:
        """A Type 3 glyph that states its box (d1) takes the colour it is set in."""
        self._uncoloured = self._uncoloured or name == "d1"

    def _glyphs(self, parts: Iterable[Any]) -> None:
        """What the glyphs of a Type 3 font paint, each once for a size and colour."""
        state, face = self._state, self._state.face
        if face is None or not face.procedures:
            return
        place = self._letters.place(state)
        scaled = Matrix(state.size * state.stretch, 0.0, 0.0, state.size, 0.0, state.rise).then(place)
        matrix = Matrix(*face.matrix).then(scaled)
        for code in sorted(set(chain.from_iterable(part for part in parts if isinstance(part, bytes)))):
            glyph = face.procedures.get(code)
            if glyph is not None and self._walker.is_new(glyph, matrix[:4], state.fill, state.style):
                inner = replace(state, matrix=matrix, stroke=state.fill, clip=_WIDE)
                with self._walker.within(tiled=True):
                    _follow(self._walker, glyph, face.resources or self._resources, inner, self._depth + 1)

    def _build(self, name: str, operands: Any) -> None:
        self._path.build(name, operands, self._state.matrix)

    def _draw(self, _name: str, operands: Any) -> None:
        """One part of a path and, where an operator follows that paints, the whole of it."""
        ring, painter = operands
        matrix = self._state.matrix
        if matrix is not UNMOVED:
            ring = tuple([matrix.at(x, y) for x, y in ring])
        if painter and not self._path.rings and not self._path.clips:
            self._paint(painter, (ring,), False)
            return
        self._path.rings.append(list(ring))
        if painter:
            self._paint_path(painter, ())

    def _paint_path(self, name: str, _operands: Any) -> None:
        path = self._path
        self._path = DrawnPath()
        if name in ("s", "b", "b*"):
            path.close()
        if rings := tuple([tuple(ring) for ring in path.rings if ring]):
            self._paint(name, rings, path.clips)

    def _paint(self, name: str, rings: tuple[Ring, ...], clips: bool) -> None:
        state = self._state
        if name[0] in "fFbB":
            self._walker.add(filled(state, rings, name), state.clip)
        if name[0] in "sSbB":
            for ring in rings:
                self._walker.add(stroked(state, ring), state.clip)
        if clips:
            state.slit = state.slit_of(thickness(rings, True)) or state.slit
            state.clip = state.clip.cut_to(box_round(chain.from_iterable(rings))) or _NOWHERE

    def _set_font(self, _name: str, operands: Any) -> None:
        font = self._named("/Font", operands[0])
        self._state.face = self._walker.faces.of(font) if font is not None else None
        self._state.size = float(operands[1])

    def _set_text(self, name: str, operands: Any) -> None:
        state = self._state
        match name:
            case "Tc":
                state.spacing = float(operands[0])
            case "Tw":
                state.word_spacing = float(operands[0])
            case "Tz":
                state.stretch = float(operands[0]) / 100
            case "TL":
                state.leading = float(operands[0])
            case "Ts":
                state.rise = float(operands[0])
            case "Tr":
                state.style = state.style._replace(render=int(float(operands[0])))

    def _begin_text(self, _name: str, _operands: Any) -> None:
        self._letters.begin()

    def _move_text(self, _name: str, operands: Any) -> None:
        self._letters.move(float(operands[0]), float(operands[1]))

    def _line_of_text(self, _name: str, operands: Any) -> None:
        x, y, parts = operands
        letters, state = self._letters, self._state
        letters.begin(made(Matrix, (1.0, 0.0, 0.0, 1.0, x, y)))
        if letters.sets_plainly(state):
            self._add_letters(letters.plain(x, y, parts, state))
        else:
            self._show("TJ", (parts,))

    def _place_text(self, name: str, operands: Any) -> None:
        match name:
            case "Tm":
                self._letters.begin(Matrix(*map(float, operands[:6])))
            case "TD":
                self._state.leading = -float(operands[1])
                self._move_text(name, operands)
            case "T*":
                self._letters.move(0.0, -self._state.leading)

    def _show(self, name: str, operands: Any) -> None:
        if name in ("'", '"'):
            if name == '"':
                self._state.word_spacing, self._state.spacing = float(operands[0]), float(operands[1])
            self._letters.move(0.0, -self._state.leading)
        parts = operands[0] if name == "TJ" else [operands[2 if name == '"' else 0]]
        self._glyphs(parts)
        self._add_letters(self._letters.show(parts, self._state))

    def _add_letters(self, runs: Iterable[Paint]) -> None:
        for paint in runs:
            self._walker.budget.set_letters(len(paint.chars))
            self._walker.add(paint, self._state.clip)

    def _place(self, name: str, operands: Any) -> None:
        match name:
            case "Do":
                thing = self._named("/XObject", operands[0])
                off = int(self._walker.layers.hides(look(thing, "/OC")))
                self._walker.hide(off)
                if look(thing, "/Subtype") == "/Image":
                    self._image(thing)
                elif look(thing, "/Subtype") == "/Form":
                    self.draw_form(thing)
                self._walker.hide(-off)
            case "INLINE IMAGE":
                self._image(spelled(operands))
            case "sh":
                shading = self._named("/Shading", operands[0])
                if shading is not None:
                    self._shade(shading, self._state, False)

    def draw_form(self, form: Any) -> None:
        """A form as it is placed now."""
        state = replace(self._state, matrix=matrix_of(look(form, "/Matrix")).then(self._state.matrix))
        if edges := numbers(look(form, "/BBox")):
            left, low, right, top = edges
            edge = box_round(state.matrix.at(x, y) for x in (left, right) for y in (low, top))
            clip = state.clip.cut_to(edge)
            if clip is None:
                return
            state.clip = clip
        if look(look(form, "/Group"), "/S") == "/Transparency":
            state.style = state.style.as_group()
        _follow(self._walker, form, look(form, "/Resources", self._resources), state, self._depth + 1)

    def _image(self, image: Any) -> None:
        state, soft = self._state, look(image, "/SMask")
        if look(image, "/ImageMask", False):
            colour = state.fill
        elif (space := look(image, "/ColorSpace")) is not None:
            colour = Colour(self._space(space))
        else:
            colour = Colour(Space("unstated"))  # JPEG 2000 may leave it to the image's own data
        self._walker.add(pictured(state, image, colour), state.clip)
        if soft is not None:
            with self._walker.within(masking=True):
                self._image(soft)


_OPERATORS: Mapping[str, Callable[[_Stream, str, Any], None]] = MappingProxyType({
    name: obey for obey, names in (
        (_Stream._paint_path, "S s f F f* B B* b b* n"),
        (_Stream._build, "m l c v y h re W W*"),
        (_Stream._set_colour, "g G rg RG k K cs CS sc SC scn SCN"),
        (_Stream._set_state, "q Q cm w gs"), (_Stream._set_line, "J j M d"), (_Stream._mark, "BDC BMC EMC"),
        (_Stream._glyph_kind, "d0 d1"), (_Stream._set_font, "Tf"), (_Stream._set_text, "Tc Tw Tz TL Ts Tr"),
        (_Stream._begin_text, "BT"), (_Stream._move_text, "Td"), (_Stream._place_text, "Tm TD T*"),
        (_Stream._show, "Tj TJ ' \""),
        (_Stream._place, "Do sh"),
    ) for name in names.split()
} | {"INLINE IMAGE": _Stream._place, PATH: _Stream._draw, RECTANGLE: _Stream._draw, TEXT: _Stream._line_of_text})
"""Operator (ISO 32000-1, annex A) or phrase -> what obeys it."""

_UNLAYERED = MappingProxyType({name: obey for name, obey in _OPERATORS.items() if obey is not _Stream._mark})
"""The same, where marked content says nothing of what shows."""
