"""The one contract a technique fulfils: where it looks, what it finds there, what it says, what it costs.

A technique is one file in `solver/techniques/`; the file's name is the technique's name. It reads the
state and never changes it, and it knows nothing of the other techniques or of the answer.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import Enum, auto
from types import MappingProxyType
from typing import ClassVar

from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.step import Cites, Step, Why


class Scope(Enum):
    """The kind of place a technique looks at; places of a kind are numbered from 0."""

    CELL = auto()     # one open cell
    HOUSE = auto()    # one house
    CAGE = auto()     # one cage
    GROUP = auto()    # one house or, numbered after the houses, one cage
    DIGIT = auto()    # all places of one digit; number 0 is digit 1
    ALONE = auto()    # a balance of houses and cages (`State.balance`) that leaves one cell open
    FEW = auto()      # one that leaves two to four
    MANY = auto()     # one that leaves more
    GRID = auto()     # everything at once, as place 0
    RELATED = auto()  # one cell that a rule of the puzzle's own ties to another
    SUM = auto()      # one sum of a rule of the puzzle's own
    BETWEEN = auto()  # one line of which the ends bound the cells between them
    HOUSE_FILLED = auto()   # one house, again only where a cell of it was filled
    CAGE_FILLED = auto()    # one cage, again only where a cell of it was filled
    NEAR_CAGE = auto()      # one cage, all that its cells see, and the cages there


FILLED = (Scope.HOUSE_FILLED, Scope.CAGE_FILLED)
"""Where a technique goes by what is filled: it says so of all other cells there."""

NAMES = frozenset({"set", "set_all", "set_rest", "only"})
"""Keys of sentences that name the digits of a cage, and what follows from it."""

MOST_CASES = 12
"""The most cases that a step may ask a reader to hold in mind at once."""

MOST_LINKS = 8
"""The most links of a supposition's argument that a reader may be asked to follow."""


MOST_NAMED = 4
"""The most cells that go by one name, as a pair, a triple or a quad."""


