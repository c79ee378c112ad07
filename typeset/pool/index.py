"""What is known of a folder's puzzles, in one SQLite file that may be deleted at any time.

It is derived from the folder alone. What it holds of a file was read from the bytes whose hash stands beside it.
"""

from __future__ import annotations

import json
import sqlite3
import zlib
from collections.abc import Iterable, Iterator
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path
from types import TracebackType
from typing import Any

from cagework.typeset.entry import Place
from cagework.typeset.faults import Fault, Severity

UNREADABLE = "unreadable"
"""The kind of a file that is no YAML, or none that could hold puzzles."""

_APPLICATION = 0x63616765
"""Tells our files from other programs' (sqlite.org/pragma.html#pragma_application_id): `cage`."""
_PATIENCE = 5.0
"""Seconds to wait for another program that reads the file."""

_TABLES = """
CREATE TABLE meta (version TEXT NOT NULL, run INTEGER NOT NULL);
CREATE TABLE file (
    id INTEGER PRIMARY KEY, path TEXT NOT NULL UNIQUE, hash TEXT NOT NULL, run INTEGER NOT NULL,
    patterns TEXT NOT NULL DEFAULT '[]', ledger TEXT, uncaged INTEGER NOT NULL DEFAULT 0,
    read_hash TEXT, read_uncaged INTEGER, kind TEXT);
CREATE TABLE puzzle (
    id INTEGER PRIMARY KEY, file INTEGER NOT NULL REFERENCES file ON DELETE CASCADE, place INTEGER NOT NULL,
    name TEXT, title TEXT, by TEXT, folded TEXT, line INTEGER NOT NULL, col INTEGER NOT NULL,
    size INTEGER, extent TEXT, cages INTEGER, uncaged INTEGER, key TEXT,
    outcome TEXT, seconds REAL, grade TEXT, score REAL, near TEXT, path TEXT, load INTEGER, steps INTEGER,
    hardest TEXT, why TEXT, fit INTEGER NOT NULL DEFAULT 0);
CREATE INDEX puzzles_of_file ON puzzle (file, place);
CREATE INDEX puzzles_by_key ON puzzle (key);
CREATE TABLE idea (puzzle INTEGER NOT NULL REFERENCES puzzle ON DELETE CASCADE, name TEXT NOT NULL,
    PRIMARY KEY (puzzle, name)) WITHOUT ROWID;
CREATE TABLE rule (puzzle INTEGER NOT NULL REFERENCES puzzle ON DELETE CASCADE, name TEXT NOT NULL,
    PRIMARY KEY (puzzle, name)) WITHOUT ROWID;
CREATE TABLE fault (
    file INTEGER NOT NULL REFERENCES file ON DELETE CASCADE, puzzle INTEGER REFERENCES puzzle ON DELETE CASCADE,
    solving INTEGER NOT NULL, line INTEGER NOT NULL, col INTEGER NOT NULL, source TEXT NOT NULL,
    message TEXT NOT NULL, hint TEXT NOT NULL, severity TEXT NOT NULL, span INTEGER NOT NULL);
CREATE INDEX faults_of_file ON fault (file);
CREATE INDEX faults_of_puzzle ON fault (puzzle);
CREATE TABLE printing (key TEXT NOT NULL, date TEXT, place TEXT NOT NULL,
    file INTEGER REFERENCES file ON DELETE CASCADE);
CREATE INDEX printings_by_key ON printing (key);
CREATE INDEX printings_of_file ON printing (file);
"""
"""`file.hash` is what is there, `read_hash` what was read; `patterns` name the files whose puzzles a manifest
allows cells in no cage, `uncaged` says that one names this file; `ledger` is that of a series, where it lies
outside the folder. A printing without a `file` is one that this run was told of. A puzzle without an `outcome` is
still to be solved; `seconds` is the time allowed that cut a finding short; `fit` says that it is sound and has no
error.
"""
_FORM = zlib.crc32(_TABLES.encode()) >> 1
"""Stands for the form above; an index of another is made anew."""


class NotAnIndexError(Exception):
    """The file is another program's, or damaged."""


