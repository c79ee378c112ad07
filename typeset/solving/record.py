"""What solving found of a puzzle, as bytes that can be kept, and back again: exactly, or not at all.

The form is JSON, compressed, behind a SHA-256 of its name and itself: nothing is ever unpickled. A record only
means something beside the puzzle it was made of, which is not kept.
"""

from __future__ import annotations

import hashlib
import json
import zlib
from dataclasses import dataclass
from typing import Any

from cagework.solver.model import Puzzle
from cagework.solver.reasoning.reason import Path, PathOutcome
from cagework.solver.recheck import obeys
from cagework.solver.search.exact import Outcome, Verdict
from cagework.typeset.solving.written import PathReader, PathWriter, RecordError, answer_of, digits_of

_DIGEST = hashlib.sha256().digest_size
SOLVED = "solved"
"""What entries of findings are called in a cache."""
_LEVEL = 3      # of zlib: a tenth of the size; more takes longer than it saves


@dataclass(frozen=True, slots=True)
class Result:
    """What solving found: the verdict, the milliseconds it took, and the worked path of a sound puzzle."""

    verdict: Verdict
    ms: float
    path: Path | None

    @property
    def is_final(self) -> bool:
        """Whether more time could not change it."""
        return self.verdict.outcome is not Outcome.UNDECIDED and (
            self.path is None or self.path.outcome is not PathOutcome.OUT_OF_BUDGET)


def puzzle_key(puzzle: Puzzle) -> str:
    """The SHA-256, in hexadecimal, of everything a puzzle states; names of houses count, as paths name them."""
    stated = [
        puzzle.size,
        [(house.name, house.kind, house.cells) for house in puzzle.houses],
        [(cage.cells, cage.total) for cage in puzzle.cages],
        [(given.cell, given.digit) for given in puzzle.givens],
        [(pair.first, pair.second, pair.allowed) for pair in puzzle.pairs],
        [(one.plus, one.minus, one.totals) for one in puzzle.sums],
        [(domain.cell, domain.digits) for domain in puzzle.domains],
        puzzle.shape and (puzzle.shape.rows, puzzle.shape.columns, puzzle.shape.cells),
        [(one.ends, one.inner) for one in puzzle.betweens],
        puzzle.least,
    ]
    return text_key(json.dumps(stated, separators=(",", ":")))


def text_key(text: str) -> str:
    """The SHA-256 of a text, in hexadecimal."""
    return hashlib.sha256(text.encode()).hexdigest()


def sealed(value: object, name: str) -> bytes:
    """A JSON value as compressed bytes that tell whether they were damaged, or stand under another name."""
    body = zlib.compress(json.dumps(value, separators=(",", ":")).encode(), _LEVEL)
    return _seal(name, body) + body


def unsealed(data: bytes, name: str) -> Any:
    """The JSON value of bytes sealed under this name. Raises RecordError where they are not, or are damaged."""
    body = data[_DIGEST:]
    if len(data) <= _DIGEST or _seal(name, body) != data[:_DIGEST]:
        raise RecordError("not a whole record of that name")
    try:
        return json.loads(zlib.decompress(body))
    except (zlib.error, ValueError) as error:
        raise RecordError(str(error)) from error


def _seal(name: str, body: bytes) -> bytes:
    return hashlib.sha256(name.encode() + b"\0" + body).digest()


def seal_of(puzzle: Puzzle) -> str:
    """The name under which findings of a puzzle are sealed: it covers all the puzzle states."""
    return f"{SOLVED} {puzzle_key(puzzle)}"


def encode(finding: Result, puzzle: Puzzle) -> bytes:
    """A finding of `puzzle` as bytes."""
    verdict = finding.verdict
    return sealed([
        verdict.outcome.value, verdict.nodes, digits_of(verdict.answer), digits_of(verdict.second), finding.ms,
        finding.path and PathWriter(puzzle).path(finding.path),
    ], seal_of(puzzle))


def decode(data: bytes, puzzle: Puzzle) -> Result:
    """The finding that `encode` made of the same puzzle, every answer in it checked against the puzzle again.

    Raises RecordError.
    """
    try:
        outcome, nodes, one, two, ms, path = unsealed(data, seal_of(puzzle))
        verdict = Verdict(Outcome(outcome), answer_of(one, puzzle), answer_of(two, puzzle), nodes)
        finding = Result(verdict, ms, path and PathReader(puzzle).path(path))
    except (ValueError, TypeError, IndexError, KeyError, AttributeError) as error:
        raise RecordError(str(error)) from error
    if not _holds(finding, puzzle):
        raise RecordError("its answers are not the puzzle's")
    return finding


def _holds(finding: Result, puzzle: Puzzle) -> bool:
    """Whether the answers obey the puzzle and are as many as the outcome says, and the path ends in the answer."""
    verdict, path = finding.verdict, finding.path
    answers = [answer for answer in (verdict.answer, verdict.second) if answer is not None]
    wanted = {Outcome.NO_ANSWER: 0, Outcome.SOUND: 1, Outcome.TWO_ANSWERS: 2}.get(verdict.outcome, len(answers))
    return (
        len(set(answers)) == wanted
        and all(obeys(puzzle, answer) for answer in answers)
        and (path is None or path.answer in (None, verdict.answer))
    )
