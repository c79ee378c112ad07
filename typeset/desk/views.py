"""A galley, a puzzle and a step as the page in the browser reads them: JSON values, and pictures as SVG."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from cagework.solver.model import Answer
from cagework.solver.reasoning.grade import LIMITS, Grade
from cagework.solver.search.exact import Outcome
from cagework.typeset.desk.galley import Galley
from cagework.typeset.desk.saving import named
from cagework.typeset.draw.describe import describe
from cagework.typeset.draw.diagram import diagram_look, draw_steps, edge_room, least_diagram_cell
from cagework.typeset.draw.look import puzzle_look
from cagework.typeset.draw.setting import (
    Setting,
    answer_anchor,
    hints_anchor,
    puzzle_anchor,
    text_anchor,
    worked_anchor,
)
from cagework.typeset.draw.squares import squares_of
from cagework.typeset.entry import Entry
from cagework.typeset.faults import Fault
from cagework.typeset.marks import MM
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.solving.check import Checked, fault_json, why_not
from cagework.typeset.solving.diagnose import Diagnosis
from cagework.typeset.solving.explained import explained
from cagework.typeset.solving.story import Story
from cagework.typeset.solving.told import headings
from cagework.typeset.solving.worked import Moment, Worked, moments
from cagework.typeset.words import base_of, languages, load_words, technique_name, words_or_english
from cagework.typeset.words.sentences import Sentences
from cagework.typeset.write.single import diagnosis_svg, grid_svg
from cagework.typeset.write.svg import svg_text

_CELL = 13.0 * MM
_PAD = 2.0 * MM

_STATES = {Outcome.SOUND: "sound", Outcome.NO_ANSWER: "no answer", Outcome.TWO_ANSWERS: "two answers",
           Outcome.UNDECIDED: "undecided"}


def state(galley: Galley, folder: Path) -> dict[str, Any]:
    """Everything but the pages and the paths; files are named from `folder`."""
    book, plan = galley.book, galley.plan
    pages = plan.pages.of if plan else {}
    numbers = plan.setting.number_of if plan else {}
    own = {found for one in galley.checked for found in one.faults}
    said: dict[str, Any] = {
        "number": galley.number,
        "title": book.title if book else "",
        "fresh": galley.fresh,
        "grades": list(Grade),
        "score": score_says(book.language if book else "en"),
        "puzzles": [_row(one, pages, numbers, folder, galley) for one in galley.checked],
        "faults": [fault(one, folder) for one in galley.faults if one not in own],
    }
    if book and plan:
        trim, margins = plan.setting.layout.trim, plan.setting.layout.margins
        said["sheet"] = {
            "width": trim.width, "height": trim.height, "bleed": book.press.bleed, "safety": Profile().safety,
            "gutter": margins.inside, "language": book.language,
        }
        titles = {puzzle_anchor(entry.id): ", ".join(filter(None, (f"puzzle {numbers[entry.id]}", entry.title)))
                  for entry in book.entries}
        titles |= {answer_anchor(entry.id): f"answer {numbers[entry.id]}" for entry in book.entries}
        titles |= {hints_anchor(entry.id): f"hints {numbers[entry.id]}" for entry in book.entries}
        titles |= {worked_anchor(entry.id): f"worked {numbers[entry.id]}" for entry in book.entries}
        titles |= {text_anchor(number): page.title or "" for number, page in enumerate(book.text_pages)}
        said["pages"] = [
            ", ".join(titles.get(anchor, anchor.replace("-", " ")) for anchor in leaf.anchors)
            or leaf.head or ""
            for leaf in plan.leaves
        ]
    return said


def score_says(language: str) -> dict[str, str]:
    """What a score is, in a book's language, or in English where there are no words in it."""
    known = base_of(language) in languages()
    limits = {grade.value: f"{limit:g}" for limit, grade in LIMITS}
    said = words_or_english(language).score_says.format(**limits)
    return {"text": said, "language": language if known else "en"}


def _row(
    one: Checked, pages: Mapping[str, int], numbers: Mapping[str, int], folder: Path, galley: Galley,
) -> dict[str, Any]:
    reading, entry = one.reading, one.reading.entry or one.reading.rough
    rating = one.worked.rating if one.worked else None
    place, name = reading.place, reading.id or ""
    return {
        "id": name, "title": (entry.title or "") if entry else "", "state": _state(one), "why": why_not(one),
        "number": numbers.get(name),
        "page": pages.get(puzzle_anchor(name)), "answer": pages.get(answer_anchor(name)),
        "size": f"{entry.puzzle.rows} × {entry.puzzle.columns}" if entry else None,
        "cages": len(entry.puzzle.cages) if entry else None,
        "cage": "run" if entry and entry.puzzle.shape else "cage",
        "path": one.reach, "grade": one.grade, "wanted": entry.grade if entry else None,
        "score": round(rating.score, 1) if rating else None, "steps": rating.steps if rating else None,
        "hardest": technique_name(rating.technique) if rating and rating.technique else "",
        "file": named(place.file, folder), "line": place.line, "column": place.column,
        "faults": [fault(found, folder) for found in one.faults], "remark": reading.remark or "",
    }


