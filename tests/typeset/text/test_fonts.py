"""Faces: widths against reportlab's own reading, tabular lining figures, ink bounds against a raster."""

from __future__ import annotations

import io
import sys
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest
import resvg_py
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from cagework.layouts.load import Layout
from cagework.typeset.text.fonts import Fonts, packaged_faces

FACES = sorted(packaged_faces())


@pytest.mark.parametrize("name", FACES)
def test_single_characters_are_as_wide_as_reportlab_reads_them(name: str, fonts: Fonts) -> None:
    face = fonts[name]
    pdfmetrics.registerFont(TTFont(f"test-{name}", str(face.path)))
    for char in "AgW0159–—’“é×":
        assert face.width(char, 1000) == pytest.approx(pdfmetrics.stringWidth(char, f"test-{name}", 1000), abs=1)


@pytest.mark.parametrize("name", FACES)
def test_figures_are_tabular_and_lining(name: str, fonts: Fonts) -> None:
    face = fonts[name]
    assert len({face.advance(digit) for digit in "0123456789"}) == 1
    tops = [face.bounds(digit, 1000).top for digit in "0123456789"]
    feet = [face.bounds(digit, 1000).bottom for digit in "0123456789"]
    assert max(tops) - min(tops) < 30, "old-style figures would differ by hundreds"
    assert min(feet) > -30


@given(st.text(alphabet="AVToWayeLT .fi", min_size=1, max_size=20), st.sampled_from(FACES))
def test_chunks_hold_the_text_and_end_at_its_width(fonts: Fonts, text: str, name: str) -> None:
    face = fonts[name]
    chunks = face.chunks(text, 10)
    assert "".join(chunk for _, chunk in chunks) == text
    offset, last = chunks[-1]
    tail = sum(face.advance(char) for char in last) * 10 / face.units
    kern_after_last = face.width(text, 10) - offset - tail
    assert kern_after_last == pytest.approx(0, abs=1e-6)


def test_pairs_that_need_it_are_kerned(fonts: Fonts) -> None:
    for name in FACES:
        face = fonts[name]
        assert face.width("AV", 100) < face.width("A", 100) + face.width("V", 100)


def test_bounds_are_where_the_ink_is(fonts: Fonts) -> None:
    """Against resvg: the outline of '7' drawn large, its inked pixels counted."""
    face = fonts["sans-semibold"]
    path, (left, bottom, right, top) = face.glyph("7")
    svg = (f'<svg xmlns="http://www.w3.org/2000/svg" width="1000" height="1000">'
           f'<path transform="matrix(1 0 0 -1 0 900)" d="{path}"/></svg>')
    png = bytes(resvg_py.svg_to_bytes(svg_string=svg, background="white"))
    dark = np.asarray(Image.open(io.BytesIO(png)).convert("L")) < 128
    rows, columns = np.flatnonzero(dark.any(axis=1)), np.flatnonzero(dark.any(axis=0))
    assert columns[0] == pytest.approx(left, abs=1.5)
    assert columns[-1] + 1 == pytest.approx(right, abs=1.5)
    assert 900 - rows[0] == pytest.approx(top, abs=1.5)
    assert 900 - rows[-1] - 1 == pytest.approx(bottom, abs=1.5)


def test_what_a_face_lacks_is_named(fonts: Fonts) -> None:
    assert fonts["serif"].lacks("Tea 茶 tea 茶 ☃") == "茶☃"


def test_what_faces_make_is_made_once_for_each_set_of_arguments(layout_of: Callable[[str], Layout]) -> None:
    made: list[tuple[str, float]] = []

    def wide(fonts: Fonts, text: str, *, size: float) -> float:
        made.append((text, size))
        return fonts.measure(text, "serif", size)

    one, other = Fonts(layout_of("a5-one-up")), Fonts(layout_of("a5-one-up"))
    for fonts in (one, one, other):
        for text, size in (("ab", 8.0), ("ab", 9.0), ("ba", 8.0)):
            assert fonts.once(wide, text, size=size) == fonts.measure(text, "serif", size)
    assert made == [("ab", 8.0), ("ab", 9.0), ("ba", 8.0)] * 2


def test_threads_that_ask_a_face_at_once_get_what_one_alone_gets(layout_of: Callable[[str], Layout]) -> None:
    chars = "".join(map(chr, (*range(33, 127), *range(0xC0, 0x100))))
    alone = Fonts(layout_of("a5-one-up"))["serif"]
    wanted = [alone.glyph(char) for char in chars]
    interval = sys.getswitchinterval()
    sys.setswitchinterval(1e-6)
    try:
        with ThreadPoolExecutor(8) as pool:
            for _ in range(4):
                face = Fonts(layout_of("a5-one-up"))["serif"]
                jobs = [pool.submit(lambda face=face: [face.glyph(char) for char in chars]) for _ in range(8)]
                assert all(job.result() == wanted for job in jobs)
    finally:
        sys.setswitchinterval(interval)
