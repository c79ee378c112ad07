"""Worked solutions in a book: proved, cut into paragraphs, drawn at turning points, told in words."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest
import yaml

from cagework.solver.model import Answer, Cell
from cagework.solver.proving.proof import Prover
from cagework.solver.reasoning.grade import LIMITS, Grade
from cagework.solver.reasoning.reason import Reach
from cagework.solver.reasoning.technique import MOST_CASES
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.search.exact import Outcome, solve
from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit
from cagework.typeset.desk.jobs import study
from cagework.typeset.entry import Entry
from cagework.typeset.examples import worked_example
from cagework.typeset.manifest.load import load_book
from cagework.typeset.solving.worked import UnprovedError, Worked, moments, prove, work_out
from cagework.typeset.words import load_words, technique_name
from cagework.typeset.words.catalogue import templates
from cagework.typeset.words.sentences import Sentences

PUZZLE = """\
id: lamp
title: Lamp
size: 4
map: |
  aabc
  dabc
  deec
  dfff
sums: {a: 7, b: 6, c: 6, d: 8, e: 4, f: 9}
"""


def test_every_sample_puzzle_has_a_proved_path_and_only_the_hardest_suppose_anything(
    entries: list[Entry], cp_answers: Mapping[str, Answer],
) -> None:
    for entry in entries:
        worked = work_out(entry)
        prove(worked, cp_answers[entry.id])
        assert worked.path.what_ifs == 0 or worked.rating.grade is Grade.SUMMIT, entry.id
        assert worked.path.reach is Reach.WHOLE
        assert worked.rating.grade is entry.grade or entry.grade is None


def test_a_path_to_another_grid_is_refused(entries: list[Entry], cp_answers: Mapping[str, Answer]) -> None:
    worked = work_out(entries[0])
    wrong = Answer(4, cp_answers[entries[0].id].digits[::-1])
    with pytest.raises(UnprovedError, match="another grid"):
        prove(worked, wrong)


def test_moments_end_in_the_answer(entries: list[Entry], cp_answers: Mapping[str, Answer]) -> None:
    for entry in entries[:6]:
        path = work_out(entry).path
        known = moments(path)
        answer = cp_answers[entry.id]
        assert dict(known[len(path.stages)].placed) == {cell: answer.at(cell) for cell in entry.puzzle.cells}
        assert len(known[0].placed) == len(entry.puzzle.givens)


def test_every_step_of_the_sample_is_told_without_gaps(
    entries: list[Entry], work: Callable[[Entry], Worked],
) -> None:
    sentences = Sentences("en-GB")
    for entry in entries:
        for stage in work(entry).path.stages:
            text = sentences.step(stage.step)
            assert text.endswith(".")
            assert not re.search(r"[{}<>|_]|Cell|House|  ", text), text


def test_the_sums_a_sentence_states_are_those_of_the_answer(
    entries: list[Entry], cp_answers: Mapping[str, Answer], work: Callable[[Entry], Worked],
) -> None:
    """Houses, less what their cages and known digits make, differ by innies less outies: 45-rule arithmetic."""
    checked = 0
    for entry in entries:
        for stage in work(entry).path.stages:
            why: Any = stage.step.why
            if "reckoned" in why:
                inside, outside = (sum(map(cp_answers[entry.id].at, why[name])) for name in ("innies", "outies"))
                assert why["total"] - why["reckoned"] == inside - outside, (entry.id, stage.step.key)
                assert why["sum"] == abs(inside - outside)
                checked += 1
    assert checked > 50


def test_another_language_is_one_catalogue(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A catalogue that turns every template round is all a made-up language takes (gettext PO format)."""
    from babel.messages.catalog import Catalog
    from babel.messages.pofile import write_po

    from cagework.typeset.words import catalogue as module

    catalogue = Catalog(locale="sv")
    for text in templates():
        catalogue.add(text, f"«{text}»")
    with (tmp_path / "sv.po").open("wb") as file:
        write_po(file, catalogue)
    monkeypatch.setattr(module, "files", lambda _name: tmp_path)
    (entry,) = [one.entry for one in load_book(_file(tmp_path), puzzles_suffice=True).puzzles]
    assert entry is not None
    texts = [Sentences("sv").step(stage.step) for stage in work_out(entry).path.stages]
    assert all(text.startswith("«") and "»" in text for text in texts)
    cells = Sentences("sv").named((Cell(1, 1), Cell(1, 2)))
    assert cells == "«r1c1» och «r1c2»", "lists by the language's own habit (CLDR)"


