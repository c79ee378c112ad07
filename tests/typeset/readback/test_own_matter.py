"""What a publisher puts in besides puzzles with titles, in two languages: untitled puzzles, grades, index, pages.

The finished file is looked into with pikepdf and pdfium, which did not write it.
"""

from __future__ import annotations

import io
import re
import subprocess
import sys
from collections import Counter
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import Any

import pikepdf
import pypdfium2
import pytest

from cagework.solver.model import Answer
from cagework.solver.reasoning.reason import Reach
from cagework.typeset.book import Grades, Position, TextPage
from cagework.typeset.draw.setting import PageNumbers, Setting, puzzle_anchor
from cagework.typeset.editions import about_of
from cagework.typeset.layout_cache import LayoutCache
from cagework.typeset.manifest.load import load_book
from cagework.typeset.marks import Group, Text, flatten, groups
from cagework.typeset.pages import text_pages
from cagework.typeset.plan import DrawnOnDemand, Solved, lay_out, plan_book
from cagework.typeset.prose import Look, ProseBlock, ProseKind, Span
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.words import load_words
from cagework.typeset.write.pdf import pdf_bytes

LONG = "The Extraordinarily Long and Winding Name of a Puzzle That Needs Another Line in the Index"
TITLES = {"crossed-rails": "Ähre", "footbridge": None, "goods-yard": None, "milk-churns": LONG,
          "request-stop": None, "willow-crossing": "Zug 2"}
WORDS = {
    "en": {"puzzle": "Puzzle", "puzzles": "Puzzles 2–3", "grade": "Easy",
           "titles": ["Ähre", LONG[4:] + ", The", "Zug 2"]},
    "de": {"puzzle": "Rätsel", "puzzles": "Rätsel 2–3", "grade": "Leicht", "titles": ["Ähre", LONG, "Zug 2"]},
}
BOOK = """
book:
  title: Low Tide
  language: {language}
  puzzles_from: puzzles/*.yaml
  pages: {{first_hints: true}}
  grades: words
  grade_words: {{stroll: {grade}, climb: Middling, scramble: Steep, summit: Steepest}}
  index: [title, constructor, grade]
sections:
  - {{title: At the Quay, puzzles: [crossed-rails, footbridge, goods-yard, milk-churns]}}
  - {{title: Out at Sea, puzzles: [request-stop, willow-crossing], solutions: key}}
pages:
  - {{text: "*For all who wait.*", numbered: false}}
  - {{blank: true}}
  - title: A Word Before
    text: |
      # Why **now**

      Some *lean* and **strong** words.

      ## And what

      2. two
      3. three

      - a dot
  - {{title: In Between, text: Half way., place: {{before: Out at Sea}}}}
  - {{title: Thanks, text: To the harbour master., place: back}}
"""


class Own:
    """The book in one language, its finished file, and that file's pages as pdfium reads them."""

    def __init__(self, language: str, finished: Any) -> None:
        self.language, self.finished = language, finished
        self.words = WORDS[language]
        self.numbers = {anchor.name: number for number, page in enumerate(finished.original.laid.pages, 1)
                        for anchor in page.anchors}
        read = pypdfium2.PdfDocument(finished.data)
        self.texts = [page.get_textpage().get_text_range().replace("\r\n", "\n") for page in read]

    def page(self, anchor: str) -> str:
        """The text of the page where something begins."""
        return self.texts[self.numbers[anchor] - 1]


@pytest.fixture(scope="module", params=["en", "de"])
def own(request: Any, root: Path, tmp_path_factory: pytest.TempPathFactory, finish: Callable[..., Any]) -> Own:
    folder = tmp_path_factory.mktemp("own")
    (folder / "puzzles").mkdir()
    for name, title in TITLES.items():
        text = (root / "books" / "slow-train" / "puzzles" / f"{name}.yaml").read_text(encoding="utf-8")
        text = re.sub(r"^title:.*\n", f"title: {title}\n" if title else "", text, flags=re.M)
        (folder / "puzzles" / f"{name}.yaml").write_text(text, encoding="utf-8")
    manifest = folder / "book.yaml"
    manifest.write_text(BOOK.format(language=request.param, grade=WORDS[request.param]["grade"]), encoding="utf-8")
    reading = load_book(manifest)
    assert reading.book is not None, reading.faults
    return Own(request.param, finish(reading, reading.book))


