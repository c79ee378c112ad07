"""Pages of columns as full as they can be: where columns end is one choice over a whole run, as the breaking of
a paragraph into lines is (Knuth and Plass, Breaking Paragraphs into Lines, 1981). Any one unit of length serves.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import pairwise
from math import ceil, floor

from cagework.layouts.flow import Band, Block, Column, End, Filled, Placed, Run, Spot, foot
from cagework.layouts.remembered import Remembered

_LEAST_LINES = 5
"""The fewest lines that a run's last page ends with, where those before it can spare some."""

_STUB = 100.0
"""The cost of each line that it lacks: as of a column ten lines short, which none need be."""

_UNEVEN, _GIVING, _FORCED, _LATE, _CUT = 4.0, 0.3, 1.5, 0.2, 3.0
"""The cost of each line by which columns of a page end apart, squared, beside those by which they are short; of
spaces that give all they do with ease, by the line; of each line beyond that; of a picture that stands in the
column after its text, and where it cuts the sentences of another paragraph.
"""

_SHORT = 10
"""No column ends more lines short than this, where neither it nor a last page of few lines needs it."""

_WIDTH = 12
"""With so many ways to have filled the columns so far, the least costly, the next is tried."""

_SLACK = 2
"""Lines that columns may be lower than their share, as the white at their heads is dropped."""
_HAIR = 1e-6
_PLACES = 6
"""Decimals of costs, so that two that are equal are so whatever was added up."""

_LOWEST = 8
"""Fewer lines than this on a run's last page stand in one column."""


@dataclass(frozen=True, slots=True)
class _Way:
    """One way to have filled columns up to a spot: what it costs, by how many lines the last of them is short, how
    many lines its spaces give, and the way before it.
    """

    cost: float
    at: Spot
    short: float = 0.0
    extra: int = 0
    before: _Way | None = None

    def steps(self) -> list[_Way]:
        """The ways that led here, this one last."""
        found, way = [self], self.before
        while way is not None:
            found.append(way)
            way = way.before
        return found[::-1]


def fill(blocks: Sequence[Block], room: float, unit: float) -> tuple[Column, ...]:
    """The columns, each of height `room`, that hold all blocks in order; a line of text is `unit` high.

    A block that is higher than a whole column overflows it, alone.
    """
    return tuple(band[0] for page in fill_pages(blocks, room, 1, unit) for band in page)


def fill_pages(
    blocks: Sequence[Block], room: float, columns: int, unit: float, taken: float = 0.0,
    known: Remembered | None = None,
) -> Filled:
    """The pages, each of height `room` and so many columns, that hold all blocks in order: bands, one under the
    other, wide blocks between them. `y` counts from the page's top, of which the first page has `taken` filled.

    Columns end at the same foot, whole lines of `unit` from their head, where spaces that give and paragraphs that
    divide allow. What is before a wide block on its page, and on the last page of all, stands in columns of about
    the same height. A wide block that must go on to the next page leaves white behind, but for one that floats.

    The work goes from one wide block to the next, and without these page by page. Each such step depends on the
    blocks that it can reach alone; what is `known` of the same blocks from another filling is not done again.
    """
    known = Remembered() if known is None else known
    measures = _Measures(room / unit, columns, unit, known)
    numbers = known.begin(blocks)
    done: list[list[Band]] = [[]]
    at, y = Spot(0, 0), taken / unit
    while at.held is not None or at.block < len(blocks):
        first, begun = at.first, at.moved(-at.first)
        wide = next((number for number in range(at.block, len(blocks)) if blocks[number].wide), len(blocks))
        end = max(wide + 2, _next_single(blocks, wide))
        step = partial(_step, measures, blocks[first:end], numbers[first:end], wide - first, begun, y)
        bands, after, y = step() if wide == len(blocks) else known.once(
            (numbers[first:end], begun, y, measures.room, columns, unit), step)
        done[-1] += [_counted(band, first) for band in bands[0]]
        done += [[_counted(band, first) for band in page] for page in bands[1:]]
        at = after.moved(first)
    return tuple(map(tuple, done if done[-1] else done[:-1]))