def _state(one: Checked) -> str:
    """One of a few words: what stands against printing the puzzle, if anything."""
    if one.verdict is None:
        return "faulty"
    entry = one.reading.entry
    if one.is_sound and entry and entry.grade and one.grade and entry.grade != one.grade:
        order = list(Grade)
        return "over grade" if order.index(one.grade) > order.index(entry.grade) else "under grade"
    if one.is_sound and any(found.is_error for found in one.faults):
        return "faulty"
    return _STATES[one.verdict.outcome]


def fault(found: Fault, folder: Path) -> dict[str, Any]:
    """A fault, its file named from `folder`."""
    return fault_json(found) | {"file": named(found.file, folder), "source": found.source, "span": found.span}


def led(told: dict[str, Any], galley: Galley, folder: Path) -> dict[str, Any]:
    """A fault as a build told it, with its file named from `folder` and the puzzle in whose lines it lies."""
    line = told["line"]
    above = [one.reading for one in galley.checked
             if line and str(one.reading.place.file) == told["file"] and one.reading.place.line <= line]
    last = max(above, key=lambda reading: reading.place.line, default=None)
    return told | {"file": named(Path(told["file"]), folder), "puzzle": last.id if last else None}


def puzzle(one: Checked, galley: Galley) -> dict[str, Any]:
    """What the desk shows of one puzzle: its answer in words, and its path, each step proved as it is told."""
    entry, verdict = one.reading.entry, one.verdict
    said: dict[str, Any] = {"id": one.reading.id, "state": _state(one), "steps": [], "solved": False}
    if entry is None or verdict is None:
        return said
    said["puzzle"] = _described(entry, None)
    if one.is_sound and verdict.answer:
        said["answer"] = _described(entry, verdict.answer)
    if one.worked:
        told = explained(one.worked, Sentences(galley.book.language if galley.book else "en"), verdict.answer)
        costs = [stage.step.cost for stage in one.worked.path.stages]
        chapters = headings(Story(one.worked.path), load_words("en"))
        said |= {"solved": told["solved"], "shape": told["shape"]}
        said["steps"] = [
            {"technique": technique_name(step["technique"]), "text": step["text"], "proved": step["proved"],
             "chapter": chapters[step["chapter"]],
             "places": step["places"], "removes": step["removes"], "cost": cost}
            for step, cost in zip(told["steps"], costs, strict=True)
        ]
    return said


def _described(entry: Entry, answer: Answer | None) -> str:
    """In the editor's language, as all that the desk itself says."""
    return describe(entry, load_words("en").described, Sentences("en"), answer)


def diagnosis(found: Diagnosis) -> dict[str, Any]:
    """Why a puzzle is not sound: lines for people, and the data behind them."""
    return {"lines": list(found.lines), **found.data}


def answer_svg(one: Checked, setting: Setting) -> str:
    """The puzzle as far as it could be read, with its answer where it has one. LookupError where nothing could."""
    entry = one.reading.entry or one.reading.rough
    if entry is None:
        raise LookupError("no grid could be read")
    answer = one.verdict.answer if one.verdict and one.is_sound else None
    look = puzzle_look(setting.book.layout_of(entry.id), _CELL)
    return grid_svg(entry, look, setting.fonts, _described(entry, answer), answer)


def why_svg(found: Diagnosis, setting: Setting) -> str:
    """The cells at issue in an unsound puzzle."""
    return diagnosis_svg(found, setting.layout, setting.fonts)


class PathPictures:
    """The moments of one path, kept so that turning to the next step is quick."""

    def __init__(self, worked: Worked) -> None:
        self.worked = worked
        self._known: Mapping[int, Moment] = moments(worked.path)

    def svg(self, number: int, setting: Setting) -> str:
        """The grid at step `number` from 0, candidates in full; at the end, as filled. LookupError beyond."""
        entry, path = self.worked.entry, self.worked.path
        if not 0 <= number <= len(path.stages):
            raise LookupError("there is no such step")
        fonts, puzzle, known = setting.fonts, path.puzzle, self._known[number]
        least = least_diagram_cell(setting.layout, puzzle, fonts)
        look = diagram_look(setting.layout, max(_CELL, least))
        steps = [stage.step for stage in path.stages[number:number + 1]]
        left, top = (_PAD + room for room in edge_room(look, puzzle.rows, fonts))
        grid = draw_steps(puzzle, entry.rules, known, steps, look, fonts, left, top, full=True)
        squares = squares_of(puzzle)
        wide, high = left + squares.across * look.cell + _PAD, top + squares.down * look.cell + _PAD
        return svg_text((grid,), wide, high, fonts, f"Step {number + 1}" if steps else "The end")
