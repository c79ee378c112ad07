"""The commands, run as a person or a program runs them."""

from __future__ import annotations

import argparse
import json
import re
import subprocess
import sys
from collections.abc import Callable
from functools import partial
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

from cagework.solver.reasoning import reason
from cagework.solver.reasoning.grade import Grade
from cagework.typeset.commands.door import COMMANDS, main, module_of, parser
from cagework.typeset.commands.exits import Exit
from cagework.typeset.manual.topics import places_of
from cagework.typeset.solving import crew

Run = Callable[..., subprocess.CompletedProcess[str]]

SOUND = """\
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
NO_ANSWER = SOUND.replace("id: lamp", "id: dark").replace("a: 7", "a: 8").replace("b: 6", "b: 5")
TWO = "id: fork\ntitle: Fork\nsize: 4\ncages: []\ngivens: {r1c1: 1}\n"
EIGHT_FAULTS = """\
book:
  title: Eight faults
  layuot: a5-one-up
  allow_uncaged: true
puzzles:
  - id: one
    title: One
    size: 4
    map: |
      aabb
      ccdd
      eeff
      gg.h
    sums: {a: 3, b: 7, c: 7, d: 3, e: 30, f: 3, g: 3, z: 4}
  - id: two
    title: Two
    size: 4
    cages:
      - {sum: 5, cells: r1c1 r1c2}
      - {sum: 5, cells: r1c2 r1c3}
      - {sum: 9, cells: r3c1 r4c4 r4c3}
    givens: {r1c4: 9}
  - id: two
    title: Twin
    size: 4
    map: |
      aab
      ccdd
      eeff
      gghh
    sums: {a: 5, b: 5, c: 5, d: 5, e: 5, f: 5, g: 5, h: 5}
