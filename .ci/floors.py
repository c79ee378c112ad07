"""Print what the suite covers of each room, and fail where that is less than its floor.

Usage: coverage combine && coverage json -q -o .coverage.json && python .ci/floors.py .coverage.json
Floors stand in pyproject.toml. A room without a floor fails too, and so does a floor without a room.
"""

from __future__ import annotations

import json
import sys
import tomllib
from collections import Counter
from pathlib import Path

ROOT = Path(__file__).parents[1]


def room(file: str) -> str:
    """A file's room: rules and techniques count to the room they are in."""
    parts = [part for part in Path(file).parent.parts if part not in ("rules", "techniques")]
    return ".".join(parts)


def covered(report: Path) -> dict[str, float]:
    """Room -> percent of its lines that the suite takes."""
    taken: Counter[str] = Counter()
    total: Counter[str] = Counter()
    for file, said in json.loads(report.read_text(encoding="utf-8"))["files"].items():
        summary = said["summary"]
        taken[room(file)] += summary["covered_lines"]
        total[room(file)] += summary["num_statements"]
    return {name: 100 * taken[name] / count for name, count in sorted(total.items()) if count}


def main(report: Path) -> int:
    """Print the table; 1 where a room is under its floor."""
    stated = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    floors: dict[str, int] = stated["tool"]["cagework"]["coverage-floors"]
    found = covered(report)
    failed = sorted(floors.keys() - found.keys())
    for name, percent in found.items():
        low = percent < floors.get(name, 101)
        failed += [name] * low
        print(f"{name:24} {percent:6.1f} %   floor {floors.get(name, 'missing')}{'   TOO LOW' * low}")
    if failed:
        print("coverage: see", ", ".join(failed))
    return int(bool(failed))


if __name__ == "__main__":
    raise SystemExit(main(Path(sys.argv[1])))
