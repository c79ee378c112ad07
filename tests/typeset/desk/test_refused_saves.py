"""Saves and drawings that are refused, each with words, and nothing written."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from cagework.typeset.desk import saving
from cagework.typeset.desk.guard import Refused
from cagework.typeset.faults import UnreadableManifest
from cagework.typeset.manifest.document import MAX_BYTES
from cagework.typeset.manifest.drawn import Drawing

LAMP = "id: lamp\nsize: 4\nmap: |\n  aabb\n  aabb\n  ccdd\n  ccdd\nsums: {a: 10, b: 10, c: 10, d: 10}\n"
BOOK = "book: {title: Lamps}\nsections:\n  - puzzles: [lamp]\n"


@pytest.fixture
def lamp(tmp_path: Path) -> Path:
    file = tmp_path / "lamp.yaml"
    file.write_text(LAMP, encoding="utf-8")
    return file


@pytest.fixture
def drawing(lamp: Path) -> Drawing:
    return saving.stands(lamp, "lamp").drawing


def refused(status: int, act: Callable[[], object]) -> str:
    with pytest.raises(Refused) as said:
        act()
    assert said.value.status == status
    return said.value.why


def test_a_puzzle_that_is_not_there_is_said(lamp: Path, drawing: Drawing) -> None:
    known = saving.stands(lamp, "lamp").digest
    assert "no puzzle" in refused(404, lambda: saving.stands(lamp, "candle"))
    assert "any more" in refused(409, lambda: saving.changed(lamp, "candle", drawing_as(drawing, "candle"), known))
    assert "cannot be read" in refused(409, lambda: saving.stands(lamp.with_name("gone.yaml"), "lamp"))


def drawing_as(drawing: Drawing, id: str) -> Drawing:
    return replace(drawing, id=id)


def test_a_file_that_is_no_yaml_or_no_text_is_left_alone(lamp: Path, drawing: Drawing) -> None:
    for content, status in ((b"id: lamp\nsums: [", 409), (b"\xff\xfe\xff", 409)):
        lamp.write_bytes(content)
        refused(status, lambda: saving.changed(lamp, "lamp", drawing, saving.digest(lamp.read_bytes())))
        assert lamp.read_bytes() == content


def test_a_file_that_is_too_large_to_be_read_whole_is_left_alone(lamp: Path, drawing: Drawing) -> None:
    """What was not read would be lost."""
    lamp.write_bytes(LAMP.encode() + b"# " + b"x" * MAX_BYTES)
    assert "larger than" in refused(409, lambda: saving.stands(lamp, "lamp"))
    known = saving.digest(lamp.read_bytes()[:MAX_BYTES + 1])
    assert "larger than" in refused(409, lambda: saving.changed(lamp, "lamp", drawing, known))


def test_a_new_puzzle_needs_a_manifest_that_can_name_it(tmp_path: Path, drawing: Drawing) -> None:
    book = tmp_path / "book.yaml"
    candle = drawing_as(drawing, "candle")
    for content in ("book: [", "sections: []\n"):
        book.write_text(content, encoding="utf-8")
        refused(409, lambda: saving.new(book, candle, ()))
        assert book.read_text(encoding="utf-8") == content and not (tmp_path / "candle.yaml").exists()


def test_a_new_puzzle_takes_no_file_that_is_there(tmp_path: Path, drawing: Drawing) -> None:
    book = tmp_path / "book.yaml"
    book.write_text(BOOK, encoding="utf-8")
    (tmp_path / "candle.yaml").write_text("mine\n", encoding="utf-8")
    assert "already" in refused(409, lambda: saving.new(book, drawing_as(drawing, "candle"), ()))
    assert (tmp_path / "candle.yaml").read_text(encoding="utf-8") == "mine\n"


def test_a_file_outside_the_folder_goes_by_its_whole_name(tmp_path: Path, lamp: Path) -> None:
    assert saving.named(lamp, tmp_path) == "lamp.yaml"
    assert saving.named(lamp, tmp_path / "elsewhere") == str(lamp)


def test_a_manifest_that_breaks_meanwhile_is_no_yaml_to_read(lamp: Path) -> None:
    lamp.write_text("id: [", encoding="utf-8")
    with pytest.raises(UnreadableManifest):
        saving.stands(lamp, "lamp")
