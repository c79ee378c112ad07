"""What the editor is told of an unsound puzzle: in words and as data."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from cagework.solver.crossing import way_of
from cagework.solver.editing.arithmetic import Imbalance, Member, imbalance, plainest, whole_grid
from cagework.solver.editing.repair import (
    Repair,
    RepairKind,
    Spare,
    loose_sums,
    mendings,
    repairs,
    restorings,
    spare_parts,
)
from cagework.solver.editing.why import Conflict, Swap, cells_of, conflict, swap
from cagework.solver.model import Answer, Between, Cage, Cell, Domain, Given, House, Pair, Puzzle, Sum
from cagework.solver.search.exact import Outcome, Verdict
from cagework.typeset.entry import Entry
from cagework.typeset.faults import counted, listed
from cagework.typeset.solving.as_written import as_written, letters_of
from cagework.typeset.solving.cache import Cache
from cagework.typeset.solving.check import Checked
from cagework.typeset.solving.crew import Crew
from cagework.typeset.solving.record import puzzle_key, text_key
from cagework.typeset.solving.setters import meant_answer

_SECONDS = 10.0
"""How long, at the most, reasons and repairs are sought, each."""


@dataclass(frozen=True, slots=True)
class _Job:
    """A puzzle that is not sound, the answer that its setter says it has, if any, the letters of its map, and how
    long each may take.
    """

    entry: Entry
    verdict: Verdict
    meant: Answer | None
    letters: Mapping[Cell, str]
    seconds: float

    @property
    def key(self) -> str:
        """What its diagnosis is kept under."""
        return text_key(f"{puzzle_key(self.entry.puzzle)} {self.meant} {''.join(self.letters.values())}")


@dataclass(frozen=True, slots=True)
class Diagnosis:
    """Why one puzzle is not sound. `marked` are the cells at issue, each with what may stand in it."""

    entry: Entry
    lines: tuple[str, ...]
    data: Mapping[str, Any]
    marked: Mapping[Cell, str]


def diagnose(checked: Checked, cache: Cache | None = None, seconds: float = _SECONDS) -> Diagnosis | None:
    """The diagnosis of a puzzle with no answer or two, from the cache where it is kept; None for any other."""
    return diagnoses((checked,), Crew(cache), seconds)[0]


def diagnoses(
    checked: Sequence[Checked], crew: Crew, seconds: float = _SECONDS,
) -> tuple[Diagnosis | None, ...]:
    """The diagnosis of each puzzle as `diagnose` has it, made side by side."""
    found: dict[int, Diagnosis] = {}
    jobs: list[tuple[int, _Job]] = []
    for number, one in enumerate(checked):
        entry, verdict = one.reading.entry, one.verdict
        if entry is None or verdict is None or verdict.outcome not in (Outcome.NO_ANSWER, Outcome.TWO_ANSWERS):
            continue
        job = _Job(entry, verdict, meant_answer(one.reading), letters_of(one.reading), min(seconds, _SECONDS))
        if kept := _kept(job, crew.cache):
            found[number] = kept
        else:
            jobs.append((number, job))
    for place, made in crew.each(_diagnosed, [job for _, job in jobs]):
        number, job = jobs[place]
        found[number] = made
        if crew.cache and made.data["minimal"]:     # else more time might do better
            crew.cache.put_json("why", job.key, [
                made.lines, made.data, {str(c): text for c, text in made.marked.items()}])
    return tuple(found.get(number) for number in range(len(checked)))


def _kept(job: _Job, cache: Cache | None) -> Diagnosis | None:
    match cache.get_json("why", job.key) if cache else None:
        case [[*lines], {**data}, {**marked}]:
            return Diagnosis(job.entry, tuple(map(str, lines)), {str(name): value for name, value in data.items()},
                             {Cell.parse(str(cell)): str(text) for cell, text in marked.items()})
    return None


def _diagnosed(job: _Job) -> Diagnosis:
    puzzle, seconds = job.entry.puzzle, job.seconds
    offered = restorings(puzzle, job.meant, seconds=seconds) if job.meant else ()
    if job.verdict.outcome is Outcome.NO_ANSWER:
        contradiction = conflict(puzzle, seconds=seconds)
        changed = mendings(puzzle, contradiction, job.meant, seconds=seconds)
        whole, offered = whole_grid(puzzle), _unlike(changed, offered)
        loose = loose_sums(puzzle, contradiction, whole.stated - whole.due, seconds=seconds) if (
            whole and not offered) else ()
        return _of_conflict(job, contradiction, offered, whole, loose)
    found = swap(puzzle, job.verdict, job.meant)
    return _of_swap(job, found, offered or repairs(puzzle, found, seconds=seconds))


def _unlike(changed: tuple[Repair, ...], restored: tuple[Repair, ...]) -> tuple[Repair, ...]:
    """Repairs found in two ways, each once; where some leave the setter's answer, only those."""
    meant = {repair.answer for repair in restored}
    agreeing = [repair for repair in changed if repair.answer in meant]
    both = [*agreeing, *restored] if restored else changed
    return tuple({repair.repaired: repair for repair in both}.values())


