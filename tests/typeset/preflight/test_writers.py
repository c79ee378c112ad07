"""Sound pages by different writers go through, once the press pass has made a press file of them.

The pages hold what a puzzle book holds: text, grids, dashes, tints, letters outside the base, images and
gradients.
"""

from __future__ import annotations

import io
import subprocess
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import font_source_sans_pro
import pikepdf
import pytest
from PIL import Image, ImageCms
from pypdf import PdfReader, PdfWriter
from reportlab.lib.colors import CMYKColor
from reportlab.lib.utils import ImageReader
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from cagework.typeset.book import Standard
from cagework.typeset.preflight.profile import Profile
from cagework.typeset.preflight.report import preflight
from cagework.typeset.write.press import PressSpec, press_bytes

MM = 72 / 25.4
TRIM = (148.0, 210.0)
ROOM = 13.0
Draw = Callable[[Canvas], Any]


def words(canvas: Canvas) -> None:
    canvas.setFont("preflight-sans", 11)
    canvas.drawString(120, 400, "Harbour lights — a cage of 17")


def grid(canvas: Canvas) -> None:
    canvas.setLineWidth(0.5)
    canvas.grid([100 + 20 * n for n in range(10)], [200 + 20 * n for n in range(10)])


def dashes(canvas: Canvas) -> None:
    canvas.setDash(3, 2)
    canvas.setLineWidth(0.6)
    canvas.rect(120, 220, 80, 60)


def tint(canvas: Canvas) -> None:
    canvas.setFillGray(0.85)
    canvas.rect(120, 220, 80, 60, stroke=0, fill=1)


def inked(canvas: Canvas) -> None:
    canvas.setFillColor(CMYKColor(0.6, 0.2, 0.1, 0))
    canvas.rect(120, 220, 80, 60, stroke=0, fill=1)


def reversed_type(canvas: Canvas) -> None:
    tint_of = CMYKColor(0, 0, 0, 1)
    canvas.setFillColor(tint_of)
    canvas.rect(120, 220, 160, 60, stroke=0, fill=1)
    canvas.setFillColor(CMYKColor(0, 0, 0, 0))
    canvas.setFont("preflight-sans", 16)
    canvas.drawString(130, 240, "White on black")


def turned(canvas: Canvas) -> None:
    canvas.translate(200, 300)
    canvas.rotate(30)
    words_at(canvas)


def words_at(canvas: Canvas) -> None:
    canvas.setFont("preflight-sans", 14)
    canvas.drawString(0, 0, "turned")


def curved(canvas: Canvas) -> None:
    canvas.circle(200, 300, 40, stroke=1, fill=0)
    canvas.ellipse(150, 250, 250, 280, stroke=1, fill=1)


def picture(canvas: Canvas) -> None:
    canvas.drawImage(ImageReader(Image.linear_gradient("L")), 120, 220, 60, 60)


def clipped(canvas: Canvas) -> None:
    path = canvas.beginPath()
    path.circle(200, 300, 40)
    canvas.clipPath(path, stroke=0, fill=0)
    canvas.rect(150, 250, 100, 100, stroke=0, fill=1)


def squeezed_lines(canvas: Canvas) -> None:
    canvas.scale(1, 0.5)
    canvas.setLineWidth(1)
    canvas.line(150, 500, 150, 700)


def tab(canvas: Canvas) -> None:
    edge = (ROOM + TRIM[0]) * MM
    canvas.rect(edge - 20, 300, 20 + 5 * MM, 40, stroke=0, fill=1)


PAGES: list[Draw] = [words, grid, dashes, tint, inked, reversed_type, turned, curved, picture, clipped,
    squeezed_lines,
                     tab]


