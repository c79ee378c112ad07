"""What stands beside the names of rules: made-up rules of each kind in a registry of the test's own."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any, ClassVar

import pytest
from jsonschema import Draft202012Validator

from cagework.solver.model import Cell, House, HouseKind, Pair, Puzzle, standard_houses
from cagework.solver.rule import Named, Rule, RuleError, RuleOnCells, Takes
from cagework.typeset.draw.describe import describe, rules_in_words
from cagework.typeset.entry import Entry, Place
from cagework.typeset.manifest import named_rules, rule_names
from cagework.typeset.manifest.document import parse_document
from cagework.typeset.manifest.named_rules import read_houses, read_rules
from cagework.typeset.manifest.notes import Notes
from cagework.typeset.words import load_words
from cagework.typeset.words.sentences import Sentences


class OnCells(RuleOnCells):
    """What the made-up rules share; what they mean is not asked here."""

    @classmethod
    def example(cls, size: int) -> Named:
        return Named((Cell(1, 1), Cell(1, 2)), 3 if cls.takes is Takes.NUMBERED else None)

    def allows(self, digits: Mapping[Cell, int]) -> bool:
        raise NotImplementedError

    def facts(self) -> tuple[House | Pair, ...]:
        return (Pair.of(Cell(1, 1), Cell(1, 2), self.digits, lambda x, y: x != y),)


class Odd(OnCells):
    sentence = "Tinted cells hold odd digits."
    takes = Takes.CELLS


class Adds(OnCells):
    sentence = "The cells {cells} add to {number}."
    takes = Takes.NUMBERED

    @classmethod
    def read(cls, size: int, value: Named | None) -> Rule:
        if value is not None and value.number is not None and value.number > 3 * size:
            raise RuleError("that is too much", at="number")
        return super().read(size, value)


class Apart(OnCells):
    sentence = "No digit comes twice in a tinted group."
    takes = Takes.CELLS

    def facts(self) -> tuple[House | Pair, ...]:
        return (House("group", HouseKind.EXTRA, self.named.cells),)


class Plain(Rule):
    sentence: ClassVar[str] = "Plain."

    def allows(self, digits: Mapping[Cell, int]) -> bool:
        raise NotImplementedError

    def facts(self) -> tuple[House | Pair, ...]:
        return ()


@pytest.fixture(autouse=True)
def _registry(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    made_up = {"adds": Adds, "apart": Apart, "odd": Odd, "plain": Plain}
    for module in (named_rules, rule_names):
        monkeypatch.setattr(module, "RULES", made_up)
    rule_names.house_rules.cache_clear()
    yield
    rule_names.house_rules.cache_clear()


def read(text: str, size: int = 6) -> tuple[tuple[Rule, ...], list[tuple[str, str, str]]]:
    """The rules of `rules: TEXT` or `houses: TEXT`, and each fault with the characters it points at."""
    document = parse_document(Path("x.yaml"), text)
    assert isinstance(document.data, dict)
    notes = Notes(document)
    rules = (*read_houses(notes, document.data.get("houses"), size),
             *read_rules(notes, document.data.get("rules"), size))
    return rules, [
        (fault.source[fault.column - 1:][:fault.span], fault.message, fault.hint) for fault in notes.faults]


def on(text: str) -> list[Named]:
    rules, faults = read(text)
    assert faults == []
    return [rule.named for rule in rules if isinstance(rule, RuleOnCells)]


def cells(*names: str) -> tuple[Cell, ...]:
    return tuple(map(Cell.parse, names))


def test_each_kind_is_read_alone_and_in_a_list() -> None:
    assert on("rules: [{odd: r2c2 r1c1}]") == [Named(cells("r1c1", "r2c2"))]
    assert on("rules: [{odd: [r1c1, r2c1-r2c2]}, {odd: r6c6}]") == [
        Named(cells("r1c1")), Named(cells("r2c1", "r2c2")), Named(cells("r6c6"))]
    assert on("rules: [{adds: {cells: r1c1 r1c2, number: 5}}]") == [Named(cells("r1c1", "r1c2"), 5)]
    assert on("rules:\n  - adds:\n    - {cells: [r1c1, r3c3], number: 5}\n    - {cells: r2c2, number: -1}") == [
        Named(cells("r1c1", "r3c3"), 5), Named(cells("r2c2"), -1)]
    assert on("houses: [{apart: r1c1-r2c2}]") == [Named(cells("r1c1", "r1c2", "r2c1", "r2c2"))]
    assert [type(rule) for rule in read("rules: [plain]")[0]] == [Plain]


@pytest.mark.parametrize(("text", "at", "message"), [
    ("rules: [{odd: [r1c1, r2c2 r9c1]}]", "r9c1", "r9c1 is off the grid"),
    ("rules: [{odd: r1c1 r1c1}]", "r1c1", "r1c1 is listed twice"),
    ("rules: [{odd: r1c1 r2c2}, {odd: [r3c3, r2c2 r1c1]}]", "r2c2 r1c1",
     "'odd' is on these cells already, on line 1"),
    ("rules: [odd]", "odd", "'odd' needs cells"),
    ("rules: [{odd: 7}]", "7", "'odd' needs cells"),
    ("rules: [{adds: r1c1}]", "r1c1", "'adds' needs cells with a number"),
    ("rules: [{adds: {cells: r1c1}}]", "adds", "'adds' needs a whole number with its cells"),
    ("rules: [{adds: {cells: r1c1, number: ten}}]", "ten", "'adds' needs a whole number with its cells"),
    ("rules: [{adds: {cells: r1c1 r0c4, number: 4}}]", "r0c4", "r0c4 is off the grid"),
    ("rules: [{adds: {cells: [r1c1, 4], number: 4}}]", "cells", "'adds' needs cells with a number"),
    ("rules: [{adds: {cells: r1c1, number: 19}}]", "19", "that is too much"),
    ("rules: [{adds: {cells: r1c1, sum: 4}}]", "sum", "unknown key 'sum'"),
    ("rules: [{plain: r1c1}]", "r1c1", "this rule takes no value"),
    ("rules: [plain, plain]", "plain", "'plain' is named twice"),
    ("rules: [&one plain, *one]", "&one plain", "'plain' is named twice"),
    ("rules: [{odd: &one r1c1 r2c2}, {odd: *one}]", "&one r1c1 r2c2",
     "'odd' is on these cells already, on line 1"),
    ("rules: [{odd: ','}]", ",", "no cell is named here"),
    ("rules: [{adds: {cells: ',', number: 4}}]", ",", "no cell is named here"),
    ("rules: [{apart: r1c1 r1c2}]", "apart", "'apart' does not belong under 'rules'"),
])
def test_a_fault_is_located_where_it_is_written(text: str, at: str, message: str) -> None:
    _, faults = read(text)
    assert [fault[:2] for fault in faults] == [(at, message)]


def test_the_hint_shows_how_it_is_written() -> None:
    assert read("rules: [odd]")[1][0][2] == "write it as {odd: r1c1 r1c2}"
    ((_, _, hint),) = read("rules: [adds]")[1]
    assert hint == "write it as {adds: {cells: r1c1 r1c2, number: 3}}"
    assert read(f"rules: [{hint.removeprefix('write it as ')}]") == ((Adds(6, Adds.example(6)),), [])


@pytest.mark.parametrize(("item", "good"), [
    ("plain", True), ("odd", False), ({"odd": "r1c1"}, True), ({"odd": ["r1c1", "r2c2"]}, True),
    ({"odd": 4}, False), ({"odd": []}, False), ({"adds": {"cells": "r1c1", "number": 4}}, True),
    ({"adds": "r1c1"}, False),
    ({"adds": [{"cells": ["r1c1"], "number": 4}]}, True), ({"adds": {"cells": "r1c1", "number": "4"}}, False),
    ({"adds": {"cells": "r1c1"}}, False), ({"odd": "r1c1", "plain": None}, False), ("other", False),
])
def test_the_schema_sees_it_as_the_reader_does(item: Any, good: bool) -> None:
    made = {"anyOf": rule_names.rule_json(("adds", "odd", "plain"))}
    Draft202012Validator.check_schema(made)
    assert Draft202012Validator(made).is_valid(item) is good
    for example in (part for form in made["anyOf"] for part in form.get("properties", {}).values()):
        assert all(Draft202012Validator(example).is_valid(one) for one in example["examples"])


def test_words_say_number_and_cells_and_a_description_the_cells_that_are_only_drawn() -> None:
    rules = (Odd(6, Named(cells("r1c1"))), Odd(6, Named(cells("r2c2", "r2c3"))), Adds(6, Named(cells("r4c1"), 5)))
    plain, place = Puzzle(6, standard_houses(6), ()), Place(Path("x.yaml"), 1, 1)
    puzzle = Entry("x", "X", None, None, None, plain, rules, place)
    english = Sentences("en")
    assert rules_in_words(puzzle, english) == ("Tinted cells hold odd digits.", "The cells r4c1 add to 5.")
    assert describe(puzzle, load_words("en").described, english).endswith(
        "Tinted cells hold odd digits. That holds for r1c1; r2c2 r2c3. The cells r4c1 add to 5.")
