"""What sentences are made of besides the techniques' own: names of cells, cages and houses, the words between
clauses, and the frame of a told solution. English, which any other language's catalogue translates.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from cagework.solver.reasoning.sums import IN, IN_AND_OUT, IN_BRIEF, ONE_IN, ONE_OUT, OUT
from cagework.solver.step import Crush

CELL = "r{row}c{column}"
NO_REGIONS = "This grid has no boxes: every row and every column holds each digit from {least} to {most} once."
CROSSING = (
    "Fill the white squares with digits from 1 to 9 so that each run across or down adds to the sum before it; no "
    "digit stands twice in a run.")
NO_SUMS = "Where a cage has no number in its corner, its sum is not given."
SO, AND, AND_THEN = ", so ", ", and ", "; "
"""Between clauses: where the second follows from the first, holds as well, and only comes next."""

THEN, HENCE = "Then {reason}.", "So {claim}."
"""A reason that rests on the one before, though not on that alone; and what several reasons lead to."""

IS, IS_NOT = "{cell} is {digit}", "{cell} is not {digit}"
FROM_TO = "{first} to {last}"
STRUCK, STRUCK_ALONE, STRIKES = "So {items}.", "So {cells} cannot be {digits:or}.", "{cells} cannot be {digits:or}"
"""What goes from several cells; from one, or the same from several; and each of the several."""

BY_NOW = "By now that can only be {ways}."
"""The ways in which cells can still make a sum that was just said."""

DIGIT, TWO_DIGITS, DIGITS = "{digit}", "{one} and {other}", "{digits}"
"""Digits in a form that a language has for one, for two and for more."""

NUMBERS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
"""Small numbers of things in words (common practice)."""

CAGE, CAGE_WITHOUT_SUM = "the cage of {sum} at {cell}", "the cage at {cell}"
CAGES, CAGE_AMONG_SEVERAL = "the cages {cages}", "of {sum} at {cell}"
LONE_CAGE, LONE_CAGE_AMONG_SEVERAL = "the cage of {sum}", "of {sum}"
"""Of a sum that no other cage of the puzzle has."""

ACROSS, DOWN = "the run of {sum} across at {cell}", "the run of {sum} down at {cell}"
LONE_ACROSS, LONE_DOWN = "the run of {sum} across", "the run of {sum} down"
RUNS_NAMED = "the runs {cages}"
ACROSS_AMONG_SEVERAL, DOWN_AMONG_SEVERAL = "of {sum} across at {cell}", "of {sum} down at {cell}"
LONE_ACROSS_AMONG_SEVERAL, LONE_DOWN_AMONG_SEVERAL = "of {sum} across", "of {sum} down"
"""The same of the runs of crossing sums."""

BLOCK_ACROSS, BLOCK_DOWN = "the runs across in {places}", "the runs down in {places}"
LINES_IN_PART = "{lines} ({along})"
"""Blocks of runs: the rows in which they lie, and of these which columns; or the other way about."""

RUNS_ACROSS, RUNS_DOWN = "the runs across", "the runs down"

NUMBERED: Mapping[str, tuple[str, str]] = MappingProxyType({
    word: (f"{word} {{n}}", f"{many} {{n}}")
    for word, many in (("row", "rows"), ("column", "columns"), ("box", "boxes"))
})
"""The word of a house that a reader can count -> how one is named, and how several are."""

PLACED: Mapping[str, tuple[str, str]] = MappingProxyType({
    "region": ("the region at {cell}", "the regions at {cell}"),
    "window": ("the window at {cell}", "the windows at {cell}"),
    "extra house": ("the tinted group at {cell}", "the tinted groups at {cell}"),
})
"""The word of a house that is told by its first cell -> how one is named, and how several are."""

NAMED: Mapping[str, str] = MappingProxyType({
    "falling diagonal": "the falling diagonal", "rising diagonal": "the rising diagonal",
})
"""Houses of which there is but one."""

OTHER = "{name}"
"""A house that an editor named."""

OF_ONE_HOUSE = "{claims:list} ({house})"
"""Digits, one after another, for which one house has one place."""

WHICH, CAN = "Which of {digits} can {cell} be?", "Can {cell} be {digits:or}?"
LEFT = "Only {digits} {digits:is|are} left."
"""What several suppositions of a cell's digits ask, and come to."""

MADE = "How can {cage} be made?"
LOOK_AT, LEADS_TO = "Look at {places}.", "From here the way leads to a first digit, in {cell}."

