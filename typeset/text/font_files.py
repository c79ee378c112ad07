"""Whether a font file is one that can be measured, drawn and embedded: what an editor names may be any file."""

from __future__ import annotations

from pathlib import Path

from reportlab.pdfbase.ttfonts import TTFont

from cagework.typeset.text.fonts import Face

_HINT = "give a TrueType (glyf) file"
_KINDS = {
    b"OTTO": "is an OpenType font with PostScript (CFF) outlines, which cannot be embedded",
    b"wOFF": "is a web font (WOFF), which cannot be embedded",
    b"wOF2": "is a web font (WOFF2), which cannot be embedded",
    b"ttcf": "is a collection of several faces",
}
"""What a file's first bytes say of it (OpenType 1.9, "Organization of an OpenType font"; W3C, WOFF 1.0, 2.0)."""

_NEEDED = "0123456789ABCDEFG"
"""What grids and page numbers are set in."""


def unfit(name: str, file: Path) -> tuple[str, str] | None:
    """What is wrong with the font file of a face, and the way out; None where nothing is."""
    try:
        with file.open("rb") as opened:
            kind = opened.read(4)
        if kind in _KINDS:
            return f"'{file.name}' {_KINDS[kind]}", _HINT
        face = Face(name, file)
        lacking = face.lacks(_NEEDED)
        TTFont(f"tried-{face.digest}", str(file))
    except Exception as error:      # the readers of fonts raise whatever they stumble on
        said = str(error).strip("'\"") or type(error).__name__
        return f"'{file.name}' cannot be read as a TrueType font ({said})", _HINT
    if lacking:
        return f"'{file.name}' has no {lacking[0]}, which grids and page numbers need", "give a face that has it"
    return None
