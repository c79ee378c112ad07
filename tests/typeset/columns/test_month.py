"""The sample month as an editor, a reader and a press get it: sizes, words, answers, read back from the files."""

from __future__ import annotations

import csv
import ctypes
import io
import re
import xml.etree.ElementTree as ET
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

import pikepdf
import pypdfium2
import pypdfium2.raw as pdfium
import pytest
from babel.dates import format_date
from ortools.sat.python import cp_model

from cagework.layouts.column import shelf_slot
from cagework.solver.reasoning.grade import Grade
from cagework.solver.search.exact import solve
from cagework.typeset.columns.run import profile_of
from cagework.typeset.columns.schema import WEEKDAYS
from cagework.typeset.commands.door import main
from cagework.typeset.manifest.load import load_book
from cagework.typeset.preflight.report import preflight

MM = 72 / 25.4
At = tuple[int, int]
OWN_RULES = ("crossed-rails", "four-windows", "stable-yard")


@dataclass(frozen=True)
class Said:
    """A puzzle as its plain text states it: sums and their cells, regions where they are told, and the answer."""

    cages: dict[tuple[At, ...], int]
    regions: list[tuple[At, ...]]
    text: str
    answer: str


def said(path: Path) -> Said:
    """Read an alt text by its own words: `17 in r1c1 r1c2` or `17 in z1s1 z1s2`."""
    text = path.read_text(encoding="utf-8")
    told = re.search(r"(?:Regions|Blöcke): ([^.]*)\.", text)
    regions = [cells_of(part) for part in told[1].split(";")] if told else []
    cages = {}
    for number, cells in re.findall(r"(\d+) in ((?:[rz]\d+[cs]\d+ ?)+)", text.replace(";", "|").replace(".", "|")):
        cages[cells_of(cells)] = int(number)
    rows = text.rstrip("\n").split("\n")[-9:]
    return Said(cages, regions, text, "".join(rows))


def cells_of(text: str) -> tuple[At, ...]:
    return tuple((int(row), int(column)) for row, column in re.findall(r"[rz](\d+)[cs](\d+)", text))


def solved(puzzle: Said) -> str:
    """The answer by OR-Tools CP-SAT, and the proof that there is no other."""
    model, span = cp_model.CpModel(), range(1, 10)
    at = {(row, column): model.new_int_var(1, 9, "") for row in span for column in span}
    houses = [[(n, i) for i in span] for n in span] + [[(i, n) for i in span] for n in span]
    houses += puzzle.regions or [
        [(r + i, c + j) for i in range(3) for j in range(3)] for r in (1, 4, 7) for c in (1, 4, 7)]
    for cells in (*houses, *puzzle.cages):
        model.add_all_different([at[cell] for cell in cells])
    for cells, total in puzzle.cages.items():
        model.add(sum(at[cell] for cell in cells) == total)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model) == cp_model.OPTIMAL
    digits = [solver.value(at[row, column]) for row in span for column in span]
    model.add_forbidden_assignments([at[row, column] for row in span for column in span], [digits])
    assert solver.solve(model) == cp_model.INFEASIBLE
    return "".join(map(str, digits))