BEGIN_SUMS, BEGIN_CAGES = "Begin with the {areas:sum|sums} of {areas}.", "Begin with {cages}."
BEGIN_BOTH = "Begin with the {areas:sum|sums} of {areas}, and with {cages}."
BEGIN_SEVERAL = "Begin with the cages: {count:words} of them rule digits out at once."
BEGIN_SEVERAL_BOTH = (
    "Begin with the {areas:sum|sums} of {areas}, and with the {count:words} cages that rule digits out at once.")
AREA, TOGETHER = "{houses}", "{houses} together"
"""What is added up, and houses that are added up beside others that are not."""

MARKED = "Note first what single cells can hold {rules}."
BREAK_IN, TURNS = "The way in: {places} ({way}).", "The turning point: {places} ({way})."
NEEDS = "It takes, besides cages one by one: {ways}."
OTHERS = "{count:words} {count:other way|other ways}"
NEEDS_NOTHING = "It is enough to look at one cage, row, column or region at a time."
NEEDS_RULE = "It is enough to look at one cage, row, column or region at a time, and at the rules under the grid."
TRIED = "No short argument goes all the way: {cells} {cells:has|have} to be tried."
ENDS = "From {cell} on, the last {count:words} digits follow one by one."
ENDS_AT_ONCE = "Then all {count:words} digits follow one by one, from {cell} on."
ENDS_PLAINLY = "From {cell} on, one cage, row, column or region at a time gives the last {count:words} digits."
"""The shape of a solve."""

LEAVES_CELL = "{ways} ({ways:leaving|each leaving} {cell} nothing)"
LEAVES_CAGE = "{ways} ({ways:leaving|each leaving} {cage} only {held:in}, never making {left})"
LEAVES_HOUSE = "{ways} ({ways:leaving|each leaving} {digit} no place in {house})"
"""Ways to make a cage, with what each would leave nothing for."""

NOR, OR_ELSE = "Nor {ways}.", "Or {ways}."
"""More of them, in a sentence of their own: where it was said what a cage is not, and what it would be."""

CLASH: Mapping[tuple[Crush, bool], str] = MappingProxyType({
    (Crush.BARE, False): "that leaves nothing for {cells:or}",
    (Crush.ALIKE, True): "{cells} would both be {digits}",
    (Crush.ALIKE, False): "{cells} would have to be the same digit",
    (Crush.ALONE, True): "{digits} would both need {cells}",
})
"""How digits do not go into cells, and whether they are always the same."""

ELSE = " (with {digits:it|one of them} elsewhere, {clash:or})"
ELSE_WAYS = " (with {digits:it|one of them} elsewhere its other cells could not hold {ways})"
ELSE_SUMS = " (with {digits:it|one of them} elsewhere its other cells could not make {sums:or})"
ELSE_NOT = " (with {digits:it|one of them} elsewhere its other cells could not hold the rest)"
"""Why a cage holds digits in no cells but some."""

SETS: Mapping[int, tuple[str, str]] = MappingProxyType({
    2: ("a {digits} pair", "an {digits} pair"),
    3: ("a {digits} triple", "an {digits} triple"),
    4: ("a {digits} quad", "an {digits} quad"),
})
"""So many digits by one name, and by one that begins with a vowel."""

VOWELS = frozenset({8, 11})
"""Digits whose English names begin with a vowel."""

REST = "what is left of {cage}"
INSIDE = "the cages inside{counted}"
COUNTED: Mapping[tuple[bool, bool], str] = MappingProxyType({
    (True, False): ", with {left_out},",
    (False, True): ", less {sticking_out},",
    (True, True): ", with {left_out} and less {sticking_out},",
})
"""Filled cells that are counted with cages, as they leave them out, or as these stick out."""

STATED = "{rule} {sum}"
"""A sum by the rule that states it."""

KNOWN: Mapping[tuple[bool, bool], str] = MappingProxyType({
    (True, True): "{sums:this|these} and the cages there{counted}",
    (True, False): "the cages there{counted}",
    (False, True): "{sums:this|these}{counted}",
})
"""What is counted of an area, cages or none, and sums that rules state or none; filled cells with them."""

