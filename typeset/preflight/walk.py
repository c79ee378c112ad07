"""A page's content stream to what it paints: where, in which colour, how thin, how small.

The graphics state is kept as ISO 32000-1, 8.4 has it; forms and tiling patterns are followed. Boxes are those
of the page's own space, cut to the clip's box. Shapes behind a soft mask or a curved clip count in full.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from pypdf import PageObject
from pypdf.generic import ContentStream, DictionaryObject, StreamObject

from cagework.typeset.marks import Point
from cagework.typeset.preflight.colour import BLACK, CMYK, GRAY, RGB, Colour, Space, first_colour, read_space
from cagework.typeset.preflight.face import Face, read_face
from cagework.typeset.preflight.geometry import Box, Matrix, box_round, thickness
from cagework.typeset.preflight.keys import each, look, numbers
from cagework.typeset.preflight.paint import Kind, Paint

_DEPTH = 12
"""Forms within forms; a file that nests deeper runs in circles."""

_OPERATIONS = 3_000_000
_FORMS = 20_000
"""What one page may ask of us before we give it up: operations, and forms placed."""

_CAP = 0.7
"""How far letters reach above the baseline, in ems: nearer to what is inked than a font's own box."""


@dataclass(frozen=True, slots=True)
class _State:
    """The part of the graphics state that the rules ask about."""

    matrix: Matrix
    clip: Box
    fill: Colour = BLACK
    stroke: Colour = BLACK
    width: float = 1.0
    face: Face | None = None
    size: float = 0.0
    spacing: float = 0.0
    word_spacing: float = 0.0
    stretch: float = 1.0
    leading: float = 0.0
    rise: float = 0.0
    render: int = 0


@dataclass(slots=True)
class _Path:
    """The path being built, in the page's space."""

    rings: list[list[Point]] = field(default_factory=list)
    clips: bool = False


def paints(page: PageObject, media: Box) -> tuple[Paint, ...]:
    """All that a page paints, in order. ValueError where its content makes no sense; pypdf's errors besides."""
    contents = look(page, "/Contents")
    if contents is None:
        return ()
    walker = _Walker(page.pdf)
    # Wide, since a clip from nowhere would hide marks outside a broken MediaBox.
    start = _State(Matrix(), media.grown(14400))
    walker.follow(contents, look(page, "/Resources", DictionaryObject()), start, 0)
    return tuple(walker.found)


class _Walker:
    """Walks one page; `found` gathers what it paints."""

    def __init__(self, pdf: Any) -> None:
        self.pdf = pdf
        self.found: list[Paint] = []
        self._faces: dict[int, tuple[Any, Face]] = {}
        self._operations: dict[int, tuple[Any, Sequence[tuple[Any, bytes]]]] = {}
        self._left, self._forms_left = _OPERATIONS, _FORMS
        self._tiled = False

    def follow(self, contents: Any, resources: Any, state: _State, depth: int) -> None:
        """One content stream: a page's, a form's or a pattern's."""
        if depth > _DEPTH:
            raise ValueError("forms within forms without end")
        self._forms_left -= 1
        if id(contents) not in self._operations:
            self._operations[id(contents)] = (contents, ContentStream(contents, self.pdf).operations)
        _Stream(self, resources, state, depth).run(self._operations[id(contents)][1])

    def spend(self) -> None:
        """Count an operation; ValueError where a page asks too much."""
        self._left -= 1
        if min(self._left, self._forms_left) < 0:
            raise ValueError("more drawing than a page can hold")

    def face(self, font: Any) -> Face:
        """A font as a Face, read once; the font is kept with it, so that its id stays its own."""
        if id(font) not in self._faces:
            self._faces[id(font)] = (font, read_face(font))
        return self._faces[id(font)][1]

    def add(self, paint: Paint, clip: Box) -> None:
        """Keep a paint, as far as the clip lets it show."""
        shown = paint.box.cut_to(clip)
        if shown is not None:
            self.found.append(replace(paint, box=shown, tiled=self._tiled))

    def tile(self, pattern: Any, resources: Any, depth: int) -> None:
        """The cell of a tiling pattern, for its colours and sizes alone."""
        before, self._tiled = self._tiled, True
        wide = Box(-1e6, -1e6, 1e6, 1e6)
        state = _State(_matrix(look(pattern, "/Matrix")), wide)
        self.follow(pattern, look(pattern, "/Resources", resources), state, depth + 1)
        self._tiled = before


