"""All files and the ledger, or nothing, and nothing that is not ours; `host/test_kills.py` kills on the way."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from cagework.typeset.columns.store import COLUMNS, INDEX, store


def index(title: str, *stems: str) -> bytes:
    """An index of the form that `columns` writes, a row for each date and slot."""
    rows = [",".join(COLUMNS)]
    for stem in stems or ("2027-03-01-a",):
        said = {"date": stem[:10], "slot": stem[11:], "title": title,
                **{ending: f"{stem}.{ending}" for ending in ("pdf", "svg", "txt")}}
        rows.append(",".join(said.get(column, "") for column in COLUMNS))
    return "\n".join([*rows, ""]).encode()


OLD = {"2027-03-01-a.pdf": b"old a", "2027-03-01-a.txt": b"old b", INDEX: index("old")}
NEW = {"2027-03-01-a.pdf": b"new a", "2027-03-01-a.txt": b"new b", INDEX: index("new")}


def held(folder: Path) -> dict[str, bytes] | None:
    return {path.name: path.read_bytes() for path in folder.iterdir()} if folder.is_dir() else None


def test_an_error_on_the_way_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(self: Path, target: Path) -> Path:
        raise OSError(28, "No space left on device", str(target))

    store(tmp_path / "out", OLD, tmp_path / "ledger.yaml", "old")
    monkeypatch.setattr(Path, "rename", broken)
    with pytest.raises(OSError, match="No space left"):
        store(tmp_path / "out", NEW, tmp_path / "ledger.yaml", "new")
    monkeypatch.undo()
    assert held(tmp_path / "out") == OLD
    assert (tmp_path / "ledger.yaml").read_text() == "old"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["ledger.yaml", "out"]


def test_all_is_on_the_disk_before_it_takes_its_place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """To flush a file does not flush its entry in its folder; that has to be flushed too (POSIX, fsync)."""
    flushed: set[int] = set()
    placed = []
    flush, rename = os.fsync, Path.rename

    def noted(handle: int) -> None:
        flush(handle)
        flushed.add(os.fstat(handle).st_ino)

    def watched(self: Path, target: Path) -> Path:
        if Path(target) == tmp_path / "out":
            placed.append({path.name for path in (self, *self.iterdir()) if path.stat().st_ino in flushed})
            assert placed[-1] == {self.name, *NEW}
        return rename(self, target)

    monkeypatch.setattr(os, "fsync", noted)
    monkeypatch.setattr(Path, "rename", watched)
    store(tmp_path / "out", NEW, None, "")
    assert len(placed) == 1


def test_storing_twice_touches_nothing(tmp_path: Path) -> None:
    first = store(tmp_path / "out", NEW, tmp_path / "ledger.yaml", "new")
    times = {path: path.stat().st_mtime_ns for path in (*first.files, tmp_path / "ledger.yaml", tmp_path / "out")}
    again = store(tmp_path / "out", NEW, tmp_path / "ledger.yaml", "new")
    assert first.changed and not again.changed
    assert {path: path.stat().st_mtime_ns for path in times} == times


def test_a_folder_of_other_things_is_left_alone(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "thesis.pdf").write_bytes(b"years of work")
    with pytest.raises(FileExistsError, match=r"thesis\.pdf"):
        store(tmp_path / "out", NEW, None, "")
    assert held(tmp_path / "out") == {"thesis.pdf": b"years of work"}


def test_a_stray_file_beside_an_earlier_run_stops_the_next(tmp_path: Path) -> None:
    store(tmp_path / "out", OLD, None, "")
    (tmp_path / "out" / "notes.docx").write_bytes(b"mine")
    with pytest.raises(FileExistsError, match=r"notes\.docx"):
        store(tmp_path / "out", NEW, None, "")
    assert held(tmp_path / "out") == OLD | {"notes.docx": b"mine"}


FOREIGN = {
    "a list of one's own": b"photograph.pdf,letter.txt\n",
    "our head over another's rows": index("mine").splitlines()[0] + b"\n,,,,,,,,,,,photograph.pdf,,,,,,\n",
    "a row of ours that names another's files": index("mine").replace(b"2027-03-01-a.pdf", b"photograph.pdf"),
    "another encoding": "Fotografie Nr. ½;photograph.pdf\n".encode("utf-16"),
    "nothing": b"",
}


@pytest.mark.parametrize("listing", FOREIGN.values(), ids=FOREIGN)
def test_a_foreign_folder_with_an_index_of_its_own_is_refused(listing: bytes, tmp_path: Path) -> None:
    before = {INDEX: listing, "photograph.pdf": b"the only one", "letter.txt": b"unanswered"}
    (tmp_path / "out").mkdir()
    for name, content in before.items():
        (tmp_path / "out" / name).write_bytes(content)
    with pytest.raises(FileExistsError, match="holds what no series made"):
        store(tmp_path / "out", NEW, None, "")
    assert held(tmp_path / "out") == before


@pytest.mark.parametrize("kind", ["a link", "a folder"])
def test_what_only_goes_by_the_name_of_a_file_of_ours_is_foreign(kind: str, tmp_path: Path) -> None:
    store(tmp_path / "out", OLD, None, "")
    here = tmp_path / "out" / "2027-03-01-a.pdf"
    here.unlink()
    if kind == "a link":
        here.symlink_to(tmp_path / "elsewhere.pdf")
    else:
        here.mkdir()
    with pytest.raises(FileExistsError, match=r"holds what no series made \(2027-03-01-a.pdf\)"):
        store(tmp_path / "out", NEW, None, "")
    assert here.is_symlink() or here.is_dir()


def test_links_to_folder_and_ledger_stay_links(tmp_path: Path) -> None:
    (tmp_path / "far").mkdir()
    (tmp_path / "out").symlink_to("far/columns")
    (tmp_path / "ledger.yaml").symlink_to("far/used.yaml")
    for files, text in ((OLD, "old"), (NEW, "new")):
        store(tmp_path / "out", files, tmp_path / "ledger.yaml", text)
        assert (tmp_path / "out").is_symlink() and (tmp_path / "ledger.yaml").is_symlink()
        assert held(tmp_path / "far" / "columns") == files
        assert (tmp_path / "far" / "used.yaml").read_text() == text
    assert sorted(path.name for path in (tmp_path / "far").iterdir()) == ["columns", "used.yaml"]


def test_a_ledger_within_the_folder_is_refused_and_not_lost(tmp_path: Path) -> None:
    store(tmp_path / "out", OLD, None, "")
    (tmp_path / "link").symlink_to("out")
    for ledger in (tmp_path / "out" / "used.yaml", tmp_path / "link" / "deep" / "used.yaml"):
        with pytest.raises(FileExistsError, match="it holds the ledger"):
            store(tmp_path / "out", NEW, ledger, "new")
    assert held(tmp_path / "out") == OLD
    with pytest.raises(OSError, match="cannot be replaced as a whole"):
        store(Path("/"), NEW, None, "")
