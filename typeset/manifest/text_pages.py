"""The pages of the publisher's own: what their keys say together, and their text, from the manifest or a file."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from cagework.typeset.book import Position, Section, TextPage
from cagework.typeset.entry import Place, Written
from cagework.typeset.faults import Fault, UnreadableManifest, nearest, quoted
from cagework.typeset.manifest.document import read_text
from cagework.typeset.manifest.markdown import read_markdown
from cagework.typeset.manifest.nodes import Scalar
from cagework.typeset.manifest.notes import Notes
from cagework.typeset.manifest.pictures import read_picture
from cagework.typeset.manifest.schema import TextPagePart
from cagework.typeset.manifest.values import LONGEST_PROSE
from cagework.typeset.manifest.violations import salvage
from cagework.typeset.prose import ProseBlock


@dataclass(frozen=True, slots=True, eq=False)
class TextFile:
    """The text of a file beside the manifest."""

    file: Path
    text: str

    def place(self, part: str = "") -> Place:
        """Where a part of the text first stands; else where it begins."""
        return self.place_at(max(0, self.text.find(part)))

    def place_at(self, offset: int) -> Place:
        """Where a character stands."""
        begin = self.text.rfind("\n", 0, offset) + 1
        return Place(self.file, self.text.count("\n", 0, offset) + 1, offset - begin + 1,
                     self.text[begin:].split("\n", 1)[0])


def read_text_pages(
    top: Notes, written: object, sections: Sequence[Section] | None, widest: float,
) -> tuple[TextPage, ...]:
    """The pages in their order, whose pictures have room to be `widest` mm wide; faults go to `top`. What single
    keys got wrong has been reported.
    """
    pages = []
    for number, item in enumerate(written if isinstance(written, list) else ()):
        part = salvage(TextPagePart, item if isinstance(item, dict) else {})
        keys = set(item) if isinstance(item, dict) else set()
        _check_keys(top, number, part, keys)
        blocks, text = _text_of(top, number, part)
        position, section = _standing(top, number, part, sections)
        listed = part.contents if part.contents is not None else bool(part.title) and not part.blank
        numbered = not part.blank if part.numbered is None else part.numbered
        own: dict[str, Written] = {**top.writings(("title",), "pages", number)}
        pictured = item.get("picture") if isinstance(item, dict) else None
        picture = read_picture(top, pictured, widest, "pages", number, "picture")
        pages.append(TextPage(part.title, blocks, position, section, numbered, listed,
                              own | ({"text": text} if text else {}), picture))
    return tuple(pages)


def _check_keys(top: Notes, number: int, part: TextPagePart, keys: set[str]) -> None:
    """What is wrong between the keys of one page."""
    if part.blank:
        for key in ("title", "text", "file", "picture"):
            if key in keys:
                top.add(top.spot("pages", number, key), f"a blank page has no {key}", "leave out one of the two")
        if part.contents:
            top.add(top.spot("pages", number, "contents"), "the contents cannot name a blank page")
    elif {"text", "file"} <= keys:
        top.add(top.spot("pages", number, "file"), "'text' and 'file' both say what stands on the page",
                "keep one of them")
    elif not keys & {"text", "file", "picture"} and keys <= TextPagePart.model_fields.keys():
        top.add(top.spot("pages", number), "this page has no text",
                "write it under text, name its file, give it a picture, or set blank: true")
    elif part.contents and not part.title:
        top.add(top.spot("pages", number, "contents"), "the contents cannot name a page without a title",
                "give it a title, or leave contents out")


def _text_of(top: Notes, number: int, part: TextPagePart) -> tuple[tuple[ProseBlock, ...], Written | None]:
    """What a page says, and where that stands."""
    if part.file is not None and part.text is None:
        return _from_file(top, number, part.file)
    node = top.document.find(("pages", number, "text"))
    if part.text is None or not isinstance(node, Scalar):
        return (), None
    blocks, slips = read_markdown(node.text)
    top.add_slips(("pages", number, "text"), slips)
    return blocks, top.writings(("text",), "pages", number)["text"]


def _from_file(top: Notes, number: int, name: str) -> tuple[tuple[ProseBlock, ...], Written | None]:
    spot = top.spot("pages", number, "file")
    file = top.document.file.parent / name
    if not file.is_file():
        top.add(spot, f"there is no file {quoted(name)}", "the path starts from the manifest's folder")
        return (), None
    try:
        text = TextFile(file, read_text(file))
    except UnreadableManifest as error:
        top.faults.append(error.fault)
        return (), None
    if len(text.text) > LONGEST_PROSE:
        top.add(spot, f"{quoted(name)} is {len(text.text):,} characters long; a text may have {LONGEST_PROSE:,}")
        return (), None
    blocks, slips = read_markdown(text.text)
    top.faults += [Fault(text.place_at(slip.offset), slip.message, slip.hint, span=slip.length) for slip in slips]
    if not blocks and not slips:
        top.add(spot, f"{quoted(name)} is empty")
    return blocks, text


def _standing(
    top: Notes, number: int, part: TextPagePart, sections: Sequence[Section] | None,
) -> tuple[Position, int | None]:
    """Where a page stands, and by which section, from 0."""
    position, name = part.place or (Position.FRONT, None)
    if name is None:
        return position, None
    spot = top.spot("pages", number, "place", position)
    found = [index for index, section in enumerate(sections or ()) if section.title == name]
    if sections is None:
        top.add(spot, "the book has no sections", "write place: front or place: back")
    elif not found:
        near = nearest(name, [section.title for section in sections if section.title])
        top.add(spot, f"there is no section {quoted(name)}",
                f"did you mean {near}?" if near else "name one by its title")
    elif len(found) > 1:
        top.add(spot, f"{len(found)} sections are called {quoted(name)}", "give each a title of its own")
    else:
        return position, found[0]
    return Position.BACK, None
