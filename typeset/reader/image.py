"""What lies in an image: what its data say of themselves, and samples of its colours (ISO 32000-1, 8.9)."""

from __future__ import annotations

import io
import struct
import zlib
from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Any

from PIL import Image, ImageChops, ImageStat
from pypdf.generic import StreamObject

from cagework.typeset import raster
from cagework.typeset.reader.colour import Colour, Inks, Space
from cagework.typeset.reader.keys import each, look, numbers

MOST_SAMPLES = 1 << 28
"""Samples an image may have: A0 in four inks at 300 ppi is 550 million, which no press takes in one piece."""

MOST_BYTES = raster.MOST_SAMPLES
"""Bytes, unpacked, up to which an image's inks are measured; a larger one would cost more memory than it tells."""

_LOOKED_AT = 1 << 17
"""Pixels looked at, evenly spaced, at the most."""

_TINY = 4096
"""Distinct colours evaluated one by one, the most frequent first."""

_SOF = frozenset({0xC0, 0xC1, 0xC2, 0xC3, 0xC5, 0xC6, 0xC7, 0xC9, 0xCA, 0xCB, 0xCD, 0xCE, 0xCF})
_ENUMERATED = {12: 4, 16: 3, 17: 1, 18: 3}
"""Colour spaces a JPEG 2000 file numbers -> colours: CMYK, sRGB, gray, YCC (ISO 15444-1, annex I.5.3.3; 12 from
ISO 15444-2)."""


def filter_names(stream: Any) -> list[str]:
    """The filters of a stream, first to last."""
    named = look(stream, "/Filter")
    return [str(named)] if isinstance(named, str) else [str(name) for name in each(named)]


def packed(image: Any) -> bytes:
    """A stream's bytes as they lie in the file; empty where that is not known."""
    return bytes(getattr(image, "_data", b"") or b"") if isinstance(image, StreamObject) else b""


def own_colours(image: Any) -> int | None:
    """How many colours a JPEG or JPEG 2000 image has by its own word; None for other kinds."""
    names = filter_names(image)
    if not names or not set(names[:-1]) <= {"/FlateDecode"} or len(names) > 2:
        return None
    data = _unwrapped(image, names)
    match names[-1]:
        case "/DCTDecode" | "/DCT":
            return _jpeg_colours(data)
        case "/JPXDecode":
            return _jpx_colours(data)
    return None


def _unwrapped(image: Any, names: Sequence[str]) -> bytes:
    data = packed(image)
    if len(names) == 2 and names[0] == "/FlateDecode":
        return zlib.decompressobj().decompress(data, MOST_BYTES)
    return data


def _jpeg_colours(data: bytes) -> int | None:
    at = 2
    while data[:2] == b"\xff\xd8" and at + 9 < len(data):
        if data[at] != 0xFF:
            return None
        if data[at + 1] in _SOF:
            return data[at + 9]
        at += 2 + struct.unpack(">H", data[at + 2:at + 4])[0] if data[at + 1] != 0xFF else 1
    return None


def _jpx_colours(data: bytes) -> int | None:
    box = data.find(b"colr", 0, 4096)
    if box >= 0 and data[box + 4:box + 5] == b"\1":
        return _ENUMERATED.get(int.from_bytes(data[box + 7:box + 11]))
    sizes = data.find(b"\xff\x51")          # the codestream's own SIZ segment (ISO 15444-1, A.5.1)
    return int.from_bytes(data[sizes + 38:sizes + 40]) if sizes >= 0 and len(data) > sizes + 40 else None


def image_flaw(image: Any) -> str:
    """What is wrong with an image's build; empty where nothing is."""
    width, height = look(image, "/Width"), look(image, "/Height")
    bits = look(image, "/BitsPerComponent", 1)
    if not isinstance(width, (int, float)) or not isinstance(height, (int, float)) or min(width, height) < 1:
        return "it has no width or height"
    if width * height > MOST_SAMPLES:
        return f"{int(width)} x {int(height)} pixels are more than can be looked into"
    if bits not in (1, 2, 4, 8, 16) and "/JPXDecode" not in filter_names(image):
        return f"{bits} bits for each colour are none of 1, 2, 4, 8 or 16"
    return ""


