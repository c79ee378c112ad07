"""A grid in words, for those who cannot see the drawing, and the rules of its own."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache

from cagework.solver.crossing import is_across
from cagework.solver.listed import ListedHouse
from cagework.solver.model import Answer, Cage, Cell, Puzzle
from cagework.solver.rule import Named, Rule, RuleOnCells
from cagework.solver.step import Digits, Step
from cagework.typeset.draw.argument import argument_of
from cagework.typeset.draw.clues import clues
from cagework.typeset.entry import Entry
from cagework.typeset.marks import Group, Tag
from cagework.typeset.solving.worked import Moment
from cagework.typeset.words import Described, Words
from cagework.typeset.words.phrases import CROSSING, NO_REGIONS, NO_SUMS
from cagework.typeset.words.sentences import Sentences


def figure(drawn: Group, alt: str) -> Group:
    """A drawing that is read aloud as `alt`."""
    return replace(drawn, tag=Tag.FIGURE, alt=alt)


def rules_in_words(entry: Entry, sentences: Sentences) -> tuple[str, ...]:
    """A sentence for each of a puzzle's extra rules, none twice, after those on its kind and on missing sums."""
    said = [*_kind(entry, sentences)]
    if any(cage.total is None for cage in entry.puzzle.cages):
        said.append(sentences.text(NO_SUMS))
    return tuple(dict.fromkeys((*said, *(rule_in_words(rule, sentences) for rule in entry.rules))))


def _kind(entry: Entry, sentences: Sentences) -> Iterator[str]:
    """What holds where rows, columns and regions do not each hold every digit once."""
    if entry.puzzle.shape:
        yield sentences.text(CROSSING)
    elif not entry.puzzle.regions:
        digits = entry.puzzle.digits
        yield sentences.text(NO_REGIONS).format(least=digits[0], most=digits[-1])


def digits_met(puzzles: Iterable[Puzzle]) -> list[range]:
    """The digits of some puzzles: each run once, those of fewer first."""
    return sorted({puzzle.digits for puzzle in puzzles}, key=lambda run: (len(run), run[0]))


def run_in_words(run: range, words: Words) -> str:
    """The digits of a puzzle: `1 to 9`."""
    return words.range.format(least=run[0], most=run[-1])


def describe(entry: Entry, words: Described, sentences: Sentences, answer: Answer | None = None) -> str:
    """A puzzle in words with its own rules, or its answer where one is given."""
    said = describe_grid(entry.puzzle, words, sentences, answer)
    if answer is not None:
        return said
    return " ".join((said, *_groups(entry, words, sentences), *_rules_with_cells(entry, words, sentences)))


def rule_in_words(rule: Rule, sentences: Sentences) -> str:
    """What a rule says."""
    named = rule.named if isinstance(rule, RuleOnCells) else Named(())
    cells = " ".join(map(sentences.cell, named.cells))
    return sentences.text(rule.sentence).format(
        size=rule.size, least=rule.least, most=rule.digits[-1], cells=cells, number=named.number)


def _rules_with_cells(entry: Entry, words: Described, sentences: Sentences) -> Iterator[str]:
    """The same, each followed by the cells that only the drawing shows."""
    yield from _kind(entry, sentences)
    drawn: dict[str, list[str]] = {}
    for rule in entry.rules:
        drawn.setdefault(rule_in_words(rule, sentences), []).extend(cells_in_words(rule, words, sentences))
    for sentence, cells in drawn.items():
        yield sentence
        if cells:
            yield words.holds_for.format(items="; ".join(cells))


def cells_in_words(rule: Rule, words: Described, sentences: Sentences) -> list[str]:
    """The cells a rule is named on, where only the drawing shows them; those of a number outside it with that."""
    if not isinstance(rule, RuleOnCells) or "{cells}" in rule.sentence:
        return []
    named = " ".join(map(sentences.cell, rule.named.cells))
    return [words.cage.format(sum=clue.number, cells=" ".join(map(sentences.cell, clue.cells)))
            for clue in clues((rule,))] or [named]


def describe_grid(puzzle: Puzzle, words: Described, sentences: Sentences, answer: Answer | None = None) -> str:
    """A puzzle's cages and givens in words, or its answer where one is given."""
    if answer is None:
        return " ".join(_facts(puzzle, words, sentences))
    digits = {cell: str(answer.at(cell)) for cell in puzzle.cells}
    return " ".join((_sized(words.answer, puzzle), *_rows(puzzle, digits, words)))


