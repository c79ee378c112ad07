"""The 45 rule with many cells left open: the least and greatest that distinct cells of a house can hold."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import ClassVar

from cagework.solver.reasoning.balancing import (
    Groups,
    apart_from,
    balance_cites,
    balance_of,
    balance_parts,
    balance_told,
    cited_groups,
    open_groups,
    with_sight,
)
from cagework.solver.reasoning.filling import distinct_ends, ends_apart
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import Balance, State
from cagework.solver.reasoning.sums import BY, IN, IN_AND_OUT, OUT, balance_why, is_new, key_of
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Digits, Step, Why


class BoundsOnMany(Technique):
    """All but one cell of a sum at their least, or at their greatest, leave that cell only some digits."""

    cost = 620
    cases = 2
    weight = 5
    look = Scope.MANY
    sentences: ClassVar = {
        **IN, **OUT, **IN_AND_OUT, **BY,
        "+rest": "All but {cell} make {between:or}, so {cell} is not {digits:or}.",
        "+ends": "However small or great the others are, {cell} is not {digits:or}.",
        "+low": "{beside} {beside:is|make} at most {apart} and {across} {across:is|make} at least {away}, so "
                "{cell} is at least {bound}.",
        "+high": "{beside} {beside:is|make} at least {apart} and {across} {across:is|make} at most {away}, so "
                 "{cell} is at most {bound}.",
        "+low_across": "{across} {across:is|make} at least {away}, so {cell} is at least {bound}.",
        "+high_across": "{across} {across:is|make} at most {away}, so {cell} is at most {bound}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """A step for each cell that loses a digit."""
        if not is_new(state, place):
            return
        balance = state.balance(place)
        cells = balance.plus + balance.minus
        masks = {cell: state.candidates[cell] for cell in cells}
        for bound in _bounds(balance, masks, open_groups(state.frame, balance)):
            cites, removes = balance_cites(state, balance, cells), ((bound.cell, bound.gone),)
            yield self.step(state, "", cites, {}, removes=removes)

    def holds(self, frame: Frame, step: Step, eliminated: Mapping[int, int]) -> bool:
        """The bounds still rule these digits out."""
        balance, masks, groups = balance_of(frame, step, frame.lacking(eliminated))
        if 0 in masks.values():
            return False
        ((name, gone),) = step.removes
        target = frame.index[name]
        return any(bound.cell == target and not gone & ~bound.gone for bound in _bounds(balance, masks, groups))

    def retell(self, frame: Frame, step: Step, masks: Sequence[int]) -> Step:
        """Say what all but the cell make as cells stand."""
        ((name, gone),) = step.removes
        target = frame.index[name]
        balance = balance_told(frame, step, masks)
        now = {cell: masks[cell] for cell in balance.plus + balance.minus}
        groups = cited_groups(frame, step.cites)
        bound = _utmost(balance, now, groups, target)
        if bound is None or gone & ~bound.gone:
            balance, now, groups = balance_of(frame, step, frame.cited(step.cites))
            bound = _utmost(balance, now, groups, target)
        assert bound is not None, "the cell is open in the sum"
        total = balance.total if target in balance.plus else -balance.total
        why: Why = balance_why(frame, step.cites.additions[0], balance) | {"cell": name, "digits": Digits(gone)}
        if not (balance.plus and balance.minus):
            others = len(balance.plus + balance.minus) - 1
            why["between"] = tuple(range(frame.told(total - bound.most, others),
                                         frame.told(total - bound.least, others) + 1))
            return replace(step, key=f"{key_of(frame, balance)}+rest", why=why)
        sides = (balance.plus, balance.minus) if target in balance.plus else (balance.minus, balance.plus)
        beside, across = (tuple([frame.cells[cell] for cell in side if cell != target]) for side in sides)
        low, high = gone & (1 << max(bound.least - 1, 0)) - 1, gone >> max(bound.most, 0)
        at = 0 if low else 1
        why |= {"beside": beside, "across": across, "bound": frame.told(bound.most if at else bound.least, 1),
                "apart": frame.told(bound.beside[1 - at], len(beside)),
                "away": frame.told(bound.across[at], len(across))}
        ending = "ends" if low and high else ("low", "high")[at] + ("" if beside else "_across")
        return replace(step, key=f"{key_of(frame, balance)}+{ending}", why=why)

    def as_told(self, frame: Frame, said: Step, masks: Sequence[int]) -> Step:
        """Go by all that the notes say of the other cells, which differ where they see each other, and strike all
        that this bars.
        """
        ((name, _),) = said.removes
        target = frame.index[name]
        balance = balance_told(frame, said, masks)
        cells = balance.plus + balance.minus
        more = with_sight(frame, said.cites, cells)
        groups = cited_groups(frame, more)
        lacks = {cell: frame.full & ~masks[cell] for cell in (*balance.fixed, *cells) if cell != target}
        bound = _utmost(balance, frame.lacking(lacks), groups, target)
        if bound is None:
            return said
        cites, removes = said.cites, ((name, masks[target] & bound.gone),)
        cited = frame.cited(cites)
        # To strike more it has to say also what fills the cells that its total counts as filled.
        is_said = removes == said.removes or not any(cited[cell] & cited[cell] - 1 for cell in balance.fixed)
        if not is_said or bound != _utmost(balance, cited, cited_groups(frame, cites), target):
            for cell in cells:
                fewer = {other: mask for other, mask in lacks.items() if other != cell}
                if _utmost(balance, frame.lacking(fewer), groups, target) == bound:
                    lacks = fewer
            missing = tuple([(frame.cells[cell], mask) for cell, mask in lacks.items() if mask])
            cites = replace(more, eliminated=missing)
        elif said.removes == removes:
            return said
        told = self.retell(frame, replace(said, removes=removes, cites=cites), masks)
        (head, *_), (*_, ending) = said.key.split("+"), told.key.split("+")
        return replace(told, key=f"{head}+{ending}", why=said.why | told.why)   # the sum as it was told


@dataclass(frozen=True, slots=True)
class _Bound:
    """A cell of a sum, the digits it loses, its least and greatest, and what the others on its side can make and
    those on the other.
    """

    cell: int
    gone: int = field(compare=False)
    least: int
    most: int
    beside: tuple[int, int]
    across: tuple[int, int]

    @classmethod
    def of(cls, cell: int, mask: int, total: int, beside: tuple[int, int], across: tuple[int, int]) -> _Bound:
        """The bound of a cell that makes `total` with those beside it, less those across."""
        least, most = total - beside[1] + across[0], total - beside[0] + across[1]
        gone = mask & (1 << max(least - 1, 0)) - 1 | mask >> max(most, 0) << max(most, 0)
        return cls(cell, gone, least, most, beside, across)


def _bounds(balance: Balance, masks: Mapping[int, int], groups: Groups) -> Iterator[_Bound]:
    """Each cell that loses any digit, as far as cells are known to differ that lie in one part."""
    parts = balance_parts(balance, groups)
    spans = [distinct_ends(tuple([masks[cell] for cell in part])) for _, part in parts]
    sides = {sign: [span for (side, _), span in zip(parts, spans, strict=True) if side == sign and span]
             for sign in (1, -1)}
    if None in spans:
        return
    ends = {sign: (sum([low for low, _ in side]), sum([high for _, high in side])) for sign, side in sides.items()}
    for (sign, part), span in zip(parts, spans, strict=True):
        assert span is not None
        (low, high), across, total = ends[sign], ends[-sign], sign * balance.total
        for cell in part:
            mask = masks[cell]
            least, most = (mask & -mask).bit_length(), mask.bit_length()
            if total - low + least + across[1] >= most and total - high + most + across[0] <= least:
                continue        # what the others make lies within all less its own ends
            rest = distinct_ends(tuple([masks[other] for other in part if other != cell])) or (0, 0)
            beside = low - span[0] + rest[0], high - span[1] + rest[1]
            bound = _Bound.of(cell, mask, total, beside, across)
            if bound.gone:
                yield bound


def _utmost(
    balance: Balance, masks: Mapping[int, int] | Sequence[int], groups: Groups, target: int
) -> _Bound | None:
    """The bound of a cell by all that is known of the others; None where it is filled, or they have no filling."""
    sign = 1 if target in balance.plus else -1
    sides = (balance.plus, balance.minus)[::sign]
    if target not in sides[0]:
        return None
    ends = []
    for cells in sides:
        others = tuple([cell for cell in cells if cell != target])
        parts = balance_parts(replace(balance, plus=others, minus=()), groups)
        spans = [distinct_ends(tuple([masks[cell] for cell in part])) for _, part in parts]
        known = [span for span in spans if span]
        if len(known) < len(spans):
            return None
        apart = apart_from(others, parts, groups)
        exact = ends_apart([masks[cell] for cell in others], apart) if apart else None
        ends.append(exact or (sum([span[0] for span in known]), sum([span[1] for span in known])))
    return _Bound.of(target, masks[target], sign * balance.total, *ends)
