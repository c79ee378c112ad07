"""A puzzle to its answers, its worked solution and its grade."""

from __future__ import annotations

from cagework.solver.errors import PuzzleError
from cagework.solver.model import Puzzle
from cagework.solver.reasoning.grade import Rating, rate
from cagework.solver.reasoning.reason import explain as path_of
from cagework.solver.search.exact import Outcome, Verdict
from cagework.solver.search.exact import solve as search
from cagework.typeset.entry import Entry
from cagework.typeset.library.asked import chosen, entry_of
from cagework.typeset.solving.explained import Explanation, explanation
from cagework.typeset.solving.worked import work_out
from cagework.typeset.words import languages
from cagework.typeset.words.sentences import Sentences


def solve(puzzle: Entry | Puzzle, *, seconds: float | None = None) -> Verdict:
    """Return whether a puzzle has no answer, exactly one, or more: `outcome`, with `answer` and `second`.

    One answer is proved to be the only one. After `seconds` the search gives up, and the outcome is UNDECIDED.
    Raises PuzzleError where it cannot be a puzzle at all.
    """
    return search(entry_of(puzzle).puzzle, seconds=seconds)


def explain(puzzle: Entry | Puzzle, *, language: str = "en", seconds: float | None = None) -> Explanation:
    """Return the worked solution step by step, in the words of a language (`en`, `de`), with its grade.

    Of a puzzle that has not exactly one answer the steps go as far as they can. `seconds` bounds the search for
    the answer and, as so much work rather than by the clock, that for the steps. Raises PuzzleError where it
    cannot be a puzzle at all, ChoiceError for a language without words.
    """
    sentences = Sentences(chosen(language, languages(), "language"))
    entry = entry_of(puzzle)
    verdict = search(entry.puzzle, seconds=seconds)
    only = verdict.answer if verdict.outcome is Outcome.SOUND else None
    return explanation(work_out(entry, seconds), sentences, only)


def grade(puzzle: Entry | Puzzle) -> Rating:
    """Return how hard a puzzle is: `grade`, the `score` behind it, and what that is made of.

    Raises PuzzleError where it has not exactly one answer: then it has no grade.
    """
    entry = entry_of(puzzle)
    verdict = search(entry.puzzle)
    if verdict.outcome is not Outcome.SOUND:
        raise PuzzleError(f"only a puzzle with one answer has a grade; this one has "
                          f"{'none' if verdict.outcome is Outcome.NO_ANSWER else 'more than one'}")
    return rate(path_of(entry.puzzle))
