"""Fit is computed: what does not fit says by how much, what is dropped is dropped in order, and told."""

from __future__ import annotations

import csv
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pypdfium2
import pytest

from cagework.solver.rules import RULES
from cagework.typeset.faults import NotBuilt
from cagework.typeset.words import languages
from cagework.typeset.words.sentences import Sentences

PARTS = "[heading, date, title, grid, rules, hint, answer]"


DIAGONAL = """\
id: d
title: Diagonals
size: 4
grade: stroll
map: |
  aabb
  accd
  eefd
  effd
sums: {a: 9, b: 4, c: 3, d: 9, e: 8, f: 7}
houses: [diagonals]
"""
"""Composed for this test."""


@pytest.fixture
def in_slot(own: Callable[..., Path], made: Callable[..., Any], tmp_path: Path) -> Callable[..., Any]:
    """Make a series of two dates in a slot of some height."""
    def make(height: float, carries: str = PARTS, sacrifice: str = "[]", column: str = "45 mm",
             extra: str = "") -> Any:
        (tmp_path / "mine.yaml").write_text(
            f"title: Mine\ncolumns: 1\ncolumn: {column}\nheight: {height:.4f} mm\ncarries: {carries}\n"
            f"sacrifice: {sacrifice}\n{extra}")
        manifest = own(count=2, slots="[{slot: mine.yaml, sizes: [4]}]")
        return made(manifest, tmp_path / f"out-{height:.4f}-{len(sacrifice)}-{len(carries)}")

    return make


def refusals(in_slot: Callable[..., Any], *arguments: Any, **keywords: Any) -> list[str]:
    with pytest.raises(NotBuilt) as caught:
        in_slot(*arguments, **keywords)
    return [fault.message for fault in caught.value.faults]


def over(text: str) -> float:
    found = re.search(r"is ([\d.]+) mm too", text)
    assert found, text
    return float(found[1])


def test_the_error_says_by_how_much_and_what_to_drop(in_slot: Callable[..., Any]) -> None:
    """The slot made higher by just so much holds all; by a tenth of a millimetre less it does not. Without the
    part named the slot as it was holds the rest.
    """
    said = refusals(in_slot, 60)
    worst = max(said, key=over)
    assert all("at the smallest sizes newsprint holds" in text for text in said)
    assert in_slot(60 + over(worst) + 0.01).stored.changed
    assert refusals(in_slot, 60 + over(worst) - 0.1)
    part, saving = re.search(r"dropping '(\w+)' would save ([\d.]+) mm", worst).groups()  # type: ignore[union-attr]
    assert float(saving) >= over(worst)
    names = re.findall(r"\w+", PARTS)
    kept = ", ".join(name for name in names if name != part)
    assert in_slot(60, carries=f"[{kept}]").stored.changed


def test_a_line_of_two_parts_begins_at_one_edge_and_ends_at_the_other(
    in_slot: Callable[..., Any], tmp_path: Path,
) -> None:
    """Measured by pdfium on the page: as much is left free at the right as at the left."""
    done = in_slot(140, carries="[[number, date], grid]")
    page = pypdfium2.PdfDocument(next(path for path in done.stored.files if path.suffix == ".pdf"))[0]
    texts = [one.get_bounds() for one in page.get_objects(filter=[pypdfium2.raw.FPDF_PAGEOBJ_TEXT])]
    top = max(box[3] for box in texts)
    line = [box for box in texts if top - box[3] < 4]
    left, right = min(box[0] for box in line), page.get_width() - max(box[2] for box in line)
    assert len(line) >= 2 and left < 6
    assert right == pytest.approx(left, abs=1)


def test_parts_are_sacrificed_in_the_order_given_and_reported(in_slot: Callable[..., Any]) -> None:
    roomy, tight = in_slot(140, sacrifice="[rules, hint]"), in_slot(64, sacrifice="[rules, hint]")
    left_out = "2027-03-02-mine: {} left out for want of room"
    assert not any("left out" in note for note in roomy.notes)
    assert left_out.format("rules") in tight.notes
    other = in_slot(64, sacrifice="[hint, rules]")
    assert left_out.format("hint") in other.notes
    assert left_out.format("rules") not in other.notes


def test_a_part_stays_that_has_room_where_a_later_one_has_to_go(in_slot: Callable[..., Any]) -> None:
    """The hint goes first and is not enough; the rules are, so that it can come back."""
    notes = in_slot(62, sacrifice="[hint, rules]").notes
    assert [note for note in notes if "left out" in note] == ["2027-03-02-mine: rules left out for want of room"]


def test_no_more_is_sacrificed_than_must_be(in_slot: Callable[..., Any], tmp_path: Path) -> None:
    done = in_slot(62, sacrifice="[rules, hint]")
    text = next(path for path in done.stored.files if path.name == "2027-03-02-mine.svg").read_text()
    assert "First hint" in text and "heavily outlined" not in text


def test_several_parts_are_named_where_one_is_not_enough(in_slot: Callable[..., Any]) -> None:
    first = max(refusals(in_slot, 40), key=over)
    found = re.search(r"dropping ('.*') would save ([\d.]+) mm", first)
    assert found and found[1].count("'") >= 4 and float(found[2]) >= over(first)