def _heading(offered: tuple[Repair, ...], meant: Answer | None) -> str:
    """What is said over repairs, of which there are some."""
    head = ("one change that leaves one answer, as proved" if len(offered) == 1 else
            "changes of which each alone leaves one answer, as proved")
    if meant is None:
        return f"{head}:"
    if all(repair.answer == meant for repair in offered):
        return f"{head}, and just that which the puzzle says it has:"
    return f"{head}; each of these changes the answer that the puzzle says it has:"


def _of_conflict(
    job: _Job, found: Conflict, offered: tuple[Repair, ...], whole: Imbalance | None,
    loose: tuple[tuple[Cage, int], ...],
) -> Diagnosis:
    entry = job.entry
    word = "each is needed for the contradiction" if found.minimal else "not all may be needed"
    lines = [_added_up(whole, entry.puzzle)] if whole else []
    lines += [f"{counted(len(found.members), 'part')} contradict each other, whatever the rest says ({word}):",
              *(f"  {_said(member, entry.puzzle)}" for member in found.members)]
    sums = imbalance(entry.puzzle.digits, found.members) or plainest(entry.puzzle)
    lines += [f"by sums alone: {_added_up(sums, entry.puzzle)}"] if sums and not (
        whole and len(sums.cages) == len(whole.cages)) else []
    lines += [f"{cage_in_words(cage)} with the sum {total} would leave answers, but more than one"
              for cage, total in loose]
    lines += [_heading(offered, job.meant) if offered else
              "no single sum or given was found that, changed, leaves one answer"
              + (", nor a cage to split or a cell to move for the puzzle's own answer" if job.meant else "")]
    lines += _offers(offered, job)
    data: dict[str, Any] = {
        "conflict": [_member_json(member, entry.puzzle) for member in found.members], "minimal": found.minimal,
        "repairs": [_repair_json(repair, job) for repair in offered]}
    if sums := whole or sums:
        data["arithmetic"] = {"cages": sums.stated, "houses": sums.due, "left": list(map(str, sums.left)),
                              "out": list(map(str, sums.out))}
    return Diagnosis(entry, tuple(lines), data, dict.fromkeys(found.cells, ""))


def _added_up(found: Imbalance, puzzle: Puzzle) -> str:
    """The arithmetic of a contradiction, which may be another than the parts shown."""
    firsts = listed([cage.first for cage in found.cages], "and")
    cages = cage_in_words(found.cages[0]) if len(found.cages) == 1 else f"the {len(found.cages)} cages at {firsts}"
    if len(found.cages) == len(puzzle.cages):
        cages = f"all {len(found.cages)} cages"
    names = [one.name for one in found.houses]
    houses = "the whole grid" if len(names) == puzzle.size else listed(names, "and")
    verb = "adds" if len(found.cages) == 1 else "add"
    said = f"{cages} {verb} to {found.stated}, {houses} to {found.due}"
    more = found.stated - found.due
    if len(names) == puzzle.size and not found.left:
        return f"{said}: {abs(more)} too {'many' if more > 0 else 'few'}"
    left, out = (listed(cells, "and") for cells in (found.left, found.out))
    if left and out:
        return f"{said}: {out} would make {abs(more)} {'more' if more >= 0 else 'less'} than {left}"
    if left:
        return f"{said}: {-more} would be left for {left}"
    if out and more > 0:
        return f"{said}: {more} would be left for {out}, outside"
    among = f"{out} {'is' if len(found.out) == 1 else 'are'} among their cells"
    return f"{said}: too little, though {among}" if out else said


def _of_swap(job: _Job, found: Swap, offered: tuple[Repair, ...]) -> Diagnosis:
    entry = job.entry
    choices = {cell: f"{found.one.at(cell)}/{found.other.at(cell)}" for cell in found.region}
    shown = ", ".join(f"{cell} is {text.replace('/', ' or ')}" for cell, text in choices.items())
    least = "no smaller part of them can" if found.minimal else "a smaller part of them may do"
    lines = [f"two answers or more: {counted(len(found.region), 'cell')} can swap their digits while all others "
             f"stay, and {least}: {shown}"]
    lines += [_heading(offered, job.meant) if offered else
              "no given was found that leaves one answer" if entry.puzzle.shape else
              "no single given, sum, split of a cage or cell moved to the next was found that leaves one answer"]
    lines += _offers(offered, job)
    kinds = {repair.kind for repair in offered}
    if kinds and kinds <= {RepairKind.GIVEN, RepairKind.TOTAL} and not entry.puzzle.shape:
        lines += ["looked for, too, and not found: a cage split in two, or a cell moved to the next cage"]
    data = {
        "differs": [str(cell) for cell in found.cells],
        "region": {str(cell): [found.one.at(cell), found.other.at(cell)] for cell in found.region},
        "minimal": found.minimal,
        "repairs": [_repair_json(repair, job) for repair in offered],
    }
    return Diagnosis(entry, tuple(lines), data, choices)


