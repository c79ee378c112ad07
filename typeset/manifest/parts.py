"""What the parts of a manifest are made of, and the smaller parts that stand in several others."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import AfterValidator, BaseModel, BeforeValidator, ConfigDict, Field, WithJsonSchema

from cagework.typeset.manifest.values import as_text, one_line, prose

TEXT_JSON: dict[str, Any] = {"type": ["string", "number"]}

Line = Annotated[str, BeforeValidator(as_text), AfterValidator(one_line), WithJsonSchema(TEXT_JSON)]


def _words(text: str) -> str:
    return " ".join(prose(text).split()) if text.strip() else ""


class StrictModel(BaseModel):
    """Any mapping of a manifest: the keys it lists and no others."""

    model_config = ConfigDict(extra="forbid", strict=True, defer_build=True)


def _needs_words(schema: dict[str, Any]) -> None:
    schema["required"] = ["file", "alt"]


class PicturePart(StrictModel):
    """A picture of the publisher's own. That its words are missing is told where it is read."""

    model_config = ConfigDict(json_schema_extra=_needs_words)

    file: Line = Field(description="A PNG, JPEG or SVG file beside the manifest.")
    alt: Annotated[str, AfterValidator(_words)] | None = Field(
        None, description="What it shows, for those who hear the page; \"\" for mere decoration.")
    width: Annotated[float, Field(gt=0, le=500)] | None = Field(
        None, description="How wide it is to be in mm; as wide as there is room if left out.")
