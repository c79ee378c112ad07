"""Page and slot geometry, from the page's top-left trimmed corner, x right, y down."""

from __future__ import annotations

from dataclasses import dataclass

from cagework.layouts.load import Layout, Slots


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on a page; mm where this module makes it."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """The x of the right edge."""
        return self.x + self.width

    @property
    def bottom(self) -> float:
        """The y of the bottom edge."""
        return self.y + self.height

    def scaled(self, factor: float) -> Box:
        """The same rectangle in another unit."""
        return Box(self.x * factor, self.y * factor, self.width * factor, self.height * factor)


def is_recto(number: int) -> bool:
    """Whether a page (from 1) lies on the right of a spread: odd pages do (common practice)."""
    return number % 2 == 1


def text_block(layout: Layout, number: int) -> Box:
    """The text block of page `number`; margins mirror, the inside one at the spine."""
    margins, trim = layout.margins, layout.trim
    left = margins.inside if is_recto(number) else margins.outside
    return Box(
        left, margins.top,
        trim.width - margins.inside - margins.outside,
        trim.height - margins.top - margins.bottom,
    )


def slots(block: Box, plan: Slots) -> tuple[Box, ...]:
    """The places for grids in a text block, row by row."""
    width = (block.width - plan.gap * (plan.columns - 1)) / plan.columns
    height = (block.height - plan.gap * (plan.rows - 1)) / plan.rows
    return tuple(
        Box(block.x + col * (width + plan.gap), block.y + row * (height + plan.gap), width, height)
        for row in range(plan.rows) for col in range(plan.columns)
    )


def denser(plan: Slots) -> tuple[Slots, ...]:
    """The plans with more and smaller slots than one, up to twice as many each way; the largest slots first."""
    across, down = (range(count, 2 * count + 1) for count in (plan.columns, plan.rows))
    plans = [plan.model_copy(update={"columns": columns, "rows": rows}) for columns in across for rows in down]
    return tuple(sorted(plans[1:], key=lambda one: (one.columns * one.rows, one.columns)))


def roomier(plan: Slots) -> tuple[Slots, ...]:
    """A plan, and those with ever fewer and larger slots, half as many each way, down to one a page."""
    plans = [plan]
    while plans[-1].columns > 1 or plans[-1].rows > 1:
        last = plans[-1]
        plans.append(last.model_copy(update={"columns": (last.columns + 1) // 2, "rows": (last.rows + 1) // 2}))
    return tuple(plans)