"""


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name, text in (("sound", SOUND), ("no-answer", NO_ANSWER), ("two", TWO)):
        (tmp_path / f"{name}.yaml").write_text(text, encoding="utf-8")
    return tmp_path


def manifest(folder: Path, *files: str) -> Path:
    listed = ", ".join(files)
    path = folder / "book.yaml"
    path.write_text(f"book:\n  title: T\n  allow_uncaged: true\n  puzzles_from: [{listed}]\n", encoding="utf-8")
    return path


def test_check_prints_one_json_object_of_the_promised_shape(folder: Path, capsys: Any) -> None:
    status = main(["check", str(folder / "sound.yaml"), str(folder / "no-answer.yaml"), str(folder / "two.yaml"),
                   "--json"])
    said = json.loads(capsys.readouterr().out)
    assert status == Exit.FAULTS
    one, none, two = said["puzzles"]
    assert set(one) == {"id", "file", "outcome", "answer", "second", "nodes", "ms", "grade", "score", "near",
                        "path", "faults"}
    assert (one["id"], one["outcome"], one["answer"], one["second"]) == ("lamp", "sound", "2143342143121234", None)
    assert (one["grade"], one["path"]) == ("stroll", "whole")
    assert (none["outcome"], none["answer"], none["path"]) == ("no-answer", None, None)
    assert two["outcome"] == "two-answers"
    assert two["answer"] != two["second"] and len(two["answer"]) == len(two["second"]) == 16
    assert two["answer"][0] == two["second"][0] == "1"


def test_check_is_fine_when_every_puzzle_is_sound(folder: Path) -> None:
    done = subprocess.run([sys.executable, "-m", "cagework.typeset", "check", folder / "sound.yaml"],
                          capture_output=True, text=True, check=False)
    assert done.returncode == Exit.FINE
    assert re.search(r"lamp +4 +6 +sound", done.stdout)
    assert done.stderr == "", "no progress bar where there is no terminal"


def test_check_says_why_not(folder: Path, run: Run) -> None:
    done = run("check", folder / "no-answer.yaml", folder / "two.yaml")
    assert done.returncode == Exit.FAULTS
    assert "contradict" in done.stdout and "two answers differ in" in done.stdout


@pytest.mark.parametrize("text", [None, "puzzles: [", "just words", "- 1\n- 2\n", "\x00", ""])
def test_a_file_that_is_no_manifest_is_told_apart(text: str | None, tmp_path: Path, run: Run) -> None:
    path = tmp_path / "book.yaml"
    if text is not None:
        path.write_text(text, encoding="utf-8")
    for command in (["check", path, "--json"], ["build", path]):
        done = run(*command, cwd=tmp_path)
        assert done.returncode in (Exit.UNREADABLE, Exit.FAULTS if text == "- 1\n- 2\n" else Exit.UNREADABLE)
        assert "Traceback" not in done.stderr
        assert str(path) in (done.stderr if "build" in command else done.stdout), "it is said of which file"
    assert not (tmp_path / "out").exists()


def test_json_is_printed_even_where_a_file_cannot_be_read(folder: Path, run: Run) -> None:
    done = run("check", folder / "nowhere.yaml", folder / "sound.yaml", "--json")
    said = json.loads(done.stdout)
    assert done.returncode == Exit.UNREADABLE
    assert [one["id"] for one in said["puzzles"]] == ["lamp"]
    assert "nowhere.yaml" in said["faults"][0]["file"]


def test_eight_faults_are_eight_located_messages_and_nothing_is_written(tmp_path: Path, run: Run) -> None:
    book = tmp_path / "book.yaml"
    out = tmp_path / "out"
    book.write_text("book: {title: Good}\npuzzles:\n- " + SOUND.replace("\n", "\n  "), encoding="utf-8")
    assert run("build", book, "--out", out).returncode == Exit.FINE
    before = {path: path.read_bytes() for path in out.rglob("*") if path.is_file()}
    book.write_text(EIGHT_FAULTS, encoding="utf-8")
    done = run("build", book, "--out", out)
    assert done.returncode == Exit.FAULTS
    places = re.findall(rf"^{re.escape(str(book))}:(\d+):(\d+): (?!warning)(.*)$", done.stderr, re.MULTILINE)
    assert len(places) >= 8
    assert len({line for line, _, _ in places}) >= 7
    assert done.stderr.count("^") >= 8
    for said in ("layuot", "'z'", "letter 'h'", "3 to 7", "in cage 1", "2 pieces", "given 9", "taken", "row 1"):
        assert any(said in message for _, _, message in places), said
    assert {path: path.read_bytes() for path in out.rglob("*") if path.is_file()} == before


def test_a_book_with_an_unsound_puzzle_is_not_written(folder: Path, run: Run) -> None:
    done = run("build", manifest(folder, "sound.yaml", "no-answer.yaml", "two.yaml"), "--out", folder / "out")
    assert done.returncode == Exit.FAULTS
    assert "'dark' is not sound" in done.stderr and "'fork' is not sound" in done.stderr
    assert not (folder / "out").exists()


def test_a_build_tells_its_work_as_events(folder: Path, run: Run) -> None:
    out = folder / "out"
    done = run("build", manifest(folder, "sound.yaml"), "--out", out, "--json", "--press")
    events = [json.loads(line) for line in done.stdout.splitlines()]
    *steps, last = [one for one in events if one["event"] != "fault"]
    assert [(one["step"], one["done"], one["of"]) for one in steps] == [
        ("checked", 1, 4), ("paged", 2, 4), ("drawn", 3, 4), ("read back", 4, 4)]
    assert last["event"] == "built" and {Path(name) for name in last["files"]} == {
        file for file in out.rglob("*.*") if file.suffix in (".pdf", ".svg")}
    done = run("build", manifest(folder, "sound.yaml", "no-answer.yaml"), "--out", folder / "none", "--json")
    faults = [json.loads(line) for line in done.stdout.splitlines()]
    assert done.returncode == Exit.FAULTS and any(
        one["event"] == "fault" and "'dark' is not sound" in one["message"] for one in faults)


def test_a_puzzle_out_of_time_is_undecided_and_never_printed(tmp_path: Path, run: Run) -> None:
    path = tmp_path / "vast.yaml"
    path.write_text("id: vast\ntitle: Vast\nsize: 16\ncages: []\n", encoding="utf-8")
    done = run("check", path, "--json", "--seconds", "0.000001")
    (said,) = json.loads(done.stdout)["puzzles"]
    assert (done.returncode, said["outcome"], said["answer"]) == (Exit.FAULTS, "undecided", None)


def test_a_grade_that_is_not_known_is_not_printed(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str],
) -> None:
    """The puzzle is sound, its path too dear to find: the manifest's word alone is no grade."""
    monkeypatch.setattr(crew, "explain", partial(reason.explain, what_ifs=0, techniques={}))
    (folder / "sound.yaml").write_text(f"{SOUND}grade: stroll\n", encoding="utf-8")
    book = manifest(folder, "sound.yaml")
    assert main(["build", str(book), "--out", str(folder / "out"), "--no-cache"]) == Exit.FAULTS
    said = capsys.readouterr().err
    assert f"{folder / 'sound.yaml'}:10:8: the manifest calls 'lamp' a stroll, but its path was not found" in said
    assert not (folder / "out").exists()