def ink_shares(image: Any, space: Space) -> Mapping[Inks, float]:
    """Which inks an image holds -> the share of its pixels, by samples; empty where it cannot be told.

    An image too large, or packed in a way that is not looked into (fax, JBIG2, JPEG 2000), gives nothing.
    """
    if not space.count or image_flaw(image):
        return {}
    bits = 1 if look(image, "/ImageMask", False) else int(look(image, "/BitsPerComponent", 8))
    width, height = int(look(image, "/Width")), int(look(image, "/Height"))
    if (width * space.count * bits + 7) // 8 * height > MOST_BYTES:
        return {}
    try:
        pixels = _sampled(image, space.count, bits, width, height)
    except Exception:       # a picture that cannot be unpacked has no inks to tell
        return {}
    seen = Counter(pixels)
    most = 255 if bits in (8, 16) else (1 << bits) - 1
    decode = numbers(look(image, "/Decode"))
    found: Counter[Inks] = Counter()
    for pixel, count in seen.most_common(_TINY):
        inks = Colour(space, _decoded(pixel, most, decode, space)).inks
        if inks is not None:
            found[inks] += count
    total = sum(seen.values())
    return {inks: count / total for inks, count in found.items()}


def is_exact(image: Any) -> bool:
    """Whether an image's packing loses nothing of it."""
    return not set(filter_names(image)) & {"/DCTDecode", "/DCT", "/JPXDecode"}


