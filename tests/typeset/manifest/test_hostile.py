"""Input that is damaged, silly or meant to harm: a clear fault, no crash and no hang."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from cagework.typeset.faults import UnreadableManifest, render
from cagework.typeset.manifest import document
from cagework.typeset.manifest.load import load_book

HERE = Path(__file__).parent
SAMPLE = (HERE / "faults" / "eight-faults.yaml").read_text(encoding="utf-8")
SOURCES = (SAMPLE, *(
    (HERE / "good" / f"{name}.yaml").read_text(encoding="utf-8")
    for name in ("every-key", "odd-letters", "anchors-and-merges", "regions")))

BOMB = "a: &a [x, x, x, x, x, x, x, x, x]\n" + "".join(
    f"{new}: &{new} [{', '.join([f'*{old}'] * 9)}]\n" for old, new in zip("abcdefgh", "bcdefghi", strict=True))
"""Nine levels of nine aliases: 9 ** 9 values when written out."""


@pytest.mark.parametrize("loader", [yaml.SafeLoader, yaml.CSafeLoader])
@pytest.mark.parametrize(("text", "message"), [
    (BOMB, "holds more than 200,000 values once aliases are written out"),
    ("book: " + "[" * 10_000, "lists and keys nest too deeply"),
    ("book: " + "{a: " * 10_000, "lists and keys nest too deeply"),
    ("- " * 10_000 + "a", "lists and keys nest too deeply"),
    ("book: \x07", "a control character (U+0007) has no place in YAML"),
    ("book: \ufffe", "a control character (U+FFFE) has no place in YAML"),
    ("book: &a {b: *a}", "*a stands for nothing above it"),
])
def test_harmful_yaml_is_a_fault(
    text: str, message: str, loader: object, tmp_path: Path, monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(document, "_LOADER", loader)
    path = tmp_path / "x.yaml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(UnreadableManifest) as raised:
        load_book(path)
    assert raised.value.fault.message == message
    assert max(map(len, render(raised.value.fault).splitlines())) < 250


def test_a_huge_file_is_not_read(tmp_path: Path, told: Callable[..., str]) -> None:
    path = tmp_path / "x.yaml"
    path.write_bytes(b"#" * (document.MAX_BYTES + 1))
    assert told(path, puzzles_suffice=False).startswith("UNREADABLE\nx.yaml: is larger than 2 MB\n")


@pytest.mark.parametrize(("codec", "column"), [("utf-16", 1), ("utf-32", 1), ("latin-1", 18)])
def test_other_encodings_are_named(codec: str, column: int, tmp_path: Path, told: Callable[..., str]) -> None:
    path = tmp_path / "x.yaml"
    path.write_bytes("book: {title: Café}\n".encode(codec))
    assert f"x.yaml:1:{column}: this is not UTF-8 text" in told(path, puzzles_suffice=False)


@pytest.mark.parametrize("alter", [
    lambda text: "\ufeff" + text,
    lambda text: text.replace("\n", "\r\n"),
    lambda text: text.replace("\n", "\r"),
    lambda text: text.rstrip("\n"),
], ids=["byte order mark", "CRLF", "CR", "no last newline"])
def test_faults_keep_their_places_in_files_from_other_systems(
    alter: Callable[[str], str], tmp_path: Path, told: Callable[..., str],
) -> None:
    path = tmp_path / "eight-faults.yaml"
    path.write_bytes(alter(SAMPLE).encode())
    assert told(path, puzzles_suffice=False) == (HERE / "faults" / "eight-faults.txt").read_text(encoding="utf-8")


def test_silly_numbers_are_faults_like_any_other(tmp_path: Path) -> None:
    text = (HERE / "faults" / "sum-out-of-reach.yaml").read_text(encoding="utf-8")
    path = tmp_path / "x.yaml"
    for number in ("9" * 10_000, "-5", "0", "1e400", ".5", "17.0", "true"):
        path.write_text(text.replace("a: 2,", f"a: {number},"), encoding="utf-8")
        (fault,) = load_book(path).faults
        assert fault.line == 12 and fault.column == 15


def test_a_long_wrong_word_is_quoted_short(tmp_path: Path) -> None:
    path = tmp_path / "x.yaml"
    path.write_text(f"book: {{title: T}}\n{'x' * 500}: 1\npuzzles: [{'y' * 500}]\n", encoding="utf-8")
    for fault in load_book(path).faults:
        assert len(fault.message) < 120


@pytest.mark.parametrize(("key", "most", "message"), [
    ("title", 200, "is 201 characters long; a title or name may have 200"),
    ("introduction", 100_000, "is 100,001 characters long; a text may have 100,000"),
])
def test_a_text_may_be_as_long_as_the_message_says_and_no_longer(
    key: str, most: int, message: str, told: Callable[..., str], tmp_path: Path,
) -> None:
    """The blanks around it, which are not printed, do not count."""
    path = tmp_path / "x.yaml"
    good = (HERE / "good" / "text-that-looks-otherwise.yaml").read_text(encoding="utf-8")
    puzzles = good[good.index("\npuzzles:"):]
    for length in (most, most + 1):
        written = {"title": "Tide", key: f" {'y' * length} "}
        path.write_text(yaml.safe_dump({"book": written}, width=10 ** 6) + puzzles, encoding="utf-8")
        said = told(path, puzzles_suffice=False)
        assert ("characters long" in said) is (length > most)
    assert f"x.yaml:2:{len(key) + 5}: '{key}' {message}\n" in said


TELLING = "\n\t :-#&*!|>'\"%@`{}[],?.~<=0r9abAB\u00e9\u0301\u6f22\u2028\x85\x00"
CHARS = st.sampled_from(TELLING) | st.characters(codec="utf-8")


@st.composite
def mutants(draw: st.DrawFn) -> str:
    """A manifest with a few characters or lines deleted, doubled, swapped or put in."""
    text = draw(st.sampled_from(SOURCES))
    for _ in range(draw(st.integers(1, 4))):
        lines = text.split("\n")
        kind = draw(st.integers(0, 5))
        row = draw(st.integers(0, len(lines) - 1))
        at = draw(st.integers(0, len(text) - 1)) if text else 0
        if kind == 0:
            text = text[:at] + text[at + 1:]
        elif kind == 1:
            text = text[:at] + draw(CHARS) + text[at:]
        elif kind == 2:
            text = text[:at] + draw(CHARS) + text[at + 1:]
        elif kind == 3:
            text = "\n".join(lines[:row] + lines[row + 1:])
        elif kind == 4:
            text = "\n".join([*lines[:row], lines[row], *lines[row:]])
        else:
            other = draw(st.integers(0, len(lines) - 1))
            lines[row], lines[other] = lines[other], lines[row]
            text = "\n".join(lines)
    return text


@settings(max_examples=600)
@given(text=mutants(), suffice=st.booleans())
def test_mutants_never_crash_and_faults_lie_inside_the_file(text: str, suffice: bool, tmp_path: Path) -> None:
    path = tmp_path / "x.yaml"
    path.write_bytes(text.encode())
    try:
        reading = load_book(path, puzzles_suffice=suffice)
    except UnreadableManifest as error:
        faults: tuple[object, ...] = (error.fault,)
    else:
        faults = reading.faults
        assert (reading.book is not None) <= (not reading.failed)
        assert {fault for one in reading.puzzles for fault in one.faults} <= set(faults)
    lines = text.replace("\r\n", "\n").replace("\r", "\n").removeprefix("\ufeff").split("\n")
    for fault in faults:
        assert fault.message and "Input should" not in fault.message and "[type=" not in fault.message
        if fault.line and fault.file == path:
            assert fault.source == lines[fault.line - 1]
            assert 1 <= fault.column <= len(fault.source) + 1
            assert fault.column - 1 + fault.span <= max(len(fault.source), fault.column)
        render(fault)
