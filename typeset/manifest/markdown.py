"""The prose of a publisher's own pages: a few things of Markdown, and what lies outside them, each with its place.

What Markdown is stands in the CommonMark specification (spec.commonmark.org), which markdown-it-py reads; of it
there are headings of two levels, paragraphs, lists of plain items, and emphasis.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import TYPE_CHECKING, Any

from cagework.typeset.manifest.characters import settled
from cagework.typeset.manifest.notation import Slip
from cagework.typeset.prose import Look, ProseBlock, ProseKind, Span

if TYPE_CHECKING:
    from markdown_it import MarkdownIt
    from markdown_it.token import Token

_SUBSET = "pages of your own take headings, paragraphs, lists, *italic* and **bold**"
_MOST_LEVELS = 2
_OUTSIDE = MappingProxyType({
    "blockquote_open": "a quotation", "code_block": "code (a line set in by four blanks or more)",
    "fence": "code", "html_block": "HTML", "table_open": "a table", "hr": "a line across",
})
_OUTSIDE_A_LINE = MappingProxyType({
    "link_open": ("a link", "["), "image": ("a picture", "!["), "code_inline": ("code", "`"),
    "html_inline": ("HTML", "<"), "s_open": ("struck text", "~~"), "hardbreak": ("a line break", ""),
})
"""What may stand in a paragraph elsewhere: its name, and the characters it begins with."""


@cache
def _reader() -> MarkdownIt:
    from markdown_it import MarkdownIt
    return MarkdownIt("commonmark").enable(["table", "strikethrough"])      # so that they are seen, and told


def read_markdown(text: str) -> tuple[tuple[ProseBlock, ...], tuple[Slip, ...]]:
    """A text's headings, paragraphs and items in order, and what in it is none of these, by character offset."""
    env: dict[str, Any] = {}
    parse = _Parse(text)
    parse.take(_reader().parse(text, env))
    for reference in env.get("references", {}).values():
        parse.outside(reference["map"][0], "a link")
    return tuple(parse.blocks), tuple(sorted(parse.slips, key=lambda slip: slip.offset))


@dataclass(slots=True)
class _List:
    """A list that is open: the number of its next item, None where it has bullets; the line on which the item
    begins, and how many paragraphs it holds.
    """

    number: int | None
    line: int = 0
    held: int = 0


class _Parse:
    """Tokens to blocks."""

    def __init__(self, text: str) -> None:
        self.blocks: list[ProseBlock] = []
        self.slips: list[Slip] = []
        self._text = text
        self._starts = [0, *(found.end() for found in re.finditer("\n", text))]
        self._lists: list[_List] = []
        self._levels: list[int] = []

    def take(self, tokens: Sequence[Token]) -> None:
        """All tokens in order."""
        kind = ProseKind.PARAGRAPH
        for token in tokens:
            line = token.map[0] if token.map else 0
            if token.type in _OUTSIDE:
                self.outside(line, _OUTSIDE[token.type])
            elif token.type in ("bullet_list_open", "ordered_list_open"):
                if self._lists:
                    self.outside(line, "a list in a list")
                number = int(token.attrs.get("start", 1)) if token.type.startswith("ordered") else None
                self._lists.append(_List(number))
            elif token.type in ("bullet_list_close", "ordered_list_close"):
                self._lists.pop()
            elif token.type == "list_item_open":
                self._lists[-1].line, self._lists[-1].held = line, 0
            elif token.type == "list_item_close":
                self._end_item()
            elif token.type == "heading_open":
                kind = self._heading(int(token.tag[1:]), line)
            elif token.type == "inline":
                self._lines(token, kind, line)
                kind = ProseKind.PARAGRAPH

    def outside(self, line: int, what: str) -> None:
        """Note that a line holds something there is no place for."""
        at = self._starts[line]
        rest = self._text[at:].split("\n", 1)[0]
        lead = len(rest) - len(rest.lstrip(" "))
        self.slips.append(Slip(at + lead, max(1, len(rest.strip())), f"{what} has no place here", _SUBSET))

    def _end_item(self) -> None:
        one = self._lists[-1]
        if not one.held:
            self.outside(one.line, "an empty item")
        one.number = None if one.number is None else one.number + 1

    def _heading(self, level: int, line: int) -> ProseKind:
        if self._lists:
            self.outside(line, "a heading in a list")
        elif level > _MOST_LEVELS:
            self.outside(line, "a heading below the second level")
        elif level == _MOST_LEVELS and not self._levels:
            self.outside(line, "a heading of the second level before any of the first")
        self._levels.append(level)
        return ProseKind.HEADING if level == 1 else ProseKind.SUBHEADING

    def _lines(self, token: Token, kind: ProseKind, line: int) -> None:
        """A heading, a paragraph or an item."""
        self._look_for_strays(token, line)
        spans = tuple(_spans(token.children or ()))
        if self._lists:
            one = self._lists[-1]
            one.held += 1
            if one.held > 1:
                self.outside(line, "a further paragraph of an item")
            self.blocks.append(ProseBlock(ProseKind.ITEM, spans, one.number))
        elif spans:
            self.blocks.append(ProseBlock(kind, spans))

    def _look_for_strays(self, token: Token, line: int) -> None:
        at = self._starts[line]
        end = self._starts[token.map[1]] if token.map and token.map[1] < len(self._starts) else len(self._text)
        for part in token.children or ():
            if part.type not in _OUTSIDE_A_LINE:
                continue
            what, sign = _OUTSIDE_A_LINE[part.type]
            found = self._text.find("<" if part.markup == "autolink" else sign, at, end) if sign else -1
            if found < 0:
                self.outside(line, what)
            else:
                self.slips.append(Slip(found, max(1, len(sign)), f"{what} has no place here", _SUBSET))
                at = found + 1


def _spans(parts: Sequence[Token]) -> Iterator[Span]:
    """The runs of a paragraph, blanks single, each in one look; bold italics are bold."""
    found: list[Span] = []
    bold = italic = 0
    for part in parts:
        bold += {"strong_open": 1, "strong_close": -1}.get(part.type, 0)
        italic += {"em_open": 1, "em_close": -1}.get(part.type, 0)
        said = " " if part.type in ("softbreak", "hardbreak") else part.content if part.type == "text" else ""
        if said:
            look = Look.BOLD if bold else Look.ITALIC if italic else Look.PLAIN
            found.append(Span(re.sub(r"[ \t\n]+", " ", settled(said)), look))
    yield from found
