"""A page's content stream to what it paints: where, in which colour, how thin, how small.

The graphics state is kept as ISO 32000-1, 8.4 has it; forms and tiling patterns are followed. Boxes are those
of the page's own space, cut to the clip's box. Shapes behind a soft mask or a curved clip count in full.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import chain
from types import MappingProxyType
from typing import Any

from pypdf import PageObject
from pypdf.generic import DictionaryObject, StreamObject

from cagework.typeset.marks import Point
from cagework.typeset.reader.appearances import Appearance, appearances
from cagework.typeset.reader.colour import CMYK, GRAY, RGB, Colour, Space, first_colour, read_space
from cagework.typeset.reader.embedded_font import EmbeddedFonts
from cagework.typeset.reader.geometry import UNMOVED, Matrix, Rectangle, box_round, thickness
from cagework.typeset.reader.graphics_state import GraphicsState
from cagework.typeset.reader.keys import each, look, numbers
from cagework.typeset.reader.layers import ALL_ON, Layers
from cagework.typeset.reader.operations import Operation, operations
from cagework.typeset.reader.paint import Paint, PaintKind
from cagework.typeset.reader.path import Path
from cagework.typeset.reader.style import PLAIN, restyled
from cagework.typeset.reader.text_object import Lettering

_DEPTH = 12
"""Forms within forms; a file that nests deeper runs in circles."""

_OPERATIONS = 3_000_000
_FORMS = 20_000
"""What one page may ask of us before we give it up: operations, and forms placed."""

_LINE_KEYS = {"J": "cap", "j": "join", "M": "miter", "d": "dash"}
_DEVICES = {"g": GRAY, "rg": RGB, "k": CMYK}


def paints(
    page: PageObject, media: Rectangle, faces: EmbeddedFonts, layers: Layers = ALL_ON,
) -> tuple[Paint, ...]:
    """All that a page paints, in order, its annotations last. ValueError where its content makes no sense; pypdf's
    errors besides.

    `faces` are the fonts read so far.
    """
    walker = _Walker(page.pdf, faces, layers)
    # Wide, since a clip from nowhere would hide marks outside a broken MediaBox.
    start = GraphicsState(UNMOVED, media.grown(14400))
    contents = look(page, "/Contents")
    if contents is not None:
        walker.follow(contents, look(page, "/Resources", DictionaryObject()), start, 0)
    for appearance in appearances(page):
        walker.annotate(appearance, start)
    return tuple(walker.found)


class _Walker:
    """Walks one page; `found` gathers what it paints."""

    def __init__(self, pdf: Any, faces: EmbeddedFonts, layers: Layers) -> None:
        self.pdf = pdf
        self.faces = faces
        self.layers = layers
        self.found: list[Paint] = []
        self._operations: dict[int, tuple[Any, Sequence[Operation]]] = {}
        self._left, self._forms_left = _OPERATIONS, _FORMS
        self._tiled = self._annotated = False
        self._hidden = 0
        self._special = False

    def follow(self, contents: Any, resources: Any, state: GraphicsState, depth: int) -> None:
        """One content stream: a page's, a form's or a pattern's."""
        if depth > _DEPTH:
            raise ValueError("forms within forms without end")
        self._forms_left -= 1
        if id(contents) not in self._operations:
            self._operations[id(contents)] = (contents, operations(contents, self.pdf))
        _Stream(self, resources, state, depth).run(self._operations[id(contents)][1])

    def spend(self, operations: int) -> None:
        """Count operations; ValueError where a page asks too much."""
        self._left -= operations
        if min(self._left, self._forms_left) < 0:
            raise ValueError("more drawing than a page can hold")

    def add(self, paint: Paint, clip: Rectangle) -> None:
        """Keep a paint, as far as the clip lets it show."""
        shown = paint.box if clip.holds(paint.box, 0.0) else paint.box.cut_to(clip)
        if shown is not None:
            if self._special:
                paint = paint._replace(tiled=paint.tiled or self._tiled, hidden=self._hidden > 0,
                                       annotated=self._annotated)
            self.found.append(paint if shown is paint.box else paint._replace(box=shown))

    def hide(self, by: int) -> None:
        """Begin (1) or end (-1) what lies on a layer that is off."""
        self._hidden += by
        self._special = self._tiled or self._annotated or self._hidden > 0

    def annotate(self, appearance: Appearance, state: GraphicsState) -> None:
        """What an annotation paints over the page."""
        off = appearance.hidden or self.layers.hides(appearance.layer)
        self._annotated = True
        self.hide(int(off))
        state = replace(state, matrix=appearance.matrix)
        _Stream(self, DictionaryObject(), state, 0).draw_form(appearance.form)
        self._annotated = False
        self.hide(-int(off))

    def tile(self, pattern: Any, resources: Any, depth: int) -> None:
        """The cell of a tiling pattern, for its colours and sizes alone."""
        before, self._tiled = self._tiled, True
        self.hide(0)
        wide = Rectangle(-1e6, -1e6, 1e6, 1e6)
        state = GraphicsState(_matrix(look(pattern, "/Matrix")), wide)
        self.follow(pattern, look(pattern, "/Resources", resources), state, depth + 1)
        self._tiled = before
        self.hide(0)