def _next_single(blocks: Sequence[Block], wide: int) -> int:
    """The heading or figure after a wide block, or the end of all: text up to there may go on past it."""
    return next((number for number in range(wide + 1, len(blocks)) if blocks[number].lines == 1), len(blocks))


def _step(
    measures: _Measures, blocks: Sequence[Block], numbers: tuple[int, ...], wide: int, at: Spot, y: float,
) -> tuple[list[list[Band]], Spot, float]:
    """Set what is before a wide block, or this: the rest of a page and those after it, where to go on, and how
    much of the last page is filled.
    """
    pages = _Pages(measures, Run(blocks, measures.unit), numbers, y)
    after = pages.narrow(at, wide) if at.held is not None or at.block < wide else pages.across(wide)
    return pages.done, after, pages.y


def _counted(band: Band, first: int) -> Band:
    """A band of blocks that are counted from block `first`."""
    return tuple([tuple([Placed(part.block + first, part.first, part.last, part.y) for part in column])
                  for column in band]) if first else band


def whitest(blocks: Sequence[Block], pages: Filled, room: float) -> float:
    """How much the shortest column of all pages but the last leaves white at its foot."""
    return max((room - foot(blocks, column) for page in pages[:-1] for column in page[-1]), default=0.0)


@dataclass(frozen=True, slots=True)
class _Measures:
    """The height of a page in lines, how many columns it has, how high a line is; and what is known of these."""

    room: float
    columns: int
    unit: float
    known: Remembered


