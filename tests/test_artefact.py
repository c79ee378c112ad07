"""What a user installs: built as an archive, then a wheel from it, and compared with the tree."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import zipfile
from importlib import metadata
from pathlib import Path

import pytest
from filelock import FileLock
from packaging.metadata import Metadata
from packaging.utils import parse_wheel_filename
from trove_classifiers import classifiers

ROOMS = ("solver", "layouts", "typeset")
FACE = "typeset/face"
"""The folder that is installed as `cagework` itself."""


@pytest.fixture(scope="module")
def wheel(root: Path, common: Path) -> zipfile.ZipFile:
    """By way of the source archive, which a stale build folder cannot reach; built once for all workers, as two
    that build in one tree are in each other's way.
    """
    out = common / "dist"
    with FileLock(common / "dist.lock"):
        if not list(out.glob("*.whl")):
            done = subprocess.run([sys.executable, "-m", "build", "--outdir", str(out), str(root)],
                                  env=os.environ | {"PIP_DISABLE_PIP_VERSION_CHECK": "1"},
                                  capture_output=True, text=True, check=False)
            assert done.returncode == 0, done.stdout + done.stderr
    return zipfile.ZipFile(next(out.glob("*.whl")))


@pytest.fixture(scope="module")
def inside(wheel: zipfile.ZipFile) -> dict[str, bytes]:
    """What the wheel says of itself: its files beside the package."""
    return {name.split("/", 1)[1]: wheel.read(name) for name in wheel.namelist() if ".dist-info/" in name}


def test_the_wheel_holds_the_rooms_and_nothing_else(wheel: zipfile.ZipFile, root: Path) -> None:
    names = {name for name in wheel.namelist() if ".dist-info/" not in name}
    tree = {f"cagework/{path.relative_to(root)}".replace(f"cagework/{FACE}/", "cagework/")
            for room in ROOMS for path in (root / room).rglob("*")
            if path.is_file() and "__pycache__" not in path.parts}
    assert names == tree


def test_the_wheel_says_what_it_is_as_an_index_asks(wheel: zipfile.ZipFile, inside: dict[str, bytes]) -> None:
    """By packaging's reading of the core metadata (PEP 566, 621, 639, 685) and the classifiers there are."""
    said = Metadata.from_email(inside["METADATA"], validate=True)
    name, version, _, tags = parse_wheel_filename(Path(str(wheel.filename)).name)
    assert (name, version) == (said.name, said.version)
    assert {str(tag) for tag in tags} == {"py3-none-any"}
    assert set(said.classifiers or ()) <= classifiers
    assert not any(one.startswith("License ::") for one in said.classifiers or ())     # PEP 639: beside none
    assert said.license_expression == "MIT" and said.summary and said.keywords
    assert said.description_content_type == "text/markdown" and "# cagework" in (said.description or "")
    assert not said.project_urls and not said.home_page      # there are none to give
    lowest = min(re.findall(r":: (3\.\d+)$", "\n".join(said.classifiers or ()), re.MULTILINE))
    assert str(said.requires_python) == f">={lowest}"


def test_the_wheel_carries_its_licences_and_its_command(wheel: zipfile.ZipFile, inside: dict[str, bytes]) -> None:
    """Books have the faces inside: their licence comes along. The faces themselves come with theirs."""
    said = Metadata.from_email(inside["METADATA"], validate=True)
    assert {f"licenses/{file}" for file in said.license_files or ()} == {
        name for name in inside if name.startswith("licenses/")}
    assert b"cagework = cagework.typeset.__main__:main" in inside["entry_points.txt"]
    assert not [name for name in wheel.namelist() if name.endswith((".ttf", ".otf", ".woff", ".woff2"))]
    ours = inside["licenses/typeset/text/OFL.txt"].decode()
    faces = [one.name for one in said.requires_dist or () if one.name.startswith("font-")]
    assert len(faces) == 2
    for face in faces:
        (theirs,) = (file for file in metadata.files(face) or () if file.name == "LICENSE.txt")
        notice, _, terms = theirs.read_text(encoding="utf-8").partition("\n")
        assert "SIL OPEN FONT LICENSE Version 1.1" in terms
        assert notice.strip() in ours and terms in ours


def test_the_wheel_works_away_from_the_tree(wheel: zipfile.ZipFile, tmp_path: Path, sample: Path) -> None:
    wheel.extractall(tmp_path / "site")
    done = subprocess.run(
        [sys.executable, "-c", "import cagework, cagework.typeset.commands.door as door; print(door.__file__); "
         "print(cagework.__file__, cagework.read_puzzles.__module__); "
         f"raise SystemExit(door.main(['check', {str(sample)!r}]))"],
        cwd=tmp_path, env=os.environ | {"PYTHONPATH": str(tmp_path / "site")},
        capture_output=True, text=True, check=False,
    )
    assert done.returncode == 0, done.stderr
    assert all(line.startswith(str(tmp_path / "site")) for line in done.stdout.splitlines()[:2])