def test_a_character_no_face_has_is_a_fault(folder: Path, run: Run) -> None:
    (folder / "sound.yaml").write_text(SOUND.replace("title: Lamp", "title: Lamp ☃"), encoding="utf-8")
    done = run("build", manifest(folder, "sound.yaml"), "--out", folder / "out")
    assert done.returncode == Exit.FAULTS
    assert "U+2603" in done.stderr


def test_files_that_cannot_be_written_are_their_own_outcome(folder: Path, run: Run) -> None:
    (folder / "out").write_text("in the way", encoding="utf-8")
    done = run("build", manifest(folder, "sound.yaml"), "--out", folder / "out")
    assert done.returncode == Exit.NOT_WRITTEN
    assert "cannot write" in done.stderr and "Traceback" not in done.stderr


def test_the_closing_summary_counts_pages_puzzles_warnings_files_and_seconds(folder: Path, run: Run) -> None:
    done = run("build", manifest(folder, "sound.yaml"), "--out", folder / "out")
    assert re.search(r"\d+ pages, 1 puzzle, 0 warnings, 3 files, [\d.]+ seconds", done.stdout), done.stdout
    found = sorted(str(path.relative_to(folder / "out")) for path in (folder / "out").rglob("*") if path.is_file())
    assert found == ["SHA256SUMS", "answers/lamp.svg", "book.pdf", "puzzles/lamp.svg"]


def test_a_puzzle_taken_out_of_the_book_leaves_no_picture_behind(folder: Path, run: Run) -> None:
    path = manifest(folder, "sound.yaml")
    assert run("build", path, "--out", folder / "out").returncode == Exit.FINE
    (folder / "sound.yaml").write_text(SOUND.replace("id: lamp", "id: lantern"), encoding="utf-8")
    assert run("build", path, "--out", folder / "out").returncode == Exit.FINE
    found = sorted(str(path.relative_to(folder / "out")) for path in (folder / "out").rglob("*.svg"))
    assert found == ["answers/lantern.svg", "puzzles/lantern.svg"]


def test_a_reader_that_has_read_enough_is_no_fault(folder: Path) -> None:
    done = subprocess.run(f"'{sys.executable}' -m cagework.typeset schema | head -n 1", shell=True,
                          capture_output=True, text=True, check=False)
    assert (done.stdout, done.stderr) == ("{\n", "")
    with subprocess.Popen([sys.executable, "-m", "cagework.typeset", "schema"], stdout=subprocess.PIPE,
                          stderr=subprocess.PIPE) as away:
        assert away.stdout and away.stderr
        away.stdout.close()
        assert (away.stderr.read(), away.wait()) == (b"", Exit.FINE)


@pytest.mark.parametrize("arguments", [[], ["bake"], ["build"], ["check"], ["check", "x", "--seconds", "-1"]])
def test_a_wrong_command_line_is_told_apart_from_a_wrong_manifest(arguments: list[str], run: Run) -> None:
    done = run(*arguments)
    assert done.returncode == Exit.USAGE
    assert done.stderr.startswith("usage: cagework")


def test_no_command_lists_them_and_says_where_more_is_said(run: Run) -> None:
    done = run()
    assert (done.returncode, done.stdout) == (Exit.USAGE, "")
    assert all(summary in done.stderr for summary in COMMANDS.values())
    assert "--help" in done.stderr and "cagework manual" in done.stderr


@pytest.mark.parametrize(("word", "line"), [
    ("givens", r"puzzles +Givens"), ("boxes", r"puzzles +Regions"), ("GIVENS", r"keys +"),
    ("pres", "hint: did you mean press\\?"), ("zebra", "hint: choose first-book, puzzles, "),
])
def test_a_word_that_is_no_topic_is_looked_for_in_the_manual(word: str, line: str, run: Run) -> None:
    done = run("manual", word)
    assert (done.returncode, done.stdout) == (Exit.USAGE, "")
    assert re.search(f"^ *{line}", done.stderr, re.MULTILINE), done.stderr


def test_a_line_of_an_example_is_no_heading_of_the_manual() -> None:
    headings = {heading for topic in places_of("").values() for heading in topic}
    assert "Givens" in headings and not [one for one in headings if one.startswith("sums, misspelt")]


def test_slips_in_yaml_are_told_one_a_file_and_all_else_at_once(folder: Path, run: Run) -> None:
    """As the manual has it."""
    book = manifest(folder, "sound.yaml", "two.yaml")
    for name, text in (("sound", SOUND), ("two", TWO)):
        (folder / f"{name}.yaml").write_text(f"{text}by: 'Ada\nnote: [a\n", encoding="utf-8")
    faults = re.findall(r"^(\S+):\d+:\d+: ", run("check", book).stderr, re.MULTILINE)
    assert faults == [str(folder / "sound.yaml"), str(folder / "two.yaml")]


