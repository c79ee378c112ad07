"""Planted errors: `python tests/bench/mutants.py --rooms search proving --each 8 --seed 1`.

Of each room a seeded sample of small errors is planted in its source, one at a time, in a copy of the tree: a
comparison moved or turned round, a number one off, `and` for `or`, a condition negated, an operator exchanged, a
statement dropped, nothing returned. The room's own tests run over each, then those of the rooms that use it.
An error is *killed* where a test fails, *timed out* where the tests take several times the processor time they
should, and *survives* where all pass. The test that failed is named: one that has nothing to do with the error
kills nothing. A survivor is a hole in the tests, or changes nothing that anybody could tell: which of the two is
for a reader to say, so each is printed with its place.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import resource
import shutil
import signal
import subprocess
import sys
import tempfile
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from copy import deepcopy
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from queue import SimpleQueue

ROOT = Path(__file__).parents[2]
COPIED = ("solver", "layouts", "typeset", "tests", "books", "README.md", "DEVELOPERS.md", "pyproject.toml")
HANGS = 100
"""What stands for the status of tests that did not end by themselves."""


@dataclass(frozen=True, slots=True)
class Room:
    """Where errors are planted (`deep`: in folders below too) and what is run: the near tests, then the wide."""

    folder: str
    near: tuple[str, ...]
    wide: tuple[str, ...] = ()
    deep: bool = False


def _typeset(name: str, *more: str, wide: tuple[str, ...] = (), deep: bool = False) -> Room:
    return Room(f"typeset/{name}", tuple(f"tests/typeset/{part}" for part in more or (name,)),
                tuple(f"tests/typeset/{part}" for part in wide), deep)


ROOMS = {
    "facts": Room("solver", (*(f"tests/solver/test_{name}.py" for name in (
        "combine", "support", "rules", "symmetry", "listed")), "tests/solver/search"),
                  ("tests/solver", "tests/outside", "tests/typeset/manifest", "tests/typeset/draw")),
    "rules": Room("solver/rules", ("tests/solver/test_rules.py", "tests/outside/test_rules_that_decide.py"),
                  ("tests/solver", "tests/outside", "tests/typeset/manifest", "tests/typeset/words")),
    "search": Room("solver/search", ("tests/solver/search", "tests/solver/test_support.py"), ("tests/outside",)),
    "reasoning": Room("solver/reasoning", ("tests/solver/reasoning",),
                      ("tests/solver/proving", "tests/typeset/solving"), deep=True),
    "proving": Room("solver/proving", ("tests/solver/proving", "tests/solver/reasoning")),
    "editing": Room("solver/editing", ("tests/solver/editing", "tests/outside/test_diagnosis.py"),
                    ("tests/typeset/solving/test_diagnose.py",)),
    "layouts": Room("layouts",
                    ("tests/layouts", "tests/typeset/columns/test_slots.py", "tests/typeset/test_plan.py"),
                    ("tests/typeset/columns", "tests/typeset/draw", "tests/test_docs.py")),
    "book": Room("typeset", ("tests/typeset/test_plan.py", "tests/typeset/test_no_room.py", "tests/typeset/write",
                             "tests/typeset/commands"),
                 ("tests/typeset/press", "tests/typeset/manifest", "tests/typeset/solving",
                  "tests/typeset/readback", "tests/typeset/desk/test_galley.py")),
    "manifest": _typeset("manifest", wide=("commands", "columns")),
    "text": _typeset("text", wide=("draw", "write", "words")),
    "trade": _typeset("trade", wide=("press",)),
    "words": _typeset("words", wide=("solving",)),
    "solving": _typeset("solving", wide=("commands",)),
    "draw": _typeset("draw", "draw", "write", wide=("press", "readback", "columns", "test_plan.py")),
    "write": _typeset("write", wide=("press",)),
    "reader": _typeset("reader", "preflight", "press", wide=("readback",)),
    "preflight": _typeset("preflight", "preflight", "press", wide=("readback",), deep=True),
    "readback": _typeset("readback"),
    "columns": _typeset("columns"),
    "commands": _typeset("commands", "commands", "readback/test_doors.py",
                         wide=("solving", "columns", "desk/test_server.py")),
    "desk": _typeset("desk", *(
        f"desk/test_{name}.py" for name in ("galley", "server", "pencil", "saving", "worker")), wide=("desk",)),
    "host": _typeset("host", wide=("write", "solving")),
}


@dataclass(frozen=True, slots=True)
class Planted:
    """One error: where it is, what it changes, and the module's source with it."""

    file: str
    line: int
    change: str
    source: str


