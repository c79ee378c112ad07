"""Shared fixtures: the shelf's layouts, the built sample book, and the outside tools."""

from __future__ import annotations

import gc
import os
import pickle
import shutil
import subprocess
from collections.abc import Callable, Sequence
from importlib.util import module_from_spec, spec_from_file_location
from pathlib import Path
from types import ModuleType, SimpleNamespace
from typing import Any

import pytest
from filelock import FileLock
from hypothesis import HealthCheck, settings

from cagework.layouts.load import Layout, shelf_layout
from cagework.solver.model import Puzzle
from cagework.solver.reasoning.grade import rate
from cagework.solver.reasoning.reason import Path as Reasoned
from cagework.typeset.book import Book
from cagework.typeset.build import Built, build
from cagework.typeset.entry import Entry
from cagework.typeset.host import collector
from cagework.typeset.manifest import drawings
from cagework.typeset.manifest.load import Reading, load_book
from cagework.typeset.solving.cache import Cache, code_version
from cagework.typeset.solving.crew import Crew
from cagework.typeset.solving.worked import Worked
from cagework.typeset.text.fonts import Fonts

Once = Callable[[str, Callable[[], Any]], Any]

ROOT = Path(__file__).parents[1]
SAMPLE = ROOT / "books" / "slow-train" / "book.yaml"
PACKAGES = {"qpdf": "qpdf", "pdftoppm": "poppler-utils", "pdffonts": "poppler-utils", "pdfinfo": "poppler-utils",
            "pdftocairo": "poppler-utils",
            "gs": "ghostscript"}

# No test fails for being slow: a drawn example has no deadline, and drawing may take what it takes.
settings.register_profile("unhurried", deadline=None, suppress_health_check=[
    HealthCheck.too_slow, HealthCheck.function_scoped_fixture])
settings.load_profile("unhurried")


def pytest_collection_finish() -> None:
    """Once, as a command does it at its beginning. A worker lives on after the commands that tests run in it: what
    each of them set aside from Python's collector would never leave its memory.
    """
    collector.collect_seldom()
    collector.gc = SimpleNamespace(freeze=lambda: None, set_threshold=gc.set_threshold)  # type: ignore[assignment]


@pytest.fixture(scope="session")
def common(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder that all workers of this run share (pytest-xdist, "Making session-scoped fixtures execute only
    once").
    """
    own = tmp_path_factory.getbasetemp()
    return own.parent if hasattr(request.config, "workerinput") else own


@pytest.fixture(scope="session")
def once(common: Path) -> Once:
    """What takes long to make and pickles, by its name: made by the worker that asks first, while others wait."""
    def made(name: str, make: Callable[[], Any]) -> Any:
        kept = common / f"{name}.pickle"
        with FileLock(common / f"{name}.lock"):
            if not kept.exists():
                kept.write_bytes(pickle.dumps(make()))
            return pickle.loads(kept.read_bytes())

    return made


@pytest.fixture(scope="session", autouse=True)
def _own_cache(common: Path, tmp_path_factory: pytest.TempPathFactory) -> None:
    """Keep the user's cache out of the tests, and the tests out of it; commands run as processes inherit this.

    Findings are common to all workers; the notes of unfinished runs beside them, which the next command there
    mends, are not.
    """
    home, findings = tmp_path_factory.mktemp("cache"), common / "findings"
    findings.mkdir(exist_ok=True)
    (home / "cagework").mkdir()
    (home / "cagework" / code_version()[:16]).symlink_to(findings, target_is_directory=True)
    os.environ["XDG_CACHE_HOME"] = str(home)


@pytest.fixture(scope="session")
def root() -> Path:
    """The top of the project's tree."""
    return ROOT


@pytest.fixture(scope="session")
def sample() -> Path:
    """The sample book's manifest."""
    return SAMPLE


@pytest.fixture(scope="session")
def layout_of() -> Callable[[str], Layout]:
    """Read a layout from the shelf."""
    return shelf_layout


@pytest.fixture(scope="session")
def fonts(layout_of: Callable[[str], Layout]) -> Fonts:
    """The packaged faces."""
    return Fonts(layout_of("a5-one-up"))


def contributors_tool(name: str) -> ModuleType:
    """A program beside these tests."""
    spec = spec_from_file_location(f"contributors_{name}", ROOT / "tests" / f"{name}.py")
    assert spec is not None and spec.loader is not None
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


class Sample:
    """The sample book, built once: what was read, what was written, where."""

    def __init__(self, folder: Path, once: Once) -> None:
        self.folder = folder
        self.reading: Reading = load_book(SAMPLE)
        assert self.reading.book is not None
        self.book = self.reading.book
        self.built: Built = once("built", lambda: build(
            self.book, self.reading, folder, None, press=True, booklet=True, crew=Crew(Cache())))
        self.pdf = folder / "book.pdf"
        self.press = folder / "book-press.pdf"


@pytest.fixture(scope="session")
def built(common: Path, once: Once) -> Sample:
    """The sample book, built once for all tests of all workers."""
    return Sample(common / "built", once)


@pytest.fixture(scope="session")
def pictures() -> ModuleType:
    """The tool that makes the manual's pictures."""
    return contributors_tool("pictures")


@pytest.fixture(scope="session")
def books() -> Sequence[Book]:
    """The sample books as they are read, but for their drawings, which are drawn coarsely: at the printer's
    pixels, as they are where the books are built, two of them take seconds each.
    """
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(drawings, "PPI", 30)
        found = [load_book(file).book for file in sorted((ROOT / "books").glob("*/book.yaml"))]
    drawings.drawn.cache_clear()
    read = [book for book in found if book is not None]
    assert len(read) == len(found) > 3
    return read


@pytest.fixture(scope="session")
def path_of() -> Callable[[Puzzle], Reasoned]:
    """A puzzle to its path as any command has it, worked out by the worker that asks first."""
    def path(puzzle: Puzzle) -> Reasoned:
        ((_, finding),) = Crew(Cache()).find([puzzle], None)
        assert finding.path is not None
        return finding.path

    return path


@pytest.fixture(scope="session")
def work(path_of: Callable[[Puzzle], Reasoned]) -> Callable[[Entry], Worked]:
    """A book's puzzle, worked out and rated."""
    def worked(entry: Entry) -> Worked:
        path = path_of(entry.puzzle)
        return Worked(entry, path, rate(path))

    return worked


@pytest.fixture(scope="session")
def tool() -> Callable[..., subprocess.CompletedProcess[str]]:
    """Run a system tool and return what it said.

    Where the tool is missing, CI fails; elsewhere the check is skipped and says what to install.
    """
    def run(name: str, *arguments: str | Path) -> subprocess.CompletedProcess[str]:
        if shutil.which(name) is None:
            message = f"this check did not run: it needs {name} (Debian package {PACKAGES[name]})"
            if os.environ.get("CI"):
                pytest.fail(message)
            pytest.skip(message)
        command = [name, *map(str, arguments)]
        return subprocess.run(command, capture_output=True, text=True, timeout=300, check=False)

    return run


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Name every outside check that did not run, and what would let it."""
    said = {str(report.longrepr[2]) for report in terminalreporter.stats.get("skipped", [])
            if isinstance(report.longrepr, tuple)}
    for line in sorted(said):
        terminalreporter.write_line(line.removeprefix("Skipped: "))