def test_the_primer_names_and_explains_every_technique() -> None:
    assert load_words("en").techniques.keys() == TECHNIQUES.keys()


@pytest.mark.parametrize("name", TECHNIQUES)
def test_the_primer_shows_an_example_of_every_technique_and_each_is_proved(name: str) -> None:
    example = worked_example(name)
    assert example is not None, f"typeset/examples/{name}.yaml or .json is missing"
    path = example.worked.path
    assert [stage.step.technique for stage in path.stages].index(name) == example.stage == len(path.stages) - 1
    assert Prover(path.puzzle).first_unproved(stage.step for stage in path.stages) is None
    assert Sentences("en-GB").step(path.stages[-1].step).endswith(".")
    verdict = solve(path.puzzle)
    assert (verdict.outcome, verdict.answer) == (Outcome.SOUND, example.answer)


def _file(folder: Path, text: str = PUZZLE) -> Path:
    path = folder / "lamp.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def test_explain_prints_the_promised_shape(tmp_path: Path, capsys: Any) -> None:
    assert main(["explain", str(_file(tmp_path)), "lamp", "--json"]) == Exit.FINE
    said = json.loads(capsys.readouterr().out)
    assert set(said) == {"id", "solved", "path", "trial", "score", "shape", "steps"}
    assert (said["path"], said["trial"]) == ("whole", False)
    assert said["score"] < LIMITS[0][0]     # a stroll
    assert (said["id"], said["solved"]) == ("lamp", True)
    placed: dict[str, int] = {}
    for step in said["steps"]:
        assert set(step) == {"technique", "places", "removes", "cites", "load", "idea", "chapter", "text",
                             "proved"}
        assert 1 <= step["load"] <= MOST_CASES
        assert set(step["cites"]) == {"cells", "houses", "cages"}
        assert step["proved"] is True and step["technique"] in TECHNIQUES
        placed |= step["places"]
    assert len(placed) == 16 and placed["r1c1"] == 2


def test_explain_prints_a_line_a_step_and_closes_with_how_hard_it_was(tmp_path: Path, capsys: Any) -> None:
    """As JSON has it: the same sentences, as many, and the hardest is a technique that some step names."""
    path = str(_file(tmp_path))
    assert main(["explain", path, "lamp", "--json"]) == Exit.FINE
    said = json.loads(capsys.readouterr().out)
    steps = said["steps"]
    assert main(["explain", path, "lamp"]) == Exit.FINE
    shape, *told, closing = capsys.readouterr().out.splitlines()
    assert shape == said["shape"]
    numbered = [line.strip() for line in told if re.match(r" *\d+\. ", line)]
    assert numbered == [f"{n}. {step['text']}" for n, step in enumerate(steps, 1)]
    chapters = [line for line in told if line and line.strip() not in numbered]
    assert len(chapters) == len({step["chapter"] for step in steps})
    found = re.fullmatch(r"stroll; (\d+) steps; hardest: (.+); solved", closing)
    assert found and int(found[1]) == len(steps)
    assert found[2] in {technique_name(step["technique"]) for step in steps}


@pytest.mark.parametrize(("name", "headed", "other"), [
    ("sand-on-rails", "The turning point", "The way in"), ("frost-on-points", "The way in", "The turning point"),
])
def test_the_dearest_step_is_headed_as_the_shape_of_the_solve_calls_it(
    name: str, headed: str, other: str, sample: Path, entries: list[Entry], capsys: Any,
) -> None:
    assert main(["explain", str(sample), name]) == Exit.FINE
    shape, *told = capsys.readouterr().out.splitlines()
    assert f"{headed}: " in shape and headed in told and other not in told
    said = study(next(entry for entry in entries if entry.id == name), {})
    assert f"{headed}: " in said["shape"]
    assert {headed} == {step["chapter"] for step in said["steps"]} & {headed, other}


