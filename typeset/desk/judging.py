"""What the desk says of a drawing: what stands there, what is known of it, and what would mend it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from cagework.solver.bitset import members
from cagework.solver.combine import combinations, mask_of, sum_range
from cagework.solver.crossing import WAYS, way_of
from cagework.solver.editing.why import differing
from cagework.solver.model import Cage, Cell, Given, grid_cells
from cagework.solver.reasoning.grade import Grade
from cagework.solver.search.exact import Outcome
from cagework.typeset.desk import jobs
from cagework.typeset.desk.asked import drawing_json
from cagework.typeset.desk.worker import Worker
from cagework.typeset.entry import Entry
from cagework.typeset.faults import Fault
from cagework.typeset.manifest.drawn import Drawing, cages_in_order, digits_in_rows
from cagework.typeset.manifest.keyed import reading_of
from cagework.typeset.manifest.notation import digit_of, written_digit
from cagework.typeset.solving.setters import slips_in

_STATES = {Outcome.SOUND: "sound", Outcome.NO_ANSWER: "no answer", Outcome.TWO_ANSWERS: "two answers",
           Outcome.UNDECIDED: "undecided"}
_FEW = 3
"""How many digits a cell may have left to be worth showing."""


def judge(drawing: Drawing, allow_uncaged: bool, worker: Worker) -> dict[str, Any]:
    """What is known at once. Raises NotDrawn, UnreadableManifest, Superseded, JobFailed."""
    reading = reading_of(drawing, allow_uncaged)
    errors = [fault for fault in reading.faults if fault.is_error]
    said: dict[str, Any] = {
        "state": "faulty", "faults": [_fault(fault, drawing) for fault in errors], "answer": None, "differs": {},
        "setter": [], "known": _known(drawing)}
    setter = _setters(drawing)
    if drawing.shape and said["known"]["total"]["open"]:     # what has no sum yet is no fault while it is drawn
        return said | {"state": "unfinished", "faults": [], "setter": _slips(reading.rough, setter)}
    if reading.entry is None:
        return said
    puzzle = reading.entry.puzzle
    near = puzzle.answer(tuple(setter.values())) if setter.keys() == set(puzzle.cells) else None
    found: jobs.Quick = worker.do(("judge", drawing.id), jobs.quick, puzzle, near)
    verdict = found.verdict
    state = _STATES[verdict.outcome]
    if drawing.uncaged and not allow_uncaged and verdict.outcome in (Outcome.TWO_ANSWERS, Outcome.UNDECIDED):
        state = "unfinished"
    said["state"] = state
    said["setter"] = _slips(reading.entry, setter)
    said["known"]["derived"] = {
        str(cell): "".join(written_digit(puzzle.least + bit) for bit in members(mask))
        for cell, mask in found.candidates.items() if mask.bit_count() <= _FEW}
    if verdict.outcome is Outcome.SOUND and verdict.answer:
        said["answer"] = digits_in_rows(verdict.answer)
        said["setter"] = [str(cell) for cell, digit in setter.items() if digit != verdict.answer.at(cell)]
    elif verdict.outcome is Outcome.TWO_ANSWERS and verdict.answer and verdict.second:
        said["differs"] = {str(cell): [verdict.answer.at(cell), verdict.second.at(cell)]
                           for cell in differing(verdict.answer, verdict.second)}
    return said


def _setters(drawing: Drawing) -> dict[Cell, int]:
    """The digits of the answer beside a drawing, by row and column, as far as it is written."""
    digits = {Cell(row, col): digit_of(char) for row, line in enumerate(drawing.answer, 1)
              for col, char in enumerate(line, 1)}
    cells = set(drawing.shape.cells if drawing.shape else grid_cells(drawing.size))
    return {cell: digit for cell, digit in digits.items()
            if cell in cells and digit is not None and digit in drawing.digits}


def _slips(entry: Entry | None, setter: Mapping[Cell, int]) -> list[str]:
    """Where that answer contradicts what is printed, as far as this could be read."""
    return list(dict.fromkeys(str(cell) for cell, _ in slips_in(entry.puzzle, setter))) if entry else []


def _known(drawing: Drawing) -> dict[str, Any]:
    """What can be said without a search: cells without a cage, sums no digits make, and what the sums leave."""
    return {"uncaged": [str(cell) for cell in drawing.uncaged],
            "total": _added_across(drawing) if drawing.shape else _added(drawing),
            "impossible": [{"cells": list(map(str, cage.cells)), "message": why} for cage in drawing.cages
                           if (why := _impossible(cage, drawing.givens, drawing.digits))],
            "derived": {}}


def _added_across(drawing: Drawing) -> dict[str, int]:
    """The sums of runs across and down, and how many runs have none."""
    ways: dict[str, list[int | None]] = {way: [] for way in WAYS}
    for run in drawing.cages:
        ways[way_of(run.cells)].append(run.total)
    return {way: sum(total or 0 for total in totals) for way, totals in ways.items()} | {
        "open": sum(totals.count(None) for totals in ways.values())}


def _added(drawing: Drawing) -> dict[str, int]:
    """What the cages add to, and what is left for the rest."""
    size = drawing.size
    summed = [cage for cage in drawing.cages if cage.total is not None]
    stated = sum(cage.total or 0 for cage in summed)
    covered = {cell for cage in summed for cell in cage.cells}
    grid = size * sum(drawing.digits)
    return {"cages": stated, "rest": grid - stated, "cells": size * size - len(covered), "grid": grid}


def _impossible(cage: Cage, givens: Iterable[Given], digits: range) -> str:
    """Why no digits make a cage's sum; empty where some do."""
    count, total, size, before = len(cage.cells), cage.total, len(digits), digits[0] - 1
    if count > size:
        return f"{count} cells, and only {size} digits"
    if total is None:
        return ""
    least, most = sum_range(size, count, digits[0])
    if not least <= total <= most:
        made = "one digit makes" if count == 1 else f"{count} different digits make"
        return f"{made} {least} to {most}, not {total}" if least < most else f"{made} {least}, not {total}"
    printed = {given.digit for given in givens if given.cell in cage.cells and given.digit in digits}
    mask = mask_of(tuple([digit - before for digit in printed]))
    if any(way & mask == mask for way in combinations(size, count, total - before * count)):
        return ""
    held = ", ".join(map(written_digit, sorted(printed)))
    return f"no digits make {total} together with the given {held}"


