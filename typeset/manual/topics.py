"""The manual's topics, in the order of its index."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from importlib.resources import files
from types import MappingProxyType

FOLDER = files(__package__)
INDEX = "index"

_LISTED = re.compile(r"^- \[([^\]]+)\]\(([a-z-]+)\.md\): (.+)$", re.MULTILINE)
_MARKER = re.compile(r"<!-- (?:from: [a-z -]+|end) -->\n\n?")
"""Round what is made from the code (see `tests/manual.py`), and nothing to a reader."""

_PART = re.compile(r"^#+ (.+)\n((?:(?!#+ ).*\n?)*)", re.MULTILINE)
"""A heading, and what stands under it up to the next one."""

_FENCED = re.compile(r"^```.*?^```$", re.MULTILINE | re.DOTALL)
"""An example, in which a line that begins with `#` is no heading."""

_PICTURE = re.compile(r"!\[([^\]]*)\]\([^)]*\)")
_ELSEWHERE = re.compile(r"\[([^\]]+)\]\(([a-z-]+)\.md[^)]*\)")
_WITHIN = re.compile(r"\[([^\]]+)\]\(#[^)]*\)")


@dataclass(frozen=True, slots=True)
class Topic:
    """What the index says of a topic: its name, which is its file's, its title, and a line of what is in it."""

    name: str
    title: str
    summary: str

    @property
    def text(self) -> str:
        """All it says, in Markdown, which begins with its title."""
        return text_of(self.name)

    @property
    def told(self) -> str:
        """The same for a terminal, where no link is followed: topics by their names, pictures in words."""
        text = _PICTURE.sub(r"*(A picture: \1)*", self.text)
        return _WITHIN.sub(r"\1", _ELSEWHERE.sub(r"\1 (`cagework manual \2`)", text))


def topics() -> Mapping[str, Topic]:
    """Name -> topic, in the order of the index."""
    return MappingProxyType({name: Topic(name, title, summary)
                             for title, name, summary in _LISTED.findall(text_of(INDEX))})


def places_of(word: str) -> Mapping[str, Sequence[str]]:
    """Where a word stands in the manual: topic -> its headings with the word, those under which it stands if none
    has it. Topics that have it in a heading are first.
    """
    sought = re.compile(rf"(?<!\w){re.escape(word)}", re.IGNORECASE)
    found: dict[str, Sequence[str]] = {}
    under: dict[str, Sequence[str]] = {}
    for name, topic in topics().items():
        parts = _PART.findall(_FENCED.sub(lambda block: block[0].replace("\n#", "\n"), topic.text))
        if headings := [heading for heading, _ in parts if sought.search(heading)]:
            found[name] = headings
        elif headings := [heading for heading, text in parts if sought.search(text)]:
            under[name] = headings
    return MappingProxyType(found | under)


def text_of(name: str) -> str:
    """A file of the manual by its name, which has to be a topic's or `INDEX`, without the marks of its makers."""
    return _MARKER.sub("", (FOLDER / f"{name}.md").read_text(encoding="utf-8"))
