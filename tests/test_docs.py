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
from cagework.solver.model import BOXES
from cagework.solver.reasoning.grade import Grade
from cagework.solver.rules import RULES
from cagework.typeset.book import Binding, SparePages, Standard, Stock
from cagework.typeset.columns.schema import Fallback, SeriesManifest, SeriesPart, SlotPart, SvgText
from cagework.typeset.commands.door import main, parser
from cagework.typeset.commands.exits import Exit
from cagework.typeset.faults import Severity
from cagework.typeset.manifest.schema import (
    BookPart,
    CagePart,
    CoverPart,
    Manifest,
    PagesPart,
    PressPart,
    PuzzlePart,
    SectionPart,
)
from cagework.typeset.preflight.profile import Flavour, Limits, stock_limits
from cagework.typeset.preflight.rules import RULES as RULES_OF_PRESS
from cagework.typeset.trade.binding import papers
from cagework.typeset.write.booklet import SHEETS


@pytest.fixture(scope="module")
def readme(root: Path) -> str:
    return (root / "README.md").read_text(encoding="utf-8")


def commands() -> dict[str, argparse.ArgumentParser]:
    (action,) = (action for action in parser()._actions if isinstance(action, argparse._SubParsersAction))
    return dict(action.choices)


def test_every_command_and_option_is_in_the_readme(readme: str) -> None:
    for name, command in commands().items():
        assert f"cagework {name}" in readme
        for action in command._actions:
            for option in action.option_strings:
                assert option in ("-h", "--help") or f"`{option}" in readme, (name, option)


def test_every_exit_status_is_in_the_readme(readme: str) -> None:
    rows = dict(re.findall(r"^\| (\d+) \| `([A-Z_]+)` ", readme, re.MULTILINE))
    assert rows == {str(int(status)): status.name for status in Exit}


@pytest.mark.parametrize("part", [Manifest, BookPart, CoverPart, PagesPart, PressPart, SectionPart, PuzzlePart,
                                  CagePart, SeriesManifest, SeriesPart, SlotPart, AnswerPart, ColumnSlot])
def test_every_manifest_key_is_in_the_readme(part: type[Manifest], readme: str) -> None:
    missing = [key for key in part.model_fields if f"`{key}`" not in readme]
    assert missing == []


def test_the_preflight_rules_are_in_the_readme_as_they_state_themselves(readme: str) -> None:
    rows = re.findall(r"^\| (\d+) \| `([a-z_]+)` \| (.+) \| (.+) \|$", readme, re.MULTILINE)
    assert rows == [
        (str(rule.number), rule.name, rule.statement, rule.source) for rule in RULES_OF_PRESS.values()]
    screen = [str(rule.number) for rule in RULES_OF_PRESS.values() if Flavour.SCREEN in rule.flavours]
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
                 *WhoseAnswer, *Fallback, *SvgText, *Binding, *papers(), *SHEETS):
        assert f"`{name}`" in readme, name
    assert ", ".join(str(size) for size in BOXES) in readme


def test_every_layout_key_is_in_developers(root: Path) -> None:
    text = (root / "DEVELOPERS.md").read_text(encoding="utf-8")
    assert [key for key in Layout.model_fields if key != "name" and f"`{key}`" not in text] == []


def test_every_module_is_in_developers(root: Path) -> None:
    text = (root / "DEVELOPERS.md").read_text(encoding="utf-8")
    for room in ("solver", "layouts", "typeset"):
        for path in sorted((root / room).rglob("*.py")):
            if path.name != "__init__.py" and path.parent.name not in ("rules", "techniques"):
                assert f"{path.stem}" in text, path


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
