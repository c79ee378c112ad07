"""The house rules, held by machines: imports point one way, types are strict, modules are small."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

ROOMS = ("solver", "layouts", "typeset")


def modules(root: Path) -> list[Path]:
    return [path for room in ROOMS for path in sorted((root / room).rglob("*.py"))]


def test_no_module_is_over_four_hundred_lines(root: Path) -> None:
    long = {str(path.relative_to(root)): count for path in [*modules(root), *(root / "tests").rglob("*.py")]
            if (count := len(path.read_text(encoding="utf-8").splitlines())) > 400}
    assert long == {}


def test_imports_point_one_way(root: Path) -> None:
    """import-linter's contracts in pyproject.toml, exhaustive: a module nobody placed fails too."""
    done = subprocess.run([sys.executable, "-c", "from importlinter.cli import lint_imports; "
                           "raise SystemExit(lint_imports(config_filename='pyproject.toml', no_cache=True))"],
                          cwd=root, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout


def test_ruff_finds_nothing(root: Path) -> None:
    done = subprocess.run([sys.executable, "-m", "ruff", "check", "--no-cache", "."], cwd=root,
                          capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout


def test_types_are_strict_throughout(root: Path, tmp_path: Path) -> None:
    """As pyproject.toml has it: mypy sees the rooms as cagework by the links in `.types`."""
    done = subprocess.run([sys.executable, "-m", "mypy", "--cache-dir", str(tmp_path)], cwd=root,
                          env={"PATH": ""}, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize("name", ["typeset.commands.door"])
def test_nobody_imports_a_door(root: Path, name: str) -> None:
    texts = {path: path.read_text(encoding="utf-8") for path in modules(root) if path.name != "__main__.py"}
    users = [path for path, text in texts.items()
             if f"cagework.{name} import" in text or f"import cagework.{name}" in text]
    assert users == []


def test_a_worker_process_loads_what_solving_needs_and_no_more() -> None:
    """It imports the program's start again, as multiprocessing's way of spawning has it."""
    code = ("import cagework.typeset.__main__, cagework.typeset.solving.crew, sys; "
            "print(sorted({name.partition('.')[0] for name in sys.modules}))")
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(ast.literal_eval(done.stdout))
    assert "cagework" in loaded
    assert not loaded & {"babel", "fontTools", "pydantic", "pypdf", "reportlab", "rich", "svgwrite", "yaml"}
