"""The desk's web server, on loopback only: what this package holds, what a galley says, and what its page asks."""

from __future__ import annotations

import contextlib
import socket
from collections.abc import AsyncIterator, Callable
from dataclasses import asdict
from functools import partial
from importlib.resources import files
from pathlib import Path
from types import FrameType

import uvicorn
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.middleware.trustedhost import TrustedHostMiddleware
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse
from starlette.routing import Route

from cagework.typeset.choices import SHEETS
from cagework.typeset.desk import manual, views
from cagework.typeset.desk.building import Builder
from cagework.typeset.desk.feed import Feed
from cagework.typeset.desk.galley import Compositor
from cagework.typeset.desk.guard import DO, HOST, HOSTS, Guard, as_json
from cagework.typeset.desk.opening import Editor
from cagework.typeset.desk.pencil import Pencil
from cagework.typeset.desk.pictures import Picture
from cagework.typeset.desk.sheets import Sheets
from cagework.typeset.draw.setting import Setting
from cagework.typeset.last_build import changes, kept, state_of
from cagework.typeset.solving.cache import Cache
from cagework.typeset.solving.check import Checked
from cagework.typeset.solving.diagnose import Diagnosis, diagnose

_TYPES = {".html": "text/html", ".css": "text/css", ".js": "text/javascript", ".svg": "image/svg+xml"}
_MOST_PAGES = 200
"""How many pages may be asked after at once."""

_MOST_DIGITS = 7
"""No page or step has a number of so many digits."""


