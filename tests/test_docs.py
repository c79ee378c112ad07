"""README and DEVELOPERS keep up with the code: every command, option, status, key, rule and layout is named."""

from __future__ import annotations

import argparse
import dataclasses
import re
import subprocess
import sys
import textwrap
from pathlib import Path

import pytest

from cagework.layouts.column import AnswerPart, ColumnSlot, Element, WhoseAnswer, slot_names
from cagework.layouts.load import Layout, shelf_names
from cagework.solver.model import BOXES, Cage, boxes, grid_cells
from cagework.solver.reasoning.grade import Grade
from cagework.solver.reasoning.state import LOOKS_A_SECOND
from cagework.solver.rule import Takes
from cagework.solver.rules import RULES
from cagework.typeset.book import Binding, Grades, IndexBy, SparePages, Standard
from cagework.typeset.choices import SHEETS, Purpose, Stock, SvgText
from cagework.typeset.columns.schema import Fallback, SeriesManifest, SeriesPart, SlotPart
from cagework.typeset.commands.door import COMMANDS, main, parser
from cagework.typeset.commands.exits import Exit
from cagework.typeset.faults import Severity
from cagework.typeset.manifest import document, drawings, pictures, values
from cagework.typeset.manifest.document import parse_document
from cagework.typeset.manifest.named_rules import read_houses, read_rules
from cagework.typeset.manifest.notation import WIDEST
from cagework.typeset.manifest.notes import Notes
from cagework.typeset.manifest.parts import InkPart, PicturePart
from cagework.typeset.manifest.rule_names import house_rules
from cagework.typeset.manifest.schema import (
    BookPart,
    CagePart,
    CoverPart,
    Manifest,
    PagesPart,
    PressPart,
    PuzzlePart,
    SectionPart,
    TextPagePart,
)
from cagework.typeset.pool import recipe
from cagework.typeset.pool.recipe import ByPart, PickOrder, PickPart, RecipeFile, Spread
from cagework.typeset.preflight.profile import Limits, stock_limits
from cagework.typeset.preflight.rules import RULES as RULES_OF_PRESS
from cagework.typeset.raster import MOST_SAMPLES
from cagework.typeset.reader import budget, image, metadata
from cagework.typeset.trade.binding import papers
from cagework.typeset.words import languages


@pytest.fixture(scope="module")
def readme(root: Path) -> str:
    return (root / "README.md").read_text(encoding="utf-8")


def commands() -> dict[str, argparse.ArgumentParser]:
    (action,) = (action for action in parser(COMMANDS)._actions if isinstance(action, argparse._SubParsersAction))
    return dict(action.choices)


def test_the_limits_are_those_of_the_code(readme: str) -> None:
    rows = dict(re.findall(r"^\| ([^|]+) \| ([^|]+) \|", readme.partition("## Limits\n")[2], re.M))
    assert int(rows["size of a grid"]) == max(BOXES)
    assert rows["squares of crossing sums"] == f"{WIDEST} by {WIDEST}"
    assert rows["one YAML file"].startswith(
        f"{document.MAX_BYTES // 10**6} MB, {document.MAX_VALUES:,} values once aliases are written out, "
        f"{document.MAX_DEPTH} deep")
    assert rows["a title or name"] == f"{values.LONGEST_LINE} characters"
    assert rows["a text"] == f"{values.LONGEST_PROSE:,} characters"
    assert rows["a picture"] == f"{MOST_SAMPLES:,} pixels, {pictures.MOST_BYTES // 10**6} MB"
    assert rows["an SVG picture"] == f"{drawings.MOST_BYTES // 10**6} MB, {drawings.DEEPEST} levels"
    assert rows["puzzles of a pick"] == f"{recipe.MOST:,}"
    assert rows["work for one path"].startswith(f"{LOOKS_A_SECOND:,} ")
    assert rows["operations on one page of a PDF"] == f"{budget.PAGE_OPERATIONS:,}"
    assert rows["operations in a PDF"].startswith(
        f"{budget.FILE_OPERATIONS:,} and {budget.FOR_EACH_BYTE} ")
    assert rows["streams run for one page"] == f"{budget.PAGE_FORMS:,}"
    assert rows["letters on one page, and bytes of one string"].startswith(f"{budget.PAGE_LETTERS:,} ")
    assert rows["content of one page, unpacked"] == f"{budget.PAGE_BYTES // 10**6} MB"
    assert rows["samples of an image"] == f"{image.MOST_SAMPLES:,}"
    assert rows["bytes of an image whose inks are measured"] == f"{image.MOST_BYTES:,}"
    assert rows["XMP in a PDF"] == f"{metadata.MOST_BYTES:,} bytes"


def test_every_command_and_option_is_in_the_readme(readme: str) -> None:
    for name, command in commands().items():
        assert f"cagework {name}" in readme
        for action in command._actions:
            for option in action.option_strings:
                assert option in ("-h", "--help") or f"`{option}" in readme, (name, option)


def test_every_exit_status_is_in_the_readme(readme: str) -> None:
    rows = dict(re.findall(r"^\| (\d+) \| `([A-Z_]+)` ", readme, re.MULTILINE))
    assert rows == {str(int(status)): status.name for status in Exit}


@pytest.mark.parametrize("part", [
    Manifest, BookPart, PicturePart, CoverPart, PagesPart, PressPart, SectionPart, TextPagePart, PuzzlePart,
    CagePart, InkPart, RecipeFile, PickPart, ByPart, SeriesManifest, SeriesPart, SlotPart, AnswerPart, ColumnSlot])
def test_every_manifest_key_is_in_the_readme(part: type[Manifest], readme: str) -> None:
    missing = [key for key in part.model_fields if f"`{key}`" not in readme]
    assert missing == []


