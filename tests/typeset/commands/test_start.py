"""What a command loads: no more than it needs, as loading is most of what a short one takes.

`tests/bench/start.py` says what that comes to in seconds.
"""

from __future__ import annotations

import re
import subprocess
import sys
from importlib import metadata
from pathlib import Path

import pytest

from cagework.typeset.commands.door import COMMANDS, VERSION, module_of
from cagework.typeset.commands.exits import Exit

PUZZLE = """\
id: lamp
title: Lamp
size: 4
map: |
  aabc
  dabc
  deec
  dfff
sums: {a: 7, b: 6, c: 6, d: 8, e: 4, f: 9}
"""

LIBRARIES = {re.split(r"[^\w.-]", one)[0].lower()
             for one in metadata.requires("cagework") or () if "extra" not in one}
"""What the program is installed with, by the names of distributions."""

SLOW = {"asyncio", "concurrent.futures", "email", "importlib.metadata", "logging", "multiprocessing", "ssl", "xml"}
"""Modules of Python's own that take long to load, and that a command without many puzzles has no use for."""

PROGRAM = """
import argparse, sys
argparse.ArgumentParser().format_help()
before = set(sys.modules)
from cagework.typeset.__main__ import main
try:
    status = main()
except SystemExit as stopped:
    status = stopped.code
status = int(status)
print(status, *sorted(sys.modules.keys() - before))
"""


def loaded(*arguments: str | Path, status: int = Exit.FINE) -> set[str]:
    """The modules that the command brought with it, beside what a help of argparse takes."""
    done = subprocess.run([sys.executable, "-c", PROGRAM, *map(str, arguments)], capture_output=True, text=True,
                          check=True)
    ended, *modules = done.stdout.splitlines()[-1].split()
    assert ended == str(int(status)), done.stdout + done.stderr
    return set(modules)


def libraries(modules: set[str]) -> set[str]:
    """The distributions, of those that the program is installed with, that modules came from."""
    made_by = metadata.packages_distributions()
    tops = {module.partition(".")[0] for module in modules}
    return {made.lower() for top in tops for made in made_by.get(top, ())} & LIBRARIES


def rooms(modules: set[str]) -> set[str]:
    """The houses and rooms of ours that modules stand in."""
    return {".".join(module.split(".")[1:3]) for module in modules if module.startswith("cagework.")}


@pytest.fixture
def puzzle(tmp_path: Path) -> Path:
    file = tmp_path / "lamp.yaml"
    file.write_text(PUZZLE, encoding="utf-8")
    return file


@pytest.mark.parametrize("arguments", [("--version",), ("--help",), *((name, "--help") for name in COMMANDS)])
def test_asking_for_help_loads_nothing_that_works(arguments: tuple[str, ...]) -> None:
    modules = loaded(*arguments)
    assert libraries(modules) == set(), "a library is imported before it is used"
    assert modules & (SLOW | {"dataclasses", "importlib.resources", "inspect", "json"}) == set()
    assert rooms(modules) == {"typeset", "typeset.__main__", "typeset.commands", "typeset.host"} | (
        {"typeset.choices"} & rooms(modules)), "a command's work is imported before it runs"
    others = set(map(module_of, COMMANDS.keys() - set(arguments)))
    assert modules & others == set(), "another command is loaded"


def test_checking_a_plain_puzzle_loads_what_reads_and_solves_it(puzzle: Path) -> None:
    for kept in (("--no-cache",), ("--cache", puzzle.parent / "kept"), ("--cache", puzzle.parent / "kept")):
        modules = loaded("check", puzzle, *kept)
        assert libraries(modules) == {"pyyaml", "platformdirs"}
        assert modules & SLOW == set()
        assert rooms(modules) & {"layouts", "solver.rules", "solver.proving", "solver.editing", "typeset.book",
                                 "typeset.build", "typeset.draw", "typeset.raster", "typeset.reader",
                                 "typeset.text", "typeset.trade", "typeset.write"} == set()
        assert "cagework.typeset.words.punctuation" not in modules


def test_a_puzzle_that_is_wrong_loads_what_says_so(puzzle: Path) -> None:
    puzzle.write_text(PUZZLE.replace("title", "titel"), encoding="utf-8")
    modules = loaded("check", puzzle, "--no-cache", status=Exit.FAULTS)
    assert libraries(modules) - {"babel"} == {"pyyaml", "platformdirs", "pydantic"}


def test_explaining_a_puzzle_loads_the_words_and_no_page(puzzle: Path) -> None:
    modules = loaded("explain", puzzle, "lamp", "--no-cache")
    assert libraries(modules) == {"babel", "pyyaml", "platformdirs"}


def test_checking_a_book_loads_what_reads_manifests_and_no_page(puzzle: Path) -> None:
    book = puzzle.with_name("book.yaml")
    book.write_text("book: {title: T, puzzles_from: lamp.yaml}\n", encoding="utf-8")
    modules = loaded("check", book, "--no-cache")
    assert libraries(modules) == {"babel", "pyyaml", "platformdirs", "pydantic"}


def test_looking_into_a_pdf_loads_nothing_that_makes_one(puzzle: Path) -> None:
    modules = loaded("preflight", puzzle, status=Exit.UNREADABLE)
    assert "pypdf" in libraries(modules)
    assert libraries(modules) & {"babel", "pydantic", "pyphen", "reportlab", "rich", "svgwrite"} == set()


def test_the_version_is_that_of_what_is_installed(capfd: pytest.CaptureFixture[str]) -> None:
    assert metadata.version("cagework") == VERSION
    subprocess.run([sys.executable, "-m", "cagework.typeset", "--version"], check=True)
    assert capfd.readouterr().out == f"cagework {VERSION}\n"