def _sized(template: str, puzzle: Puzzle) -> str:
    return template.format(rows=puzzle.rows, columns=puzzle.columns)


def _rows(puzzle: Puzzle, said: Mapping[Cell, str], words: Described, *, all_rows: bool = True) -> Iterator[str]:
    """What stands in the cells of each row, or of each in which not all are open; squares that are none are black.
    """
    cells = frozenset(puzzle.cells)
    for row in range(1, puzzle.rows + 1):
        here = [Cell(row, col) for col in range(1, puzzle.columns + 1)]
        if all_rows or not said.keys().isdisjoint(here):
            told = (said.get(cell, words.open) if cell in cells else words.black for cell in here)
            yield words.row.format(number=row, digits=" ".join(told))


def describe_picture(
    puzzle: Puzzle, known: Moment, steps: Sequence[Step], words: Described, sentences: Sentences, *,
    full: bool = False,
) -> str:
    """A picture of a worked solution: the digits that stand in it, what the argument rests on, the notes, where it
    is `full` in every open cell, which of them are struck out, and the digits that are found.
    """
    argument = argument_of(steps)
    before = puzzle.least - 1
    placed = {cell: str(before + digit) for cell, digit in known.placed.items()}
    said = [_sized(words.moment, puzzle), *_rows(puzzle, placed, words, all_rows=False)]
    rests = [sentences.named(things) for things in (
        argument.houses, argument.blocks, argument.cages, argument.sums) if things]
    if rests:
        said.append(words.rests_on.format(items="; ".join(rests)))
    noted = sorted(argument.noted(puzzle, known, full=full))
    masks = dict(zip(puzzle.cells, known.candidates, strict=True))
    for template, digits_in in ((words.notes, {cell: masks[cell] for cell in noted}),
                                (words.struck, {cell: argument.struck[cell] & masks[cell]
                                                for cell in noted if cell in argument.struck}),
                                (words.found, {cell: 1 << digit - 1 for cell, digit in argument.found.items()})):
        items = (words.given.format(digit=_digits(mask, before), cell=sentences.cell(cell))
                 for cell, mask in digits_in.items())
        if digits_in:
            said.append(template.format(items="; ".join(items)))
    return " ".join(said)


@lru_cache(maxsize=1024)
def _digits(mask: int, before: int) -> str:
    """The digits of a mask as they are printed, `before` more than counted from 1."""
    return " ".join([str(before + digit) for digit in Digits(mask)])


def _facts(puzzle: Puzzle, words: Described, sentences: Sentences) -> list[str]:
    said = [_sized(words.grid, puzzle)]
    if puzzle.own_regions:
        items = (" ".join(map(sentences.cell, region)) for region in puzzle.own_regions)
        said.append(words.regions.format(items="; ".join(items)))
    if puzzle.shape:
        said += _rows(puzzle, dict.fromkeys(puzzle.cells, words.white), words)
        for template, level in ((words.across, True), (words.down, False)):
            runs = [_cage(cage, words, sentences) for cage in puzzle.cages if is_across(cage.cells) is level]
            said += [template.format(items="; ".join(runs))] if runs else []
    elif puzzle.cages:
        said.append(words.cages.format(items="; ".join(_cage(cage, words, sentences) for cage in puzzle.cages)))
    if puzzle.givens:
        items = (words.given.format(digit=given.digit, cell=sentences.cell(given.cell)) for given in puzzle.givens)
        said.append(words.givens.format(items="; ".join(items)))
    return said


def _groups(entry: Entry, words: Described, sentences: Sentences) -> tuple[str, ...]:
    """The houses that the puzzle lists cell by cell."""
    listed = [rule.cells for rule in entry.rules if isinstance(rule, ListedHouse)]
    items = "; ".join(" ".join(map(sentences.cell, cells)) for cells in listed)
    return (words.groups.format(items=items),) if listed else ()


def _cage(cage: Cage, words: Described, sentences: Sentences) -> str:
    cells = " ".join(map(sentences.cell, cage.cells))
    return (words.cage_without_sum if cage.total is None else words.cage).format(sum=cage.total, cells=cells)
