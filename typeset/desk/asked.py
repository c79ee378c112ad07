"""What the page asks of the desk, typed; and drawings as JSON, there and back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Annotated, Any, Literal

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, TypeAdapter, ValidationError

from cagework.solver.crossing import DIGITS, runs
from cagework.solver.model import SIZES, Cage, Cell, Given, Shape
from cagework.solver.reasoning.grade import Grade
from cagework.typeset.choices import SHEETS
from cagework.typeset.manifest.drawn import Drawing, answer_in_squares, cages_in_order, settled_regions
from cagework.typeset.manifest.notation import WIDEST
from cagework.typeset.manifest.puzzle import NO_REGIONS
from cagework.typeset.manifest.values import LONGEST_LINE, LONGEST_PROSE

_MOST_CELLS = WIDEST ** 2
_DEEPEST = 6
"""How deep the lists and mappings of a rule may nest."""


class BadRequest(Exception):  # noqa: N818 - it says what it is
    """A body that is not what may be asked. The text says where."""


def _shallow(value: Any, left: int = _DEEPEST) -> Any:
    inner: Iterable[Any] = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    if not left:
        raise ValueError("nests too deeply")
    for one in inner:
        _shallow(one, left - 1)
    return value


_Cell = Annotated[str, Field(pattern=r"^r[1-9][0-9]?c[1-9][0-9]?$")]
"""Some cell: whether it lies on the grid, the drawing's extent says."""
_Cells = Annotated[list[_Cell], Field(min_length=1, max_length=_MOST_CELLS)]
_Extent = Annotated[int, Field(ge=1, le=WIDEST)]
_Line = Annotated[str, Field(max_length=LONGEST_LINE)]
_Items = Annotated[list[Annotated[Any, AfterValidator(_shallow)]], Field(max_length=_MOST_CELLS)]


class _Model(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True)


class DrawnCage(_Model):
    """A cage; no sum where none is known yet."""

    cells: _Cells
    sum: Annotated[int, Field(ge=-9999, le=9999)] | None = None


class DrawingBody(_Model):
    """A drawing as JSON. Crossing sums have so many rows and columns, some squares black, and runs for cages; a
    run that is not among them has no sum yet.
    """

    size: Annotated[int, Field(ge=SIZES[0], le=SIZES[-1])]
    cages: Annotated[list[DrawnCage], Field(max_length=_MOST_CELLS)] = []
    givens: Annotated[dict[_Cell, Annotated[int, Field(ge=-99, le=99)]], Field(max_length=_MOST_CELLS)] = {}
    regions: Annotated[list[_Cells], Field(max_length=_MOST_CELLS)] | Literal["none"] | None = None
    rules: _Items | None = None
    houses: _Items | None = None
    answer: Annotated[list[_Line], Field(max_length=99)] | None = None
    id: _Line | None = None
    title: _Line | None = None
    by: _Line | None = None
    note: Annotated[str, Field(max_length=LONGEST_PROSE)] | None = None
    remark: Annotated[str, Field(max_length=LONGEST_PROSE)] | None = None
    grade: _Line | None = None
    rows: _Extent | None = None
    columns: _Extent | None = None
    black: Annotated[list[_Cell], Field(max_length=_MOST_CELLS)] | None = None

    def drawing(self) -> Drawing:
        """The drawing. Raises BadRequest where a cell is off the grid or in two regions, or a sum of no run."""
        texts: dict[str, Any] = {key: " ".join((getattr(self, key) or "").split()) or None
                 for key in ("id", "title", "by", "grade")}
        texts |= {key: (getattr(self, key) or "").strip() or None for key in ("note", "remark")}
        answer = tuple(row for row in ("".join(row.split()) for row in self.answer or ()) if row)
        if self.black is not None:
            return self._crossing(self.black, answer, texts)
        cages = cages_in_order(Cage(self._parsed(cage.cells), cage.sum) for cage in self.cages)
        regions = None
        if self.regions is not None:
            parts = [] if isinstance(self.regions, str) else [self._parsed(part) for part in self.regions]
            flat = [cell for part in parts for cell in part]
            if len(set(flat)) < len(flat):
                raise BadRequest("a cell is in two regions")
            regions = settled_regions(self.size, parts)
        givens = tuple(Given(self._parsed([cell])[0], digit) for cell, digit in self.givens.items())
        return Drawing(self.size, cages, tuple(sorted(givens, key=lambda given: given.cell)), regions,
                       tuple(self.rules or ()), tuple(self.houses or ()), answer, **texts)

    def _crossing(self, black: Iterable[str], answer: Iterable[str], texts: Mapping[str, Any]) -> Drawing:
        dark = set(self._parsed(black))
        rows, columns = self._extent
        shape = Shape(rows, columns, tuple(
            cell for row in range(1, rows + 1) for col in range(1, columns + 1)
            if (cell := Cell(row, col)) not in dark))
        totals = {tuple(sorted(self._parsed(cage.cells))): cage.sum for cage in self.cages}
        found = [run for each in runs(shape) for run in each]
        if not totals.keys() <= set(found):
            raise BadRequest("a sum is of no run")
        givens = [Given(self._parsed([cell])[0], digit) for cell, digit in self.givens.items()]
        return Drawing(DIGITS, cages_in_order(Cage(run, totals.get(run)) for run in found),
                       tuple(sorted(givens, key=lambda given: given.cell)),
                       answer=answer_in_squares(answer, shape), **texts, shape=shape)

    @property
    def _extent(self) -> tuple[int, int]:
        return self.rows or self.size, self.columns or self.size

    def _parsed(self, cells: Iterable[str]) -> tuple[Cell, ...]:
        found = tuple(dict.fromkeys(map(Cell.parse, cells)))
        rows, columns = self._extent
        if any(cell.row > rows or cell.col > columns for cell in found):
            raise BadRequest(f"a cell is off the grid of {rows} by {columns}")
        return found


