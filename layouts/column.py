"""Newspaper slots: a place of some columns on a page, what it carries and in which order, read from YAML.

A length is written with its unit: `45 mm`, `9p6` (picas, then points) or `30 pt`; a bare number is mm for the
slot's own measures and pt for type and lines. A pica is 12 pt, and 1 pt is 1/72 in.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import yaml
from pydantic import (
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainValidator,
    model_validator,
)

from cagework.layouts.load import FaceName, Regions, font_files, validated

SLOTS = Path(__file__).parent / "slots"
"""The slots that come with the tool, one YAML file each; the file's stem is its name."""

_MM = 25.4 / 72
_LENGTH = re.compile(
    r"(?P<picas>\d+(?:\.\d+)?)p(?P<points>\d+(?:\.\d+)?)?|(?P<number>\d+(?:\.\d+)?) ?(?P<unit>mm|pt)?")


class Element(StrEnum):
    """What a slot can carry."""

    HEADING = "heading"
    TITLE = "title"
    NUMBER = "number"
    DATE = "date"
    GRADE = "grade"
    CREDIT = "credit"
    GRID = "grid"
    RULES = "rules"
    HINT = "hint"
    STEP = "step"
    ANSWER = "answer"


_SOLID = frozenset({Element.GRID, Element.ANSWER, Element.STEP, Element.RULES, Element.HINT})
"""Elements that take lines of their own."""

OF_A_PUZZLE = frozenset({Element.TITLE, Element.GRADE, Element.CREDIT, Element.GRID, Element.HINT,
                         Element.STEP})
"""Elements that speak of one puzzle; where a slot has several they stand under `each`."""


@dataclass(frozen=True, slots=True)
class Row:
    """Parts on one line, the last of several ranged right."""

    parts: tuple[Element, ...]


@dataclass(frozen=True, slots=True)
class Each:
    """What is repeated for each puzzle."""

    carries: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Stack:
    """A stack beside others, `columns` of the page's columns wide."""

    columns: int
    carries: tuple[Item, ...]


@dataclass(frozen=True, slots=True)
class Beside:
    """Stacks side by side, a gutter between them."""

    stacks: tuple[Stack, ...]


Item = Row | Each | Beside


class WhoseAnswer(StrEnum):
    """Whose answer a slot prints."""

    PREVIOUS = "previous"    # the date published before
    WEEK = "week"            # the same weekday a week before


def length(value: object, unit: str) -> float:
    """A written length in `unit` (mm or pt), a bare number being in it. ValueError where it is none."""
    written = str(getattr(value, "text", value)).strip() if isinstance(value, str | int | float) else ""
    found = _LENGTH.fullmatch(written)
    if found is None:
        raise ValueError("a length is written as 45 mm, 9p6 (picas and points) or 30 pt")
    if found["picas"]:
        points = 12 * float(found["picas"]) + float(found["points"] or 0)
    elif (found["unit"] or unit) == unit:
        return float(found["number"])
    elif unit == "mm":
        points = float(found["number"])
    else:
        return float(found["number"]) / _MM
    return points * _MM if unit == "mm" else points


Millimetres = Annotated[float, BeforeValidator(lambda value: length(value, "mm")), Field(gt=0, le=1000)]
Gap = Annotated[float, BeforeValidator(lambda value: length(value, "mm")), Field(ge=0, le=100)]
Points = Annotated[float, BeforeValidator(lambda value: length(value, "pt")), Field(gt=0, le=200)]


def _part(name: object) -> Element:
    if isinstance(name, str) and name in list(Element):
        return Element(name)
    raise ValueError(f"a slot cannot carry {name!r}; it carries {', '.join(Element)}")


def _item(written: object) -> Item:
    if isinstance(written, Row | Each | Beside):
        return written
    if isinstance(written, str):
        return Row((_part(written),))
    if isinstance(written, list) and 1 <= len(written) <= 3:
        parts = tuple(map(_part, written))
        if len(parts) > 1 and (solid := _SOLID & set(parts)):
            raise ValueError(f"'{min(solid)}' takes lines of its own")
        return Row(parts)
    if isinstance(written, dict) and set(written) == {"each"} and isinstance(written["each"], list):
        rows = tuple(map(_item, written["each"]))
        if not all(isinstance(row, Row) for row in rows):
            raise ValueError("under 'each' stand parts, and lines of parts")
        return Each(tuple(row for row in rows if isinstance(row, Row)))
    if isinstance(written, dict) and set(written) == {"beside"} and isinstance(written["beside"], list):
        return Beside(tuple(map(_stack, written["beside"])))
    raise ValueError("write a part's name, a list of up to three for one line, {each: [...]} or {beside: [...]}")


def _stack(written: object) -> Stack:
    if not isinstance(written, dict) or set(written) != {"columns", "carries"}:
        raise ValueError("under 'beside' each stack has 'columns' and 'carries'")
    columns, carries = written["columns"], written["carries"]
    if not isinstance(columns, int) or columns < 1 or not isinstance(carries, list) or not carries:
        raise ValueError("a stack is one column wide or more, and carries a list")
    return Stack(columns, tuple(map(_item, carries)))


class _Strict(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)


