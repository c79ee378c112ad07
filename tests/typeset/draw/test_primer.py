"""How to solve: of regions only where a book has them, in both languages."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from cagework.solver.model import Answer, Puzzle
from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit
from cagework.typeset.draw.primer import crossing_example, digits_named, example, primer_pieces
from cagework.typeset.draw.setting import Setting
from cagework.typeset.draw.techniques import technique_pieces
from cagework.typeset.examples import worked_example
from cagework.typeset.manifest.load import load_book
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.words import load_words

PUZZLE = """\
  - id: lamp{number}
    title: Lamp {number}
    size: 4{regions}
    map: |
      aabc
      dabc
      deec
      dfff
    sums: {{a: 7, b: 6, c: 6, d: 8, e: 4, f: 9}}
"""
REGIONS = {"en": r"\b(region|box)", "de": r"\b[Bb](lock|löcke)"}
HAVE = {"en": "grids that have them", "de": "wo ein Gitter Blöcke hat"}


def how_to_solve(folder: Path, language: str, regions: tuple[bool, ...]) -> str:
    """The text of the guide of a book of small puzzles, with regions or without."""
    puzzles = [PUZZLE.format(number=number, regions="" if one else "\n    regions: none")
               for number, one in enumerate(regions)]
    head = f"book: {{title: T, language: {language}, layout: a5-one-up}}\npuzzles:\n"
    (folder / "book.yaml").write_text(head + "".join(puzzles), encoding="utf-8")
    assert main(["build", str(folder / "book.yaml"), "--out", str(folder)]) == Exit.FINE
    pages = [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(folder / "book.pdf")]
    (page,) = [page for page in pages if load_words(language).how in page and "10" in page]
    return page


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_guide_speaks_of_regions_only_where_there_are_some(language: str, tmp_path: Path) -> None:
    said = {name: how_to_solve(tmp_path, language, regions)
            for name, regions in (("all", (True,)), ("some", (True, False)), ("none", (False,)))}
    assert re.search(REGIONS[language], said["all"])
    assert HAVE[language] in " ".join(said["some"].split()) and re.search(REGIONS[language], said["some"])
    assert HAVE[language] not in " ".join(said["all"].split())
    assert not re.search(REGIONS[language], said["none"])
    bare = [text for name, text in load_words(language)._asdict().items() if name.endswith("_without_regions")]
    assert len(bare) == 2 and not any(re.search(REGIONS[language], text) for text in bare)


def test_the_guides_example_has_its_one_answer_with_regions_and_without(
    only_answer: Callable[[Puzzle], Answer],
) -> None:
    """By CP-SAT, which proves that there is no other."""
    for regions in (True, False):
        puzzle, answer = example(regions=regions)
        assert bool(puzzle.regions) is regions
        assert only_answer(puzzle) == answer


def test_the_small_crossing_sums_have_one_answer(only_answer: Callable[[Puzzle], Answer]) -> None:
    """By CP-SAT, which proves that there is no other."""
    puzzle, answer = crossing_example()
    assert only_answer(puzzle) == answer


@pytest.mark.parametrize("language", ["en", "de"])
def test_the_ways_of_reasoning_speak_of_digits_that_every_grid_has(language: str) -> None:
    assert {int(digit) for digit in re.findall(r"\d", load_words(language).primer_lead)} == {1, 2, 3}


def setting_of(sample: Path, fonts: Fonts, *examples: str) -> Setting:
    """Of a book that has the puzzles of some examples and no others."""
    book, found = load_book(sample).book, [worked_example(name) for name in examples]
    assert book
    section = replace(book.sections[0], entries=tuple(one.worked.entry for one in found if one))
    return Setting.of(replace(book, sections=(section,)), fonts, load_words("en"))


def test_that_examples_are_of_other_sizes_is_said_where_they_are(sample: Path, fonts: Fonts) -> None:
    """In one paragraph more. Of the examples one is a grid of four and one a grid of six; the book has fours."""
    small, large = worked_example("last_in_house"), worked_example("naked_single")
    assert small and large
    setting = setting_of(sample, fonts, "last_in_house")
    plain, more = (technique_pieces(setting, (), of, 200.0) for of in ({"a": small}, {"a": small, "b": large}))
    assert len(more) == len(plain) + 1


def test_the_guide_lists_the_sums_of_each_size_of_small_grids(sample: Path, fonts: Fonts) -> None:
    """With a lead and a table more for a second; a book with nines has theirs alone."""
    pieces = {names: len(primer_pieces(setting_of(sample, fonts, *names))) for names in (
        ("last_in_house",), ("naked_single",), ("last_in_house", "naked_single"), ("hidden_quad",),
        ("last_in_house", "naked_single", "hidden_quad"))}
    four, six, both, nine, every = pieces.values()
    assert four == six == both - 2 and nine == every


def test_digits_from_zero_are_left_to_their_rule_beside_others(root: Path) -> None:
    """Not the size of a grid has them run from 0."""
    book = load_book(root / "books" / "clear-skies" / "book.yaml").book
    assert book is not None
    puzzles = [entry.puzzle for entry in book.entries if entry.puzzle.shape is None]
    assert range(9) in {puzzle.digits for puzzle in puzzles}
    assert digits_named(puzzles) == sorted({one.digits for one in puzzles if one.least == 1}, key=len)
    assert digits_named([puzzle for puzzle in puzzles if puzzle.least == 0]) == [range(9)]


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("caged", [True, False])
def test_the_guide_speaks_of_crossing_sums_beside_cages_or_alone(
    caged: bool, language: str, tmp_path: Path, crossing_part: Callable[..., dict[str, Any]],
) -> None:
    part = crossing_part(crossing_example()[0])
    head = f"book: {{title: T, language: {language}, layout: a4-two-up}}\npuzzles:\n"
    text = head + f"  - {json.dumps(part)}\n" + (PUZZLE.format(number=1, regions="") if caged else "")
    (tmp_path / "book.yaml").write_text(text, encoding="utf-8")
    assert main(["build", str(tmp_path / "book.yaml"), "--out", str(tmp_path)]) == Exit.FINE
    said = " ".join("".join(page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(
        tmp_path / "book.pdf")).split())
    words = load_words(language)
    assert words.crossing_lead.strip() in said
    assert (words.example_lead.strip() in said) is caged