_OTHER: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.In: ast.NotIn, ast.NotIn: ast.In, ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.And: ast.Or, ast.Or: ast.And,
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Add, ast.FloorDiv: ast.Mult, ast.Div: ast.Mult,
    ast.BitAnd: ast.BitOr, ast.BitOr: ast.BitAnd, ast.BitXor: ast.BitOr, ast.LShift: ast.RShift,
    ast.RShift: ast.LShift,
}


def changes(node: ast.AST, rng: random.Random) -> Iterator[ast.AST]:
    """What may stand in a node's place."""
    new = deepcopy(node)
    match new:
        case ast.Compare(ops=[op, *_]) if type(op) in _OTHER:
            new.ops[0] = _OTHER[type(op)]()  # type: ignore[call-overload]
            yield new
        case ast.BoolOp(op=op) | ast.BinOp(op=op) if type(op) in _OTHER:
            new.op = _OTHER[type(op)]()  # type: ignore[assignment]
            yield new
        case ast.UnaryOp(op=ast.Not()):
            yield new.operand
        case ast.Constant(value=bool(value)):
            yield ast.Constant(not value)
        case ast.Constant(value=int(value)):
            yield ast.Constant(value + rng.choice((-1, 1)))
        case ast.If() | ast.While() | ast.IfExp():
            new.test = ast.UnaryOp(ast.Not(), new.test)
            yield new
        case ast.Return(value=value) if value is not None:
            yield ast.Return(None)
        case ast.Expr(value=ast.Call()) | ast.AugAssign():
            yield ast.Pass()
        case ast.Continue():
            yield ast.Break()
        case ast.Break():
            yield ast.Continue()


class _Swap(ast.NodeTransformer):
    def __init__(self, old: ast.AST, new: ast.AST) -> None:
        self.old, self.new = old, new

    def visit(self, node: ast.AST) -> ast.AST:
        """The other node where it is the one."""
        return self.new if node is self.old else super().visit(node)


def sites(tree: ast.Module) -> list[ast.AST]:
    """The nodes of a module outside annotations and decorators."""
    found: list[ast.AST] = []

    def walk(node: ast.AST) -> None:
        for name, value in ast.iter_fields(node):
            if name in ("annotation", "returns", "decorator_list"):
                continue
            for child in value if isinstance(value, list) else [value]:
                if isinstance(child, ast.AST):
                    found.append(child)
                    walk(child)

    walk(tree)
    return found


