"""The pictures a manifest names: their files read, looked through, and brought to the one ink of a book's inside.

Colour becomes gray by the weights of Rec. 709 (ITU-R BT.709-6, item 3.2) on the coded values; what is transparent
is laid on white first. An embedded profile is not applied.
"""

from __future__ import annotations

import io
import warnings
from pathlib import Path
from typing import TYPE_CHECKING

from cagework.typeset.book import Illustration
from cagework.typeset.faults import UnreadableManifest, quoted
from cagework.typeset.manifest import drawings
from cagework.typeset.manifest.document import read_text
from cagework.typeset.manifest.notes import Notes
from cagework.typeset.manifest.parts import PicturePart
from cagework.typeset.manifest.violations import salvage
from cagework.typeset.raster import MOST_SAMPLES, Raster

if TYPE_CHECKING:       # a book without pictures does without Pillow
    from PIL import Image

MOST_BYTES = 64_000_000
"""Bytes that a picture's file may have."""

_KINDS = {".png": "PNG", ".jpg": "JPEG", ".jpeg": "JPEG"}
_REC_709 = (0.2126, 0.7152, 0.0722, 0.0)


class _Unfit(Exception):  # noqa: N818 - it says what the file is
    """What is wrong with a picture's file, and the way out."""

    def __init__(self, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.hint = hint


def read_picture(top: Notes, written: object, widest: float, *path: str | int) -> Illustration | None:
    """The picture at a key path, `written` as it stands there, which has room to be `widest` mm wide; what is
    wrong with its file, or its words, goes to `top`. What single keys got wrong has been reported.
    """
    if not isinstance(written, dict):
        return None
    part = salvage(PicturePart, written)
    if written.get("alt") is None and not PicturePart.model_fields.keys().isdisjoint(written):
        top.add(top.spot(*path), "this picture has no 'alt'",
                "say what it shows, for those who hear the page; alt: \"\" where it is mere decoration")
    if not part.file:
        return None
    spot, file = top.spot(*path, "file"), top.document.file.parent / part.file
    try:
        if file.suffix.lower() == ".svg":
            raster = _read_drawing(top, file, part.file, min(part.width or widest, widest))
        else:
            raster = read_raster(file, part.file)
    except _Unfit as error:
        top.add(spot, str(error), error.hint)
        return None
    place = top.document.place(spot)
    return None if raster is None else Illustration(file, raster, part.alt or "", part.width, place)


def read_raster(file: Path, name: str) -> Raster:
    """A picture's file, called `name`, as it is printed. _Unfit where it cannot be."""
    kind = _KINDS.get(file.suffix.lower())
    if kind is None:
        raise _Unfit(f"{quoted(name)} is no kind of picture that can be printed", "use a PNG, JPEG or SVG file")
    return _opened(_there(file, name, MOST_BYTES), name, kind)


def _there(file: Path, name: str, most: int) -> Path:
    if not file.is_file():
        raise _Unfit(f"there is no file {quoted(name)}", "the path starts from the manifest's folder")
    if file.stat().st_size > most:
        raise _Unfit(f"{quoted(name)} is larger than {most // 10**6} MB", "save it smaller")
    return file


def _read_drawing(top: Notes, file: Path, name: str, width: float) -> Raster | None:
    """A drawing that is to be `width` mm wide; None where it has faults, which stand in its own file."""
    try:
        text = read_text(_there(file, name, drawings.MOST_BYTES))
    except UnreadableManifest as error:
        top.faults.append(error.fault)
        return None
    scan = drawings.Scan(file, text)
    top.faults += scan.faults
    if scan.faults:
        return None
    try:
        return _opened(io.BytesIO(drawings.drawn(text, scan.shape, width)), name, "PNG")
    except ValueError as error:
        raise _Unfit(f"{quoted(name)} cannot be drawn: {error}") from error


def _opened(file: Path | io.BytesIO, name: str, kind: str) -> Raster:
    from PIL import Image, ImageOps
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")     # sizes are looked at below, before anything is unpacked
            opened = Image.open(file, formats=(kind,))
        with opened:
            if opened.width * opened.height > MOST_SAMPLES:
                raise _Unfit(f"{quoted(name)} has {opened.width:,} x {opened.height:,} pixels; "
                             f"{MOST_SAMPLES:,} are the most", "save it smaller")
            opened.load()
            return _one_ink(ImageOps.exif_transpose(opened))
    except _Unfit:
        raise
    except Image.DecompressionBombError:
        raise _Unfit(f"{quoted(name)} has more than {MOST_SAMPLES:,} pixels", "save it smaller") from None
    except Exception as error:      # whatever Pillow stumbles over in a file that is damaged
        raise _Unfit(f"{quoted(name)} cannot be read as a {kind} file",
                     "open it in an image editor and save it again") from error


def _one_ink(picture: Image.Image) -> Raster:
    """A picture in levels of gray; one of black and white alone stays line art."""
    if picture.mode == "1":
        return Raster(picture.width, picture.height, 1, picture.tobytes())
    if picture.mode.startswith("I"):        # 16 bits a pixel
        picture = picture.convert("I").point(lambda level: level / 257).convert("L")
    if picture.mode in ("LA", "PA", "RGBA", "RGBa", "La") or "transparency" in picture.info:
        picture = picture.convert("RGBA")
        if picture.getchannel("A").getextrema() != (255, 255):
            picture = _on_white(picture)
    if picture.mode != "L":
        picture = picture.convert("RGB").convert("L", matrix=_REC_709)
    return Raster(picture.width, picture.height, 8, picture.tobytes())


def _on_white(picture: Image.Image) -> Image.Image:
    from PIL import Image
    ground = Image.new("RGBA", picture.size, "white")
    ground.alpha_composite(picture)
    return ground.convert("RGB")
