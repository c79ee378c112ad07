"""A picture as it is printed: levels of one ink, nothing of the file it came from."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, field

MOST_SAMPLES = 1 << 26
"""Pixels a picture may have: an A4 page at 600 ppi has half as many, and more would cost more than it shows."""


@dataclass(frozen=True, slots=True)
class Raster:
    """`width` x `height` pixels, row after row from the top, each row of whole bytes: a byte a pixel from 0
    (black) to 255 (paper), or where `bits` is 1 a bit a pixel, 1 being paper (DeviceGray of ISO 32000-1, 8.6.4.2).
    """

    width: int
    height: int
    bits: int
    samples: bytes = field(repr=False)

    @property
    def digest(self) -> str:
        """A name that its content alone decides."""
        head = f"{self.width} {self.height} {self.bits} ".encode()
        return hashlib.sha256(head + self.samples).hexdigest()[:16]

    def half_turned(self) -> Raster:
        """The same picture upside down."""
        from PIL import Image
        mode = "1" if self.bits == 1 else "L"
        with Image.frombytes(mode, (self.width, self.height), self.samples) as picture:
            turned = picture.transpose(Image.Transpose.ROTATE_180)
        return Raster(self.width, self.height, self.bits, turned.tobytes())

    def png(self) -> bytes:
        """The picture as a PNG file."""
        import io

        from PIL import Image
        out = io.BytesIO()
        with Image.frombytes("1" if self.bits == 1 else "L", (self.width, self.height), self.samples) as picture:
            picture.save(out, "PNG")
        return out.getvalue()
