"""Manifests beside what an editor should get for them, as files of the same stem.

To add a case, add NAME.yaml and write NAME.txt by hand: it is read as an editor would read it. `<rules>` and
`<languages>` stand for all there are, so that one more of them changes no case.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
import yaml

from cagework.typeset.faults import listed
from cagework.typeset.manifest import document
from cagework.typeset.manifest.load import Reading, load_book
from cagework.typeset.manifest.rule_names import other_rules
from cagework.typeset.words import languages

HERE = Path(__file__).parent
FAULTY = sorted((HERE / "faults").glob("*.yaml"))
GOOD = sorted((HERE / "good").glob("*.yaml"))
LOADERS = [loader for loader in (yaml.SafeLoader, getattr(yaml, "CSafeLoader", None)) if loader]
ALL = {"<rules>": listed(other_rules()), "<languages>": listed(languages(), "and")}


def test_there_is_a_text_beside_every_manifest() -> None:
    for folder in ("faults", "good"):
        texts = {path.stem for path in (HERE / folder).glob("*.txt")}
        assert texts == {path.stem for path in (HERE / folder).glob("*.yaml")}


@pytest.mark.parametrize("loader", LOADERS, ids=lambda loader: loader.__name__)
@pytest.mark.parametrize("path", FAULTY, ids=lambda path: path.stem)
def test_faults_are_told_as_written(
    path: Path, loader: object, told: Callable[..., str], monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Whichever of the two YAML parsers is installed: compiled or plain Python."""
    monkeypatch.setattr(document, "_LOADER", loader)
    expected = path.with_suffix(".txt").read_text(encoding="utf-8")
    for word, names in ALL.items():
        expected = expected.replace(word, names)
    assert told(path, puzzles_suffice=False) == expected


@pytest.mark.parametrize("path", GOOD, ids=lambda path: path.stem)
def test_good_manifests_are_read_whole(path: Path, shown: Callable[[Reading], str]) -> None:
    assert shown(load_book(path)) == path.with_suffix(".txt").read_text(encoding="utf-8")


def test_eight_faults_are_eight_located_messages() -> None:
    path = HERE / "faults" / "eight-faults.yaml"
    reading = load_book(path)
    assert reading.book is None
    assert len({(fault.line, fault.column) for fault in reading.faults}) == 8
    assert len({fault.message for fault in reading.faults}) == len(reading.faults) == 8


def test_each_puzzle_carries_its_own_faults() -> None:
    reading = load_book(HERE / "faults" / "eight-faults.yaml")
    assert [(one.id, one.entry, [fault.line for fault in one.faults]) for one in reading.puzzles] == [
        ("q01", None, [11, 17, 18]), ("q02", None, [24, 25])]


def test_a_sound_puzzle_is_read_beside_a_faulty_one() -> None:
    reading = load_book(HERE / "faults" / "puzzle-files.yaml")
    assert reading.book is None
    assert [(one.id, one.entry is not None) for one in reading.puzzles] == [
        ("first", False), ("s1", True), (None, False)]


def test_a_duplicate_is_a_fault_and_can_still_be_solved() -> None:
    second = load_book(HERE / "faults" / "duplicate-puzzle-turned.yaml").puzzles[1]
    assert second.entry is not None
    assert [fault.is_error for fault in second.faults] == [True]


def test_warnings_alone_leave_a_book() -> None:
    reading = load_book(HERE / "good" / "warnings-only.yaml")
    assert [fault.severity for fault in reading.faults] == ["warning"] * 3
    assert not reading.failed
