"""Puzzles that are one: told apart from all others by the sixteen images of a square, written afresh here."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from cagework.solver.model import Puzzle

Keys = Mapping[str, Any]
Facts = frozenset[tuple[frozenset[tuple[int, int]], int]]


def facts(keys: Keys) -> Facts:
    """The cages of a manifest's puzzle: cells by row and column from 0, and the sum."""
    cells = defaultdict(set)
    for row, line in enumerate(keys["map"].split("\n")):
        for column, letter in enumerate(line):
            cells[letter].add((row, column))
    return frozenset((frozenset(cells[letter]), total) for letter, total in keys["sums"].items())


def images(keys: Keys) -> list[Facts]:
    """All sixteen: four turns by the matrix (r, c) -> (c, n - 1 - r), each mirrored, each complemented."""
    size, now = keys["size"], facts(keys)
    found = []
    for _ in range(4):
        now = frozenset((frozenset((c, size - 1 - r) for r, c in cells), total) for cells, total in now)
        mirrored = frozenset((frozenset((r, size - 1 - c) for r, c in cells), total) for cells, total in now)
        for image in (now, mirrored):
            found += [image, frozenset((cells, len(cells) * (size + 1) - total) for cells, total in image)]
    return found


def as_puzzle(name: str, size: int, image: Facts) -> dict[str, object]:
    """An image as the keys of a manifest, its cages as lists."""
    return {"id": name, "size": size, "cages": [
        {"cells": " ".join(f"r{r + 1}c{c + 1}" for r, c in sorted(cells)), "sum": total}
        for cells, total in sorted(image, key=lambda one: sorted(one[0]))]}


@pytest.fixture(scope="module")
def family(fours: Sequence[Puzzle], keys_of: Callable[..., Any]) -> list[Keys]:
    """Fours, among which some are alike already."""
    return [keys_of(f"p{number}", puzzle) for number, puzzle in enumerate(fours[:40])]


def test_pairs_are_those_that_sixteen_images_find(
    family: list[Keys], tmp_path: Path, pool: Callable[..., Any], file_of: Callable[..., str],
) -> None:
    folder = tmp_path / "shelf"
    folder.mkdir()
    moved = [as_puzzle(f"q{number}", 4, images(one)[number]) for number, one in enumerate(family[:16])]
    for number, one in enumerate([*family, *moved]):
        (folder / f"{number:02}.yaml").write_text(file_of(one), encoding="utf-8")
    first: dict[Facts, str] = {}
    wanted = {}
    for one in family:
        known = next((first[image] for image in images(one) if image in first), None)
        if known:
            wanted[one["id"]] = known
        else:
            first[facts(one)] = one["id"]
    for number, one in enumerate(family[:16]):
        wanted[f"q{number}"] = wanted.get(one["id"], one["id"])
    said = pool(folder, "--json", "--twins").json
    assert {pair["second"]["id"]: pair["first"]["id"] for pair in said["twins"]} == wanted
    keys = {one["id"]: one["key"] for one in said["puzzles"]}
    for one, other in pairwise(sorted(keys)):
        alike = wanted.get(one, one) == wanted.get(other, other)
        assert (keys[one] == keys[other]) is alike
    how = {pair["how"] for pair in said["twins"] if pair["second"]["id"].startswith("q")}
    assert len(how) > 8, "each says how, and they are of many kinds"
    printed = pool(folder, "--twins").out
    assert all(f"{name} " in printed for name in wanted)


def test_pairs_are_looked_for_among_the_puzzles_asked_for(
    family: list[Keys], tmp_path: Path, pool: Callable[..., Any], file_of: Callable[..., str],
) -> None:
    folder = tmp_path / "shelf"
    folder.mkdir()
    two = [family[0] | {"by": "the miller"}, as_puzzle("again", 4, images(family[0])[5]) | {"by": "the cooper"}]
    for number, one in enumerate(two):
        (folder / f"{number}.yaml").write_text(file_of(one), encoding="utf-8")
    assert len(pool(folder, "--json", "--twins").json["twins"]) == 1
    assert pool(folder, "--json", "--twins", "--by", "the miller").json["twins"] == []
    assert "twins" not in pool(folder, "--json").json
