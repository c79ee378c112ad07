"""The ledger: no puzzle twice in print, and a run that knows its own."""

from __future__ import annotations

import datetime as dt
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
import yaml

from cagework.solver.model import BLACK, Answer, grid_cells
from cagework.typeset.choices import Kind
from cagework.typeset.columns.issue import Earlier
from cagework.typeset.columns.ledger import Ledger, Use, ledger_text, read_ledger
from cagework.typeset.columns.load import load_series
from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit
from cagework.typeset.faults import NotBuilt

LEDGER = "  ledger: used.yaml\n"


def printed(path: Path) -> list[dict[str, Any]]:
    return list(yaml.safe_load(path.read_text())["used"])


def test_series_after_series_prints_no_puzzle_twice(
    own: Callable[..., Path], made: Callable[..., Any], tmp_path: Path,
) -> None:
    for number, start in enumerate(("2027-03-01", "2027-03-08", "2027-03-15")):
        made(own(extra=LEDGER, start=start, name=f"week{number}"), tmp_path / f"out{number}")
    used = printed(tmp_path / "used.yaml")
    assert [one["puzzle"] for one in used] == [f"p{number:02}" for number in range(9)]
    assert len({one["key"] for one in used}) == 9
    with pytest.raises(NotBuilt) as caught:
        made(own(count=4, extra=LEDGER, start="2027-03-22", name="last"), tmp_path / "out9")
    assert [fault.message for fault in caught.value.faults] == [
        "Monday 2027-03-29 goes wanting: the pool (9 puzzles of it printed before) has no stroll of 4 by 4 left"]
    assert printed(tmp_path / "used.yaml") == used and not (tmp_path / "out9").exists()


def test_running_twice_changes_nothing(own: Callable[..., Path], made: Callable[..., Any], tmp_path: Path) -> None:
    manifest = own(extra=LEDGER)
    made(manifest, tmp_path / "out")
    files = [*(tmp_path / "out").iterdir(), tmp_path / "used.yaml"]
    before = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in files}
    assert not made(manifest, tmp_path / "out").stored.changed
    assert {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in files} == before


def test_two_runs_at_once_do_not_print_from_one_ledger(
    own: Callable[..., Path], made: Callable[..., Any], tmp_path: Path,
) -> None:
    """Another process has the ledger, then the folder; once that was killed, the run goes through."""
    manifest = own(extra=LEDGER)
    for taken in (tmp_path / "used.yaml", tmp_path / "out"):
        code = ("import sys; from pathlib import Path; from cagework.typeset.host.locks import alone_at\n"
                "with alone_at(Path(sys.argv[1])): print('mine', flush=True); sys.stdin.read()")
        command = [sys.executable, "-c", code, str(taken)]
        with subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True) as other:
            assert other.stdout is not None and other.stdout.readline() == "mine\n"
            with pytest.raises(NotBuilt) as caught:
                made(manifest, tmp_path / "out")
            other.kill()
        (fault,) = caught.value.faults
        assert fault.file == taken and "another run" in fault.message
        assert not (tmp_path / "out").exists() and not (tmp_path / "used.yaml").exists()
    made(manifest, tmp_path / "out")
    assert len(printed(tmp_path / "used.yaml")) == 3


def test_two_runs_elsewhere_write_the_same_bytes(
    own: Callable[..., Path], made: Callable[..., Any], tmp_path: Path,
) -> None:
    manifest = own(slots="[{slot: single-column, sizes: [4]}, {slot: two-column, sizes: [4], language: de}]")
    made(manifest, tmp_path / "one")
    made(manifest, tmp_path / "two")
    one, two = ({path.name: path.read_bytes() for path in (tmp_path / name).iterdir()} for name in ("one", "two"))
    assert one == two


def test_the_first_date_prints_the_answer_the_ledger_holds(
    own: Callable[..., Path], made: Callable[..., Any], tmp_path: Path,
) -> None:
    first = made(own(extra=LEDGER, name="first"), tmp_path / "out1")
    assert [note for note in first.notes if "no answer" in note] == [
        "2027-03-01-single-column: no answer is printed, as no puzzle of the date before is known"]
    assert made(own(extra=LEDGER, start="2027-03-04", name="second"), tmp_path / "out2").notes == ()
    ledger = read_ledger(tmp_path / "used.yaml")
    assert [str(use.earlier.answer) for use in ledger.uses[:3]] == [one["answer"] for one in printed(
        tmp_path / "used.yaml")[:3]]


@pytest.mark.parametrize("kind", Kind)
def test_the_largest_grids_of_a_slot_are_read_as_they_are_written(kind: Kind, tmp_path: Path) -> None:
    """16 by 16; rows are regions, each a step on from the one above. Of crossing sums a corner is black."""
    size, caged = 16, kind is Kind.CAGES
    digits = [(cell.row + cell.col) % (size if caged else 9) + 1 for cell in grid_cells(size)]
    rows = tuple(grid_cells(size)[start:start + size] for start in range(0, size**2, size)) if caged else ()
    answer = Answer(size, (digits[0] if caged else BLACK, *digits[1:]))
    use = Use("s", 1, 1, "p", "0" * 64, Earlier(dt.date(2027, 3, 1), 1, "", answer, rows, kind))
    file = tmp_path / "used.yaml"
    file.write_text(ledger_text(Ledger((), None), "s", [use]), encoding="utf-8")
    ledger = read_ledger(file)
    assert (ledger.uses, ledger.faults) == ((use,), ())


