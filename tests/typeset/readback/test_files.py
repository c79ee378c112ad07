"""Every file a build makes, read back: nothing is told of it as it was written, in either language; but it is when
it was tampered with.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterable, Mapping
from pathlib import Path
from typing import Any

import pikepdf
import pytest

from cagework.typeset import build as builder
from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit
from cagework.typeset.marks import Mark, Text, flatten
from cagework.typeset.readback import page_range

BOOK = """
book:
  title: Two Lines
  language: {language}
  layout: a5-one-up
  isbn: 978-0-306-40615-7
  press: {{date: 2026-03-01, marks: true, slug: true}}
  cover: {{stock: coated, spine: 12, blurb: Two little puzzles., puzzle: one}}
sections:
  - {{title: Up, solutions: key, puzzles: [one]}}
  - {{title: Down, intro: Mind the gap., puzzles: [two]}}
puzzles:
  - {{id: one, title: One, size: 4, map: "aabc\\ndebc\\ndebc\\ndeff\\n",
      sums: {{a: 5, b: 7, c: 9, d: 8, e: 7, f: 4}},
      givens: {{r2c1: 1}}}}
  - {{id: two, title: Two, size: 4, map: "aabc\\ndabc\\ndeec\\ndfff\\n",
      sums: {{a: 7, b: 6, c: 6, d: 8, e: 4, f: 9}}}}
"""

FILES = ("book.pdf", "book-press.pdf", "cover.pdf", "booklet.pdf")


def built(folder: Path, language: str) -> Mapping[str, bytes]:
    """A book of two sections with a cover, for a screen, for a press and as a booklet."""
    (folder / "book.yaml").write_text(BOOK.format(language=language), encoding="utf-8")
    out = folder / "out"
    assert main(["build", str(folder / "book.yaml"), "--press", "--booklet", "--out", str(out)]) == Exit.FINE
    return {name: (out / name).read_bytes() for name in FILES}


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where the English book is."""
    return tmp_path_factory.mktemp("files")


@pytest.fixture(scope="module")
def files(folder: Path) -> Mapping[str, bytes]:
    """The files of the English book."""
    return built(folder, "en")


def test_every_file_is_proved_in_either_language(files: Mapping[str, bytes], tmp_path: Path) -> None:
    """A build that says so has read them all back."""
    assert all(files.values())
    assert all(built(tmp_path, "de").values())


def test_turned_words_are_followed_as_they_were_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The cover, whose spine has them, does not take the long way, for files that other programs wrote anew."""
    def settle(marks: Iterable[Mark], *more: Any) -> Any:
        assert not any(isinstance(mark, Text) and mark.angle for mark in flatten(marks))
        return long_way(marks, *more)

    long_way = page_range.settle
    monkeypatch.setattr(page_range, "settle", settle)
    assert all(built(tmp_path, "en").values())


def _spoil(data: bytes, change: Callable[[Any], None]) -> bytes:
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(data)) as pdf:
        change(pdf)
        pdf.save(out, object_stream_mode=pikepdf.ObjectStreamMode.disable)
    return out.getvalue()


def _line(pdf: Any) -> None:
    pdf.pages[0].contents_add(b"q 0 G 1 w 100 100 m 200 110 l S Q")


def _slug(pdf: Any) -> None:
    page = pdf.pages[4]
    page.contents_coalesce()
    content = page.Contents.read_bytes()
    last = content.rindex(b"BT")
    assert b"2026" in content[last:]
    page.Contents = pdf.make_stream(content[:last] + content[last:].replace(b"2026", b"2027"))


def _sheet(pdf: Any) -> None:
    box = [float(edge) for edge in pdf.pages[0].MediaBox]
    pdf.pages[0].MediaBox = [box[0] - 10, box[1], box[2], box[3]]


def _bleed(pdf: Any) -> None:
    box = [float(edge) for edge in pdf.pages[0].TrimBox]
    pdf.pages[0].BleedBox = box


def _white(pdf: Any) -> None:
    pdf.pages[0].contents_add(b"q 1 g 300 150 60 40 re f Q")


def _form(pdf: Any) -> None:
    """A page of a booklet's side 2 mm to the right."""
    page = pdf.pages[1]
    page.contents_coalesce()
    content = re.sub(rb"1 0 0 1 ([\d.]+)", lambda found: b"1 0 0 1 %.3f" % (float(found[1]) + 5.7),
                     page.Contents.read_bytes(), count=1)
    page.Contents = pdf.make_stream(content)


def _swap(pdf: Any) -> None:
    """The two pages of a side exchanged."""
    forms = pdf.pages[1].Resources.XObject
    forms["/P0"], forms["/P1"] = forms["/P1"], forms["/P0"]


def _title(pdf: Any) -> None:
    pdf.docinfo["/Title"] = "Another"


def _date(pdf: Any) -> None:
    pdf.docinfo["/ModDate"] = "D:20270101000000+00'00'"


PAINTED = "is painted where nothing should"
TITLE = "its title is 'Another'"


