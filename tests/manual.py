"""Write into the manual what is made from the code: python tests/manual.py --write

Between `<!-- from: NAME -->` and `<!-- end -->` in `typeset/manual/*.md` stands what the function of that name
here returns; without `--write` the files where it does not are named. All else in them is written by hand.
"""

from __future__ import annotations

import argparse
import dataclasses
import re
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any

from pydantic import BaseModel

from cagework.layouts.column import shelf_slot, slot_names
from cagework.layouts.load import shelf_layout, shelf_names
from cagework.solver.reasoning.techniques import TECHNIQUES, either_way, what_if
from cagework.solver.rules import RULES
from cagework.typeset.columns.schema import SeriesManifest, SeriesPart, SlotPart
from cagework.typeset.commands.door import COMMANDS, parser
from cagework.typeset.faults import Severity
from cagework.typeset.manifest import schema as of_books
from cagework.typeset.manifest.notation import named_as_text
from cagework.typeset.manifest.parts import InkPart, PicturePart
from cagework.typeset.manifest.rule_names import house_rules
from cagework.typeset.pool.recipe import ByPart, PickPart, RecipeFile
from cagework.typeset.preflight.profile import Limits, stock_limits
from cagework.typeset.preflight.rules import RULES as RULES_OF_PRESS
from cagework.typeset.trade.binding import papers
from cagework.typeset.words import languages, technique_name

MANUAL = Path(__file__).parents[1] / "typeset" / "manual"
_MADE = re.compile(r"(?<=<!-- from: )([a-z -]+)( -->\n\n).*?(?=<!-- end -->)", re.DOTALL)

PARTS: Mapping[str, type[BaseModel]] = MappingProxyType({
    "manifest": of_books.Manifest, "book": of_books.BookPart, "pages": of_books.PagesPart,
    "press": of_books.PressPart, "cover": of_books.CoverPart, "picture": PicturePart, "ink": InkPart,
    "section": of_books.SectionPart, "page": of_books.TextPagePart, "puzzle": of_books.PuzzlePart,
    "cage": of_books.CagePart, "series manifest": SeriesManifest, "series": SeriesPart, "slot": SlotPart,
    "recipe": RecipeFile, "pick": PickPart, "by": ByPart})
"""What the manual calls a mapping of keys -> its model."""

TYPES = {"string": "text", "integer": "a whole number", "number": "a number", "boolean": "true or false",
         "object": "keys of its own", "array": "a list", "null": "nothing"}


def table(titles: Iterable[str], rows: Iterable[Iterable[object]]) -> str:
    """A Markdown table."""
    titles = list(titles)
    lines = [titles, ["---"] * len(titles), *([str(cell).replace("|", r"\|") for cell in row] for row in rows)]
    return "".join(f"| {' | '.join(line)} |\n" for line in lines)


def commands() -> dict[str, argparse.ArgumentParser]:
    """Each command's own parser, in the order of the help."""
    (action,) = (action for action in parser(COMMANDS)._actions if isinstance(action, argparse._SubParsersAction))
    return dict(action.choices)


def options() -> str:
    """Each command, what it takes, and every option."""
    return "\n".join(_command(name, command) for name, command in commands().items())


def _command(name: str, command: argparse.ArgumentParser) -> str:
    actions = [action for action in command._actions if action.dest != "help"]
    taken = " ".join(_positional(action) for action in actions if not action.option_strings)
    rows = [(f"`{' '.join(filter(None, (action.option_strings[-1], _value(action))))}`", action.help)
            for action in actions if action.option_strings]
    said = [f"## cagework {name}\n", f"{COMMANDS[name][0].upper()}{COMMANDS[name][1:]}.\n",
            f"    cagework {name}{' [OPTIONS]' if rows else ''} {taken}".rstrip() + "\n",
            table(("option", "what it does"), rows) if rows else ""]
    said[3:3] = [f"`{action.metavar}`: {action.help}.\n" for action in actions
                 if not action.option_strings and action.help]
    return "\n".join(filter(None, said))


def _positional(action: argparse.Action) -> str:
    name = _value(action) or action.dest.upper()
    return {"+": f"{name}...", "?": f"[{name}]", "*": f"[{name}...]"}.get(str(action.nargs), name)


def _value(action: argparse.Action) -> str:
    if isinstance(action.metavar, str):
        return action.metavar
    if action.choices is not None:
        return "|".join(map(str, action.choices))
    return "" if action.nargs == 0 else action.dest.upper()


