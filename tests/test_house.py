"""The house rules, held by machines: imports point one way, types are strict, modules are small."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest
import yaml

ROOMS = ("solver", "layouts", "typeset")


def modules(root: Path) -> list[Path]:
    return [path for room in ROOMS for path in sorted((root / room).rglob("*.py"))]


def test_no_module_is_over_four_hundred_lines(root: Path) -> None:
    long = {str(path.relative_to(root)): count for path in [*modules(root), *(root / "tests").rglob("*.py")]
            if (count := len(path.read_text(encoding="utf-8").splitlines())) > 400}
    assert long == {}


HOOKS = {hook["id"]: str(hook["entry"]).split() for hook in yaml.safe_load(
    (Path(__file__).parents[1] / ".pre-commit-config.yaml").read_text(encoding="utf-8"))["repos"][0]["hooks"]}


@pytest.mark.parametrize("check", ["ruff", "types", "imports"])
def test_what_is_checked_before_a_commit_holds(root: Path, check: str) -> None:
    """As .pre-commit-config.yaml and pyproject.toml have it, whatever environment the suite runs in."""
    programs = f"{Path(sys.executable).parent}/"
    command = [word.replace(".venv/bin/", programs) for word in HOOKS[check]]
    done = subprocess.run(command, cwd=root, capture_output=True, text=True, check=False)
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
