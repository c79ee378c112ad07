"""Punctuation: straight marks turned to the side a reader would give them, dashes, and numbers kept with nouns."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from cagework.layouts.load import shelf_layout
from cagework.typeset.book import Position, TextPage
from cagework.typeset.prose import Look, ProseBlock, ProseKind, Span
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.text.paragraph import prose_style, set_paragraph
from cagework.typeset.words import languages, load_words
from cagework.typeset.words.as_printed import printed_text_page
from cagework.typeset.words.catalogue import catalogue, templates
from cagework.typeset.words.copies import phrases
from cagework.typeset.words.punctuation import printed, tied
from cagework.typeset.words.sentences import Sentences

TIED = "\N{NO-BREAK SPACE}"

# What is right in each case is how it is printed in books of the language (New Hart's Rules and Duden's rules for
# the apostrophe and the Gedankenstrich, from memory); the marks themselves are CLDR's.
ENGLISH = {
    'He said "no".': "He said “no”.",
    "He said 'no'.": "He said ‘no’.",
    "\"He said 'no'\" and 'She said \"yes\"'": "“He said ‘no’” and ‘She said “yes”’",
    "don't, the dogs' bowls": "don’t, the dogs’ bowls",
    "the dogs' bowls and the cats' beds": "the dogs’ bowls and the cats’ beds",
    "'the dogs' bowls'": "‘the dogs’ bowls’",
    "the '90s, the summer of '69, the 1980's": "the ’90s, the summer of ’69, the 1980’s",
    "rock 'n' roll and fish 'n' chips": "rock ’n’ roll and fish ’n’ chips",
    "'rock 'n' roll'": "‘rock ’n’ roll’",
    "'Tis so. 'Twas. Get 'em.": "’Tis so. ’Twas. Get ’em.",
    "He said, \"'Tis so.\"": "He said, “’Tis so.”",
    "'cause I say so": "’cause I say so",
    "'Hello,' she said, 'don't.'": "‘Hello,’ she said, ‘don’t.’",
    "(\"so\") [\"and\"] \"so\"/\"on\"": "(“so”) [“and”] “so”/“on”",
    "*\"word\"* and \"*word*\"": "*“word”* and “*word*”",
    "l'été, d'accord, l'\"été\"": "l’été, d’accord, l’“été”",
    "He says „Gruß“ and «oui».": "He says „Gruß“ and «oui».",
    "\"...and so\" he went...": "“…and so” he went…",
    "He went.... So": "He went…. So",
    "the \"?\" mark": "the “?” mark",
    "5' 6\" and 5'6\"": "5' 6\" and 5'6\"",
    "\"Route 66\" and \"Route 77\"": "“Route 66” and “Route 77”",
    "\"a 12\" rule\"": "“a 12\" rule”",
    "'Route 66'": "‘Route 66’",
    "the '06:45' and '1.30'": "the ‘06:45’ and ‘1.30’",
    "one -- two": f"one{TIED}– two",
    "one--two": f"one{TIED}– two",
    "one - two": f"one{TIED}– two",
    "one---two": "one—two",
    "one – two — three": f"one{TIED}– two{TIED}— three",
    "\"one\"--\"two\"": f"“one”{TIED}– “two”",
    "\"one\" -- \"two\"": f"“one”{TIED}– “two”",
    "(\"one\")—\"two\"": "(“one”)—“two”",
    "\"I was--\" he said": "“I was—” he said",
    "-- The editor": "– The editor",
    "re-use, r1c1-r2c2, --press, ----, <--": "re-use, r1c1-r2c2, --press, ----, <--",
    "First \"one\n\n\"and two\"": "First “one\n\n“and two”",
}
GERMAN = {
    'Er sagte "nein".': "Er sagte „nein“.",
    "\"Das ist 'gut'\", sagte er.": "„Das ist ‚gut‘“, sagte er.",
    "Wie geht's? 's ist Hans' Haus, 'ne Sache.": "Wie geht’s? ’s ist Hans’ Haus, ’ne Sache.",
    "'Hans' Haus' ist groß.": "‚Hans’ Haus‘ ist groß.",
    "die '90er": "die ’90er",
    "Er kam -- und ging - fort.": f"Er kam{TIED}– und ging{TIED}– fort.",
    "Ich war--": f"Ich war{TIED}–",
    "\"Kommst du --\" \"Ja\"": f"„Kommst du{TIED}–“ „Ja“",
    "Drei Grad - nicht mehr -, als er fuhr -": f"Drei Grad{TIED}– nicht mehr{TIED}–, als er fuhr{TIED}–",
    "zwischen 2 und -.5": "zwischen 2 und -.5",
    '"So?" - "Ja!"': f"„So?“{TIED}– „Ja!“",
    "„So“ -- ja": f"„So“{TIED}– ja",
    "Ach ...": f"Ach{TIED}…",
}


@pytest.mark.parametrize(("typed", "set_so"), ENGLISH.items())
def test_english_as_it_is_printed(typed: str, set_so: str) -> None:
    assert printed(typed, "en-GB") == set_so


@pytest.mark.parametrize(("typed", "set_so"), GERMAN.items())
def test_german_as_it_is_printed(typed: str, set_so: str) -> None:
    assert printed(typed, "de") == set_so


@pytest.mark.parametrize(("language", "pairs"), {
    "en": "“”‘’", "de": "„“‚‘", "de-AT": "„“‚‘", "it": "«»“”", "pl": "„”«»", "es": "“”‘’", "cy": "“”‘’",
}.items())
def test_marks_are_those_of_cldr(language: str, pairs: str) -> None:
    """unicode-org/cldr-json, delimiters.json of each language; `und` for those without marks of their own here."""
    out_left, out_right, in_left, in_right = pairs
    assert printed("\"one 'two' three\"", language) == f"{out_left}one {in_left}two{in_right} three{out_right}"


pieces = st.sampled_from(["one", "don't", "cats'", "“so”", "re-use", '"', "'", "(", ")", " ", " ", " ", "-", "--",
                          "---", "–", "—", ".", ",", "...", "*", "é", "\n", "\n\n"])
typed_texts = st.lists(pieces, max_size=40).map("".join)
spoken = st.recursive(
    st.sampled_from(["one", "two, three", "re-use", "don't", "é"]),
    lambda inner: st.tuples(inner, inner).map(" ".join) | inner.map(lambda said: f"({said})"), max_leaves=6)


def letters(text: str) -> str:
    return re.sub(r"[^\w]", "", text)


@given(typed_texts, st.sampled_from(["en", "de", "fr"]))
def test_no_letter_is_lost_and_no_line_can_begin_with_a_dash(text: str, language: str) -> None:
    made = printed(text, language)
    assert letters(made) == letters(text)
    for paragraph in re.split(r"\n\s*\n", made):
        assert not re.search(r"\w[ \t\n]+[–—](\s|$)", paragraph), "the space before a dash is one no line ends at"


@given(typed_texts, st.sampled_from(["en", "de"]))
def test_what_is_printed_stays_as_it_is(text: str, language: str) -> None:
    made = printed(text, language)
    if "'" not in made and '"' not in made and "--" not in made and " - " not in made:
        assert printed(made, language) == made


@given(spoken, spoken, st.sampled_from([("en", "“”‘’"), ("de", "„“‚‘")]))
def test_quotations_in_quotations_open_and_close_in_turn(one: str, other: str, marks: tuple[str, str]) -> None:
    language, (left, right, inner_left, inner_right) = marks
    said = [part.replace("'", "’") for part in (one, other)]
    made = printed(f"So: \"{one} '{other}'\" {one}.", language)
    assert made == f"So: {left}{said[0]} {inner_left}{said[1]}{inner_right}{right} {said[0]}."


@pytest.mark.parametrize("language", languages())
def test_the_tools_own_words_are_punctuated(language: str) -> None:
    said = list(templates()) if language == "en" else list(catalogue(language).values())
    said += [text for _, text in phrases(load_words(language))]
    for text in said:
        assert not re.search("['\"]|--|\\.\\.\\.", text), text
        assert printed(text, language) == text


@pytest.mark.parametrize(("phrase", "apart"), {
    "the cage of {sum} at {cell}": ("of", "{sum}"), "rows {n}": ("rows", "{n}"), "box {n}": ("box", "{n}"),
    "answer on page {page}": ("page", "{page}"), "No. {number}": ("No.", "{number}"),
    "Zeilen {n}": ("Zeilen", "{n}"), "Seite {page}": ("Seite", "{page}"), "row 2.": ("row", "2"),
    "the last {count} digits": ("{count}", "digits"), "die letzten {count} Ziffern": ("{count}", "Ziffern"),
    "{first} to {last}": ("to", "{last}"),
}.items())
def test_numbers_stay_with_their_nouns(phrase: str, apart: tuple[str, str]) -> None:
    first, second = apart
    assert f"{first}{TIED}{second}" in tied(phrase)
    assert tied(phrase).replace(TIED, " ") == phrase
    assert tied(tied(phrase)) == tied(phrase)


@pytest.mark.parametrize(("language", "nouns"), [
    ("en", "of|rows?|columns?|box(?:es)?|digits?|page"), ("de", "Zeilen?|Spalten?|Block|Blöcken?|Seite|Ziffern")])
def test_sentences_in_print_never_break_between_a_noun_and_its_number(language: str, nouns: str) -> None:
    """Every template in its blanks' plainest values, in lines as narrow as they go."""
    sentences = Sentences(language, in_print=True)
    fonts = Fonts(shelf_layout("a5-one-up"))
    style = prose_style(shelf_layout("a5-one-up"), language)
    for text in templates():
        filled = re.sub(r"\{(?:sum|total|n|count|reckoned|last)\}", "14", sentences.text(text))
        for number, line in enumerate(set_paragraph(filled, style, 60.0, fonts)):
            said = "".join(text for _, text, _ in line.words)
            assert not re.search(rf"(?<!\w)(?:{nouns})$", said) or not re.match(
                r"\d", next_words(filled, style, fonts, number)), (text, said)


