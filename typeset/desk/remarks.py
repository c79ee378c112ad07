"""An editor's note to themselves beside a puzzle, changed where it stands in the puzzle's file."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from cagework.typeset.desk.asked import Remark
from cagework.typeset.desk.guard import Refused
from cagework.typeset.desk.saving import Change, parsed, read, refusing
from cagework.typeset.faults import quoted
from cagework.typeset.manifest.document import plain_newlines
from cagework.typeset.manifest.keyed import ORDER
from cagework.typeset.manifest.puzzle_files import find_puzzle
from cagework.typeset.manifest.splice import spliced
from cagework.typeset.manifest.values import Unfit, as_text, prose

KEY = "remark"


def remarked(file: Path, asked: Remark) -> Change:
    """The change of a remark, which must be what it was when the page was told it. Raises Refused."""
    raw = read(file)
    with refusing(file.name):
        document = parsed(file, raw)
        found = find_puzzle(document, asked.id)
        if found is None:
            raise Refused(409, f"there is no puzzle {quoted(asked.id)} in {file.name} any more")
        path, keys = found
        if _of(keys) != asked.was.strip():
            raise Refused(409, "the note was changed in the file meanwhile")
        wanted = {key: value for key, value in keys.items() if key != KEY}
        text = plain_newlines(asked.text).strip()
        if text:
            wanted[KEY] = keys[KEY] if prose(text) == _of(keys) else text
        after = spliced(document, raw, path, wanted, ORDER)
        again = find_puzzle(parsed(file, after), asked.id)
    if again is None or _of(again[1]) != (prose(text) if text else ""):
        raise Refused(400, "it would not be read from the file as it is written here")
    return Change(asked.id, {file: (raw, after)})


def _of(keys: Mapping[str, Any]) -> str:
    """What is read as the remark; nothing where it cannot be."""
    text = as_text(keys.get(KEY))
    try:
        return prose(text) if isinstance(text, str) else ""
    except Unfit:
        return ""