def keys(part: type[BaseModel]) -> str:
    """Each key of a mapping: what it is, what may stand there, and what holds without it."""
    model = part.model_json_schema()
    return table(("key", "what it is", "what may stand there", "if left out"), [
        (f"`{name}`", said.get("description", ""), _may_be(said, model.get("$defs", {})),
         "needed" if name in model.get("required", ()) else _default(part.model_fields[name].default))
        for name, said in model["properties"].items()])


def _may_be(said: Mapping[str, Any], parts: Mapping[str, Any]) -> str:
    words = list(dict.fromkeys(_values(said, parts)))
    for names, instead in ((TECHNIQUES, "a [step's id](grades.md)"), (RULES, "the name of a [rule](rules.md)")):
        if set(words) >= (called := {f"`{name}`" for name in names}):
            words = [instead, *(word for word in words if word not in called)]
    *others, last = words
    return f"{_either(others)}, or a list of such" if last == f"a list: {_either(others)}" else _either(words)


def _either(words: list[str]) -> str:
    return " or ".join(filter(None, (", ".join(words[:-1]), *words[-1:])))


def _values(said: Mapping[str, Any], parts: Mapping[str, Any]) -> Iterator[str]:
    if "$ref" in said:
        name = said["$ref"].rpartition("/")[2]
        called = [f"{one} keys" for one, part in PARTS.items() if part.__name__ == name]
        yield from [f"[{one}](#{one.replace(' ', '-')})" for one in called] or _values(parts[name], parts)
    elif "enum" in said:
        yield from (f"`{value}`" for value in said["enum"] if value is not None)
    elif "anyOf" in said:
        for one in said["anyOf"]:
            yield from _values(one, parts) if one.get("type") != "null" else ()
    elif said.get("type") == "array" and said.get("items"):
        yield f"a list: {_may_be(said['items'], parts)}"
    elif said.get("maxProperties") == 1:
        yield from (f"`{{{name}: ...}}`" for name in said.get("properties", ()))
    elif names := said.get("properties") or said.get("propertyNames", {}).get("enum"):
        yield f"`{{{', '.join(f'{name}: ...' for name in names)}}}`"
    elif said.get("pattern", "").endswith(r"\.yaml$"):
        yield "a `.yaml` file"
    else:
        kinds = said.get("type", "object")
        yield TYPES[kinds if isinstance(kinds, str) else kinds[0]]


def _default(value: object) -> str:
    if value is None or value == () or isinstance(value, BaseModel):
        return ""
    return f"`{str(value).lower() if isinstance(value, bool) else str(value).removesuffix('.0')}`"


def rules() -> str:
    """Each extra rule: under which key it stands, how it is written, what it says in a book."""
    return table(("rule", "written", "what the book says of it"), [
        (f"`{name}`", f"`{_written(name)}`", _stated(name)) for name in RULES])


def _stated(name: str) -> str:
    """What a rule says on a grid of 9."""
    rule = RULES[name].exemplar(9)
    return rule.sentence.replace("{least}", str(rule.digits[0])).replace("{most}", str(rule.digits[-1]))


def _written(name: str) -> str:
    key, example = ("houses" if name in house_rules() else "rules"), RULES[name].example(9)
    return f"{key}: [{name}]" if example is None else f"{key}: [{{{name}: {named_as_text(example)}}}]"


def preflight() -> str:
    """Each rule of the preflight, as it states itself."""
    return table(("rule", "name", "what is asked", "source"), [
        (rule.number, f"`{rule.name}`", rule.statement, rule.source) for rule in RULES_OF_PRESS.values()])


def warnings() -> str:
    """Which of them are warnings."""
    numbers = [str(rule.number) for rule in RULES_OF_PRESS.values() if rule.severity is Severity.WARNING]
    return f"Rules {', '.join(numbers[:-1])} and {numbers[-1]} are warnings: a file passes all the same.\n"


def stocks() -> str:
    """What each paper holds."""
    names = [field.name for field in dataclasses.fields(Limits)]
    return table(("stock", *(name.replace("_", " ") for name in names)), [
        (f"`{stock}`", *(f"{getattr(limits, name):g}" for name in names))
        for stock, limits in stock_limits().items()])


