"""The manifest's keys as a typed model, its JSON Schema, and its faults by key path in plain words.

Pydantic was chosen because one pass over the data reports every fault with its key path, where others
stop at the first. The same model prints the JSON Schema, so what an editor's plug-in checks cannot
drift from what is checked here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date as Date  # noqa: N812 - a field is called date
from enum import StrEnum
from typing import Annotated, Any

from pydantic import (
    AfterValidator,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainValidator,
    WithJsonSchema,
)

from cagework.layouts.load import shelf_names
from cagework.solver.model import SIZES
from cagework.solver.reasoning.grade import Grade
from cagework.typeset.book import (
    AnswersAt,
    Binding,
    Foot,
    Grades,
    IndexBy,
    Order,
    Position,
    SectionStart,
    SparePages,
    Standard,
)
from cagework.typeset.choices import Kind, Stock
from cagework.typeset.entry import Solutions
from cagework.typeset.faults import or_else, quoted
from cagework.typeset.manifest.notation import is_language
from cagework.typeset.manifest.parts import InkPart, Line, PicturePart, StrictModel
from cagework.typeset.manifest.rule_names import CELLS, TEXTS_JSON, house_rules, other_rules, rule_json
from cagework.typeset.manifest.values import (
    GRADE_WORDS_JSON,
    ID,
    NOT_OF_CROSSING_SUMS,
    TEXT_JSON,
    Unfit,
    as_text,
    chosen,
    givens,
    grade_words,
    grid_size,
    identifier,
    named,
    one_line,
    prose,
    texts,
)
from cagework.typeset.trade.barcode import GREATEST, LEAST
from cagework.typeset.trade.binding import papers
from cagework.typeset.trade.isbn import isbn_fault


def choice(kind: type[StrEnum], word: str) -> BeforeValidator:
    """A validator for one of an enum's words; `word` is what one of them is called."""
    return BeforeValidator(chosen(kind, word))


def _language(value: str) -> str:
    if not is_language(value):
        raise Unfit(f"{quoted(value)} is not a language tag", "write it as en, en-GB, de or pt-BR")
    return value


def _isbn(value: str) -> str:
    wrong = isbn_fault(value)
    if wrong:
        raise Unfit(*wrong, of_key=not wrong[0].startswith("'"))
    return value


def _date(value: object) -> object:
    hint = "write year, month and day as 2026-11-25"
    if not isinstance(value, str):
        raise Unfit("is empty" if value is None else "must be a date", hint, of_key=True)
    try:
        return Date.fromisoformat(value)
    except ValueError:
        raise Unfit(f"{quoted(value)} is not a date", hint) from None


def _ean5(value: str) -> str:
    if not re.fullmatch("[0-9]{5}", value):
        raise Unfit("must be five digits", "a currency digit and a price, as 51995, or 90000 for none",
                    of_key=True)
    return value


def _paper(value: str) -> str:
    if value not in papers():
        way_out = or_else(value, tuple(papers()))
        raise Unfit(f"there is no paper {quoted(value)}",
                   f"{way_out} Or state the thickness of a leaf in mm, as caliper" if way_out.endswith("?") else
                   f"{way_out}, or state the thickness of a leaf in mm, as caliper")
    return value


_ENDS = (Position.FRONT, Position.BACK)
_STANDING_JSON: dict[str, Any] = {"anyOf": [
    {"enum": [*_ENDS, None]},
    {"type": "object", "minProperties": 1, "maxProperties": 1, "additionalProperties": False, "properties": {
        side.value: TEXT_JSON | {"description": f"The title of the section it stands {side}."}
        for side in (Position.BEFORE, Position.AFTER)}}]}


