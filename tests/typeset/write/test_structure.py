"""What the screen file says to a screen reader, read with pikepdf and judged by pdfua, neither of which wrote it.

pdfua 0.1.3 checks 16 of the 106 rules of PDF/UA-1, by its own count; the file makes no claim to conform to that.
"""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import pikepdf
import pytest
from pikepdf import Name
from pypdf import PdfReader

PAINTS = {"S", "s", "f", "F", "f*", "B", "B*", "b", "b*", "Tj", "TJ", "'", '"', "Do", "sh"}
"""ISO 32000-1, table A.1: the operators that paint."""


@pytest.fixture(scope="module")
def pdf(built: Any) -> Iterator[Any]:
    with pikepdf.open(built.pdf) as opened:
        yield opened


@pytest.fixture(scope="module")
def elements(pdf: Any) -> list[Any]:
    return list(pdf.Root.StructTreeRoot.K.K)


def kind(element: Any) -> str:
    return str(element.S).removeprefix("/")


def judged(path: Path) -> list[str]:
    done = subprocess.run([sys.executable, "-m", "pdfua", "check", "--format", "json", str(path)],
                          capture_output=True, text=True, check=False)
    return sorted(finding["rule_id"] for finding in json.loads(done.stdout)["findings"])


def test_pdfua_misses_nothing_but_the_claim(built: Any, tmp_path: Path) -> None:
    """UA-28-004: the claim to be PDF/UA, which is left to those who test with readers. And it can see more: the
    same file without its figures' words, and without its tree, has other findings.
    """
    assert judged(built.pdf) == ["UA-28-004"]
    with pikepdf.open(built.pdf) as broken:
        for element in broken.Root.StructTreeRoot.K.K:
            if kind(element) == "Figure":
                del element["/Alt"]
        broken.save(tmp_path / "wordless.pdf")
        del broken.Root["/StructTreeRoot"]
        broken.save(tmp_path / "treeless.pdf")
    for name in ("wordless.pdf", "treeless.pdf"):
        assert set(judged(tmp_path / name)) > {"UA-28-004"}


def test_all_that_is_painted_is_told_or_passed_over(pdf: Any) -> None:
    """ISO 32000-1, 14.7 and 14.8.2.2: each piece has its number on the page, and the tree leads back from it."""
    nums = list(pdf.Root.StructTreeRoot.ParentTree.Nums)
    assert [int(key) for key in nums[::2]] == list(range(len(nums) // 2))
    for page in pdf.pages:
        depth, found = 0, []
        for item in pikepdf.parse_content_stream(page):
            operator = str(item.operator)
            if operator in ("BMC", "BDC"):
                depth += 1
                if operator == "BDC":
                    found.append(int(item.operands[1].MCID))
            elif operator == "EMC":
                depth -= 1
            assert depth in (0, 1)
            assert operator not in PAINTS or depth == 1
        assert found == list(range(len(found)))
        told = nums[2 * int(page.StructParents) + 1]
        own = [element for element in told if kind(element) != "Link"]
        assert [int(element.K) for element in own] == found
        assert all(element.Pg == page.obj for element in told)


def test_each_figure_states_its_puzzle_or_its_answer(built: Any, elements: list[Any], cp_answers: Any) -> None:
    said = [str(element.Alt) for element in elements if kind(element) == "Figure"]
    assert all(said)
    stated = {}
    for text in said:
        if cages := re.search(r"Cages: ([^.]+)\.", text):
            parts = re.findall(r"(no sum|\d+) in ([r\dc ]+)", cages[1])
            stated[frozenset((sum_, cells.strip()) for sum_, cells in parts)] = text
    rows = {tuple(int(digit) for row in re.findall(r"Row \d+: ([\d ]+)\.", text) for digit in row.split())
            for text in said}
    for entry in built.book.entries:
        cages = frozenset(("no sum" if cage.total is None else str(cage.total), " ".join(map(str, cage.cells)))
                          for cage in entry.puzzle.cages)
        for given in entry.puzzle.givens:
            assert f"{given.digit} in {given.cell}" in stated[cages]
        assert cp_answers[entry.id].digits in rows


def test_headings_begin_at_the_top_and_skip_no_level(built: Any, elements: list[Any]) -> None:
    levels = [int(kind(element)[1:]) for element in elements if re.fullmatch(r"H\d", kind(element))]
    assert levels[0] == 1 and levels.count(1) == 1
    assert all(later - before <= 1 for before, later in pairwise(levels))
    assert levels.count(3) > 2 * len(list(built.book.entries))


def test_every_link_is_told_in_words(pdf: Any) -> None:
    nums = list(pdf.Root.StructTreeRoot.ParentTree.Nums)
    links = 0
    for page in pdf.pages:
        for note in page.get("/Annots", []):
            element = nums[2 * int(note.StructParent) + 1]
            assert (kind(element), element.K.Type, element.K.Obj) == ("Link", Name.OBJR, note)
            assert re.search(r"(page|Hints|Answer|Worked)\s\d+$", str(note.Contents))
            assert str(element.Alt) == str(note.Contents)
            links += 1
    assert links > 100


def test_poppler_reads_the_words_apart(built: Any, tool: Any) -> None:
    """Where a line ends, the next word is not run into the last."""
    said = tool("pdfinfo", "-struct-text", built.pdf).stdout
    assert '"The Slow Train to Brindlemoor ' in said
    assert f'"1 {next(built.book.entries).title} page ' in said


def test_words_are_told_whole_where_a_line_divides_them(built: Any) -> None:
    """Each paragraph of the introduction as it was written, when soft hyphens (U+00AD) are dropped and what the
    file says is put together in order: no word is cut and none run together.
    """
    told = "\n".join(page.extract_text() for page in PdfReader(built.pdf).pages[4:6])
    assert "\u00ad" in told
    told = re.sub(r" ([,.])", r"\1", " ".join(told.replace("\u00ad\n", "").split()))
    parts = [" ".join(part.split()) for part in built.book.introduction.replace("*", "").split("\n\n")]
    assert len(parts) > 3
    for part in parts:
        assert part in told


def test_the_press_file_has_none_of_it(built: Any) -> None:
    with pikepdf.open(built.press) as press:
        assert "/StructTreeRoot" not in press.Root
        assert "/MarkInfo" not in press.Root
        for page in press.pages:
            assert not {str(item.operator) for item in pikepdf.parse_content_stream(page)} & {"BDC", "BMC"}
