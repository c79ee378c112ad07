"""Answers found by an engine outside the project."""

from __future__ import annotations

import signal
import subprocess
import sys
from collections.abc import Callable, Mapping, Sequence
from contextlib import chdir, redirect_stderr, redirect_stdout
from io import BytesIO, TextIOWrapper
from pathlib import Path
from typing import Any

import pytest
from ortools.sat.python import cp_model

from cagework.solver.crossing import runs
from cagework.solver.editing.compose import Recipe, compose
from cagework.solver.model import Answer, Puzzle
from cagework.typeset.commands.door import main
from cagework.typeset.manifest.load import load_book


def _run(*arguments: object, cwd: Path | None = None) -> subprocess.CompletedProcess[str]:
    words = list(map(str, arguments))
    out, err = (TextIOWrapper(BytesIO(), encoding="utf-8") for _ in range(2))
    with redirect_stdout(out), redirect_stderr(err), chdir(cwd or Path.cwd()):
        try:
            status = main(words)
        except SystemExit as end:
            status = int(end.code or 0)
    said = []
    for stream in (out, err):
        stream.seek(0)
        said.append(stream.read())
    return subprocess.CompletedProcess(words, status, *said)


@pytest.fixture(scope="session")
def run() -> Callable[..., subprocess.CompletedProcess[str]]:
    """A command with its arguments, in the tests' own process, to what its own would have said. What it raises is
    raised here.
    """
    return _run


def _only_answer(puzzle: Puzzle) -> Answer:
    size, model = puzzle.size, cp_model.CpModel()
    at = {cell: model.new_int_var(1, size, str(cell)) for cell in puzzle.cells}
    for group in (*puzzle.houses, *puzzle.cages):
        model.add_all_different([at[cell] for cell in group.cells])
    for cage in puzzle.cages:
        if cage.total is not None:
            model.add(sum(at[cell] for cell in cage.cells) == cage.total)
    for given in puzzle.givens:
        model.add(at[given.cell] == given.digit)
    for pair in puzzle.pairs:
        model.add(at[pair.first] != at[pair.second])
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(model) == cp_model.OPTIMAL
    digits = tuple(solver.value(at[cell]) for cell in puzzle.cells)
    model.add_forbidden_assignments(list(at.values()), [digits])
    assert solver.solve(model) == cp_model.INFEASIBLE, "there is a second answer"
    return puzzle.answer(digits)


@pytest.fixture(scope="session")
def only_answer() -> Callable[[Puzzle], Answer]:
    """A puzzle to its answer by OR-Tools CP-SAT, with the proof that there is no other; pairs must differ."""
    return _only_answer


def _crossing_part(puzzle: Puzzle, id: str = "made", **keys: object) -> dict[str, Any]:
    assert puzzle.shape is not None
    lines = ["".join("." if (row, col) in puzzle.cells else "#" for col in range(1, puzzle.columns + 1))
             for row in range(1, puzzle.rows + 1)]
    count, totals = len(runs(puzzle.shape)[0]), [cage.total for cage in puzzle.cages]
    return {"id": id, "kind": "crossing-sums", "map": "\n".join(lines), "across": totals[:count],
            "down": totals[count:], **keys}


@pytest.fixture(scope="session")
def crossing_part() -> Callable[..., dict[str, Any]]:
    """Crossing sums, with an id and any other keys, to what a manifest says of them."""
    return _crossing_part


@pytest.fixture(scope="session")
def cp_answers(sample: Path, once: Callable[..., Any]) -> Mapping[str, Answer]:
    """Each sample puzzle's only answer by OR-Tools CP-SAT."""
    book = load_book(sample).book
    assert book is not None
    found: Mapping[str, Answer] = once("cp-sat", lambda: {
        entry.id: _only_answer(entry.puzzle) for entry in book.entries})
    return found


@pytest.fixture(scope="session")
def sixes() -> Sequence[Puzzle]:
    """Grids of six."""
    return tuple(compose(seed, Recipe(size=6)).puzzle for seed in range(24))


REFRESHED = """
import os, signal, sys
from pathlib import Path
from cagework.typeset.host.cluster import Cluster
from cagework.typeset.pool.index import Index
from cagework.typeset.pool.refresh import refresh
from cagework.typeset.solving.cache import code_version
from cagework.typeset.solving.crew import Crew

left, address = int(sys.argv[3]), sys.argv[4]

def tick():
    global left
    left -= 1
    if left == 0:
        os.kill(os.getpid(), signal.SIGKILL)

with Index(Path(sys.argv[1])) as index:
    refresh(index, Path(sys.argv[2]), Crew(None, Cluster(address, code_version) if address else 1), 60.0, tick)
"""


@pytest.fixture(scope="session")
def refresh_killed() -> Callable[..., None]:
    """Bring an index of a folder up to date in a process that is killed after so many puzzles; solved here, or by
    the workers of a scheduler.
    """
    def killed(index: Path, shelf: Path, after: int, address: str = "") -> None:
        done = subprocess.run([sys.executable, "-c", REFRESHED, index, shelf, str(after), address], check=False)
        assert done.returncode == -signal.SIGKILL

    return killed
