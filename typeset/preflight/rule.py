"""The one contract a preflight rule fulfils, and what it says when something is amiss.

A rule is one file in `rules/`; the file's name is the rule's. It looks at a read document and never at bytes.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, ClassVar

from cagework.typeset.choices import Purpose
from cagework.typeset.faults import Severity
from cagework.typeset.marks import MM
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.reader.document import PdfDocument, PdfPage
from cagework.typeset.reader.geometry import Rectangle
from cagework.typeset.reader.paint import Paint
from cagework.typeset.reader.style import PLAIN

Measure = float | int | str
"""A measured value; the key it stands under ends in its unit."""

BOTH = frozenset(Purpose)
"""For rules that a file on a screen must pass too."""

SLACK = 0.01
"""Points that rounding in a PDF's numbers may cost."""


@dataclass(frozen=True, slots=True)
class Finding:
    """What one rule found on one page, or in the file where `page` is None."""

    rule: str
    number: int
    severity: Severity
    page: int | None
    message: str
    measured: Mapping[str, Measure]

    def __reduce__(self) -> tuple[Any, ...]:
        return _found, (self.rule, self.number, self.severity, self.page, self.message, dict(self.measured))

    @property
    def is_error(self) -> bool:
        """Whether a press would refuse the file for it."""
        return self.severity is Severity.ERROR


def _found(rule: str, number: int, severity: Severity, page: int | None, message: str,
           measured: Mapping[str, Measure]) -> Finding:
    """A finding that comes from another process."""
    return Finding(rule, number, severity, page, message, MappingProxyType(dict(measured)))


class PressRule(ABC):
    """A preflight rule. `number` never changes; `source` names who asks for it, `statement` says what is asked."""

    number: ClassVar[int]
    statement: ClassVar[str]
    source: ClassVar[str]
    severity: ClassVar[Severity] = Severity.ERROR
    purposes: ClassVar[frozenset[Purpose]] = frozenset({Purpose.PRESS})

    @property
    def name(self) -> str:
        """The file's name."""
        return type(self).__module__.rpartition(".")[2]

    @abstractmethod
    def check(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """What is amiss, page by page."""

    def whole(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """What is amiss in the file as a whole, where the rule looks at pages as well."""
        yield from ()

    def found(self, page: int | None, message: str, **measured: Measure) -> Finding:
        """A finding of this rule."""
        return Finding(self.name, self.number, self.severity, page, message, MappingProxyType(measured))

    def worst(
        self, sheet: PdfPage, paints: list[Paint], value: Callable[[Paint], float], what: str, unit: str,
    ) -> Iterator[Finding]:
        """One finding for all of a page's offending paints: how many, and the one of least `value`."""
        if paints:
            least = min(paints, key=value)
            x, y = place(sheet, least.box)
            where = "in a pattern" if least.tiled else f"{x:.1f} mm from the left and {y:.1f} mm from the top"
            yield self.found(
                sheet.number, f"{what}: {len(paints)} found, the worst {value(least):.3g} {unit}, {where}",
                count=len(paints), worst=round(value(least), 3), unit=unit, x_mm=round(x, 1), y_mm=round(y, 1),
            )


class PageRule(PressRule):
    """A rule that looks at what a page paints or holds, one page at a time."""

    def check(self, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """What is amiss, in the file and page by page."""
        yield from self.whole(document, profile)
        for sheet in document.sheets:
            yield from self.look(sheet, document, profile)

    @abstractmethod
    def look(self, sheet: PdfPage, document: PdfDocument, profile: Profile) -> Iterator[Finding]:
        """What is amiss on one page of a document."""


def place(sheet: PdfPage, box: Rectangle) -> tuple[float, float]:
    """How far a box's upper left corner is from the trim's left and top, in mm."""
    return (box.left - sheet.trim.left) / MM, (sheet.trim.top - box.top) / MM


def visible(sheet: PdfPage) -> list[Paint]:
    """What a page shows: nothing on a layer that is off, of no opacity, or in a soft mask."""
    return [paint for paint in sheet.drawn
            if not paint.hidden and not paint.masking and (paint.style is PLAIN or paint.opacity != 0)]


def printed(paint: Paint) -> bool:
    """Whether it leaves ink: white does not, and what is not known is taken to."""
    return paint.colour.total is None or paint.colour.total > 0
