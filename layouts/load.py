"""Layout files to `Layout`: find one on the shelf or beside a manifest, read it, say what is wrong.

Lengths in a layout file are millimetres; type sizes and line weights are points (1 pt = 1/72 in).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated, Literal, TypeVar

import yaml
from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

SHELF = Path(__file__).parent / "shelf"
"""The layouts that come with the tool, one YAML file each; the file's stem is its name."""

Key = str | int
Millimetres = Annotated[float, Field(gt=0, le=2000)]
Gap = Annotated[float, Field(ge=0, le=500)]
Points = Annotated[float, Field(gt=0, le=400)]
Count = Annotated[int, Field(ge=1, le=12)]
Regions = Annotated[Literal["lines", "tints"], Field(
    description="whether crooked regions have alternate tints besides their lines")]
_POINTS_OF_A_MM = 72 / 25.4
_LINES_OF_A_CELL = 5
"""A cell is at least so many times as wide as the heaviest line round it: sums and digits need the rest."""

_LEAST_GAP, _LEAST_DIAGRAM_CELL = 1, 5
"""Between the grids of a page, and of a cell in a diagram, in mm (both found by trying)."""

_EMS_OF_A_COLUMN = 9
"""A column is at least so many times as wide as its type is high: some twenty letters; narrower ones break
nearly every word (common practice has forty letters and more).
"""

FaceName = Literal["serif", "serif-italic", "serif-semibold", "sans", "sans-semibold"]


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing wrong in a layout: the path of keys to it, what is wrong, the way out."""

    path: tuple[Key, ...]
    message: str
    hint: str = ""


class LayoutError(ValueError):
    """A layout that cannot be used, with every problem found in it."""

    def __init__(self, problems: tuple[Problem, ...]) -> None:
        super().__init__("; ".join(problem.message for problem in problems))
        self.problems = problems


class _Strict(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)


class Trim(_Strict):
    """The page as it is cut, in mm."""

    width: Millimetres
    height: Millimetres


class Margins(_Strict):
    """White round the text block, in mm. The inside margin is at the spine, on either page; a thick book opens
    less flat, so from each page count in `inside_from` on it is at least that wide.
    """

    top: Gap
    bottom: Gap
    inside: Gap
    outside: Gap
    inside_from: Mapping[Annotated[int, Field(ge=1)], Gap] = {}

    def inside_at(self, pages: int) -> float:
        """The inside margin of a book of so many pages, in mm."""
        return max(self.inside, *(wide for least, wide in self.inside_from.items() if pages >= least), 0.0)


class Slots(_Strict):
    """How many grids share the text block, the gap between them and the largest cell, in mm."""

    columns: Count
    rows: Count
    gap: Gap = 6.0
    cell: Annotated[Millimetres, Field(description="largest cell, in mm")]


class Columns(_Strict):
    """How worked solutions run: columns to a page, the gap between them in mm, type size in pt, and the cell of
    a diagram in mm (as small as its notes allow where the column is too narrow for it; where it is too narrow for
    them, too, the diagram stands across all columns).
    """

    columns: Count = 1
    gap: Gap = 7.0
    size: Points = 8.5
    cell: Millimetres = 6.2


class TypeSizes(_Strict):
    """Type sizes in pt. `label` is the least size a sum is ever printed at."""

    body: Points
    leading: Points
    display: Points
    heading: Points
    title: Points
    small: Points
    label: Points


class Prose(_Strict):
    """How running text is set."""

    family: Literal["serif", "sans"] = "serif"
    align: Literal["justified", "ragged"] = "justified"
    hyphenate: bool = True
    italics: bool = True


class Weights(_Strict):
    """Line weights in pt. A region's line is seen among the dashes of the cages on both its sides only where it is
    clearly heavier than the two together.
    """

    cell: Points
    cage: Points
    region: Points
    frame: Points


class Tabs(_Strict):
    """Tinted tabs at the fore-edge, one below the other, a place for each section: lengths in mm, `tint` as a
    share of solid ink. Below 5 % a tint may vanish, above 85 % go solid (torstarprinting.com specs and
    mclarenpress.com web press specifications, for newsprint; a stock's own limits are the preflight's business).
    """

    top: Gap
    height: Millimetres
    gap: Gap = 4.0
    width: Millimetres
    tint: Annotated[float, Field(ge=0.05, le=0.85)]


class Layout(_Strict):
    """A page design: everything about a book's look that is not in its words or its puzzles."""

    name: str = ""
    title: Annotated[str, Field(description="what an editor would call this layout")]
    trim: Trim
    margins: Margins
    puzzles: Slots
    answers: Slots
    solutions: Columns = Columns()
    type: TypeSizes
    prose: Prose = Prose()
    weights: Weights
    regions: Regions = "lines"
    cages: Annotated[Literal["dashed", "tinted", "both"], Field(
        description="whether the cages of puzzles have dashed outlines, alternate tints, or both")] = "dashed"
    tabs: Tabs | None = None
    grades: Annotated[Literal["marks", "words", "none"], Field(
        description="how grades are shown where the book does not say")] = "marks"
    second_ink: Annotated[tuple[Literal["tabs", "openers", "labels", "diagrams", "squares"], ...], Field(
        strict=False, description="what is printed in the book's second ink, where it has one")] = (
        "tabs", "openers", "labels", "diagrams", "squares")
    fonts: Mapping[FaceName, Path] = {}

    def __repr__(self) -> str:
        return f"Layout({self.name!r}, {self.trim.width:g} x {self.trim.height:g} mm)"

    @model_validator(mode="after")
    def _leaves_room(self) -> Layout:
        trim, margins = self.trim, self.margins
        wide = trim.width - margins.inside_at(max(margins.inside_from, default=0)) - margins.outside
        high = trim.height - margins.top - margins.bottom
        if wide < 40 or high < 60:
            raise ValueError(
                f"the margins leave a text block of {wide:g} x {high:g} mm; it needs at least 40 x 60 mm"
            )
        weights = self.weights
        if not weights.cell < weights.region < weights.frame:
            raise ValueError("line weights must rise: cell, then region, then frame")
        heaviest = self.puzzles.cell * _POINTS_OF_A_MM / _LINES_OF_A_CELL
        if max(weights.cage, weights.frame) > heaviest:
            raise ValueError(f"a line of more than {heaviest:.1f} pt leaves no room in a cell of "
                             f"{self.puzzles.cell:g} mm")
        if min(self.puzzles.gap, self.answers.gap) < _LEAST_GAP:
            raise ValueError(f"the grids of a page need gaps of at least {_LEAST_GAP} mm, or their headings touch")
        if self.solutions.cell < _LEAST_DIAGRAM_CELL:
            raise ValueError(f"cells of less than {_LEAST_DIAGRAM_CELL} mm have no room for what a diagram shows")
        if self.regions == "tints" and self.cages != "dashed":
            raise ValueError(f"regions: tints and cages: {self.cages} cannot go together, as tints tell either "
                             "regions or cages apart")
        if self.type.leading < self.type.body:
            raise ValueError("the leading must not be less than the body size")
        if self.solutions.size > self.type.heading:
            raise ValueError("worked solutions must not be set larger than headings")
        column = (wide - self.solutions.gap * (self.solutions.columns - 1)) / self.solutions.columns
        if column * _POINTS_OF_A_MM < _EMS_OF_A_COLUMN * self.solutions.size:
            raise ValueError(f"worked solutions in type of {self.solutions.size:g} pt need columns of at least "
                             f"{_EMS_OF_A_COLUMN * self.solutions.size / _POINTS_OF_A_MM:.0f} mm")
        if max(self.type.heading, self.type.title) > self.type.display:
            raise ValueError("headings and titles must not be set larger than the display size")
        if self.tabs and self.tabs.width > margins.outside:
            raise ValueError("the tabs must not be wider than the outside margin")
        return self

    def for_pages(self, count: int) -> Layout:
        """The same layout with the inside margin a book of `count` pages needs."""
        margins = self.margins.model_copy(update={"inside": self.margins.inside_at(count)})
        return self.model_copy(update={"margins": margins})

    def on_pages_of(self, book: Layout) -> Layout:
        """The look of a section's puzzles in a book of another layout: this one's slots, type sizes, lines and
        tints on the book's pages, with its margins, faces and answers.
        """
        own = {key: getattr(self, key) for key in ("puzzles", "type", "weights", "regions", "cages")}
        return book.model_copy(update=own)


