"""How a fault is shown."""

from __future__ import annotations

from pathlib import Path

import pytest

from cagework.typeset.entry import Place
from cagework.typeset.faults import Fault, Severity, in_order, listed, nearest, render
from cagework.typeset.manifest.document import read_document

FILE = Path("book.yaml")


def _lines(source: str, column: int, span: int = 1) -> list[str]:
    return render(Fault(Place(FILE, 3, column, source), "wrong", "mend it", span=span)).split("\n")


def test_the_parts_of_a_fault() -> None:
    assert _lines("title: x", 8) == ["book.yaml:3:8: wrong", "title: x", "       ^", "hint: mend it"]
    assert render(Fault(Place(FILE, 3, 1), "wrong")) == "book.yaml:3:1: wrong"
    assert render(Fault(FILE, "is empty")) == "book.yaml: is empty"
    assert render(Fault(FILE, "odd", severity=Severity.WARNING)) == "book.yaml: warning: odd"


@pytest.mark.parametrize(("source", "column", "span", "caret"), [
    ("\ta:\tx", 5, 1, "\t  \t^"),             # a tab stands under a tab
    ("漢字: x", 5, 1, "      ^"),             # wide characters take two columns (UAX 11)
    ("漢字: x", 1, 2, "^^^^"),
    ("e\u0301: x", 5, 1, "   ^"),             # a combining accent takes none
    ("abc", 4, 1, "   ^"),                    # just past the end
])
def test_the_caret_stands_under_the_fault(source: str, column: int, span: int, caret: str) -> None:
    assert _lines(source, column, span)[2] == caret


def test_a_long_line_is_cut_around_the_fault() -> None:
    source = "a" * 500 + "X" + "b" * 500
    _, shown, caret, _ = _lines(source, 501)
    assert len(shown) < 120
    assert shown[caret.index("^")] == "X"
    assert shown.startswith("… a") and shown.endswith("b …")


def test_control_characters_do_not_reach_the_terminal() -> None:
    assert "\x1b" not in "".join(_lines("title: \x1b[31m", 8))


def test_a_fault_found_later_shows_its_line_too(tmp_path: Path) -> None:
    path = tmp_path / "x.yaml"
    path.write_bytes(b"\xef\xbb\xbfone: 1\r\nnext: [a, bc]\r\n")
    writing = read_document(path).writing(("next", 1))
    assert render(Fault(writing.place("c"), "odd")) == f"{path}:2:12: odd\nnext: [a, bc]\n{' ' * 11}^"
    assert writing.place("x") == writing.place() == Place(path, 2, 11)


def test_faults_on_one_line_hold_its_text_once(tmp_path: Path) -> None:
    path = tmp_path / "x.yaml"
    path.write_text("long: [" + "x, " * 5000 + "]\n", encoding="utf-8")
    document = read_document(path)
    sources = {id(document.fault(document.spot(("long", index)), "odd").source) for index in range(5000)}
    assert len(sources) == 1


def test_faults_are_sorted_and_said_once() -> None:
    late, early = Fault(Place(FILE, 9, 1), "late"), Fault(Place(FILE, 2, 5), "early")
    other = Fault(Path("a.yaml"), "other file")
    assert in_order([late, early, late, other]) == (other, early, late)


def test_nearest_ignores_case_and_gives_up_on_strangers() -> None:
    assert nearest("Titel", ["title", "by"]) == "title"
    assert nearest("xyzzy", ["title", "by"]) is None
    assert nearest("t" * 1000, ["title"]) is None
    assert listed(["a"]) == "a" and listed(["a", "b", "c"]) == "a, b or c"
