"""The design a manifest names, a layout or a slot: its file found and read, its faults located in that file."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TypeVar

from cagework.layouts.column import ColumnSlot
from cagework.layouts.load import Layout, LayoutError
from cagework.typeset.faults import UnreadableManifest, or_else
from cagework.typeset.manifest.document import read_document
from cagework.typeset.manifest.nodes import KeyPath
from cagework.typeset.manifest.notes import Notes
from cagework.typeset.manifest.violations import findings

Design = TypeVar("Design", Layout, ColumnSlot)


def read_design(
    notes: Notes, key: KeyPath, name: str, kind: type[Design], path_of: Callable[[str, Path], Path],
    names: Sequence[str], read: Callable[[object, str, Path], Design],
) -> Design | None:
    """The design called `name` at `key`; None, reported, where it cannot be used.

    `path_of` finds its file from a folder, `names` are those that come with the tool, and `read` makes the
    design of the file's data, or raises LayoutError.
    """
    try:
        path = path_of(name, notes.document.file.parent)
    except LookupError as error:
        hint = ("the path starts from the manifest's folder" if name.endswith(".yaml")
                else or_else(name, names))
        notes.add(notes.spot(*key), str(error.args[0]), hint)
        return None
    try:
        document = read_document(path)
    except UnreadableManifest as error:
        notes.faults.append(error.fault)
        return None
    inner = Notes(document, faults=list(document.faults))
    inner.add_findings(findings(kind, document.data))
    design = None
    if not inner.failed:
        try:
            design = read(document.data, path.stem, path.parent)
        except LayoutError as error:
            for problem in error.problems:
                inner.add(inner.spot(*problem.path), problem.message, problem.hint)
    if design is not None and design.fonts:
        from cagework.typeset.text.font_files import unfit
        for face, file in design.fonts.items():
            if wrong := unfit(face, file):
                inner.add(inner.spot("fonts", face), *wrong)
    notes.faults += inner.faults
    return None if inner.failed else design
