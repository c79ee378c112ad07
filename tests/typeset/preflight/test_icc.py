"""What is read of an ICC profile by itself."""

from __future__ import annotations

from collections.abc import Callable

from PIL import ImageCms

from cagework.typeset.reader.icc import profile_flaw


def test_a_profile_cut_off_anywhere_is_said_to_be(icc: Callable[..., bytes]) -> None:
    """One that LittleCMS made is whole, and one by hand; the first four bytes are the size (ICC.1, 7.2.2)."""
    srgb = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    for whole in (srgb, icc(b"made from FOGRA52\0")):
        assert profile_flaw(whole) == ""
        for length in (0, 3, 90, 127, 131, 140, len(whole) // 2, len(whole) - 1):
            assert profile_flaw(whole[:length]).startswith("it is cut off"), length
        for length, said in ((len(whole) - 1, "it is cut off: a tag"), (143, "its list"), (132, "its list")):
            assert profile_flaw(length.to_bytes(4) + whole[4:length]).startswith(said), length