def cells_in_words(cells: Iterable[Cell]) -> str:
    """Cells by name, with blanks between."""
    return " ".join(map(str, cells))


def cage_in_words(cage: Cage) -> str:
    """A cage by its sum and its cells."""
    sum_ = "without a sum" if cage.total is None else f"of {cage.total}"
    return f"the cage {sum_} ({cells_in_words(cage.cells)})"


def _said(member: Member, puzzle: Puzzle) -> str:
    match member:
        case Cage() if puzzle.shape:
            way = way_of(member.cells)
            return f"the run of {member.total} {way} at {member.first} ({cells_in_words(member.cells)})"
        case Cage():
            return cage_in_words(member)
        case Given():
            return f"the given {member.digit} in {member.cell}"
        case House():
            return member.name
        case Pair():
            return f"the rule between {member.first} and {member.second}"
        case Sum():
            return f"the rule on the sum of {cells_in_words(member.cells)}"
        case Between():
            return f"the rule on the line from {member.ends[0]} to {member.ends[1]}"
        case Domain():
            return f"the rule on {member.cell}"


def _offers(offered: Sequence[Repair], job: _Job) -> Iterator[str]:
    """Repairs a line each; below each how it is written."""
    for repair in offered:
        yield f"  {_offer(repair, job.entry.puzzle)}"
        if written := as_written(repair, job.letters):
            yield f"    {written}"


def _offer(repair: Repair, puzzle: Puzzle) -> str:
    old = {given.cell: f" in place of {given.digit}" for given in puzzle.givens}
    printed = "print " + listed([f"{given.digit} in {given.cell}{old.get(given.cell, '')}"
                                 for given in repair.givens], "and")
    match repair.kind:
        case RepairKind.GIVEN | RepairKind.DIGIT:
            return printed
        case RepairKind.SUM:
            said = "give " + listed([f"{_said(cage, puzzle)} the sum {part.total}" for cage, part in zip(
                repair.gone, repair.parts, strict=True)], "and")
        case RepairKind.TOTAL:
            said = f"give {cells_in_words(repair.parts[0].cells)} the sum {repair.parts[0].total}"
        case RepairKind.MOVE:
            said = moved_in_words(repair.gone, repair.parts)
        case _:
            verb = "undo a merge: split" if repair.kind is RepairKind.UNMERGE else "split"
            said = f"{verb} {cage_in_words(repair.gone[0])} into {parts_in_words(repair.parts)}"
    return f"{said}, and {printed}" if repair.givens else said


def moved_in_words(gone: Sequence[Cage], come: Sequence[Cage]) -> str:
    """A cell that goes from a cage to the next, both as they were and as they become."""
    cell = next(cell for cell in gone[0].cells if cell not in come[0].cells)
    home, away = map(cage_in_words, gone)
    return f"move {cell} from {home} to {away}, which become {parts_in_words(come)}"


def parts_in_words(cages: Sequence[Cage]) -> str:
    """Cages that make up others, by their sums and cells."""
    return listed([f"{cage.total} ({cells_in_words(cage.cells)})" for cage in cages], "and")


def _member_json(member: Member, puzzle: Puzzle) -> dict[str, Any]:
    kind = {Cage: "cage", Given: "given", House: "house", Pair: "pair", Sum: "sum", Domain: "domain",
            Between: "between"}[type(member)]
    said = {"kind": kind, "cells": [str(cell) for cell in cells_of(member)]}
    match member:
        case Cage() if puzzle.shape:
            return said | {"kind": "run", "way": way_of(member.cells), "sum": member.total}
        case Cage():
            return said | {"sum": member.total}
        case Given():
            return said | {"digit": member.digit}
        case House():
            return said | {"name": member.name}
        case _:
            return said


def _repair_json(repair: Repair, job: _Job) -> dict[str, Any]:
    said: dict[str, Any] = {
        "kind": repair.kind.value, "text": _offer(repair, job.entry.puzzle), "answer": str(repair.answer),
        "written": as_written(repair, job.letters)}
    if repair.givens:
        said["givens"] = {str(given.cell): given.digit for given in repair.givens}
    if repair.parts:
        said["cages"] = [_member_json(part, repair.repaired) for part in repair.parts]
    return said


def spare_lines(entry: Entry) -> tuple[str, ...]:
    """What a sound puzzle could do without, in words."""
    found: Spare = spare_parts(entry.puzzle)
    lines = []
    for what, alone, together in (
        ("givens", [f"{given.digit} in {given.cell}" for given in found.givens],
         [f"{given.digit} in {given.cell}" for given in found.givens_together]),
        ("sums", [f"{cage.total} at {cage.first}" for cage in found.totals],
         [f"{cage.total} at {cage.first}" for cage in found.totals_together]),
    ):
        if alone:
            lines.append(f"{what} of which any one could go: {', '.join(alone)}")
            lines.append(f"{what} that could go together: {', '.join(together)}")
    return tuple(lines) or ("every given and every sum is needed",)