def planted(name: str, each: int, seed: int) -> list[Planted]:
    """A sample of a room's errors, the same for the same seed."""
    room, rng = ROOMS[name], random.Random(f"{name} {seed}")
    found: list[tuple[Path, ast.Module, ast.AST, ast.AST]] = []
    folder = ROOT / room.folder
    for path in sorted(folder.rglob("*.py") if room.deep else folder.glob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in sites(tree):
            found += [(path, tree, node, new) for new in changes(node, rng)]
    made = []
    for path, tree, node, new in rng.sample(found, min(each, len(found))):
        source = ast.unparse(ast.fix_missing_locations(_Swap(node, new).visit(_copied(tree, node))))
        line = getattr(node, "lineno", 0)
        made.append(Planted(str(path.relative_to(ROOT)), line, f"{_short(node)}  ->  {_short(new)}", source))
    return made


def _copied(tree: ast.Module, node: ast.AST) -> ast.Module:
    """A copy of the tree that keeps this one node itself, so that it can be found again."""
    return deepcopy(tree, {id(node): node})


def _short(node: ast.AST) -> str:
    text = ast.unparse(ast.fix_missing_locations(deepcopy(node))).split("\n")[0]
    return text if len(text) <= 90 else text[:87] + "..."


class Copy:
    """A copy of the tree in which errors are planted; its tests import it, whatever is installed."""

    def __init__(self, folder: Path) -> None:
        self.tree, self.path = folder / "tree", folder / "path"
        self.tree.mkdir()
        for name in COPIED:
            here = ROOT / name
            if here.is_dir():
                shutil.copytree(here, self.tree / name, ignore=shutil.ignore_patterns("__pycache__", "out"))
            else:
                shutil.copy(here, self.tree / name)
        (self.path / "cagework").mkdir(parents=True)
        for name in ("solver", "layouts", "typeset"):
            (self.path / "cagework" / name).symlink_to(self.tree / name, target_is_directory=True)

    def tests(self, which: Sequence[str], limit: int | None) -> tuple[int, float, str]:
        """Run tests; pytest's status, or HANGS, the processor seconds taken by it and all it started, and which
        test failed.
        """
        def limited() -> None:
            signal.signal(signal.SIGINT, signal.SIG_DFL)   # in the background it would be ignored
            if limit is not None:
                resource.setrlimit(resource.RLIMIT_CPU, (limit, limit + 5))

        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        command = [sys.executable, "-m", "pytest", "-q", "-x", "-n", "0", "-p", "no:cacheprovider", *which]
        process = subprocess.Popen(
            command, cwd=self.tree, env={**os.environ, "PYTHONPATH": str(self.path)}, preexec_fn=limited,
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, start_new_session=True)
        try:
            said, _ = process.communicate(timeout=None if limit is None else 20 * limit)
        except subprocess.TimeoutExpired:
            os.killpg(process.pid, signal.SIGKILL)
            process.communicate()
            return HANGS, 0.0, ""
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        taken = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
        if limit is None and process.returncode > 0:
            raise RuntimeError(f"the tests fail as they are: {said.decode()[-3000:]}")
        if process.returncode == -signal.SIGTERM:   # by somebody else
            return self.tests(which, limit)
        lines = said.decode(errors="replace").splitlines()
        failed = [line for line in lines if line.startswith(("FAILED", "ERROR"))]
        return HANGS if process.returncode < 0 else process.returncode, taken, "".join(failed[-1:])

    def plant(self, error: Planted) -> None:
        """Write the module with the error in it."""
        self._write(error.file, error.source)

    def mend(self, error: Planted) -> None:
        """Write the module as it was."""
        self._write(error.file, (ROOT / error.file).read_text(encoding="utf-8"))

    def _write(self, file: str, source: str) -> None:
        path = self.tree / file
        path.write_text(source, encoding="utf-8")
        for compiled in (path.parent / "__pycache__").glob(f"{path.stem}.*.pyc"):
            compiled.unlink()


def judged(
    error: Planted, room: Room, copies: SimpleQueue[Copy], usual: Sequence[float],
) -> tuple[str, str]:
    """Plant one error and say what became of it, killed, timed out or survived, and by which test."""
    copy = copies.get()
    try:
        copy.plant(error)
        for which, seconds in zip((room.near, room.wide), usual, strict=True):
            if which:
                status, _, failed = copy.tests(which, int(4 * seconds) + 30)
                if status:
                    return "timed out" if status == HANGS else "killed", failed
        return "survived", ""
    finally:
        copy.mend(error)
        copies.put(copy)


def main() -> None:
    """Plant, run, and print."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--rooms", nargs="+", choices=ROOMS, default=list(ROOMS), metavar="ROOM",
                        help=" ".join(ROOMS))
    parser.add_argument("--each", type=int, default=6, help="errors a room")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=2, help="copies of the tree tested side by side")
    parser.add_argument("--near", action="store_true", help="leave out the wider tests")
    options = parser.parse_args()
    table = {name: Counter[str]() for name in options.rooms}
    with tempfile.TemporaryDirectory() as kept:
        copies: SimpleQueue[Copy] = SimpleQueue()
        for number in range(options.jobs):
            (folder := Path(kept) / str(number)).mkdir()
            copies.put(Copy(folder))
        with ThreadPoolExecutor(options.jobs) as pool:
            for name in options.rooms:
                room = ROOMS[name] if not options.near else replace(ROOMS[name], wide=())
                copies.put(first := copies.get())
                usual = [first.tests(which, None)[1] if which else 0.0 for which in (room.near, room.wide)]
                print(f"# {name}: its tests take {usual[0]:.0f} s, the wider ones {usual[1]:.0f} s", flush=True)
                errors = planted(name, options.each, options.seed)
                ends = pool.map(partial(judged, room=room, copies=copies, usual=usual), errors)
                for error, (end, failed) in zip(errors, ends, strict=True):
                    table[name][end] += 1
                    print(f"{end:10} {error.file}:{error.line}: {error.change}",
                          *([f"           {failed}"] if failed else []), sep="\n", flush=True)
    print(f"\n{'room':12}planted  killed  timed out  survived")
    for name, row in table.items():
        print(f"{name:12}{row.total():7}{row['killed']:8}{row['timed out']:11}{row['survived']:10}")


if __name__ == "__main__":
    main()
