"""`cagework desk`: a book served from this machine to this machine, until the editor has enough."""

from __future__ import annotations

import contextlib
import signal
import webbrowser
from pathlib import Path

from cagework.typeset.desk.building import Builder
from cagework.typeset.desk.galley import Compositor
from cagework.typeset.desk.guard import HOST, new_token
from cagework.typeset.desk.opening import editor_of
from cagework.typeset.desk.server import bound, serve
from cagework.typeset.faults import Fault, UnreadableManifest
from cagework.typeset.solving.crew import Crew


class PortTaken(Exception):  # noqa: N818 - it says what is the matter
    """The port asked for cannot be had."""


def run_desk(
    manifest: Path, crew: Crew, seconds: float, port: int, out: Path, *, open_page: bool, read_only: bool,
    editor: str | None = None,
) -> None:
    """Serve until interrupted, having printed the address, which holds what the page proves itself by. What the
    page builds goes to `out`; `editor` is the command that opens files. UnreadableManifest where there is no such
    manifest; NoCommand.
    """
    opens = editor_of(editor)
    if not manifest.is_file():
        raise UnreadableManifest(Fault(manifest, "cannot be read: there is no such file"))
    try:
        at = bound(port)
    except OSError as error:
        raise PortTaken(f"cannot serve at port {port}: {error.strerror or error}") from error
    with contextlib.suppress(KeyboardInterrupt):
        signal.signal(signal.SIGTERM, signal.default_int_handler)
        token = None if read_only else new_token()
        address = f"http://{HOST}:{at.getsockname()[1]}/" + (f"?token={token}" if token else "")
        print(f"{address}  (Ctrl-C ends it)", flush=True)
        if open_page:
            webbrowser.open(address)
        kept = ("--cache", str(crew.cache.top)) if crew.cache else ("--no-cache",)
        builder = Builder(manifest, out, ("--seconds", str(seconds), *kept))
        serve(Compositor(manifest, crew, seconds), crew.cache, at, token, builder, opens)
