"""The keys of a series manifest and of a ledger as typed models."""

from __future__ import annotations

import datetime as dt
import re
from enum import StrEnum
from typing import Annotated, Any

from pydantic import AfterValidator, ConfigDict, Field, PlainValidator, WithJsonSchema

from cagework.layouts.column import Element, slot_names
from cagework.solver.model import SIZES
from cagework.solver.reasoning.grade import Grade
from cagework.typeset.choices import Kind, SvgText
from cagework.typeset.faults import listed, or_else, quoted
from cagework.typeset.manifest.parts import Line, StrictModel
from cagework.typeset.manifest.schema import GradeWords, Id, Language, Prose, Texts, choice
from cagework.typeset.manifest.values import ID, Unfit


class Fallback(StrEnum):
    """What to do for a date when the pool has no puzzle of the grade wanted."""

    NONE = "none"
    NEAREST = "nearest"


WEEKDAYS = ("monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday")
"""As the manifest writes them, in the order of `datetime.date.weekday`."""

_DATE_JSON: dict[str, Any] = {"type": "string", "format": "date"}
_DAYS_JSON: dict[str, Any] = {
    "type": "object", "minProperties": 1, "propertyNames": {"enum": list(WEEKDAYS)},
    "additionalProperties": {"enum": list(Grade)},
}


def _date(value: object) -> dt.date:
    if isinstance(value, dt.date):
        return value
    if not isinstance(value, str) or not re.fullmatch(r"\d{4}-\d{2}-\d{2}", value):
        raise Unfit("must be a date, written as 2027-03-01", of_key=True)
    try:
        return dt.date.fromisoformat(value)
    except ValueError:
        raise Unfit(f"{quoted(value)} is no day of the calendar") from None


def _days(value: object) -> dict[int, Grade]:
    if not isinstance(value, dict) or not value:
        raise Unfit("must be keys with values, such as {monday: stroll, saturday: summit}", of_key=True)
    found = {}
    for day, grade in value.items():
        if day not in WEEKDAYS:
            raise Unfit(f"there is no weekday {quoted(str(day))}", or_else(str(day), WEEKDAYS), below=str(day))
        if grade not in list(Grade):
            raise Unfit(f"there is no grade {quoted(str(grade))}", or_else(str(grade), list(Grade)),
                        below=str(day))
        found[WEEKDAYS.index(day)] = Grade(grade)
    return dict(sorted(found.items()))


def _sizes(value: object) -> tuple[int, ...]:
    sizes = value if isinstance(value, list) else [value]
    wrong = [size for size in sizes if isinstance(size, bool) or size not in list(SIZES)]
    if wrong or not sizes:
        raise Unfit(f"must list sizes of grids, {SIZES[0]} to {SIZES[-1]}", of_key=True)
    return tuple(sizes)


def _parts(value: object) -> tuple[Element, ...]:
    names = value if isinstance(value, list) else [value]
    for index, name in enumerate(names):
        if not isinstance(name, str) or name not in list(Element) or name == Element.GRID:
            others = [str(one) for one in Element if one is not Element.GRID]
            raise Unfit(f"there is no part {quoted(str(name))} to leave out", or_else(str(name), others),
                       below=index if isinstance(value, list) else None)
    return tuple(map(Element, names))


Parts = Annotated[tuple[Element, ...], PlainValidator(_parts), WithJsonSchema(
    {"type": "array", "items": {"enum": [str(one) for one in Element if one is not Element.GRID]}})]
Sizes = Annotated[tuple[int, ...], PlainValidator(_sizes), WithJsonSchema(
    {"type": "array", "items": {"enum": list(SIZES)}, "minItems": 1})]
Date = Annotated[dt.date, PlainValidator(_date), WithJsonSchema(_DATE_JSON)]


def _name(value: str) -> str:
    if not re.fullmatch(ID, value):
        raise Unfit(f"{quoted(value)} cannot name a file", "letters, digits, '-' and '_'")
    return value


