"""The recipe for a rule, followed in a copy of the tree by nothing but what DEVELOPERS.md says.

The rule, `recipes/square_line.py`, is on cells that the editor names. What has to hold then is what the tests of
the tree hold any rule to, and `recipes/square_line_checks.py`, from the manifest to the printed book read back.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOMS = ("solver", "layouts", "typeset")
SENTENCE = "The digits along each line add to a square number, such as 4 or 9."
GERMAN = "Die Ziffern auf jeder Linie ergeben eine Quadratzahl, etwa 4 oder 9."
ORACLE = """

def _square_line(oracle: Oracle, named: Named | None) -> None:
    assert named is not None
    root = oracle.model.new_int_var(1, len(named.cells) * oracle.size, "")
    square = oracle.model.new_int_var(1, len(named.cells) * oracle.size, "")
    oracle.model.add_multiplication_equality(square, [root, root])
    oracle.model.add(sum(oracle.at[cell] for cell in named.cells) == square)


RULE_MODELS = MappingProxyType({**RULE_MODELS, "square_line": _square_line})
"""


@pytest.fixture(scope="module")
def copy(root: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the tree with the recipe followed, installed nowhere."""
    tree = tmp_path_factory.mktemp("copy") / "tree"
    shutil.copytree(root, tree, ignore=shutil.ignore_patterns(".*", "*.egg-info", "build", "out", "__pycache__"))
    added = root / "tests" / "recipes"
    shutil.copy(added / "square_line.py", tree / "solver" / "rules")
    shutil.copy(added / "square_line_checks.py", tree / "tests" / "outside" / "test_square_line.py")
    with (tree / "tests" / "outside" / "oracle.py").open("a", encoding="utf-8") as file:
        file.write(ORACLE)
    with (tree / "typeset" / "words" / "de.po").open("a", encoding="utf-8") as file:
        file.write(f'\nmsgid "{SENTENCE}"\nmsgstr "{GERMAN}"\n')
    (tree / "names" / "cagework").mkdir(parents=True)
    for face in ("__init__.py", "__main__.py"):
        (tree / "names" / "cagework" / face).symlink_to(tree / "typeset" / "face" / face)
    for room in ROOMS:
        (tree / "names" / "cagework" / room).symlink_to(tree / room, target_is_directory=True)
    subprocess.run([sys.executable, tree / "tests" / "manual.py", "--write"], check=True,
                   env=os.environ | {"PYTHONPATH": str(tree / "names")})
    return tree


@pytest.mark.parametrize("tests", [
    ("tests/outside/test_square_line.py",),
    ("tests/typeset/manifest/test_examples.py", "tests/typeset/manifest/test_schema.py", "tests/typeset/words",
     "tests/test_docs.py", "tests/test_manual.py::test_what_is_made_from_the_code_is_up_to_date"),
    ("tests/solver/test_rules.py", "tests/outside/test_agreement.py", "-k", "square_line or stated"),
], ids=["its own", "the tree's", "any rule's"])
def test_a_rule_on_cells_needs_what_the_recipe_says_and_no_more(copy: Path, tests: tuple[str, ...]) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "pytest", "-n", "0", "-p", "no:cacheprovider", *tests], cwd=copy,
        env=os.environ | {"PYTHONPATH": str(copy / "names")}, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
