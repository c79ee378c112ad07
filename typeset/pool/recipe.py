"""What a pick from a pool is to be: a recipe's keys as a typed model, and every fault located."""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any

from pydantic import ConfigDict, Field, PlainValidator, WithJsonSchema

from cagework.solver.model import SIZES
from cagework.solver.reasoning.grade import Grade
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.typeset.faults import Fault, UnreadableManifest, in_order, or_else, quoted
from cagework.typeset.manifest.document import YamlDocument, read_document
from cagework.typeset.manifest.notes import Notes
from cagework.typeset.manifest.own import FileKind, kind_of_file
from cagework.typeset.manifest.parts import Line, StrictModel
from cagework.typeset.manifest.schema import choice
from cagework.typeset.manifest.values import Unfit
from cagework.typeset.manifest.violations import findings
from cagework.typeset.pool.ask import RULE_WORDS, Wanted
from cagework.typeset.pool.dates import Lot, lots_of

MOST = 4000
"""As many puzzles as a pick may have."""


class PickOrder(StrEnum):
    """How the puzzles of a pick follow each other."""

    LISTED = "listed"        # as their files do
    RISING = "rising"        # the gentlest first


class Spread(StrEnum):
    """What is to differ from puzzle to puzzle."""

    IDEAS = "ideas"          # the techniques of their paths
    CONSTRUCTORS = "constructors"    # who made them


@dataclass(frozen=True, slots=True)
class Grades:
    """The grades allowed, each with how many puzzles are to have it; None for any number."""

    each: Mapping[Grade, int | None]

    @property
    def total(self) -> int | None:
        """How many puzzles they make; None where that is not said."""
        numbers = [number for number in self.each.values() if number is not None]
        return sum(numbers) if numbers else None


def _grades(value: object) -> Grades:
    named = value if isinstance(value, dict) else dict.fromkeys(value if isinstance(value, list) else [value])
    if not named:
        raise Unfit("is empty", of_key=True)
    for name, number in named.items():
        if name not in list(Grade):
            raise Unfit(f"there is no grade {quoted(str(name))}", or_else(str(name), list(Grade)),
                        below=name if isinstance(value, dict) else None)
        if isinstance(value, dict) and (not isinstance(number, int) or isinstance(number, bool) or number < 1):
            raise Unfit("must be how many puzzles have this grade", of_key=True, below=name)
    return Grades({Grade(name): None if number is None else int(number) for name, number in named.items()})


def _sizes(value: object) -> tuple[int, ...]:
    sizes = value if isinstance(value, list) else [value]
    if not sizes or any(isinstance(size, bool) or not isinstance(size, int) or size < 1 for size in sizes):
        raise Unfit(f"must be a size, or a list of them: {SIZES[0]} to {SIZES[-1]}", of_key=True)
    return tuple(map(int, sizes))


def _names(word: str, known: tuple[str, ...]) -> PlainValidator:
    """Reads one name or a list of names, all of them known."""
    def read(value: object) -> tuple[str, ...]:
        names = value if isinstance(value, list) else [value]
        for index, name in enumerate(names):
            if name not in known:
                raise Unfit(f"there is no {word} {quoted(str(name))}", or_else(str(name), known),
                            below=index if isinstance(value, list) else None)
        return tuple(map(str, names))

    return PlainValidator(read)


def _unprinted(value: object) -> bool | dt.date:
    if isinstance(value, bool):
        return value
    try:
        return dt.date.fromisoformat(str(value))
    except ValueError:
        raise Unfit("must be true (never printed), or a date such as 2027-01-01 (not since then)",
                    of_key=True) from None


def _one_or_more(one: dict[str, Any], *others: dict[str, Any]) -> WithJsonSchema:
    """A value, a list of such, or something else, as JSON Schema."""
    return WithJsonSchema({"anyOf": [one, {"type": "array", "minItems": 1, "items": one}, *others]})


Ideas = Annotated[tuple[str, ...], _names("technique", tuple(TECHNIQUES)),
                  _one_or_more({"enum": list(TECHNIQUES)})]
Spreads = Annotated[tuple[str, ...], _names("spread", tuple(Spread)), _one_or_more({"enum": list(Spread)})]
Rules = Annotated[tuple[str, ...], _names("rule", RULE_WORDS), _one_or_more({"enum": list(RULE_WORDS)})]
Sizes = Annotated[tuple[int, ...], PlainValidator(_sizes), _one_or_more({"type": "integer", "minimum": 1})]
GradesWanted = Annotated[Grades, PlainValidator(_grades), _one_or_more(
    {"enum": list(Grade)}, {"type": "object", "minProperties": 1, "propertyNames": {"enum": list(Grade)},
                            "additionalProperties": {"type": "integer", "minimum": 1}})]
Unprinted = Annotated[bool | dt.date, PlainValidator(_unprinted), WithJsonSchema(
    {"anyOf": [{"type": "boolean"}, {"type": "string", "format": "date", "pattern": r"^\d{4}-\d{2}-\d{2}$"}]})]