@pytest.mark.parametrize("spoils", [
    {"book-press.pdf": (_line, PAINTED), "cover.pdf": (_white, f"white, {PAINTED}"),
     "booklet.pdf": (_form, "should stand"), "book.pdf": (_date, "its ModDate is")},
    {"book-press.pdf": (_slug, "should stand"), "cover.pdf": (_line, PAINTED), "booklet.pdf": (_title, TITLE)},
    {"book-press.pdf": (_sheet, "its MediaBox is"), "cover.pdf": (_title, TITLE),
     "booklet.pdf": (_line, PAINTED)},
    {"book-press.pdf": (_bleed, "its BleedBox is"), "booklet.pdf": (_swap, "should stand")},
    {"book-press.pdf": (_date, "its ModDate is"), "cover.pdf": (_bleed, "its BleedBox is")},
], ids=lambda spoils: ", ".join(change.__name__ for change, _ in spoils.values()))
def test_a_build_whose_files_are_not_as_they_must_be_writes_nothing(
    spoils: Mapping[str, tuple[Callable[[Any], None], str]], files: Mapping[str, bytes], folder: Path,
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str],
) -> None:
    """The files put among the others as if they had been drawn so; of each is said what is wrong with it."""
    replace_all = builder.replace_all

    def spoiling(out: Path, made: Any, *others: Any) -> Any:
        return replace_all(out, {file: _spoil(data, spoils[str(file)][0]) if str(file) in spoils else data
                                 for file, data in made.items()}, *others)

    monkeypatch.setattr(builder, "replace_all", spoiling)
    told = ["build", str(folder / "book.yaml"), "--press", "--booklet", "--out", str(tmp_path / "out")]
    assert main(told) == Exit.FAULTS
    heard = capfd.readouterr().err
    for name in FILES:
        told = [line for line in heard.splitlines() if line.startswith(f"{name}: ")]
        assert any(spoils[name][1] in line for line in told) if name in spoils else not told, (name, heard)
    assert heard.count("cagework drew the file wrong") == len(spoils)
    assert [path for path in (tmp_path / "out").rglob("*") if path.is_file()] == []


PARTS = {"book-press.pdf": "the book", "cover.pdf": "its cover", "booklet.pdf": "its booklet"}


@pytest.mark.parametrize("name", PARTS)
def test_a_file_that_came_back_is_known_for_what_it_is(
    name: str, files: Mapping[str, bytes], folder: Path, tmp_path: Path, capfd: pytest.CaptureFixture[str],
) -> None:
    """As it was written, and saved anew by another program (pikepdf, on qpdf)."""
    for data in (files[name], _spoil(files[name], lambda _: None)):
        (tmp_path / "back.pdf").write_bytes(data)
        main(["preflight", str(tmp_path / "back.pdf"), "--against", str(folder / "book.yaml")])
        assert f"held against {folder / 'book.yaml'}: it is {PARTS[name]}\n" in capfd.readouterr().out


@pytest.mark.parametrize(("name", "change", "said"), [
    ("cover.pdf", _line, "is painted where nothing should"), ("cover.pdf", _title, "its title is 'Another'"),
    ("booklet.pdf", _form, "should stand"), ("booklet.pdf", _swap, "should stand"),
])
def test_a_cover_or_booklet_that_came_back_spoiled_is_not_it(
    name: str, change: Callable[[Any], None], said: str, files: Mapping[str, bytes], folder: Path, tmp_path: Path,
    capfd: pytest.CaptureFixture[str],
) -> None:
    (tmp_path / "back.pdf").write_bytes(_spoil(files[name], change))
    assert main(["preflight", str(tmp_path / "back.pdf"), "--for", "screen", "--against",
                 str(folder / "book.yaml")]) == Exit.FAULTS
    assert said in capfd.readouterr().out


def test_a_tab_of_another_tint(files: Mapping[str, bytes], folder: Path, tmp_path: Path,
                               capfd: pytest.CaptureFixture[str]) -> None:
    """In a file that came back; the layout's tabs are 30 % dark."""
    def lighten(pdf: Any) -> None:
        for page in pdf.pages:
            page.contents_coalesce()
            content = page.Contents.read_bytes()
            if b"\n.7 g" in content:
                page.Contents = pdf.make_stream(content.replace(b"\n.7 g", b"\n.8 g", 1))

    (tmp_path / "back.pdf").write_bytes(_spoil(files["book.pdf"], lighten))
    assert main(["preflight", str(tmp_path / "back.pdf"), "--for", "screen", "--against",
                 str(folder / "book.yaml")]) == Exit.FAULTS
    assert "(tab), is 20 % dark; it should be 30 % dark" in capfd.readouterr().out


@pytest.mark.parametrize("name", FILES)
def test_a_file_that_came_back_from_ghostscript_is_the_book(
    name: str, files: Mapping[str, bytes], folder: Path, tmp_path: Path, tool: Any,
    capfd: pytest.CaptureFixture[str],
) -> None:
    """And what could not be compared is said."""
    (tmp_path / "in.pdf").write_bytes(files[name])
    done = tool("gs", "-q", "-dNOPAUSE", "-dBATCH", "-sDEVICE=pdfwrite", "-o", tmp_path / "out.pdf",
                tmp_path / "in.pdf")
    assert done.returncode == 0, done.stderr
    main(["preflight", str(tmp_path / "out.pdf"), "--against", str(folder / "book.yaml"), "--json"])
    said = capfd.readouterr().out
    assert '"differences": []' in said
    assert '"not_compared": ["' in said
    main(["preflight", str(tmp_path / "out.pdf"), "--against", str(folder / "book.yaml")])
    assert "out.pdf: not compared: " in capfd.readouterr().out


def test_a_file_with_tabs_written_anew_by_cairo_is_the_book(
    files: Mapping[str, bytes], folder: Path, tmp_path: Path, tool: Any, capfd: pytest.CaptureFixture[str],
) -> None:
    """Its clip takes off what reaches past the page, where nobody could see it."""
    (tmp_path / "in.pdf").write_bytes(files["book.pdf"])
    done = tool("pdftocairo", "-pdf", tmp_path / "in.pdf", tmp_path / "out.pdf")
    assert done.returncode == 0, done.stderr
    main(["preflight", str(tmp_path / "out.pdf"), "--against", str(folder / "book.yaml"), "--json"])
    assert '"differences": []' in capfd.readouterr().out
