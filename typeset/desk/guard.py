"""Whom the desk answers: this machine, and for what changes or costs something its own page alone."""

from __future__ import annotations

import secrets
from typing import Any

from starlette.datastructures import Headers, MutableHeaders
from starlette.requests import Request
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

HOST = "127.0.0.1"
HOSTS = (HOST, "localhost", "[::1]")
"""What a request may call this server: any other name has been pointed here by somebody else (DNS rebinding)."""

DO = "/do"
"""Where the page posts what it asks."""

TOKEN = "X-Desk-Token"
_LARGEST = 256 * 1024
"""Bytes of a body: crossing sums of 30 by 30 with all that can stand in them take some 28,000."""

_HEADERS = {
    "Content-Security-Policy": "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; "
                               "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}


class Refused(Exception):  # noqa: N818 - it says what happened
    """A request that is not granted: the HTTP status, and why."""

    def __init__(self, status: int, why: str) -> None:
        super().__init__(status, why)
        self.status = status
        self.why = why


def new_token() -> str:
    """What the page of one run proves itself by: 192 bits that no other page can guess."""
    return secrets.token_urlsafe(24)


def as_json(value: Any, status: int = 200) -> Response:
    """An answer that is not to be kept."""
    return JSONResponse(value, status, headers={"Cache-Control": "no-store"})


def refusal(error: Refused) -> Response:
    """The same of a request that is not granted."""
    return as_json({"error": error.why}, error.status)


async def body_of(request: Request) -> bytes:
    """The body, as far as it may be. Raises Refused."""
    found = bytearray()
    async for chunk in request.stream():
        found += chunk
        if len(found) > _LARGEST:
            raise Refused(413, "this is more than a drawing")
    return bytes(found)


def _check(headers: Headers, token: str | None) -> None:
    """Raise Refused for a post that is not the page's own, or no JSON."""
    host = headers.get("host", "")
    if host.lower().rpartition(":")[0] not in HOSTS and host.lower() not in HOSTS:
        raise Refused(403, "this is not the name of this machine")
    if headers.get("origin", "").lower() != f"http://{host}".lower():
        raise Refused(403, "only the desk's own page may ask this")
    if token is None:
        raise Refused(403, "this desk was started with --read-only")
    if not secrets.compare_digest(headers.get(TOKEN, "").encode(), token.encode()):
        raise Refused(403, "this page is not of this run of the desk: open the address that it printed")
    if headers.get("content-type", "").partition(";")[0].strip().lower() != "application/json":
        raise Refused(415, "only application/json is read")
    length = headers.get("content-length", "")
    if length.isdigit() and int(length) > _LARGEST:
        raise Refused(413, "this is more than a drawing")


class Guard:
    """Lets GET through and the page's own posts to one place, nothing else; sends the headers that keep the page
    to itself. Without a token no post is granted.
    """

    def __init__(self, app: ASGIApp, token: str | None) -> None:
        self._app = app
        self._token = token

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """One request."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return

        async def with_headers(message: Message) -> None:
            if message["type"] == "http.response.start":
                MutableHeaders(scope=message).update(_HEADERS)
            await send(message)

        if scope["type"] == "http" and scope["method"] == "POST" and scope["path"] == DO:
            try:
                _check(Headers(scope=scope), self._token)
            except Refused as error:
                await refusal(error)(scope, receive, with_headers)
                return
        elif scope["type"] != "http" or scope["method"] != "GET":
            await PlainTextResponse("only GET", 405, {"Allow": "GET"})(scope, receive, with_headers)
            return
        await self._app(scope, receive, with_headers)