def shelf_names() -> tuple[str, ...]:
    """The names of the layouts on the shelf, sorted."""
    return tuple(sorted(path.stem for path in SHELF.glob("*.yaml")))


def layout_path(name: str, beside: Path) -> Path:
    """The file a layout name stands for: a shelf name, or a path ending in .yaml relative to `beside`.

    Raises LookupError, its text ready for the editor, where there is no such file.
    """
    path = beside / name if name.endswith(".yaml") else SHELF / f"{name}.yaml"
    if not path.is_file():
        raise LookupError(f"there is no layout '{name}'")
    return path


def shelf_layout(name: str) -> Layout:
    """A layout from the shelf. LookupError where there is none of that name."""
    return read_layout(yaml.safe_load(layout_path(name, SHELF).read_text(encoding="utf-8")), name)


def read_layout(data: object, name: str, beside: Path = SHELF) -> Layout:
    """A parsed layout file as a Layout; font files are taken relative to `beside`.

    Raises LayoutError with every problem found.
    """
    layout = validated(Layout, data)
    return layout.model_copy(update={"name": name, "fonts": font_files(layout.fonts, beside, "layout")})


_Design = TypeVar("_Design", bound=BaseModel)


def validated(kind: type[_Design], data: object) -> _Design:
    """A parsed file as its model. Raises LayoutError with every problem found."""
    try:
        return kind.model_validate(data)
    except ValidationError as error:
        raise LayoutError(tuple(
            Problem(tuple(item["loc"]), item["msg"].removeprefix("Value error, ")) for item in error.errors()
        )) from error


def font_files(fonts: Mapping[FaceName, Path], beside: Path, what: str) -> Mapping[FaceName, Path]:
    """The font files that a layout or slot (`what`) in a folder names. LayoutError for those missing."""
    files = {face: beside / path for face, path in fonts.items()}
    if missing := tuple(face for face, path in files.items() if not path.is_file()):
        raise LayoutError(tuple(
            Problem(("fonts", face), f"there is no font file '{files[face]}'",
                    f"the path is taken from the {what} file's own folder") for face in missing
        ))
    return files
