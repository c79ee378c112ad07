"""Puzzles and a recipe to a pick, or to the demands that stand in its way: one model of integers, by OR-Tools.

Each demand has a number that says by how much a pick misses it (`_Model.misses`). Those that hold are 0; one that
is relaxed is as small as can be. OR-Tools CP-SAT runs in one thread and by its own count of work, so that the same
puzzles, recipe and seed give the same pick.
"""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from cagework.typeset.faults import Fault, counted
from cagework.typeset.pool.ask import Listed, suits_ideas, suits_rule, was_printed
from cagework.typeset.pool.recipe import PickOrder, Recipe, Spread

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

_WORK = 60.0
"""What one search may take, in CP-SAT's own seconds, which are counted and not timed (max_deterministic_time)."""


class UndecidedError(Exception):
    """Whether there is a pick was not found out in the work allowed."""


@dataclass(frozen=True, slots=True)
class Pick:
    """The puzzles, in their order; `best` says that no other pick is spread better."""

    puzzles: tuple[Listed, ...]
    best: bool

    @property
    def ideas(self) -> frozenset[str]:
        """The techniques of all their paths."""
        return frozenset(name for one in self.puzzles for name in one.ideas)


def pick(pool: Iterable[Listed], recipe: Recipe, seed: int) -> Pick | tuple[Fault, ...]:
    """The puzzles of a pool that meet a recipe, chosen by `seed` among equals; or, where none do, which demands
    stand in the way and by how much.

    No two are one another turned, mirrored or complemented, or of one id. Raises UndecidedError, and ImportError
    where OR-Tools is not installed.
    """
    fit = [one for one in pool if one.fit]
    model = _Model(fit, recipe, ())
    if not model.solve():
        return tuple(_in_the_way(fit, recipe))
    best = True
    for goal in model.goals(seed):
        best = model.improve(goal) and best
    chosen = model.chosen()
    if recipe.part.order is PickOrder.RISING:
        chosen.sort(key=lambda one: (one.score or 0.0, one.file, one.line))
    elif Spread.CONSTRUCTORS in recipe.part.spread:
        chosen = _by_turns(chosen)
    return Pick(tuple(chosen), best)


def _filters(recipe: Recipe) -> Mapping[str, Callable[[Listed], bool]]:
    """Key of the recipe -> what it asks of each puzzle."""
    wanted, found = recipe.wanted, dict[str, Callable[[Listed], bool]]()
    if wanted.sizes:
        found["size"] = lambda one: one.size in wanted.sizes
    if wanted.rules:
        found["rule"] = lambda one: suits_rule(one, wanted.rules)
    if wanted.ideas:
        found["idea"] = lambda one: suits_ideas(one, wanted.ideas, ())
    if wanted.without:
        found["without"] = lambda one: suits_ideas(one, (), wanted.without)
    if wanted.unprinted:
        found["unprinted"] = lambda one: not was_printed(one, wanted.since)
    return found