class Desk:
    """What the routes answer from: a compositor's galley. Nothing a request says is ever taken for a path."""

    def __init__(
        self, compositor: Compositor, feed: Feed, cache: Cache | None, token: str | None, builder: Builder,
        editor: Editor | None,
    ) -> None:
        self._compositor = compositor
        self._token = token
        self._builder = builder
        self._editor = editor if token else None
        self.pencil = Pencil(compositor, builder, editor)
        self._feed = feed
        self._cache = cache
        self._static = {item.name: item.read_bytes() for item in (files(__package__) / "static").iterdir()}
        self._path: views.PathPictures | None = None
        self._sheets: Sheets | None = None
        self._why: dict[str, tuple[object, Diagnosis]] = {}

    def routes(self) -> list[Route]:
        """All there is to get."""
        return [
            Route("/", partial(self.static, name="desk.html")),
            Route("/static/{name}", self.static),
            Route("/events", self.events),
            Route("/state.json", self.state),
            Route("/digests.json", self.digests),
            Route("/pages/{number}/{digest}.svg", self.page),
            Route("/build.json", self.build),
            Route("/built/{number}/{name:path}", self.built),
            Route("/changes.json", self.changes),
            Route("/sheets.json", self.sheets),
            Route("/sheets/{kind}/{number}.svg", self.sheet),
            Route("/puzzles/{id}/puzzle.json", self.puzzle),
            Route("/puzzles/{id}/drawing.json", self.pencil.drawing),
            Route("/puzzles/{id}/why.json", self.why),
            Route("/puzzles/{id}/why.svg", self.why_picture),
            Route("/puzzles/{id}/answer.svg", self.answer),
            Route("/puzzles/{id}/steps/{number}.svg", self.step),
            *manual.routes(),
            Route(DO, self.pencil.do, methods=["POST"]),
        ]

    def static(self, request: Request, name: str = "") -> Response:
        """A file of the page itself."""
        name = name or request.path_params["name"]
        if name not in self._static:
            raise HTTPException(404)
        kind = _TYPES["." + name.rpartition(".")[2]]
        return Response(self._static[name], media_type=kind, headers={"Cache-Control": "no-cache"})

    async def events(self, _request: Request) -> Response:
        """Server-sent events: `state` with the galley's number, `progress` while puzzles are solved."""
        return StreamingResponse(self._feed.listen(), media_type="text/event-stream",
                                 headers={"Cache-Control": "no-store"})

    def state(self, _request: Request) -> Response:
        """Titles, sheet, pages, puzzles, faults."""
        done, of = self._feed.progress
        said = views.state(self._compositor.galley, self._compositor.manifest.parent)
        return as_json(said | {"manifest": self._compositor.manifest.name, "progress": {"done": done, "of": of},
                               "read_only": self._token is None, "sheets": list(SHEETS),
                               "order": self.pencil.order(),
                               "editor": self._editor.name if self._editor else None})

    def digests(self, request: Request) -> Response:
        """Page number -> digest, for the pages asked after."""
        numbers = request.query_params.get("pages", "").split(",")
        if len(numbers) > _MOST_PAGES or not all(number.isascii() and number.isdigit() for number in numbers):
            raise HTTPException(400)
        found = {number: self._picture(int(number)) for number in numbers if len(number) < _MOST_DIGITS}
        return as_json({number: picture.digest for number, picture in found.items() if picture})

    def page(self, request: Request) -> Response:
        """A page as SVG, by number and digest."""
        picture = self._picture(_number(request.path_params["number"]))
        if picture is None or picture.digest != request.path_params["digest"]:
            raise HTTPException(404)
        return Response(picture.svg, media_type=_TYPES[".svg"],
                        headers={"Cache-Control": "max-age=86400, immutable"})

    def build(self, _request: Request) -> Response:
        """How the build goes, or went; its faults with the puzzles they lie in."""
        said = self._builder.state()
        said["faults"] = [views.led(fault, self._compositor.galley, self._compositor.manifest.parent)
                          for fault in said["faults"]]
        return as_json(said)

    def built(self, request: Request) -> Response:
        """A file that the last build wrote, as it wrote it."""
        found = self._builder.file(_number(request.path_params["number"]), request.path_params["name"])
        if found is None:
            raise HTTPException(404)
        return Response(found.content, media_type=found.kind, headers={"Cache-Control": "no-store"})

    def sheets(self, _request: Request) -> Response:
        """What there is of cover, press sheets and booklet, and how large."""
        sheets = self._sheets_now()
        said = sheets.state() if sheets else {}
        for one in said.values():
            if "fault" in one:
                one["fault"] = views.fault(one["fault"], self._compositor.manifest.parent)
        return as_json(said)

    def sheet(self, request: Request) -> Response:
        """One of these, drawn now."""
        sheets, number = self._sheets_now(), _number(request.path_params["number"])
        return self._svg(lambda _: sheets.svg(request.path_params["kind"], number) if sheets else "")

    def _sheets_now(self) -> Sheets | None:
        plan = self._compositor.galley.plan
        if plan is not None and (self._sheets is None or self._sheets.plan is not plan):
            self._sheets = Sheets(plan)
        return self._sheets

    def changes(self, _request: Request) -> Response:
        """What of the book shown is not as it was when its files were last built."""
        galley = self._compositor.galley
        then = kept(self._cache.top, self._compositor.manifest) if self._cache else None
        if then is None or galley.pictures is None or galley.book is None:
            return as_json({"known": False, "fresh": galley.fresh})
        now = state_of(galley.book, galley.pictures.looks())
        return as_json({"known": True, "fresh": galley.fresh, "count": len(now.pages),
                        **asdict(changes(then, now))})

    def _picture(self, number: int) -> Picture | None:
        pictures = self._compositor.galley.pictures
        return pictures.page(number) if pictures else None

    def puzzle(self, request: Request) -> Response:
        """A puzzle's answer and path in words."""
        return as_json(views.puzzle(self._asked(request), self._compositor.galley))

    def why(self, request: Request) -> Response:
        """Why a puzzle is not sound, and its proved repairs."""
        return as_json(views.diagnosis(self._diagnosed(request)))

    def why_picture(self, request: Request) -> Response:
        """The cells at issue."""
        found = self._diagnosed(request)
        return self._svg(lambda setting: views.why_svg(found, setting))

    def answer(self, request: Request) -> Response:
        """The puzzle with its answer."""
        one = self._asked(request)
        return self._svg(lambda setting: views.answer_svg(one, setting))

    def step(self, request: Request) -> Response:
        """The grid at one step of the path."""
        worked = self._asked(request).worked
        if worked is None:
            raise HTTPException(404)
        path = self._path
        if path is None or path.worked.path is not worked.path:
            path = self._path = views.PathPictures(worked)
        number = _number(request.path_params["number"])
        return self._svg(lambda setting: path.svg(number, setting))

    def _asked(self, request: Request) -> Checked:
        for one in self._compositor.galley.checked:
            if one.reading.id == request.path_params["id"]:
                return one
        raise HTTPException(404)

    def _diagnosed(self, request: Request) -> Diagnosis:
        one = self._asked(request)
        known = self._why.get(one.reading.id or "")
        said = (one.verdict, one.reading.setters, one.reading.map)
        if known is not None and known[0] == said:
            return known[1]
        found = diagnose(one, self._cache)
        if found is None:
            raise HTTPException(404)
        self._why[one.reading.id or ""] = (said, found)
        return found

    def _svg(self, draw: Callable[[Setting], str]) -> Response:
        """What `draw` makes in the setting of the book shown."""
        plan = self._compositor.galley.plan
        if plan is None:
            raise HTTPException(404)
        try:
            text = draw(plan.setting)
        except LookupError as error:
            raise HTTPException(404) from error
        return Response(text, media_type=_TYPES[".svg"], headers={"Cache-Control": "no-store"})