def test_the_file_is_the_book(own: Own) -> None:
    assert own.finished.told(own.finished.data) == []


def test_the_contents_gather_untitled_puzzles_and_name_the_pages_of_ones_own(own: Own) -> None:
    rows = [line.split() for line in own.page("contents").splitlines()]
    first = own.numbers[puzzle_anchor("footbridge")]
    assert [*own.words["puzzles"].split(), own.words["grade"], str(first)] in rows
    assert [own.words["puzzle"], "5", own.words["grade"], str(own.numbers[puzzle_anchor("request-stop")])] in rows
    named = ["A Word Before", "In Between", "Thanks"]
    for number, title in zip((3, 4, 5), named, strict=True):
        assert [*title.split(), str(own.numbers[f"text-{number}"])] in rows
    last = [row[:-1] for row in rows if row and row[-1].isdigit()]
    assert [" ".join(row) for row in last if " ".join(row) in named] == named


def test_an_untitled_puzzle_goes_by_its_number_everywhere(own: Own) -> None:
    said = f"{own.words['puzzle']} 5"
    for anchor in (puzzle_anchor("request-stop"), "worked", "index"):
        assert said in own.page(anchor), anchor
    everything = "\n".join(own.texts)
    assert everything.count(said) >= 6          # puzzle, contents, hints, answers, worked, index
    assert "None" not in everything


def test_grades_are_said_in_the_publishers_words_and_without_marks(own: Own) -> None:
    assert own.words["grade"] in own.page(puzzle_anchor("footbridge"))
    assert not any(group.name == "grade" and group.marks
                   for page in own.finished.original.laid.pages for group in groups(page.marks))


def test_a_book_without_grades_says_none(own: Own, fonts: Fonts) -> None:
    original = own.finished.original
    for shown, words, peaks in (
            (Grades.NONE, False, False), (Grades.WORDS, True, False), (Grades.MARKS, True, True)):
        book = replace(original.book, grades=shown, index=())
        laid = lay_out(book, original.solved, fonts, load_words(own.language))
        texts = {mark.string for page in laid.pages for mark in flatten(page.marks) if isinstance(mark, Text)}
        found = [mark for page in laid.pages for mark in groups(page.marks) if mark.name == "grade" and mark.marks]
        assert (own.words["grade"] in texts, bool(found)) == (words, peaks), shown


def test_that_nobody_needs_to_guess_is_said_only_where_every_path_is_whole(own: Own, fonts: Fonts) -> None:
    original, words = own.finished.original, load_words(own.language)
    first, *others = original.book.sections
    tried = replace(first, entries=(replace(first.entries[0], reach=Reach.TRIAL), *first.entries[1:]))
    that_is_all, promise = words.no_guessing.split()[:2], words.no_guessing.split()[-2:]
    for sections, promised in ((original.book.sections, True), ((tried, *others), False)):
        laid = lay_out(replace(original.book, sections=sections), original.solved, fonts, words)
        said = [" ".join(mark.string for mark in flatten(page.marks) if isinstance(mark, Text)).split()
                for page in laid.pages]
        together = [[*pair] for page in said for pair in pairwise(page)]
        assert (that_is_all in together, promise in together) == (True, promised)


def test_the_index_is_filed_by_letters_and_cuts_no_name(own: Own) -> None:
    text = " ".join(own.page("index").split())
    places = [text.find(title.split()[0]) for title in own.words["titles"]]
    assert -1 not in places and places == sorted(places)
    letters = re.sub(r"\W", "", text)
    assert re.sub(r"\W", "", own.words["titles"][1]) in letters and "…" not in text


