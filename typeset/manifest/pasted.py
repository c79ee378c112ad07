"""A text from the clipboard to a drawing, in whichever form it is."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from cagework.typeset.faults import Fault, UnreadableManifest
from cagework.typeset.manifest.document import plain_newlines
from cagework.typeset.manifest.drawn import Drawing, NotDrawn, drawing_of
from cagework.typeset.manifest.forms import Form, read_forms
from cagework.typeset.manifest.puzzle import read_puzzle


@dataclass(frozen=True, slots=True)
class Slip:
    """Something wrong in the text, by line and column from 1."""

    line: int
    column: int
    message: str
    hint: str = ""


@dataclass(frozen=True, slots=True)
class Pasted:
    """What came of a text: a drawing, or none, and what is wrong."""

    drawing: Drawing | None
    slips: tuple[Slip, ...] = ()


def read_pasted(text: str) -> Pasted:
    """Read the first puzzle of a text."""
    try:
        return _drawn(next(read_forms(Path("pasted"), plain_newlines(text))))
    except UnreadableManifest as error:
        return Pasted(None, (_slip(error.fault),))


def _drawn(form: Form) -> Pasted:
    faults = [fault for fault in form.document.faults if fault.is_error]
    if not form.paths:
        return Pasted(None, tuple(map(_slip, faults)))
    path = form.paths[0]
    data = form.keys(path)
    if form.is_keys:        # of the other forms a drawing shows what is amiss
        reading = read_puzzle(form.document, path, data, True, "pasted")
        faults += [fault for fault in reading.faults if fault.is_error]
    slips = tuple(map(_slip, faults))
    try:
        return Pasted(drawing_of(data), slips)
    except NotDrawn as error:
        return Pasted(None, slips or (Slip(1, 1, str(error)),))


def _slip(fault: Fault) -> Slip:
    return Slip(max(1, fault.line), max(1, fault.column), fault.message, fault.hint)
