"""Picks held against every pick there is: small pools and many recipes, all combinations looked through."""

from __future__ import annotations

import json
import random
import re
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import combinations
from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from cagework.solver.reasoning.grade import Grade
from cagework.typeset.commands.door import main
from cagework.typeset.pool.ask import Listed
from cagework.typeset.pool.pick import Pick, pick
from cagework.typeset.pool.recipe import Recipe, read_recipe

IDEAS = ("naked_single", "hidden_single", "innie", "outie", "x_wing", "hidden_pair", "short_chain")
Some = Sequence[Listed]


def made(rng: random.Random, count: int) -> list[Listed]:
    """Puzzles as an index has them, of random sorts; some are twins, some share an id, some are not fit."""
    return [Listed(
        number, f"p{number if rng.random() < 0.9 else 0}", None, rng.choice(["A", "B", "C", "D", None]),
        f"{number:02}.yaml", 1, 1, size := rng.choice([6, 9]), str(size), 9, False,
        f"key {number if rng.random() < 0.85 else number // 2}", "sound", rng.choice(list(Grade)[:3]),
        round(rng.uniform(30, 90), 1), None, "whole", 3, 9, rng.choice(IDEAS), "", rng.random() < 0.9,
        tuple(rng.sample(["knight", "king"], rng.choice([0, 0, 1]))),
        tuple(sorted(rng.sample(IDEAS, rng.randint(2, 5)))),
        tuple(rng.sample([("2026-05-01", "a"), ("2027-02-01", "b"), (None, "c")], rng.choice([0, 0, 0, 1, 2]))),
    ) for number in range(count)]


def recipe(rng: random.Random) -> dict[str, Any]:
    """A recipe, demanding enough that about as many can be met as cannot."""
    count = rng.randint(2, 5)
    grade: Any = rng.choice(["stroll", ["stroll", "climb"]])
    if rng.random() < 0.4:
        grade = {"stroll": 1, "climb": count - 1}
    keys: dict[str, Any] = {
        "grade": grade, "size": 9, "rule": rng.choice(["none", ["none", "knight"]]), "idea": rng.choice(IDEAS),
        "without": rng.choice(IDEAS),
        "by": {"least": rng.randint(2, 4)} | rng.choice([{}, {"most": 1}, {"most": 2}]),
        "unprinted": rng.choice([True, "2027-01-01"])}
    kept = rng.sample(sorted(keys), rng.randint(1, 4))
    return {"count": count, **{name: keys[name] for name in kept}}


def misses(keys: Mapping[str, Any], some: Some) -> dict[str, int]:
    """By how much puzzles miss each demand, told plainly; how many are wanting is not told here."""
    found: dict[str, int] = {}
    as_list = lambda value: value if isinstance(value, list) else [value]  # noqa: E731
    if "grade" in keys:
        held = Counter(one.grade.value for one in some if one.grade)
        if isinstance(keys["grade"], dict):
            found["grade"] = len(some) - sum(min(held[name], most) for name, most in keys["grade"].items())
        else:
            found["grade"] = len(some) - sum(held[name] for name in as_list(keys["grade"]))
    if "size" in keys:
        found["size"] = sum(one.size != keys["size"] for one in some)
    if "rule" in keys:
        found["rule"] = sum({*(one.rules or ("none",))}.isdisjoint(as_list(keys["rule"])) for one in some)
    if "idea" in keys:
        found["idea"] = sum(keys["idea"] not in one.ideas for one in some)
    if "without" in keys:
        found["without"] = sum(keys["without"] in one.ideas for one in some)
    if "unprinted" in keys:
        since = "" if keys["unprinted"] is True else keys["unprinted"]
        found["unprinted"] = sum(any((date or "9") >= since for date, _ in one.printed) for one in some)
    makers = Counter((one.by or "").casefold() for one in some)
    if "least" in keys.get("by", {}):
        found["by.least"] = max(0, keys["by"]["least"] - len(makers.keys() - {""}))
    if "most" in keys.get("by", {}):
        found["by.most"] = max(0, *(number - keys["by"]["most"] for number in makers.values()), 0)
    return found


def alone(some: Some) -> bool:
    """Whether no two are one, or called the same."""
    return len({one.key for one in some}) == len({one.id for one in some}) == len(some)


def ways(pool: Some, count: int) -> Iterator[Some]:
    return (some for some in combinations([one for one in pool if one.fit], count) if alone(some))


@pytest.fixture
def read(tmp_path: Path) -> Callable[[Mapping[str, Any]], Recipe]:
    def of(keys: Mapping[str, Any]) -> Recipe:
        path = tmp_path / "recipe.yaml"
        path.write_text(yaml.safe_dump({"pick": keys}), encoding="utf-8")
        found = read_recipe(path)
        assert isinstance(found, Recipe), found
        return found

    return of


