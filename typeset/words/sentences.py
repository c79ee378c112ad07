"""Steps of a worked path in words: the templates of the techniques, filled and, in other languages, translated.

English is the language of the templates themselves. Any other language is a gettext catalogue beside this
module, `LANGUAGE.po`, whose msgids are the English templates.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from importlib.resources import files
from string import Formatter
from types import MappingProxyType

from babel.lists import format_list
from babel.messages.pofile import read_po

from cagework.solver.model import Cage, Cell, House
from cagework.solver.step import Digits, Step, Value
from cagework.solver.techniques import TECHNIQUES
from cagework.typeset.words import locale_of

CHAIN = "{cell} is {digit}"
"""One link of a run of placements: `r4c2 is 3, so r5c7 is 8, so ...`."""

JOIN = ", so "
STRUCK = "So {cells} cannot be {digits:or}."
CAGE, CAGE_WITHOUT_SUM = "the cage of {sum} at {cell}", "the cage at {cell}"
PLACES: Mapping[str, tuple[str, str]] = MappingProxyType({
    word: (f"{word} {{n}}", f"{many} {{n}}")
    for word, many in (("row", "rows"), ("column", "columns"), ("box", "boxes"), ("region", "regions"))
})
"""The word of a numbered house -> how one is named, and how several are."""

_NAMES_WHAT_GOES = ("{digits", "{digit", "{absent", "{gone", "{bound")


def templates() -> tuple[str, ...]:
    """Every English text a catalogue has to translate, in a fixed order."""
    said = [text for technique in TECHNIQUES.values() for text in technique.sentences.values()]
    return tuple(dict.fromkeys([*said, CHAIN, JOIN, STRUCK, CAGE, CAGE_WITHOUT_SUM,
                                *(text for pair in PLACES.values() for text in pair)]))


class Sentences:
    """Says steps in one language (a BCP 47 tag)."""

    def __init__(self, language: str) -> None:
        self._locale = locale_of(language)
        self._catalogue = _catalogue(self._locale.language)

    def text(self, template: str) -> str:
        """A template in this language; English where the catalogue lacks it."""
        return self._catalogue.get(template) or template

    def step(self, step: Step) -> str:
        """A step as one or two sentences; a what-if with its whole argument."""
        template = TECHNIQUES[step.technique].sentences[step.key]
        said = [_sentence(self._filled(template, step.why))]
        said += [self.step(part) for part in step.parts]
        if step.removes and not step.parts and not any(name in template for name in _NAMES_WHAT_GOES):
            said.append(self._struck(step))
        return " ".join(said)

    def chain(self, steps: Iterable[Step]) -> str:
        """A run of placements as one sentence."""
        placed = (pair for step in steps for pair in step.places)
        links = (self._filled(CHAIN, {"cell": cell, "digit": digit}) for cell, digit in placed)
        return _sentence(self.text(JOIN).join(links) + ".")

    def _struck(self, step: Step) -> str:
        """What a step strikes, cells that lose the same digits together."""
        by_mask: dict[int, list[Cell]] = {}
        for cell, mask in step.removes:
            by_mask.setdefault(mask, []).append(cell)
        return " ".join(
            _sentence(self._filled(STRUCK, {"cells": tuple(cells), "digits": Digits(mask)}))
            for mask, cells in by_mask.items()
        )

    def _filled(self, template: str, values: Mapping[str, Value]) -> str:
        """Fill a template; a field written `{name:or}` lists its items with "or" in place of "and"."""
        filled = []
        for literal, name, style, _ in Formatter().parse(self.text(template)):
            filled.append(literal)
            if name is not None:
                filled.append(self._value(values[name], style or "standard"))
        return "".join(filled)

    def _value(self, value: Value, style: str) -> str:
        match value:
            case Cell():    # a tuple too, so first
                return str(value)
            case House():
                return self._houses((value,), style)
            case Cage():
                if value.total is None:
                    return self.text(CAGE_WITHOUT_SUM).format(cell=value.first)
                return self.text(CAGE).format(sum=value.total, cell=value.first)
            case Digits():
                return self._list([str(digit) for digit in value], style)
            case tuple():
                sets = [item for item in value if isinstance(item, Digits)]
                if sets:
                    return self._list(["+".join(map(str, digits)) for digits in sets], "or")
                if value and all(isinstance(item, House) for item in value):
                    return self._houses(tuple(item for item in value if isinstance(item, House)), style)
                return self._list([self._value(item, style) for item in value], style)
            case _:
                return str(value)

    def _houses(self, houses: tuple[House, ...], style: str) -> str:
        """Houses by name, those of a kind together: `row 4`, `rows 1, 2 and 3`, `box 2 and column 9`."""
        numbers: dict[str, list[str]] = {}
        for house in houses:
            word, _, number = house.name.rpartition(" ")
            numbers.setdefault(word if word in PLACES else house.name, []).append(number)
        named = []
        for word, those in numbers.items():
            one, many = PLACES.get(word, (word, word))
            named.append(self.text(one if len(those) == 1 else many).format(n=self._list(those, style)))
        return self._list(named, style)

    def _list(self, items: list[str], style: str) -> str:
        return str(format_list(items, style="or" if style == "or" else "standard", locale=self._locale))


def _sentence(text: str) -> str:
    """The text with a capital; a cell's name keeps its small letter."""
    return text if text[1:2].isdigit() else text[:1].upper() + text[1:]


def _catalogue(language: str) -> Mapping[str, str]:
    path = files("cagework.typeset.words") / f"{language}.po"
    if not path.is_file():
        return {}
    with path.open("rb") as file:
        return {str(message.id): str(message.string) for message in read_po(file) if message.id and message.string}