class Technique(ABC):
    """One way of reasoning.

    `cost` orders the techniques, cheapest first; `solver/grade.py` says what the numbers mean. `sentences`
    holds the English templates by key, with the names of a step's `why` in braces; `{digits:or}` lists with "or",
    `{digits:set}` calls two to four a pair, a triple or a quad, and `{cells:is|are}` is the word that goes with
    one cell or with more. `clauses` are shorter templates by the same keys, for several steps said in one breath,
    and `lead` is the sentence round them, with `{items}`. A key `one+other` is of two sentences, `one` and
    `+other`, and so on.
    """

    name: ClassVar[str]
    cost: ClassVar[int]
    look: ClassVar[Scope]
    sentences: ClassVar[Mapping[str, str]]
    clauses: ClassVar[Mapping[str, str]] = MappingProxyType({})
    lead: ClassVar[str] = ""
    in_brief: ClassVar[Mapping[str, str]] = MappingProxyType({})
    """Clauses by the same keys, for a digit that is told with where it comes from and no more."""
    in_passing: ClassVar[Mapping[str, str]] = MappingProxyType({})
    """Clauses by the same keys, for what a digit so told rests on besides: what is so, not what goes."""
    question: ClassVar[str] = ""
    """What a step of it asks before it answers, with the names of every step's `why` in braces."""
    answers: ClassVar[Mapping[str, str]] = MappingProxyType({})
    """Sentences by the same keys, for a step right after its question: without what that has named."""
    simple: ClassVar[bool] = False
    """Whether a what-if may use it on the way."""
    single: ClassVar[bool] = False
    """Whether it places the one digit that a cell, or a place, has left: what any reader does without thinking."""
    weight: ClassVar[int] = 1
    """What a look of its own takes, in looks of a simple technique."""
    unites: ClassVar[bool] = False
    """Whether what two steps of it strike by one sum is one step."""
    by_loss: ClassVar[bool] = False
    """Whether it finds anything new only where a digit was lost, and says where (`stirred`)."""
    by_cage: ClassVar[bool] = False
    """Whether what it finds at a cage, and asks of a reader, hangs on that cage's own cells alone."""
    last_resort: ClassVar[bool] = False
    """Whether it is asked only where no other technique finds anything; those that are, by their cost."""
    cases: ClassVar[int] = 1
    """How many cases its steps have, where they all have as many."""
    many_cases: ClassVar[bool] = False
    """Whether a step of it may have more cases than a reader can hold."""

    def __init_subclass__(cls) -> None:
        cls.name = cls.__module__.rpartition(".")[2]

    def templates(self, key: str) -> tuple[str, ...]:
        """The sentences of a key, in order."""
        first, *others = key.split("+")
        return self.sentences[first], *(self.sentences[f"+{other}"] for other in others)

    def told_after(self, last: Step | None, step: Step) -> tuple[str, ...]:
        """The sentences of a step, less what the one told right before it has said: its sum, the ways of a cage,
        or which digits these cells hold.
        """
        templates = self.templates(step.key)
        if last is None:
            return templates
        one, other = last.cites, step.cites
        if step.key.startswith("again") and one.additions == other.additions:
            said = 1 + 2 * bool(other.added_too)     # of two sums, what they leave was said as well
            rest = "+".join(step.key.split("+")[said:])
            return (self.sentences[rest],) if rest in self.sentences else templates[said:]
        cage = one.cages[:1] == other.cages[:1]
        if cage and step.key.endswith("_few") and ways_told(last) == ways_told(step):
            return self.templates(step.key.removesuffix("_few"))
        same = cage if step.key in NAMES else last.why.get("cells") == step.why.get("cells")
        named = same and last.why.get("digits") == step.why.get("digits") and (
            step.key in NAMES or step.key.startswith("removes"))
        return self.templates("so") if named and "so" in self.sentences else templates

    def asks(self, step: Step) -> str:
        """What a step asks before it answers; empty where it asks nothing."""
        return self.question

    def is_said_by(self, step: Step, after: Step) -> bool:
        """Whether the step told right after one of this technique says all of it, too."""
        return False

    def repeats(self, step: Step, last: Step) -> bool:
        """Whether the step told right before one of this technique has said all of it."""
        return False

    def listed(self, steps: Sequence[Step]) -> Sequence[Step]:
        """Steps of this technique as one sentence lists them: those that say one thing as one."""
        return steps

    def step(
        self, state: State, key: str, cites: Cites, why: Why, *,
        places: tuple[tuple[int, int], ...] = (), removes: Iterable[tuple[int, int]] = (),
    ) -> Step:
        """Make a step of cell numbers and masks: `places` with one-bit masks, `removes` with any."""
        cells = state.frame.cells
        return Step(
            self.name, self.cost, key,
            tuple([(cells[cell], bit.bit_length()) for cell, bit in places]),
            tuple([(cells[cell], mask) for cell, mask in removes]),
            cites, why,
        )

    def equip(self, others: Iterable[Technique]) -> None:  # noqa: B027  (nothing to do for most)
        """Hear, once, of all techniques; only one that builds on others makes use of it."""

    def stirred(self, state: State, places: int, lost: Sequence[int]) -> int:
        """Return, of places that had nothing to find, those that may have something now, where it goes `by_loss`:
        `lost` are the cells that lost each digit since.
        """
        frame, found = state.frame, 0
        sets, tells = frame.house_sets, self.tells
        for everywhere, cells in zip(state.digit_places, lost, strict=True):
            houses = frame.houses_met(cells) & places & ~found if cells else 0
            while houses:
                low = houses & -houses
                houses ^= low
                if tells(state, everywhere, everywhere & sets[low.bit_length() - 1]):
                    found |= low
        return found

    def tells(self, state: State, everywhere: int, inside: int) -> bool:
        """Whether there may be something in a house, as a digit that went there has these places left: in the
        grid, and in the house. Asked of a technique that goes `by_loss`.
        """
        return True

    def likely(self, state: State, places: int) -> int:
        """Return those of these places at which a short look does not rule out that there is something to find."""
        return places

    def within(self, frame: Frame) -> int:
        """Return the places, as bits, at which it can find anything in a puzzle; -1 for all."""
        return -1

    @abstractmethod
    def find(self, state: State, place: int) -> Iterator[Step]:
        """Yield what can be deduced at this place; each step would change the state. `retell` gives its words."""

    def needs(
        self, frame: Frame, place: int, cell: int, answer: Sequence[int]
    ) -> list[tuple[int, int]] | None:
        """Return the digits, as (cell, mask), that must be gone for a single to fill a cell from a place.

        `answer` is the filled grid, a bit a cell. None where the place never says so.
        """
        return None

    def seen(self, frame: Frame, place: int, cell: int, answer: Sequence[int]) -> Step:
        """Return the step of a single that fills a cell from a place. LookupError for what is no single."""
        raise LookupError(self.name)

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """Return how many cases a reader must hold in mind at once to see a step, where cells hold `masks`."""
        return self.cases

    def asks_too_much(self, frame: Frame, masks: Sequence[int], step: Step) -> bool:
        """Return whether a step has more cases than a reader can hold, where cells hold `masks`."""
        return self.many_cases and self.load(frame, masks, step) > MOST_CASES

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """Whether `step` would still follow where only these digits were missing (cell number -> mask).

        Only asked with fewer digits than the step cites. A technique whose citations are exact as found
        need not answer; one that cites all it looked at must, so that the rest can be dropped.
        """
        return False

    def whole(self, frame: Frame, step: Step) -> Step:
        """Return the step with all that its sentence says goes, by what it cites: when it was found some may have
        been gone already that is still there in another order.
        """
        return step

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Return the step with its sentence as it is where cells hold `masks`, and it strikes what it does."""
        return step

    def told_by(self, frame: Frame, step: Step, masks: Sequence[int]) -> Sequence[int]:
        """Return the candidates by which a step is told: `masks` where it follows by these, else what it cites."""
        return masks if self.holds(frame, step, frame.lost(masks)) else frame.cited(step.cites)

    def by_notes(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Return a step of a path with all that goes by its sum where cells hold `masks`, citing no more of what
        they lack than that takes.
        """
        return step

    def shortened(self, state: State, step: Step) -> Step:
        """Return a step of a path by the shortest argument that is found where it stands."""
        return step

    def as_told(self, frame: Frame, said: Step, masks: Sequence[int]) -> Step:
        """Return a step of a path, in its words, with all that these say where cells hold `masks`."""
        return said


def ways_told(step: Step) -> object:
    """The ways to make a cage that a step lists, or the one by which it names its digits."""
    return step.why.get("combinations", (step.why.get("digits"),))


class Supposing(Technique):
    """What the techniques share that suppose something and follow it by simple techniques."""

    look = Scope.GRID
    last_resort = True

    def __init__(self) -> None:
        self._simple: tuple[Technique, ...] = ()

    def equip(self, others: Iterable[Technique]) -> None:
        """Take the simple techniques as tools."""
        self._simple = tuple(technique for technique in others if technique.simple)
