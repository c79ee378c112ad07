"""What a user installs: built as an archive, then a wheel from it, and compared with the tree."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOMS = ("solver", "layouts", "typeset")
FACE = "typeset/face"
"""The folder that is installed as `cagework` itself."""


@pytest.fixture(scope="module")
def wheel(root: Path, tmp_path_factory: pytest.TempPathFactory) -> zipfile.ZipFile:
    """By way of the source archive, which a stale build folder cannot reach."""
    out = tmp_path_factory.mktemp("dist")
    done = subprocess.run([sys.executable, "-m", "build", "--outdir", str(out), str(root)],
                          env=os.environ | {"PIP_DISABLE_PIP_VERSION_CHECK": "1"},
                          capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
    return zipfile.ZipFile(next(out.glob("*.whl")))


def test_the_wheel_holds_the_rooms_and_nothing_else(wheel: zipfile.ZipFile, root: Path) -> None:
    names = {name for name in wheel.namelist() if ".dist-info/" not in name}
    tree = {f"cagework/{path.relative_to(root)}".replace(f"cagework/{FACE}/", "cagework/")
            for room in ROOMS for path in (root / room).rglob("*")
            if path.is_file() and "__pycache__" not in path.parts}
    assert names == tree


def test_the_wheel_carries_its_licence_and_its_command(wheel: zipfile.ZipFile) -> None:
    inside = {name.split("/", 1)[1]: name for name in wheel.namelist() if ".dist-info/" in name}
    assert "licenses/LICENSE" in inside
    assert b"cagework = cagework.typeset.__main__:main" in wheel.read(inside["entry_points.txt"])


def test_the_wheel_works_away_from_the_tree(wheel: zipfile.ZipFile, tmp_path: Path, sample: Path) -> None:
    wheel.extractall(tmp_path / "site")
    done = subprocess.run(
        [sys.executable, "-c", "import cagework.typeset.commands.door as door; print(door.__file__); "
         f"raise SystemExit(door.main(['check', {str(sample)!r}]))"],
        cwd=tmp_path, env=os.environ | {"PYTHONPATH": str(tmp_path / "site")},
        capture_output=True, text=True, check=False,
    )
    assert done.returncode == 0, done.stderr
    assert str(tmp_path / "site") in done.stdout.splitlines()[0]
