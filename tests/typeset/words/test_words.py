"""The fixed phrases and sentences of every language: complete, with the same blanks to fill, listed its way."""

from __future__ import annotations

import re
from importlib.resources import files
from io import StringIO
from pathlib import Path
from string import Formatter
from typing import Any

import pyphen
import pytest
from babel.messages.pofile import read_po

import cagework.typeset.words as words_of
from cagework.solver.model import Cage, Cell, House, HouseKind, standard_houses
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.rules import RULES
from cagework.solver.step import Claim, Digits, Held, Lack
from cagework.typeset.commands.door import main
from cagework.typeset.commands.exits import Exit
from cagework.typeset.words import catalogue as module
from cagework.typeset.words import copies, languages, load_words
from cagework.typeset.words.catalogue import catalogue, catalogue_is_of, templates, untranslated
from cagework.typeset.words.copies import copied, phrases
from cagework.typeset.words.names import FORMS
from cagework.typeset.words.phrases import NAMED, NUMBERED, PLACED
from cagework.typeset.words.sentences import Sentences

OTHERS = [language for language in languages() if language != "en"]


def blanks(text: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(text) if name}


def test_there_is_german() -> None:
    assert "de" in OTHERS


@pytest.mark.parametrize("language", OTHERS)
def test_every_phrase_is_said_with_the_same_blanks(language: str) -> None:
    english, other = dict(phrases(load_words("en"))), dict(phrases(load_words(language)))
    assert english.keys() == other.keys()
    assert [name for name, text in english.items() if blanks(text) != blanks(other[name])] == []
    assert [name for name, text in other.items() if not text.strip() or text.count("*") % 2] == []


def beginnings(text: str) -> set[str]:
    """How the words of a name begin, but for those that every name may have."""
    return {word[:4] for word in re.findall("[a-z]+", text.lower())} - {"a", "in", "of", "one", "that", "the"}


def test_each_technique_is_called_as_its_id_and_as_no_other() -> None:
    """No label has more of another technique's id than of its own."""
    of_id = {name: beginnings(name.replace("_", " ")) for name in TECHNIQUES}
    labels = {name: beginnings(load_words("en").techniques[name].name) for name in TECHNIQUES}
    shared = {name: {other: len(of_id[other] & label) for other in TECHNIQUES} for name, label in labels.items()}
    assert [name for name, by in shared.items() if not by[name] or by[name] < max(by.values())] == []


@pytest.mark.parametrize("language", OTHERS)
def test_no_phrase_was_left_in_english(language: str) -> None:
    english, other = dict(phrases(load_words("en"))), dict(phrases(load_words(language)))
    assert [name for name, text in other.items() if text.count(" ") > 3 and text == english[name]] == []
    said = {text for (_, text), translated in catalogue(language).items() if text == translated}
    assert [text for text in said if text.count(" ") > 3] == []


@pytest.mark.parametrize("language", OTHERS)
def test_a_language_is_no_copy_of_another(language: str) -> None:
    """Where this fails, a file was copied and is still to be translated: its words, and what it says it is of."""
    assert copied(language) is None
    assert catalogue_is_of(language) in (None, language)


def with_copy(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, words: str, says: str, header: str) -> None:
    """A tree with one language more, xx: the phrases of one that there is, and the sentences of another."""
    for file in files("cagework.typeset.words").iterdir():
        if file.name.endswith((".po", ".yaml")):
            (tmp_path / file.name).write_text(file.read_text(encoding="utf-8"), encoding="utf-8")
    (tmp_path / "xx.yaml").write_text((tmp_path / f"{words}.yaml").read_text(encoding="utf-8"), encoding="utf-8")
    if says:
        text = (tmp_path / f"{says}.po").read_text(encoding="utf-8")
        (tmp_path / "xx.po").write_text(text.replace("Language: de", f"Language: {header}"), encoding="utf-8")
    monkeypatch.setattr(module, "files", lambda _name: tmp_path)
    monkeypatch.setattr(words_of, "_HERE", tmp_path)
    monkeypatch.setattr(words_of, "load_words", words_of.load_words.__wrapped__)
    monkeypatch.setattr(copies, "load_words", words_of.load_words)


