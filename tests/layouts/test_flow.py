"""Columns: everything placed once and in order, nothing over the foot, no line left alone."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator
from dataclasses import replace
from random import Random
from typing import Any

from hypothesis import assume, given
from hypothesis import strategies as st

from cagework.layouts.flow import Band, Block, Placed, chunks
from cagework.layouts.fullest import fill, fill_pages
from cagework.layouts.remembered import Remembered

blocks = st.lists(
    st.builds(Block, st.integers(1, 12), st.just(1.0), st.sampled_from([0.0, 0.5, 1.0]), st.booleans()),
    min_size=1, max_size=12,
)


@given(blocks, st.integers(6, 30))
def test_every_line_is_placed_once_in_order(given_blocks: list[Block], room: int) -> None:
    placed = [
        (part.block, line) for column in fill(given_blocks, room, 1.0) for part in column
        for line in range(part.first, part.last)
    ]
    assert placed == [(n, line) for n, block in enumerate(given_blocks) for line in range(block.lines)]


@given(blocks, st.integers(6, 30))
def test_no_column_runs_over_and_no_line_stands_alone(given_blocks: list[Block], room: int) -> None:
    for column in fill(given_blocks, room, 1.0):
        for before, part in zip((None, *column), column, strict=False):
            block = given_blocks[part.block]
            assert part.y + (part.last - part.first) * block.leading <= room + 1e-6
            if before is not None:
                gap = part.y - (before.y + (before.last - before.first) * given_blocks[before.block].leading)
                assert abs(gap - block.before) < 1e-9
            if block.lines > 1:
                assert part.last - part.first >= 2, "a widow or an orphan"


@given(blocks, st.integers(6, 30))
def test_a_heading_is_never_last_unless_nothing_follows_or_it_fills_the_column(
    given_blocks: list[Block], room: int,
) -> None:
    for column in fill(given_blocks, room, 1.0):
        last = column[-1]
        if given_blocks[last.block].keep and last.last == given_blocks[last.block].lines:
            follows = last.block + 1 < len(given_blocks)
            chained = all(given_blocks[part.block].keep for part in column)
            assert not follows or chained


def test_a_figure_higher_than_the_column_stands_alone() -> None:
    columns = fill([Block(1, 5.0), Block(1, 40.0), Block(1, 5.0)], 20.0, 1.0)
    assert [[part.block for part in column] for column in columns] == [[0], [1], [2]]


mixed = st.lists(
    st.one_of(
        st.builds(Block, st.integers(1, 12), st.just(1.0), st.sampled_from([0.0, 0.5, 1.0]), st.booleans()),
        st.builds(Block, st.just(1), st.integers(2, 5).map(float), st.just(0.5), st.booleans(), st.just(True)),
    ), min_size=1, max_size=14,
)


@given(st.lists(st.builds(Block, st.integers(1, 9), st.just(1.0), st.sampled_from([0.0, 1.0]), st.booleans()),
                min_size=1, max_size=9), st.integers(12, 20))
def test_no_other_ends_leave_less_white(given_blocks: list[Block], room: int) -> None:
    """Of all ways with as few columns, by trying each: the squares of the lines that all but the last are short.
    Each line under five of a last column counts as ten lines short (stated in `fullest`).
    """
    def legal(block: int, line: int, first: int) -> bool:
        """Whether a column that begins at line `first` of this block, or before it, may end after some lines."""
        lines = given_blocks[block].lines
        if line == lines:
            return not given_blocks[block].keep or block + 1 == len(given_blocks)
        return line - first >= 2 and lines - line >= 2

    def ways(block: int, line: int) -> Iterator[tuple[int, int]]:
        """(columns, cost) of each way to fill on from a line of a block."""
        height, ends = 0.0, []
        for number in range(block, len(given_blocks)):
            first, one = line if number == block else 0, given_blocks[number]
            height += one.before if number > block else 0.0
            ends += [(number, last, height + last - first) for last in range(first + 1, one.lines + 1)
                     if legal(number, last, first)]
            height += one.lines - first
        if height <= room:
            lacks = 5 - (sum(one.lines for one in given_blocks[block:]) - line)
            yield 1, 100 * max(0, lacks) * ((block, line) != (0, 0))
            return
        for number, last, deep in ends:
            if room - 10 <= deep <= room:
                after = (number, last) if last < given_blocks[number].lines else (number + 1, 0)
                yield from ((1 + count, int((room - deep) ** 2) + cost) for count, cost in ways(*after))

    columns = fill(given_blocks, room, 1.0)
    assume(len(columns) <= 3)
    least = min(ways(0, 0), default=None)
    assume(least is not None)
    feet = [_foot(given_blocks, column[-1]) for column in columns]
    cost = sum(int((room - foot) ** 2) for foot in feet[:-1]) + 100 * (
        max(0, 5 - sum(part.last - part.first for part in columns[-1])) * (len(feet) > 1))
    assert (len(columns), cost) == least


def test_spaces_that_give_level_the_feet_and_the_last_page_is_level_without() -> None:
    """Two columns of ten lines: a figure that has no room would leave the first three lines short."""
    figure = Block(1, 5.0, gives=1, most=2)
    run = [Block(3, 1.0), figure, Block(3, 1.0, gives=1, most=1), figure, Block(1, 5.0), Block(1, 5.0)]
    first, last = fill_pages(run, 10.0, 2, 1.0)
    assert [[(part.block, part.first, part.last, part.y) for part in column] for column in first[0]] == [
        [(0, 0, 3, 0.0), (1, 0, 1, 5.0)], [(2, 0, 3, 0.0), (3, 0, 1, 5.0)]]
    assert last == (((Placed(4, 0, 1, 0.0),), (Placed(5, 0, 1, 0.0),)),)


@given(mixed, st.integers(8, 30), st.integers(1, 3))
def test_pages_hold_every_line_once_in_order_and_none_over_the_foot(
    given_blocks: list[Block], room: int, columns: int,
) -> None:
    placed: list[tuple[int, int]] = []
    for page in fill_pages(given_blocks, room, columns, 1.0):
        foot = 0.0
        for band in page:
            parts = [part for column in band for part in column]
            assert len(band) <= columns
            assert all(given_blocks[part.block].wide == (len(parts) == 1 and given_blocks[parts[0].block].wide)
                       for part in parts), "a wide block shares its band with none"
            assert all(part.y >= foot - 1e-9 for part in parts), "bands stand one under the other"
            foot = max(_foot(given_blocks, part) for part in parts)
            placed += [(part.block, line) for part in parts for line in range(part.first, part.last)]
        assert foot <= room + 1e-6
    assert placed == [(n, line) for n, block in enumerate(given_blocks) for line in range(block.lines)]


def _foot(given_blocks: list[Block], part: Placed) -> float:
    return part.y + (part.last - part.first) * given_blocks[part.block].leading


def _in_turn(pages: tuple[tuple[Band, ...], ...]) -> list[list[int]]:
    return [[part.block for band in page for column in band for part in column] for page in pages]


def test_columns_over_a_wide_block_are_level_and_it_stays_with_its_text() -> None:
    pages = fill_pages([Block(10, 1.0), Block(1, 4.0, 1.0, keep=True, wide=True), Block(6, 1.0)], 20.0, 2, 1.0)
    assert [[len(band) for band in page] for page in pages] == [[2, 1, 1]]
    assert [part.last - part.first for column in pages[0][0] for part in column] == [5, 5]
    assert pages[0][1] == ((Placed(1, 0, 1, 6.0),),)
    late = fill_pages([Block(28, 1.0), Block(1, 4.0, 1.0, keep=True, wide=True), Block(6, 1.0)], 20.0, 2, 1.0)
    assert _in_turn(late) == [[0, 0], [1, 2]]


def test_a_heading_before_a_wide_block_goes_with_it() -> None:
    heading = Block(1, 2.0, 1.0, keep=True)
    pages = fill_pages([Block(26, 1.0), heading, Block(1, 6.0, wide=True)], 20.0, 2, 1.0)
    assert _in_turn(pages) == [[0, 0], [1, 2]]


def test_chunks() -> None:
    assert [list(run) for run in chunks(5, 2)] == [[0, 1], [2, 3], [4]]
    assert chunks(0, 4) == ()


def test_of_a_paragraph_kept_to_a_picture_only_the_end_goes_along() -> None:
    told, picture = Block(8, 1.0, keep=True), Block(1, 6.0)
    assert fill([Block(2, 1.0), told, picture], 12, 1.0) == (
        (Placed(0, 0, 2, 0.0), Placed(1, 0, 6, 2.0)), (Placed(1, 6, 8, 0.0), Placed(2, 0, 1, 2.0)))
    assert fill([Block(9, 1.0), replace(told, lines=3), picture], 12, 1.0) == (
        (Placed(0, 0, 9, 0.0),), (Placed(1, 0, 3, 0.0), Placed(2, 0, 1, 3.0)))


@given(st.lists(st.one_of(
    st.builds(Block, st.integers(2, 9), st.just(1.0), st.just(0.5), st.booleans()),
    st.builds(Block, st.just(1), st.floats(3, 8), st.just(0.5), st.just(False), st.just(False), st.just(True)),
    st.just(Block(1, 1.5, 1.0, keep=True)),
), min_size=1, max_size=14), st.integers(9, 30))
def test_a_floating_figure_waits_for_the_head_of_the_next_column_at_most(
    given_blocks: list[Block], room: int,
) -> None:
    """All once; text in order; a figure late by no more than the end of a column, and past no heading."""
    columns = fill(given_blocks, room, 1.0)
    placed = [(part.block, line) for column in columns for part in column for line in range(part.first, part.last)]
    assert sorted(placed) == [(n, line) for n, block in enumerate(given_blocks) for line in range(block.lines)]
    text = [spot for spot in placed if not given_blocks[spot[0]].floats]
    assert text == sorted(text)
    for column, after in zip(columns, (*columns[1:], ()), strict=True):
        for part in column:
            assert part.y + (part.last - part.first) * given_blocks[part.block].leading <= room + 1e-6
        numbers = [part.block for part in column]
        late = [n for n in range(min(numbers), max(numbers)) if n not in numbers and given_blocks[n].floats]
        if late and late[0] > numbers[0]:
            assert late == [after[0].block]
            assert not any(given_blocks[n].keep and given_blocks[n].lines == 1 for n in numbers if n > late[0])


def test_a_figure_that_waits_cuts_no_paragraph_where_spaces_level_the_column() -> None:
    """It has no room under the first paragraph; the second ends two lines short, or the third is cut by it."""
    text = [Block(12, 1.0), Block(1, 10.0, floats=True), Block(6, 1.0, gives=2, most=2), Block(60, 1.0)]
    first, second, *_ = fill(text, 20, 1.0)
    assert [part.block for part in first] == [0, 2] and first[-1].y == 14.0
    assert [(part.block, part.first) for part in second[:2]] == [(1, 0), (3, 0)]


def test_a_paragraph_of_one_line_goes_by_a_figure_that_waits_but_no_heading_does() -> None:
    text = [Block(10, 1.0), Block(1, 18.0, floats=True), Block(1, 1.0), Block(6, 1.0), Block(60, 1.0)]
    first, *_ = fill(text, 20, 1.0)
    assert {part.block for part in first} >= {0, 2, 3}
    heading = [*text[:2], replace(text[2], keep=True), *text[3:]]
    first, *_ = fill(heading, 20, 1.0)
    assert {part.block for part in first} == {0}


@given(st.lists(st.integers(1, 4), min_size=1, max_size=9), st.integers(14, 30))
def test_a_set_of_whole_blocks_stands_in_one_column(sets: list[int], room: int) -> None:
    """Sets of a heading and two paragraphs of so many lines each: at most nine lines with their white."""
    run = [block for lines in sets for block in (
        Block(1, 1.0, 1.0, keep=True, whole=True), Block(lines, 1.0, 0.5, keep=True, whole=True),
        Block(lines, 1.0, 0.5, whole=True))]
    columns = [{part.block // 3 for part in column} for column in fill(run, room, 1.0)]
    assert sum(map(len, columns)) == len(sets)


def test_a_whole_block_higher_than_a_column_is_divided_after_all() -> None:
    columns = fill([Block(1, 1.0), Block(30, 1.0, whole=True)], 20.0, 1.0)
    assert [[(part.block, part.first, part.last) for part in column] for column in columns] == [
        [(0, 0, 1)], [(1, 0, 20)], [(1, 20, 30)]]


def test_text_goes_on_past_a_wide_figure_that_waits_for_the_next_page_but_no_heading_does() -> None:
    told, figure = Block(12, 1.0, keep=True), Block(1, 6.0, wide=True, floats=True)
    heading = Block(1, 2.0, 1.0, keep=True)
    first, second = fill_pages([told, figure, Block(20, 1.0), heading, Block(8, 1.0)], 10.0, 2, 1.0)[:2]
    assert [[(part.block, part.first, part.last) for part in column] for column in first[0]] == [
        [(0, 0, 10)], [(0, 10, 12), (2, 0, 8)]]
    assert second[0] == ((Placed(1, 0, 1, 0.0),),) and second[1][0][0] == Placed(2, 8, 12, 6.0)
    early = fill_pages([told, figure, heading, Block(8, 1.0)], 10.0, 2, 1.0)
    assert _in_turn(early)[0] == [0, 0] and _in_turn(early)[1][0] == 1


@given(st.lists(st.one_of(
    st.builds(Block, st.integers(1, 9), st.just(1.0), st.sampled_from([0.0, 1.0]), st.booleans()),
    st.builds(Block, st.just(1), st.integers(2, 6).map(float), wide=st.booleans(), floats=st.just(True)),
), min_size=1, max_size=14), st.integers(8, 20), st.integers(2, 3))
def test_whatever_waits_is_placed_once_and_on_the_next_page_at_most(
    given_blocks: list[Block], room: int, columns: int,
) -> None:
    pages = fill_pages(given_blocks, room, columns, 1.0)
    parts = [(number, part) for number, page in enumerate(pages)
             for band in page for column in band for part in column]
    placed = sorted((part.block, line) for _, part in parts for line in range(part.first, part.last))
    assert placed == [(n, line) for n, block in enumerate(given_blocks) for line in range(block.lines)]
    text = [part.block for _, part in parts if not given_blocks[part.block].floats]
    assert text == sorted(text)
    begun = {part.block: number for number, part in reversed(parts)}
    assert all(begun[n] - begun[n + 1] <= 1 for n in range(len(given_blocks) - 1))
    assert all(_foot(given_blocks, part) <= room + 1e-6 for _, part in parts)


any_block = st.one_of(
    st.builds(Block, st.integers(1, 9), st.just(1.0), st.sampled_from([0.0, 1.0]), st.booleans(), gives=st.just(1),
              most=st.integers(1, 2), whole=st.booleans()),
    st.builds(Block, st.just(1), st.sampled_from([2.0, 5.5, 9.0, 30.0]), st.just(1.0), floats=st.booleans(),
              wide=st.sampled_from([False, False, False, True]), gives=st.just(1), most=st.just(2)),
)


@given(st.lists(any_block, min_size=1, max_size=60), st.lists(any_block, max_size=4), st.integers(0, 59),
       st.integers(0, 4), st.integers(10, 24), st.integers(1, 3))
def test_what_is_remembered_of_other_blocks_changes_nothing(
    given_blocks: list[Block], others: list[Block], at: int, out: int, room: int, columns: int,
) -> None:
    """Some blocks are put in the place of others: pages are as if all were filled anew, both ways."""
    known, changed = Remembered(), [*given_blocks[:at], *others, *given_blocks[at + out:]]
    for run in (given_blocks, changed, given_blocks):
        assert fill_pages(run, room, columns, 1.0, 3.0, known) == fill_pages(run, room, columns, 1.0, 3.0)


def test_what_is_remembered_of_lines_of_one_height_is_not_taken_for_others() -> None:
    """The same blocks in a room of as many lines, which are twice as high: blocks and their white take fewer."""
    run, known = [Block(6, 1.0, 1.0)] * 9, Remembered()
    for unit in (1.0, 2.0):
        assert fill_pages(run, 12 * unit, 2, unit, 0.0, known) == fill_pages(run, 12 * unit, 2, unit)


def test_blocks_far_from_a_change_are_not_filled_again() -> None:
    """Near the end of a thousand paragraphs one is changed; and in the midst of as many with pictures across all
    columns now and then. Under a quarter of the steps are made anew.
    """
    lines = Random(1)
    told = [Block(lines.randint(2, 8), 1.0, gives=1, most=1) for _ in range(1000)]
    pictured = [Block(1, 11.0, 1.0, wide=True, floats=True) if number % 8 == 7 else block
                for number, block in enumerate(told)]
    for run, at in ((told, 950), (pictured, 500)):
        known = Counting()
        fill_pages(run, 40.0, 2, 1.0, 0.0, known)
        whole, known.made = known.made, 0
        fill_pages([*run[:at], replace(run[at], lines=9), *run[at + 1:]], 40.0, 2, 1.0, 0.0, known)
        assert 0 < known.made < whole / 4


class Counting(Remembered):
    """Counts what had to be made."""

    made = 0

    def once(self, key: Hashable, make: Callable[[], Any]) -> Any:
        def counted() -> Any:
            self.made += 1
            return make()

        return super().once(key, counted)
