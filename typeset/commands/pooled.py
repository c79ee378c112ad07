"""A folder of puzzles as the editor asks for it: its index brought up to date, and printed from."""

from __future__ import annotations

import argparse
import json
import sqlite3
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path

from platformdirs import user_cache_path

from cagework.solver.reasoning.grade import Grade
from cagework.solver.reasoning.techniques import TECHNIQUES
from cagework.typeset.commands.common import not_written, open_crew, report
from cagework.typeset.commands.exits import Exit
from cagework.typeset.commands.picked import pick_and_write, pick_json, pick_summary
from cagework.typeset.commands.terminal import points, print_rows, progress, say_next
from cagework.typeset.faults import ClusterError, Fault, Severity, counted, or_else, quoted
from cagework.typeset.host.disk import name_of
from cagework.typeset.host.locks import TakenError, alone_at
from cagework.typeset.manifest.own import FileKind
from cagework.typeset.pool.ask import RULE_WORDS, Count, Listed, Wanted, counts, listed
from cagework.typeset.pool.index import UNREADABLE, Index, NotAnIndexError
from cagework.typeset.pool.pick import Pick
from cagework.typeset.pool.printed import mark_printed
from cagework.typeset.pool.refresh import Refreshed, refresh
from cagework.typeset.pool.twins import Pair, twins
from cagework.typeset.solving.check import fault_json
from cagework.typeset.words import technique_name


def pool(parsed: argparse.Namespace) -> Exit:
    """Bring the index up to date and print what is asked for."""
    if wrong := tuple(_unknown_names(parsed)):
        report(wrong)
        return Exit.USAGE
    folder: Path = parsed.folder
    if not folder.is_dir():
        report([Fault(folder, "this is not a folder", "name the folder that the puzzles are in")])
        return Exit.UNREADABLE
    file = _index_file(parsed)
    try:
        if file is None:
            return _asked(parsed, None)
        with alone_at(file):
            return _asked(parsed, file)
    except TakenError:
        report([Fault(folder, "another run is looking through this folder at this moment",
                      "run this one again when that has ended")])
    except NotAnIndexError as error:
        report([Fault(file or folder, f"this is no index of puzzles: {error}",
                      "delete it, and it is made anew; or name another with --index")])
    except sqlite3.Error as error:
        report([Fault(file or folder, f"the index cannot be kept: {error}", "name another file with --index")])
    except OSError as error:
        return not_written(error, file or folder)
    return Exit.NOT_WRITTEN


def _index_file(parsed: argparse.Namespace) -> Path | None:
    """Where the index lies; None where nothing is to be kept."""
    if parsed.index is not None:
        return Path(parsed.index)
    if parsed.no_cache:
        return None
    top = parsed.cache or user_cache_path("cagework", appauthor=False)
    return Path(top) / "pools" / f"{name_of(parsed.folder)}.sqlite"


def _asked(parsed: argparse.Namespace, file: Path | None) -> Exit:
    """All that is done with the index at hand."""
    with Index(file) as index:
        try:
            with progress(None) as tick, open_crew(parsed) as crew:
                done = refresh(index, parsed.folder, crew, parsed.seconds, lambda: tick("puzzles"))
        except (KeyboardInterrupt, ClusterError):
            if file is not None:
                print(f"{parsed.folder}: what was found so far is kept", file=sys.stderr)
            raise
        wrong = mark_printed(index, parsed.printed)
        if wrong or _broken_ledger(index):
            report((*wrong, *index.faults(parsed.folder)))
            print("a ledger cannot be read: what was printed is not known", file=sys.stderr)
            return Exit.FAULTS
        if parsed.pick:
            return _pick(index, parsed)
        if parsed.json:
            _print_json(index, parsed)
        else:
            report(_to_say(index, parsed))
            _print_text(index, parsed, done)
            if not parsed.list and not parsed.twins:
                say_next(((*parsed.words, "--list"), "lists them one by one"))
        return _status(index)


def _pick(index: Index, parsed: argparse.Namespace) -> Exit:
    """A pick of the puzzles asked for; the status tells of it alone."""
    def show(picked: Pick) -> None:
        if parsed.json:
            print(pick_json(picked))
        else:
            _print_list(picked.puzzles)
            print(pick_summary(picked))

    report(_to_say(index, parsed))
    return pick_and_write(index, parsed, listed(index, _wanted(parsed)), show)


def _broken_ledger(index: Index) -> bool:
    (found,) = index.one("SELECT EXISTS (SELECT 1 FROM fault JOIN file ON file.id = fault.file "
                         "WHERE file.kind = ? AND severity = 'error')", FileKind.LEDGER)
    return bool(found)


def _to_say(index: Index, parsed: argparse.Namespace) -> Iterable[Fault]:
    """Errors; and warnings where they are asked for, as a pool has the same ones day by day."""
    return (fault for fault in index.faults(parsed.folder) if fault.is_error or parsed.warnings)


