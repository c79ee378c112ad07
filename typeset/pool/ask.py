"""What an index knows, as it is asked: puzzles one by one, and how many there are of each sort."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Collection, Iterator
from dataclasses import dataclass, field
from typing import Any

from cagework.solver.reasoning.grade import Grade
from cagework.solver.rules import RULES
from cagework.solver.search.exact import Outcome
from cagework.typeset.choices import Kind
from cagework.typeset.pool.index import Index

PLAIN = "none"
"""Stands for the rules of a puzzle that has none."""
RULE_WORDS = (PLAIN, "houses", "regions", Kind.CROSSING_SUMS.value, *RULES)
"""What may be asked for as a rule."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which puzzles are asked for: all that have one of each sort named, all of `ideas` and none of `without`.
    With `sound` only those with one answer, with `unprinted` those never printed, or not on `since` or later; what
    was printed on no known date counts.
    """

    grades: tuple[Grade, ...] = ()
    sizes: tuple[int, ...] = ()
    rules: tuple[str, ...] = ()
    by: tuple[str, ...] = ()
    ideas: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    sound: bool = False
    unprinted: bool = False
    since: dt.date | None = None


@dataclass(frozen=True, slots=True)
class Listed:
    """One puzzle of an index. `number` is the index's own, `file` a path in the folder, `key` stands for it and
    what it becomes turned, mirrored or complemented; `fit` says that it may be printed as it stands. `printed` has
    each date, where it is known, and the series or book.
    """

    number: int
    id: str | None
    title: str | None
    by: str | None
    file: str
    line: int
    column: int
    size: int | None
    extent: str
    cages: int | None
    uncaged: bool
    key: str | None
    outcome: str
    grade: Grade | None
    score: float | None
    near: Grade | None
    path: str | None
    load: int | None
    steps: int | None
    hardest: str | None
    why: str
    fit: bool
    rules: tuple[str, ...] = field(default=())
    ideas: tuple[str, ...] = field(default=())
    printed: tuple[tuple[str | None, str], ...] = field(default=())

    def as_json(self) -> dict[str, Any]:
        """As programs read it."""
        return {
            "id": self.id, "title": self.title, "by": self.by, "file": self.file, "line": self.line,
            "column": self.column, "size": self.extent, "cages": self.cages, "rules": list(self.rules),
            "outcome": self.outcome, "grade": self.grade, "score": self.score, "near": self.near,
            "path": self.path, "load": self.load, "steps": self.steps, "hardest": self.hardest,
            "ideas": list(self.ideas), "key": self.key, "why": self.why,
            "printed": [{"date": date, "where": where} for date, where in self.printed],
        }


@dataclass(frozen=True, slots=True)
class Count:
    """How many puzzles there are of a sort, how many of them are sound, of each grade, and printed."""

    sort: str
    name: str
    puzzles: int
    sound: int
    grades: tuple[int, ...]
    printed: int

    def as_json(self) -> dict[str, Any]:
        """As programs read it."""
        return {"sort": self.sort, "name": self.name, "puzzles": self.puzzles, "sound": self.sound,
                **{grade.value: number for grade, number in zip(Grade, self.grades, strict=True)},
                "printed": self.printed}


_LISTS = """
    (SELECT json_group_array(name) FROM (SELECT name FROM rule WHERE puzzle = puzzle.id ORDER BY name)),
    (SELECT json_group_array(name) FROM (SELECT name FROM idea WHERE puzzle = puzzle.id ORDER BY name)),
    (SELECT json_group_array(json_array(date, place)) FROM (
        SELECT DISTINCT date, place FROM printing WHERE key = puzzle.key ORDER BY date, place))
