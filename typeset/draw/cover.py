"""The cover, outside up: back, spine and front over one horizon, paper above and the artwork's ground below."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from cagework.layouts.load import Layout
from cagework.layouts.page import Box
from cagework.solver.model import Puzzle
from cagework.typeset.book import Illustration
from cagework.typeset.draw.artwork import draw_artwork
from cagework.typeset.draw.crop import crop_marks
from cagework.typeset.draw.furniture import TRACKING
from cagework.typeset.draw.illustration import Size, hang, size_of
from cagework.typeset.draw.setting import Setting
from cagework.typeset.marks import MM, Fill, Group, Mark, Page, Text, rectangle
from cagework.typeset.text.paragraph import SetLine, paragraphs, prose_style, set_paragraph
from cagework.typeset.trade.barcode import Barcode, draw_barcode
from cagework.typeset.trade.binding import FOLD_DRIFT_MM, SPINE_FOR_TEXT_MM, Flat

_REVERSED, _PLAIN = 1.0, 0.12
"""Ink of the ground below the horizon."""
_MARGIN = 0.068        # of a panel's width, round everything on it
_SHARE = 0.72          # of a panel's height that the ground takes at most
_A5 = 148.0            # the panel width in mm that the sizes below, in pt, are for; wider ones get more
_TITLE = (42.0, 15.0)
_SUBTITLE, _BY, _BOX_PAD = 14.5, 8.2, 4.0
_LEAD, _BLURB = (17.0, 11.0), (10.6, 8.6)
_STEP = 0.25
_SPINE_LINE = 0.95
"""How much of a spine its title takes across, in ems."""
_LEAST = 6.0
"""Of what is set in one line, in pt: white type on coated or uncoated stock (peakprint.ca guidelines)."""


class CoverError(ValueError):
    """The cover cannot be drawn as asked. The text is for the editor; `key` is the manifest key to blame."""

    def __init__(self, key: str, text: str) -> None:
        super().__init__(text)
        self.key = key


@dataclass(frozen=True, slots=True)
class CoverMatter:
    """What stands on a cover besides the book's title, subtitle and author."""

    artwork: Puzzle | Illustration
    blurb: str
    barcode: Barcode | None
    reversed: bool
    spine_text: bool


@dataclass(frozen=True, slots=True)
class _CoverPlan:
    """A cover's measures in pt: the horizon, what is ground below it, and how type scales with the panel."""

    setting: Setting
    flat: Flat
    matter: CoverMatter
    bleed: float

    @property
    def scale(self) -> float:
        return max(1.0, min(1.5, self.flat.width / (_A5 * MM)))

    @property
    def least(self) -> float:
        """The least size of any type in pt: the layout's least sums, so that the cover of a book in large print is
        in large print, too.
        """
        return max(_LEAST, self.setting.layout.type.label)

    @property
    def margin(self) -> float:
        return _MARGIN * self.flat.width

    @property
    def horizon(self) -> float:
        return self.flat.trim.bottom - min(self.flat.width, _SHARE * self.flat.height)

    @property
    def ground(self) -> float:
        return _REVERSED if self.matter.reversed else _PLAIN

    @property
    def ink(self) -> float:
        """The ink of type on the ground."""
        return 0.0 if self.matter.reversed else 1.0

    def above(self, panel: Box) -> Box:
        """The panel's live area above the horizon."""
        top = panel.y + self.margin
        return Box(panel.x + self.margin, top, panel.width - 2 * self.margin, self.horizon - self.margin - top)

    def below(self, panel: Box) -> Box:
        """The panel's live area on the ground."""
        top = self.horizon + self.margin
        return Box(panel.x + self.margin, top, panel.width - 2 * self.margin, panel.bottom - self.margin - top)


def spine_for_text(layout: Layout) -> float:
    """The narrowest spine in mm that takes text: of the least type the layout has, where that is large."""
    return max(SPINE_FOR_TEXT_MM, _SPINE_LINE * layout.type.label / MM + 2 * FOLD_DRIFT_MM)


