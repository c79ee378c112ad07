"""Steps of a worked path in words: the templates of the techniques, filled and, in other languages, translated.

English is the language of the templates themselves (`catalogue` has the others).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby, pairwise
from math import ceil
from typing import NamedTuple

from cagework.solver.model import Cell
from cagework.solver.reasoning.reason import Stage
from cagework.solver.reasoning.technique import ways_told
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.solver.step import Claim, DeadWay, Digits, Eliminated, Step, Value
from cagework.typeset.words.breaths import LONG, Listed, alike, breaths, once, with_reason_of, without_list
from cagework.typeset.words.names import Names
from cagework.typeset.words.phrases import (
    AND,
    AND_THEN,
    BY_NOW,
    HENCE,
    NOR,
    OF_ONE_HOUSE,
    OR_ELSE,
    SO,
    STRIKES,
    STRUCK,
    STRUCK_ALONE,
    THEN,
)
from cagework.typeset.words.templates import sentence

_NAMES_WHAT_GOES = ("{digits", "{digit", "{absent", "{gone", "{bound", "{claims:list")
_SHOWS_WHAT_GOES = (*_NAMES_WHAT_GOES, "{combinations")

WAYS_BY_NOW = "by_now"
"""The name in a step of the ways in which its cells can still make a sum, each (digits, digits taken away)."""


class _Reason(NamedTuple):
    """What digits rest on: what is said, whether it rests on what was said before it, and what it strikes for
    them, where the words do not show that.
    """

    said: str
    rests: bool
    struck: Eliminated


class Sentences(Names):
    """Says steps, as `Names` names what they are about."""

    def step(self, step: Step, last: Step | None = None, *, asked: bool = False) -> str:
        """A step as one or two sentences, a what-if with its whole argument; `last` was told right before it, or
        its question `asked`.
        """
        technique = TECHNIQUES[step.technique]
        answer = technique.answers.get(step.key) if asked else None
        templates = (answer,) if answer else technique.told_after(last, step)
        why = {**self._why(step), **self._dead_by_sentences(step)}
        said = [sentence(self._filled(template, why)) for template in templates]
        if step.parts:
            said.insert(1, self._told(step.parts, [False] * len(step.parts)))
        concludes = templates[bool(step.parts):]
        if step.removes and not step.supposes and not any(name in "".join(concludes) for name in _NAMES_WHAT_GOES):
            said += [*self._by_now(step), self._struck(step.removes)]
        return " ".join(said)

    def _dead_by_sentences(self, step: Step) -> Mapping[str, str]:
        """The ways to make a cage that fail, where one sentence of them would be long: the first of several."""
        dead = step.why.get("dead")
        if not isinstance(dead, tuple) or len(self.named(dead).split()) <= LONG:
            return {}
        runs: list[tuple[Value, ...]] = []
        for same in alike([one for one in dead if isinstance(one, DeadWay)]):
            if runs and len(self.named((*runs[-1], *same)).split()) <= LONG:
                runs[-1] += tuple(same)
            else:
                runs.append(tuple(same))
        further = NOR if step.technique == "way_by_way" else OR_ELSE
        said = [self.named(runs[0]) + ".", *(self.say(further, ways=ways) for ways in runs[1:])]
        return {"dead": " ".join(said).removesuffix(".")}

    def question(self, step: Step) -> str:
        """What a step asks; empty where it asks nothing."""
        asked = TECHNIQUES[step.technique].asks(step)
        return self.say(asked, **step.why) if asked else ""

    def briefly(self, found: Iterable[tuple[Step, Sequence[Step]]]) -> str:
        """The digits that steps find, each with where it comes from; of several that come from one house, that
        once. Those that rest on what nobody has told of have sentences of their own, with that before them.
        """
        runs: list[tuple[list[Step], Sequence[Step]]] = []
        for step, behind in found:
            last = runs[-1][0] if runs else []
            if last and not behind and _of_one_house(last[0], step):
                last.append(step)
            else:
                runs.append(([step], behind))
        told = [(self._reasons(behind, steps), self._source(*steps)) for steps, behind in runs]
        said: list[str] = []
        for (first, *_), some in groupby(told, lambda one: ([reason.said for reason in one[0]],)):
            same = list(some)
            clauses = [clause for _, clause in same]
            said += self._argued([reasons for reasons, _ in same], clauses) if first else (
                self._in_sentences(clauses))
        return " ".join(said)

    def _in_sentences(self, clauses: Sequence[str]) -> list[str]:
        """Clauses that only come after each other, in as few sentences as are not long, one about as long as
        another.
        """
        count = ceil(sum(len(clause.split()) for clause in clauses) / LONG)
        ends = [round(number * len(clauses) / count) for number in range(count + 1)]
        return [sentence(self.text(AND_THEN).join(clauses[first:last]) + ".")
                for first, last in pairwise(ends) if first < last]

    def _source(self, step: Step, *others: Step) -> str:
        """A digit and where it comes from, in brackets. The digits of `others` come from there as well."""
        technique = TECHNIQUES[step.technique]
        said = (technique.in_brief or technique.clauses).get(step.key)
        clause = self._filled(said, self._why(step)) if said else self.step(step).removesuffix(".")
        if others:
            claims = [Claim(cell, digit, holds=True) for one in (step, *others) for cell, digit in one.places]
            clause = self._filled(OF_ONE_HOUSE, {"claims": tuple(claims), "house": step.why["house"]})
        return clause

    def _reasons(self, behind: Sequence[Step], found: Sequence[Step]) -> list[_Reason]:
        """What steps say that are `behind` digits, of several that go by the same ways of a cage only the last."""
        told: dict[object, list[Step]] = {}
        for one in behind:
            told.setdefault((one.cites.cages[:1], ways_told(one), one.cites.ruled), []).append(one)
        reasons, before = list[_Reason](), list[Step]()
        for first, *more in told.values():
            rests = any(_rests_on(one, other) for one in (first, *more) for other in before)
            last = with_reason_of(more[-1], first) if more else first
            template = TECHNIQUES[last.technique].in_passing[last.key]
            shown = any(name in template for name in _SHOWS_WHAT_GOES)
            struck = () if shown else _struck_for((first, *more), (*behind, *found))
            reasons.append(_Reason(self._filled(template, self._why(last)), rests, struck))
            before += [first, *more]
        return reasons

    def _argued(self, reasons: Sequence[Sequence[_Reason]], clauses: Sequence[str]) -> list[str]:
        """Digits after their reasons, which are all the same but for what they strike: one reason in a sentence
        with them, if that is not long; else each in its own.
        """
        clause = self.text(AND).join(clauses)
        struck = [tuple([strike for one in same for strike in one.struck]) for same in zip(*reasons, strict=True)]
        whole = sentence(self.text(SO).join((reasons[0][0].said, clause)) + ".")
        if len(struck) == 1 and not struck[0] and len(whole.split()) <= LONG:
            return [whole]
        said: list[str] = []
        for reason, strikes in zip(reasons[0], struck, strict=True):
            said.append(self.say(THEN, reason=reason.said) if reason.rests else sentence(reason.said + "."))
            said += [self._struck(strikes)] if strikes else []
        return [*said, self.say(HENCE, claim=clause)]

    def paragraph(
        self, stages: Sequence[Stage], last: Step | None = None, *, asked: bool = False,
        listed: Listed | None = None,
    ) -> str:
        """Stages of a path, after a step or the question that the first of them answers; placements in one breath,
        a kind that is listed in one sentence, and what two say once. Ways to make a cage that were `listed` are
        not listed again.
        """
        return self._told(*once(stages), last, asked=asked, listed=listed)

    def _told(
        self, steps: Sequence[Step], follows: Sequence[bool], last: Step | None = None, *, asked: bool = False,
        listed: Listed | None = None,
    ) -> str:
        said: list[str] = []
        listed = {} if listed is None else listed
        for breath in breaths(steps):
            before = last if len(breath) == 1 else None
            here = {number: without_list(steps[number], before, listed) for number in breath}
            first = here[breath.start]
            lead = TECHNIQUES[first.technique].lead
            if len(breath) == 1:
                said.append(self.step(first, last, asked=asked and not said))
            elif lead:
                said.append(self._listed(lead, [here[number] for number in breath]))
            else:
                clauses = [self._clause(first)]
                for number in breath[1:]:
                    clause = self._clause(steps[number])
                    if follows[number]:
                        clauses[-1] += self.text(SO) + clause
                    else:
                        clauses.append(clause)
                said += self._in_sentences(clauses)
            last = first if len(breath) == 1 else None      # of several listed none stands out
        return " ".join(said)

    def _listed(self, lead: str, steps: Sequence[Step]) -> str:
        """Steps after the lead that they share: in one sentence, or where that is long each in its own, and the
        lead as well.
        """
        rule = self.by_rules(fact for step in steps for fact in step.cites.ruled)
        clauses = [self._clause(step) for step in steps]
        said = self.say(lead, items=self.text(AND_THEN).join(clauses), rule=rule)
        if len(said.split()) <= LONG:
            return said
        items = ". ".join(map(sentence, clauses))
        return self.say(lead, items=items, rule=rule).replace(f": {items}", f". {items}")

    def _clause(self, step: Step) -> str:
        return self._filled(TECHNIQUES[step.technique].clauses[step.key], self._why(step))

    def _why(self, step: Step) -> Mapping[str, Value | str]:
        """What a step's sentence names, and by which rule of the puzzle's own it holds, if any."""
        facts = step.cites.ruled
        return step.why | {"rule": self.by_rules(facts)} if facts else step.why

    def _by_now(self, step: Step) -> Iterator[str]:
        """The ways in which the cells of its sum can still make it, where a step names them."""
        ways = step.why.get(WAYS_BY_NOW)
        if isinstance(ways, tuple):
            sides = [[tuple(side) for side in way if isinstance(side, Digits)]
                     for way in ways if isinstance(way, tuple)]
            first, further = ("=", "+") if step.why["sum"] == 0 else ("\N{MINUS SIGN}", "\N{MINUS SIGN}")
            figures = self._numbers.figures
            said = [first.join(filter(None, ("+".join(figures(plus)), further.join(figures(minus)))))
                    for plus, minus in sides]
            yield self.say(BY_NOW, ways=self._list(said, "or"))

    def _struck(self, removes: Iterable[tuple[Cell, int]]) -> str:
        """What goes, from cells that lose the same digits together."""
        by_mask: dict[int, list[Cell]] = {}
        for cell, mask in _by_cell(removes).items():
            by_mask.setdefault(mask, []).append(cell)
        template = STRIKES if len(by_mask) > 1 else STRUCK_ALONE
        items = [self._filled(template, {"cells": tuple(cells), "digits": Digits(mask)})
                 for mask, cells in by_mask.items()]
        return self.say(STRUCK, items=self.text(AND_THEN).join(items)) if len(items) > 1 else items[0]


def _of_one_house(one: Step, other: Step) -> bool:
    """Whether two steps each place a digit that one house has one place for."""
    same = "house" in one.why and one.why["house"] == other.why.get("house")
    return same and bool(one.places and other.places) and all(
        "({house})" in TECHNIQUES[step.technique].clauses.get(step.key, "") for step in (one, other))


def _by_cell(strikes: Iterable[tuple[Cell, int]]) -> dict[Cell, int]:
    """All digits that are struck from each cell, as a mask."""
    found: dict[Cell, int] = {}
    for cell, mask in strikes:
        found[cell] = found.get(cell, 0) | mask
    return found


def _struck_for(steps: Sequence[Step], others: Sequence[Step]) -> Eliminated:
    """What steps strike that any others rest on."""
    needed = _by_cell(strike for other in others for strike in other.cites.eliminated)
    struck = [(cell, mask & needed.get(cell, 0)) for step in steps for cell, mask in step.removes]
    return tuple([(cell, mask) for cell, mask in struck if mask])


def _rests_on(step: Step, other: Step) -> bool:
    """Whether a step cites what another has struck."""
    gone = dict(other.removes)
    return any(mask & gone.get(cell, 0) for cell, mask in step.cites.eliminated)