def test_explain_of_a_puzzle_that_cannot_be_read_says_what_is_wrong_with_it(tmp_path: Path, capsys: Any) -> None:
    path = _file(tmp_path, PUZZLE.replace("a: 7", "a: 70"))
    assert main(["explain", str(path), "lamp"]) == Exit.FAULTS
    said = capsys.readouterr()
    assert said.out == "" and said.err.startswith(f"{path}:9:11: ")


def test_explain_of_an_unknown_puzzle_names_the_nearest(tmp_path: Path, capsys: Any) -> None:
    assert main(["explain", str(_file(tmp_path)), "lump"]) == Exit.FAULTS
    assert "did you mean lamp?" in capsys.readouterr().err


def test_check_shows_grade_steps_and_hardest_technique(tmp_path: Path, capsys: Any) -> None:
    assert main(["check", str(_file(tmp_path))]) == Exit.FINE
    assert re.search(r"lamp +4 +6 +sound +stroll +\d+ +whole +\d+ +\w+", capsys.readouterr().out)


def test_a_grade_the_path_does_not_earn_is_a_located_fault(tmp_path: Path, capsys: Any) -> None:
    path = _file(tmp_path, PUZZLE + "grade: summit\n")
    assert main(["check", str(path)]) == Exit.FAULTS
    said = capsys.readouterr().err
    assert f"{path}:10:8: the manifest calls 'lamp' a summit" in said
    assert "(hardest step: Fixed combination)" in said
    book = tmp_path / "book.yaml"
    book.write_text("book: {title: T, puzzles_from: lamp.yaml}\n", encoding="utf-8")
    assert main(["build", str(book), "--out", str(tmp_path / "out")]) == Exit.FAULTS
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(("grade", "places"), [("grade: stroll\n", [(10, 8)]), ("", [])])
def test_a_grade_whose_path_ran_out_of_time_is_a_located_fault(
    grade: str, places: list[tuple[int, int]], tmp_path: Path, capsys: Any, monkeypatch: pytest.MonkeyPatch,
) -> None:
    """What is not known is not printed as known; a puzzle that states no grade claims nothing."""
    monkeypatch.setattr("cagework.solver.reasoning.state.LOOKS_A_SECOND", 0)
    path = _file(tmp_path, PUZZLE + grade)
    status = main(["check", str(path), "--json", "--no-cache"])
    (said,) = json.loads(capsys.readouterr().out)["puzzles"]
    assert (status, said["outcome"], said["grade"]) == (Exit.FAULTS if grade else Exit.FINE, "sound", None)
    errors = [fault for fault in said["faults"] if fault["severity"] == "error"]
    assert [(fault["line"], fault["column"]) for fault in errors] == places
    assert all("so its grade is not known" in fault["message"] for fault in errors)
    (warning,) = (fault for fault in said["faults"] if fault not in errors)
    assert warning["message"] == "the path of 'lamp' was given up in the time allowed"


def test_a_section_can_stand_in_order_of_grade(sample: Path, tmp_path: Path, capsys: Any) -> None:
    puzzles = sample.parent / "puzzles"
    pattern = f"{_relative(puzzles, tmp_path)}/*.yaml"
    data = {"book": {"title": "T", "puzzles_from": pattern, "layout": "a4-four-up"}}
    (tmp_path / "book.yaml").write_text(yaml.safe_dump(data), encoding="utf-8")
    reading = load_book(tmp_path / "book.yaml")
    assert reading.book is not None
    ids = [entry.id for entry in reading.book.entries]
    data["sections"] = [{"title": "S", "order": "grade", "puzzles": ids}]  # type: ignore[assignment]
    (tmp_path / "book.yaml").write_text(yaml.safe_dump(data), encoding="utf-8")
    assert main(["build", str(tmp_path / "book.yaml"), "--out", str(tmp_path / "out")]) == Exit.FINE
    from pypdf import PdfReader

    text = "\n".join(page.extract_text() for page in PdfReader(tmp_path / "out" / "book.pdf").pages)
    grades = {word: grade for grade, word in load_words("en").grades.items()}
    shown = [grades[word] for word in re.findall(rf"(?<!\S)\d+\s+({'|'.join(grades)})(?!\S)", text)]
    assert len(shown) == len(ids)
    assert [list(Grade).index(grade) for grade in shown] == sorted(list(Grade).index(grade) for grade in shown)


def _relative(path: Path, start: Path) -> str:
    import os

    return os.path.relpath(path, start)