@dataclass(frozen=True, slots=True)
class StaleFile:
    """A file to be read: its number, its path in the folder, the hash of what is there, and whether it has changed
    since it was read, or only has puzzles that are not solved.
    """

    id: int
    path: str
    hash: str
    uncaged: bool
    changed: bool


class Index:
    """An open index. `Index(None)` lies in a temporary file that is gone once it is closed.

    Raises NotAnIndexError, and OSError where the file cannot be made.
    """

    def __init__(self, file: Path | None) -> None:
        if file is not None:
            file.parent.mkdir(parents=True, exist_ok=True)
        try:
            self._base = sqlite3.connect(file or "", timeout=_PATIENCE, isolation_level=None)
        except sqlite3.OperationalError as error:
            raise OSError(0, str(error), str(file)) from error
        try:
            self._open()
        except sqlite3.OperationalError as error:
            self._base.close()
            raise OSError(0, str(error), str(file)) from error
        except (sqlite3.DatabaseError, NotAnIndexError) as error:
            self._base.close()
            raise NotAnIndexError(str(error)) from error

    def _open(self) -> None:
        (owner,), (form,) = self.one("PRAGMA application_id"), self.one("PRAGMA user_version")
        (tables,) = self.one("SELECT count(*) FROM sqlite_master")
        if tables and owner != _APPLICATION:
            raise NotAnIndexError("another program's")
        self._base.execute("PRAGMA journal_mode = WAL")       # what is committed outlives a kill
        self._base.execute("PRAGMA synchronous = NORMAL")
        if tables and form != _FORM:
            for (name,) in list(self.all("SELECT name FROM sqlite_master WHERE type = 'table'")):
                self._base.execute(f"DROP TABLE {name}")
            tables = 0
        if not tables:
            made = f"PRAGMA application_id = {_APPLICATION}; PRAGMA user_version = {_FORM};"
            self._base.executescript(f"BEGIN; {_TABLES} INSERT INTO meta VALUES ('', 0); {made} COMMIT;")
        self._base.execute("PRAGMA foreign_keys = ON")

    def __enter__(self) -> Index:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None,
                 trace: TracebackType | None) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        self._base.close()

    @contextmanager
    def change(self) -> Iterator[None]:
        """Make changes all at once, or none where one fails."""
        self._base.execute("BEGIN IMMEDIATE")
        try:
            yield
        except BaseException:
            with suppress(sqlite3.Error):
                self._base.execute("ROLLBACK")
            raise
        self._base.execute("COMMIT")

    def all(self, query: str, *values: object) -> sqlite3.Cursor:
        """The rows that answer a query, one by one."""
        return self._base.execute(query, values)

    def one(self, query: str, *values: object) -> tuple[Any, ...]:
        """The first row that answers a query which has one."""
        row: tuple[Any, ...] = self._base.execute(query, values).fetchone()
        return row

    def begin_run(self, version: str) -> None:
        """Start a look at the folder; where another version of the code read it last, all is to be read again."""
        if self.one("SELECT version FROM meta") != (version,):
            self._base.execute("UPDATE file SET read_hash = NULL, hash = ''")
        self._base.execute("UPDATE meta SET version = ?, run = run + 1", (version,))

    def note_file(self, path: str, hash: str) -> bool:
        """Put down that a file is there, with this content; return whether it was not there like that before."""
        before = self._base.execute("SELECT hash FROM file WHERE path = ?", (path,)).fetchone()
        self._base.execute(
            "INSERT INTO file (path, hash, run) SELECT ?, ?, run FROM meta WHERE true "
            "ON CONFLICT (path) DO UPDATE SET hash = excluded.hash, run = excluded.run", (path, hash))
        return bool(before != (hash,))

    def note_patterns(self, path: str, patterns: Iterable[str]) -> None:
        """Put down the files whose puzzles a manifest allows cells in no cage."""
        self._base.execute("UPDATE file SET patterns = ? WHERE path = ?", (json.dumps(list(patterns)), path))

    def note_ledger(self, path: str, ledger: Path | None) -> None:
        """Put down the ledger of a series, where it lies outside the folder."""
        self._base.execute("UPDATE file SET ledger = ? WHERE path = ?", (ledger and str(ledger), path))

    def forget_gone(self) -> int:
        """Forget the files that this run has not met; return how many they are."""
        return self._base.execute("DELETE FROM file WHERE run <> (SELECT run FROM meta)").rowcount

    def patterns(self) -> list[tuple[str, str]]:
        """The manifests that allow cells in no cage, each with one of its patterns."""
        rows = self.all("SELECT path, patterns FROM file WHERE patterns <> '[]'")
        return [(path, pattern) for path, patterns in rows for pattern in json.loads(patterns)]

    def allow_uncaged(self, paths: Iterable[str]) -> None:
        """Let the puzzles of these files, and of no others, have cells in no cage."""
        self._base.execute("UPDATE file SET uncaged = 0")
        self._base.executemany("UPDATE file SET uncaged = 1 WHERE path = ?", [(path,) for path in paths])

    def next_stale(self, after: str, seconds: float) -> StaleFile | None:
        """The next file in the order of paths that has changed, or has puzzles which `seconds` may decide."""
        row = self._base.execute(
            "SELECT id, path, hash, uncaged, hash IS NOT read_hash OR uncaged IS NOT read_uncaged AS changed "
            "FROM file WHERE path > ? AND (changed OR EXISTS (SELECT 1 FROM puzzle WHERE file = file.id AND "
            "(outcome IS NULL OR seconds < ?))) ORDER BY path LIMIT 1", (after, seconds)).fetchone()
        return row and StaleFile(row[0], row[1], row[2], bool(row[3]), bool(row[4]))

    def unsolved(self, file: int, seconds: float) -> dict[int, int]:
        """Place in the file -> number of each puzzle still to be solved, or to be given more time."""
        return dict(self.all("SELECT place, id FROM puzzle WHERE file = ? AND (outcome IS NULL OR seconds < ?)",
                             file, seconds))

    def put_file(self, file: StaleFile, kind: str) -> None:
        """Forget what was read of a file, and put down what it is now."""
        for table in ("fault", "printing", "puzzle"):
            self._base.execute(f"DELETE FROM {table} WHERE file = ?", (file.id,))
        self._base.execute("UPDATE file SET kind = ?, ledger = NULL, read_hash = ?, read_uncaged = ? WHERE id = ?",
                           (kind, file.hash, file.uncaged, file.id))

    def put(self, table: str, **values: object) -> int:
        """Add a row, and return its number."""
        marks = ", ".join("?" * len(values))
        done = self._base.execute(f"INSERT INTO {table} ({', '.join(values)}) VALUES ({marks})",
                                  tuple(values.values()))
        return done.lastrowid or 0

    def put_names(self, table: str, puzzle: int, names: Iterable[str]) -> None:
        """The rules or ideas of a puzzle, in place of those it had."""
        self._base.execute(f"DELETE FROM {table} WHERE puzzle = ?", (puzzle,))
        self._base.executemany(f"INSERT INTO {table} VALUES (?, ?)", [(puzzle, name) for name in {*names}])

    def put_faults(self, faults: Iterable[Fault], file: int, puzzle: int | None, *, solving: bool = False) -> None:
        """Put down faults of a file, or of one puzzle of it; `solving` brought them to light or reading did."""
        for one in faults:
            self.put("fault", file=file, puzzle=puzzle, solving=solving, line=one.line, col=one.column,
                     source=one.source, message=one.message, hint=one.hint, severity=one.severity.value,
                     span=one.span)

    def settle(self, puzzle: int, **found: object) -> None:
        """Put down what solving found of a puzzle; faults of an earlier try are forgotten."""
        self._base.execute("DELETE FROM fault WHERE puzzle = ? AND solving", (puzzle,))
        self._base.execute(f"UPDATE puzzle SET {', '.join(f'{name} = ?' for name in found)} WHERE id = ?",
                           (*found.values(), puzzle))

    def faults(self, folder: Path) -> Iterator[Fault]:
        """All faults, by file and line; `folder` is what paths start from."""
        rows = self.all("SELECT path, line, col, source, message, hint, severity, span FROM fault "
                        "JOIN file ON file.id = fault.file ORDER BY path, line, col, fault.rowid")
        for path, line, col, source, message, hint, severity, span in rows:
            where = Place(folder / path, line, col, source) if line else folder / path
            yield Fault(where, message, hint, Severity(severity), span)
