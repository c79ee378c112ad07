"""A clean press file to break, and the sample book gone through the press."""

from __future__ import annotations

import io
import struct
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pikepdf
import pytest

from cagework.typeset.book import Standard
from cagework.typeset.marks import MM, Anchor, Bookmark, Fill, Line, Link, Page, Text, rectangle
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.text.fonts import Fonts
from cagework.typeset.write.pdf import About, pdf_bytes
from cagework.typeset.write.press import PressSpec, press_bytes

DAY = datetime(2026, 3, 1, 12, 30, tzinfo=UTC)
TRIM = (148.0, 210.0)
ROOM = 13.0
"""Sheet left round the trim for bleed and marks, in mm."""


def header(
    kind: bytes = b"prtr", space: bytes = b"CMYK", signature: bytes = b"acsp", target: bytes = b"",
) -> bytes:
    """An ICC profile of a header and no tags (ICC.1:2010, 7.2): enough to be known for what it is. With `target`
    the one tag that says what characterisation data it was made from (9.2.14, of textType, 10.22).
    """
    text = b"text" + bytes(4) + target + b"\0" if target else b""
    tags = struct.pack(">4sII", b"targ", 144, len(text)) if target else b""
    size = 132 + len(tags) + len(text)
    return (struct.pack(">I4sI", size, b"test", 0x02400000) + kind + space + b"Lab " + bytes(12) + signature
            + bytes(88) + struct.pack(">I", bool(target)) + tags + text)


@pytest.fixture(scope="session")
def icc() -> Callable[..., bytes]:
    """Make a profile's bytes."""
    return header


@pytest.fixture(scope="session")
def day() -> datetime:
    """The day every test file says it was made."""
    return DAY


@pytest.fixture(scope="session")
def pages_pdf(fonts: Fonts) -> bytes:
    """Four A5 pages with room for bleed and marks: text, lines, a tab that bleeds, links and bookmarks."""
    width, height, room = TRIM[0] * MM, TRIM[1] * MM, ROOM * MM
    sheet = (width + 2 * room, height + 2 * room)
    pages = []
    for number in range(1, 5):
        left, top = room + 20 * MM, room + 30 * MM
        recto = number % 2
        tab = rectangle(room + width - 6 * MM if recto else room - 3 * MM, top, 9 * MM, 20 * MM)
        marks = (
            Text(left, top, ((0.0, f"Harbour lights {number}"),), "serif", 11.0),
            Line(left, top + 20, left + 200, top + 20, 0.35),
            Line(left, top + 40, left + 200, top + 40, 1.6, ink=0.5),
            Fill((rectangle(left, top + 60, 100, 50),), 0.1),
            Fill((tab,), 0.3),
            Line(room, 0.0, room, 8 * MM, 0.25),
        )
        pages.append(Page(*sheet, marks, (Link(left, top, 90, 12, "page 1"),), (Anchor(f"page {number}", top),)))
    bookmarks = [Bookmark(f"Page {number}", f"page {number}", 0) for number in range(1, 5)]
    return pdf_bytes(pages, bookmarks, About("Harbour Lights", "the editors", "", "en-GB"), fonts)


@pytest.fixture(scope="session")
def spec() -> PressSpec:
    """A5 with 3 mm of bleed, for uncoated paper."""
    return PressSpec("Harbour Lights", DAY, DAY, trim_mm=TRIM, bleed_mm=3.0)


@pytest.fixture(scope="session")
def profile() -> Profile:
    """All that a profile can ask for."""
    return Profile(trim_mm=TRIM, multiple=4, gutter_mm=12.0)


@pytest.fixture(scope="session")
def clean(pages_pdf: bytes, spec: PressSpec) -> bytes:
    """The four pages as PDF/X-1a:2003."""
    return press_bytes(pages_pdf, spec)


@pytest.fixture(scope="session")
def clean_x4(pages_pdf: bytes, icc: Callable[..., bytes], tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The four pages as PDF/X-4."""
    path = tmp_path_factory.mktemp("icc") / "press.icc"
    path.write_bytes(icc())
    return press_bytes(pages_pdf, PressSpec("Harbour Lights", DAY, DAY, Standard.X4, icc=path,
                                            trim_mm=TRIM, bleed_mm=3.0))


@pytest.fixture(scope="session")
def altered() -> Callable[..., bytes]:
    """Change a file with pikepdf and write it as PDF 1.4."""
    def alter(data: bytes, change: Callable[[Any], Any], **saving: Any) -> bytes:
        out = io.BytesIO()
        with pikepdf.open(io.BytesIO(data)) as pdf:
            change(pdf)
            pdf.save(out, **({"object_stream_mode": pikepdf.ObjectStreamMode.disable,
                              "force_version": "1.4"} | saving))
        return out.getvalue()

    return alter