def _fault(fault: Fault, drawing: Drawing) -> dict[str, Any]:
    """A fault of a drawing that was read as a list of cages, in words that go by cells."""
    def named(found: re.Match[str]) -> str:
        number = int(found[1]) - 1
        return f"the cage at {drawing.cages[number].first}" if number < len(drawing.cages) else found[0]

    message = re.sub(r"\bcage (\d+)\b", named, re.sub(r",? ?\(?(on )?line \d+\)?", "", fault.message))
    cells = re.findall(r"\br\d+c\d+\b", fault.message)
    if not cells and fault.source.lstrip().startswith("- {"):
        cells = re.findall(r"\br\d+c\d+\b", fault.source)
    return {"message": message, "hint": fault.hint, "cells": list(dict.fromkeys(cells))}


def study(drawing: Drawing, allow_uncaged: bool, worker: Worker) -> dict[str, Any]:
    """Why it is not sound, with repairs as whole drawings, or its path. Raises as `judge`."""
    reading = reading_of(drawing, allow_uncaged)
    if reading.entry is None:
        wrong = [_fault(fault, drawing)["message"] for fault in reading.faults if fault.is_error]
        return {**jobs.NOTHING_FOUND, "lines": wrong}
    entry: Entry = replace(reading.entry, written={})     # they hold the document, which nobody needs there
    found = worker.do(("study", drawing.id), jobs.study, entry, _setters(drawing))
    repairs = [{"text": one["text"], "drawing": drawing_json(_repaired(drawing, one))} for one in found["repairs"]]
    return {**found, "repairs": repairs}


def _repaired(drawing: Drawing, repair: Mapping[str, Any]) -> Drawing:
    """A drawing after one of the repairs of a diagnosis."""
    added = [Given(Cell.parse(cell), digit) for cell, digit in repair.get("givens", {}).items()]
    parts = [Cage(tuple(map(Cell.parse, part["cells"])), part["sum"]) for part in repair.get("cages", ())]
    taken = {cell for part in parts for cell in part.cells}
    kept = [cage for cage in drawing.cages if taken.isdisjoint(cage.cells)] if drawing.shape is None else [
        run for run in drawing.cages if run.cells not in [part.cells for part in parts]]      # runs cross
    printed = {given.cell: given for given in (*drawing.givens, *added)}
    return replace(drawing, cages=cages_in_order([*kept, *parts]), givens=tuple(
        printed[cell] for cell in sorted(printed)))


def tune(drawing: Drawing, grade: Grade, allow_uncaged: bool, worker: Worker) -> dict[str, Any]:
    """Drawings near it that have a grade, best first. Raises as `judge`."""
    reading = reading_of(drawing, allow_uncaged)
    if reading.entry is None:
        return {"offers": []}
    offers = worker.do(("tune", drawing.id), jobs.tune, replace(reading.entry, written={}), drawing, grade)
    return {"offers": [{"text": "; then ".join(one.changes), "score": round(one.score, 1), "hardest": one.hardest,
                        "drawing": drawing_json(one.drawing)} for one in offers]}


def stop_tuning(id: str | None, worker: Worker) -> None:
    """End the search for others of the drawing with this id."""
    worker.give_up(("tune", id))