def cover_page(setting: Setting, flat: Flat, bleed: float, matter: CoverMatter) -> Page:
    """The cover as one page of its trimmed size, in pt, with marks round it; `bleed` in mm. CoverError where
    something does not fit.
    """
    trim, out = flat.trim, bleed * MM
    plan = _CoverPlan(setting, flat, matter, out)
    band = rectangle(-out, plan.horizon, trim.width + 2 * out, trim.height + out - plan.horizon)
    marks: list[Mark] = [
        Fill((band,), plan.ground),
        Group("front", tuple(_front(plan))),
        Group("back", tuple(_back(plan))),
    ]
    marks.append(crop_marks(trim, bleed, sorted({flat.front.x, flat.back.right})))
    if matter.spine_text:
        marks.append(Group("spine", tuple(_spine(plan))))
    return Page(trim.width, trim.height, tuple(marks))


def _front(plan: _CoverPlan) -> Iterator[Mark]:
    """Author at the head, the title standing on the horizon, the artwork below it."""
    setting, book, scale = plan.setting, plan.setting.book, plan.scale
    area = plan.above(plan.flat.front)
    top, foot = area.y, area.bottom
    if book.by:
        said, size = book.by.upper(), max(_BY * scale, plan.least)
        size *= min(1.0, area.width / setting.fonts.measure(said, "sans-semibold", size, TRACKING * size))
        if size < plan.least:
            raise CoverError("by", f"the author's line does not fit the cover at {plan.least:g} pt")
        top += setting.fonts["sans-semibold"].cap_height * size
        yield setting.fonts.left(area.x, top, said, "sans-semibold", size, tracking=TRACKING * size)
        top += size
    if book.subtitle:
        size = _SUBTITLE * scale
        lines = setting.balanced(book.subtitle, setting.italic, size, area.width)
        for line in reversed(lines):
            yield from line.marks(area.x, foot)
            foot -= size * 1.2
        foot -= size * 0.55
    largest, least = (size * scale for size in _TITLE)
    size, lines = _largest(setting, book.title, setting.roman, (largest, least), 1.06,
                           Box(area.x, top, area.width, foot - top), "title")
    for line in reversed(lines):
        yield from line.marks(area.x - 0.04 * size, foot)
        foot -= size * 1.06
    ground = plan.below(plan.flat.front)
    artwork = plan.matter.artwork
    if isinstance(artwork, Illustration):
        yield _hung(plan, artwork, ground)
    else:
        side = min(ground.width, ground.height)
        yield draw_artwork(artwork, side, plan.ground, setting.fonts, ground.x, ground.y)


def _hung(plan: _CoverPlan, picture: Illustration, ground: Box) -> Group:
    """A picture of a stated width on the ground, left as the title is; any other over the front's whole ground, to
    its edges and over them, less what is too wide or too high for that at either side.
    """
    if picture.width:
        size = size_of(picture, ground.width, ground.height)
        if size is None:
            raise CoverError("picture", "the front has no room for a picture")
        return hang(picture, size, ground.x, ground.y)
    front = plan.flat.front
    size = Size(front.width + plan.bleed, plan.flat.trim.bottom + plan.bleed - plan.horizon)
    cut = replace(picture, raster=picture.raster.cut_to(size.height / size.width))
    return replace(hang(cut, size, front.x, plan.horizon), shows=picture)


