"""What a file says of itself beside its pages: the XMP's fields and the dates of both kinds."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from xml.etree import ElementTree

_RDF = "{http://www.w3.org/1999/02/22-rdf-syntax-ns#}"
MOST_BYTES = 4_000_000
"""Bytes of XMP; a whole book's comes to some thousand."""


def read_xmp(data: bytes) -> Mapping[str, str]:
    """Field -> value, by the field's name alone (`title`, `CreateDate`), of the properties at the top. ValueError
    where it is no XMP. Entities are not allowed: XMP has no use for them, and a few lines of them make gigabytes.
    """
    text = data.strip(b"\0 \t\r\n")
    if len(text) > MOST_BYTES:
        raise ValueError("it is too large")
    if b"<!DOCTYPE" in text or b"<!ENTITY" in text:
        raise ValueError("it defines entities")
    try:
        tree = ElementTree.fromstring(text)
    except (ElementTree.ParseError, LookupError, ValueError) as error:
        raise ValueError(f"it is not well-formed: {error}") from error
    listed = tree if tree.tag == f"{_RDF}RDF" else tree.find(f".//{_RDF}RDF")
    if listed is None:
        raise ValueError("it holds no RDF")
    found: dict[str, str] = {}
    for description in listed.findall(f"{_RDF}Description"):
        for name, value in description.attrib.items():
            if not name.startswith(_RDF):
                found.setdefault(_short(name), value.strip())
        for field in description:
            found.setdefault(_short(field.tag), "".join(field.itertext()).strip())
    return found


def _short(name: str) -> str:
    return name.rpartition("}")[2]


_PDF_DATE = re.compile(r"(?:D:)?(\d{4})(\d\d)?(\d\d)?(\d\d)?(\d\d)?(\d\d)?"
                       r"(?:(Z)(?:00'?00'?)?|([-+])(\d\d)'?(\d\d)?'?)?")
_XMP_DATE = re.compile(r"(\d{4})(?:-(\d\d))?(?:-(\d\d))?"
                       r"(?:T(\d\d):(\d\d)(?::(\d\d)(?:\.\d+)?)?(?:(Z)|([-+])(\d\d):(\d\d))?)?")


def pdf_moment(text: str) -> datetime | None:
    """A date as the document information has it (ISO 32000-1, 7.9.4), zoned where it says so; None for none."""
    return _moment(_PDF_DATE.fullmatch(text.strip()))


def xmp_moment(text: str) -> datetime | None:
    """A date as XMP has it (ISO 8601), zoned where it says a zone; None where it is none."""
    return _moment(_XMP_DATE.fullmatch(text.strip()))


def _moment(found: re.Match[str] | None) -> datetime | None:
    if found is None:
        return None
    year, month, day, hour, minute, second, zulu, sign, hours, minutes = found.groups()
    try:
        moment = datetime(int(year), int(month or 1), int(day or 1), int(hour or 0), int(minute or 0),
                          int(second or 0))
    except ValueError:
        return None
    if zulu:
        return moment.replace(tzinfo=UTC)
    if sign:
        if int(hours) > 23 or int(minutes or 0) > 59:
            return None
        off = timedelta(hours=int(hours), minutes=int(minutes or 0))
        return (moment - (off if sign == "+" else -off)).replace(tzinfo=UTC)
    return moment
