"""`tune` and `compose`, run as an editor runs them."""

from __future__ import annotations

import json
from itertools import pairwise
from pathlib import Path

import pytest

from cagework.solver.editing.compose import Recipe, compose
from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit
from cagework.typeset.manifest.drawn import Drawing, cages_in_order
from cagework.typeset.manifest.emit import emitted
from cagework.typeset.manifest.keyed import keys_of
from cagework.typeset.manifest.load import load_book


@pytest.fixture(name="hall", scope="module")
def _hall(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A puzzle of six in a file of its own."""
    made = compose(4, Recipe(size=6))
    file = tmp_path_factory.mktemp("hall") / "hall.yaml"
    file.write_text("# as it came\n" + emitted(keys_of(Drawing(
        6, cages_in_order(made.puzzle.cages), id="hall", title="Hall"))), encoding="utf-8")
    return file


def said(capsys: pytest.CaptureFixture[str], *words: str | Path) -> tuple[int, str, str]:
    status = main([str(word) for word in words])
    captured = capsys.readouterr()
    return status, captured.out, captured.err


def test_tune_offers_what_it_proved(hall: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out, before = tmp_path / "tuned", hall.read_bytes()
    status, text, _ = said(capsys, "tune", hall, "hall", "--needs", "outie", "--most", "2", "--out", out)
    assert status == Exit.FINE
    assert text.splitlines()[0].startswith("hall: climb, ")
    assert "  1. " in text and "; path whole, load " in text
    files = sorted(out.iterdir())
    assert [file.name for file in files] == ["hall-1.yaml", "hall-2.yaml"]
    for file in files:
        (puzzle,) = load_book(file, puzzles_suffice=True).puzzles
        assert puzzle.entry and puzzle.entry.title == "Hall" and not puzzle.faults
    assert hall.read_bytes() == before


def test_tune_as_data(hall: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, text, _ = said(capsys, "tune", hall, "hall", "--needs", "outie", "--json")
    data = json.loads(text)
    assert status == Exit.FINE and data["id"] == "hall" and data["offers"]
    for offer in data["offers"]:
        assert offer["changes"][0]["text"] and offer["puzzle"].startswith("id: hall\n")
        assert offer["path"] == "whole" and offer["load"] > 0


def test_tune_says_what_cannot_be(hall: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, text, _ = said(capsys, "tune", hall, "hall", "--grade", "summit", "--changes", "1")
    assert status == Exit.FAULTS and "nothing was found that is so, by 1 change at most" in text
    status, text, _ = said(capsys, "tune", hall, "hall", "--grade", "climb")
    assert status == Exit.FINE and "as wished already" in text
    status, _, error = said(capsys, "tune", hall, "hill", "--grade", "climb")
    assert status == Exit.FAULTS and "there is no puzzle 'hill'" in error
    fork = tmp_path / "fork.yaml"
    fork.write_text("id: fork\ntitle: Fork\nsize: 4\ncages: []\ngivens: {r1c1: 1}\n", encoding="utf-8")
    status, _, error = said(capsys, "tune", fork, "fork", "--grade", "climb")
    assert status == Exit.FAULTS and error


@pytest.mark.parametrize(("words", "message"), [
    ((), "say what the puzzle should be"),
    (("--grade", "climbs"), "there is no grade called 'climbs': did you mean climb?"),
    (("--needs", "inny"), "there is no idea called 'inny'"),
    (("--needs", "innie", "--without", "innie"), "'innie' is wanted and not wanted"),
])
def test_wishes_that_are_none(
    words: tuple[str, ...], message: str, hall: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["tune", str(hall), "hall", *words])
    assert ended.value.code == Exit.USAGE and message in capsys.readouterr().err


def test_compose_writes_puzzles_that_check(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ("compose", "--out", tmp_path / "new", "--count", "3", "--size", "6", "--grade", "stroll",
             "--symmetry", "mirror", "--rule", "diagonals", "--name", "hedge", "--no-cache")
    status, text, _ = said(capsys, *words)
    assert status == Exit.FINE and text.splitlines()[-1].endswith("none another's twin")
    files = sorted((tmp_path / "new").iterdir())
    assert len(files) == 3
    before = [file.read_bytes() for file in files]
    for file in files:
        keys = file.read_text(encoding="utf-8")
        assert keys.startswith("id: hedge-") and "\nby: the cagework composer\n" in keys and "[diagonals]" in keys
    status, text, _ = said(capsys, "check", "--json", "--no-cache", *files)
    assert status == Exit.FINE
    assert {(one["outcome"], one["grade"]) for one in json.loads(text)["puzzles"]} == {("sound", "stroll")}
    assert said(capsys, *words)[0] == Exit.FINE, "the same again is no loss"
    assert [file.read_bytes() for file in files] == before
    files[0].write_text("mine\n", encoding="utf-8")
    status, _, error = said(capsys, *words)
    assert status == Exit.NOT_WRITTEN and "was left as it is" in error
    assert files[0].read_text(encoding="utf-8") == "mine\n"


@pytest.mark.parametrize("words", [
    ("--size", "6", "--rule", "king", "--rule", "rising:2", "--rule", "odd", "--rule", "houses:1",
     "--rule", "diagonal_sum", "--rule", "greater_cage:1"),
    ("--size", "6", "--rule", "sum_line:1", "--rule", "consecutive", "--regions", "irregular"),
    ("--kind", "crossing-sums", "--size", "6x5"),
    ("--kind", "crossing-sums", "--size", "5", "--grade", "scramble"),
])
def test_rules_on_cells_and_crossing_sums_are_written_as_they_were_proved(
    words: tuple[str, ...], tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    status, text, _ = said(capsys, "compose", "--out", tmp_path / "new", "--no-cache", *words)
    assert status == Exit.FINE
    (file,) = (tmp_path / "new").iterdir()
    (puzzle,) = load_book(file, puzzles_suffice=True).puzzles
    assert puzzle.entry and not puzzle.faults
    for word, rule in pairwise(words):
        assert word != "--rule" or rule.partition(":")[0] in file.read_text(encoding="utf-8")
    status, checked, _ = said(capsys, "check", "--json", "--no-cache", file)
    (one,) = json.loads(checked)["puzzles"]
    assert status == Exit.FINE and one["outcome"] == "sound" and one["grade"] in text


def test_what_is_there_already_does_not_come_again(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = ("compose", "--size", "4", "--cages", "2:1,3:1", "--no-cache", "--out")
    assert said(capsys, *words, tmp_path / "one")[0] == Exit.FINE
    (file,) = (tmp_path / "one").iterdir()
    assert said(capsys, *words, tmp_path / "two", "--beside", file)[0] == Exit.FINE
    (other,) = (tmp_path / "two").iterdir()
    assert other.name != file.name, "the next seed had to do"


def test_compose_says_when_seeds_lead_nowhere(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    status, _, error = said(capsys, "compose", "--out", tmp_path / "new", "--size", "4", "--grade", "summit",
                            "--no-cache")
    assert status == Exit.FAULTS and "0 puzzles of 1: the seeds tried led to no more" in error


@pytest.mark.parametrize(("words", "message"), [
    (("--size", "3"), "from 4 to 16"), (("--size", "9x8"), "from 4 to 16"), (("--size", "9x"), "is no size"),
    (("--size", "5"), "no usual boxes"), (("--kind", "crossing-sums", "--size", "2x9"), "3 to 30 rows"),
    (("--kind", "crossing-sums", "--rule", "king"), "no --rule"),
    (("--kind", "crossing-sums", "--cages", "2:1"), "no --cages"),
    (("--size", "7", "--regions", "irregular"), "which a 7 x 7 grid lacks"),
    (("--rule", "diagnals"), "did you mean diagonals?"), (("--rule", "rising:0"), "is no rule"),
    (("--rule", "king:3"), "no number of it"), (("--rule", "equal_sums", "--regions", "none"), "needs regions"),
    (("--size", "4", "--rule", "windows"), "cannot be on a grid of 4"),
    (("--cages", "2"), "2:3,3:4,4:2"), (("--cages", "2:0"), "leaves no cages"), (("--name", "a b"), "is no id"),
])
def test_recipes_that_cannot_be_followed(
    words: tuple[str, ...], message: str, capsys: pytest.CaptureFixture[str],
) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["compose", *words])
    assert ended.value.code == Exit.USAGE and message in capsys.readouterr().err