@pytest.mark.parametrize(("words", "says", "header", "other"), [
    ("de", "de", "de", "de"), ("en", "de", "de", "de"), ("en", "", "", "en"), ("de", "de", "xx", "de"),
])
def test_a_copied_language_is_a_warning(
    words: str, says: str, header: str, other: str, tmp_path: Path, capsys: Any, monkeypatch: pytest.MonkeyPatch,
) -> None:
    """And no fault of the language it was copied from, while the copy still says that it is of that one."""
    (tmp_path / "words").mkdir()
    with_copy(tmp_path / "words", monkeypatch, words, says, header)
    manifest = tmp_path / "book.yaml"
    manifest.write_text(BOOK.replace("LANGUAGE", "xx"), encoding="utf-8")
    assert main(["check", str(manifest)]) == Exit.FINE
    said = capsys.readouterr().err
    found = re.search(
        rf"{manifest}:1:28: warning: (\d+) of (\d+) texts for 'xx' are word for word those for '(..)'", said)
    assert found, said
    assert found[3] == other and int(found[1]) > (0.9 if words == says else 0.2) * int(found[2])
    manifest.write_text(BOOK.replace("LANGUAGE", "de"), encoding="utf-8")
    assert main(["check", str(manifest)]) == Exit.FINE
    assert ("word for word" in capsys.readouterr().err) is (header == "xx")


@pytest.mark.parametrize("language", languages())
def test_words_of_every_language_can_be_divided(language: str) -> None:
    """Patterns of the Hunspell project, by pyphen."""
    assert pyphen.language_fallback(language)


def test_german_lists_as_german_does() -> None:
    """CLDR: no comma before the last item."""
    assert load_words("de").listed(["4", "6", "9"], "de") == "4, 6 oder 9"


@pytest.mark.parametrize("language", OTHERS)
def test_every_sentence_has_one_translation_with_the_same_blanks(language: str) -> None:
    """Where this fails for a sentence just written or changed, say it in the catalogue too (gettext PO format)."""
    text = (files("cagework.typeset.words") / f"{language}.po").read_text(encoding="utf-8")
    messages = [message for message in read_po(StringIO(text)) if message.id]
    counts = [len(re.findall(rf"^{word} ", text, re.MULTILINE)) for word in ("msgid", "msgstr")]
    assert counts == [len(messages) + 1] * 2, "said twice, or of nothing"      # one is the header
    english = set(templates())
    said = {str(message.id) for message in messages if not message.context}
    assert english - said == set(), "not translated"
    assert {str(message.id) for message in messages} - english == set(), "translations of nothing"
    assert [message.id for message in messages if message.fuzzy or not message.string] == []
    assert [message.id for message in messages if blanks(str(message.id)) != blanks(str(message.string))] == []
    assert untranslated(language) == ()


@pytest.mark.parametrize("language", OTHERS)
def test_every_form_a_sentence_asks_for_is_in_the_catalogue(language: str) -> None:
    """A form that no name has is a slip of the pen: it would silently be the plain name."""
    with (files("cagework.typeset.words") / f"{language}.po").open("rb") as file:
        messages = [message for message in read_po(file) if message.id]
    forms = {message.context for message in messages if message.context}
    asked = {form for message in messages for _, _, form, _ in Formatter().parse(str(message.string))
             if form and "|" not in form and form not in FORMS}
    assert asked == forms


def test_houses_of_every_rule_have_words() -> None:
    """An editor's own name is printed as it stands; no rule may slip through by that door."""
    for rule in RULES.values():
        for house in (fact for fact in rule.exemplar(9).facts() if isinstance(fact, House)):
            assert house.name in NAMED or house.name.rpartition(" ")[0] in NUMBERED | PLACED, house.name


