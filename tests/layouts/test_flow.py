"""Columns: everything placed once and in order, nothing over the foot, no line left alone."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from cagework.layouts.flow import Block, chunks, fill

blocks = st.lists(
    st.builds(Block, st.integers(1, 12), st.just(1.0), st.sampled_from([0.0, 0.5, 1.0]), st.booleans()),
    min_size=1, max_size=12,
)


@given(blocks, st.integers(6, 30))
def test_every_line_is_placed_once_in_order(given_blocks: list[Block], room: int) -> None:
    placed = [
        (part.block, line) for column in fill(given_blocks, room) for part in column
        for line in range(part.first, part.last)
    ]
    assert placed == [(n, line) for n, block in enumerate(given_blocks) for line in range(block.lines)]


@given(blocks, st.integers(6, 30))
def test_no_column_runs_over_and_no_line_stands_alone(given_blocks: list[Block], room: int) -> None:
    for column in fill(given_blocks, room):
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
    for column in fill(given_blocks, room):
        last = column[-1]
        if given_blocks[last.block].keep and last.last == given_blocks[last.block].lines:
            follows = last.block + 1 < len(given_blocks)
            chained = all(given_blocks[part.block].keep for part in column)
            assert not follows or chained


def test_a_figure_higher_than_the_column_stands_alone() -> None:
    columns = fill([Block(1, 5.0), Block(1, 40.0), Block(1, 5.0)], 20.0)
    assert [[part.block for part in column] for column in columns] == [[0], [1], [2]]


def test_chunks() -> None:
    assert [list(run) for run in chunks(5, 2)] == [[0, 1], [2, 3], [4]]
    assert chunks(0, 4) == ()