def test_the_preflight_rules_are_in_the_readme_as_they_state_themselves(readme: str) -> None:
    rows = re.findall(r"^\| (\d+) \| `([a-z_]+)` \| (.+) \| (.+) \|$", readme, re.MULTILINE)
    assert rows == [
        (str(rule.number), rule.name, rule.statement, rule.source) for rule in RULES_OF_PRESS.values()]
    screen = [str(rule.number) for rule in RULES_OF_PRESS.values() if Purpose.SCREEN in rule.purposes]
    assert f"rules {', '.join(screen[:-1])} and {screen[-1]} alone" in readme
    warnings = [str(rule.number) for rule in RULES_OF_PRESS.values() if rule.severity is Severity.WARNING]
    assert f"Rules {', '.join(warnings[:-1])} and {warnings[-1]} are warnings" in readme


def test_the_stocks_are_in_the_readme_with_their_limits(readme: str) -> None:
    order = [field.name for field in dataclasses.fields(Limits)]
    for stock, limits in stock_limits().items():
        assert f"| {stock} | {' | '.join(f'{getattr(limits, name):g}' for name in order)} |" in readme
    assert f"| stock | {' | '.join(name.replace('_', ' ') for name in order)} |" in readme


def test_every_name_an_editor_may_choose_is_in_the_readme(readme: str) -> None:
    for name in (*RULES, *Grade, *shelf_names(), *Standard, *Stock, *SparePages, *slot_names(), *Element,
                 *Grades, *IndexBy, *WhoseAnswer, *Fallback, *SvgText, *Binding, *papers(),
                 *SHEETS, *PickOrder, *Spread):
        assert f"`{name}`" in readme, name
    assert ", ".join(str(size) for size in BOXES) in readme


def test_a_rule_on_cells_is_in_the_readme_as_it_can_be_written(readme: str) -> None:
    for name in (name for name, rule in RULES.items() if rule.takes is not Takes.NOTHING):
        shown = re.search(rf"`(\{{{name}: [^`]+\}})`", readme)
        assert shown, f"show `{{{name}: ...}}` with {RULES[name].takes} beside it"
        key, read = ("houses", read_houses) if name in house_rules() else ("rules", read_rules)
        document = parse_document(Path("README"), f"{key}: [{shown[1]}]")
        assert isinstance(document.data, dict)
        notes = Notes(document)
        areas = (tuple(Cage((cell,), None) for cell in grid_cells(9)), boxes(9)) if read is read_rules else ()
        assert read(notes, document.data[key], 9, *areas), notes.faults


def test_every_language_is_in_the_readme(readme: str) -> None:
    for language in languages():
        assert f"`{language}`" in readme.partition("there are words for")[2].partition(", and a book")[0]


def test_every_layout_key_is_in_developers(root: Path) -> None:
    text = (root / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert [key for key in Layout.model_fields if key != "name" and f"`{key}`" not in text] == []


REGISTRIES = ("solver/rules", "solver/reasoning/techniques", "typeset/preflight/rules")
"""One file an entry: DEVELOPERS names the folder, not the files."""


def test_the_modules_of_each_room_are_those_in_developers(root: Path) -> None:
    """In backticks, as whole words, in the room's own row; `layouts/` has a paragraph instead of a table."""
    text = (root / "DEVELOPERS.md").read_text(encoding="utf-8")
    named: dict[str, set[str]] = {}
    for top, section in re.findall(r"^## (\w+)/.*?$(.*?)(?=^## )", text, re.MULTILINE | re.DOTALL):
        rows = re.findall(r"^\| (?:`(\w+)/`)? ?\| (.+) \|$", section, re.MULTILINE) or [("", section)]
        for room, row in rows:
            named["/".join(filter(None, (top, room)))] = set(re.findall(r"`(\w+)`", row))
    modules: dict[str, set[str]] = {}
    for path in (path for top in ("solver", "layouts", "typeset") for path in (root / top).rglob("*.py")):
        room = str(path.parent.relative_to(root))
        if room not in REGISTRIES:
            modules.setdefault(room, set()).update({path.stem} - {"__init__", "__main__"})
    assert {room: missing for room, names in modules.items() if (missing := names - named[room])} == {}
    tables = {room: names for room, names in named.items() if room != "layouts"}
    assert {room: gone for room, names in tables.items() if (gone := names - modules[room])} == {}


def test_the_chart_in_developers_is_what_the_imports_say(root: Path) -> None:
    """A changed import is no fault: put what `python tests/architecture.py` prints into DEVELOPERS.md."""
    drawn = subprocess.run([sys.executable, root / "tests" / "architecture.py"], capture_output=True, text=True,
                           check=True).stdout
    assert f"```mermaid\n{drawn}```\n" in (root / "DEVELOPERS.md").read_text(encoding="utf-8")


def test_the_readme_opens_with_one_paragraph_that_states_the_job(readme: str) -> None:
    title, first, *_ = readme.split("\n\n")
    assert title == "# cagework"
    assert not first.startswith(("#", "|", "-", "```")) and len(first) > 150


def test_the_files_the_readme_names_exist(root: Path, readme: str) -> None:
    for path in re.findall(r"(?:books|layouts|tests)/[\w./-]+\.\w+", readme):
        assert (root / path).exists(), path


def test_the_manifest_in_the_readme_is_a_whole_book(readme: str, tmp_path: Path) -> None:
    """What a newcomer copies first has to build."""
    shown = readme.partition("## The manifest\n\n")[2].partition("\n\nUnder `book`")[0]
    path = tmp_path / "book.yaml"
    path.write_text(textwrap.dedent(shown) + "\n", encoding="utf-8")
    assert main(["build", str(path), "--out", str(tmp_path / "out")]) == Exit.FINE
