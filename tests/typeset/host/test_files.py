"""Files are written all or none, and looked at before they take their places."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path

import pytest

from cagework.typeset.host.files import JOURNAL, RECORD, replace_all, write_all


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


def test_links_stay_and_what_they_lead_to_is_written(tmp_path: Path) -> None:
    """The folder, a folder in it, a file, and the record: each a link, the last to a file that is not there."""
    far, out = tmp_path / "far", tmp_path / "out"
    for folder in ("out", "puzzles", "press"):
        (far / folder).mkdir(parents=True)
    (far / "press" / "book.pdf").write_bytes(b"before")
    out.symlink_to("far/out")
    links = {out / "puzzles": far / "puzzles", out / "book.pdf": far / "press" / "book.pdf",
             out / RECORD: far / "sums"}
    for link, target in links.items():
        link.symlink_to(target)
    for content in (b"one", b"two"):
        replace_all(out, {Path("book.pdf"): content, Path("puzzles/a.svg"): content})
        assert out.is_symlink() and all(link.is_symlink() for link in links)
        assert {name.as_posix(): data for name, data in written(far).items() if not (far / name).is_symlink()} == {
            "press/book.pdf": content, "puzzles/a.svg": content, "sums": (out / RECORD).read_bytes()}
        assert hashlib.sha256(content).hexdigest() in (far / "sums").read_text(encoding="utf-8")


def test_two_names_that_lead_to_one_file_are_refused(tmp_path: Path) -> None:
    (tmp_path / "cover.pdf").symlink_to("book.pdf")
    with pytest.raises(FileExistsError, match="lead to one file"):
        write_all(tmp_path, {Path("book.pdf"): b"book", Path("cover.pdf"): b"cover"})
    assert [path.name for path in tmp_path.iterdir()] == ["cover.pdf"]


@pytest.mark.parametrize("name", ["linked/kept.svg", "link.svg"])
def test_a_record_cannot_lead_out_of_its_folder_by_a_link(tmp_path: Path, name: str) -> None:
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "elsewhere" / "kept.svg").write_bytes(b"x")
    out = tmp_path / "out"
    out.mkdir()
    (out / "linked").symlink_to("../elsewhere")
    (out / "link.svg").symlink_to("../elsewhere/kept.svg")
    (out / RECORD).write_text(f"{hashlib.sha256(b'x').hexdigest()}  {name}\n", encoding="utf-8")
    replace_all(out, {Path("book.pdf"): b"one"})
    assert (tmp_path / "elsewhere" / "kept.svg").read_bytes() == b"x" and (out / "link.svg").is_symlink()


def test_a_file_that_cannot_take_its_place_gives_the_others_theirs_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
) -> None:
    """As where a reader holds one of them open (Windows), or it is bound to another disk."""
    first = {Path(name): b"old" for name in ("a.svg", "b.svg", "c.svg")}
    replace_all(tmp_path, first)
    before = written(tmp_path)
    real_replace = Path.replace

    def busy(self: Path, target: Path) -> Path:
        if target.name == "b.svg" and self.name.endswith(".part"):
            raise PermissionError(13, "in use", str(target))
        return real_replace(self, target)

    monkeypatch.setattr(Path, "replace", busy)
    with pytest.raises(PermissionError, match="in use"):
        replace_all(tmp_path, {Path(name): b"new" for name in ("a.svg", "b.svg", "d/e.svg")})
    monkeypatch.undo()
    assert written(tmp_path) == before and not (tmp_path / "d").exists()


@pytest.mark.parametrize("name", ["../victim", "/etc/hostname", "sub/../../victim", "linked/victim"])
def test_a_journal_from_elsewhere_harms_nothing(tmp_path: Path, name: str) -> None:
    """One that came with a folder, and claims files out of it as left over or as made."""
    out, far = tmp_path / "out", tmp_path / "far"
    out.mkdir()
    far.mkdir()
    for victim in (tmp_path / "victim", far / "victim"):
        victim.write_bytes(b"x")
    (out / "linked").symlink_to("../far")
    listed = [[name, hashlib.sha256(b"x").hexdigest()]]
    for told in ({"placing": True, "files": [], "new": [], "leaving": listed, "made": []},
                 {"placing": False, "files": [], "new": [], "leaving": [], "made": [".."]}, [1], "{"):
        (out / JOURNAL).write_text(json.dumps(told), encoding="utf-8")
        replace_all(out, {Path("book.pdf"): b"one"})
        assert (tmp_path / "victim").read_bytes() == (far / "victim").read_bytes() == b"x"
        assert not (out / JOURNAL).exists()


def test_no_folder_stays_behind_where_nothing_was_written(tmp_path: Path) -> None:
    def refuse(_waiting: object) -> None:
        raise ValueError("not as it must be")

    with pytest.raises(ValueError, match="not as it must be"):
        replace_all(tmp_path / "far" / "out", {Path("puzzles/a.svg"): b"a"}, refuse)
    assert list(tmp_path.iterdir()) == []