class AnswerPart(_Strict):
    """Whose answer is printed, whether upside down, and its largest cell in mm."""

    of: WhoseAnswer = WhoseAnswer.PREVIOUS
    turned: bool = False
    cell: Millimetres = 3.2


class SlotType(_Strict):
    """Type sizes in pt, as wished; where matter is tight they go down to what the stock holds."""

    heading: Points = 14.0
    title: Points = 10.0
    text: Points = 8.0
    small: Points = 7.5


class SlotWeights(_Strict):
    """Line weights in pt; what is left out follows from the stock's thinnest line."""

    cell: Points | None = None
    cage: Points | None = None
    region: Points | None = None
    frame: Points | None = None


class ColumnSlot(_Strict):
    """A place on a newspaper page. `height` is the whole of it: the file is trimmed to width and height.

    `cell` is the largest cell of a grid, in mm; the least follows from the stock's smallest type.
    """

    name: str = ""
    title: Annotated[str, Field(description="what a page editor would call this slot")]
    stock: str = "newsprint"
    columns: Annotated[int, Field(ge=1, le=12)]
    column: Millimetres
    gutter: Gap = 0.0
    height: Millimetres
    puzzles: Annotated[int, Field(ge=1, le=6)] = 1
    sizes: Annotated[tuple[int, ...], Field(min_length=1)] = (9,)
    cell: Millimetres = 14.0
    carries: Annotated[list[Annotated[Item, PlainValidator(_item)]], Field(min_length=1)]
    sacrifice: list[Annotated[Element, PlainValidator(_part)]] = []
    answer: AnswerPart = AnswerPart()
    type: SlotType = SlotType()
    weights: SlotWeights = SlotWeights()
    regions: Regions = "lines"
    fonts: Mapping[FaceName, Path] = {}

    @property
    def width(self) -> float:
        """The width in mm: its columns and the gutters between them."""
        return self.measure(self.columns)

    def measure(self, columns: int) -> float:
        """The width of some of its columns in mm."""
        return columns * self.column + (columns - 1) * self.gutter

    @property
    def parts(self) -> tuple[Element, ...]:
        """All parts it carries, in order."""
        return tuple(part for row in rows(self.carries) for part in row.parts)

    @model_validator(mode="after")
    def _hangs_together(self) -> ColumnSlot:
        for item in self.carries:
            if isinstance(item, Beside) and sum(stack.columns for stack in item.stacks) > self.columns:
                raise ValueError(f"the stacks beside each other are wider than the slot's {self.columns} columns")
        loose = {part for item in self.carries if not isinstance(item, Each)
                 for row in rows([item]) for part in row.parts}
        if self.puzzles > 1 and (stray := loose & OF_A_PUZZLE):
            raise ValueError(f"'{min(stray)}' speaks of one puzzle; with several it stands under 'each'")
        if Element.GRID not in self.parts:
            raise ValueError("a slot carries at least its 'grid'")
        if lost := [part for part in self.sacrifice if part not in self.parts]:
            raise ValueError(f"'{lost[0]}' is to be sacrificed, but the slot does not carry it")
        if Element.GRID in self.sacrifice:
            raise ValueError("the grid cannot be sacrificed")
        return self


def rows(items: list[Item] | tuple[Item, ...]) -> Iterator[Row]:
    """All lines of a slot's matter, in order."""
    for item in items:
        match item:
            case Row():
                yield item
            case Each():
                yield from item.carries
            case Beside():
                for stack in item.stacks:
                    yield from rows(stack.carries)


def slot_names() -> tuple[str, ...]:
    """The names of the slots that come with the tool, sorted."""
    return tuple(sorted(path.stem for path in SLOTS.glob("*.yaml")))


def slot_path(name: str, beside: Path) -> Path:
    """The file a slot's name stands for: one that comes with the tool, or a path ending in .yaml from `beside`.

    Raises LookupError, its text ready for the editor, where there is no such file.
    """
    path = beside / name if name.endswith(".yaml") else SLOTS / f"{name}.yaml"
    if not path.is_file():
        raise LookupError(f"there is no slot '{name}'")
    return path


def read_slot(data: object, name: str, beside: Path = SLOTS) -> ColumnSlot:
    """A parsed slot file as a ColumnSlot; font files are taken relative to `beside`.

    Raises LayoutError with every problem found.
    """
    slot = validated(ColumnSlot, data)
    return slot.model_copy(update={"name": name, "fonts": font_files(slot.fonts, beside, "slot")})


def shelf_slot(name: str) -> ColumnSlot:
    """A slot that comes with the tool. LookupError where there is none of that name."""
    return read_slot(yaml.safe_load(slot_path(name, SLOTS).read_text(encoding="utf-8")), name)


def elements_of(item: Item) -> frozenset[Element]:
    """All parts of one item."""
    return frozenset(part for row in rows([item]) for part in row.parts)


def over_grids(items: Sequence[Item]) -> frozenset[Element]:
    """The parts that stand over a grid."""
    grid = next((number for number, item in enumerate(items) if Element.GRID in elements_of(item)), None)
    if grid is None:
        return frozenset()
    over = frozenset[Element]().union(*map(elements_of, items[:grid]))
    match items[grid]:
        case Each(carries=rows_of):
            return over | over_grids(rows_of)
        case Beside(stacks=stacks):
            return over.union(*(over_grids(stack.carries) for stack in stacks))
    return over