def _standing(value: object) -> tuple[Position, str | None] | None:
    if value is None:
        return None
    if value in list(_ENDS):
        return Position(str(value)), None
    if isinstance(value, dict) and len(value) == 1 and not {Position.BEFORE, Position.AFTER}.isdisjoint(value):
        (side, name), = value.items()
        text = as_text(name)
        if isinstance(text, str):
            return Position(side), one_line(text)
    raise Unfit("must be front, back, {before: SECTION} or {after: SECTION}", of_key=True)


Answers = Annotated[AnswersAt, choice(AnswersAt, "place for answers")]
PageFoot = Annotated[Foot, choice(Foot, "foot")]
Language = Annotated[Line, AfterValidator(_language)]
Prose = Annotated[str, BeforeValidator(as_text), AfterValidator(prose), WithJsonSchema(TEXT_JSON)]
Texts = Annotated[tuple[str, ...], PlainValidator(texts), WithJsonSchema(TEXTS_JSON)]
Id = Annotated[str, BeforeValidator(as_text), AfterValidator(identifier),
               WithJsonSchema(TEXT_JSON | {"pattern": f"^{ID}$"})]
GradeWords = Annotated[
    dict[Grade, str], PlainValidator(grade_words), WithJsonSchema(GRADE_WORDS_JSON)]
Standing = Annotated[
    tuple[Position, str | None] | None, PlainValidator(_standing), WithJsonSchema(_STANDING_JSON)]
Day = Annotated[Date, BeforeValidator(_date), WithJsonSchema({"type": "string", "format": "date"})]
Block = Annotated[str, WithJsonSchema({"type": "string"})]
Digits = Annotated[str | dict[str, int], PlainValidator(givens), WithJsonSchema({"anyOf": [
    {"type": "string"}, {"type": "object", "additionalProperties": {"type": "integer", "minimum": 1}}]})]


HouseItem = Annotated[str | dict[str, object], PlainValidator(named), WithJsonSchema({"anyOf": [
    *rule_json(house_rules()),
    {"type": "object", "required": ["cells"], "additionalProperties": False,
     "properties": {"cells": TEXTS_JSON | {"description": CELLS},
                    "name": TEXT_JSON | {"description": "What to call the house in explanations."}}},
]})]
RuleItem = Annotated[
    str | dict[str, object], PlainValidator(named), WithJsonSchema({"anyOf": rule_json(other_rules())})]


def _cage_forms(schema: dict[str, Any]) -> None:
    schema["if"] = {"required": ["kind"], "properties": {
        "kind": {"const": Kind.CROSSING_SUMS.value, "description": "Runs among black squares."}}}
    schema["then"] = {"required": ["map", "across", "down"], "not": _any_of(NOT_OF_CROSSING_SUMS)}
    schema["else"] = {"oneOf": [{"required": ["map", "sums"]}, {"required": ["cages"]}],
                      "not": _any_of(("across", "down"))}


def _any_of(keys: Iterable[str]) -> dict[str, Any]:
    """Mappings with one of these keys, as JSON Schema."""
    return {"anyOf": [{"required": [key]} for key in keys]}


def _paper_names(schema: dict[str, Any]) -> None:
    schema["anyOf"] = [{"enum": list(papers())}, {"type": "null"}]


def _layout_names(schema: dict[str, Any]) -> None:
    schema["anyOf"] = [{"enum": list(shelf_names())}, {"type": "string", "pattern": r"\.yaml$"}]
    schema.pop("type", None)


def _layout_names_or_none(schema: dict[str, Any]) -> None:
    _layout_names(schema)
    schema["anyOf"].append({"type": "null"})


class CagePart(StrictModel):
    """One cage: its cells and, where it has one, its total."""

    cells: Texts = Field(description=f"The cage's cells: {CELLS}.")
    sum: int | None = Field(None, description="The total of its digits; leave it out for a cage without one.")


