"""What is raised where something given cannot be used: one family, whose text is for a person."""

from __future__ import annotations


class CageworkError(Exception):
    """Something given to cagework cannot be used as it is: what public functions raise on purpose.

    The text says what is wrong and, where there is one, the way out.
    """


class PuzzleError(CageworkError, ValueError):
    """A puzzle, or a part of one, that cannot be: a cell off the grid, a total that no digits make, a size without
    boxes, a rule that there is not.
    """
