"""The manual, as the page's Help shows it and as pages of their own."""

from __future__ import annotations

from functools import lru_cache

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from cagework.typeset.manual.pages import AT, page_of
from cagework.typeset.manual.topics import FOLDER, INDEX, topics

_KEPT = {"Cache-Control": "no-cache"}


def routes() -> list[Route]:
    """All topics, their index, and their pictures."""
    return [Route(AT + "{name}.html", _page), Route(AT + "pictures/{name}", _picture)]


def _page(request: Request) -> Response:
    name = request.path_params["name"]
    if name != INDEX and name not in topics():
        raise HTTPException(404)
    return Response(page_of(name), media_type="text/html", headers=_KEPT)


def _picture(request: Request) -> Response:
    found = _pictures().get(request.path_params["name"])
    if found is None:
        raise HTTPException(404)
    return Response(found, media_type="image/png", headers=_KEPT)


@lru_cache(maxsize=1)
def _pictures() -> dict[str, bytes]:
    return {item.name: item.read_bytes() for item in (FOLDER / "pictures").iterdir()}
