"""Every letter of a page, held against the laid-out page: nothing lost, changed, moved or added.

Here the drawing is the measure; what figures and page numbers ought to be is asked elsewhere, without it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from cagework.typeset.marks import MM, Page, Text
from cagework.typeset.readback.difference import Difference
from cagework.typeset.readback.grid_places import GridPlace
from cagework.typeset.readback.page_content import PageContent, TextRun
from cagework.typeset.readback.text_lines import GAP, TextLine, lines_of, squeezed
from cagework.typeset.text.fonts import Fonts

_NEAR = 1.0
"""Points by which a word may have been moved in the passing of a file through other programs."""

_CLOSE = 0.5
"""Points by which one may be off in a file as it was written."""


def compare_prose(
    page: Page, laid: Sequence[tuple[Text, str]], leaf: PageContent, fonts: Fonts, grids: Sequence[GridPlace],
    told: Sequence[GridPlace],
) -> Iterator[Difference]:
    """Where a page's words are not those that were `laid` out. What is in a grid goes under its name, and is left
    out where the grid is one of those told of already.
    """
    runs = [run for run in leaf.runs if _in_page(run, page) and not _in_any(run.left, run.base, told)]
    texts = [text for text, _ in laid if not _in_any(text.x, text.y, told)]
    if any(text.angle for text in texts):  # what is set aslant is not followed letter by letter
        texts = [text for text in texts if not text.angle]
        runs = [run for run in runs if run.level]
    if not _in_step(texts, runs, fonts):
        for x, y, message in _closely(texts, fonts, lines_of(runs)):
            grid = next((grid for grid in grids if grid.holds(x, y)), None)
            if grid:
                yield Difference(leaf.number, grid.name, grid.cell_at(x, y), message)
            else:
                yield Difference(leaf.number, "words", None, message)


def _in_page(run: TextRun, page: Page) -> bool:
    return 0 <= run.base <= page.height and run.right > 0 and run.left < page.width


def _in_any(x: float, y: float, grids: Sequence[GridPlace]) -> bool:
    return any(grid.holds(x, y) for grid in grids)


def _in_step(texts: Iterable[Text], runs: Sequence[TextRun], fonts: Fonts) -> bool:
    """Whether runs say just what texts do, in the same order, each chunk where it should start to half a point; so
    it is in a file that no other program wrote anew.
    """
    said = "".join([char for run in runs for char in run.said])
    starts = [start for run in runs for start in run.starts]
    if len(said) != len(starts) or said != squeezed("".join([text.string for text in texts])):
        return False
    bases = [run.base for run in runs for _ in run.said]
    at = 0
    for text in texts:
        x, y = text.x, text.y
        for offset, chunk in text.chunks:
            letters = len(squeezed(chunk))
            if letters:
                start = x + offset + (_indent(text, chunk, fonts) if chunk[0].isspace() else 0.0)
                if not (-_CLOSE <= starts[at] - start <= _CLOSE and -_CLOSE <= bases[at] - y <= _CLOSE):
                    return False
                at += letters
    return True


def _indent(text: Text, chunk: str, fonts: Fonts) -> float:
    """How far a chunk's first letter is from where the chunk starts, in pt."""
    blanks = len(chunk) - len(chunk.lstrip())
    if not blanks:
        return 0.0
    face = fonts[text.face]
    return blanks * (face.advance(" ") * text.size / face.units + text.tracking)


def _closely(texts: Sequence[Text], fonts: Fonts, lines: Sequence[TextLine]) -> Iterator[tuple[float, float, str]]:
    """Letter by letter: each chunk of text looked for where it starts, and what then is left over; where, and in
    words.
    """
    taken = [[char == GAP for char in line.text] for line in lines]
    for text in texts:
        missed = sum(not _found(text, offset, chunk, fonts, lines, taken) for offset, chunk in text.chunks)
        if missed:
            there = "".join(_take(line, used, text.x - 1, _right(text))
                            for line, used in zip(lines, taken, strict=True) if abs(line.base - text.y) < _NEAR)
            yield text.x, text.y, (f"'{_cut(text.string)}' should stand {_where(text.x, text.y)}; "
                                   + (f"'{_cut(there)}' stands there" if there else "nothing stands there"))
    for line, used in zip(lines, taken, strict=True):
        rest = [at for at, seen in enumerate(used) if not seen]
        if rest:
            x, extra = line.lefts[rest[0]], "".join(line.text[at] for at in rest)
            yield x, line.base, f"'{_cut(extra)}' stands {_where(x, line.base)}, where nothing should"


def _found(
    text: Text, offset: float, chunk: str, fonts: Fonts, lines: Sequence[TextLine], taken: Sequence[list[bool]],
) -> bool:
    """Whether a chunk stands where it should; its letters are then taken."""
    said = squeezed(chunk)
    start = text.x + offset + _indent(text, chunk, fonts)
    for line, used in zip(lines, taken, strict=True):
        if abs(line.base - text.y) >= _NEAR:
            continue
        first = line.at(start - _NEAR)
        letters = [at for at in range(first, len(line.text)) if line.text[at] != GAP][:len(said)]
        if (letters and line.lefts[letters[0]] <= start + _NEAR and not any(used[at] for at in letters)
                and "".join(line.text[at] for at in letters) == said):
            for at in letters:
                used[at] = True
            return True
    return not said


def _take(line: TextLine, used: list[bool], left: float, right: float) -> str:
    """What stands between two edges; it is then told of, and taken."""
    there = [at for at, (start, end) in enumerate(zip(line.lefts, line.rights, strict=True))
             if left <= (start + end) / 2 <= right and line.text[at] != GAP]
    for at in there:
        used[at] = True
    return "".join(line.text[at] for at in there)


def _right(text: Text) -> float:
    """About where a text ends: figures and small letters are some half an em wide."""
    offset, chunk = text.chunks[-1]
    return text.x + offset + len(chunk) * (0.55 * text.size + text.tracking)


def _where(x: float, y: float) -> str:
    return f"{x / MM:.0f} mm from the left and {y / MM:.0f} mm from the top"


def _cut(text: str) -> str:
    return text if len(text) <= 60 else text[:59] + "…"