def _status(index: Index) -> Exit:
    (unreadable,) = index.one("SELECT EXISTS (SELECT 1 FROM file WHERE kind = ?)", UNREADABLE)
    (wrong,) = index.one("SELECT EXISTS (SELECT 1 FROM fault WHERE severity = 'error') "
                         "OR EXISTS (SELECT 1 FROM puzzle WHERE NOT fit)")
    return Exit.UNREADABLE if unreadable else Exit.FAULTS if wrong else Exit.FINE


def _unknown_names(parsed: argparse.Namespace) -> Iterable[Fault]:
    """What was asked for that there is none of, by the option."""
    known: tuple[tuple[str, Sequence[str], Sequence[str]], ...] = (
        ("grade", parsed.grade, list(Grade)), ("rule", parsed.rule, RULE_WORDS),
        ("idea", parsed.idea, list(TECHNIQUES)), ("without", parsed.without, list(TECHNIQUES)))
    for option, names, choices in known:
        for name in names:
            if name not in choices:
                yield Fault(Path(f"--{option}"), f"there is no {quoted(name)}", or_else(name, choices))
    if parsed.since and not parsed.unprinted:
        yield Fault(Path("--since"), "goes with --unprinted")
    if parsed.build and not parsed.write:
        yield Fault(Path("--build"), "goes with --write")
    if parsed.write and not parsed.pick:
        yield Fault(Path("--write"), "goes with --pick")


def _wanted(parsed: argparse.Namespace) -> Wanted:
    return Wanted(tuple(map(Grade, parsed.grade)), tuple(parsed.size), tuple(parsed.rule), tuple(parsed.by),
                  tuple(parsed.idea), tuple(parsed.without), parsed.sound, parsed.unprinted, parsed.since)


def _print_json(index: Index, parsed: argparse.Namespace) -> None:
    """Puzzle by puzzle, so that no more than one is held."""
    wanted = _wanted(parsed)
    print('{"counts": ', json.dumps([one.as_json() for one in counts(index, wanted)], ensure_ascii=False), sep="")
    pairs = twins(index, parsed.folder, wanted) if parsed.twins else ()
    for name, items in (("puzzles", (one.as_json() for one in listed(index, wanted))),
                        *([("twins", (pair.as_json() for pair in pairs))] if parsed.twins else []),
                        ("faults", (fault_json(one) for one in index.faults(parsed.folder)))):
        print(f', "{name}": [', end="")
        for number, item in enumerate(items):
            print(",\n" if number else "\n", json.dumps(item, ensure_ascii=False), sep="", end="")
        print("]")
    print("}")


def _print_text(index: Index, parsed: argparse.Namespace, done: Refreshed) -> None:
    wanted = _wanted(parsed)
    if parsed.twins:
        print_rows(("puzzle", "place", "is again", "place", "how"),
                   [_pair(one) for one in twins(index, parsed.folder, wanted)], numbers=(), whole=True)
    elif parsed.list:
        _print_list(listed(index, wanted))
    else:
        print_rows(("sort", "name", "puzzles", "sound", *Grade, "printed"),
                   [_sums(one) for one in counts(index, wanted)],
                   numbers=("puzzles", "sound", *Grade, "printed"))
    puzzles, = index.one("SELECT count(*) FROM puzzle")
    files, = index.one("SELECT count(DISTINCT file) FROM puzzle")
    now = f"{counted(done.read, 'file')} read, {counted(done.solved, 'puzzle')} solved"
    warnings, = index.one("SELECT count(*) FROM fault WHERE severity = ?", Severity.WARNING)
    print(f"{parsed.folder}: {counted(puzzles, 'puzzle')} in {counted(files, 'file')}, "
          f"{counted(warnings, 'warning')}; {now}, {done.gone} gone")


def _print_list(puzzles: Iterable[Listed]) -> None:
    print_rows(("puzzle", "place", "size", "rules", "by", "grade", "score", "path", "load", "hardest step",
                "printed"),
               [_row(one) for one in puzzles], numbers=("score", "load"),
               stressed=lambda row: row[5] not in list(Grade), whole=True)


def _row(one: Listed) -> tuple[str, ...]:
    """A line of the list; one that is not sound has its outcome in place of a grade."""
    return (one.id or "?", f"{one.file}:{one.line}", one.extent, " ".join(one.rules), one.by or "",
            one.grade or one.outcome, points(one.score), one.path or "",
            "" if one.load is None else str(one.load), technique_name(one.hardest) if one.hardest else "",
            _printed(one))


def _printed(one: Listed) -> str:
    """Where it was last printed, and how often before."""
    if not one.printed:
        return ""
    date, where = one.printed[-1]
    before = f" (+{len(one.printed) - 1})" if len(one.printed) > 1 else ""
    return f"{date or ''} {where}{before}".strip()


def _pair(pair: Pair) -> tuple[str, ...]:
    one, other = pair.second, pair.first
    return (one.id or "?", f"{one.file}:{one.line}", other.id or "?", f"{other.file}:{other.line}", str(pair.how))


def _sums(one: Count) -> tuple[str, ...]:
    return one.sort, one.name, str(one.puzzles), str(one.sound), *map(str, one.grades), str(one.printed)
