"""The manifest's cover: what its keys say together, and the puzzle that is its artwork."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from types import MappingProxyType

from cagework.typeset.book import Binding, Cover, PressSettings, Standard
from cagework.typeset.entry import Entry
from cagework.typeset.faults import nearest, quoted
from cagework.typeset.manifest.notes import Notes
from cagework.typeset.manifest.pictures import read_picture
from cagework.typeset.manifest.schema import CoverPart
from cagework.typeset.manifest.violations import salvage
from cagework.typeset.trade.binding import papers
from cagework.typeset.trade.registered_conditions import is_known

_USUAL_SIZE = 9


def read_profile(
    top: Notes, standard: Standard, name: str | None, condition: str | None, *at: str,
) -> Path | None:
    """A printing profile's file, beside the manifest; what is wrong with it, or with the condition it is said to
    be for, goes to `top`.
    """
    if standard is Standard.X1A:
        for key, written in (("profile", name), ("condition", condition)):
            if written:
                top.add(top.spot(*at, key), f"PDF/X-1a names its printing condition and takes no {key}",
                        f"leave the {key} out, or set standard: x4")
        return None
    if condition and not is_known(condition):
        top.add(top.spot(*at, "condition"), f"{quoted(condition)} is no printing condition that is registered",
                "write it as the ICC registry does, as FOGRA51, or leave it out: the profile says its own")
    if not name:
        return None
    profile = top.document.file.parent / name
    if not profile.is_file():
        top.add(top.spot(*at, "profile"), f"there is no file {quoted(name)}",
                "the path starts from the manifest's folder")
    return profile


def read_cover(
    top: Notes, book: object, entries: Sequence[Entry], complete: bool, press: PressSettings, widest: float,
) -> Cover | None:
    """The cover, where `book` (as written) has one and there is a puzzle for it; faults go to `top`. `complete`
    says that every puzzle is among `entries`; a page is `widest` mm wide. What single keys got wrong has been
    reported and stands at its default.
    """
    written = book.get("cover") if isinstance(book, dict) else None
    if not isinstance(book, dict) or not isinstance(written, dict):
        return None
    part = salvage(CoverPart, written)
    _check_spine(top, part, written)
    if part.ean5 and not book.get("isbn"):
        top.add(top.spot("book", "cover", "ean5"), "an addition to the barcode needs a barcode",
                "state the book's isbn")
    profile = read_profile(top, press.standard, part.profile, part.condition, "book", "cover")
    if press.standard is Standard.X4 and part.stock is not press.stock and not part.profile:
        top.add(top.spot("book", "cover", "stock"),
                f"the cover is for {part.stock} paper, and the book's profile for {press.stock}",
                "name the cover's own ICC profile under cover, or give it the book's stock")
    picture = read_picture(top, written.get("picture"), widest, "book", "cover", "picture")
    if part.puzzle and "picture" in written:
        top.add(top.spot("book", "cover", "puzzle"), "'puzzle' and 'picture' both say what stands on the front",
                "keep one of them")
    chosen = next((entry for entry in entries if entry.id == part.puzzle), None)
    if part.puzzle and chosen is None and complete:
        near = nearest(part.puzzle, [entry.id for entry in entries])
        top.add(top.spot("book", "cover", "puzzle"), f"there is no puzzle {quoted(part.puzzle)}",
                f"did you mean {near}?" if near else "name one by its id, or leave the key out")
    chosen = chosen or max(entries, key=_fitness, default=None)
    if chosen is None:
        return None
    return Cover(
        chosen.puzzle, part.blurb or "", part.ean5, part.magnification, part.binding, part.stock,
        papers().get(part.paper) if part.paper else part.caliper, part.allowance, part.spine, part.spine_text,
        part.reversed, profile or press.profile, part.condition if part.profile else press.condition,
        MappingProxyType({"cover": top.document.place(top.spot("book", "cover", key=True))} | {
            key: top.document.place(top.spot("book", "cover", key))
            for key in written if key in CoverPart.model_fields}), picture,
    )


def _fitness(entry: Entry) -> tuple[bool, bool, int]:
    """How well a puzzle serves as artwork where none was named: plain, of the usual size, large."""
    return not entry.rules, entry.puzzle.size == _USUAL_SIZE, entry.puzzle.size


def _check_spine(top: Notes, part: CoverPart, written: dict[str, object]) -> None:
    if part.paper and part.caliper:
        top.add(top.spot("book", "cover", "caliper"), "'paper' and 'caliper' both say how thick a leaf is",
                "keep one of them")
    if part.binding is Binding.SADDLE:
        for key in ("spine", "spine_text"):
            if written.get(key):
                top.add(top.spot("book", "cover", key), "a saddle-stitched book has no spine",
                        f"leave {key} out, or bind it perfect")
    elif not written.keys() & {"paper", "caliper", "spine"}:
        top.add(top.spot("book", "cover", key=True), "the width of the spine cannot be told",
                "state the book's paper, the caliper of a leaf, or the spine as the printer gives it, in mm")