def test_every_clause_belongs_to_a_sentence() -> None:
    for technique in TECHNIQUES.values():
        for clauses in (technique.clauses, technique.in_passing):
            assert clauses.keys() <= technique.sentences.keys(), technique.name
        assert not technique.lead or (technique.clauses and "{items}" in technique.lead), technique.name


ROWS = standard_houses(9)[:9]
BEND = House("region 4", HouseKind.REGION, (Cell(2, 5), Cell(3, 5)))
FALLING = House("falling diagonal", HouseKind.EXTRA, (Cell(1, 1), Cell(2, 2)))


@pytest.mark.parametrize(("text", "value", "english", "german"), [
    ("{x}", Cell(2, 5), "r2c5", "z2s5"),
    ("{x}", Digits(0b1011), "1, 2 and 4", "1, 2 und 4"),
    ("{x:or}", Digits(0b1011), "1, 2 or 4", "1, 2 oder 4"),
    ("{x:or}", Digits(0b1011110), "2 to 5 or 7", "2 bis 5 oder 7"),
    ("{x}", Cage((Cell(4, 4), Cell(4, 5)), 17), "the cage of 17 at r4c4", "der 17er-Käfig bei z4s4"),
    ("{x:of}", Cage((Cell(4, 4), Cell(4, 5)), 17), "the cage of 17 at r4c4", "des 17er-Käfigs bei z4s4"),
    ("{x}", Cage((Cell(4, 4), Cell(4, 5)), None), "the cage at r4c4", "der Käfig bei z4s4"),
    ("{x}", ROWS[:2], "rows 1 and 2", "die Zeilen 1 und 2"),
    ("{x:in}", ROWS[:4], "rows 1 to 4", "in den Zeilen 1 bis 4"),
    ("{x:in}", (ROWS[0], BEND), "row 1 and the region at r2c5", "in Zeile 1 und im Block bei z2s5"),
    ("{x:in}", FALLING, "the falling diagonal", "in der fallenden Diagonale"),
    ("{x:in}", House("Teich", HouseKind.EXTRA, (Cell(1, 1),)), "Teich", "in Teich"),
    ("{x:adds|add}", ROWS[:1], "adds", "adds"),
    ("{x:adds|add}", ROWS[:2], "add", "add"),
    ("{x}", (Claim(Cell(1, 1), 3, True), Claim(Cell(1, 2), 3, False)), "r1c1 is 3, so r1c2 is not 3",
     "z1s1 = 3, also z1s2 ≠ 3"),
    ("{x}", (Held(Cell(1, 1), Digits(0b110)), Held(Cell(1, 2), Digits(0b110)), Lack(Cell(2, 1), Digits(0b110))),
     "r1c1 and r1c2 can only be 2 or 3 now and r2c1 is not 2 or 3",
     "z1s1 und z1s2 können nur noch 2 oder 3 sein und z2s1 ist weder 2 noch 3"),
    ("{x}", (Lack(Cell(1, 1), Digits(0b1)), Lack(Cell(1, 2), Digits(0b1)), Held(Cell(2, 1), Digits(0b110))),
     "r1c1 and r1c2 are not 1 and r2c1 can only be 2 or 3 now",
     "z1s1 und z1s2 sind nicht 1 und z2s1 kann nur noch 2 oder 3 sein"),
    ("{x}", ((ROWS[0],), ROWS[2:4]), "row 1 and rows 3 and 4 together", "Zeile 1 und die Zeilen 3 und 4 zusammen"),
    ("{x:of}", ((ROWS[0],), ROWS[2:4]), "row 1 and rows 3 and 4 together",
     "von Zeile 1 und der Zeilen 3 und 4 zusammen"),
    ("{x:sum|sums} of {x}", (ROWS[2:4],), "sum of rows 3 and 4", "sum of die Zeilen 3 und 4"),
    ("{x:words}", 12, "twelve", "zwölf"),
    ("{x:words}", 13, "13", "13"),
    ("{x:or}", (20, 21), "20 or 21", "20 oder 21"),
    ("{x:or}", tuple(range(15, 36)), "15 to 35", "15 bis 35"),
])
def test_what_sentences_name_is_named_as_each_language_does(
    text: str, value: Any, english: str, german: str,
) -> None:
    assert Sentences("en-GB")._filled(text, {"x": value}) == english
    assert Sentences("de-AT")._filled(text, {"x": value}).replace("\N{NO-BREAK SPACE}", " ") == german