def _number(text: str) -> int:
    """A number as a request may name it. HTTPException (404) for any other text, also thousands of digits."""
    if not (text.isascii() and text.isdigit() and len(text) < _MOST_DIGITS):
        raise HTTPException(404)
    return int(text)


def application(
    compositor: Compositor, feed: Feed, cache: Cache | None = None, token: str | None = None,
    builder: Builder | None = None, editor: Editor | None = None,
) -> Starlette:
    """The desk as an ASGI application, which starts the feed and stops it; `state.pencil` answers its posts.
    Without the token of a run it is for reading only.
    """
    builder = builder or Builder(compositor.manifest, Path("out"))
    builder.listener = partial(feed.tell, "build")
    desk = Desk(compositor, feed, cache, token, builder, editor)

    @contextlib.asynccontextmanager
    async def lifespan(_app: Starlette) -> AsyncIterator[None]:
        feed.start()
        yield
        feed.stop()
        desk.pencil.close()

    app = Starlette(
        routes=desk.routes(), lifespan=lifespan,
        middleware=[Middleware(Guard, token=token),
                    Middleware(TrustedHostMiddleware, allowed_hosts=list(HOSTS), www_redirect=False)],
    )
    app.state.pencil = desk.pencil
    return app


class _Server(uvicorn.Server):
    """Lets the pages that listen go first, and those that wait for a job, for it would wait for them."""

    def __init__(self, app: Starlette, feed: Feed) -> None:
        super().__init__(uvicorn.Config(app, log_level="warning", access_log=False, lifespan="on",
                                        timeout_graceful_shutdown=2, server_header=False))
        self._feed = feed
        self._pencil: Pencil = app.state.pencil

    def handle_exit(self, sig: int, frame: FrameType | None) -> None:
        self._feed.stop()
        super().handle_exit(sig, frame)

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        self._pencil.close()
        await super().shutdown(sockets)


def bound(port: int) -> socket.socket:
    """A listening socket on loopback, at any free port where `port` is 0. Raises OSError.

    It names its protocol: only then does asyncio let small answers go at once (TCP_NODELAY). Otherwise they are
    held back, for some 40 ms, until the browser acknowledges what came before.
    """
    at = socket.socket(socket.AF_INET, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    try:
        at.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        at.bind((HOST, port))
        at.listen()
    except OSError:
        at.close()
        raise
    return at


def serve(
    compositor: Compositor, cache: Cache | None, at: socket.socket, token: str | None, builder: Builder,
    editor: Editor | None,
) -> None:
    """Serve until interrupted, without a token for reading only. Raises KeyboardInterrupt then, as commands do."""
    feed = Feed(compositor)
    try:
        _Server(application(compositor, feed, cache, token, builder, editor), feed).run(sockets=[at])
    finally:
        at.close()