class PuzzlePart(StrictModel):
    """One puzzle. Its cages are given either as `map` with `sums`, or as `cages`; crossing sums have a `map` of
    their own, and sums `across` and `down`.
    """

    model_config = ConfigDict(json_schema_extra=_cage_forms)

    id: Id = Field(description="Short name, unique in the book; it becomes a file name.")
    title: Line | None = Field(None, description="Title printed above the puzzle; without one it has its number.")
    short_title: Line | None = Field(None, description="A shorter title, over its answer where that needs one.")
    by: Line | None = Field(None, description="Who made the puzzle.")
    grade: Annotated[Grade, choice(Grade, "grade")] | None = Field(
        None, description="How hard the puzzle is, easiest first.")
    note: Prose | None = Field(None, description="A few words printed with the puzzle.")
    remark: Prose | None = Field(None, description="A note to yourself, never printed.")
    size: Annotated[int, AfterValidator(grid_size), WithJsonSchema({"enum": list(SIZES)})] = Field(
        9, description="Rows and columns of the grid.")
    map: Block | None = Field(
        None, description="One letter per cell, a line per row: equal letters are a cage, '.' is no cage.")
    sums: dict[str, int | None] | None = Field(
        None, description="Letter of the map: total of its cage; ~ for a cage without one.")
    cages: list[CagePart] | None = Field(None, description="The cages as cell lists, instead of a map.")
    givens: Digits | None = Field(
        None, description="Printed digits: {r5c5: 7}, or a block of digits and '.', 10 and up as A and up.")
    houses: list[HouseItem] | None = Field(None, description="Extra houses, by rule name or by cells.")
    rules: list[RuleItem] | None = Field(
        None, description="Further rules, by name, with a value if one takes it.")
    solutions: Annotated[Solutions, choice(Solutions, "kind of solution")] | None = Field(
        None, description="How much of its worked solution is printed; the section's or the book's if left out.")
    regions: Block | None = Field(
        None, description="One letter per cell: the regions, where they differ from the usual boxes; or none.")
    kind: Annotated[Kind, choice(Kind, "kind of puzzle")] | None = Field(
        None, description="cages (if left out), or crossing-sums: a map of '#' and '.' with sums across and down.")
    across: list[int | None] | None = Field(
        None, description="Crossing sums: of the runs across of two cells or more, row by row; ~ while not known.")
    down: list[int | None] | None = Field(
        None, description="The same of the runs down of two cells or more, column by column.")
    answer: Block | None = Field(
        None, description="The answer its setter means, a line a row, '.' where it says nothing; never printed.")


class SectionPart(StrictModel):
    """A run of puzzles under a heading."""

    title: Line = Field(description="Heading of the section.")
    short_title: Line | None = Field(None, description="A shorter heading, for running heads.")
    picture: PicturePart | None = Field(None, description="A picture on the page that opens it.")
    intro: Prose | None = Field(None, description="Prose under the heading.")
    puzzles: list[Id] = Field(min_length=1, description="Ids of its puzzles, in order.")
    order: Annotated[Order, choice(Order, "order")] = Field(
        Order.LISTED, description="Puzzles as listed, or by grade, easiest first.")
    solutions: Annotated[Solutions, choice(Solutions, "kind of solution")] | None = Field(
        None, description="How much of its worked solutions is printed.")
    layout: Line | None = Field(
        None, json_schema_extra=_layout_names_or_none,
        description="Layout of its puzzles' pages, of the book's trim size; the book's if left out.")
    answers: Answers | None = Field(None, description="Where its answers stand; as the book says if left out.")
    foot: PageFoot | None = Field(None, description="What stands under its puzzles; as the book says if left out.")


class PagesPart(StrictModel):
    """Which pages the book has, and how they begin."""

    contents: bool = Field(True, description="Whether there are contents.")
    how_to_solve: bool = Field(True, description="Whether the rules are explained.")
    running_heads: bool = Field(True, description="Whether pages name the book and the section at the head.")
    first_hints: bool = Field(False, description="Whether a page gives three opening deductions a puzzle.")
    sections_start: Annotated[SectionStart, choice(SectionStart, "start")] = Field(
        SectionStart.RIGHT, description="Whether sections begin on right-hand pages only, or on the next page.")