def test_a_part_over_the_grid_goes_on_all_dates_or_on_none(own: Callable[..., Path], made: Callable[..., Any],
                                                           tmp_path: Path) -> None:
    """On the first date the answer of the date before is missing, and there would be room for the credit."""
    def dropped(height: float) -> list[str]:
        (tmp_path / "mine.yaml").write_text(
            f"title: Mine\ncolumns: 1\ncolumn: 45 mm\nheight: {height} mm\nsacrifice: [credit, rules]\n"
            "carries: [heading, credit, grid, rules, answer]\n")
        out = tmp_path / f"out-{height}"
        made(own(count=2, slots="[{slot: mine.yaml, sizes: [4]}]"), out)
        with (out / "index.csv").open(encoding="utf-8", newline="") as file:
            return [row["dropped"] for row in csv.DictReader(file)]

    assert dropped(140.0) == ["", ""]
    tight = next(found for found in map(dropped, range(70, 30, -2)) if found[1])
    assert tight == ["credit", "credit"]


def test_a_grid_too_high_alone_is_said_to_be(in_slot: Callable[..., Any]) -> None:
    assert all("with the grid alone it would still be too high" in text for text in refusals(in_slot, 10))


def test_a_column_too_narrow_says_by_how_much(in_slot: Callable[..., Any]) -> None:
    (text, *_) = refusals(in_slot, 140, carries="[grid]", column="12 mm")
    assert "mm too wide" in text and "higher" not in text
    assert in_slot(140, carries="[grid]", column=f"{12 + over(text) + 0.01:.3f} mm").stored.changed


def test_a_long_word_too_wide_for_its_column_is_found(in_slot: Callable[..., Any], tmp_path: Path) -> None:
    with pytest.raises(NotBuilt, match=r"2027-03-01-mine: the matter is .* too wide"):
        in_slot(140, carries="[heading, grid]", column="17 mm", extra="type: {heading: 40 pt}\n")


@pytest.mark.parametrize(("carries", "sacrifice", "height"), [
    ("[grid, rules]", "[]", 90), ("[grid]", "[]", 90), ("[grid, rules]", "[rules]", 30),
])
def test_a_rule_of_the_puzzles_own_is_printed_whatever_goes(
    carries: str, sacrifice: str, height: float, made: Callable[..., Any], tmp_path: Path,
) -> None:
    """The last slot has no room for the rules line, but the rule of the diagonals stays."""
    (tmp_path / "d.yaml").write_text(DIAGONAL)
    (tmp_path / "mine.yaml").write_text(f"title: Mine\ncolumns: 1\ncolumn: 45 mm\nheight: {height} mm\n"
                                        f"carries: {carries}\nsacrifice: {sacrifice}\n")
    manifest = tmp_path / "own.yaml"
    manifest.write_text("series: {id: own, title: A, start: 2027-03-01, count: 1, days: {monday: stroll}}\n"
                        "pool: d.yaml\nslots: [{slot: mine.yaml, sizes: [4]}]\n")
    done = made(manifest, tmp_path / "out")
    said = " ".join(re.findall('aria-label="([^"]*)"', (tmp_path / "out" / "2027-03-01-mine.svg").read_text()))
    assert said.count("long diagonals") == 1
    assert ("Each row, column" in said) is ("rules" in carries and sacrifice == "[]")
    assert ("2027-03-01-mine: rules left out for want of room" in done.notes) is (sacrifice != "[]")


@pytest.mark.parametrize("language", languages())
def test_several_rules_at_once_are_all_printed_in_a_narrow_slot(
    language: str, made: Callable[..., Any], tmp_path: Path,
) -> None:
    """Seven sentences beside the usual ones in a column of 45 mm, whatever has to go for them."""
    rules = ("{odd: r2c1 r3c1}", "{even: r1c1 r4c2}", "{greater: r1c2 r1c3}", "{consecutive: r2c2 r2c3}",
             "{double: r1c1 r1c2}", "{rising: r1c4 r2c3 r3c2}")
    (tmp_path / "d.yaml").write_text(f"{DIAGONAL}rules: [{', '.join(rules)}]\n")
    manifest = tmp_path / "own.yaml"
    manifest.write_text("series: {id: own, title: A, start: 2027-03-01, count: 1, days: {monday: stroll}}\n"
                        f"pool: d.yaml\nslots: [{{slot: single-column, sizes: [4], language: {language}}}]\n")
    made(manifest, tmp_path / "out")
    svg = (tmp_path / "out" / "2027-03-01-single-column.svg").read_text()
    said = letters(" ".join(re.findall('aria-label="([^"]*)"', svg)))
    sentences = [RULES[name] for name in ("diagonals", *(rule[1:].partition(":")[0] for rule in rules))]
    for rule in sentences:
        assert letters(Sentences(language).text(rule.sentence).format(least=1, most=4)) in said


def letters(text: str) -> str:
    """Without the hyphens and spaces at the ends of lines."""
    return "".join(filter(str.isalnum, text))
