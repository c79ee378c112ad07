"""A paper's own words for the grades, in its columns: as pdfium reads them, and in the plain text."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pypdfium2

from cagework.solver.reasoning.grade import Grade
from cagework.typeset.columns.run import Made
from cagework.typeset.words import load_words

SLOTS = """
  - {slot: single-column, sizes: [4]}
  - {slot: single-column, name: deutsch, sizes: [4], language: de}
  - {slot: single-column, name: eigen, sizes: [4], language: de, grade_words: %s}
  - {slot: single-column, name: bare, sizes: [4], without: [grade]}
"""
OWN = "{stroll: Leicht wie Luft, climb: Mittel, scramble: Schwer, summit: Sehr schwer}"
SERIES = "  grade_words: {stroll: A breeze, climb: A gust, scramble: A gale, summit: A storm}\n"


SAID = {"single-column": "A breeze", "deutsch": load_words("de").grades[Grade.STROLL], "eigen": "Leicht wie Luft"}
"""What a stroll is called, by what files are."""


def test_each_slot_has_the_words_of_its_language(
    own: Callable[..., Path], made: Callable[[Path, Path], Made], tmp_path: Path,
) -> None:
    out = tmp_path / "out"
    made(own(count=1, puzzles=1, slots=SLOTS % OWN, extra=SERIES), out)
    for name, word in SAID.items():
        page = pypdfium2.PdfDocument(out / f"2027-03-01-{name}.pdf")[0].get_textpage().get_text_range()
        told = (out / f"2027-03-01-{name}.txt").read_text(encoding="utf-8")
        assert [one for one in SAID.values() if one in page] == [word], name
        assert [one for one in SAID.values() if one in told] == [word], name
    bare = pypdfium2.PdfDocument(out / "2027-03-01-bare.pdf")[0].get_textpage().get_text_range()
    assert [one for one in SAID.values() if one in bare] == []