BOOK = """\
book: {title: T, language: LANGUAGE, solutions: full, layout: a4-four-up}
puzzles:
  - id: lamp
    title: Lamp
    size: 4
    map: |
      aabc
      dabc
      deec
      dfff
    sums: {a: 7, b: 6, c: 6, d: 8, e: 4, f: 9}
"""


@pytest.mark.parametrize(("mask", "the", "nor", "a"), [
    (0b10000, "die 5", "nicht 5", "einer 5"),
    (0b10000001, "die 1 und die 8", "weder 1 noch 8", "einer 1 oder 8"),
    (0b11110001, "die 1 und die 5 bis 8", "weder 1 noch 5 bis 8", "einer 1 oder 5 bis 8"),
    (0b11110000, "die 5 bis 8", "keine der Ziffern 5 bis 8", "einer der Ziffern 5 bis 8"),
    (0b111101101, "die 1, 3, 4 und 6 bis 9", "keine der Ziffern 1, 3, 4 und 6 bis 9",
     "einer der Ziffern 1, 3, 4 und 6 bis 9"),
])
def test_german_gives_digits_their_article(mask: int, the: str, nor: str, a: str) -> None:
    """A digit is feminine (Duden, "die Acht"), and what is ruled out twice is `weder` and `noch`."""
    said = Sentences("de")
    assert [said._filled(f"{{x:{form}}}", {"x": Digits(mask)}) for form in ("the", "nor", "with")] == [the, nor, a]


def test_a_book_without_words_is_printed_in_english_with_a_warning(tmp_path: Path, capsys: Any) -> None:
    """ISO 639-2 keeps qaa to qtz for local use: no language is ever called so."""
    manifest = tmp_path / "book.yaml"
    manifest.write_text(BOOK.replace("LANGUAGE", "qaa"), encoding="utf-8")
    for command in (["build", str(manifest), "--out", str(tmp_path / "out")], ["check", str(manifest)]):
        assert main(command) == Exit.FINE
        assert f"{manifest}:1:28: warning: there are no words for 'qaa'" in capsys.readouterr().err


def test_a_sentence_that_a_catalogue_lacks_is_a_warning(
    tmp_path: Path, capsys: Any, monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Only where a sentence may be printed: not in a book without rules or worked solutions."""
    for file in files("cagework.typeset.words").iterdir():
        if file.name.endswith((".po", ".yaml")):
            text = file.read_text(encoding="utf-8").replace(
                'msgid "{cell} can only be {digit}', 'msgid "It can only be {digit}')
            (tmp_path / file.name).write_text(text, encoding="utf-8")
    monkeypatch.setattr(module, "files", lambda _name: tmp_path)
    manifest = tmp_path / "book.yaml"
    manifest.write_text(BOOK.replace("LANGUAGE", "de"), encoding="utf-8")
    assert main(["check", str(manifest)]) == Exit.FINE
    said = capsys.readouterr().err
    assert f"{manifest}:1:28: warning: 1 sentence of rules and worked solutions may be in English" in said
    assert "'{cell} can only be {digit}.'" in said
    manifest.write_text(BOOK.replace("LANGUAGE", "de").replace("full", "none"), encoding="utf-8")
    assert main(["check", str(manifest)]) == Exit.FINE
    assert not capsys.readouterr().err