class _Stream:
    """One content stream under way: its state, its stack, its path, its text matrices."""

    def __init__(self, walker: _Walker, resources: Any, state: GraphicsState, depth: int) -> None:
        self._walker = walker
        self._resources = resources
        self._state = replace(state)
        self._depth = depth
        self._stack: list[GraphicsState] = []
        self._path = Path()
        self._letters = Lettering()
        self._content: list[int] = []

    def run(self, operations: Sequence[Operation]) -> None:
        """All operations in order; one with too few operands, or of the wrong kind, raises."""
        self._walker.spend(len(operations))
        known = _OPERATORS if self._walker.layers.any_off else _UNLAYERED
        for operands, name in operations:
            obey = known.get(name)
            if obey is not None:
                obey(self, name, operands)
        self._walker.hide(-sum(self._content))      # content marked and never ended

    def _named(self, kind: str, name: Any) -> Any:
        """What a resource name stands for; None where it stands for nothing."""
        return look(look(self._resources, kind), name)

    def _set_state(self, name: str, operands: Any) -> None:
        state = self._state
        match name:
            case "q":
                self._stack.append(replace(state))
            case "Q":
                self._state = self._stack.pop() if self._stack else state
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
                if chosen := each(look(given, "/Font")):
                    state.face, state.size = self._walker.faces.of(chosen[0]), float(chosen[1])

    def _set_line(self, name: str, operands: Any) -> None:
        state, key = self._state, _LINE_KEYS[name]
        if name == "d":
            lengths = tuple(map(float, operands[0]))
            value: Any = (lengths, float(operands[1])) if any(lengths) else ((), 0.0)
        else:
            value = type(getattr(PLAIN, key))(float(operands[0]))
        if getattr(state.style, key) != value:
            state.style = state.style._replace(**{key: value})

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
        match name.lower():
            case "cs":
                colour = first_colour(read_space(operands[0], self._resources))
            case "sc" | "scn":
                space = (self._state.stroke if name.isupper() else self._state.fill).space
                if operands and isinstance(operands[-1], str):
                    self._pattern(operands[-1])
                    colour = Colour(space)
                else:
                    colour = Colour(space, tuple(map(float, operands)))
            case device:
                colour = Colour(_DEVICES[device], tuple(map(float, operands)))
        if name.isupper():
            self._state.stroke = colour
        else:
            self._state.fill = colour

    def _pattern(self, name: Any) -> None:
        pattern = self._named("/Pattern", name)
        if isinstance(pattern, StreamObject):
            self._walker.tile(pattern, self._resources, self._depth)
        elif pattern is not None:
            self._shade(look(pattern, "/Shading"), self._state.clip)

    def _shade(self, shading: Any, box: Rectangle) -> None:
        space = read_space(look(shading, "/ColorSpace"), self._resources)
        state = self._state
        self._walker.add(Paint(PaintKind.SHADING, box, Colour(space), tiled=True, style=state.style), state.clip)

    def _move_to(self, _name: str, operands: Any) -> None:
        self._path.rings.append([self._moved(operands)])

    def _line_to(self, _name: str, operands: Any) -> None:
        self._path.ring.append(self._moved(operands))

    def _curve_to(self, _name: str, operands: Any) -> None:
        self._path.ring.extend(self._moved(operands[at:at + 2]) for at in range(0, len(operands) - 1, 2))

    def _close(self, _name: str, _operands: Any) -> None:
        self._path.close()

    def _rectangle(self, _name: str, operands: Any) -> None:
        x, y, width, height = map(float, operands)
        corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height), (x, y))
        self._path.rings.append([self._state.matrix.at(*corner) for corner in corners])

    def _clip(self, _name: str, _operands: Any) -> None:
        self._path.clips = True

    def _moved(self, operands: Any) -> Point:
        matrix = self._state.matrix
        x, y = float(operands[0]), float(operands[1])
        return (x, y) if matrix is UNMOVED else matrix.at(x, y)

    def _paint_path(self, name: str, _operands: Any) -> None:
        path, state = self._path, self._state
        self._path = Path()
        if name in ("s", "b", "b*"):
            path.close()
        rings = tuple([tuple(ring) for ring in path.rings if ring])
        if not rings:
            return
        if name[0] in "fFbB":
            sides = [side for ring in rings if (side := thickness(ring)) is not None]
            self._walker.add(Paint(PaintKind.FILL, _round(rings), state.fill, min(sides) if sides else None,
                                   rings=rings, style=state.style), state.clip)
        if name[0] in "sSbB":
            weight, dash = state.weight, state.dash
            for ring in rings:
                self._walker.add(Paint(PaintKind.STROKE, box_round(ring).grown(weight / 2), state.stroke, weight,
                                       rings=(ring,), style=state.style, dash=dash), state.clip)
        if path.clips:
            # Nothing shows through an empty clip: a flat box far off keeps it so.
            state.clip = state.clip.cut_to(_round(rings)) or Rectangle(-1e7, -1e7, -1e7, -1e7)

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
        for paint in self._letters.show(parts, self._state):
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
                self._image(_spelled(operands["settings"]))
            case "sh":
                shading = self._named("/Shading", operands[0])
                if shading is not None:
                    self._shade(shading, self._state.clip)

    def draw_form(self, form: Any) -> None:
        """A form as it is placed now."""
        state = replace(self._state, matrix=_matrix(look(form, "/Matrix")).then(self._state.matrix))
        if edges := numbers(look(form, "/BBox")):
            left, low, right, top = edges
            edge = box_round(state.matrix.at(x, y) for x in (left, right) for y in (low, top))
            clip = state.clip.cut_to(edge)
            if clip is None:
                return
            state.clip = clip
        if look(look(form, "/Group"), "/S") == "/Transparency":
            state.style = state.style.as_group()
        self._walker.follow(form, look(form, "/Resources", self._resources), state, self._depth + 1)

    def _image(self, image: Any) -> None:
        state, matrix = self._state, self._state.matrix
        box = box_round(matrix.at(x, y) for x in (0.0, 1.0) for y in (0.0, 1.0))
        mask = bool(look(image, "/ImageMask", False))
        if mask:
            colour = state.fill
        elif (space := look(image, "/ColorSpace")) is not None:
            colour = Colour(read_space(space, self._resources))
        else:
            colour = Colour(Space("unstated"))  # JPEG 2000 may leave it to the image's own data
        across, up = max(matrix.across, 1e-9) / 72, max(matrix.up, 1e-9) / 72
        self._walker.add(Paint(
            PaintKind.IMAGE, box, colour,
            ppi=min(float(look(image, "/Width")) / across, float(look(image, "/Height")) / up),
            line_art=mask or look(image, "/BitsPerComponent") == 1,
            style=state.style._replace(masked=True) if look(image, "/SMask") is not None else state.style,
        ), state.clip)


