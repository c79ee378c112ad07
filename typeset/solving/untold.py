"""What a reader lacks who follows a path of which some stages are told by the digits they place alone."""

from __future__ import annotations

from collections.abc import Container, Sequence
from dataclasses import replace

from cagework.solver.reasoning.reason import Path
from cagework.typeset.solving.worked import moments, prover_of


class Strikes:
    """Which stages of a path struck what. Cells by number, row by row."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.place = {cell: number for number, cell in enumerate(path.puzzle.cells)}
        self._by: list[list[tuple[int, int]]] = [[] for _ in self.place]
        known = moments(path)
        for number in range(len(path.stages)):
            for cell, (before, after) in enumerate(zip(known[number].candidates, known[number + 1].candidates,
                                                       strict=True)):
                if before != after:
                    self._by[cell].append((before ^ after, number))

    def under(self, number: int, candidates: Sequence[int]) -> set[int]:
        """The stages that struck what a stage rests on and cells that hold `candidates` still have."""
        return {author for cell, mask in self.path.stages[number].step.cites.eliminated
                for gone, author in self._by[self.place[cell]]
                if author < number and gone & mask & candidates[self.place[cell]]}

    def rests(self) -> list[set[int]]:
        """For each stage, the stages that it rests on."""
        everything = [(1 << self.path.puzzle.size) - 1] * len(self.place)
        return [self.under(number, everything) for number in range(len(self.path.stages))]

    def untold(self, told: Container[int], *, naming: bool) -> list[list[int]]:
        """For each stage, the stages that it rests on and a reader has not heard of: not `told` nor, where
        `naming` says that each digit names those that it lacks, named before. Whatever places a digit is heard of.
        """
        board = prover_of(self.path.puzzle).board()
        found: list[list[int]] = []
        for number, stage in enumerate(self.path.stages):
            lacks = self.under(number, board.candidates)
            waiting = list(lacks)
            while waiting:
                more = self.under(waiting.pop(), board.candidates) - lacks
                lacks |= more
                waiting += more
            found.append(sorted(lacks))
            if naming and stage.step.places:
                for other in found[-1]:
                    board.apply(self.path.stages[other].step)
            board.apply(stage.step if number in told else replace(stage.step, removes=()))
        return found
