"""The manual keeps up with the code, all it links to is there, and all it shows by way of example works."""

from __future__ import annotations

import re
import shlex
from collections.abc import Iterator
from dataclasses import dataclass
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
import yaml

from cagework.layouts.column import read_slot
from cagework.layouts.load import read_layout
from cagework.solver.model import BOXES
from cagework.typeset.columns.schema import SeriesManifest
from cagework.typeset.commands.door import COMMANDS, main, parser
from cagework.typeset.commands.exits import Exit
from cagework.typeset.manifest.document import parse_document
from cagework.typeset.manifest.load import load_book
from cagework.typeset.manifest.schema import Manifest, PuzzlePart
from cagework.typeset.manifest.violations import findings
from cagework.typeset.manual.topics import FOLDER, INDEX, topics
from cagework.typeset.pool.recipe import RecipeFile

ROOT = Path(__file__).parents[1]
MANUAL = ROOT / "typeset" / "manual"
PAGES = {path.stem: path.read_text(encoding="utf-8") for path in sorted(MANUAL.glob("*.md"))}
TEXTS = PAGES | {"README": (ROOT / "README.md").read_text(encoding="utf-8")}


def _tool() -> ModuleType:
    """The tool that writes the tables, which also knows the parts."""
    spec = spec_from_file_location("contributors_manual", ROOT / "tests" / "manual.py")
    assert spec is not None and spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


TOOL = _tool()


@dataclass(frozen=True, slots=True)
class Shown:
    """A fenced block: the page it stands on, what it says it is, its text."""

    page: str
    kind: str
    text: str


SHOWN = [Shown(page, *found) for page, text in TEXTS.items()
         for found in re.findall(r"^```([a-z][^\n]*)\n(.*?)^```$", text, re.MULTILINE | re.DOTALL)]


def shown(*kinds: str) -> list[Shown]:
    found = [one for one in SHOWN if one.kind in kinds]
    assert {one.kind for one in found} == {*kinds}
    return found


def test_every_block_says_what_it_is() -> None:
    """And is one of those that are tried below, or is what a command prints; `library` has programs, which the
    tests of the library run.
    """
    of_parts = {f"yaml {part} keys" for part in TOOL.PARTS}
    known = {"sh", "sh run", "text", "yaml manifest", "yaml part of a book", "yaml puzzle", "yaml wrong puzzle",
             "yaml part of a puzzle", "csv", "txt", "json", "yaml series", "yaml recipe", "yaml layout",
             "yaml slot"}
    assert {one.kind for one in SHOWN if one.page != "library"} - of_parts <= known
    assert all(text.count("\n```") % 2 == 0 for text in TEXTS.values())


def test_the_index_lists_every_topic_by_its_title() -> None:
    assert sorted(topics()) == sorted(set(PAGES) - {INDEX})
    assert len(re.findall(r"\]\([a-z-]+\.md\)", PAGES[INDEX])) == len(topics())
    for topic in topics().values():
        assert topic.text.startswith(f"# {topic.title}\n"), topic.name
        assert "<!--" not in topic.text


def anchors(text: str) -> set[str]:
    return {re.sub(r"[^\w -]", "", title.lower()).replace(" ", "-")
            for title in re.findall(r"^#+ (.+)$", text, re.MULTILINE)}


def links() -> Iterator[tuple[str, Path, str]]:
    for page, text in TEXTS.items():
        at = ROOT if page == "README" else MANUAL
        for target in re.findall(r"\]\(([^)\s]+)\)", text):
            path, _, anchor = target.partition("#")
            yield page, at / path if path else at / f"{page}.md", anchor


def test_all_links_lead_somewhere() -> None:
    for page, path, anchor in links():
        assert path.is_file(), (page, path)
        assert not anchor or anchor in anchors(path.read_text(encoding="utf-8")), (page, path, anchor)


def test_every_picture_is_shown_and_described() -> None:
    pictures = {path.name for path in (MANUAL / "pictures").glob("*")}
    assert {path.name for _, path, _ in links() if path.suffix == ".png"} == pictures
    assert not [page for page, text in TEXTS.items() if "![](" in text]