def levels(image: Any, space: Space) -> tuple[int, int, bytes] | None:
    """A grey image's width, height and levels from 0 (black) to 255, row after row from the top; None where it is
    in colour, masked, too large, or packed in a way that is not looked into (JBIG2, JPEG 2000).
    """
    masked = look(image, "/Mask") is not None or look(image, "/ImageMask", False) is True
    coloured = space.family in ("Separation", "DeviceN") and space.names != ("Black",)
    if image_flaw(image) or masked or coloured or _of_colours(space):
        return None
    width, height = int(look(image, "/Width")), int(look(image, "/Height"))
    bits, names = int(look(image, "/BitsPerComponent", 8)), filter_names(image)
    if width * height * max(space.count, 1) > MOST_BYTES:
        return None
    try:
        if names and names[-1] in ("/DCTDecode", "/DCT"):
            with Image.open(io.BytesIO(_unwrapped(image, names))) as packed_picture:
                picture = packed_picture.copy() if packed_picture.size == (width, height) else None
        elif names == ["/CCITTFaxDecode"]:
            with Image.open(io.BytesIO(image.get_data())) as fax:     # in the TIFF that pypdf wraps round it
                picture = fax.convert("1") if fax.size == (width, height) else None
        else:
            mode = {(1, 1): "1", (1, 8): "L", (3, 8): "RGB", (4, 8): "CMYK"}[space.count, bits]
            data = _unpacked(image, names, (width * space.count * bits + 7) // 8 * height)
            picture = Image.frombytes(mode, (width, height), data)
        grey = picture and _grey(picture)
        return (width, height, _through(grey, image, space, bits)) if grey else None
    except Exception:       # a picture that cannot be unpacked is none of ours
        return None


def _of_colours(space: Space) -> bool:
    """Whether a table's entries are more than levels."""
    return space.family == "Indexed" and (space.base is None or space.base.count != 1)


def _grey(picture: Image.Image) -> Image.Image | None:
    """A picture in one ink; None where it is in colour."""
    bands = picture.split()
    if picture.mode == "CMYK":
        return None if any(band.getextrema() != (0, 0) for band in bands[:3]) else ImageChops.invert(bands[3])
    if picture.mode == "RGB" and any(
            ImageStat.Stat(ImageChops.difference(bands[0], band)).extrema[0][1] > _NEUTRAL for band in bands[1:]):
        return None
    return bands[0].convert("L")


def _through(grey: Image.Image, image: Any, space: Space, bits: int) -> bytes:
    """Levels as the image's own map and space have them, each of them one value."""
    data = grey.tobytes()
    decode = numbers(look(image, "/Decode"))
    if space.count != 1 or (space.family in ("DeviceGray", "CalGray", "ICCBased") and decode in ((), (0.0, 1.0))):
        if decode and any(low != 0 or high != 1 for low, high in zip(decode[::2], decode[1::2], strict=True)):
            raise ValueError("another map than the plain one")
        return data
    most = 255 if bits == 8 else 1
    table = bytearray(256)
    for value in set(data):
        pixel = (value if bits == 8 else value & 1,)
        total = Colour(space, _decoded(pixel, most, decode, space)).total
        if total is None:
            raise ValueError("a colour that is not known")
        table[value] = round(255 * (1 - min(1.0, total)))
    return data.translate(bytes(table))


_NEUTRAL = 6
"""Levels by which the parts of a grey may lie apart: packing with losses leaves traces of colour."""


def _decoded(pixel: Sequence[int], most: int, decode: Sequence[float], space: Space) -> tuple[float, ...]:
    if space.family == "Indexed" and not decode:
        return tuple(map(float, pixel))
    if len(decode) != 2 * len(pixel):
        return tuple([value / most for value in pixel])
    return tuple([low + value * (high - low) / most
                  for value, low, high in zip(pixel, decode[::2], decode[1::2], strict=True)])


def _sampled(image: Any, colours: int, bits: int, width: int, height: int) -> list[tuple[int, ...]]:
    """Pixels as numbers, evenly spaced."""
    names = filter_names(image)
    if names and names[-1] in ("/DCTDecode", "/DCT"):
        data, width = _from_jpeg(_unwrapped(image, names), colours)
        row = width * colours
        bits = 8
    else:
        data = _unpacked(image, names, (width * colours * bits + 7) // 8 * height)
        row = (width * colours * bits + 7) // 8
    if bits == 16:
        data, row, bits = data[::2], row // 2, 8
    lines = range(0, len(data) // row, max(1, width * height // _LOOKED_AT))
    found: list[tuple[int, ...]] = []
    for line in lines:
        values: Sequence[int] = data[line * row:(line + 1) * row]
        if bits < 8:
            mask = (1 << bits) - 1
            values = [byte >> shift & mask for byte in values for shift in range(8 - bits, -1, -bits)]
        values = values[:width * colours]
        found += zip(*(values[n::colours] for n in range(colours)), strict=False)
    return found


def _from_jpeg(data: bytes, colours: int) -> tuple[bytes, int]:
    with Image.open(io.BytesIO(data)) as picture:
        if len(picture.getbands()) != colours:
            raise ValueError("another number of colours")
        picture.draft(picture.mode, (512, 512))
        raw = picture.tobytes()
        if picture.mode == "CMYK":      # Pillow turns four-colour pictures over, as one maker's are to be read
            raw = bytes(raw).translate(bytes(range(255, -1, -1)))
        return raw, picture.width


def _unpacked(image: Any, names: Sequence[str], most: int) -> bytes:
    """An image's samples as bytes, no more than there should be."""
    parms = look(image, "/DecodeParms")
    parms = (each(parms) or [parms])[-1]
    predictor = int(look(parms, "/Predictor", 1))
    if names == ["/FlateDecode"] and predictor < 2:
        return zlib.decompressobj().decompress(packed(image), most)
    if names == ["/FlateDecode"] and predictor >= 10:
        return _as_png(packed(image), parms, look(image, "/Height"))
    if not names and not isinstance(image, StreamObject):
        return bytes(look(image, "data", b""))
    return bytes(image.get_data())[:most]


def _as_png(data: bytes, parms: Any, height: Any) -> bytes:
    """Flate with PNG's predictors is what a PNG file holds, so PNG's own reader takes them off."""
    colours, bits = int(look(parms, "/Colors", 1)), int(look(parms, "/BitsPerComponent", 8))
    kind = {1: 0, 3: 2, 4: 6}[colours]
    if bits != 8:
        raise ValueError("only whole bytes")

    def chunk(name: bytes, body: bytes) -> bytes:
        return struct.pack(">I", len(body)) + name + body + struct.pack(">I", zlib.crc32(name + body))

    header = struct.pack(">IIBBBBB", int(look(parms, "/Columns", 1)), int(height), bits, kind, 0, 0, 0)
    png = b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", data) + chunk(b"IEND", b"")
    with Image.open(io.BytesIO(png)) as picture:
        return bytes(picture.tobytes())