def leaves() -> str:
    """The papers of a book, and how thick a leaf of each is."""
    return table(("paper", "a leaf, mm"), [
        (f"`{name}`", f"{caliper:g}") for name, caliper in papers().items()])


def layouts() -> str:
    """The layouts on the shelf."""
    rows = []
    for name in shelf_names():
        one = shelf_layout(name)
        rows.append((f"`{name}`", one.title, f"{one.trim.width:g} x {one.trim.height:g}",
                     one.puzzles.columns * one.puzzles.rows, f"{one.puzzles.cell:g}", f"{one.type.body:g}"))
    return table(("layout", "what it is", "trim, mm", "puzzles a page", "largest cell, mm", "type, pt"), rows)


def slots() -> str:
    """The slots that come with the tool."""
    rows = []
    for name in slot_names():
        one = shelf_slot(name)
        rows.append((f"`{name}`", one.title, f"{one.width:g} x {one.height:g}", one.puzzles,
                     ", ".join(map(str, one.sizes)), ", ".join(f"`{part}`" for part in one.parts)))
    return table(("slot", "what it is", "mm", "puzzles", "sizes", "what it carries"), rows)


_EXTREMES = "2, the least and the greatest, where these say it; else the ways to make the sum"
_OF_A_CAGE = "the ways to make the cage"
LOADS: Mapping[str, str] = MappingProxyType({
    **dict.fromkeys(
        ("no_fit", "fixed_combination", "impossible_digit", "needed_digit", "way_by_way"), _OF_A_CAGE),
    "reserved_digit": f"{_OF_A_CAGE} that have it",
    "cages_in_house": "the ways to make the one cage, times those to make the other",
    "digit_by_ways": "the ways that have the digit there", "needed_in_sum": "the ways to make the sum",
    "between": "1; 2 where it is open which end is the greater",
    "rule_sum": "as sums of innies; 2 where the sum is only compared",
    "shared_sums": "the cases of what they leave, and one for the two sums",
    "seen_by_all": "the places of the digit", "short_chain": "the claims of the chain",
    "equal_cells": "the places of the digit, one for the two cells, and one more where it takes two sums",
    "either_way": "the links of both branches, and one for having two", "what_if": "the links of its argument",
    "trial": "none: to try is no reasoning"})
"""Technique -> its load, where that is not one number for all its steps, or the ways of a sum."""


COSTS: Mapping[str, str] = MappingProxyType({
    "either_way": f"{either_way._COST}, and {either_way._LINK} for each unit of its load",
    "what_if": f"{what_if._COST}, and {what_if._LINK} for each link"})
"""Technique -> its cost, where that is not one number for all its steps."""


def techniques() -> str:
    """Each way of reasoning: its name, its id, its cost, its load."""
    rows = sorted(TECHNIQUES.items(), key=lambda one: (one[1].cost, technique_name(one[0])))
    return table(("step", "id", "cost", "load"), [
        (technique_name(name), f"`{name}`", COSTS.get(name, one.cost),
         LOADS.get(name, _EXTREMES if one.many_cases else one.cases)) for name, one in rows])


def spoken() -> str:
    """The languages that there are words for."""
    return ", ".join(f"`{language}`" for language in languages()) + "\n"


MADE: Mapping[str, Callable[[], str]] = MappingProxyType({
    "options": options, "rules": rules, "preflight rules": preflight, "preflight warnings": warnings,
    "stocks": stocks, "papers": leaves, "layouts": layouts, "slots": slots, "languages": spoken,
    "techniques": techniques,
    **{f"{name} keys": (lambda part=part: keys(part)) for name, part in PARTS.items()}})
"""Name of a marker -> what stands there."""


def renewed(text: str) -> str:
    """A file of the manual with all that is made from the code made anew."""
    return _MADE.sub(lambda found: f"{found[1]}{found[2]}{MADE[found[1]]()}\n", text)


def stale(write: bool = False) -> list[str]:
    """The files that are not as they should be; with `write`, as they were."""
    found = []
    for path in sorted(MANUAL.glob("*.md")):
        text = path.read_text(encoding="utf-8")
        if (new := renewed(text)) != text:
            found.append(path.name)
            if write:
                path.write_text(new, encoding="utf-8")
    return found


if __name__ == "__main__":
    names = stale(write="--write" in sys.argv)
    print(*names, sep="\n")
    sys.exit(bool(names) and "--write" not in sys.argv)