"""
_PRINTED = "EXISTS (SELECT 1 FROM printing WHERE key = puzzle.key)"
_COLUMNS = ("id", "name", "title", "by", "line", "col", "size", "extent", "cages", "uncaged", "key", "outcome",
            "grade", "score", "near", "path", "load", "steps", "hardest", "why", "fit")


def listed(index: Index, wanted: Wanted, besides: str = "true") -> Iterator[Listed]:
    """The puzzles asked for that meet one more condition of SQL, by file and place."""
    where, values = _where(wanted)
    columns = ", ".join(f"puzzle.{name}" for name in _COLUMNS)
    rows = index.all(f"SELECT file.path, {columns}, {_LISTS} FROM puzzle JOIN file ON file.id = puzzle.file "
                     f"WHERE {where} AND {besides} ORDER BY file.path, puzzle.place", *values)
    for file, *row in rows:
        one: dict[str, Any] = dict(zip((*_COLUMNS, "rules", "ideas", "printed"), row, strict=True))
        yield Listed(
            one["id"], one["name"], one["title"], one["by"], file, one["line"], one["col"], one["size"],
            one["extent"] or "", one["cages"], bool(one["uncaged"]), one["key"], one["outcome"],
            one["grade"] and Grade(one["grade"]), one["score"], one["near"] and Grade(one["near"]), one["path"],
            one["load"], one["steps"], one["hardest"], one["why"] or "", bool(one["fit"]),
            tuple(json.loads(one["rules"])), tuple(json.loads(one["ideas"])),
            tuple((date, where) for date, where in json.loads(one["printed"])))


def counts(index: Index, wanted: Wanted) -> list[Count]:
    """How many puzzles asked for there are in all, of each size, with each rule, and by each constructor."""
    where, values = _where(wanted)
    graded = ", ".join(f"ifnull(sum(grade = '{grade}'), 0)" for grade in Grade)
    numbers = f"count(*), ifnull(sum(outcome = '{Outcome.SOUND}'), 0), {graded}, sum({_PRINTED})"
    sorts = (
        ("all", "''", "", "1"),
        ("size", "ifnull(extent, '')", "", "size, extent"),
        ("rule", f"ifnull(rule.name, '{PLAIN}')", "LEFT JOIN rule ON rule.puzzle = puzzle.id", "rule.name"),
        ("by", "ifnull(min(by), '')", "", "folded"),
    )
    found = []
    for sort, name, join, group in sorts:
        rows = index.all(f"SELECT {name}, {numbers} FROM puzzle {join} WHERE {where} GROUP BY {group} "
                         f"ORDER BY {group}", *values)
        found += [Count(sort, str(row[0]), row[1], row[2], tuple(row[3:-1]), row[-1]) for row in rows]
    return found


def suits_rule(one: Listed, rules: Collection[str]) -> bool:
    """Whether a puzzle has one of these rules, as `Wanted` means it."""
    return any(name in rules for name in one.rules or (PLAIN,))


def suits_ideas(one: Listed, ideas: Collection[str], without: Collection[str]) -> bool:
    """Whether a puzzle's path has all of these techniques, and none of those."""
    return set(ideas) <= set(one.ideas) and set(without).isdisjoint(one.ideas)


def was_printed(one: Listed, since: dt.date | None) -> bool:
    """Whether a puzzle was printed, on that date or later if one is given; what has no date counts."""
    return any(date is None or since is None or date >= since.isoformat() for date, _ in one.printed)


def _where(wanted: Wanted) -> tuple[str, list[object]]:
    """The condition of a query over `puzzle`, and its values."""
    said = ["true"]
    values: list[object] = []

    def among(column: str, names: tuple[object, ...]) -> None:
        if names:
            said.append(f"{column} IN ({', '.join('?' * len(names))})")
            values.extend(names)

    among("grade", wanted.grades)
    among("size", wanted.sizes)
    among("folded", tuple(name.casefold() for name in wanted.by))
    has = "EXISTS (SELECT 1 FROM {} WHERE puzzle = puzzle.id AND name {})"
    if wanted.rules:
        own = tuple(name for name in wanted.rules if name != PLAIN)
        either = [has.format("rule", f"IN ({', '.join('?' * len(own))})")]
        if PLAIN in wanted.rules:
            either.append("NOT EXISTS (SELECT 1 FROM rule WHERE puzzle = puzzle.id)")
        said.append(f"({' OR '.join(either)})")
        values.extend(own)
    for name in wanted.ideas:
        said.append(has.format("idea", "= ?"))
        values.append(name)
    for name in wanted.without:
        said.append(f"outcome = '{Outcome.SOUND}' AND NOT {has.format('idea', '= ?')}")
        values.append(name)
    if wanted.sound:
        said.append(f"outcome = '{Outcome.SOUND}'")
    if wanted.unprinted:
        since = wanted.since.isoformat() if wanted.since else ""
        said.append("NOT EXISTS (SELECT 1 FROM printing WHERE key = puzzle.key AND ifnull(date, '9999') >= ?)")
        values.append(since)
    return " AND ".join(said), values