def test_the_twin_of_a_printed_puzzle_is_not_printed(
    own: Callable[..., Path], made: Callable[..., Any], tmp_path: Path,
) -> None:
    """The next series' pool holds the first puzzle upside down: rows and letters of the map in reverse."""
    made(own(count=1, puzzles=1, extra=LEDGER, name="first"), tmp_path / "out1")
    path = tmp_path / "pool" / "p00.yaml"
    head, rest = path.read_text().split("map: |\n")
    rows, sums = rest.split("\nsums")
    turned = "".join(reversed(rows.replace(" ", ""))).split("\n")
    path.write_text(head.replace("p00", "other") + "map: |\n  " + "\n  ".join(turned) + "\nsums" + sums)
    second = tmp_path / "second.yaml"
    second.write_text((tmp_path / "first.yaml").read_text().replace("id: first", "id: second"))
    with pytest.raises(NotBuilt, match="Monday 2027-03-01 goes wanting") as caught:
        made(second, tmp_path / "out2")
    assert len(caught.value.faults) == 1


@pytest.mark.parametrize(("text", "line", "said"), [
    ("used:\n  - {date: soon}\n", 2, "date"),
    ("used:\n  - 7\n", 2, "must be keys with values"),
    ("spent: []\n", 1, "used"),
])
def test_a_broken_ledger_is_located_and_left_as_it_is(
    text: str, line: int, said: str, own: Callable[..., Path], made: Callable[..., Any], tmp_path: Path,
) -> None:
    (tmp_path / "used.yaml").write_text(text)
    with pytest.raises(NotBuilt) as caught:
        made(own(extra=LEDGER), tmp_path / "out")
    fault = caught.value.faults[0]
    assert (fault.file.name, fault.line) == ("used.yaml", line)
    assert any(said in one.message for one in caught.value.faults)
    assert (tmp_path / "used.yaml").read_text() == text and not (tmp_path / "out").exists()


def test_an_answer_of_the_wrong_length_is_a_fault_of_its_line(
    own: Callable[..., Path], made: Callable[..., Any], tmp_path: Path,
) -> None:
    made(own(extra=LEDGER, name="first"), tmp_path / "out1")
    path = tmp_path / "used.yaml"
    lines = path.read_text().split("\n")
    number = next(index for index, line in enumerate(lines) if "answer: " in line)
    lines[number] = lines[number].replace('answer: "', 'answer: "1')
    path.write_text("\n".join(lines))
    with pytest.raises(NotBuilt) as caught:
        made(own(extra=LEDGER, name="second", start="2027-03-08"), tmp_path / "out2")
    assert [(fault.file.name, fault.line) for fault in caught.value.faults] == [("used.yaml", number + 1)]


@pytest.mark.parametrize("name", ["used\\0.yaml", "/", "."])
def test_a_ledger_with_a_name_no_file_can_have_is_a_fault_of_its_line(name: str, own: Callable[..., Path]) -> None:
    manifest = own(extra=f'  ledger: "{name}"\n')
    (fault,) = load_series(manifest).faults
    assert "no file can be called" in fault.message
    assert manifest.read_text().splitlines()[fault.line - 1].startswith("  ledger:")


@pytest.mark.parametrize(("out", "says"), [
    ("/", "cannot be replaced as a whole"), ("shelf", "it holds the ledger"),
    ("mine", "it holds what no series made (index.csv, photograph.pdf)")])
def test_a_folder_that_is_not_for_columns_is_refused_in_plain_words(
    out: str, says: str, own: Callable[..., Path], tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "index.csv").write_bytes("Fotografie Nr. ½;photograph.pdf\n".encode("utf-16"))
    (tmp_path / "mine" / "photograph.pdf").write_bytes(b"the only one")
    (tmp_path / "shelf").mkdir()
    (tmp_path / "shelf" / "used.yaml").write_text("used: []\n")
    before = {path: path.read_bytes() for path in tmp_path.rglob("*") if path.is_file()}
    manifest = own(extra="  ledger: shelf/used.yaml\n")
    assert main(["columns", str(manifest), "--out", str(tmp_path / out)]) == Exit.NOT_WRITTEN
    assert says in capsys.readouterr().err
    assert {path: path.read_bytes() for path in before} == before


def test_untitled_puzzles_make_columns_and_are_known_again(
    own: Callable[..., Path], made: Callable[[Path, Path], Any], tmp_path: Path,
) -> None:
    """No line for a title that is not there; and the ledger that names them is read the next time."""
    for name, start in (("first", "2027-03-01"), ("second", "2027-03-08")):
        manifest = own(name=name, start=start, extra="  ledger: printed.yaml\n")
        for file in (tmp_path / "pool").glob("*.yaml"):
            lines = file.read_text(encoding="utf-8").splitlines(keepends=True)
            file.write_text("".join(line for line in lines if not line.startswith("title:")), encoding="utf-8")
        made(manifest, tmp_path / name)
        texts = [file.read_text(encoding="utf-8") for file in (tmp_path / name).glob("2027*.txt")]
        assert len(texts) == 3 and not any("Title" in text or "None" in text for text in texts)
    used = yaml.safe_load((tmp_path / "printed.yaml").read_text(encoding="utf-8"))["used"]
    assert len({one["puzzle"] for one in used}) == 6
