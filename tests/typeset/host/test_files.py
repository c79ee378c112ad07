"""Files are written all or none, and looked at before they take their places."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path

import pytest

from cagework.typeset.host.files import RECORD, replace_all, write_all


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


def test_what_a_later_call_no_longer_makes_goes_and_nothing_else(tmp_path: Path) -> None:
    """The editor's own files stay, and so does one of ours that was changed since."""
    first = {"book.pdf": b"one", "puzzles/a.svg": b"a", "puzzles/b.svg": b"b", "c.svg": b"c"}
    replace_all(tmp_path, {Path(name): content for name, content in first.items()})
    (tmp_path / "puzzles/b.svg").write_bytes(b"b, mended by hand")
    (tmp_path / "puzzles/mine.svg").write_bytes(b"a")
    replace_all(tmp_path, {Path("book.pdf"): b"two", Path("C.svg"): b"c"})
    left = written(tmp_path)
    del left[RECORD]
    left.pop(Path("c.svg"), None)    # gone where capitals count
    assert left == {Path("book.pdf"): b"two", Path("C.svg"): b"c", Path("puzzles/b.svg"): b"b, mended by hand",
                    Path("puzzles/mine.svg"): b"a"}


def test_a_call_that_fails_takes_nothing_away(tmp_path: Path) -> None:
    replace_all(tmp_path, {Path("book.pdf"): b"one", Path("a.svg"): b"a"})
    before = written(tmp_path)

    def refuse(_waiting: object) -> None:
        raise ValueError("not as it must be")

    with pytest.raises(ValueError, match="not as it must be"):
        replace_all(tmp_path, {Path("book.pdf"): b"two"}, refuse)
    assert written(tmp_path) == before


@pytest.mark.parametrize("name", ["../outside", "/etc/hostname", "a/../../outside", "."])
def test_a_record_cannot_lead_out_of_its_folder(tmp_path: Path, name: str) -> None:
    (tmp_path / "outside").write_bytes(b"x")
    out = tmp_path / "out"
    out.mkdir()
    (out / RECORD).write_text(f"{hashlib.sha256(b'x').hexdigest()}  {name}\nnot a record\n", encoding="utf-8")
    replace_all(out, {Path("book.pdf"): b"one"})
    assert (tmp_path / "outside").read_bytes() == b"x"


def test_the_record_is_what_sha256sum_checks(tmp_path: Path) -> None:
    """GNU coreutils' format; the standard library's own sums beside it."""
    replace_all(tmp_path, {Path("book.pdf"): b"one", Path("puzzles/a.svg"): b"a"})
    lines = (tmp_path / RECORD).read_text(encoding="utf-8").splitlines()
    assert lines == [f"{hashlib.sha256(data).hexdigest()}  {name}"
                     for name, data in (("book.pdf", b"one"), ("puzzles/a.svg", b"a"))]