def _back(plan: _CoverPlan) -> Iterator[Mark]:
    """The blurb's first paragraph large above the horizon, the rest on the ground, the barcode in the corner."""
    setting, code = plan.setting, plan.matter.barcode
    area, ground = plan.above(plan.flat.back), plan.below(plan.flat.back)
    if code:
        pad = _BOX_PAD
        left, top = ground.right - code.width - pad, ground.bottom - code.height - pad
        if left < ground.x or top < ground.y:
            raise CoverError("magnification", "the barcode is larger than the back has room for")
        yield Fill((rectangle(left - pad, top - pad, code.width + 2 * pad, code.height + 2 * pad),), 0.0)
        yield draw_barcode(code, left, top, setting.fonts)
        ground = replace(ground, height=top - 2 * pad - plan.margin / 2 - ground.y)
    parts = paragraphs(plan.matter.blurb)
    if not parts:
        return
    lead = [max(size * plan.scale, plan.least) for size in _LEAD]
    size, lines = _largest(setting, parts[0], setting.roman, (lead[0], lead[1]), 1.32, area, "blurb")
    y = area.y + setting.fonts[setting.roman].cap_height * size
    for line in lines:
        yield from line.marks(area.x, y)
        y += size * 1.32
    for mark in _running(plan, parts[1:], ground):
        yield mark._replace(ink=plan.ink)


def _running(plan: _CoverPlan, parts: tuple[str, ...], area: Box) -> Iterator[Text]:
    """Paragraphs on the ground, as large as they fit."""
    least = max(_BLURB[1], plan.least)
    size = max(_BLURB[0] * plan.scale, least)
    while True:
        style = replace(prose_style(plan.setting.layout, "", size), justify=False, language=None)
        measure = min(area.width, 35 * size)
        lines = [set_paragraph(part, style, measure, plan.setting.fonts) for part in parts]
        leading = 1.42 * size
        high = sum(map(len, lines)) * leading + (len(lines) - 1) * leading / 2
        if high <= area.height:
            break
        size -= _STEP
        if size < least:
            raise CoverError("blurb", "the blurb is too long for the back of the cover")
    y = area.y + 0.7 * size
    for paragraph in lines:
        for line in paragraph:
            yield from line.marks(area.x, y)
            y += leading
        y += leading / 2


def _spine(plan: _CoverPlan) -> Iterator[Mark]:
    """The title reading down the ground, the author above the horizon; both clear of the folds."""
    setting, edge, fonts = plan.setting, plan.flat.edge, plan.setting.fonts
    room = edge.width - 2 * FOLD_DRIFT_MM * MM
    middle = edge.x + edge.width / 2
    ground = plan.below(edge)
    size = min(max(_TITLE[1] * plan.scale, plan.least), room / _SPINE_LINE)
    size = min(size, size * ground.height / fonts.measure(setting.book.title, setting.roman, size))
    if size < plan.least:
        raise CoverError("spine_text", f"the title does not fit the spine at {plan.least:g} pt; "
                                       "spine_text: false leaves it bare")
    yield _down(plan, middle, ground.y, setting.book.title, setting.roman, size)._replace(ink=plan.ink)
    if setting.book.by:
        small = max(min(_BY * plan.scale, size * 0.7), plan.least)
        said, tracking = setting.book.by.upper(), TRACKING * small
        above = plan.above(edge)
        if fonts.measure(said, "sans-semibold", small, tracking) <= above.height:
            yield _down(plan, middle, above.y, said, "sans-semibold", small, tracking)


def _down(
    plan: _CoverPlan, middle: float, y: float, text: str, face: str, size: float, tracking: float = 0.0,
) -> Text:
    """A line reading down from y, its capitals centred across `middle`."""
    fonts = plan.setting.fonts
    base = middle - fonts[face].cap_height * size / 2
    return fonts.left(base, y, text, face, size, tracking=tracking)._replace(angle=90.0)


def _largest(
    setting: Setting, text: str, face: str, sizes: tuple[float, float], leading: float, area: Box, key: str,
) -> tuple[float, tuple[SetLine, ...]]:
    """The largest size at which a text fits an area, and its lines, evenly long. CoverError where none does."""
    size, least = sizes
    while size >= least:
        lines = setting.display(text, face, size, area.width)
        if len(lines) * size * leading <= area.height and setting.widest(lines) <= area.width:
            return size, setting.balanced(text, face, size, area.width)
        size -= _STEP
    what = {"blurb": "the blurb's first paragraph does"}.get(key, f"the {key} does")
    raise CoverError(key, f"{what} not fit the cover at {least:g} pt")