class _Stream:
    """One content stream under way: its state, its stack, its path, its text matrices."""

    def __init__(self, walker: _Walker, resources: Any, state: _State, depth: int) -> None:
        self._walker = walker
        self._resources = resources
        self._state = state
        self._depth = depth
        self._stack: list[_State] = []
        self._path = _Path()
        self._at: Point = (0.0, 0.0)
        self._text = self._line = Matrix()

    def run(self, operations: Sequence[tuple[Any, bytes]]) -> None:
        """All operations in order; one with too few operands, or of the wrong kind, raises."""
        for operands, operator in operations:
            self._walker.spend()
            name = operator.decode("latin-1")
            (self._paint_path(name) or self._build_path(name, operands) or self._set_colour(name, operands)
             or self._set_state(name, operands) or self._set_text(name, operands)
             or self._show(name, operands) or self._place(name, operands))

    def _named(self, kind: str, name: Any) -> Any:
        """What a resource name stands for; None where it stands for nothing."""
        return look(look(self._resources, kind), name)

    def _set_state(self, name: str, operands: Any) -> bool:
        state = self._state
        match name:
            case "q":
                self._stack.append(state)
            case "Q":
                self._state = self._stack.pop() if self._stack else state
            case "cm":
                self._state = replace(state, matrix=_matrix(operands).then(state.matrix))
            case "w":
                self._state = replace(state, width=float(operands[0]))
            case "gs":
                given = self._named("/ExtGState", operands[0])
                self._state = replace(state, width=float(look(given, "/LW", state.width)))
                if chosen := each(look(given, "/Font")):
                    self._state = replace(self._state, face=self._walker.face(chosen[0]), size=float(chosen[1]))
            case _:
                return False
        return True

    def _set_colour(self, name: str, operands: Any) -> bool:
        match name.lower():
            case "g" | "rg" | "k":
                space = {"g": GRAY, "rg": RGB, "k": CMYK}[name.lower()]
                colour = Colour(space, tuple(map(float, operands)))
            case "cs":
                colour = first_colour(read_space(operands[0], self._resources))
            case "sc" | "scn":
                space = (self._state.stroke if name.isupper() else self._state.fill).space
                if operands and isinstance(operands[-1], str):
                    self._pattern(operands[-1])
                    colour = Colour(space)
                else:
                    colour = Colour(space, tuple(map(float, operands)))
            case _:
                return False
        if name.isupper():
            self._state = replace(self._state, stroke=colour)
        else:
            self._state = replace(self._state, fill=colour)
        return True

    def _pattern(self, name: Any) -> None:
        pattern = self._named("/Pattern", name)
        if isinstance(pattern, StreamObject):
            self._walker.tile(pattern, self._resources, self._depth)
        elif pattern is not None:
            self._shade(look(pattern, "/Shading"), self._state.clip)

    def _shade(self, shading: Any, box: Box) -> None:
        space = read_space(look(shading, "/ColorSpace"), self._resources)
        self._walker.add(Paint(Kind.SHADING, box, Colour(space), tiled=True), self._state.clip)

    def _build_path(self, name: str, operands: Any) -> bool:
        rings = self._path.rings
        match name:
            case "m":
                rings.append([self._moved(operands)])
            case "l" | "c" | "v" | "y":
                if not rings:
                    rings.append([])
                rings[-1] += [self._moved(operands[start:start + 2]) for start in range(0, len(operands) - 1, 2)]
            case "h":
                pass
            case "re":
                x, y, width, height = map(float, operands)
                corners = ((x, y), (x + width, y), (x + width, y + height), (x, y + height))
                rings.append([self._state.matrix.at(*corner) for corner in corners])
            case "W" | "W*":
                self._path.clips = True
            case _:
                return False
        return True

    def _moved(self, operands: Any) -> Point:
        return self._state.matrix.at(float(operands[0]), float(operands[1]))

    def _paint_path(self, name: str) -> bool:
        if name not in ("S", "s", "f", "F", "f*", "B", "B*", "b", "b*", "n"):
            return False
        rings = [ring for ring in self._path.rings if ring]
        state = self._state
        if rings and name[0] in "fFbB":
            sides = [side for ring in rings if (side := thickness(ring)) is not None]
            box = box_round(point for ring in rings for point in ring)
            weight = min(sides) if sides else None
            self._walker.add(Paint(Kind.FILL, box, state.fill, weight=weight), state.clip)
        if rings and name[0] in "sSbB":
            weight = state.width * state.matrix.least
            for ring in rings:
                box = box_round(ring).grown(weight / 2)
                self._walker.add(Paint(Kind.STROKE, box, state.stroke, weight=weight), state.clip)
        if rings and self._path.clips:
            clip = state.clip.cut_to(box_round(point for ring in rings for point in ring))
            # Nothing shows through an empty clip: a flat box far off keeps it so.
            self._state = replace(state, clip=clip or Box(-1e7, -1e7, -1e7, -1e7))
        self._path = _Path()
        return True

    def _set_text(self, name: str, operands: Any) -> bool:
        state = self._state
        match name:
            case "BT":
                self._text = self._line = Matrix()
            case "Tf":
                font = self._named("/Font", operands[0])
                face = self._walker.face(font) if font is not None else None
                self._state = replace(state, face=face, size=float(operands[1]))
            case "Tc":
                self._state = replace(state, spacing=float(operands[0]))
            case "Tw":
                self._state = replace(state, word_spacing=float(operands[0]))
            case "Tz":
                self._state = replace(state, stretch=float(operands[0]) / 100)
            case "TL":
                self._state = replace(state, leading=float(operands[0]))
            case "Ts":
                self._state = replace(state, rise=float(operands[0]))
            case "Tr":
                self._state = replace(state, render=int(operands[0]))
            case "Tm":
                self._text = self._line = _matrix(operands)
            case "Td":
                self._next_line(float(operands[0]), float(operands[1]))
            case "TD":
                self._state = replace(state, leading=-float(operands[1]))
                self._next_line(float(operands[0]), float(operands[1]))
            case "T*":
                self._next_line(0.0, -state.leading)
            case _:
                return False
        return True

    def _next_line(self, x: float, y: float) -> None:
        self._text = self._line = Matrix(e=x, f=y).then(self._line)

    def _show(self, name: str, operands: Any) -> bool:
        match name:
            case "Tj":
                self._show_string(_bytes(operands[0]))
            case "TJ":
                for part in operands[0]:
                    if isinstance(part, (int, float)):
                        self._move(-float(part) / 1000 * self._state.size * self._state.stretch)
                    else:
                        self._show_string(_bytes(part))
            case "'":
                self._next_line(0.0, -self._state.leading)
                self._show_string(_bytes(operands[0]))
            case '"':
                self._state = replace(self._state, word_spacing=float(operands[0]), spacing=float(operands[1]))
                self._next_line(0.0, -self._state.leading)
                self._show_string(_bytes(operands[2]))
            case _:
                return False
        return True

    def _move(self, along: float) -> None:
        self._text = Matrix(e=along).then(self._text)

    def _show_string(self, text: bytes) -> None:
        state = self._state
        if state.face is None:
            raise ValueError("text before any font is chosen")
        inked = moved = 0.0
        for advance, spaces in state.face.advances(text):
            width = advance * state.size * state.stretch
            if not spaces:
                inked = moved + width
            moved += width + (state.spacing + (state.word_spacing if spaces else 0.0)) * state.stretch
        if inked and state.render % 4 != 3:
            place = self._text.then(state.matrix)
            corners = ((0.0, 0.0), (inked, 0.0), (inked, _CAP * state.size), (0.0, _CAP * state.size))
            box = box_round(place.at(x, y + state.rise) for x, y in corners)
            outlined = state.render % 4 in (1, 2)
            self._walker.add(Paint(
                Kind.TEXT, box, state.stroke if state.render % 4 == 1 else state.fill,
                weight=state.width * state.matrix.least if outlined else None, size=abs(state.size) * place.up,
            ), state.clip)
        self._move(moved)

    def _place(self, name: str, operands: Any) -> bool:
        match name:
            case "Do":
                thing = self._named("/XObject", operands[0])
                if thing is not None and look(thing, "/Subtype") == "/Image":
                    self._image(thing)
                elif thing is not None and look(thing, "/Subtype") == "/Form":
                    self._form(thing)
            case "INLINE IMAGE":
                self._image(_spelled(operands["settings"]))
            case "sh":
                shading = self._named("/Shading", operands[0])
                if shading is not None:
                    self._shade(shading, self._state.clip)
            case _:
                return False
        return True

    def _form(self, form: Any) -> None:
        state = self._state
        state = replace(state, matrix=_matrix(look(form, "/Matrix")).then(state.matrix))
        if edges := numbers(look(form, "/BBox")):
            left, low, right, top = edges
            edge = box_round(state.matrix.at(x, y) for x in (left, right) for y in (low, top))
            clip = state.clip.cut_to(edge)
            if clip is None:
                return
            state = replace(state, clip=clip)
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
            Kind.IMAGE, box, colour,
            ppi=min(float(look(image, "/Width")) / across, float(look(image, "/Height")) / up),
            line_art=mask or look(image, "/BitsPerComponent") == 1,
        ), state.clip)


def _matrix(operands: Any) -> Matrix:
    return Matrix() if operands is None else Matrix(*numbers(operands)[:6])


def _bytes(text: Any) -> bytes:
    """A string operand as it stands in the file: pypdf turns some into text."""
    return text.original_bytes if hasattr(text, "original_bytes") else bytes(text)


_LONG = {"/W": "/Width", "/H": "/Height", "/BPC": "/BitsPerComponent", "/CS": "/ColorSpace", "/IM": "/ImageMask"}


def _spelled(settings: Any) -> Mapping[str, Any]:
    """An inline image's keys in full (ISO 32000-1, table 93)."""
    return {_LONG.get(str(key), str(key)): value for key, value in settings.items()}
