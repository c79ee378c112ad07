"""The manual's page on the library: each program on it runs as it stands, and says what the page says."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pikepdf
import pytest

import cagework

PROGRAM = re.compile(r"^```python\n(.*?)^```\n(?:\n```text\n(.*?)^```\n)?", re.MULTILINE | re.DOTALL)
FILE = re.compile(r"^```yaml\n# (\S+)\n(.*?)^```\n", re.MULTILINE | re.DOTALL)


@pytest.fixture(scope="module")
def page(root: Path) -> str:
    return (root / "typeset" / "manual" / "library.md").read_text(encoding="utf-8")


def test_every_program_on_the_page_says_what_the_page_says(page: str, tmp_path: Path) -> None:
    """In one process, each with names of its own, in the folder with the file that they use."""
    for name, text in FILE.findall(page):
        (tmp_path / name).write_text(text, encoding="utf-8")
    programs = PROGRAM.findall(page)
    runner = "\n".join(f"exec(compile({text!r}, 'program {number}', 'exec'), {{}}); print('----')"
                       for number, (text, _) in enumerate(programs, 1))
    done = subprocess.run([sys.executable, "-c", runner], cwd=tmp_path, capture_output=True, text=True,
                          check=False)
    assert done.returncode == 0, done.stderr
    assert done.stdout.split("----\n")[:-1] == [said for _, said in programs]
    pages = int(re.search(r"^(\d+) pages, ", done.stdout, re.MULTILINE)[1])
    with pikepdf.open(tmp_path / "out" / "book.pdf") as book:
        assert len(book.pages) == pages
    assert (tmp_path / "monday.svg").read_text(encoding="utf-8").startswith("<svg ")


def test_the_page_shows_a_short_program_for_each_public_function(page: str) -> None:
    programs = [text for text, _ in PROGRAM.findall(page)]
    assert all(len(text.splitlines()) <= 12 for text in programs)
    called = set(re.findall(r"cagework\.(\w+)\(", "".join(programs)))
    functions = {name for name in cagework.__all__ if name.islower()}
    assert functions - called == {"read_book"} and "`read_book`" in page
    assert {name for name in cagework.__all__ if name.endswith("Error") and name not in page} == set()