def rows(month: Any) -> list[dict[str, str]]:
    with (month.folder / "index.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_every_date_has_its_files_and_no_others_are_there(month: Any) -> None:
    listed = {name for row in rows(month) for name in (row["pdf"], row["svg"], row["txt"])}
    assert {path.name for path in month.folder.iterdir()} == listed | {"index.csv", "contact-sheet.pdf"}
    assert len(rows(month)) == 62 and len(listed) == 186
    assert "2027-03-01-two-column.pdf" in listed and "2027-03-31-single-column.svg" in listed


def test_the_week_rises_from_gentle_to_fierce_and_no_puzzle_comes_twice(month: Any) -> None:
    wanted = {WEEKDAYS[day]: grade for day, grade in month.series.days.items()}
    found = rows(month)
    assert all(row["grade"] == row["wanted"] == wanted[row["weekday"].lower()] for row in found)
    assert (wanted["monday"], wanted["saturday"]) == (Grade.STROLL, Grade.SCRAMBLE)
    two = [row["puzzle"] for row in found if row["slot"] == "two-column"]
    assert len(set(two)) == 31
    assert two == [row["puzzle"] for row in found if row["slot"] == "single-column"]


def test_the_manual_shows_a_day_of_it(month: Any, pictures: Any) -> None:
    """Should it not: look at what has changed, and say `python tests/pictures.py --write`."""
    (picture,) = pictures.of_month(month.folder).values()
    assert pictures.like(picture, pictures.kept("column"))


def test_every_page_is_its_slot_to_a_hundredth_of_a_millimetre(month: Any) -> None:
    """Read by pikepdf: one page, media and trim alike; and the SVG's own size."""
    for row in rows(month):
        slot = shelf_slot(row["slot"])
        with pikepdf.open(month.folder / row["pdf"]) as pdf:
            (page,) = pdf.pages
            for box in (page.mediabox, page.trimbox):
                left, low, right, top = map(float, box)
                assert (right - left) / MM == pytest.approx(slot.width, abs=0.01)
                assert (top - low) / MM == pytest.approx(slot.height, abs=0.01)
        svg = ET.parse(month.folder / row["svg"]).getroot()
        assert float(svg.attrib["width"].removesuffix("mm")) == pytest.approx(slot.width, abs=0.01)
        assert float(svg.attrib["height"].removesuffix("mm")) == pytest.approx(slot.height, abs=0.01)


def test_heading_and_grid_stand_at_one_place_on_all_dates(month: Any) -> None:
    """As pdfium finds the first letter, and the frame, which is the largest path of lines alone."""
    for slot in month.series.slots:
        places = set()
        for path in sorted(month.folder.glob(f"*-{slot.name}.pdf")):
            page = pypdfium2.PdfDocument(path)[0]
            paths = [one.get_bounds() for one in page.get_objects() if one.type == pdfium.FPDF_PAGEOBJ_PATH]
            frame = max(paths, key=lambda box: (box[2] - box[0]) * (box[3] - box[1]))
            found = (*page.get_textpage().get_charbox(0), *frame)
            places.add(tuple(round(number, 2) for number in found))
        assert len(places) == 1, slot.name


def test_every_slot_passes_the_preflight_for_newsprint_with_nothing_found(month: Any) -> None:
    profiles = {slot.name: profile_of(slot) for slot in month.series.slots}
    for row in rows(month):
        report = preflight((month.folder / row["pdf"]).read_bytes(), profiles[row["slot"]])
        assert report.findings == (), row["pdf"]


def test_the_preflight_command_passes_one_too(month: Any, capsys: pytest.CaptureFixture[str]) -> None:
    path = month.folder / "2027-03-06-single-column.pdf"
    slot = shelf_slot("single-column")
    trim = f"{slot.width:g}x{slot.height:g}"
    assert main(["preflight", str(path), "--stock", "newsprint", "--trim", trim]) == 0, capsys.readouterr().out


def test_every_face_is_embedded_and_subset(month: Any) -> None:
    """Read by pikepdf: each font has its file within."""
    for path in month.folder.glob("*.pdf"):
        with pikepdf.open(path) as pdf:
            fonts = [font for page in pdf.pages for font in page.Resources.Font.values()]
            assert fonts and all("/FontFile2" in font.FontDescriptor for font in fonts), path


def test_ghostscript_finds_black_and_no_other_ink(month: Any, tool: Callable[..., Any]) -> None:
    for name in ("2027-03-02-two-column.pdf", "2027-03-30-single-column.pdf"):
        done = tool("gs", "-q", "-o", "-", "-sDEVICE=inkcov", month.folder / name)
        cyan, magenta, yellow, black = map(float, done.stdout.split()[:4])
        assert (cyan, magenta, yellow) == (0, 0, 0) and 0 < black < 0.5


def test_poppler_calls_them_pdf_x_for_press(month: Any, tool: Callable[..., Any]) -> None:
    done = tool("pdfinfo", month.folder / "2027-03-02-two-column.pdf")
    assert "PDF/X-1a:2003" in done.stdout


def test_the_words_say_a_puzzle_whose_only_answer_they_print(month: Any) -> None:
    """The alt text of every date covers the grid; that of every sixth, and of crooked
    regions, is read back and solved by CP-SAT. Puzzles
    with rules of their own are solved elsewhere.
    """
    plain = [row for row in rows(month) if row["slot"] == "two-column" and row["puzzle"] not in OWN_RULES]
    puzzles = [said(month.folder / row["txt"]) for row in plain]
    assert all(sorted(cell for cells in one.cages for cell in cells) == [
        (row, column) for row in range(1, 10) for column in range(1, 10)] for one in puzzles)
    some = puzzles[::6] + [one for one in puzzles if one.regions]
    assert len(some) >= 5 and some[-1].regions
    for one in some:
        assert solved(one) == one.answer


def test_both_languages_say_the_same_puzzle(month: Any) -> None:
    for row in rows(month):
        if row["slot"] == "single-column":
            one, other = (said(month.folder / f"{row['date']}-{name}.txt")
                          for name in ("two-column", "single-column"))
            assert (one.cages, one.answer) == (other.cages, other.answer)
            assert one.text != other.text


def test_the_answer_printed_is_the_solvers(month: Any) -> None:
    """Every answer against what `cagework check` proves, by way of the plain text."""
    known = {one.id: one.entry.puzzle for path in month.series.pool
             for one in load_book(path, puzzles_suffice=True).puzzles if one.entry}
    for row in rows(month):
        assert said(month.folder / row["txt"]).answer == str(solve(known[row["puzzle"]]).answer)


@dataclass(frozen=True)
class Drawn:
    """What pdfium finds on a page: texts with their boxes, and square frames, largest first; pt, y up."""

    texts: list[tuple[str, tuple[float, float, float, float]]]
    frames: list[tuple[float, float, float, float]]

    @property
    def under(self) -> list[tuple[float, float, float, float]]:
        """The frames below the largest."""
        return [box for box in self.frames if box[3] < self.frames[0][1]]


def bounds(thing: Any) -> tuple[float, float, float, float]:
    edges = [ctypes.c_float() for _ in range(4)]
    assert pdfium.FPDFPageObj_GetBounds(thing.raw, *map(ctypes.byref, edges))
    left, low, right, top = (edge.value for edge in edges)
    return left, low, right, top


def drawn(path: Path) -> Drawn:
    page = pypdfium2.PdfDocument(path)[0]
    words = page.get_textpage()
    texts, frames = [], []
    for thing in page.get_objects():
        box = bounds(thing)
        if thing.type == pdfium.FPDF_PAGEOBJ_TEXT:
            length = pdfium.FPDFTextObj_GetText(thing.raw, words.raw, None, 0)
            buffer = (pdfium.FPDF_WCHAR * (length // 2))()
            pdfium.FPDFTextObj_GetText(thing.raw, words.raw, buffer, length)
            texts.append((bytes(buffer).decode("utf-16-le").rstrip("\0"), box))
        elif abs((box[2] - box[0]) - (box[3] - box[1])) < 0.1 and box[2] - box[0] > 50:
            frames.append(box)
    return Drawn(texts, sorted(frames, key=lambda box: box[0] - box[2]))


def figures(page: Drawn, frame: tuple[float, float, float, float]) -> Iterator[tuple[At, str]]:
    """Cell (row, column) and figures of each text within a grid of nine, found by the middle of its box."""
    left, low, right, top = frame
    cell = (right - left) / 9
    for text, (x0, y0, x1, y1) in page.texts:
        x, y = (x0 + x1) / 2, (y0 + y1) / 2
        if left < x < right and low < y < top:
            yield (int((top - y) / cell) + 1, int((x - left) / cell) + 1), text.strip()


@pytest.mark.parametrize("slot", ["two-column", "single-column"])
def test_the_sums_on_the_page_stand_where_the_words_say(slot: str, month: Any) -> None:
    """Read by pdfium from the finished PDF: every sum in the first cell of its cage, and nothing else."""
    for row in rows(month):
        if row["slot"] == slot:
            page = drawn(month.folder / row["pdf"])
            assert dict(figures(page, page.frames[0])) == {
                min(cells): str(total) for cells, total in said(month.folder / row["txt"]).cages.items()}


@pytest.mark.parametrize("slot", ["two-column", "single-column"])
def test_the_small_answer_is_yesterdays_upside_down(slot: str, month: Any) -> None:
    """Read by pdfium, turned back by half: the 81 digits of the day before's plain text."""
    days = [row for row in rows(month) if row["slot"] == slot]
    for before, row in pairwise(days):
        page = drawn(month.folder / row["pdf"])
        found = dict(figures(page, page.under[0]))
        turned = "".join(found[10 - r, 10 - c] for r in range(1, 10) for c in range(1, 10))
        assert turned == said(month.folder / before["txt"]).answer
    assert drawn(month.folder / days[0]["pdf"]).under == [], "nothing was printed before the first"


def test_words_are_in_the_language_of_the_slot(month: Any) -> None:
    """Dates as CLDR has them, by babel."""
    for row in rows(month):
        text = (month.folder / row["txt"]).read_text(encoding="utf-8")
        day = next(day.date for day in month.series.dates() if day.date.isoformat() == row["date"])
        assert format_date(day, "full", locale=row["language"].replace("-", "_")) in text
    assert {row["language"] for row in rows(month)} == {"en-GB", "de"}


def test_svg_words_are_outlines_unless_live_text_is_asked_for(
    month: Any, own: Callable[..., Path], tmp_path: Path,
) -> None:
    plain = ET.parse(month.folder / "2027-03-02-two-column.svg").getroot()
    assert not [one for one in plain.iter() if one.tag.endswith("}text")]
    assert main(["columns", str(own(count=1)), "--out", str(tmp_path / "live"), "--svg-text", "live"]) == 0
    live = ET.parse(tmp_path / "live" / "2027-03-01-single-column.svg").getroot()
    words = ["".join(one.itertext()) for one in live.iter() if one.tag.endswith("}text")]
    assert "Cage Sums" in words
    assert all("Source" in one.attrib["font-family"] for one in live.iter() if one.tag.endswith("}text"))


def test_the_contact_sheet_shows_every_date_on_a4(month: Any) -> None:
    """Read by pdfium. A4 is 210 x 297 mm (ISO 216)."""
    pdf = pypdfium2.PdfDocument(io.BytesIO((month.folder / "contact-sheet.pdf").read_bytes()))
    said_all = ""
    for page in pdf:
        kinds = [pdfium.FPDF_PAGEOBJ_TEXT, pdfium.FPDF_PAGEOBJ_PATH]
        boxes = [bounds(thing) for thing in page.get_objects(filter=kinds)]
        assert min(min(box[:2]) for box in boxes) > 5 * MM and max(box[2] for box in boxes) < 205 * MM, "no margin"
        assert (page.get_width() / MM, page.get_height() / MM) == pytest.approx((210, 297), abs=0.01)
        said_all += page.get_textpage().get_text_range()
    assert all(f"No. {number}" in said_all for number in range(1042, 1073))
    assert len(pdf) <= 5
