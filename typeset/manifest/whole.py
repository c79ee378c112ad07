"""A whole manifest to a Book: its keys by the model, its sections, what it names, and its words' language."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from itertools import takewhile
from pathlib import Path, PurePath
from typing import Any

from cagework.layouts.load import Layout, layout_path, read_layout, shelf_layout, shelf_names
from cagework.typeset.book import (
    Book,
    Grades,
    IndexBy,
    PageSettings,
    PressSettings,
    Section,
    Standard,
    TextPage,
    pictures_in,
)
from cagework.typeset.entry import Solutions
from cagework.typeset.faults import Severity, UnreadableManifest, counted, listed, nearest, quoted
from cagework.typeset.manifest.cover import read_cover, read_profile
from cagework.typeset.manifest.design import read_design
from cagework.typeset.manifest.document import Writing, YamlDocument
from cagework.typeset.manifest.index import read_index
from cagework.typeset.manifest.nodes import KeyPath, Sequence, Violation
from cagework.typeset.manifest.notes import Notes
from cagework.typeset.manifest.parts import InkPart
from cagework.typeset.manifest.pictures import read_picture
from cagework.typeset.manifest.puzzle_files import (
    Draft,
    Found,
    Reading,
    check_unique,
    entries_of,
    found_puzzle,
    gather,
    read_puzzle_file,
)
from cagework.typeset.manifest.reread import Reread
from cagework.typeset.manifest.schema import BookPart, Manifest, SectionPart
from cagework.typeset.manifest.text_pages import read_text_pages
from cagework.typeset.manifest.violations import findings, salvage
from cagework.typeset.spot import SpotInk
from cagework.typeset.words import base_of, languages
from cagework.typeset.words.as_printed import printed_book
from cagework.typeset.words.catalogue import untranslated
from cagework.typeset.words.copies import copied


def read_manifest(
    document: YamlDocument, data: dict[str, Any], twins_are: Severity, reread: Reread, *, draft: bool,
) -> Reading:
    """The book of a document, or a draft of it, and every fault on the way."""
    listed = data.get("puzzles")
    # Puzzles are checked one by one below; a list of them is left out of the check of the whole.
    shell = findings(Manifest, data | {"puzzles": None} if isinstance(listed, list) else data)
    top, of_puzzles = Notes(document), Notes(document, faults=list(document.faults))
    top.add_findings(shell)
    written = data.get("book")
    part = salvage(BookPart, written if isinstance(written, dict) else {})
    found = [
        found_puzzle(document, ("puzzles", index), item, part.allow_uncaged, reread)
        for index, item in enumerate(listed if isinstance(listed, list) else [])
    ]
    files, complete = _puzzle_files(top, part)
    for file in files:
        try:
            found += read_puzzle_file(reread.document(file), part.allow_uncaged, of_puzzles, reread)
        except UnreadableManifest as error:
            complete = False
            of_puzzles.faults.append(error.fault)
    check_unique(found, twins_are, reread)
    complete = complete and all(one.reading.id for one in found) and not any(map(_hides_puzzles, shell))
    if not found and complete:
        top.add(top.spot("book", key=True), "the book has no puzzles",
                "list them under 'puzzles', or name their files with puzzles_from")
    layout = read_design(top, ("book", "layout"), part.layout, Layout, layout_path, shelf_names(), read_layout)
    press = _read_press(top, part)
    # What pictures have room for; no book is made without a layout.
    widest = layout.trim.width - layout.margins.inside - layout.margins.outside if layout else 1.0
    sections = _read_sections(top, of_puzzles, data.get("sections"), found, complete, part.solutions, layout,
                              widest)
    _check_language(top, part, found)
    _check_ink(top, part.ink, layout)
    own = read_text_pages(top, data.get("pages"), sections, widest)
    every = [one.reading.entry for one in found if one.reading.entry]
    of_book = written if isinstance(written, dict) else {}
    pictures = {key: read_picture(top, of_book.get(key), widest, "book", key) for key in ("picture", "mark")}
    known = complete and len(every) == len(found)
    cover = read_cover(top, written, every, known, press, layout.trim.width if layout else widest)
    shown = part.grades or (Grades(layout.grades) if layout else Grades.MARKS)

    printed = [entry for section in sections for entry in section.entries] if sections is not None else every
    index = read_index(top, of_book.get("index"), printed, shown) if known else ()

    def book_of(layout: Layout, sections: tuple[Section, ...], index: tuple[IndexBy, ...]) -> Book:
        return printed_book(Book(
            part.title, part.subtitle, part.by, part.language, tuple(part.imprint or ()), part.isbn,
            part.introduction, layout, PageSettings(**part.pages.model_dump()), sections, press, cover,
            shown, part.grade_words, own, index, written=_writings(top), short_title=part.short_title,
            answers=part.answers, foot=part.foot,
            picture=pictures["picture"], mark=pictures["mark"], ink=_ink(part.ink),
        ))

    around = replace(top, faults=[*top.faults, *of_puzzles.faults])
    reading = replace(gather(around, found), folders=_folders(
        top, part, data.get("sections"), files, layout, press, own) | {
            picture.file.parent for picture in pictures_in(
                (*pictures.values(), cover.picture if cover else None), sections or (), own)})
    whole = sections or (Section(
        part.title, None, entries_of((one.reading for one in found), part.solutions),
        written=top.writings(("title", "short_title"), "book"), short_title=part.short_title),)
    if layout is None or top.failed or (reading.failed and not draft):
        return reading
    if not reading.failed:
        return replace(reading, book=book_of(layout, whole, index))
    from cagework.typeset.manifest.stand_ins import in_their_places
    puzzles, whole = in_their_places(top, reading.puzzles, whole, data.get("sections"), of_puzzles.faults, files,
                                     part.solutions, reread.whole)
    index = read_index(Notes(document), of_book.get("index"), [
        entry for section in whole for entry in section.entries], shown)
    return replace(reading, draft=Draft(book_of(layout, whole, index), puzzles))


def _folders(
    top: Notes, part: BookPart, sections: object, files: Iterable[Path], layout: Layout | None,
    press: PressSettings, own: Iterable[TextPage],
) -> frozenset[Path]:
    """The folders whose files may change the book: those that patterns look into, though nothing matches yet."""
    home = top.document.file.parent
    layouts = [part.layout, *(item.get("layout") for item in (sections if isinstance(sections, list) else ())
                              if isinstance(item, dict))]
    named = [home / name for name in layouts if isinstance(name, str) and name.endswith(".yaml")]
    named += [page.place_of("text").file for page in own if "text" in page.written]
    named += [*files, *(layout.fonts.values() if layout else ()), *([press.profile] if press.profile else [])]
    looked_into = (home.joinpath(*takewhile(lambda piece: "*" not in piece, PurePath(pattern).parts[:-1]))
                   for pattern in part.puzzles_from or ())
    return frozenset((home, *(file.parent for file in named), *looked_into))


def _ink(part: InkPart | None) -> SpotInk | None:
    if part is None or not (part.name and part.cmyk):
        return None
    cyan, magenta, yellow, black = part.cmyk
    return SpotInk(part.name, (cyan, magenta, yellow, black))


def _check_ink(top: Notes, part: InkPart | None, layout: Layout | None) -> None:
    """Put down that a second ink is too pale for what it is to print."""
    ink = _ink(part)
    pale = "labels" in (layout.second_ink if layout else ()) and ink and ink.darkness < _LEGIBLE
    if ink and (pale or ink.darkness < _VISIBLE):
        top.add(top.spot("book", "ink", "cmyk"),
                f"{quoted(ink.name)} is too pale {'for sums' if pale else 'to see'}",
                "choose a darker ink, or a layout whose second_ink leaves labels out" if pale else
                "choose a darker ink")


_LEGIBLE, _VISIBLE = 0.45, 0.15
_FEW_IDS = 6
"""How dark a second ink is, at the least, that sums are printed in, or anything (common practice)."""


def _writings(top: Notes) -> Mapping[str, Writing]:
    """Where the texts of the book itself stand."""
    of_book = ("title", "short_title", "subtitle", "by", "imprint", "introduction", "layout", "isbn", "press",
               "grade_words")
    blurb = top.writings(("blurb",), "book", "cover")["blurb"]
    return {**top.writings(of_book, "book"), "cover.blurb": blurb}


def _check_language(top: Notes, part: BookPart, found: list[Found]) -> None:
    """Warn where a book would print English for want of words of its own language."""
    spot = top.spot("book", "language")
    if base_of(part.language) not in languages():
        top.add(spot, f"there are no words for {quoted(part.language)}: whatever the book says of itself will be "
                "in English", f"there are words for {listed(languages(), 'and')}", Severity.WARNING)
        return
    copy = copied(part.language)
    if copy is not None:
        top.add(spot, copy.message, "", Severity.WARNING)
    entries = entries_of((one.reading for one in found), part.solutions)
    told = part.pages.first_hints or any(
        entry.rules or entry.solutions is not Solutions.NONE for entry in entries)
    lacking = untranslated(part.language) if told else ()
    if lacking:
        message = f"{counted(len(lacking), 'sentence')} of rules and worked solutions may be in English"
        top.add(spot, message, f"the first without words for {quoted(part.language)} is {quoted(lacking[0])}",
                Severity.WARNING)


def _hides_puzzles(finding: Violation) -> bool:
    """Whether a fault may be why a puzzle is not known, so that its absence is not a fault of its own."""
    keys = ("puzzles", "puzzles_from")
    return finding.path[:1] != ("sections",) and any(nearest(str(key), keys) for key in finding.path[-1:])


def _puzzle_files(top: Notes, part: BookPart) -> tuple[list[Path], bool]:
    """The files that `puzzles_from` matches, each pattern's in order of name, the manifest left out; False
    where a pattern failed.
    """
    files: dict[Path, None] = {}
    whole = True
    listed = isinstance(top.document.find(("book", "puzzles_from")), Sequence)
    for index, pattern in enumerate(part.puzzles_from or ()):
        matches, message, hint = matching_files(pattern, top.document.file)
        files |= dict.fromkeys(matches)
        if message:
            whole = False
            path: KeyPath = ("book", "puzzles_from", index) if listed else ("book", "puzzles_from")
            top.add(top.spot(*path), message, hint)
    return list(files), whole


def matching_files(pattern: str, manifest: Path) -> tuple[list[Path], str, str]:
    """The files a pattern beside a manifest matches, by name, or what is wrong with it and the way out."""
    folder = manifest.parent
    written = PurePath(pattern)
    if written.is_absolute() or not written.parts:
        return [], f"{quoted(pattern)} does not start from the manifest's folder", \
            "write a relative pattern such as puzzles/*.yaml"
    try:
        files = sorted(file for file in folder.glob(pattern) if file.is_file())
    except (ValueError, NotImplementedError, OSError):
        return [], f"{quoted(pattern)} is not a pattern", "write it as puzzles/*.yaml"
    own, home = manifest.resolve(), folder.resolve()
    ends = {file: end for file in files if (end := file.resolve()) != own}
    files = list(ends)
    strays = [file for file, end in ends.items() if not end.is_relative_to(home)]
    if strays and ".." not in written.parts:
        return [], f"{quoted(str(strays[0]))} leads outside the manifest's folder", \
            "write the way out with '..' if it is meant"
    if not files:
        return [], f"no file matches {quoted(pattern)}", "patterns start from the manifest's folder"
    return files, "", ""


def _read_press(top: Notes, part: BookPart) -> PressSettings:
    """What the printed book is to be; a standard and a profile that do not go together are reported."""
    said = part.press
    profile = read_profile(top, said.standard, said.profile, said.condition, "book", "press")
    if profile is None and said.standard is Standard.X4 and not said.profile:
        top.add(top.spot("book", "press", "standard"), "PDF/X-4 needs the printer's ICC profile",
                "name its file under profile, or set standard: x1a")
    stated = "press" in part.model_fields_set
    return PressSettings(**(said.model_dump() | {"profile": profile, "stated": stated}))


def _section_layout(top: Notes, number: int, name: str | None, book: Layout | None) -> Layout | None:
    """A section's own layout; one of another trim than the book's is reported."""
    key = ("sections", number, "layout")
    own = name and read_design(top, key, name, Layout, layout_path, shelf_names(), read_layout)
    if not own or not book:
        return None
    if own.trim != book.trim:
        alike = [other for other in shelf_names() if shelf_layout(other).trim == book.trim]
        top.add(top.spot(*key), f"its pages are {own.trim.width:g} x {own.trim.height:g} mm, those of the book "
                f"{book.trim.width:g} x {book.trim.height:g} mm",
                f"choose a layout of the book's size: {listed(alike)}" if alike else
                "copy the book's layout and change its slots")
    return own


def _ids_there_are(some: list[str]) -> str:
    """A hint that lists some of them."""
    more = [f"{len(some) - _FEW_IDS} more"] if len(some) > _FEW_IDS + 1 else []
    there = listed([*(some[:_FEW_IDS] if more else some), *more], "and")
    return f"sections name puzzles by their ids, which are {there}" if some else "there are no puzzles yet"


def _read_sections(
    top: Notes, of_puzzles: Notes, written: object, found: list[Found], complete: bool, default: Solutions,
    book: Layout | None, widest: float,
) -> tuple[Section, ...] | None:
    """The sections, with the puzzles that could be read; None where the manifest has none. `complete`
    says that every id is known; faults in naming puzzles go to `of_puzzles`; `book` is the book's layout, where
    there is one, and pictures have room to be `widest` mm wide.
    """
    if not isinstance(written, list) or not written:
        return None
    by_id = {one.reading.id: one.reading for one in reversed(found) if one.reading.id is not None}
    taken: dict[str, int] = {}
    meant: set[str] = set()
    sections = []
    readable = True
    for number, item in enumerate(written):
        part = salvage(SectionPart, item if isinstance(item, dict) else {})
        readable = readable and part.puzzles is not None
        listed = []
        for index, name in enumerate(part.puzzles or ()):
            spot = top.spot("sections", number, "puzzles", index)
            if name not in by_id:
                near = nearest(name, by_id)
                if complete:
                    of_puzzles.add(spot, f"there is no puzzle {quoted(name)}",
                                   f"did you mean {near}?" if near else _ids_there_are(sorted(by_id)))
                if near:
                    meant.add(near)
            elif name in taken:
                of_puzzles.add(spot, f"the puzzle {quoted(name)} is in a section already, on line {taken[name]}",
                               "a puzzle stands in one section, once")
            else:
                taken[name] = top.line(spot)
                listed.append(by_id[name])
        entries = entries_of(listed, part.solutions or default)
        picture = item.get("picture") if isinstance(item, dict) else None
        sections.append(Section(
            part.title, part.intro, entries, part.order,
            top.writings(("title", "intro", "short_title"), "sections", number), part.short_title,
            _section_layout(top, number, part.layout, book), part.answers, part.foot,
            read_picture(top, picture, widest, "sections", number, "picture")))
    for one in found if readable else ():
        name = one.reading.id or ""
        if name and name not in taken and name not in meant and by_id[name] is one.reading:
            one.notes.add(one.notes.spot("id"),
                          f"the puzzle {quoted(name)} is in no section, so it is left out",
                          "add it to a section's puzzles", Severity.WARNING)
    return tuple(sections)
