"""An ISBN to its barcode: EAN-13 with or without the five-digit addition, in modules and then as marks.

Dimensions are those of the GS1 General Specifications as gs1.se's size guide, gs1ie.org and 4js.com state them.
The code tables were checked against the worked examples named in the tests.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from cagework.typeset.marks import MM, Fill, Group, Mark, rectangle
from cagework.typeset.trade.isbn import bare

if TYPE_CHECKING:       # a manifest's reader needs the limits alone
    from cagework.typeset.text.fonts import Fonts

MODULE_MM = 0.330
"""A module, the X dimension, at 100 %."""
LEAST, GREATEST = 80, 200
"""The magnifications a till can read, in percent (X of 0.264 and 0.660 mm)."""

_QUIET_LEFT, _QUIET_RIGHT = 11, 7
_GAP = 8                # between the symbols; with the light module an EAN-5 starts with, 9 of the 7 to 10
_QUIET_AFTER = 5        # right of the addition (from memory)
_HIGH_MM = 22.85        # of the bars at 100 %
_GUARD = 5              # modules that guard bars reach further down (help.seagullscientific.com: 0.065 in)
_FIGURES_MM = 2.75      # height of the digits at 100 % (barcodes.cz)
_AIR = 1.2              # modules between bars and digits; the least is 0.5 (from memory)
_MARGIN = 3             # modules of white above and below

_L = ("0001101", "0011001", "0010011", "0111101", "0100011", "0110001", "0101111", "0111011", "0110111", "0001011")
_R = tuple(code.translate(str.maketrans("01", "10")) for code in _L)
_G = tuple(code[::-1] for code in _R)
_SETS = {"L": _L, "G": _G}
_FIRST = ("LLLLLL", "LLGLGG", "LLGGLG", "LLGGGL", "LGLLGG", "LGGLLG", "LGGGLL", "LGLGLG", "LGLGGL", "LGGLGL")
"""The first digit of an EAN-13 -> the sets of the six after it, which is how it is told."""
_CHECKED = ("GGLLL", "GLGLL", "GLLGL", "GLLLG", "LGGLL", "LLGGL", "LLLGG", "LGLGL", "LGLLG", "LLGLG")
"""The check of an EAN-5 -> the sets of its digits; the check itself is not printed."""


@dataclass(frozen=True, slots=True)
class Bar:
    """A dark bar: where it starts and how wide it is, in modules. Guard bars are `long`."""

    start: int
    width: int
    long: bool


@dataclass(frozen=True, slots=True)
class BarcodeSymbol:
    """A symbol without its quiet zones: bars, and each digit with the module at the middle of its place."""

    bars: tuple[Bar, ...]
    figures: tuple[tuple[float, str], ...]
    width: int


def ean13(digits: str) -> BarcodeSymbol:
    """The symbol of thirteen digits, the last of them the check digit."""
    sets = _FIRST[int(digits[0])]
    left = "".join(_SETS[name][int(digit)] for name, digit in zip(sets, digits[1:7], strict=True))
    right = "".join(_R[int(digit)] for digit in digits[7:])
    guards = (range(3), range(45, 50), range(92, 95))
    places = [*range(3, 45, 7), *range(50, 92, 7)]
    return _symbol(f"101{left}01010{right}101", digits[1:], places, guards)


def ean5(digits: str) -> BarcodeSymbol:
    """The addition of five digits."""
    sets = _CHECKED[ean5_check(digits)]
    codes = [_SETS[name][int(digit)] for name, digit in zip(sets, digits, strict=True)]
    return _symbol("01011" + "01".join(codes), digits, range(5, 50, 9), ())


def ean5_check(digits: str) -> int:
    """The check of an EAN-5: weights 3 and 9 by turns, modulo 10."""
    return sum(int(digit) * (9 if place % 2 else 3) for place, digit in enumerate(digits)) % 10


def _symbol(modules: str, digits: str, places: Sequence[int], guards: Sequence[range]) -> BarcodeSymbol:
    return BarcodeSymbol(
        tuple(Bar(start, width, any(start in guard for guard in guards)) for start, width in _runs(modules)),
        tuple((place + 3.5, digit) for place, digit in zip(places, digits, strict=True)),
        len(modules),
    )


def _runs(modules: str) -> Iterator[tuple[int, int]]:
    """Where each run of dark modules starts, and how long it is."""
    for value, group in groupby(enumerate(modules), key=lambda pair: pair[1]):
        run = list(group)
        if value == "1":
            yield run[0][0], len(run)


@dataclass(frozen=True, slots=True)
class Barcode:
    """An ISBN, hyphenated as its publisher hyphenates it, an EAN-5 or none, and the magnification in percent."""

    isbn: str
    ean5: str | None = None
    magnification: int = 100

    @property
    def module(self) -> float:
        """The X dimension in pt."""
        return MODULE_MM * MM * self.magnification / 100

    @property
    def width(self) -> float:
        """The whole width in pt, quiet zones included."""
        addition = _GAP - _QUIET_RIGHT + ean5(self.ean5).width + _QUIET_AFTER if self.ean5 else 0
        return (_QUIET_LEFT + 95 + _QUIET_RIGHT + addition) * self.module

    @property
    def height(self) -> float:
        """The whole height in pt, from the white above the ISBN to the white below the digits."""
        module = self.module
        return self._bars_top + self._bars_high + (_AIR + _MARGIN) * module + self._figures_high

    @property
    def _bars_high(self) -> float:
        return _HIGH_MM * MM * self.magnification / 100

    @property
    def _figures_high(self) -> float:
        return _FIGURES_MM * MM * self.magnification / 100

    @property
    def _bars_top(self) -> float:
        return 2.2 * _MARGIN * self.module + self._figures_high * 0.8


def draw_barcode(code: Barcode, x: float, y: float, fonts: Fonts) -> Group:
    """The barcode on its own white, top left corner at (x, y) pt, the ISBN in print above the bars.

    Nothing else may be drawn over the area `code.width` x `code.height`: its edges are quiet zones.
    """
    module, digits = code.module, bare(code.isbn)
    left, top = x + _QUIET_LEFT * module, y + code._bars_top
    foot = top + code._bars_high
    guard = foot + _GUARD * module
    size = code._figures_high / fonts["sans"].figure_height
    base = foot + _AIR * module + code._figures_high
    marks: list[Mark] = [Fill((rectangle(x, y, code.width, code.height),), 0.0)]
    main = ean13(digits)
    marks += _bars(main, left, top, foot, guard, module)
    marks.append(fonts.left(x + module, base, digits[0], "sans", size))
    marks += [fonts.centre(left + place * module, base, digit, "sans", size) for place, digit in main.figures]
    said = f"ISBN {code.isbn}"
    set_at = size * main.width * module / fonts.measure(said, "sans", size)
    marks.append(fonts.left(left, top - _MARGIN * module, said, "sans", min(size, set_at)))
    if code.ean5:
        addition = ean5(code.ean5)
        at, below = left + (main.width + _GAP) * module, top + code._figures_high
        marks += _bars(addition, at, below + _AIR * module, guard, guard, module)
        marks += [fonts.centre(at + place * module, below, digit, "sans", size)
                  for place, digit in addition.figures]
    return Group("barcode", tuple(marks))


def _bars(symbol: BarcodeSymbol, x: float, top: float, foot: float, guard: float, module: float) -> Iterator[Fill]:
    for bar in symbol.bars:
        low = guard if bar.long else foot
        yield Fill((rectangle(x + bar.start * module, top, bar.width * module, low - top),), 1.0)
