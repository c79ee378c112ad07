"""The manifest's cover: what its keys say together, and the puzzle that is its artwork."""

from __future__ import annotations

from collections.abc import Sequence
from types import MappingProxyType

from cagework.typeset.book import Binding, Cover, Entry
from cagework.typeset.faults import nearest, quoted
from cagework.typeset.manifest.notes import Notes
from cagework.typeset.manifest.schema import CoverPart
from cagework.typeset.manifest.violations import salvage
from cagework.typeset.trade.binding import papers

_USUAL_SIZE = 9


def read_cover(top: Notes, book: object, entries: Sequence[Entry], complete: bool) -> Cover | None:
    """The cover, where `book` (as written) has one and there is a puzzle for it; faults go to `top`. `complete`
    says that every puzzle is among `entries`. What single keys got wrong has been reported and stands at its
    default.
    """
    written = book.get("cover") if isinstance(book, dict) else None
    if not isinstance(book, dict) or not isinstance(written, dict):
        return None
    part = salvage(CoverPart, written)
    _check_spine(top, part, written)
    if part.ean5 and not book.get("isbn"):
        top.add(top.spot("book", "cover", "ean5"), "an addition to the barcode needs a barcode",
                "state the book's isbn")
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
        part.reversed,
        MappingProxyType({"cover": top.document.place(top.spot("book", "cover", key=True))} | {
            key: top.document.place(top.spot("book", "cover", key))
            for key in written if key in CoverPart.model_fields}),
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
