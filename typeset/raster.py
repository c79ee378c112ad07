"""A picture as it is printed: levels of one ink, nothing of the file it came from."""

from __future__ import annotations

import hashlib
import io
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:       # a book without pictures does without Pillow
    from PIL.Image import Image

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
        from PIL.Image import Transpose
        with self._opened() as picture:
            turned = picture.transpose(Transpose.ROTATE_180)
        return Raster(self.width, self.height, self.bits, turned.tobytes())

    def cut_to(self, shape: float) -> Raster:
        """Its middle, as large as can be at `shape`, its height over its width."""
        width, height = min(self.width, round(self.height / shape)), min(self.height, round(self.width * shape))
        left, top = (self.width - width) // 2, (self.height - height) // 2
        with self._opened() as picture:
            middle = picture.crop((left, top, left + width, top + height))
        return Raster(width, height, self.bits, middle.tobytes())

    def _opened(self) -> Image:
        from PIL.Image import frombytes
        return frombytes("1" if self.bits == 1 else "L", (self.width, self.height), self.samples)

    def png(self) -> bytes:
        """The picture as a PNG file."""
        out = io.BytesIO()
        with self._opened() as picture:
            picture.save(out, "PNG")
        return out.getvalue()
