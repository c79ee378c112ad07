"""Many puzzles to findings: from the cache where they are kept, else worked out, on all cores.

What a worker process hands back are the bytes the cache keeps, so that a finding is the same however it came.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence
from functools import partial
from math import factorial, log, perm
from types import TracebackType
from typing import TYPE_CHECKING

from cagework.solver.combine import combinations
from cagework.solver.model import Puzzle
from cagework.solver.reasoning.reason import explain
from cagework.solver.search.exact import Outcome, Verdict, solve
from cagework.typeset.host.collector import collect_seldom
from cagework.typeset.host.processes import end_with_parent, held_back
from cagework.typeset.solving.cache import Cache
from cagework.typeset.solving.record import SOLVED, Result, decode, encode, puzzle_key
from cagework.typeset.solving.written import RecordError

if TYPE_CHECKING:
    from concurrent.futures import Future, ProcessPoolExecutor

_WORTH_STARTING = 6
"""As many puzzles as make starting processes, half a second, worth while."""
_WORTH_FORKING = 16
"""As many kept findings as make forking, for another search of each, worth while."""


def found(puzzle: Puzzle, seconds: float | None) -> Result:
    """Solve a puzzle and, where it is sound, find its path, giving up on either after `seconds`."""
    start = time.perf_counter()
    verdict = solve(puzzle, seconds=seconds)
    ms = round((time.perf_counter() - start) * 1000, 3)
    path = explain(puzzle, seconds=seconds) if verdict.outcome is Outcome.SOUND else None
    return Result(verdict, ms, path)


def _found_bytes(puzzle: Puzzle, seconds: float | None) -> bytes:
    return encode(found(puzzle, seconds), puzzle)


def _searched(puzzles: Sequence[Puzzle], seconds: float | None) -> list[Verdict]:
    return [solve(puzzle, seconds=seconds) for puzzle in puzzles]


class Crew:
    """Solves puzzles, keeping what it finds in `cache` and, while it lives, in memory.

    With more than one of `workers` it starts processes of its own as soon as there is enough to do, and ends them
    when it is closed. It is to be used by one thread at a time. `cache` is where its findings are kept.
    """

    def __init__(self, cache: Cache | None = None, workers: int = 1, *, keep: bool = False) -> None:
        """With `keep`, remember findings until closed, those cut short by the time allowed among them."""
        self.cache = cache
        self.workers = workers
        self._kept: dict[tuple[str, float | None], bytes] | None = {} if keep else None
        self._pool: ProcessPoolExecutor | None = None
        self._others: set[int | None] = set()
        self._closed = False

    def __enter__(self) -> Crew:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None,
                 trace: TracebackType | None) -> None:
        self.close()

    def close(self) -> None:
        """End the processes at once, from any thread; what they were working on is lost."""
        self._closed = True
        self._stop()

    def rest(self) -> None:
        """End the processes; they start anew when there is more to do."""
        self._stop()

    def _stop(self) -> None:
        if self._pool is None:
            return
        import multiprocessing
        pool, self._pool = self._pool, None
        for child in multiprocessing.active_children():
            if child.pid not in self._others:
                child.terminate()
        pool.shutdown(wait=True, cancel_futures=True)    # nobody is left: at once; unwaited, it would complain

    def find(
        self, puzzles: Sequence[Puzzle], seconds: float | None, *, again: bool = False,
    ) -> Iterator[tuple[int, Result]]:
        """Yield (position, finding) for each puzzle, in the order they come to be known.

        With `again`, as for print, a kept finding that a puzzle is sound is believed only where another search
        finds the same; else the puzzle is worked out as if nothing had been kept.
        """
        keys = [puzzle_key(puzzle) for puzzle in puzzles]
        todo: list[int] = []
        doubted: dict[int, Result] = {}
        for number, puzzle in enumerate(puzzles):
            known = self._known(keys[number], puzzle, seconds)
            if known is None:
                todo.append(number)
            elif again and known.verdict.outcome is Outcome.SOUND:
                doubted[number] = known
            else:
                yield number, known
        for number, verdict in self._searched_again(puzzles, list(doubted), seconds):
            known = doubted[number]
            if (verdict.outcome, verdict.answer) == (known.verdict.outcome, known.verdict.answer):
                yield number, known
            else:
                todo.append(number)
        for number, data in self._worked_out(puzzles, todo, seconds):
            finding = decode(data, puzzles[number])
            if self._kept is not None:
                self._kept[keys[number], seconds] = data
            if self.cache is not None and finding.is_final:
                self.cache.put(SOLVED, keys[number], data)
            yield number, finding

    def _known(self, key: str, puzzle: Puzzle, seconds: float | None) -> Result | None:
        data = self._kept.get((key, seconds)) if self._kept is not None else None
        if data is None and self.cache is not None:
            data = self.cache.get(SOLVED, key)
        try:
            return None if data is None else decode(data, puzzle)
        except RecordError:
            return None

    def _searched_again(
        self, puzzles: Sequence[Puzzle], numbers: Sequence[int], seconds: float | None,
    ) -> Iterator[tuple[int, Verdict]]:
        """The verdicts on some of the puzzles; a search takes two milliseconds or so: they are shared in runs."""
        if not numbers:
            return
        from cagework.typeset.host.parallel import sharing
        workers = self.workers if len(numbers) >= _WORTH_FORKING else 1
        runs = [run for first in range(2 * workers) if (run := numbers[first::2 * workers])]
        jobs = [partial(_searched, [puzzles[number] for number in run], seconds) for run in runs]
        for run, verdicts in zip(runs, sharing(workers)(jobs), strict=True):
            yield from zip(run, verdicts, strict=True)

    def _worked_out(
        self, puzzles: Sequence[Puzzle], todo: Sequence[int], seconds: float | None,
    ) -> Iterator[tuple[int, bytes]]:
        left = dict.fromkeys(todo)
        if self.workers > 1 and (len(todo) >= _WORTH_STARTING or self._pool is not None):
            from concurrent.futures.process import BrokenProcessPool
            try:
                for number, data in self._shared_out(puzzles, todo, seconds):
                    del left[number]
                    yield number, data
            except BrokenProcessPool:
                if self._closed:
                    raise
                self._stop()        # a worker was killed: go on without
        for number in left:
            yield number, _found_bytes(puzzles[number], seconds)

    def _shared_out(
        self, puzzles: Sequence[Puzzle], todo: Sequence[int], seconds: float | None,
    ) -> Iterator[tuple[int, bytes]]:
        from concurrent.futures import as_completed
        pool = self._started()
        hardest_first = sorted(todo, key=lambda number: _looseness(puzzles[number]), reverse=True)
        with held_back():       # what is submitted may begin processes
            waiting: dict[Future[bytes], int] = {
                pool.submit(_found_bytes, puzzles[number], seconds): number for number in hardest_first}
        for future in as_completed(waiting):
            yield waiting[future], future.result()

    def _started(self) -> ProcessPoolExecutor:
        if self._pool is None:
            import multiprocessing
            from concurrent.futures import ProcessPoolExecutor

            from cagework.typeset.host.parallel import may_fork
            self._others = {child.pid for child in multiprocessing.active_children()}
            way = "fork" if may_fork() else "spawn"     # a forked worker need not read all our modules again
            self._pool = ProcessPoolExecutor(
                self.workers, mp_context=multiprocessing.get_context(way), initializer=_settle_in)
        return self._pool


def _looseness(puzzle: Puzzle) -> float:
    """In how many ways its cages could be filled, each by itself, as a logarithm.

    It tells roughly how long a puzzle will take, better than the number of its cages does (measured). Begun last,
    a long one would keep a single process busy while the others have nothing left to do.
    """
    ways = [perm(puzzle.size, len(cage.cells)) if cage.total is None else
            len(combinations(puzzle.size, len(cage.cells), cage.total)) * factorial(len(cage.cells))
            for cage in puzzle.cages]
    return sum(map(log, filter(None, ways)))


def _settle_in() -> None:
    end_with_parent()
    collect_seldom()
