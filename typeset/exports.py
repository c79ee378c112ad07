"""Checked puzzles to files for others: JSON for a web page, tables for a spreadsheet, a picture of each grid."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

from cagework.layouts.load import shelf_layout
from cagework.solver.model import Answer
from cagework.typeset.book import Book
from cagework.typeset.draw.describe import describe, rules_in_words
from cagework.typeset.draw.look import GridLook, answer_look, puzzle_look
from cagework.typeset.manifest.document import YamlDocument, read_document
from cagework.typeset.manifest.drawn import TEXTS
from cagework.typeset.manifest.keyed import in_order
from cagework.typeset.manifest.puzzle import PuzzleReading
from cagework.typeset.manifest.puzzle_files import Reading, find_puzzle
from cagework.typeset.manifest.records import table
from cagework.typeset.manifest.tabled import HEAD, cell_rows
from cagework.typeset.manifest.values import as_text
from cagework.typeset.marks import MM
from cagework.typeset.solving.check import Checked
from cagework.typeset.solving.crew import Crew
from cagework.typeset.solving.explained import explained
from cagework.typeset.solving.rated import rated
from cagework.typeset.solving.worked import Worked
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.words import words_or_english
from cagework.typeset.words.sentences import Sentences
from cagework.typeset.write.single import grid_svg

FORMAT = 1
"""What the JSON files say of their form: another number where a field means something else, or is gone."""

PUZZLES, PATHS = Path("puzzles.json"), Path("paths.json")
TABLE, CELLS = Path("puzzles.csv"), Path("cells.csv")

_SHELF = "a5-one-up"
"""The look of puzzles that are in no book."""
_COLUMNS = ("id", "title", "by", "section", "number", "kind", "size", "cages", "rules", "outcome", "grade",
            "score", "near", "path", "load", "steps", "hardest", "answer")
"""Of the table with a line a puzzle."""


@dataclass(frozen=True, slots=True)
class Export:
    """Puzzles to be handed on, in their order, each with what was found of it, and the book they are of."""

    book: Book | None
    checked: tuple[Checked, ...]

    @property
    def language(self) -> str:
        """That of words, for the readers of the puzzles."""
        return self.book.language if self.book else "en"


def to_export(reading: Reading) -> tuple[PuzzleReading, ...]:
    """The puzzles of a book that its sections name, or all of a file of puzzles."""
    if reading.book is None:
        return reading.puzzles
    printed = {entry.id for entry in reading.book.entries}
    return tuple(one for one in reading.puzzles if one.id in printed)


def export_of(reading: Reading, checked: Iterable[Checked]) -> Export:
    """Checked puzzles in the order of their book, where they have one."""
    found = {one.reading.id: one for one in checked}
    if reading.book is None:
        return Export(None, tuple(found.values()))
    book = rated(reading.book, found.values())
    return Export(book, tuple(found[entry.id] for entry in book.entries))


def files_of(
    export: Export, crew: Crew, png: int | None = None, tick: Callable[[str], None] = lambda _: None,
) -> dict[Path, bytes]:
    """The files by name; `png` asks for pictures so many pixels wide beside the SVG, and `tick` names what is
    done. A puzzle that is not sound is there without an answer, and no path.
    """
    documents = {file: read_document(file) for file in {one.reading.file for one in export.checked}}
    keys = [_keys(documents[one.reading.file], one.reading.id or "") for one in export.checked]
    pictures = _pictures(export, png)
    tick("drawn")
    said = list(_described(export, keys, pictures))
    told = partial(_told, language=export.language)
    works = [(one.worked, one.verdict and one.verdict.answer) for one in export.checked if one.worked]
    paths: list[dict[str, Any]] = [{} for _ in works]
    for number, path in crew.each(told, works):
        paths[number] = path
        tick("told")
    files = {
        PUZZLES: _json({"book": _book(export.book), "puzzles": said}),
        PATHS: _json({"paths": paths}),
        TABLE: table([_COLUMNS, *([_cell(one, column) for column in _COLUMNS] for one in said)]),
        CELLS: table([HEAD, *(row for own, one in zip(keys, said, strict=True)
                              for row in cell_rows(own, one["answer"]))]),
    }
    return files | pictures


def _told(work: tuple[Worked, Answer | None], language: str) -> dict[str, Any]:
    worked, answer = work
    return explained(worked, Sentences(language), answer)


def _json(data: Mapping[str, object]) -> bytes:
    return (json.dumps({"format": FORMAT, **data}, ensure_ascii=False, indent=1) + "\n").encode()


def _keys(document: YamlDocument, name: str) -> dict[str, Any]:
    """A puzzle's keys as its file has them, but for the editor's note to themselves."""
    found = find_puzzle(document, name)
    assert found is not None, "it was read from there"
    own = {key: as_text(value) if key in (*TEXTS, "short_title") else value for key, value in found[1].items()}
    said = {key: value for key, value in own.items() if value is not None and key != "remark"}
    return in_order({"id": name, **said})


def _book(book: Book | None) -> dict[str, Any] | None:
    if book is None:
        return None
    return {"title": book.title, "subtitle": book.subtitle, "by": book.by, "language": book.language}


def _described(
    export: Export, keys: Sequence[Mapping[str, Any]], pictures: Mapping[Path, bytes],
) -> Iterator[dict[str, Any]]:
    """What there is to say of each puzzle, its path apart."""
    sections = [section.title for section in export.book.sections for _ in section.entries] if export.book else []
    words, sentences = words_or_english(export.language).described, Sentences(export.language)
    for number, (one, own) in enumerate(zip(export.checked, keys, strict=True)):
        entry, worked = one.reading.entry, one.worked
        assert entry is not None, "a puzzle with faults is not exported"
        steps = [stage.step for stage in worked.path.stages] if worked else []
        yield {
            "id": entry.id, "title": entry.title, "by": entry.by,
            "section": sections[number] if sections else None, "number": number + 1 if sections else None,
            "kind": own.get("kind", "cages"), "size": entry.puzzle.extent,
            "rows": entry.puzzle.rows, "columns": entry.puzzle.columns, "cages": len(entry.puzzle.cages),
            "rules": list(rules_in_words(entry, sentences)), "outcome": one.outcome,
            "answer": str(answer) if (answer := _answer(one)) else None,
            "grade": one.grade.value if one.grade else None, "score": one.score,
            "near": one.near.value if one.near else None, "path": one.reach.value if one.reach else None,
            "load": max((step.load for step in steps if not step.is_trial), default=None),
            "steps": len(steps) if worked else None, "hardest": worked.rating.technique if worked else None,
            "description": describe(entry, words, sentences),
            "pictures": {what: {file.suffix[1:]: file.as_posix() for file in pictures
                                if file.parent.name == what and file.stem == entry.id}
                         for what in ("puzzles", "answers")},
            "puzzle": own,
        }


def _answer(one: Checked) -> Answer | None:
    return one.verdict.answer if one.is_sound and one.verdict else None


def _cell(said: Mapping[str, Any], column: str) -> object:
    """A field of the table with a line a puzzle; of an answer's rows one by one, as it would else be taken for one
    number, and rounded.
    """
    value = said[column]
    if column == "answer" and value is not None:
        value = [value[at:at + said["columns"]] for at in range(0, len(value), said["columns"])]
    return " ".join(value) if isinstance(value, list) else value


def _pictures(export: Export, png: int | None) -> dict[Path, bytes]:
    """A picture of each puzzle, and one of each answer."""
    book = export.book
    layout = book.layout if book else shelf_layout(_SHELF)
    fonts = Fonts(layout)
    words, sentences = words_or_english(export.language).described, Sentences(export.language)
    files: dict[Path, bytes] = {}
    for one in export.checked:
        entry = one.reading.entry
        assert entry is not None, "a puzzle with faults is not exported"
        own = book.layout_of(entry.id) if book else layout
        cell, answer = own.puzzles.cell * MM, _answer(one)
        shown: list[tuple[str, GridLook, Answer | None]] = [("puzzles", puzzle_look(own, cell), None)]
        if answer is not None:
            shown.append(("answers", answer_look(layout, cell), answer))
        for folder, look, digits in shown:
            svg = grid_svg(entry, look, fonts, describe(entry, words, sentences, digits), digits)
            files[Path(folder) / f"{entry.id}.svg"] = svg.encode()
            if png is not None:
                files[Path(folder) / f"{entry.id}.png"] = _png(svg, png)
    return files


def _png(svg: str, width: int) -> bytes:
    import resvg_py
    return bytes(resvg_py.svg_to_bytes(      # without dpi no millimetre has a size
        svg_string=svg, background="white", width=width, dpi=96, skip_system_fonts=True))