LACK, CAN_BE = "{cells} {cells:is|are} not {digits:or}", "{cells} can only be {digits:or} now"
HELD = "{digits:or} in {cell}"
NO_OTHER: Mapping[tuple[bool, bool, bool], str] = MappingProxyType({
    (True, False, False): ", as {barred} {barred:is|are} gone",
    (False, True, False): ", as {unfit:list} {unfit:does|do} not fit",
    (True, True, False): ", as {barred} {barred:is|are} gone and {unfit:list} {unfit:does|do} not fit",
    (False, False, True): ", as {lacks}",
    (True, False, True): ", as {barred} {barred:is|are} gone and {lacks}",
})
BY_PAIR = ", as {pair} add to {makes} and {rest} to {left}"
NO_MORE = ", no longer {struck}"
GONE = "{barred} {barred:is|are} gone"
UNFIT: Mapping[Crush, str] = MappingProxyType({
    Crush.BARE: "{unfit:list} {unfit:leaves|leave} nothing for {cells:or}",
    Crush.ALIKE: "{unfit:list} {unfit:puts|put} {digits} in both {cells}",
    Crush.ALONE: "{unfit:list} {unfit:needs|need} {cells} for both {digits}",
})
"""Why there is no other way: by digits that no cell can be, sets that do not fit, what cells cannot be, and ways
struck before; in a few words, what keeps such sets out.
"""

IN_GROUPS, IN_SIGHT, IN_RULED_SIGHT = (
    "of {groups:or}", "in sight of them all (such as {cells}, by {by})", "in sight of them all (such as {cells})")
IN_BOTH, IN_BOTH_RULED = (
    "of {groups:or} or in sight of them all (such as {cells}, by {by})",
    "of {groups:or} or in sight of them all (such as {cells})")
"""Cells that lose a digit: those in sight that matter, for there may be more."""

ADD, MORE = "{plus} add to {total}", "{plus} {plus:is|make} {total} more than {minus}{minus:| together}"
SAME = "{plus} {plus:equals|make as much as} {minus}{minus:| together}"
"""What cells make, or how those of two sides compare."""

MORE_THAN, LESS_THAN = "{total} more than {minus}{minus:| together}", "{total} less than {minus}{minus:| together}"
AS_MUCH = "as much as {minus}{minus:| together}"
"""The same of one cell that was just named."""

AS_SHOWN = "as the cages of {houses} showed"
"""Where a sum was told, if that has no letter."""

AS_RUNS_SHOWED = "as {runs} showed"
"""The same of runs."""

OF_RUNS: Mapping[str, str] = MappingProxyType({
    ONE_IN["in"]: (
        "{houses} add to {total} and {houses:crossing} inside{counted} to {reckoned}, so "
        "{cell}, left over, is {digit}."),
    ONE_OUT["out"]: (
        "{houses} add to {total} and {houses:crossing} over them{counted} to {reckoned}, so "
        "{cell}, which sticks out, is {digit}."),
    IN["in"]: (
        "{houses} add to {total} and {houses:crossing} inside{counted} to {reckoned}, so "
        "{innies}, left over, add to {sum}."),
    OUT["out"]: (
        "{houses} add to {total} and {houses:crossing} over them{counted} to {reckoned}, so "
        "{outies}, which stick out, add to {sum}."),
    IN_AND_OUT["differ"]: (
        "{houses} add to {total} and {houses:crossing} over them{counted} to {reckoned}. "
        "These leave out {innies} and stick out by {outies}, so {greater} {greater:is|make} {sum} more than "
        "{lesser}{lesser:| together}."),
    IN_AND_OUT["same"]: (
        "{houses} add to {total} and {houses:crossing} over them{counted} to as much. "
        "These leave out {innies} and stick out by {outies}, so {innies} {innies:equals|make as much as} "
        "{outies}{outies:| together}."),
    IN_BRIEF["in"]: "{cell} is {digit} ({houses} add to {total}, {houses:crossing} inside{counted} to {reckoned})",
    IN_BRIEF["out"]: (
        "{cell} is {digit} ({houses} add to {total}, {houses:crossing} over them{counted} to {reckoned})"),
    CAGES: RUNS_NAMED,
    BEGIN_SEVERAL: "Begin with the runs: {count:words} of them rule digits out at once.",
    NEEDS: "It takes, besides runs one by one: {ways}.",
    NEEDS_NOTHING: "Runs one by one are enough.",
    ENDS_PLAINLY: "From {cell} on, runs one by one are enough for the last {count:words} digits.",
    "Some cages can be made in one way only: {items}.": "Some runs can be made in one way only: {items}.",
    "Some cages use up digits: {items}.": "Some runs use up digits: {items}.",
    "{cell} is {digit} (its cage)": "{cell} is {digit} ({cage})",
})
"""What is said of cages by that word -> the same of runs."""
