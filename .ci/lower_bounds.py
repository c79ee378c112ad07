"""Print the lowest version pyproject.toml states of each dependency, as constraints for pip."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

PROJECT = tomllib.loads((Path(__file__).parents[1] / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def lowest(requirement: str) -> str | None:
    """`name==bound` for `name[extra]>=bound,...`; None where no bound is stated, as for stubs."""
    found = re.match(r"([\w.-]+)(?:\[[\w,]+\])?(?:>=|==)([\w.]+)", requirement)
    return found and f"{found[1]}=={found[2]}"


if __name__ == "__main__":
    stated = [*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["test"]]
    print(*filter(None, map(lowest, stated)), sep="\n")