def test_each_row_of_the_index_is_a_link_to_the_page_it_names(own: Own) -> None:
    """By pdfium's text inside each link's rectangle, and pikepdf's way from the link to its page."""
    number = own.numbers["index"]
    with pikepdf.open(io.BytesIO(own.finished.data)) as pdf:
        pages = {page.objgen: place for place, page in enumerate(pdf.pages, 1)}
        links = [(tuple(float(edge) for edge in note.Rect), pages[note.Dest[0].objgen])
                 for note in pdf.pages[number - 1].Annots]
    text = pypdfium2.PdfDocument(own.finished.data)[number - 1].get_textpage()
    for rect, page in links:
        said = text.get_text_bounded(*rect).split()
        assert said[-1] == str(page), said
    times = Counter(page for _, page in links)
    for name, title in TITLES.items():
        due = {"goods-yard": {0, 1}, "footbridge": {2}, "request-stop": {2}}  # the first two go together
        assert times[own.numbers[puzzle_anchor(name)]] in ({3} if title else due[name]), name


def test_a_wrong_page_in_the_index_is_found(own: Own, fonts: Fonts) -> None:
    original = own.finished.original
    plan = plan_book(original.book, original.solved, fonts, load_words(own.language), LayoutCache())
    anchor = puzzle_anchor("willow-crossing")
    wrong = replace(plan, pages=PageNumbers({**plan.pages.of, anchor: plan.pages.of[anchor] + 1}))
    at = plan.pages.of["index"]
    pages = DrawnOnDemand(len(plan.leaves), lambda number: (wrong if number == at else plan).page(number))
    data = pdf_bytes(pages, plan.bookmarks(), about_of(original.book), fonts)
    told = own.finished.told(data)
    assert f"page {at}, index: 'Zug 2' is not in it with page {plan.pages.of[anchor]}" in told
    assert not [line for line in told if line.startswith(f"page {at}, index: 'Ähre'")]


def test_lists_are_lists_to_those_who_hear_them(own: Own, tmp_path: Path) -> None:
    """ISO 32000-1, 14.8.4.3.3: L holds LI, LI holds Lbl and LBody; table 347: ListNumbering."""
    with pikepdf.open(io.BytesIO(own.finished.data)) as pdf:
        kids = pdf.Root.StructTreeRoot.K.K
        lists = [one for one in kids if one.S == "/L"]
        shape = [(str(one.A.ListNumbering), [[str(leaf.S) for leaf in item.K] for item in one.K]) for one in lists]
        item = ["/Lbl", "/LBody"]
        assert shape == [("/Decimal", [item, item]), ("/Disc", [item])]
        assert all(item.P.objgen == one.objgen and leaf.P.objgen == item.objgen
                   for one in lists for item in one.K for leaf in item.K)
        levels = [int(str(one.S)[2:]) for one in kids if re.fullmatch("/H[1-6]", str(one.S))]
        assert max(levels) == 4
        assert all(deep <= before + 1 for before, deep in pairwise([0, *levels]))
        lists[0].K[0].S = pikepdf.Name("/Div")
        out = io.BytesIO()
        pdf.save(out)
    assert any("lists are not told as lists" in line for line in own.finished.told(out.getvalue()))
    file = tmp_path / "own.pdf"
    file.write_bytes(own.finished.data)
    done = subprocess.run([sys.executable, "-m", "pdfua", "check", "--format", "json", str(file)],
                          capture_output=True, text=True, check=False)
    assert set(re.findall(r'"rule_id": ?"([^"]+)"', done.stdout)) == {"UA-28-004"}      # the claim alone


