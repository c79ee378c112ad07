"""Content streams cut up by the quick way, against pypdf's own reading of the same bytes."""

from __future__ import annotations

import io
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader
from pypdf.generic import ContentStream, DecodedStreamObject

from cagework.typeset.reader import operations as quick
from cagework.typeset.reader.phrases import PATH, RECTANGLE, TEXT, phrases


def stream(code: bytes) -> DecodedStreamObject:
    made = DecodedStreamObject()
    made.set_data(code)
    return made


def theirs(content: Any) -> list[tuple[list[Any], str]]:
    return [([plain(item) for item in operands], operator.decode("latin-1"))
            for operands, operator in content.operations]


def plain(item: Any) -> Any:
    """A number, a name, the bytes of a string, or a list or mapping of these."""
    if isinstance(item, list):
        return [plain(one) for one in item]
    if isinstance(item, dict):
        return {name: plain(value) for name, value in item.items()}
    if hasattr(item, "original_bytes"):
        return item.original_bytes
    return item if isinstance(item, (str, bytes)) else float(item)


def as_numbers(item: Any) -> Any:
    return float(item) if isinstance(item, bytes) else item


def ours(code: bytes, strings: bool) -> list[tuple[list[Any], str]] | None:
    found = quick._plain(code)
    if found is None:
        return None
    return [([item if strings and name in ("Tj", "'") else as_numbers(item) for item in operands], name)
            for operands, name in found]


def test_every_page_of_the_sample_reads_as_pypdf_reads_it(built: Any) -> None:
    reader = PdfReader(io.BytesIO(built.pdf.read_bytes()))
    for page in reader.pages:
        content = page.get_contents()
        assert content is not None
        found = ours(content.get_data(), strings=True)
        if content.get_data().strip():
            assert found == theirs(content)


def one_by_one(code: bytes) -> tuple[list[tuple[list[Any], str]], int]:
    """The phrases of a stream as the operators they stand for, and how many these are said to be."""
    obeyed, count = phrases(stream(code), None)
    found: list[tuple[list[Any], str]] = []
    for operands, name in obeyed:
        if name == TEXT:
            x, y, parts = operands
            found += [([], "BT"), ([x, y], "Td"), ([list(parts)], "TJ"), ([], "ET")]
        elif name == RECTANGLE:
            ring, painter = operands
            assert ring[0] == ring[4] and {x for x, _ in ring} == {ring[0][0], ring[2][0]}
            (x, y), (right, top) = ring[0], ring[2]
            found += [([x, y, right - x, top - y], "re"), ([], painter)]
        elif name == PATH:
            ring, painter = operands
            found += [([*point], "l" if place else "m") for place, point in enumerate(ring)]
            found += [([], painter)] if painter else []
        else:
            found.append(([item if name == "Tj" else as_numbers(item) for item in operands], name))
    return found, count


def closed(found: list[tuple[list[Any], str]]) -> list[tuple[list[Any], str]]:
    """Operations with each h after m or l as the line it is, back to the last m (ISO 32000-1, table 59)."""
    made: list[tuple[list[Any], str]] = []
    start: list[Any] | None = None
    for operands, name in found:
        if name == "m":
            start = operands
        elif name not in ("l", "h"):
            start = None
        made.append((start, "l") if name == "h" and start else (operands, name))
        start = None if name == "h" or (name == "l" and operands == start) else start
    return made


@given(st.lists(st.sampled_from([
    "1 2 m", "3 4.5 l", "-1 .5 l", "h", "S", "f*", "f", "W", "n", "0 1 8 4 re", "1 2 3 4 5 6 c",
    "BT", "ET", "2 3 Td", "[(a)-5(b\\))]TJ", "[2(a b)]TJ", "[<6162>3]TJ", "(c)Tj", "/F1 8 Tf", "0 g", "q",
]), max_size=20), st.sampled_from([" ", "\n", "\r\n", "\t\0"]))
def test_phrases_are_the_operators_they_stand_for(words: list[str], gap: str) -> None:
    code = gap.join(words).encode()
    plain = quick._plain(code)
    assert plain is not None
    found, count = one_by_one(code)
    assert count == len(plain)
    assert closed(found) == closed(ours(code, strings=True) or [])


@given(st.lists(st.one_of(
    st.floats(-300, 300).map(lambda move: f"{move:.2f}"),
    st.sampled_from(["(a)", "(b c)", "()", "(\\()", "(d\\051)", "( )"]),
), max_size=9))
def test_an_array_comes_out_as_pypdf_reads_it(items: list[str]) -> None:
    """Strings and moves in any order, by turns or not; brackets escaped in each way (ISO 32000-1, 7.3.4.2)."""
    code = f"[{' '.join(items)}]TJ".encode()
    ((operands, _),) = ours(code, strings=True) or ()
    ((wanted, _),) = theirs(ContentStream(stream(code), None))
    assert [list(part) if isinstance(part, list) else part for part in operands] == wanted


NUMBERS = st.sampled_from(["0", "1", "-2.5", "+.75", "12.", "-.5", "007"])
WORDS = st.one_of(
    NUMBERS,
    st.sampled_from(
        ["/F1", "/Im+0", "[1 2]0 d", "[]", "q", "Q", "re", "T*", "m", "/a/b", "l", "f*", "\""]),
)


@given(st.lists(WORDS, max_size=20), st.sampled_from([" ", "\n", "\r\n", "\t"]))
def test_words_in_any_order(words: list[str], gap: str) -> None:
    code = gap.join(words).encode()
    found = ours(code, strings=False)
    assert found is not None
    if code.strip():
        assert found == theirs(ContentStream(stream(code), None))


@given(st.binary(max_size=12), st.booleans())
def test_any_string_comes_out_as_its_bytes(text: bytes, in_hex: bool) -> None:
    """ISO 32000-1, 7.3.4.2 and 7.3.4.3: all but brackets, the backslash and line ends may stand as they are."""
    octal = "".join(f"\\{byte:03o}" if byte in b"()\\\r\n" else chr(byte) for byte in text)
    code = (f"<{text.hex()}> Tj" if in_hex else f"({octal}) Tj").encode("latin-1")
    assert quick._plain(code) == [([text], "Tj")]


@pytest.mark.parametrize("code", [
    b"BI /W 1 ID x EI", b"% a comment\nq", b"((a)) Tj", b"/P <</Lang (de)>> BDC", b"1.2.3 w", b"--5 w", b"[1 2 d",
    b"foo", b"/A#20B gs", b"1e5 w", b"q ] Q", b"(open Tj",
])
def test_what_is_unusual_is_left_to_pypdf(code: bytes) -> None:
    assert quick._plain(code) is None


def test_what_is_left_to_pypdf_comes_back_in_the_same_form() -> None:
    assert quick.operations(stream(b"q % a comment\n1 w Q"), None) == [([], "q"), ([1], "w"), ([], "Q")]