class PressPart(StrictModel):
    """What the printed book is to be: the press file, the page count, the day it names."""

    standard: Annotated[Standard, choice(Standard, "standard")] = Field(
        Standard.X1A, description="x1a for PDF/X-1a:2003, x4 for PDF/X-4, which needs a profile.")
    stock: Annotated[Stock, choice(Stock, "stock")] = Field(
        Stock.UNCOATED, description="The paper it is printed on.")
    profile: Line | None = Field(
        None, description="The printer's ICC profile, a file beside the manifest; for x4 only.")
    condition: Line | None = Field(
        None, description="The registered printing condition the profile is for, where it does not say; x4 only.")
    bleed: Annotated[float, Field(ge=0, le=25)] = Field(
        3.0, description="How far artwork runs past the trim, in mm.")
    marks: bool = Field(False, description="Whether crop and registration marks stand outside the bleed.")
    slug: bool = Field(False, description="Whether title, page and date stand outside the trim.")
    multiple: Annotated[int, Field(ge=1, le=64)] = Field(
        4, description="What the page count must be a multiple of: 4 for saddle stitch.")
    fill: Annotated[SparePages, choice(SparePages, "filling")] = Field(
        SparePages.BLANK, description="What stands on the pages added for that: nothing, or lines for notes.")
    date: Day | None = Field(
        None, description="The day the files name, as 2026-11-25; never the day of the build.")


class CoverPart(StrictModel):
    """The cover: back, spine and front as one sheet."""

    puzzle: Id | None = Field(
        None, description="Id of the puzzle that is the artwork; one without extra rules if left out.")
    picture: PicturePart | None = Field(
        None, description="A picture in its place: to the edges of the front, or as wide as its width says.")
    blurb: Prose | None = Field(
        None, description="Text of the back; its first paragraph is set large. A blank line parts paragraphs.")
    ean5: Annotated[Line, AfterValidator(_ean5)] | None = Field(
        None, description="Five digits beside the barcode: a price such as 51995, or 90000 for none.")
    magnification: Annotated[int, Field(ge=LEAST, le=GREATEST)] = Field(
        100, description="Size of the barcode in percent.")
    binding: Annotated[Binding, choice(Binding, "binding")] = Field(
        Binding.PERFECT, description="How the leaves are held: perfect (glued to a spine) or saddle (stapled).")
    stock: Annotated[Stock, choice(Stock, "stock")] = Field(
        Stock.COATED, description="What the cover is printed on.")
    paper: Annotated[Line, AfterValidator(_paper)] | None = Field(
        None, description="The book's paper, for the spine's width.", json_schema_extra=_paper_names)
    caliper: Annotated[float, Field(gt=0, le=1)] | None = Field(
        None, description="Thickness of one leaf in mm, instead of a paper.")
    allowance: Annotated[float, Field(ge=0, le=5)] = Field(
        0.0, description="What the cover's board and the glue add to the spine, in mm.")
    spine: Annotated[float, Field(gt=0, le=150)] | None = Field(
        None, description="Width of the spine in mm as the printer states it, instead of a paper.")
    spine_text: bool | None = Field(
        None, description="Whether the spine carries the title; where it is wide enough if left out.")
    reversed: bool = Field(False, description="Whether the lower part is white on black.")
    profile: Line | None = Field(
        None, description="The printer's ICC profile for the cover's stock; for x4, where it is another stock.")
    condition: Line | None = Field(
        None, description="The registered printing condition that profile is for, where it does not say.")