class _Pages:
    """Pages under way, `y` being how much of the last is filled; lengths are in lines."""

    def __init__(self, measures: _Measures, run: Run, numbers: tuple[int, ...], y: float) -> None:
        self._run, self._blocks, self._numbers = run, run.blocks, numbers
        self._measures, self._room, self._columns = measures, measures.room, measures.columns
        self.done: list[list[Band]] = [[]]
        self.y = y

    def narrow(self, at: Spot, wide: int) -> Spot:
        """Set the blocks before a wide one, or of them what this page has room for; where to go on."""
        last = wide == len(self._blocks)
        floats = not last and self._blocks[wide].floats
        kept = wide
        while not last and not floats and kept > at.block and self._blocks[kept - 1].keep:
            kept -= 1
        if kept == at.block and at.held is None and not last:       # all that is left belongs to the wide block
            kept = wide
            if self.y + sum(map(self._run.height, range(at.block, wide + 1))) > self._room:
                self._turn()
        run = self._run.upto(kept)
        lead = run.before(at.block if at.held is None else at.held) if self.y else 0.0
        if self.y and not run.fits(at, self._room - self.y - lead):
            self._turn()
            return at
        way, band = self._fullest(run, at, lead, last, _SHORT)
        if last and way.before and run.lines(way.at) < _LEAST_LINES:
            way, band = self._fullest(run, at, lead, last, self._room / 2)
        for page in _paged(run, way, self._columns):
            self._put(page, lead)
            self._turn()
            lead = 0.0
        if floats and band and not self._holds(band, lead, wide):
            return self._past(way.at, lead, wide)
        self._put(band, lead)
        return Spot(kept, 0)

    def _holds(self, band: Band, lead: float, wide: int) -> bool:
        """Whether the page has room for a band and a wide block under it."""
        return self.y + lead + self._height(band) + self._run.height(wide) <= self._room + _HAIR

    def _height(self, band: Band) -> float:
        """How high a band is whose places count from its own top."""
        return max(foot(self._blocks, column) for column in band) / self._run.unit

    def _past(self, at: Spot, lead: float, wide: int) -> Spot:
        """Fill the page that has no room for a wide figure with the text from a spot on, and past the figure up to
        the next heading or figure; it begins the next page.
        """
        stop = _next_single(self._blocks, wide)
        first = at.first
        numbers = [*range(first, wide), *range(wide + 1, stop)]
        run = Run([self._blocks[number] for number in numbers], self._run.unit)
        begun = Spot(at.block - first, at.line, None if at.held is None else 0)
        band, after = self._one_page(run, begun, float(floor(self._room - self.y - lead + _HAIR)), wide - first)
        self._put(tuple([tuple([replace(part, block=numbers[part.block]) for part in column]) for column in band]),
                  lead)
        self._turn()
        numbers.append(stop)
        if after.block >= wide - first:
            self.across(wide)
        return Spot(numbers[after.block], after.line, None if after.held is None else numbers[after.held])

    def _one_page(self, run: Run, at: Spot, room: float, least: int) -> tuple[Band, Spot]:
        """The columns of one page, with all of a run where they hold it, or else with as many blocks as `least`
        where they can; and where to go on.
        """
        if (whole := self._level(run, at, room, last=False)) is not None:
            return whole, run.stop
        ways = [_Way(0.0, at)]
        for number in range(self._columns):
            ways = _next_column(run, ways, room, _SHORT, first=number == 0, forced=not self.y)
        way = next((way for way in ways if way.at.block >= least), ways[0])
        return next(_paged(run, way, self._columns)), way.at

    def across(self, wide: int) -> Spot:
        """Set a wide block, with the first lines of what it is kept with."""
        more = self._run.lead(wide + 1) if self._blocks[wide].keep else 0.0
        if self.y + self._run.height(wide) + more > self._room + _HAIR:
            if self.y and self._blocks[wide].floats and self._room - self.y > _SHORT:
                return self._past(Spot(wide, 0), 0.0, wide)
            self._turn()
        top = self._run.before(wide) if self.y else 0.0
        self._put(((Placed(wide, 0, 1, top * self._run.unit),),), 0.0)
        return Spot(wide + 1, 0)

    def _put(self, band: Band, lead: float) -> None:
        if band:
            by = (self.y + lead) * self._run.unit
            self.done[-1].append(tuple([_lowered(column, by) for column in band]))
            self.y += lead + self._height(band)

    def _turn(self) -> None:
        """Go on to the next page, if anything stands on this."""
        if self.y:
            self.done.append([])
            self.y = 0.0

    def _fullest(self, run: Run, at: Spot, lead: float, last: bool, short: float) -> tuple[_Way, Band]:
        """The best way to fill all pages but the one that a run ends on, in columns so many lines short at the
        most, and the columns on that.
        """
        ways, top = [_Way(0.0, at)], self.y + lead
        while True:
            room = float(floor(self._room - top + _HAIR))
            best: tuple[float, _Way, Band] | None = None
            for way in ways:                    # the least costly first
                cost = way.cost + _STUB * max(0, _LEAST_LINES - run.lines(way.at))
                if best is not None and way.cost >= best[0]:
                    break
                if (best is None or cost < best[0]) and (
                        band := self._level(run, way.at, room, last)) is not None:
                    best = cost, way, band
            if best is not None:
                return best[1], best[2]
            ways = self._next_page(run, ways, room, short, forced=not top)
            top = 0.0

    def _next_page(self, run: Run, ways: Sequence[_Way], room: float, short: float, *, forced: bool) -> list[_Way]:
        """The least costly ways to have filled one more page, their costs counted from the least before it."""
        first, end = min(way.at.first for way in ways), self._reach(run, max(way.at.block for way in ways), room)
        begun = tuple([(round(way.cost - ways[0].cost, _PLACES), way.at.moved(-first), way.short) for way in ways])
        filled = self._measures.known.once(
            (self._numbers[first:end], begun, room, short, forced, self._columns, run.unit),
            lambda: _one_more(Run(self._blocks[first:end], run.unit), begun, self._columns, room, short, forced))
        found = []
        for number, columns in filled:
            way = ways[number]
            for cost, at, lacks, extra in columns:
                way = _Way(cost, at.moved(first), lacks, extra, way)
            found.append(way)
        return found

    def _reach(self, run: Run, block: int, room: float) -> int:
        """The end of the blocks that ways from a block on can look at in the columns of a page."""
        left, spare = (self._columns + 1) * (room + 1), self._columns + 3
        while block < run.count and (left > 0 or spare > 0):
            one = self._blocks[block]
            if left > 0 and not one.floats:
                left -= min(run.height(block), room) if one.lines == 1 else run.height(block) - run.before(block)
            elif left <= 0:
                spare -= 1
            block += 1
        return block

    def _level(self, run: Run, at: Spot, room: float, last: bool) -> Band | None:
        """The lowest columns of one page that hold the rest of a run; None where there is more."""
        if at == run.stop:
            return ()
        rest, count = run.rest(at), self._columns
        if rest > count * (room + _SLACK):
            return None
        if last and rest < _LOWEST:
            count = 1
        for deep in range(max(1, ceil(rest / count) - _SLACK), int(room) + 1):
            ends = [End(at, 0.0)]
            while len(ends) <= count and ends[-1].after != run.stop and run.fits(ends[-1].after, deep):
                ends.append(run.ends(ends[-1].after, deep, deep)[-1])
            if ends[-1].after == run.stop:
                deepest = max(end.depth for end in ends)
                wider = [min(end.most, int(deepest - end.depth + _HAIR)) for end in ends[1:]]
                return tuple(run.column(one.after, other.after, extra)
                             for (one, other), extra in zip(pairwise(ends), wider, strict=True))
        return None