def test_its_pages_of_the_sample_look_as_the_book_does(built: Any, pictures: Any) -> None:
    """As pdfium draws them now. Should they not: look at what has changed, `python tests/pictures.py --write`."""
    made = pictures.of_book(built.pdf)
    assert made.keys() == {"spread", "worked"}
    assert [name for name, picture in made.items() if not pictures.like(picture, pictures.kept(name))] == []
    worked = made["worked"].copy()
    worked.paste(0, (300, 300, 309, 316))       # a digit's size
    assert not pictures.like(worked, pictures.kept("worked"))


def test_its_picture_of_the_rules_has_them_all(pictures: Any) -> None:
    """Should it not: `python tests/pictures.py --write`."""
    assert pictures.like(pictures.of_rules()["rules"], pictures.kept("rules"))


def test_what_is_made_from_the_code_is_up_to_date() -> None:
    """A changed option, key or rule is no fault: run `python tests/manual.py --write`."""
    assert TOOL.stale() == []
    made = [name for text in PAGES.values() for name in re.findall(r"<!-- from: ([a-z -]+) -->", text)]
    assert sorted(made) == sorted(TOOL.MADE)
    assert sum(text.count("<!-- end -->") for text in PAGES.values()) == len(made)


def test_it_says_how_the_usual_boxes_lie() -> None:
    sizes, _, shapes = re.findall(r"^\| (?:size|---|a box has) (.*) \|$", PAGES["puzzles"], re.MULTILINE)
    found = (re.findall(r"\d+", shape) for shape in shapes.split(" | "))
    said = dict(zip(re.findall(r"\d+", sizes), found, strict=True))
    assert {int(size): (int(rows), int(cells)) for size, (rows, cells) in said.items()} == BOXES


@pytest.mark.parametrize("part", TOOL.PARTS)
def test_every_key_has_an_example_that_is_right(part: str) -> None:
    model, seen = TOOL.PARTS[part], set()
    for one in shown(f"yaml {part} keys"):
        document = parse_document(Path("keys.yaml"), one.text)
        assert findings(model, document.data) == () and document.faults == (), one.text
        assert isinstance(document.data, dict)
        seen |= document.data.keys()
    assert seen == model.model_fields.keys()


@pytest.mark.parametrize(("kind", "model", "rest"), [
    ("yaml part of a book", Manifest, {"book": {"title": "A Book"}}),
    ("yaml part of a puzzle", PuzzlePart, {"id": "a"}), ("yaml series", SeriesManifest, {}),
    ("yaml recipe", RecipeFile, {})])
def test_parts_are_as_they_may_be_written(kind: str, model: type, rest: dict[str, object]) -> None:
    for one in shown(kind):
        document = parse_document(Path("part.yaml"), one.text)
        assert isinstance(document.data, dict)
        assert findings(model, rest | document.data) == () and document.faults == (), one.text


def test_designs_can_be_used() -> None:
    for one in shown("yaml layout"):
        assert read_layout(yaml.safe_load(one.text), "own").title
    for one in shown("yaml slot"):
        assert read_slot(yaml.safe_load(one.text), "own").title


