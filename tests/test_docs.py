"""README, manual and DEVELOPERS keep up with the code; what the manual has from the code itself, and its examples,
are tried in `test_manual.py`.
"""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path
from typing import get_args

import pytest
import yaml
from pydantic import BaseModel

from cagework.layouts.column import ColumnSlot, Element, WhoseAnswer, slot_names
from cagework.layouts.load import Layout, shelf_names
from cagework.solver.model import BOXES, Cage, boxes, grid_cells
from cagework.solver.reasoning.grade import Grade
from cagework.solver.reasoning.state import LOOKS_A_SECOND
from cagework.solver.rules import RULES
from cagework.typeset.book import Binding, Grades, IndexBy, SparePages, Standard
from cagework.typeset.choices import SHEETS, Purpose, Stock, SvgText
from cagework.typeset.columns.schema import Fallback
from cagework.typeset.commands.exits import Exit
from cagework.typeset.manifest import document, drawings, pictures, values
from cagework.typeset.manifest.document import parse_document
from cagework.typeset.manifest.named_rules import read_houses, read_rules
from cagework.typeset.manifest.notation import WIDEST
from cagework.typeset.manifest.notes import Notes
from cagework.typeset.manifest.rule_names import house_rules
from cagework.typeset.manual.topics import topics
from cagework.typeset.pool import recipe
from cagework.typeset.pool.recipe import PickOrder, Spread
from cagework.typeset.preflight.rules import RULES as RULES_OF_PRESS
from cagework.typeset.raster import MOST_SAMPLES
from cagework.typeset.reader import budget, image, metadata
from cagework.typeset.trade.binding import papers


@pytest.fixture(scope="module")
def manual(root: Path) -> dict[str, str]:
    """Each topic's text."""
    return {name: topic.text for name, topic in topics().items()}


def test_the_limits_are_those_of_the_code(manual: dict[str, str]) -> None:
    rows = dict(re.findall(r"^\| ([^|]+) \| ([^|]+) \|", manual["limits"], re.M))
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


def test_every_exit_status_is_in_the_manual(manual: dict[str, str]) -> None:
    rows = dict(re.findall(r"^\| (\d+) \| `([A-Z_]+)` ", manual["commands"], re.MULTILINE))
    assert rows == {str(int(status)): status.name for status in Exit}


@pytest.mark.parametrize(("topic", "design"), [("layouts", Layout), ("columns", ColumnSlot)])
def test_every_key_of_a_design_is_in_the_manual(
    topic: str, design: type[BaseModel], manual: dict[str, str],
) -> None:
    """In the table, and in the example, down to the keys of its parts."""
    named = set(re.findall(r"`([a-z_]+)`", "".join(re.findall(r"^\| .+$", manual[topic], re.MULTILINE))))
    (example,) = re.findall(r"```yaml (?:layout|slot)\n(.*?)```", manual[topic], re.DOTALL)
    written = yaml.safe_load(example)
    assert design.model_fields.keys() - {"name"} == written.keys() <= named
    for key, field in design.model_fields.items():
        for part in (field.annotation, *get_args(field.annotation)):
            if isinstance(part, type) and issubclass(part, BaseModel):
                assert part.model_fields.keys() - {"inside_from"} <= written[key].keys() <= named, key


def test_the_screen_is_held_to_the_rules_that_the_manual_says(manual: dict[str, str]) -> None:
    screen = [str(rule.number) for rule in RULES_OF_PRESS.values() if Purpose.SCREEN in rule.purposes]
    assert f"rules {', '.join(screen[:-1])} and {screen[-1]} alone" in manual["preflight"]


def test_every_name_an_editor_may_choose_is_in_the_manual(manual: dict[str, str]) -> None:
    everything = "".join(manual.values())
    for name in (*RULES, *Grade, *shelf_names(), *Standard, *Stock, *SparePages, *slot_names(), *Element,
                 *Grades, *IndexBy, *WhoseAnswer, *Fallback, *SvgText, *Binding, *papers(),
                 *SHEETS, *PickOrder, *Spread):
        assert f"`{name}`" in everything, name
    assert ", ".join(str(size) for size in BOXES) in manual["puzzles"]


def test_every_rule_is_in_the_manual_as_it_can_be_written(manual: dict[str, str]) -> None:
    for name in RULES:
        (shown,) = re.findall(rf"^\| `{name}` \| `(.+?)` \|", manual["rules"], re.MULTILINE)
        key, read = ("houses", read_houses) if name in house_rules() else ("rules", read_rules)
        document = parse_document(Path("rules.md"), shown)
        assert isinstance(document.data, dict) and [*document.data] == [key]
        notes = Notes(document)
        areas = (tuple(Cage((cell,), None) for cell in grid_cells(9)), boxes(9)) if read is read_rules else ()
        assert read(notes, document.data[key], 9, *areas), notes.faults


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


def test_the_readme_opens_with_one_paragraph_that_states_the_job(root: Path) -> None:
    title, first, *_ = (root / "README.md").read_text(encoding="utf-8").split("\n\n")
    assert title == "# cagework"
    assert not first.startswith(("#", "|", "-", "```")) and len(first) > 150


def test_the_files_that_are_named_exist(root: Path, manual: dict[str, str]) -> None:
    everything = (root / "README.md").read_text(encoding="utf-8") + "".join(manual.values())
    found = re.findall(r"(?:books|layouts|tests|typeset)/[\w./-]+\.\w+", everything)
    assert len(found) > 5 and not [path for path in found if not (root / path).exists()]