def _one_more(
    run: Run, begun: Sequence[tuple[float, Spot, float]], columns: int, room: float, short: float, forced: bool,
) -> list[tuple[int, list[tuple[float, Spot, float, int]]]]:
    """The least costly ways to have filled a page from where others begin: which of these it goes on from, and its
    columns.
    """
    starts = [_Way(cost, at, lacks) for cost, at, lacks in begun]
    ways = starts
    for number in range(columns):
        ways = _next_column(run, ways, room, short, first=number == 0, forced=forced)
    numbers = {id(way): number for number, way in enumerate(starts)}
    return [(numbers[id(start)], [(one.cost, one.at, one.short, one.extra) for one in steps])
            for start, *steps in (way.steps() for way in ways)]


def _next_column(
    run: Run, ways: Sequence[_Way], room: float, short: float, *, first: bool, forced: bool,
) -> list[_Way]:
    """The least costly ways to have filled one more column of a page. The `first` of a page may be short; the
    others end where it does. Where nothing has room and is not `forced` to overflow, the column stays empty.
    """
    best: dict[Spot, tuple[float, float, int, _Way]] = {}
    for way in ways:
        if way.at == run.stop:
            best[way.at] = way.cost, 0.0, 0, way
        elif not forced and not run.fits(way.at, room):
            best[way.at] = way.cost + room * room, room, 0, way
        else:
            for after, depth, gives, most in run.ends(way.at, room, room - short):
                cost, lacks, extra = _cost(room - depth, gives, most, None if first else way.short)
                cost = round(cost + way.cost + _parting(after), _PLACES)
                if after not in best or cost < best[after][0]:
                    best[after] = cost, lacks, extra, way
    chosen = sorted(best.items(), key=lambda one: (one[1][0], -one[0].block, -one[0].line, one[0].held or 0))
    return [_Way(cost, after, lacks, extra, way) for after, (cost, lacks, extra, way) in chosen[:_WIDTH]]


def _parting(after: Spot) -> float:
    """What it costs that a picture is held back for the head of a column."""
    return 0.0 if after.held is None else _CUT if after.line else _LATE


def _cost(gap: float, gives: int, most: int, beside: float | None) -> tuple[float, float, int]:
    """What a column costs that leaves a gap over the foot, `beside` one that is so many lines short; by how many
    lines it is short itself, and how many its spaces give.
    """
    extra = max(0, min(most, int((gap if beside is None else gap - beside) + _HAIR)))
    short = gap - extra
    cost = short * short
    if beside is not None:
        cost += _UNEVEN * (short - beside) ** 2
    if easily := min(extra, gives):
        cost += _GIVING * easily * easily / gives
    return cost + _FORCED * (extra - easily), short, extra


def _paged(run: Run, way: _Way, columns: int) -> Iterator[Band]:
    """The pages that a way fills."""
    filled = [run.column(one.at, other.at, other.extra) if one.at != other.at else ()
              for one, other in pairwise(way.steps())]
    for start in range(0, len(filled), columns):
        yield tuple(filter(None, filled[start:start + columns]))


def _lowered(column: Column, by: float) -> Column:
    """The column as much lower down."""
    return tuple([Placed(part.block, part.first, part.last, part.y + by) for part in column]) if by else column