def test_a_folder_is_its_book(folder: Path, run: Run) -> None:
    """Where it has one; if not, its files are named."""
    for command in ("check", "build"):
        done = run(command, folder)
        assert done.returncode == Exit.UNREADABLE
        said = f"{folder}: cannot be read: it is a folder\nhint: name a file in it, such as no-answer.yaml, sound"
        assert done.stderr.startswith(said), done.stderr
    manifest(folder, "sound.yaml")
    assert run("check", folder).returncode == Exit.FINE
    assert run("build", folder, "--out", folder / "out").returncode == Exit.FINE
    assert (folder / "out" / "book.pdf").exists()


@pytest.mark.parametrize("words", [["explain"], ["tune", "--grade", "climb"]])
def test_without_an_id_those_there_are_are_listed(words: list[str], folder: Path, run: Run) -> None:
    done = run(words[0], manifest(folder, "sound.yaml", "two.yaml"), *words[1:])
    assert done.returncode == Exit.USAGE and "name a puzzle by its ID\nhint: choose lamp or fork\n" in done.stderr


def test_a_section_with_an_unknown_id_is_told_those_there_are(folder: Path, run: Run) -> None:
    book = manifest(folder, "sound.yaml", "two.yaml")
    book.write_text(f"{book.read_text()}sections: [{{title: S, puzzles: [lamp, zzz]}}]\n", encoding="utf-8")
    assert "hint: sections name puzzles by their ids, which are fork and lamp" in run("check", book).stderr


def test_schema_is_json(capsys: Any) -> None:
    assert main(["schema"]) == Exit.FINE
    assert json.loads(capsys.readouterr().out)["$schema"] == "https://json-schema.org/draft/2020-12/schema"


@pytest.mark.parametrize("name", COMMANDS)
def test_help_says_what_everything_is_for(name: str) -> None:
    """Each argument, in words; and each grade where one is to be chosen."""
    command = argparse.ArgumentParser()
    import_module(module_of(name)).declare(command)
    assert [action.dest for action in command._actions if not action.help] == []
    said = [str(action.help) for action in command._actions if action.dest == "grade"]
    assert all(grade.value in one for one in said for grade in Grade)


def test_help_names_every_command() -> None:
    text = parser(()).format_help()
    assert all(command in text for command in COMMANDS)


def test_preflight_says_what_a_press_would_refuse(built: Any, capfd: pytest.CaptureFixture[str]) -> None:
    """The screen file: its links are in the way, and it makes no claim to be PDF/X."""
    assert main(["preflight", str(built.pdf)]) == Exit.FAULTS
    out = capfd.readouterr().out
    for number, name in ((4, "identification"), (9, "output_intent"), (11, "annotations")):
        assert re.search(rf"^ *{number}  {name} +error", out, re.MULTILINE), out
    assert main(["preflight", str(built.pdf), "--for", "screen", "--trim", "148x210"]) == Exit.FINE
    assert "passes, 0 findings" in capfd.readouterr().out


def test_preflight_holds_to_the_size_and_the_multiple_asked_for(
    built: Any, capfd: pytest.CaptureFixture[str],
) -> None:
    arguments = ["preflight", str(built.pdf), "--trim", "152.4x228.6", "--multiple", "997", "--json"]
    assert main(arguments) == Exit.FAULTS
    said = json.loads(capfd.readouterr().out)
    assert (said["file"], said["passes"], said["pages"]) == (str(built.pdf), False, built.built.pages)
    assert {"page_size", "page_count"} <= {finding["rule"] for finding in said["findings"]}


@pytest.mark.parametrize(("content", "says"), [
    (b"cage-sum", "this is not a PDF"), (b"%PDF-1.4\nbut no more", "the PDF is broken"), (None, "No such file"),
])
def test_preflight_says_plainly_what_it_cannot_read(
    content: bytes | None, says: str, tmp_path: Path, capfd: pytest.CaptureFixture[str],
) -> None:
    """And the reader's own grumbling is kept off the terminal."""
    file = tmp_path / "from-elsewhere.pdf"
    if content is not None:
        file.write_bytes(content)
    assert main(["preflight", str(file)]) == Exit.UNREADABLE
    said = capfd.readouterr()
    assert said.out == ""
    assert said.err.startswith(f"{file}: ")
    assert says in said.err
    assert said.err.count("\n") == 1