class SeriesPart(StrictModel):
    """What the series is, apart from its puzzles and slots."""

    id: Id = Field(description="Short name of the series; the ledger knows it by this.")
    title: Line = Field(description="Title of the series, for the contact sheet and the files' own information.")
    language: Language = Field("en", description="Language of the slots that state none, as a BCP 47 tag.")
    start: Date = Field(description="The first day: the series begins on the first publication day from then on.")
    count: Annotated[int, Field(ge=1, le=1000)] = Field(description="How many dates the series has.")
    days: Annotated[dict[int, Grade], PlainValidator(_days), WithJsonSchema(_DAYS_JSON)] = Field(
        description="The publication days, each with the grade wanted.")
    grade_words: GradeWords | None = Field(
        None, description="Words of the paper's own for all four grades, in slots of the series' language.")
    fallback: Annotated[Fallback, choice(Fallback, "fallback")] = Field(
        Fallback.NONE, description="Whether a date may have the nearest grade when the one wanted has run out.")
    first_number: Annotated[int, Field(ge=0)] = Field(1, description="Number of the first date's puzzle.")
    ledger: Line | None = Field(None, description="File of puzzles used before, beside the manifest.")
    svg_text: Annotated[SvgText, choice(SvgText, "kind of text")] = Field(
        SvgText.OUTLINED, description="Words in SVG as outlines, or as live text.")


class SlotPart(StrictModel):
    """One slot of the series."""

    slot: Line = Field(description=f"A slot's name ({listed(slot_names())}), or a .yaml file beside the manifest.")
    name: Annotated[Line, AfterValidator(_name)] | None = Field(
        None, description="What files of this slot are called; the slot's own name if left out.")
    language: Language | None = Field(None, description="Language of this slot; the series' if left out.")
    heading: Line | None = Field(None, description="Heading of the column, in place of the language's own.")
    kind: Annotated[Kind, choice(Kind, "kind of puzzle")] = Field(
        Kind.CAGES, description="The kind of puzzle it takes.")
    sizes: Sizes | None = Field(
        None, description="Sizes of grid it takes, in place of the slot's own: of crossing sums the larger number "
                          "of rows or columns.")
    days: Annotated[dict[int, Grade], PlainValidator(_days), WithJsonSchema(_DAYS_JSON)] | None = Field(
        None, description="The grades of puzzles of its own, which no other slot shows, on the publication days.")
    grade_words: GradeWords | None = Field(
        None, description="Words of its own for all four grades, as {stroll: Easy, ...}; the series' if left out.")
    without: Parts = Field((), description="Parts it does not carry here, of those its design has.")


class SeriesManifest(StrictModel):
    """A cagework series: puzzles for a run of dates, in slots of a newspaper page."""

    model_config = ConfigDict(title="cagework series")

    series: SeriesPart = Field(description="What the series is.")
    pool: Texts = Field(
        description="Where its puzzles come from: book manifests or files of puzzles, or patterns.")
    slots: list[SlotPart] = Field(min_length=1, description="The slots each date's puzzles are set in.")


class UsePart(StrictModel):
    """One use of a puzzle, as the ledger keeps it."""

    date: Date
    series: Id
    place: Annotated[int, Field(ge=1)]
    of: Annotated[int, Field(ge=1)]
    slot: Line | None = None
    number: Annotated[int, Field(ge=0)]
    puzzle: Id
    title: Line | None = None
    kind: Annotated[Kind, choice(Kind, "kind of puzzle")] = Kind.CAGES
    size: Annotated[int, Field(ge=1)]
    key: Annotated[str, Field(pattern=r"^[0-9a-f]{64}$")]
    answer: Prose       # longer than a line may be
    regions: Prose | None = None


class LedgerFile(StrictModel):
    """A ledger: every use of a puzzle in print."""

    used: list[UsePart]


def series_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a series manifest, for an editor's YAML plug-in."""
    return {"$schema": "https://json-schema.org/draft/2020-12/schema"} | SeriesManifest.model_json_schema()
