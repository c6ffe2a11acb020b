"""The list of sessions, quickly: a disposable index of the log in the cache folder.

Holds nothing the journals do not hold; any doubt about it ends in a new one, and
where there can be none the journals are read. Refuses to know what a line says of a
session (`store.session_line`) and what is shown of it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import asdict, fields
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from whistlestop.errors import StoreError
from whistlestop.files import make_file, make_folder
from whistlestop.store.journal.file import (
    SUFFIX,
    least_name,
    list_journals,
    read_journal,
)
from whistlestop.store.journal.heartbeat import heartbeat_path, heartbeats
from whistlestop.store.journal.line import decode, encode
from whistlestop.store.journal.session_line import SessionLine, summarise

if TYPE_CHECKING:
    import sqlite3

__all__ = ["FILE_NAME", "SCHEMA", "LogIndex", "SessionLine", "summarise"]

SCHEMA: Final = 5
FILE_NAME: Final = "log-index.sqlite"
_BUSY_TIMEOUT_S: Final = 1.0
_SCHEMA_SQL: Final = (
    "CREATE TABLE session (path TEXT PRIMARY KEY, size INTEGER NOT NULL,"
    " mtime_ns INTEGER NOT NULL, body BLOB NOT NULL) WITHOUT ROWID"
)


class LogIndex:
    """Lists the sessions of one log folder; opens the index for each question."""

    def __init__(
        self, cache_folder: Path, log_folder: Path, state_folder: Path | None = None
    ) -> None:
        """Prepare; nothing is read or made yet.

        Args:
            cache_folder: Where the index lies.
            log_folder: Where the journals lie.
            state_folder: Where heartbeats lie. A session that has one is read again
                whenever that beats: what was made of it says until when it went.
        """
        self._file = cache_folder / FILE_NAME
        self._log = log_folder
        self._state = state_folder
        self._unpacked: dict[str, tuple[bytes, SessionLine]] = {}
        self.was_used = False

    def sessions(
        self,
        *,
        scripted: bool = False,
        limit: int | None = None,
        since: date | None = None,
    ) -> list[SessionLine]:
        """List the sessions, newest first, after looking for changed journals.

        Args:
            scripted: Whether scripted sessions are listed among the others.
            limit: The most to list; all, where it is None.
            since: The first day wanted, wherever on Earth; earlier journals are
                not looked at. Some of the day before may be among them.

        Raises:
            StoreError: The log folder is there and cannot be listed.
        """
        lines = self._all("" if since is None else least_name(since))
        if not scripted:
            lines = [line for line in lines if not line.scripted]
        lines.sort(key=lambda line: line.id, reverse=True)
        return lines if limit is None else lines[: max(0, limit)]

    def save(self, lines: Sequence[SessionLine]) -> None:
        """Save what a replay made of journals whose figures are not exact.

        Nothing is kept of a journal that changed since it was listed, or where the
        index cannot be written: the next reader replays again.
        """
        try:
            import sqlite3
        except ImportError:
            return
        beats = self._beats()
        with suppress(sqlite3.Error, OSError), self._open(sqlite3) as index:
            for line in lines:
                key = line.path.relative_to(self._log).as_posix()
                stamp = _stamp(line.path, beats)
                index.execute(
                    "UPDATE session SET body = ? WHERE path = ? AND size = ?"
                    " AND mtime_ns = ?",
                    (_packed(line), key, *(stamp or (-1, -1))),
                )

    def _all(self, first: str) -> list[SessionLine]:
        paths = list_journals(self._log, first).journals
        self.was_used = False
        try:
            import sqlite3
        except ImportError:
            return [summarise_file(path) for path in paths]
        for _ in range(2):
            try:
                with self._open(sqlite3) as index:
                    lines = self._refreshed(index, paths, first)
                self.was_used = True
            except sqlite3.Error as error:
                if not _is_broken(sqlite3, error) or not self._remove():
                    break
            except OSError:
                break
            else:
                return lines
        return [summarise_file(path) for path in paths]

    def _refreshed(
        self, index: sqlite3.Connection, paths: tuple[Path, ...], first: str
    ) -> list[SessionLine]:
        """Bring the index up to date and give every line, in no order.

        `first` is the least name of a journal that is looked at.
        """
        known = {
            path: (size, mtime_ns, body)
            for path, size, mtime_ns, body in index.execute(
                "SELECT path, size, mtime_ns, body FROM session WHERE path >= ?",
                (f"{first[:4]}/{first}" if first else "",),
            )
        }
        lines = []
        beats = self._beats()
        for path in paths:
            key = path.relative_to(self._log).as_posix()
            # Taken before reading: what is appended meanwhile is found next time.
            stamp = _stamp(path, beats)
            row = known.pop(key, None)
            line = None
            if row is not None and row[:2] == stamp:
                line = self._line_of(key, row[2], path)
            if line is None:
                line = summarise_file(path)
                # What could not be read at all may be readable next time, unchanged.
                if stamp is not None and line.is_readable:
                    index.execute(
                        "REPLACE INTO session VALUES (?, ?, ?, ?)",
                        (key, *stamp, _packed(line)),
                    )
            lines.append(line)
        index.executemany(
            "DELETE FROM session WHERE path = ?", [(key,) for key in known]
        )
        return lines

    def _beats(self) -> dict[str, Path]:
        """The heartbeats that are there, by the name of the journal they belong to."""
        if self._state is None:
            return {}
        ids = heartbeats(self._state)
        return {f"{one}{SUFFIX}": heartbeat_path(self._state, one) for one in ids}

    def _line_of(self, key: str, body: object, path: Path) -> SessionLine | None:
        """Unpack a row, or give what the same bytes gave before."""
        before = self._unpacked.get(key)
        if before is not None and before[0] == body:
            return before[1]
        line = _unpacked(body, path)
        if line is not None and isinstance(body, bytes):
            self._unpacked[key] = (body, line)
        return line

    @contextmanager
    def _open(self, sqlite: Any) -> Iterator[sqlite3.Connection]:
        make_folder(self._file.parent)
        # Left to itself sqlite makes it for everybody to read.
        make_file(self._file)
        index = sqlite.connect(
            self._file, timeout=_BUSY_TIMEOUT_S, isolation_level=None
        )
        try:
            # Of another schema, or none: rebuilt, in one transaction.
            index.execute("PRAGMA journal_mode=DELETE")
            index.execute("PRAGMA synchronous=OFF")
            index.execute("BEGIN IMMEDIATE")
            (version,) = index.execute("PRAGMA user_version").fetchone()
            if version != SCHEMA:
                _rebuild(index)
            yield index
            index.execute("COMMIT")
        finally:
            index.close()

    def _remove(self) -> bool:
        """Remove the index, its rollback journal first; False if that fails."""
        journal = self._file.with_name(f"{self._file.name}-journal")
        try:
            journal.unlink(missing_ok=True)
            self._file.unlink(missing_ok=True)
        except OSError:
            return False
        return True


def summarise_file(path: Path) -> SessionLine:
    """Summarise one journal; one that cannot be read is a line with a problem."""
    try:
        return summarise(read_journal(path))
    except StoreError:
        return SessionLine(path.name.removesuffix(SUFFIX), path, problems=1)


def _stamp(path: Path, beats: Mapping[str, Path]) -> tuple[int, int] | None:
    try:
        status = path.stat()
    except OSError:
        return None
    latest = status.st_mtime_ns
    if beats and (beat := beats.get(path.name)) is not None:
        with suppress(OSError):
            latest = max(latest, beat.stat().st_mtime_ns)
    return status.st_size, latest


def _packed(line: SessionLine) -> bytes:
    """Pack a line as a journal line is: a flipped bit in the index is noticed."""
    values = asdict(line)
    del values["path"]
    return encode({"k": "session", "line": values})


_LISTS: Final = ("efforts", "loop_work_ms", "exercises", "kit")
_FIELDS: Final = frozenset(f.name for f in fields(SessionLine)) - {"path"}


def _unpacked(body: object, path: Path) -> SessionLine | None:
    if not isinstance(body, bytes):
        return None
    found = decode(body)
    values = found.fields.get("line")
    if found.state != "ok" or not isinstance(values, dict) or set(values) != _FIELDS:
        return None
    if values["id"] != path.name.removesuffix(SUFFIX):
        return None
    lists = {name: tuple(values[name]) for name in _LISTS}
    lists["discomforts"] = tuple(tuple(each) for each in values["discomforts"])
    return SessionLine(path=path, **(values | lists))


def _rebuild(index: sqlite3.Connection) -> None:
    tables = index.execute("SELECT name FROM sqlite_master WHERE type = 'table'")
    for (name,) in tables.fetchall():
        index.execute('DROP TABLE "{}"'.format(name.replace('"', '""')))
    index.execute(_SCHEMA_SQL)
    index.execute(f"PRAGMA user_version = {SCHEMA}")


def _is_broken(sqlite: Any, error: sqlite3.Error) -> bool:
    """Whether the file is to blame, and not the disk or another process."""
    code = getattr(error, "sqlite_errorcode", None)
    primary = code & 0xFF if isinstance(code, int) else None
    return primary not in {
        sqlite.SQLITE_BUSY,
        sqlite.SQLITE_LOCKED,
        sqlite.SQLITE_READONLY,
        sqlite.SQLITE_FULL,
        sqlite.SQLITE_IOERR,
    }