def test_pages_of_ones_own_stand_where_they_should(own: Own) -> None:
    at = own.numbers
    assert at["imprint"] < at["text-1"] < at["text-2"] < at["contents"] < at["text-3"] < at["how"]
    assert at[puzzle_anchor("milk-churns")] < at["text-4"] < at["section-2"]
    assert at["worked"] < at["index"] < at["text-5"]
    assert own.texts[at["text-2"] - 1].strip() == ""
    assert own.texts[at["text-1"] - 1].split() == ["For", "all", "who", "wait."]
    (words,) = [mark for mark in flatten(own.finished.original.laid.pages[at["text-1"] - 1].marks)
                if isinstance(mark, Text)]
    assert words.y > own.finished.original.laid.setting.block(1).height / 4, "sunk, as it is alone there"
    assert str(at["text-3"]) in own.page("text-3").split()


def test_no_page_of_a_text_ends_with_fewer_than_five_lines(own: Own, fonts: Fonts) -> None:
    setting = Setting.of(own.finished.original.book, fonts, load_words(own.language))
    kinds = (ProseKind.PARAGRAPH, ProseKind.HEADING, ProseKind.PARAGRAPH, ProseKind.ITEM)
    several = 0
    for count in range(4, 90):
        said = [(Span("Some words on a line. " * (number % 5 + 2), Look.PLAIN),) for number in range(count)]
        blocks = tuple(ProseBlock(kinds[number % 4], spans) for number, spans in enumerate(said))
        leaves = text_pages(setting, 0, TextPage("Long", blocks, Position.BACK, None, True, False))
        parts = [leaf.draw(PageNumbers({}), setting.block(number)) for number, leaf in enumerate(leaves, 1)]
        lines = [{round(mark.y, 2) for mark in flatten(part.marks) if isinstance(mark, Text)} for part in parts]
        assert len(lines) == 1 or min(map(len, lines)) >= 5, count
        for part in parts[:-1]:
            last = [mark for mark in part.marks if isinstance(mark, Group)][-1]
            assert last.tag not in ("H2", "H3"), count
        several += len(parts) > 1
    assert several > 40


def test_untitled_books_of_any_grid_count_have_short_contents(own: Own, fonts: Fonts) -> None:
    """A hundred untitled puzzles are one row."""
    book = own.finished.original.book
    bare = replace(book.sections[0].entries[1], grade=None)
    many = tuple(replace(bare, id=f"p{number}") for number in range(100))
    whole = replace(book, sections=(replace(book.sections[0], entries=many),), text_pages=(), index=(),
                    pages=replace(book.pages, first_hints=False))
    answers = {entry.id: Answer(9, (1,) * 81) for entry in many}
    laid = lay_out(whole, Solved(answers, {}), fonts, load_words(own.language))
    (contents,) = [page for page in laid.pages if any(anchor.name == "contents" for anchor in page.anchors)]
    texts = [mark.string for mark in flatten(contents.marks) if isinstance(mark, Text)]
    assert any("1–100" in text for text in texts)
    assert len([link for link in contents.links if link.target.startswith("puzzle-")]) == 1


def test_a_layout_says_how_grades_are_shown_unless_the_book_does(tmp_path: Path, root: Path) -> None:
    layout = (root / "layouts" / "shelf" / "a5-one-up.yaml").read_text(encoding="utf-8")
    (tmp_path / "own.yaml").write_text(f"{layout}\ngrades: none\n", encoding="utf-8")
    puzzle = "  - {id: a, size: 4, cages: [" + ", ".join(f"{{sum: 10, cells: r{n}c1-r{n}c4}}" for n in range(1, 5))
    for said, shown in (("", Grades.NONE), ("  grades: words\n", Grades.WORDS)):
        manifest = tmp_path / "book.yaml"
        top = f"book:\n  title: T\n  layout: own.yaml\n{said}"
        manifest.write_text(f"{top}puzzles:\n{puzzle}]}}\n", encoding="utf-8")
        book = load_book(manifest).book
        assert book is not None and book.grades is shown