class _Model:
    """The choice as CP-SAT sees it: one yes or no for each puzzle that only misses relaxed demands."""

    def __init__(self, fit: Sequence[Listed], recipe: Recipe, relaxed: Collection[str]) -> None:
        from ortools.sat.python import cp_model
        self._cp = cp_model
        self.model = cp_model.CpModel()
        filters = _filters(recipe)
        self.puzzles = [
            one for one in fit if all(name in relaxed or meets(one) for name, meets in filters.items())]
        self.taken = [self.model.new_bool_var(f"take {one.number}") for one in self.puzzles]
        self.total = self.model.new_int_var(0, recipe.count, "total")
        self.model.add(self.total == sum(self.taken))
        for same in ((one.key for one in self.puzzles), ((one.id or "").casefold() for one in self.puzzles)):
            for alike in self._grouped(same).values():
                if len(alike) > 1:
                    self.model.add_at_most_one(alike)
        self.misses: dict[str, cp_model.LinearExprT] = (
            dict(self._lots(recipe)) if recipe.lots else {"count": recipe.count - self.total})
        for name, meets in filters.items():
            self.misses[name] = sum(
                take for one, take in zip(self.puzzles, self.taken, strict=True) if not meets(one))
        self._grades(recipe)
        self._constructors(recipe)
        for name, missed in self.misses.items():
            if name not in relaxed and name not in filters:
                self.model.add(missed == 0)
        self.spread = recipe.part.spread
        self.solver: cp_model.CpSolver | None = None

    def _lots(self, recipe: Recipe) -> Iterable[tuple[str, cp_model.LinearExprT]]:
        """What each lot lacks. Puzzles that suit the same lots are told apart by nothing: so many of them serve
        each lot.
        """
        alike: dict[tuple[int, ...], list[cp_model.IntVar]] = defaultdict(list)
        for one, take in zip(self.puzzles, self.taken, strict=True):
            alike[tuple(at for at, (lot, _) in enumerate(recipe.lots) if lot.suits(one))].append(take)
        served: list[list[cp_model.IntVar]] = [[] for _ in recipe.lots]
        for suits, takes in alike.items():
            shares = []
            for at in suits:
                most = min(len(takes), recipe.lots[at][1])
                shares.append(self.model.new_int_var(0, most, f"of {len(takes)} alike in lot {at}"))
                served[at].append(shares[-1])
            self.model.add(sum(shares) == sum(takes))
        for at, (_, count) in enumerate(recipe.lots):
            self.model.add(sum(served[at]) <= count)
            yield f"dates.{at}", count - sum(served[at])

    def _grouped(self, names: Iterable[str | None]) -> dict[str, list[cp_model.IntVar]]:
        groups: dict[str, list[cp_model.IntVar]] = defaultdict(list)
        for name, take in zip(names, self.taken, strict=True):
            groups[name or ""].append(take)
        return groups

    def _grades(self, recipe: Recipe) -> None:
        """Puzzles beyond those that their grade has room for."""
        if recipe.part.grade is None:
            return
        groups = self._grouped(one.grade for one in self.puzzles)
        held = []
        for grade, number in recipe.part.grade.each.items():
            room = self.model.new_int_var(0, recipe.count if number is None else number, f"grade {grade}")
            self.model.add(room <= sum(groups[grade]))
            held.append(room)
        self.misses["grade"] = self.total - sum(held)

    def _constructors(self, recipe: Recipe) -> None:
        """Constructors that are wanting, and puzzles that one of them has too many. Puzzles without a name are by
        one that is none of the constructors wanted.
        """
        groups = self._grouped((one.by or "").casefold() for one in self.puzzles)
        least, most = recipe.part.by.least, recipe.part.by.most
        if least is not None:
            there = []
            for name, takes in groups.items():
                if name:
                    there.append(self.model.new_bool_var(f"by {name}"))
                    self.model.add(there[-1] <= sum(takes))
            wanting = self.model.new_int_var(0, least, "wanting")
            self.model.add(wanting >= least - sum(there))
            self.misses["by.least"] = wanting
        if most is not None:
            over = self.model.new_int_var(0, recipe.count, "over")
            for takes in groups.values():
                self.model.add(over >= sum(takes) - most)
            self.misses["by.most"] = over

    def solve(self) -> bool:
        """Look for a pick, and return whether there is one. Raises UndecidedError."""
        status = self._search()
        if status == self._cp.UNKNOWN:
            raise UndecidedError
        return bool(status != self._cp.INFEASIBLE)

    def improve(self, goal: cp_model.LinearExprT) -> bool:
        """Make a number of a pick that was found as large as can be, and hold it there; return whether it was
        proved to be the largest.
        """
        self.model.maximize(goal)
        status = self._search()
        self.model.clear_objective()  # type: ignore[no-untyped-call]
        if self.solver is not None and status in (self._cp.OPTIMAL, self._cp.FEASIBLE):
            self.model.add(goal >= self.solver.value(goal))
        return bool(status == self._cp.OPTIMAL)

    def _search(self) -> cp_model.CpSolverStatus:
        """One search; what it finds stands in place of what was found before."""
        solver = self._cp.CpSolver()
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 0
        solver.parameters.max_deterministic_time = _WORK
        status = solver.solve(self.model)
        if status in (self._cp.OPTIMAL, self._cp.FEASIBLE):
            self.solver = solver
        return status

    def goals(self, seed: int) -> Iterable[cp_model.LinearExprT]:
        """What makes a pick better, weightiest first: where it is to be spread, as many ideas as can be, and no
        dearest step more often than need be, or no constructor; then the seed.
        """
        for what in self.spread:
            yield from self._ideas() if what == Spread.IDEAS else self._fewest(
                "by one constructor", ((one.by or "").casefold() for one in self.puzzles))
        yield sum(_lot(seed, one) * take for one, take in zip(self.puzzles, self.taken, strict=True))

    def _ideas(self) -> Iterable[cp_model.LinearExprT]:
        users: dict[str, list[cp_model.IntVar]] = defaultdict(list)
        for one, take in zip(self.puzzles, self.taken, strict=True):
            for name in one.ideas:
                users[name].append(take)
        met = []
        for name, takes in sorted(users.items()):
            met.append(self.model.new_bool_var(f"idea {name}"))
            self.model.add(met[-1] <= sum(takes))
        yield sum(met)
        yield from self._fewest("the same dearest step", (one.hardest for one in self.puzzles))

    def _fewest(self, name: str, groups: Iterable[str | None]) -> Iterable[cp_model.LinearExprT]:
        """That the greatest group of puzzles is small."""
        most = self.model.new_int_var(0, len(self.taken), name)
        for takes in self._grouped(groups).values():
            self.model.add(most >= sum(takes))
        yield -most

    def chosen(self) -> list[Listed]:
        """The pick that was found."""
        assert self.solver is not None, "it was solved"
        return [one for one, take in zip(self.puzzles, self.taken, strict=True) if self.solver.boolean_value(take)]

    def missed(self) -> dict[str, int]:
        """Key of a demand -> by how much the pick that was found misses it."""
        assert self.solver is not None, "it was solved"
        return {name: int(self.solver.value(number)) for name, number in self.misses.items()}