class Judge(_Model):
    """What is known of a drawing at once."""

    do: Literal["judge"]
    stamp: int
    drawing: DrawingBody


class Study(_Model):
    """Why a drawing is not sound, or the path through it."""

    do: Literal["study"]
    stamp: int
    drawing: DrawingBody


class Tune(_Model):
    """Drawings near a sound one that have another grade."""

    do: Literal["tune"]
    drawing: DrawingBody
    grade: Grade


class StopTune(_Model):
    """The search for them, ended; the id is that of the drawing."""

    do: Literal["stop-tune"]
    id: _Line | None = None


class Read(_Model):
    """A text that was pasted."""

    do: Literal["read"]
    text: Annotated[str, Field(max_length=LONGEST_PROSE)]


class Write(_Model):
    """A drawing as it would stand in a file."""

    do: Literal["write"]
    drawing: DrawingBody


class Difference(_Model):
    """What saving would change; without an id, of a new puzzle. `digest` is that of the file when it was read."""

    do: Literal["difference"]
    id: _Line | None = None
    drawing: DrawingBody
    digest: _Line | None = None


class Save(_Model):
    """The same, done."""

    do: Literal["save"]
    id: _Line | None = None
    drawing: DrawingBody
    digest: _Line | None = None


class Build(_Model):
    """The book's files, written as the command `build` does; with a press file, with a booklet on some sheet."""

    do: Literal["build"]
    press: bool = False
    booklet: bool = False
    sheet: _Line | None = None

    @property
    def options(self) -> tuple[str, ...]:
        """As the command takes them. Raises BadRequest for an unknown sheet."""
        if self.sheet is not None and self.sheet not in SHEETS:
            raise BadRequest("there is no such sheet")
        named = ("--sheet", self.sheet) if self.booklet and self.sheet else ()
        return (*["--press"] * self.press, *["--booklet"] * self.booklet, *named)


class StopBuild(_Model):
    """The build under way, ended."""

    do: Literal["stop-build"]


class Move(_Model):
    """A puzzle put in another place: its section by number, and how many of the others there stand before it.
    `digest` is that of the manifest. With `joins` it goes on with the last move of the same puzzle: both are one.
    """

    do: Literal["move"]
    id: _Line
    group: Annotated[int, Field(ge=0, le=9999)]
    place: Annotated[int, Field(ge=0, le=99_999)]
    digest: _Line
    joins: bool = False


class TakeBack(_Model):
    """The last move, taken back; with `again`, the last one that was taken back, made once more."""

    do: Literal["take-back"]
    digest: _Line
    again: bool = False


class Rename(_Model):
    """Another id for a puzzle, everywhere: what that changes, or, with what all files were known by then, done."""

    do: Literal["rename"]
    id: _Line
    to: _Line
    known: _Line | None = None


class Remark(_Model):
    """A note to oneself beside a puzzle, in place of the one that `was` there; an empty one takes it away."""

    do: Literal["remark"]
    id: _Line
    text: Annotated[str, Field(max_length=LONGEST_PROSE)]
    was: Annotated[str, Field(max_length=LONGEST_PROSE)]


class Open(_Model):
    """A place in a file of the book, by the name that the state gives it, opened in the editor's own program."""

    do: Literal["open"]
    file: Annotated[str, Field(max_length=4096)]
    line: Annotated[int, Field(ge=1, le=9_999_999)] = 1
    column: Annotated[int, Field(ge=1, le=9_999_999)] = 1


Asked = (Judge | Study | Tune | StopTune | Read | Write | Difference | Save | Move | TakeBack | Rename | Remark
         | Open | Build | StopBuild)

_ASKED: TypeAdapter[Asked] = TypeAdapter(Annotated[Asked, Field(discriminator="do")])


def asked(body: bytes) -> Asked:
    """A body. Raises BadRequest."""
    try:
        return _ASKED.validate_json(body)
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        where = ".".join(map(str, first["loc"]))
        raise BadRequest(f"{where}: {first['msg']}" if where else str(first["msg"])) from error


def drawing_json(drawing: Drawing) -> dict[str, Any]:
    """A drawing as the page reads it."""
    regions: Any = None
    if drawing.regions is not None:
        regions = [list(map(str, region)) for region in drawing.regions] or NO_REGIONS
    shape = drawing.shape
    return {
        "size": drawing.size, "rows": shape.rows if shape else None, "columns": shape.columns if shape else None,
        "black": list(map(str, shape.black)) if shape else None,
        "cages": [{"cells": list(map(str, cage.cells)), "sum": cage.total} for cage in drawing.cages],
        "givens": {str(given.cell): given.digit for given in drawing.givens},
        "regions": regions, "rules": list(drawing.rules) or None, "houses": list(drawing.houses) or None,
        "answer": list(drawing.answer) or None, "id": drawing.id, "title": drawing.title, "by": drawing.by,
        "note": drawing.note, "remark": drawing.remark, "grade": drawing.grade,
    }
