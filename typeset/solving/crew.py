"""Many puzzles to findings: from the cache where they are kept, else worked out, side by side.

What a worker hands back are the bytes the cache keeps, so that a finding is the same however it came.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from math import factorial, log, perm
from types import TracebackType
from typing import TypeVar

from cagework.solver.combine import combinations
from cagework.solver.model import Puzzle
from cagework.solver.reasoning.reason import explain
from cagework.solver.search.exact import Outcome, Verdict, solve
from cagework.typeset.host.workers import LocalWorkers, Shift, Workers
from cagework.typeset.solving.cache import Cache
from cagework.typeset.solving.record import SOLVED, Result, decode, encode, puzzle_key
from cagework.typeset.solving.written import RecordError

Item = TypeVar("Item")
Made = TypeVar("Made")

_A_FINDING, _A_SEARCH = 1 / 6, 1 / 16
"""How much of what makes beginning processes worth while one puzzle is, worked out or searched again."""
_SHORT = -1.0
"""The length of a search, which is shorter than any working out."""


def found(puzzle: Puzzle, seconds: float | None) -> Result:
    """Solve a puzzle and, where it is sound, find its path, giving up on either after `seconds`."""
    start = time.perf_counter()
    verdict = solve(puzzle, seconds=seconds)
    ms = round((time.perf_counter() - start) * 1000, 3)
    path = explain(puzzle, seconds=seconds) if verdict.outcome is Outcome.SOUND else None
    return Result(verdict, ms, path)


def _found_bytes(puzzle: Puzzle, seconds: float | None) -> bytes:
    return encode(found(puzzle, seconds), puzzle)


def _searched(puzzle: Puzzle, seconds: float | None) -> Verdict:
    return solve(puzzle, seconds=seconds)


@dataclass(frozen=True, slots=True)
class _Asked:
    """A puzzle on its way; `doubted` is a kept finding that another search is to bear out."""

    number: int
    puzzle: Puzzle
    key: str
    doubted: Result | None = None


class Crew:
    """Solves puzzles, keeping what it finds in `cache` and, while it lives, in memory.

    `workers` do it, or as many processes of its own as that says. It is to be used by one thread at a time.
    `cache` is where its findings are kept.
    """

    def __init__(self, cache: Cache | None = None, workers: int | Workers = 1, *, keep: bool = False) -> None:
        """With `keep`, remember findings until closed, those cut short by the time allowed among them."""
        self.cache = cache
        self._workers: Workers = LocalWorkers(workers) if isinstance(workers, int) else workers
        self._kept: dict[tuple[str, float | None], bytes] | None = {} if keep else None

    @property
    def workers(self) -> int:
        """How many puzzles are solved at a time."""
        return self._workers.count

    def __enter__(self) -> Crew:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None,
                 trace: TracebackType | None) -> None:
        self.close()

    def close(self) -> None:
        """End the work at once, from any thread; what is being worked on is lost."""
        self._workers.close()

    def rest(self) -> None:
        """End the processes; they start anew when there is more to do."""
        self._workers.rest()

    def find(
        self, puzzles: Iterable[Puzzle], seconds: float | None, *, again: bool = False,
    ) -> Iterator[tuple[int, Result]]:
        """Yield (position, finding) for each puzzle, in the order they come to be known. The next puzzles are
        asked for while others are solved, and only so many are held as keep all workers busy.

        With `again`, as for print, a kept finding that a puzzle is sound is believed only where another search
        finds the same; else the puzzle is worked out as if nothing had been kept.
        """
        shift: Shift[_Asked] = Shift(self._workers)
        for number, puzzle in enumerate(puzzles):
            key = puzzle_key(puzzle)
            known = self._known(key, puzzle, seconds)
            if known is None:
                _ask(shift, _Asked(number, puzzle, key), seconds)
            elif again and known.verdict.outcome is Outcome.SOUND:
                asked = _Asked(number, puzzle, key, known)
                shift.add(asked, partial(_searched, puzzle, seconds), _SHORT, _A_SEARCH)
            else:
                yield number, known
            yield from self._settled(shift, seconds)
        yield from self._settled(shift, seconds, last=True)

    def each(self, job: Callable[[Item], Made], items: Iterable[Item]) -> Iterator[tuple[int, Made]]:
        """Yield (position, what a job makes of it) for each item, in the order they come; both must pickle."""
        shift: Shift[int] = Shift(self._workers)
        for number, item in enumerate(items):
            shift.add(number, partial(job, item), 0.0, _A_FINDING)
            yield from shift.results()
        yield from shift.results(last=True)

    def _settled(
        self, shift: Shift[_Asked], seconds: float | None, *, last: bool = False,
    ) -> Iterator[tuple[int, Result]]:
        """What has come to be known, put where it is kept."""
        for asked, made in shift.results(last=last):
            if asked.doubted is None:
                yield asked.number, self._put(asked, made, seconds)
            elif (made.outcome, made.answer) == (asked.doubted.verdict.outcome, asked.doubted.verdict.answer):
                yield asked.number, asked.doubted
            else:
                _ask(shift, _Asked(asked.number, asked.puzzle, asked.key), seconds)

    def _put(self, asked: _Asked, data: bytes, seconds: float | None) -> Result:
        finding = decode(data, asked.puzzle)
        if self._kept is not None:
            self._kept[asked.key, seconds] = data
        if self.cache is not None and finding.is_final:
            self.cache.put(SOLVED, asked.key, data)
        return finding

    def _known(self, key: str, puzzle: Puzzle, seconds: float | None) -> Result | None:
        data = self._kept.get((key, seconds)) if self._kept is not None else None
        if data is None and self.cache is not None:
            data = self.cache.get(SOLVED, key)
        try:
            return None if data is None else decode(data, puzzle)
        except RecordError:
            return None


def _ask(shift: Shift[_Asked], asked: _Asked, seconds: float | None) -> None:
    shift.add(asked, partial(_found_bytes, asked.puzzle, seconds), _looseness(asked.puzzle), _A_FINDING)


def _looseness(puzzle: Puzzle) -> float:
    """In how many ways its cages could be filled, each by itself, as a logarithm.

    It tells roughly how long a puzzle will take, better than the number of its cages does (measured). Begun last,
    a long one would keep a single process busy while the others have nothing left to do.
    """
    ways = [perm(puzzle.size, len(cage.cells)) if cage.total is None else
            len(combinations(puzzle.size, len(cage.cells), cage.total)) * factorial(len(cage.cells))
            for cage in puzzle.cages]
    return sum(map(log, filter(None, ways)))