class ByPart(StrictModel):
    """How constructors share a pick."""

    least: Annotated[int, Field(ge=1)] | None = Field(None, description="How many there are at least.")
    most: Annotated[int, Field(ge=1)] | None = Field(None, description="How many puzzles each has at most.")


class PickPart(StrictModel):
    """What the puzzles of a pick are, each and together."""

    count: Annotated[int, Field(ge=1, le=MOST)] | None = Field(None, description="How many puzzles.")
    title: Line | None = Field(None, description="Heading of their section; the book's title if left out.")
    grade: GradesWanted | None = Field(
        None, description="Their grade, or a list, or how many of each: {stroll: 4, climb: 8}.")
    size: Sizes | None = Field(
        None, description="Their size, or a list; of crossing sums the longer side.")
    rule: Rules | None = Field(
        None, description="Their rule, or a list of which each has one; none for puzzles without any.")
    idea: Ideas | None = Field(None, description="A technique that each path has, or a list of them.")
    without: Ideas | None = Field(None, description="A technique that no path has, or a list of them.")
    by: ByPart = Field(ByPart(), description="How constructors share the pick.")
    unprinted: Unprinted = Field(
        False, description="true for puzzles never printed, a date for those not printed then or later.")
    order: Annotated[PickOrder, choice(PickOrder, "order")] = Field(
        PickOrder.LISTED, description="As their files stand, or rising: by score, the gentlest first.")
    spread: Spreads = Field(
        (), description="ideas: as many different techniques as can be, and dearest steps that differ; "
                        "constructors: as few puzzles of any one as can be. Or a list, what matters most first.")


class RecipeFile(StrictModel):
    """A recipe for a pick, and the manifest that it is written into."""

    model_config = ConfigDict(title="cagework recipe")

    pick: PickPart = Field(description="What is to be picked.")
    book: dict[str, Any] | None = Field(None, description="A book's own keys, but for its puzzles.")
    series: dict[str, Any] | None = Field(None, description="A series' own keys, to go with slots.")
    slots: list[Any] | None = Field(None, description="The slots of a series.")


@dataclass(frozen=True, slots=True)
class Recipe:
    """A recipe that could be read. `wanted` is what each puzzle must be, but for its grade; `count` how many are
    wanted, and `lots` how many to serve which dates, where the dates of a series say so.
    """

    document: YamlDocument
    count: int
    part: PickPart
    wanted: Wanted
    lots: tuple[tuple[Lot, int], ...] = ()

    def place_fault(self, key: str, message: str, hint: str = "") -> Fault:
        """A fault at a key of the pick, such as `by.least`."""
        return self.document.fault(self.document.spot(("pick", *key.split(".")), key=True), message, hint)

    def dates_fault(self, message: str) -> Fault:
        """A fault of what the dates want."""
        return self.document.fault(self.document.spot(("series",), key=True), message)


def recipe_schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a recipe, for an editor's YAML plug-in. Of a book or a series it says
    only that it is a mapping.
    """
    return {"$schema": "https://json-schema.org/draft/2020-12/schema"} | RecipeFile.model_json_schema()


def read_recipe(path: Path) -> Recipe | tuple[Fault, ...]:
    """Read a recipe; its faults where it has any. Raises UnreadableManifest where it is none."""
    document = read_document(path)
    if kind_of_file(document) is not FileKind.RECIPE:
        raise UnreadableManifest(document.fault(
            document.spot(()), "this file is not a recipe: it has no 'pick'",
            "a recipe has pick:, and book:, or series: and slots:, for what is to be written"))
    notes = Notes(document, faults=list(document.faults))
    notes.add_findings(findings(RecipeFile, document.data))
    if notes.failed:
        return in_order(notes.faults)
    part = RecipeFile.model_validate(document.data).pick
    total = part.grade.total if part.grade else None
    count = part.count or total
    lots: tuple[tuple[Lot, int], ...] = ()
    if count is None and part.grade is None and isinstance(
            document.data, dict) and "series" in document.data:
        wanted, faults = lots_of(document)
        if faults and not wanted:
            return faults
        lots = tuple(wanted.items())
        count = sum(wanted.values())
    if count is None:
        notes.add(notes.spot("pick", key=True), "how many puzzles are wanted is not said",
                  "give it a count; or a series and slots, and no grade, so that its dates say it")
    elif count > MOST:
        notes.add(notes.spot("series", key=True), f"its dates want {count} puzzles, and a pick has up to {MOST}",
                  "make two series of it")
    elif total is not None and total != count:
        notes.add(notes.spot("pick", "grade", key=True), f"the grades make {total} puzzles, the count is {count}",
                  "leave the count out, or let them agree")
    if notes.failed or count is None:
        return in_order(notes.faults)
    since = part.unprinted if isinstance(part.unprinted, dt.date) else None
    return Recipe(document, count, part, Wanted(
        (), part.size or (), part.rule or (), (), part.idea or (), part.without or (), True,
        part.unprinted is not False, since), lots)
