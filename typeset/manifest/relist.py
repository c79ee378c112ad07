"""Items of a file's lists moved as they are written, each with the comments that are its own; other bytes stay."""

from __future__ import annotations

from dataclasses import dataclass

from cagework.typeset.manifest.document import YamlDocument
from cagework.typeset.manifest.edits import (
    Edit,
    NotSpliced,
    applied,
    dash_at,
    data_at,
    hold,
    part_at,
    with_value,
)
from cagework.typeset.manifest.extents import Part, extents
from cagework.typeset.manifest.nodes import KeyPath


@dataclass(frozen=True, slots=True)
class Seat:
    """A place in the list at a path, from 0; where something is to go, among the other items."""

    path: KeyPath
    number: int


@dataclass(frozen=True, slots=True)
class _Carried:
    """An item on its way: its text, the whole lines that are its own where it stands in a block, and in which
    column of these its dash is.
    """

    text: str
    lines: str
    column: int


def relisted(document: YamlDocument, raw: bytes, source: Seat | None, goal: Seat | None, name: str) -> bytes:
    """The bytes `raw` of the document's file with an item moved from one place to another.

    Without a `source`, `name` is put in; without a `goal`, the item is taken out. Comments on an item's own line
    and those right above it go with it, but for what stands above the first of a list, which is of the list.
    Raises NotSpliced.
    """
    text = document.text
    root = extents(text)
    if source == goal:
        return raw
    if source and goal and source.path == goal.path and _list_at(root, goal.path).flow:
        edits = _turned(text, _list_at(root, goal.path), source.number, goal.number)
    else:
        carried = _Carried(name, f"- {name}", 0)
        edits = []
        if source:
            carried, edit = _taken(text, _list_at(root, source.path), source.number)
            edits.append(edit)
        if goal:
            gone = source.number if source and source.path == goal.path else None
            edits.append(_put(text, _list_at(root, goal.path), gone, goal.number, carried))
    changed = applied(raw, edits)
    hold(document, changed, _wanted(document, source, goal, name))
    return changed


def _wanted(document: YamlDocument, source: Seat | None, goal: Seat | None, name: str) -> object:
    data: object = document.data
    item: object = name
    if source:
        items = list(_items(data, source.path))
        item = items.pop(source.number)
        data = with_value(data, source.path, items)
    if goal:
        items = list(_items(data, goal.path))
        items.insert(goal.number, item)
        data = with_value(data, goal.path, items)
    return data


def _items(data: object, path: KeyPath) -> list[object]:
    found = data_at(data, path)
    if not isinstance(found, list):
        raise NotSpliced("this is not written as a list")
    return found


def _list_at(root: Part, path: KeyPath) -> Part:
    part = part_at(root, path)
    if part.kind != "list" or not part.parts:
        raise NotSpliced("this is not written as a list")
    if part.anchor:
        raise NotSpliced(f"the list is marked &{part.anchor}, for use elsewhere in the file: change it there")
    return part


def _turned(text: str, part: Part, source: int, goal: int) -> list[Edit]:
    """The items of a list in brackets in another order; lines, commas and blanks between them stay."""
    _refuse_comments(text, part)
    order = list(part.parts)
    order.insert(goal, order.pop(source))
    return [Edit(old.start, old.end, text[new.start:new.end])
            for old, new in zip(part.parts, order, strict=True) if old is not new]


def _taken(text: str, part: Part, number: int) -> tuple[_Carried, Edit]:
    item = part.parts[number]
    if len(part.parts) == 1:
        raise NotSpliced("nothing would be left of it")
    if part.flow:
        _refuse_comments(text, part)
        last = number == len(part.parts) - 1
        start, end = (part.parts[number - 1].end, item.end) if last else (item.start, part.parts[number + 1].start)
        written = text[item.start:item.end]
        return _Carried(written, f"- {written}", 0), Edit(start, end, "")
    start, end = _own_lines(text, part, number)
    dash = dash_at(text, part, number)
    carried = _Carried(text[item.start:item.end], text[start:end], dash - text.rfind("\n", 0, dash) - 1)
    if start:       # with the newline before: what is put in after it comes to stand there
        return carried, Edit(start - 1, end, "")
    return carried, Edit(0, min(len(text), end + 1), "")


def _put(text: str, part: Part, gone: int | None, number: int, carried: _Carried) -> Edit:
    """Put an item in after so many of those that stay."""
    others = [one for one in range(len(part.parts)) if one != gone]
    if part.flow:
        _refuse_comments(text, part)
        if "\n" in carried.lines or "#" in carried.lines:
            raise NotSpliced("a comment of its own goes with it, for which there is no room in brackets")
        if number:
            at = part.parts[others[number - 1]].end
            return Edit(at, at, ", " + carried.text)
        at = part.parts[others[0]].start
        return Edit(at, at, carried.text + ", ")
    dash = dash_at(text, part, 0)
    lines = _shifted(carried.lines, carried.column, dash - text.rfind("\n", 0, dash) - 1)
    if number:
        at = _own_lines(text, part, others[number - 1])[1]
        return Edit(at, at, "\n" + lines)
    at = _own_lines(text, part, others[0])[0]
    return Edit(at, at, lines + "\n")


def _own_lines(text: str, part: Part, number: int) -> tuple[int, int]:
    """Where the lines of an item of a block list begin and end, without the last newline: with comments right
    above it, but for the first item, and with those below it that are further in.
    """
    dash = dash_at(text, part, number)
    start = text.rfind("\n", 0, dash) + 1
    column = dash - start
    if text[start:dash].strip():
        raise NotSpliced("it does not begin on a line of its own")
    if number:
        above = text.rfind("\n", 0, max(0, start - 1)) + 1
        while above < start and _is_comment(text, above) and _indent(text, above) <= column:
            start, above = above, text.rfind("\n", 0, max(0, above - 1)) + 1
    end = _line_end(text, part.parts[number].end)
    while end < len(text) and _is_comment(text, end + 1) and _indent(text, end + 1) > column:
        end = _line_end(text, end + 1)
    return start, end


def _is_comment(text: str, at: int) -> bool:
    return text[at:_line_end(text, at)].lstrip().startswith("#")


def _indent(text: str, at: int) -> int:
    line = text[at:_line_end(text, at)]
    return len(line) - len(line.lstrip())


def _line_end(text: str, at: int) -> int:
    end = text.find("\n", at)
    return end if end >= 0 else len(text)


def _shifted(lines: str, old: int, new: int) -> str:
    """Lines further in or out by as much as the dash of their list is."""
    def shifted(line: str) -> str:
        if new > old:
            return " " * (new - old) + line if line.strip() else line
        return line[min(old - new, len(line) - len(line.lstrip(" "))):]

    return "\n".join(map(shifted, lines.split("\n")))


def _refuse_comments(text: str, part: Part) -> None:
    """Between brackets nothing tells to which item a comment belongs."""
    ends = [part.start, *(one.end for one in part.parts)]
    starts = [*(one.start for one in part.parts), part.end]
    if any("#" in text[end:start] for end, start in zip(ends, starts, strict=True)):
        raise NotSpliced("there are comments between its brackets, which would come to stand beside others: "
                         "move it in the file")
