"""Files are written all or none, and looked at before they take their places."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import pytest

from cagework.typeset.files import write_all


def test_a_proof_sees_every_file_complete_before_any_is_in_place(tmp_path: Path) -> None:
    files = {Path("book.pdf"): b"pages", Path("puzzles/one.svg"): b"grid"}
    seen: dict[Path, bytes] = {}

    def proof(waiting: Mapping[Path, Path]) -> None:
        seen.update({name: part.read_bytes() for name, part in waiting.items()})
        assert not any((tmp_path / name).exists() for name in files)

    assert write_all(tmp_path, files, proof) == tuple(tmp_path / name for name in files)
    assert seen == files
    assert written(tmp_path) == files


def test_what_a_proof_refuses_leaves_the_earlier_files_and_nothing_else(tmp_path: Path) -> None:
    write_all(tmp_path, {Path("book.pdf"): b"old"})

    def refuse(_: Mapping[Path, Path]) -> None:
        raise ValueError("a digit is wrong")

    with pytest.raises(ValueError, match="a digit is wrong"):
        write_all(tmp_path, {Path("book.pdf"): b"new", Path("more/cover.pdf"): b"new"}, refuse)
    assert written(tmp_path) == {Path("book.pdf"): b"old"}


def written(folder: Path) -> dict[Path, bytes]:
    return {path.relative_to(folder): path.read_bytes() for path in folder.rglob("*") if path.is_file()}