class BookPart(StrictModel):
    """What the book is, apart from its puzzles."""

    title: Line = Field(description="Title of the book.")
    short_title: Line | None = Field(None, description="A shorter title, for running heads and the slug.")
    subtitle: Line | None = Field(None, description="Subtitle, on the title page.")
    by: Line | None = Field(None, description="Author or editor.")
    language: Language = Field(
        "en", description="Language of the book as a BCP 47 tag, such as en or pt-BR.")
    picture: PicturePart | None = Field(None, description="A picture on the title page.")
    mark: PicturePart | None = Field(None, description="The publisher's mark, over the imprint.")
    ink: InkPart | None = Field(None, description="A second ink, beside black.")
    imprint: list[Line] | None = Field(None, description="Lines of the imprint page.")
    isbn: Annotated[Line, AfterValidator(_isbn)] | None = Field(
        None, description="ISBN-13, with or without hyphens.")
    introduction: Prose | None = Field(
        None, description="Prose before the puzzles; a blank line parts paragraphs.")
    layout: Line = Field(
        "a5-one-up", json_schema_extra=_layout_names,
        description="Page design: a layout's name, or the path of a .yaml file beside the manifest.")
    puzzles_from: Texts | None = Field(
        None, description="Pattern, or list of them, for puzzle files beside the manifest: puzzles/*.yaml.")
    solutions: Annotated[Solutions, choice(Solutions, "kind of solution")] = Field(
        Solutions.NONE, description="How much of the worked solutions is printed: none, key steps, or full.")
    answers: Answers = Field(
        AnswersAt.BACK, description="Where answers stand: at the back, at sections' ends, or turned, on the page.")
    foot: PageFoot = Field(
        Foot.NONE, description="What stands under puzzles where there is room: none, sums, or lines to work on.")
    grades: Annotated[Grades, choice(Grades, "way to show grades")] | None = Field(
        None, description="How grades are shown: marks, words or none; as the layout says if left out.")
    grade_words: GradeWords | None = Field(
        None, description="The book's own words for all four grades, as {stroll: Easy, ...}.")
    index: list[Annotated[IndexBy, choice(IndexBy, "index by")]] | None = Field(
        None, description="Indexes at the back, in this order: by title, constructor, grade.")
    pages: PagesPart = Field(PagesPart(), description="Page settings.")
    cover: CoverPart | None = Field(None, description="The cover; without it none is drawn.")
    press: PressPart = Field(PressPart(), description="What the printed book is to be.")
    allow_uncaged: bool = Field(False, description="Whether cells in no cage are meant.")


class TextPagePart(StrictModel):
    """A page of the publisher's own; a long text takes several."""

    title: Line | None = Field(None, description="Heading of the page.")
    text: Prose | None = Field(
        None, description="What it says: paragraphs, headings (# and ##), lists (- and 1.), *italic*, **bold**.")
    file: Line | None = Field(None, description="A file beside the manifest that holds the text, instead of it.")
    picture: PicturePart | None = Field(None, description="A picture above the text, or in its place.")
    place: Standing | None = Field(
        None, description="Where it stands: front (if left out), back, or before or after a section.")
    numbered: bool | None = Field(
        None, description="Whether it carries its number, and a head; all do but blank ones if left out.")
    contents: bool | None = Field(
        None, description="Whether the contents name it; those with a title if left out.")
    blank: bool = Field(False, description="Whether it is one empty page.")


class PuzzleFile(StrictModel):
    """A file that holds puzzles and no book."""

    puzzles: list[PuzzlePart] = Field(description="Puzzles in order.")


class Manifest(StrictModel):
    """A cagework book: what it is, its sections, its puzzles."""

    model_config = ConfigDict(title="cagework manifest")

    book: BookPart = Field(description="What the book is.")
    sections: list[SectionPart] | None = Field(
        None, description="Sections in order; without them all puzzles form one.")
    puzzles: list[PuzzlePart] | None = Field(None, description="Puzzles in order.")
    pages: list[TextPagePart] | None = Field(None, description="Pages of the publisher's own, in order.")


def schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a manifest, for an editor's YAML plug-in."""
    made = Manifest.model_json_schema()
    return {"$schema": "https://json-schema.org/draft/2020-12/schema"} | made
