"""What stands beside the drawings: the plain text of each date, and the index of all of them."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator

from cagework.solver.model import Answer
from cagework.typeset.columns.fit import Fitted
from cagework.typeset.columns.issue import Issue, Phrases, ProvedPuzzle
from cagework.typeset.columns.store import COLUMNS
from cagework.typeset.draw.describe import describe
from cagework.typeset.entry import Entry


def plain_text(issue: Issue) -> str:
    """An issue as UTF-8 text: for each puzzle title, credit, grade, the puzzle in words, and its answer."""
    words = issue.phrases.words.columns
    lines = [issue.heading, f"{words.date}: {issue.phrases.date(issue.day.date)}",
             words.number.format(number=issue.day.number), issue.rules]
    for one in issue.puzzles:
        lines += ["", *_puzzle_lines(issue.phrases, one)]
    return "\n".join(lines) + "\n"


def _puzzle_lines(phrases: Phrases, one: ProvedPuzzle) -> Iterator[str]:
    words, entry = phrases.words, one.entry
    if entry.title:
        yield f"{words.columns.title}: {entry.title}"
    if entry.by:
        yield f"{words.columns.credit}: {entry.by}"
    if entry.grade:
        yield f"{words.columns.grade}: {words.grades[entry.grade]}"
    yield f"{words.columns.in_words}: {in_words(phrases, entry)}"
    yield f"{words.columns.answer}:"
    yield from answer_rows(one.answer)


def in_words(phrases: Phrases, entry: Entry) -> str:
    """The whole puzzle in words: its size, every cage with its sum and cells, its givens, its own rules."""
    return describe(entry, phrases.words.described, phrases.sentences)


def answer_rows(answer: Answer) -> Iterator[str]:
    """The answer, a line a row, letters from A above 9."""
    digits = str(answer)
    for start in range(0, len(digits), answer.columns):
        yield digits[start:start + answer.columns]


def index_text(fitted: Iterable[Fitted]) -> str:
    """The index as CSV (RFC 4180, but for plain line ends)."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(COLUMNS)
    for one in fitted:
        issue = one.issue
        slot = issue.slot.design
        for place, puzzle in enumerate(issue.puzzles, 1):
            entry = puzzle.entry
            writer.writerow((
                issue.day.date.isoformat(), f"{issue.day.date:%A}", issue.slot.name, issue.slot.language,
                issue.day.number, place, entry.id, entry.title or "", entry.by or "", entry.grade, issue.day.grade,
                f"{issue.stem}.pdf", f"{issue.stem}.svg", f"{issue.stem}.txt", f"{slot.width:.3f}",
                f"{slot.height:.3f}", f"{one.squeeze:.3f}", " ".join(one.dropped),
            ))
    return out.getvalue()
