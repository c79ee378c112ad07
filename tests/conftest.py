"""Shared fixtures: the shelf's layouts, the built sample book, and the outside tools."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from cagework.layouts.load import Layout, shelf_layout
from cagework.typeset.build import Built, build
from cagework.typeset.manifest.load import Reading, load_book
from cagework.typeset.text.fonts import Fonts

ROOT = Path(__file__).parents[1]
SAMPLE = ROOT / "books" / "slow-train" / "book.yaml"
PACKAGES = {"qpdf": "qpdf", "pdftoppm": "poppler-utils", "pdffonts": "poppler-utils", "pdfinfo": "poppler-utils",
            "pdftocairo": "poppler-utils",
            "gs": "ghostscript"}

# No test fails for being slow: a drawn example has no deadline, and drawing may take what it takes.
settings.register_profile("unhurried", deadline=None, suppress_health_check=[
    HealthCheck.too_slow, HealthCheck.function_scoped_fixture])
settings.load_profile("unhurried")


@pytest.fixture(scope="session", autouse=True)
def _own_cache(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Keep the user's cache out of the tests, and the tests out of it; commands run as processes inherit this."""
    os.environ["XDG_CACHE_HOME"] = str(tmp_path_factory.mktemp("cache"))


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


class Sample:
    """The sample book, built once: what was read, what was written, where."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.reading: Reading = load_book(SAMPLE)
        assert self.reading.book is not None
        self.book = self.reading.book
        self.built: Built = build(self.book, self.reading, folder, None, press=True, booklet=True)
        self.pdf = folder / "book.pdf"
        self.press = folder / "book-press.pdf"


@pytest.fixture(scope="session")
def built(tmp_path_factory: pytest.TempPathFactory) -> Sample:
    """The sample book, built once for all tests."""
    return Sample(tmp_path_factory.mktemp("built"))


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