def drawn(draw: Draw) -> bytes:
    """One page by reportlab, with room for the bleed."""
    if "preflight-sans" not in pdfmetrics.getRegisteredFontNames():
        from importlib.resources import files

        path = files(font_source_sans_pro) / "files" / "SourceSansPro-Regular.ttf"
        pdfmetrics.registerFont(TTFont("preflight-sans", str(path)))
    out = io.BytesIO()
    size = ((TRIM[0] + 2 * ROOM) * MM, (TRIM[1] + 2 * ROOM) * MM)
    canvas = Canvas(out, pagesize=size, initialFontName="preflight-sans", pdfVersion=(1, 4))
    canvas.setFillGray(0)
    canvas.setStrokeGray(0)
    draw(canvas)
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def by_pypdf(data: bytes, _run: Any, _folder: Path) -> bytes:
    writer = PdfWriter()
    for page in PdfReader(io.BytesIO(data)).pages:
        writer.add_page(page).compress_content_streams()
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def by_qpdf(data: bytes, _run: Any, _folder: Path) -> bytes:
    out = io.BytesIO()
    with pikepdf.open(io.BytesIO(data)) as pdf:
        pdf.save(out, linearize=True)
    return out.getvalue()


def by_ghostscript(data: bytes, run: Any, folder: Path) -> bytes:
    (folder / "in.pdf").write_bytes(data)
    done = run("gs", "-q", "-dNOPAUSE", "-dBATCH", "-dSAFER", "-sDEVICE=pdfwrite", "-dCompatibilityLevel=1.4",
               "-sColorConversionStrategy=LeaveColorUnchanged", "-dAutoFilterGrayImages=false",
               "-dGrayImageFilter=/FlateEncode", f"-sOutputFile={folder / 'out.pdf'}", folder / "in.pdf")
    assert done.returncode == 0, done.stderr
    return (folder / "out.pdf").read_bytes()


def by_cairo(data: bytes, run: Any, folder: Path) -> bytes:
    """cairo writes RGB and groups; what it wrote is told to be sRGB, as PDF/X-4 has it."""
    (folder / "in.pdf").write_bytes(data)
    done = run("pdftocairo", "-pdf", "-origpagesizes", folder / "in.pdf", folder / "out.pdf")
    assert done.returncode == 0, done.stderr
    out = io.BytesIO()
    with pikepdf.open(folder / "out.pdf") as pdf:
        profile = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
        srgb = pdf.make_indirect(pdf.make_stream(profile, N=3))
        managed = pdf.make_indirect(pikepdf.Array([pikepdf.Name.ICCBased, srgb]))
        for thing in pdf.objects:
            if isinstance(thing, (pikepdf.Dictionary, pikepdf.Stream)):
                if "/Resources" in thing:
                    thing.Resources.ColorSpace = pikepdf.Dictionary(DefaultRGB=managed)
                if "/Group" in thing:
                    thing.Group.CS = managed
        pdf.save(out)
    return out.getvalue()


WRITERS: Mapping[str, Callable[[bytes, Any, Path], bytes]] = {
    "reportlab": lambda data, _run, _folder: data, "pypdf": by_pypdf, "qpdf": by_qpdf, "ghostscript":
    by_ghostscript, "cairo": by_cairo,
}


@pytest.mark.parametrize("writer", list(WRITERS))
@pytest.mark.parametrize("draw", PAGES, ids=lambda draw: draw.__name__)
def test_a_sound_page_by_any_writer_is_let_pass(
    draw: Draw, writer: str, tmp_path: Path, icc: Callable[..., bytes],
    tool: Callable[..., subprocess.CompletedProcess[str]],
) -> None:
    day = datetime(2026, 3, 1, tzinfo=UTC)
    profile = tmp_path / "press.icc"
    profile.write_bytes(icc(b"made from FOGRA52\0"))
    pages = WRITERS[writer](drawn(draw), tool, tmp_path)
    standard = Standard.X4 if writer == "cairo" else Standard.X1A
    spec = PressSpec("Lamps", day, day, standard, icc=profile if standard is Standard.X4 else None, trim_mm=TRIM,
                     bleed_mm=3.0)
    findings = preflight(press_bytes(pages, spec), Profile(trim_mm=TRIM)).findings
    assert [(finding.rule, finding.message) for finding in findings if finding.is_error] == []
