"""Whatever one letter is changed to, wherever it is moved: it is always caught."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import Any

import pikepdf
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from pikepdf import Operator, String

QUIET = settings(max_examples=12)
LETTERS = "0123456789ABCDEFGIlOSabc"


@dataclass(frozen=True)
class Blow:
    """One letter struck. The numbers choose from whatever there is: a page or grid, a string, a letter in it, and
    what becomes of it. A string is moved along or down by `far`, from a third of its size up.
    """

    where: int
    string: int
    letter: int
    how: str
    put: int
    far: float
    ways: int

    def strike(self, page: Any, strings: list[int]) -> None:
        """Strike a letter of one of some strings, which are given by the numbers of their operations."""
        index = strings[self.string % len(strings)]
        said = page.said(index)
        letters = [at for at, char in enumerate(said) if not char.isspace()]
        at = letters[self.letter % len(letters)]
        if self.how == "moved":
            size = next(float(one[0][1]) for one in reversed(page.code[:index]) if str(one[1]) == "Tf")
            by = (size / 3 + self.far) * (1 if self.ways & 1 else -1)
            page.move(index, *((by, 0.0) if self.ways & 2 else (0.0, by)))
            return
        others = [char for char in LETTERS if char != said[at]]
        put = others[self.put % len(others)] if self.how == "changed" else ""
        page.code[index] = ([String(said[:at] + put + said[at + 1:])], Operator("Tj"))


MANY = st.integers(0, 10_000)
BLOWS = st.builds(Blow, MANY, MANY, MANY, st.sampled_from(["changed", "lost", "moved"]), MANY, st.floats(0, 200),
                  st.integers(0, 3))


@QUIET
@given(blow=BLOWS)
def test_one_letter_in_a_grid(blow: Blow, little: Any, spoiled: Any) -> None:
    places = little.places()
    place = places[blow.where % len(places)]

    def strike(page: Any) -> None:
        strings = [index for index, x, y in page.texts() if place.holds(x, y)]
        assume(strings)     # the picture of a rule may have none
        blow.strike(page, strings)

    told = little.told(spoiled(place.page, strike))
    assert any(f"page {place.page}, {place.name}" in line for line in told)


@QUIET
@given(blow=BLOWS)
def test_one_letter_anywhere(blow: Blow, little: Any, spoiled: Any) -> None:
    pages = [number for number, page in enumerate(little.original.laid.pages, 1) if page.marks]
    number = pages[blow.where % len(pages)]

    def strike(page: Any) -> None:
        blow.strike(page, [index for index, _, _ in page.texts()])

    assert any(f"page {number}, " in line for line in little.told(spoiled(number, strike)))


@QUIET
@given(where=MANY, run=MANY, letter=MANY, put=MANY)
def test_one_letter_of_a_run_as_it_stands(where: int, run: int, letter: int, put: int, little: Any) -> None:
    """The file's own arrays, with what follows a letter moving as its width does."""
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(little.data)) as pdf:
        number = where % len(pdf.pages)
        page = pdf.pages[number]
        code = list(pikepdf.parse_content_stream(page))
        runs = [at for at, (_, operator) in enumerate(code) if str(operator) == "TJ"]
        assume(runs)
        at = runs[run % len(runs)]
        parts = list(code[at][0][0])
        letters = [(part, place) for part, said in enumerate(parts) if isinstance(said, String)
                   for place, code_of in enumerate(bytes(said)) if chr(code_of).isalnum() and code_of < 128]
        assume(letters)
        part, place = letters[letter % len(letters)]
        said = bytes(parts[part]).decode("latin-1")
        others = [char for char in LETTERS if char != said[place]]
        parts[part] = String(said[:place] + others[put % len(others)] + said[place + 1:])
        code[at] = ([pikepdf.Array(parts)], code[at][1])
        page.Contents = pdf.make_stream(pikepdf.unparse_content_stream(code))
        pdf.save(out, object_stream_mode=pikepdf.ObjectStreamMode.disable)
    assert any(f"page {number + 1}, " in line for line in little.told(out.getvalue()))
