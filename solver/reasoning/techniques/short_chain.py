"""Short chains: strong and weak links by turns, over several digits, whose ends cannot both be false."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import ClassVar

from cagework.solver.bitset import members
from cagework.solver.reasoning.frame import Frame
from cagework.solver.reasoning.state import State
from cagework.solver.reasoning.technique import Scope, Technique
from cagework.solver.step import Cites, Claim, Digits, Step, Why, joined

_STRONG_LINKS = 3
"""The most strong links in a chain: five links in all, which a reader can still hold in mind."""

_Node = tuple[int, int]
"""A cell and a digit's index."""


class ShortChain(Technique):
    """If one end is not so, the other is; whatever both ends rule out goes."""

    cost = 920
    weight = 20
    look = Scope.GRID
    sentences: ClassVar = {
        "removes": "If {first}, then {claims}. Either way {targets} cannot be {gone:or}.",
    }

    def find(self, state: State, place: int) -> Iterator[Step]:
        """The shortest chain for each removal, shorter chains first."""
        strong = _strong_links(state)
        done: set[_Node] = set()
        chains: list[tuple[_Node, ...]] = [(one, two) for one, ends in strong.items() for two, _ in ends]
        for length in range(2, _STRONG_LINKS + 1):
            longer = []
            for chain in chains:
                for near in _weak(state, chain[-1], strong):
                    if near not in chain:
                        longer += [(*chain, near, end) for end, _ in strong[near] if end not in chain]
            chains = longer
            for chain in chains:
                if chain[0] < chain[-1]:
                    targets = [node for node in _targets(state, chain[0], chain[-1])
                               if node not in done and node not in chain]
                    if targets:
                        done.update(targets)
                        yield self._step(state, chain, targets, strong)
            if done or length == _STRONG_LINKS:
                return

    def _step(
        self, state: State, chain: tuple[_Node, ...], targets: list[_Node],
        strong: dict[_Node, list[tuple[_Node, int]]],
    ) -> Step:
        frame = state.frame
        parts = []
        for i in range(0, len(chain), 2):
            house = next(house for end, house in strong[chain[i]] if end == chain[i + 1])
            parts.append(_strong_cites(state, chain[i], chain[i + 1], house))
        for i in range(1, len(chain) - 1, 2):
            parts.append(_weak_cites(state, chain[i], chain[i + 1]))
        removes: dict[int, int] = {}
        for node in targets:
            parts += _weak_cites(state, chain[0], node), _weak_cites(state, chain[-1], node)
            removes[node[0]] = removes.get(node[0], 0) | 1 << node[1]
        gone = 0
        for mask in removes.values():
            gone |= mask
        claims = [Claim(frame.cells[cell], i + 1, bool(number % 2)) for number, (cell, i) in enumerate(chain)]
        why: Why = {
            "first": claims[0], "claims": tuple(claims[1:]),
            "targets": tuple([frame.cells[cell] for cell in removes]), "gone": Digits(gone),
        }
        return self.step(state, "removes", joined(*parts), why, removes=removes.items())

    def load(self, frame: Frame, masks: Sequence[int], step: Step) -> int:
        """Each claim of the chain."""
        claims = step.why["claims"]
        return 1 + len(claims) if isinstance(claims, tuple) else 1


def _strong_links(state: State) -> dict[_Node, list[tuple[_Node, int]]]:
    """Node -> nodes of which one or the other is so, with the house that says it; -1 for two candidates."""
    frame = state.frame
    links: dict[_Node, list[tuple[_Node, int]]] = {}

    def add(one: _Node, two: _Node, house: int) -> None:
        if all(end != two for end, _ in links.setdefault(one, [])):
            links[one].append((two, house))
            links.setdefault(two, []).append((one, house))

    for cell, mask in enumerate(state.candidates):
        if mask.bit_count() == 2:
            first, second = members(mask)
            add((cell, first), (cell, second), -1)
    for number, inside in enumerate(frame.house_sets):
        if frame.whole[number]:
            for index, everywhere in enumerate(state.digit_places):
                both = everywhere & inside
                if both.bit_count() == 2:
                    here, there = members(both)
                    add((here, index), (there, index), number)
    return links


def _weak(state: State, node: _Node, strong: dict[_Node, list[tuple[_Node, int]]]) -> Iterator[_Node]:
    """The nodes with a strong link that cannot be so together with this one."""
    cell, index = node
    for other in members(state.digit_places[index] & state.frame.sees[cell]):
        if (other, index) in strong:
            yield other, index
    for digit in members(state.candidates[cell] & ~(1 << index)):
        if (cell, digit) in strong:
            yield cell, digit


def _targets(state: State, one: _Node, two: _Node) -> list[_Node]:
    """What cannot be so if one end is, nor if the other is."""
    sees = state.frame.sees
    (cell, index), (other, digit) = one, two
    if index == digit:
        return [(target, index) for target in members(state.digit_places[index] & sees[cell] & sees[other])]
    if cell == other:
        return [(cell, i) for i in members(state.candidates[cell] & ~(1 << index | 1 << digit))]
    found = []
    if sees[cell] >> other & 1:
        if state.candidates[cell] >> digit & 1:
            found.append((cell, digit))
        if state.candidates[other] >> index & 1:
            found.append((other, index))
    return found


def _strong_cites(state: State, one: _Node, two: _Node, house: int) -> Cites:
    frame = state.frame
    if house < 0:
        return Cites(state.missing(1 << one[0], frame.full & ~(1 << one[1] | 1 << two[1])))
    outside = frame.house_sets[house] & ~(1 << one[0] | 1 << two[0])
    return Cites(state.missing(outside, 1 << one[1]), (frame.puzzle.houses[house],))


def _weak_cites(state: State, one: _Node, two: _Node) -> Cites:
    return Cites() if one[0] == two[0] else state.link(one[0], two[0])