_OPERATORS: Mapping[str, Callable[[_Stream, str, Any], None]] = MappingProxyType({
    name: obey for obey, names in (
        (_Stream._paint_path, "S s f F f* B B* b b* n"),
        (_Stream._move_to, "m"), (_Stream._line_to, "l"), (_Stream._curve_to, "c v y"),
        (_Stream._close, "h"), (_Stream._rectangle, "re"), (_Stream._clip, "W W*"),
        (_Stream._set_colour, "g G rg RG k K cs CS sc SC scn SCN"),
        (_Stream._set_state, "q Q cm w gs"), (_Stream._set_line, "J j M d"), (_Stream._mark, "BDC BMC EMC"),
        (_Stream._set_font, "Tf"), (_Stream._set_text, "Tc Tw Tz TL Ts Tr"),
        (_Stream._begin_text, "BT"), (_Stream._move_text, "Td"), (_Stream._place_text, "Tm TD T*"),
        (_Stream._show, "Tj TJ ' \""),
        (_Stream._place, "Do sh"),
    ) for name in names.split()
} | {"INLINE IMAGE": _Stream._place})
"""Operator -> what obeys it (ISO 32000-1, annex A)."""

_UNLAYERED = MappingProxyType({name: obey for name, obey in _OPERATORS.items() if obey is not _Stream._mark})
"""The same, where marked content says nothing of what shows."""


def _matrix(operands: Any) -> Matrix:
    return UNMOVED if operands is None else Matrix(*numbers(operands)[:6])


def _round(rings: Iterable[Iterable[Point]]) -> Rectangle:
    return box_round(chain.from_iterable(rings))


_LONG = {"/W": "/Width", "/H": "/Height", "/BPC": "/BitsPerComponent", "/CS": "/ColorSpace", "/IM": "/ImageMask"}


def _spelled(settings: Any) -> Mapping[str, Any]:
    """An inline image's keys in full (ISO 32000-1, table 93)."""
    return {_LONG.get(str(key), str(key)): value for key, value in settings.items()}
