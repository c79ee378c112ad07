"""Files in any form to puzzles: each read as a manifest's would be, what is wrong told where it stands."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from cagework.typeset.faults import Fault, Severity, UnreadableManifest, in_order
from cagework.typeset.manifest.document import read_text
from cagework.typeset.manifest.drawn import NotDrawn, drawing_of
from cagework.typeset.manifest.forms import Form, read_forms
from cagework.typeset.manifest.keyed import in_order as keys_in_order
from cagework.typeset.manifest.keyed import keys_of
from cagework.typeset.manifest.nodes import KeyPath
from cagework.typeset.manifest.notes import Notes
from cagework.typeset.manifest.puzzle_files import Found, check_unique, found_puzzle
from cagework.typeset.manifest.reread import Reread

_NO_DRAWING_HAS = ("short_title", "solutions")


@dataclass(frozen=True, slots=True)
class Imports:
    """The keys of each puzzle by its id, in the order met, where nothing is wrong; and every fault. `unreadable`
    are those of files of which nothing could be read.
    """

    puzzles: Mapping[str, Mapping[str, object]]
    faults: tuple[Fault, ...]
    unreadable: tuple[Fault, ...]

    @property
    def failed(self) -> bool:
        """Whether anything is wrong."""
        return bool(self.unreadable) or any(fault.is_error for fault in self.faults)


def read_imports(files: Iterable[Path]) -> Imports:
    """Read files of which each has a puzzle or several in any form."""
    found: list[Found] = []
    keys: list[Mapping[str, object]] = []
    faults: list[Fault] = []
    unreadable: list[Fault] = []
    reread = Reread()
    for file in files:
        try:
            forms = tuple(read_forms(file, read_text(file)))
        except UnreadableManifest as error:
            unreadable.append(error.fault)
            continue
        many = sum(len(form.paths) for form in forms) > 1
        number = 0
        for form in forms:
            faults += form.document.faults
            for path in form.paths:
                number += 1
                data = form.keys(path)
                name = f"{_as_id(file.stem)}{f'-{number}' if many else ''}"
                found.append(found_puzzle(form.document, path, data, False, reread, name))
                keys.append(_keys(form, path, data, name, faults) if found[-1].reading.entry else {})
    check_unique(found, Severity.WARNING, reread)
    faults += [fault for one in found for fault in (*one.reading.faults, *one.notes.faults)]
    failed = unreadable or any(fault.is_error for fault in faults)
    puzzles = {} if failed else {str(one.reading.id): own for one, own in zip(found, keys, strict=True)}
    return Imports(puzzles, in_order(faults), tuple(unreadable))


def _keys(
    form: Form, path: KeyPath, data: Mapping[str, Any], name: str, faults: list[Fault],
) -> Mapping[str, object]:
    """A puzzle's keys as they are written: those it came with, or, where it came as a picture or a table, such as
    are read with ease.
    """
    if form.is_keys:
        return keys_in_order({"id": name, **data})
    try:
        drawn = keys_of(drawing_of(data, name))
    except NotDrawn as error:
        Notes(form.document, path, faults).add(form.document.spot(path), str(error))
        return {}
    return keys_in_order(drawn | {key: data[key] for key in _NO_DRAWING_HAS if key in data})


def _as_id(name: str) -> str:
    """A file's name as an id: its letters without accents, and dashes for what no id has."""
    plain = "".join(char for char in unicodedata.normalize("NFKD", name) if not unicodedata.combining(char))
    return re.sub(r"[^A-Za-z0-9_]+", "-", plain.replace("ß", "ss")).strip("-_") or "puzzle"