def _by_turns(chosen: Sequence[Listed]) -> list[Listed]:
    """Puzzles of a grade and size, one such after the other, in an order in which each constructor's come at even
    distances.
    """
    def maker(one: Listed) -> tuple[str, str, str]:
        return (one.grade or "", one.extent, (one.by or "").casefold())

    of: dict[tuple[str, str, str], list[int]] = defaultdict(list)
    for number, one in enumerate(chosen):
        of[maker(one)].append(number)
    turn = {number: (at + 0.5) / len(numbers) for numbers in of.values() for at, number in enumerate(numbers)}
    return [chosen[number] for number in sorted(turn, key=lambda number: (
        maker(chosen[number])[:2], turn[number], maker(chosen[number])[2]))]


def _lot(seed: int, one: Listed) -> int:
    """What a puzzle drew, the same on every machine, wherever its file lies."""
    return int.from_bytes(hashlib.sha256(f"{seed} {one.key}".encode()).digest()[:2], "big")


def _in_the_way(fit: Sequence[Listed], recipe: Recipe) -> Iterable[Fault]:
    """Each demand without which the others could be met, and by how much it had to yield; where there is none,
    those of the pick that misses the fewest in all.
    """
    every = {*_USUAL, *(f"dates.{number}" for number in range(len(recipe.lots)))}
    names = list(_Model((), recipe, every).misses)
    found = False
    for name in names:
        model = _Model(fit, recipe, (name,))
        if model.solve():
            model.improve(-sum([model.misses[name]]))
            found = True
            yield _fault(recipe, name, model.missed()[name], "if all else is to hold")
    if not found:
        model = _Model(fit, recipe, every)
        model.solve()
        model.improve(-sum(model.misses.values()))
        for name, missed in model.missed().items():
            if missed:
                yield _fault(recipe, name, missed, "together with the others told here")


_USUAL = ("count", "grade", "by.least", "by.most", "size", "rule", "idea", "without", "unprinted")


def _fault(recipe: Recipe, name: str, missed: int, when: str) -> Fault:
    if name.startswith("dates."):
        lot, wanted = recipe.lots[int(name.removeprefix("dates."))]
        return recipe.dates_fault(f"no pick meets this: there would be {wanted - missed} {lot}, {missed} fewer "
                                  f"than the {wanted} that the dates want, {when}")
    count, by = recipe.count, recipe.part.by
    few = f"{missed} of the {count}"
    since = f" since {recipe.wanted.since}" if recipe.wanted.since else ""
    said = {
        "count": f"there would be {counted(count - missed, 'puzzle')}, {missed} fewer than {count}",
        "grade": f"{few} would have to be of another grade",
        "size": f"{few} would have to be of another size",
        "rule": f"{few} would have to be of another sort",
        "idea": f"{few} would have to lack what is asked for",
        "without": f"{few} would have to have what is not wanted",
        "unprinted": f"{few} would have to be printed{since} already",
        "by.least": f"there would be {counted((by.least or 0) - missed, 'constructor')}, "
                    f"{missed} fewer than {by.least}",
        "by.most": f"one constructor would have {(by.most or 0) + missed} puzzles, {missed} more than {by.most}",
    }[name]
    return recipe.place_fault("grade" if name == "count" and recipe.part.count is None else name,
                              f"no pick meets this: {said}, {when}")
