"""Topics as pages for a browser: the same text as HTML, its links and pictures by the addresses of a server."""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from html import escape
from itertools import pairwise

from markdown_it import MarkdownIt
from markdown_it.renderer import RendererHTML
from markdown_it.token import Token
from markdown_it.utils import EnvType, OptionsDict

from cagework.typeset.manual.topics import text_of

AT = "/manual/"
"""Where a server has the pages, as `grades.html`, and the pictures, as `pictures/spread.png`."""

STYLES = ("/static/desk.css", "/static/help.css")


class _Pages(RendererHTML):
    def table_open(self, _tokens: Sequence[Token], _at: int, _options: OptionsDict, _env: EnvType) -> str:
        return '<div class="wide" tabindex="0" role="group" aria-label="Table"><table>\n'

    def table_close(self, _tokens: Sequence[Token], _at: int, _options: OptionsDict, _env: EnvType) -> str:
        return "</table></div>\n"

    def fence(self, tokens: Sequence[Token], at: int, _options: OptionsDict, _env: EnvType) -> str:
        return ('<pre tabindex="0" role="group" aria-label="Example"><code>'
                f"{escape(tokens[at].content, quote=False)}</code></pre>\n")

    def code_block(self, tokens: Sequence[Token], at: int, options: OptionsDict, env: EnvType) -> str:
        return self.fence(tokens, at, options, env)


def anchor(title: str) -> str:
    """A heading's id: its words in small letters, parted by hyphens, and told apart from those of the desk."""
    return _place(re.sub(r"[^\w -]", "", title.lower()).replace(" ", "-"))


def _place(name: str) -> str:
    return f"at-{name}"


@lru_cache(maxsize=64)
def page_of(name: str) -> str:
    """A topic, or the index, as a whole page in HTML that needs nothing but the desk's own style sheets. It is in
    English, and says so.
    """
    markdown = MarkdownIt("commonmark", {"html": False}, renderer_cls=_Pages).enable("table")
    tokens = markdown.parse(text_of(name))
    for token, after in pairwise(tokens):
        if token.type == "heading_open":
            token.attrSet("id", anchor(after.content))
        elif token.type == "th_open":
            token.attrSet("scope", "col")
        for inner in after.children or ():
            _address(inner)
    title = next(after.content for token, after in pairwise(tokens)
                 if token.type == "heading_open")
    body = markdown.renderer.render(tokens, markdown.options, {})
    links = "".join(f'<link rel="stylesheet" href="{style}">' for style in STYLES)
    return (f'<!doctype html>\n<html lang="en">\n<head><meta charset="utf-8">'
            f'<meta name="viewport" content="width=device-width, initial-scale=1">'
            f"<title>{escape(title)}</title>{links}</head>\n"
            f'<body class="manual"><main class="manual-text">\n{body}</main></body>\n</html>\n')


def _address(token: Token) -> None:
    if token.type == "link_open":
        path, _, place = str(token.attrGet("href")).partition("#")
        where = f"#{_place(place)}" if place else ""
        token.attrSet("href", f"{AT}{path.removesuffix('.md')}.html{where}" if path else where)
    elif token.type == "image":
        token.attrSet("src", f"{AT}{token.attrGet('src')}")
