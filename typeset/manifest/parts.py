"""What the parts of a manifest are made of, and the smaller parts that stand in several others."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    PlainValidator,
    WithJsonSchema,
)

from cagework.typeset.faults import quoted
from cagework.typeset.manifest.nodes import WrittenFloat, WrittenInt
from cagework.typeset.manifest.values import Unfit, as_text, one_line, prose

TEXT_JSON: dict[str, Any] = {"type": ["string", "number"]}

Line = Annotated[str, BeforeValidator(as_text), AfterValidator(one_line), WithJsonSchema(TEXT_JSON)]


def _words(text: str) -> str:
    return " ".join(prose(text).split()) if text.strip() else ""


def _percents(value: object) -> tuple[float, ...]:
    shares = value if isinstance(value, list) else []
    if len(shares) != 4 or not all(type(one) in (int, float) or isinstance(one, WrittenInt | WrittenFloat)
                                   for one in shares) or not all(0 <= one <= 100 for one in shares):
        raise Unfit("must be four percentages, as [100, 60, 0, 20]", of_key=True)
    return tuple(one / 100 for one in shares)


def _plate(name: str) -> str:
    if name in _PROCESS:
        raise Unfit(f"{quoted(name)} is no name for a second ink: PDF has its own meaning for it",
                    "name it as the printer does")
    return name


_PROCESS = ("All", "None", "Cyan", "Magenta", "Yellow", "Black")


class StrictModel(BaseModel):
    """Any mapping of a manifest: the keys it lists and no others."""

    model_config = ConfigDict(extra="forbid", strict=True, defer_build=True)


def _needs_words(schema: dict[str, Any]) -> None:
    schema["required"] = ["file", "alt"]


class InkPart(StrictModel):
    """A second ink, beside black."""

    name: Annotated[Line, AfterValidator(_plate)] = Field(description="Its name, as the printer's plate has it.")
    cmyk: Annotated[tuple[float, ...], PlainValidator(_percents), WithJsonSchema(
        {"type": "array", "items": {"type": "number", "minimum": 0, "maximum": 100}, "minItems": 4, "maxItems": 4},
    )] = Field(description="What stands for it on a proof: percent of cyan, magenta, yellow and black.")


class PicturePart(StrictModel):
    """A picture of the publisher's own. That its words are missing is told where it is read."""

    model_config = ConfigDict(json_schema_extra=_needs_words)

    file: Line = Field(description="A PNG, JPEG or SVG file beside the manifest.")
    alt: Annotated[str, AfterValidator(_words)] | None = Field(
        None, description="What it shows, for those who hear the page; \"\" for mere decoration.")
    width: Annotated[float, Field(gt=0, le=500)] | None = Field(
        None, description="How wide it is to be in mm; as wide as there is room if left out.")
