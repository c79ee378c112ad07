"""What the page posts, answered: drawings judged, studied, shown as text, compared with the file and saved."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import Any, assert_never

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response

from cagework.typeset.desk import judging, remarks, renaming, saving
from cagework.typeset.desk.asked import (
    Asked,
    BadRequest,
    Build,
    Difference,
    Judge,
    Move,
    Open,
    Read,
    Remark,
    Rename,
    Save,
    StopBuild,
    StopTune,
    Study,
    TakeBack,
    Tune,
    Write,
    asked,
    drawing_json,
)
from cagework.typeset.desk.building import Builder
from cagework.typeset.desk.galley import Compositor
from cagework.typeset.desk.guard import Refused, as_json, body_of, refusal
from cagework.typeset.desk.opening import Editor
from cagework.typeset.desk.ordering import Moves
from cagework.typeset.desk.worker import JobFailed, Superseded, Worker
from cagework.typeset.faults import UnreadableManifest, quoted
from cagework.typeset.manifest.document import read_document
from cagework.typeset.manifest.drawn import NotDrawn
from cagework.typeset.manifest.emit import emitted
from cagework.typeset.manifest.keyed import keys_of
from cagework.typeset.manifest.own import allows_uncaged
from cagework.typeset.manifest.pasted import read_pasted

_QUICK, _SLOW, _SLOWEST = 15.0, 90.0, 600.0
"""Seconds after which a process that does not answer is taken for lost."""


class Pencil:
    """Answers for the drawings of one book, and for its builds. Puzzles are looked up by their ids: no path comes
    from a request.
    """

    def __init__(self, compositor: Compositor, builder: Builder, editor: Editor | None = None) -> None:
        self._compositor = compositor
        self._builder = builder
        self._editor = editor
        self._judges = Worker(impatient=False, seconds=_QUICK)
        self._studies = Worker(impatient=True, seconds=_SLOW)
        self._tunings = Worker(impatient=True, seconds=_SLOWEST)
        self._uncaged: tuple[object, bool] = (None, False)
        self._moves = Moves(compositor.manifest)

    def close(self) -> None:
        """End the processes for good."""
        self._builder.close()
        self._judges.close()
        self._studies.close()
        self._tunings.close()

    def order(self) -> dict[str, Any] | None:
        """In which groups and order the puzzles stand, as the manifest has it now."""
        return self._moves.state(self._ids())

    async def do(self, request: Request) -> Response:
        """One post of the page."""
        try:
            one = asked(await body_of(request))
            return as_json(await run_in_threadpool(self._done, one))
        except Refused as error:
            return refusal(error)
        except (BadRequest, NotDrawn) as error:
            return refusal(Refused(400, str(error)))
        except UnreadableManifest as error:
            return refusal(Refused(400, error.fault.message))
        except Superseded:
            return refusal(Refused(409, "superseded"))
        except JobFailed as error:
            return refusal(Refused(500, f"this could not be worked out: {error}"))

    def drawing(self, request: Request) -> Response:
        """A puzzle as its file has it now."""
        try:
            file = self._file_of(request.path_params["id"])
            found = saving.stands(file, request.path_params["id"])
        except Refused as error:
            return refusal(Refused(404, error.why))
        except UnreadableManifest as error:
            fault = error.fault
            return refusal(Refused(404, f"{self._named(fault.file)}{f':{fault.line}' * bool(fault.line)}: "
                                        f"{fault.message}"))
        except NotDrawn as error:
            return as_json({"drawing": None, "why": str(error)})
        return as_json({"drawing": drawing_json(found.drawing), "file": self._named(found.file),
                        "line": found.line, "digest": found.digest, "uncaged": self._allows_uncaged()})

    def _done(self, one: Asked) -> dict[str, Any]:
        match one:
            case Judge():
                return {"stamp": one.stamp,
                        **judging.judge(one.drawing.drawing(), self._allows_uncaged(), self._judges)}
            case Study():
                return {"stamp": one.stamp,
                        **judging.study(one.drawing.drawing(), self._allows_uncaged(), self._studies)}
            case Tune():
                return judging.tune(one.drawing.drawing(), one.grade, self._allows_uncaged(), self._tunings)
            case StopTune():
                judging.stop_tuning(one.id, self._tunings)
                return {}
            case Read():
                found = read_pasted(one.text)
                return {"drawing": drawing_json(found.drawing) if found.drawing else None,
                        "faults": [asdict(slip) for slip in found.slips]}
            case Write():
                return {"text": emitted(keys_of(one.drawing.drawing()))}
            case Difference():
                change = self._change(one)
                folder = self._compositor.manifest.parent
                return {"file": self._named(change.file), "difference": change.difference(folder),
                        "digest": one.digest}
            case Build():
                self._builder.start(one.options)
                return self._builder.state()
            case StopBuild():
                self._builder.stop()
                return self._builder.state()
            case Save():
                change = self._change(one)
                saving.write(change)
                return {"file": self._named(change.file), "line": change.line(), "digest": change.digest}
            case Move() | TakeBack():
                return self._moves.do(one, self._ids())
            case Rename():
                return self._rename(one)
            case Open():
                return self._open(one)
            case Remark():
                change = remarks.remarked(self._file_of(one.id), one)
                saving.write(change)
                return {"file": self._named(change.file)}
        assert_never(one)

    def _change(self, one: Difference | Save) -> saving.Change:
        drawing = one.drawing.drawing()
        if one.id is not None:
            return saving.changed(self._file_of(one.id), one.id, drawing, one.digest)
        return saving.new(self._compositor.manifest, drawing, self._ids())

    def _rename(self, one: Rename) -> dict[str, Any]:
        """What a new id changes, and what the files are known by; done where they are known by that still."""
        manifest = self._compositor.manifest
        change = renaming.renamed(manifest, self._file_of(one.id), one.id, one.to, self._ids())
        if one.known is None:
            return {"difference": change.difference(manifest.parent), "known": change.known}
        if one.known != change.known:
            raise Refused(409, saving.CHANGED)
        saving.write(change)
        return {"id": change.id, "file": self._named(change.file)}

    def _open(self, one: Open) -> dict[str, Any]:
        """Open a place in a file that the book is read from, or has a fault in: no other can be named."""
        if self._editor is None:
            raise Refused(404, "no editor's command is set: --editor has it, or CAGEWORK_EDITOR")
        galley = self._compositor.galley
        files = (self._compositor.manifest, *(known.reading.file for known in galley.checked),
                 *(fault.file for fault in galley.faults))
        file = next((file for file in files if self._named(file) == one.file), None)
        if file is None:
            raise Refused(404, f"the book is not read from {quoted(one.file)}")
        self._editor.open(file, one.line, one.column)
        return {"opened": f"{one.file}:{one.line}", "editor": self._editor.name}

    def _ids(self) -> list[str]:
        """The ids of all puzzles of the book, in the order read."""
        return [one.reading.id for one in self._compositor.galley.checked if one.reading.id]

    def _file_of(self, id: str) -> Path:
        """The file of a puzzle of the book; Refused where it has none of that id."""
        for one in self._compositor.galley.checked:
            if one.reading.id == id:
                return one.reading.file
        raise Refused(404, f"the book has no puzzle {quoted(id)}")

    def _named(self, file: Path) -> str:
        return saving.named(file, self._compositor.manifest.parent)

    def _allows_uncaged(self) -> bool:
        """Whether the book means cells in no cage, read again where the manifest has changed."""
        try:
            seen = self._compositor.manifest.stat()
        except OSError:
            return False
        now = (seen.st_mtime_ns, seen.st_size, seen.st_ino)
        if self._uncaged[0] != now:
            try:
                self._uncaged = now, allows_uncaged(read_document(self._compositor.manifest))
            except UnreadableManifest:
                self._uncaged = now, False
        return self._uncaged[1]