def test_whole_puzzles_are_sound_and_wrong_ones_are_not(
    tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    whole = [one.text for one in shown("yaml puzzle", "yaml puzzle keys") if "rope-locker" not in one.text]
    for number, text in enumerate(whole):
        (tmp_path / f"{number}.yaml").write_text(text, encoding="utf-8")
        assert main(["check", str(tmp_path / f"{number}.yaml")]) == Exit.FINE, text
    capsys.readouterr()
    for one in shown("yaml wrong puzzle"):
        (tmp_path / "wrong.yaml").write_text(one.text, encoding="utf-8")
        assert main(["check", str(tmp_path / "wrong.yaml")]) == Exit.FAULTS
        assert re.search(r"wrong\.yaml:\d+:\d+: ", capsys.readouterr().err), one.text


def test_puzzles_from_elsewhere_are_read_and_sound(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    found = [(number, one) for number, one in enumerate(shown("csv", "txt", "json"))]
    for number, one in found:
        (tmp_path / f"form-{number}.{one.kind}").write_text(one.text, encoding="utf-8")
        assert main(["import", f"form-{number}.{one.kind}", "--out", f"{number}.yaml"]) == Exit.FINE, one.text
        assert main(["check", f"{number}.yaml"]) == Exit.FINE, one.text


def commands(kind: str) -> list[tuple[str, list[str]]]:
    return [(one.page, shlex.split(line)) for one in shown(kind) for line in one.text.splitlines()]


def test_each_command_is_shown_and_as_the_program_reads_it() -> None:
    seen = set()
    for _, (program, *words) in [*commands("sh"), *commands("sh run")]:
        assert program == "cagework"
        assert parser(words).parse_args(words).run
        seen.add(words[0])
    assert seen == COMMANDS.keys()


@pytest.fixture
def first(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the first book's manifest, to work in."""
    (book,) = shown("yaml manifest")
    (tmp_path / "book.yaml").write_text(book.text, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_the_first_book_is_made_as_it_says(first: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for page, (_, *words) in commands("sh run"):
        (first / page).mkdir(exist_ok=True)
        (first / page / "book.yaml").write_bytes((first / "book.yaml").read_bytes())
        monkeypatch.chdir(first / page)
        assert main(words) == Exit.FINE, (page, words)
    assert (first / "README" / "bakery" / "out" / "book.pdf").is_file()
    written = {path.name for path in (first / "first-book" / "out").iterdir()}
    assert written >= {"book.pdf", "book-press.pdf", "puzzles", "answers"}
    (whole,) = shown("yaml manifest keys")
    (first / "whole.yaml").write_text(whole.text, encoding="utf-8")
    assert load_book(first / "whole.yaml").book is not None


def test_slips_are_told_as_it_says(first: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Each put in place of what the first book says there."""
    text = (first / "book.yaml").read_text(encoding="utf-8")
    rows = re.findall(r"^\| `([^`]+)` \| (.+?) \| `", PAGES["puzzles"], re.MULTILINE)
    assert len(rows) > 8
    for slip, told in rows:
        match slip.split(":")[0].split(" ")[0]:
            case "puzzles":
                wrong = text.partition("puzzles:\n")[0] + slip + "\n"
            case "cages":
                wrong = re.sub(r"    map: .*\Z", f"    {slip}\n", text, flags=re.DOTALL)
            case key:
                wrong = re.sub(rf"^    {key}: .*$", f"    {slip}", text, flags=re.MULTILINE)
        assert wrong != text
        (first / "wrong.yaml").write_text(wrong, encoding="utf-8")
        main(["check", "wrong.yaml"])
        assert told in capsys.readouterr().err, slip


@pytest.mark.parametrize(("page", "old", "new", "words"), [
    ("first-book", "sums:", "sumz:", "check book.yaml"),
    ("checking", "c: 6", "c: 7", "check --why book.yaml"),
    ("checking", "c: 6", "c: 6", "explain book.yaml lamp-room")], ids=["a fault", "why", "a path"])
def test_what_commands_are_said_to_print_they_print(
    page: str, old: str, new: str, words: str, first: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    text = (first / "book.yaml").read_text(encoding="utf-8")
    (first / "book.yaml").write_text(text.replace(old, new), encoding="utf-8")
    assert main(words.split()) == (Exit.FINE if old == new else Exit.FAULTS)
    said = "".join(capsys.readouterr())
    assert [one for one in shown("text") if one.page == page and one.text in said], said


def test_it_is_read_in_the_terminal(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch,
) -> None:
    """As it is written where it goes to a file, set where it is read; what is not there by what is near."""
    assert main(["manual"]) == Exit.FINE
    listed = capsys.readouterr().out
    for topic in topics().values():
        assert topic.name in listed and topic.summary in listed
        assert main(["manual", topic.name]) == Exit.FINE
        assert (said := capsys.readouterr().out) == topic.told
        assert not re.search(r"\]\([^)]*\.(?:md|png)|\]\(#", said)
    assert main(["manual", "colums"]) == Exit.USAGE
    assert "did you mean columns?" in capsys.readouterr().err
    monkeypatch.setenv("FORCE_COLOR", "1")
    assert main(["manual", "limits"]) == Exit.FINE
    said = capsys.readouterr().out
    assert "\x1b[" in said and "|---|" not in said


def test_it_comes_with_the_installation(root: Path) -> None:
    assert Path(str(FOLDER)).resolve() == root / "typeset" / "manual"
