"""Press files by the command: the standard and the stock the manifest names, and refusals that write nothing."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pikepdf
import pytest

from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit

BOOK = """\
book:
  title: Lamps
  press: {press}
puzzles:
  - id: lamp
    title: Lamp
    size: 4
    map: |
      aabc
      dabc
      deec
      dfff
    sums: {{a: 7, b: 6, c: 6, d: 8, e: 4, f: 9}}
"""


@pytest.fixture
def build(tmp_path: Path) -> Callable[[str], int]:
    """Build a book of one puzzle with these press settings, in YAML."""
    def run(press: str) -> int:
        (tmp_path / "book.yaml").write_text(BOOK.format(press=press), encoding="utf-8")
        return main(["build", str(tmp_path / "book.yaml"), "--out", str(tmp_path / "out"), "--press"])

    return run


def test_x4_is_made_with_the_profile_beside_the_manifest(
    build: Callable[[str], int], icc: Callable[..., bytes], tmp_path: Path, capfd: pytest.CaptureFixture[str],
) -> None:
    (tmp_path / "press.icc").write_bytes(icc())
    assert build("{standard: x4, profile: press.icc, stock: coated}") == Exit.FINE
    file = tmp_path / "out" / "book-press.pdf"
    with pikepdf.open(file) as pdf:
        (intent,) = pdf.Root.OutputIntents
        assert intent.DestOutputProfile.read_bytes() == icc()
        assert pdf.pdf_version == "1.6"
        assert len(pdf.pages) % 4 == 0
        assert pdf.check_pdf_syntax() == []
    said = "book-press.pdf: PDF/X-4 for coated paper, 3 mm of bleed; passes the preflight"
    assert said in capfd.readouterr().out
    assert main(["preflight", str(file), "--trim", "148x210", "--multiple", "4", "--stock", "coated"]) == Exit.FINE
    assert "passes, 0 findings" in capfd.readouterr().out


def test_what_nobody_chose_is_said_to_be_assumed(
    build: Callable[[str], int], tmp_path: Path, capfd: pytest.CaptureFixture[str],
) -> None:
    assert build("{}") == Exit.FINE and "assumed" not in capfd.readouterr().out
    silent = "".join(line for line in BOOK.format(press="{}").splitlines(keepends=True) if "press:" not in line)
    (tmp_path / "book.yaml").write_text(silent, encoding="utf-8")
    assert main(["build", str(tmp_path / "book.yaml"), "--out", str(tmp_path / "out"), "--press"]) == Exit.FINE
    assert "3 mm of bleed (assumed; ask your printer, " in capfd.readouterr().out


@pytest.mark.parametrize(("target", "condition", "named"), [
    (b"FOGRA39", "", "FOGRA39"),                     # the profile's own
    (b"", "", "Custom"),                             # it does not say (PDF Reference 1.7, table 10.51)
    (b"", "FOGRA39", "FOGRA39"),                     # the editor does
])
def test_the_condition_is_the_profiles_own_or_the_editors(
    target: bytes, condition: str, named: str, build: Callable[[str], int], icc: Callable[..., bytes],
    tmp_path: Path,
) -> None:
    """The stock, for which a PDF/X-1a file is made for FOGRA51, says nothing of what a profile is for."""
    (tmp_path / "press.icc").write_bytes(icc(target=target))
    said = f", condition: {condition}" if condition else ""
    assert build(f"{{standard: x4, profile: press.icc, stock: coated{said}}}") == Exit.FINE
    with pikepdf.open(tmp_path / "out" / "book-press.pdf") as pdf:
        (intent,) = pdf.Root.OutputIntents
        assert str(intent.OutputConditionIdentifier) == named
        assert ("/RegistryName" in intent) == (named != "Custom")


def test_a_profile_for_another_stock_is_refused(
    build: Callable[[str], int], icc: Callable[..., bytes], tmp_path: Path, capfd: pytest.CaptureFixture[str],
) -> None:
    (tmp_path / "press.icc").write_bytes(icc(target=b"FOGRA52"))
    assert build("{standard: x4, profile: press.icc, stock: coated}") == Exit.FAULTS
    assert "the file is made for uncoated paper (FOGRA52), not for coated" in capfd.readouterr().err
    assert not (tmp_path / "out").exists()


def test_a_condition_that_is_not_the_profiles_is_refused(
    build: Callable[[str], int], icc: Callable[..., bytes], tmp_path: Path, capfd: pytest.CaptureFixture[str],
) -> None:
    (tmp_path / "press.icc").write_bytes(icc(target=b"FOGRA52"))
    assert build("{standard: x4, profile: press.icc, condition: FOGRA51}") == Exit.FAULTS
    assert "FOGRA52" in capfd.readouterr().err
    assert not (tmp_path / "out").exists()


def test_a_cover_of_another_stock_has_a_profile_of_its_own(
    build: Callable[[str], int], icc: Callable[..., bytes], tmp_path: Path, capfd: pytest.CaptureFixture[str],
) -> None:
    for name in ("FOGRA51", "FOGRA52"):
        (tmp_path / f"{name}.icc").write_bytes(icc(target=name.encode()))
    press = "{standard: x4, profile: FOGRA52.icc, stock: uncoated}\n  cover: {stock: coated, paper: bulky-79"
    assert build(f"{press}}}") == Exit.FAULTS
    assert "the cover is for coated paper, and the book's profile for uncoated" in capfd.readouterr().err
    assert build(f"{press}, profile: FOGRA51.icc}}") == Exit.FINE
    for file, named in (("book-press", "FOGRA52"), ("cover", "FOGRA51")):
        with pikepdf.open(tmp_path / "out" / f"{file}.pdf") as pdf:
            (intent,) = pdf.Root.OutputIntents
            assert str(intent.OutputConditionIdentifier) == named
            assert intent.DestOutputProfile.read_bytes() == icc(target=named.encode())


def test_a_profile_that_is_not_for_printing_is_refused(
    build: Callable[[str], int], icc: Callable[..., bytes], tmp_path: Path, capfd: pytest.CaptureFixture[str],
) -> None:
    (tmp_path / "screen.icc").write_bytes(icc(kind=b"mntr", space=b"RGB "))
    assert build("{standard: x4, profile: screen.icc}") == Exit.FAULTS
    assert "screen.icc: this profile is of class 'mntr', not for printing" in capfd.readouterr().err
    assert not (tmp_path / "out").exists()


def test_what_the_preflight_refuses_is_named_and_the_earlier_book_stays(
    build: Callable[[str], int], tmp_path: Path, capfd: pytest.CaptureFixture[str],
) -> None:
    """An A5 page's lines of 0.35 pt and figures of 6.5 pt, fit for book paper, are too fine for newsprint."""
    assert build("{stock: uncoated}") == Exit.FINE
    before = {path: path.read_bytes() for path in (tmp_path / "out").rglob("*") if path.is_file()}
    capfd.readouterr()
    assert build("{stock: newsprint}") == Exit.FAULTS
    said = capfd.readouterr().err
    assert "of book-press.pdf: lines thinner" in said
    assert "lines thinner than 0.5 pt" in said and "(preflight rule 29, thin_lines)" in said
    assert "type smaller than 7 pt" in said and "(preflight rule 30, small_type)" in said
    assert "nothing was written" in said
    assert {path: path.read_bytes() for path in (tmp_path / "out").rglob("*") if path.is_file()} == before