def next_words(filled: str, style: object, fonts: Fonts, number: int) -> str:
    lines = set_paragraph(filled, style, 60.0, fonts)  # type: ignore[arg-type]
    return "".join(text for _, text, _ in lines[number + 1].words) if number + 1 < len(lines) else ""


@pytest.mark.parametrize("language", ["en", "de"])
def test_a_line_never_begins_with_a_dash(language: str) -> None:
    layout = shelf_layout("a5-one-up")
    fonts, style = Fonts(layout), prose_style(layout, language)
    text = "The old line -- or what is left of it - runs---so they say--to the sea – and back " * 5
    text = printed(text, language)
    for measure in range(60, 300, 7):
        for line in set_paragraph(text, style, measure, fonts):
            assert line.words[0][1][0] not in "-–—"


def test_digits_joined_by_a_hyphen_are_on_one_line() -> None:
    """A range, or the digits of a combination; a word after a hyphen may go on below."""
    layout = shelf_layout("a5-one-up")
    fonts, style = Fonts(layout), prose_style(layout, "en")
    text = "They are a 1-3-8-9 quad in the well-kept rows 3-4."
    for width in range(40, 90, 5):
        lines = set_paragraph(text, style, width, fonts)
        ends = ["".join(text for _, text, _ in line.words)[-2:] for line in lines]
        assert not any(end[0].isdigit() and end[1] == "-" for end in ends), ends


@pytest.mark.parametrize(("language", "left", "right"), [("en", "“", "”"), ("de", "„", "“")])
def test_marks_are_turned_across_changes_of_look(language: str, left: str, right: str) -> None:
    """A quotation of a page of one's own may begin in italics and end in none; a star of the text stays one."""
    typed = (Span("So: ", Look.PLAIN), Span('"all', Look.ITALIC), Span(' 3 * 4" -- ', Look.PLAIN),
             Span("that's", Look.BOLD))
    page = TextPage('A "Word"', (ProseBlock(ProseKind.ITEM, typed, 2),), Position.BACK, None, True, True)
    made = printed_text_page(page, language)
    (block,) = made.blocks
    assert made.title == f"A {left}Word{right}" and (block.kind, block.number) == (ProseKind.ITEM, 2)
    assert [span.look for span in block.spans] == [span.look for span in typed]
    assert [span.text for span in block.spans] == ["So: ", f"{left}all", f" 3 * 4{right}{TIED}– ", "that’s"]