@pytest.mark.parametrize("seed", range(60))
def test_there_is_a_pick_exactly_where_some_choice_meets_all_and_else_the_least_miss_is_told(
    seed: int, read: Callable[[Mapping[str, Any]], Recipe],
) -> None:
    rng = random.Random(seed)
    pool, keys = made(rng, 11), recipe(rng)
    count = keys["count"]
    every = [(some, misses(keys, some)) for some in ways(pool, count)]
    found = pick(pool, read(keys), seed)
    if any(not any(missed.values()) for _, missed in every):
        assert isinstance(found, Pick)
        assert len(found.puzzles) == count and alone(found.puzzles)
        assert all(one.fit for one in found.puzzles) and not any(misses(keys, found.puzzles).values())
        return
    assert not isinstance(found, Pick)
    least: dict[str, int] = {}
    for _, missed in every:
        wrong = {name: by for name, by in missed.items() if by}
        if len(wrong) == 1:
            (name, by), = wrong.items()
            least[name] = min(by, least.get(name, by))
    fewer = [fewer for fewer in range(1, count + 1)
             for some in ways(pool, count - fewer) if not any(misses(keys, some).values())]
    if fewer:
        least["count"] = min(fewer)
    told = {fault.source.split(":")[0].strip(): fault.message for fault in found}
    numbers = {{"least": "by.least", "most": "by.most"}.get(key, key): message for key, message in told.items()}
    if least:
        assert {key: number(message) for key, message in numbers.items()} == least
    else:
        fewest = min((sum(missed.values()) for _, missed in every), default=None)
        said = sum(number(message) for message in numbers.values())
        assert fewest is None or said <= fewest
        assert said > 0 and len(numbers) > 1


def number(message: str) -> int:
    """By how much a demand is missed, as its fault says it."""
    found = re.search(r"(\d+) fewer than|(\d+) more than|: (\d+) of the", message)
    assert found, message
    return int(next(filter(None, found.groups())))


@pytest.mark.parametrize("seed", range(12))
def test_ideas_are_spread_as_far_as_any_choice_spreads_them(
    seed: int, read: Callable[[Mapping[str, Any]], Recipe],
) -> None:
    rng = random.Random(seed)
    pool = made(rng, 12)
    def spread(some: Some) -> tuple[int, int]:
        return (len({name for one in some for name in one.ideas}),
                -max(Counter(one.hardest for one in some).values()))

    keys = {"count": 3, "spread": "ideas", "order": "rising"}
    found = pick(pool, read(keys), seed)
    assert isinstance(found, Pick) and found.best
    assert spread(found.puzzles) == max(map(spread, ways(pool, 3)))
    assert len(found.ideas) == spread(found.puzzles)[0]
    scores = [one.score for one in found.puzzles]
    assert scores == sorted(scores)


def test_the_seed_chooses_among_equals_and_the_same_seed_the_same(
    read: Callable[[Mapping[str, Any]], Recipe],
) -> None:
    """However the folder is named or ordered; every choice of two comes of some seed."""
    pool = [one for one in made(random.Random(5), 9) if one.fit][:5]
    picks = {}
    for seed in range(80):
        found, turned = pick(pool, read({"count": 2}), seed), pick(pool[::-1], read({"count": 2}), seed)
        assert isinstance(found, Pick) and isinstance(turned, Pick)
        assert {one.key for one in found.puzzles} == {one.key for one in turned.puzzles}
        picks[seed] = frozenset(one.number for one in found.puzzles)
    assert {*picks.values()} == {frozenset(one.number for one in some) for some in ways(pool, 2)}


BETWEEN = [
    ("pick: {grade: climb}", "pick", "how many puzzles"),
    ("pick: {count: 3, grade: {climb: 1, stroll: 1}}", "grade", "make 2 puzzles"),
]
"""What no schema sees: keys that do not go together."""
WRONG = [
    ("pick: {count: 3, grade: hard}", "grade", "no grade 'hard'"),
    ("pick: {count: 0}", "count", "1 or more"),
    ("pick: {count: 3, rule: knigth}", "rule", "no rule 'knigth'"),
    ("pick: {count: 3, idea: [x_wings]}", "x_wings", "no technique"),
    ("pick: {count: 3, by: {least: none}}", "least", "whole number"),
    ("pick: {count: 3, unprinted: sometimes}", "unprinted", "must be true"),
    ("pick: {count: 3, order: falling}", "order", "no order"),
    ("pick: {count: 3, colour: red}", "colour", "colour"),
    ("pick: {count: 3, grade: {climb: many}}", "climb", "how many puzzles"),
]


@pytest.mark.parametrize(("text", "key", "says"), BETWEEN + WRONG)
def test_what_is_wrong_in_a_recipe_is_told_in_its_place(text: str, key: str, says: str, tmp_path: Path) -> None:
    path = tmp_path / "recipe.yaml"
    path.write_text(text, encoding="utf-8")
    found = read_recipe(path)
    assert not isinstance(found, Recipe)
    (fault,) = found
    assert says in fault.message and fault.line == 1
    assert abs(fault.column - 1 - text.index(key)) <= len(key) + 2


@pytest.mark.parametrize(("text", "right"), [
    *((text, False) for text, _, _ in WRONG),
    ("pick: {count: 3, grade: [climb, stroll], size: [6, 9], rule: none, idea: x_wing, without: [innie],"
     " by: {least: 2, most: 3}, unprinted: true, order: rising, spread: ideas, title: T}\nbook: {title: B}", True),
    ("pick: {grade: {climb: 3}, unprinted: 2027-01-01}\nseries: {}\nslots: [{}]", True)])
def test_the_schema_takes_what_is_taken(
    text: str, right: bool, tmp_path: Path, capsys: pytest.CaptureFixture[str],
) -> None:
    """As jsonschema reads it, a validator that is not ours (draft 2020-12)."""
    assert main(["schema", "--recipe"]) == 0
    schema = json.loads(capsys.readouterr().out)
    Draft202012Validator.check_schema(schema)
    (tmp_path / "recipe.yaml").write_text(text, encoding="utf-8")
    data = yaml.load(text, yaml.BaseLoader) if "2027" in text else yaml.safe_load(text)
    if "2027" in text:
        data["pick"]["grade"]["climb"] = 3      # BaseLoader leaves dates, and numbers, as they are written
    assert Draft202012Validator(schema).is_valid(data) is right
    assert isinstance(read_recipe(tmp_path / "recipe.yaml"), Recipe) is right
