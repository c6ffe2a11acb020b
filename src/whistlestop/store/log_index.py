"""The list of sessions, quickly: a disposable index of the log in the cache folder.

Holds nothing the journals do not hold; any doubt about it ends in a new one, and
where there can be none the journals are read. Refuses to know what is shown of it.

Read of a journal:
  start  wall, scripted, plan (as `Plan.to_json` writes it)
  sum    why, active_ms, elapsed_ms, work_ms, plan_work_ms, efforts, session_effort,
         loops_done; the last one counts
  end    why, unless a later command takes the end back
Where there is no sum, a small fold stands in for it:
  elapsed_ms    the greatest t
  active_ms     the sum of `ms` of all `done` lines: up to the last closed visit
  work_ms       the sum of `ms` of `done` lines whose `kind` is work
  loops_done    how many loops have a last `loop` line that is worked, not partial
  efforts       the last `v` of an `effort` line, for each loop of the plan
  session_effort  the last `v` of a `session_effort` line
  plan_work_ms  from the plan
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import asdict, dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from whistlestop.domain.plan import Kind, Plan
from whistlestop.domain.text import shown
from whistlestop.errors import StoreError
from whistlestop.store.journal_file import (
    SUFFIX,
    Journal,
    list_journals,
    read_journal,
)
from whistlestop.store.journal_line import decode, encode

if TYPE_CHECKING:
    import sqlite3

SCHEMA: Final = 1
FILE_NAME: Final = "log-index.sqlite"
_BUSY_TIMEOUT_S: Final = 1.0
_MOST_LOOPS: Final = 100
_TEXT_LIMIT: Final = 200
_SCHEMA_SQL: Final = (
    "CREATE TABLE session (path TEXT PRIMARY KEY, size INTEGER NOT NULL,"
    " mtime_ns INTEGER NOT NULL, body BLOB NOT NULL) WITHOUT ROWID"
)

Number = int | float


@dataclass(frozen=True, slots=True)
class SessionLine:
    """One session as a list shows it. Times in ms; what is not known is None or 0.

    `wall` is the local start with its offset, `why` the reason it ended (empty
    while it has not), `efforts` one number or None for each loop.
    """

    id: str
    path: Path
    wall: str = ""
    circuit: str = ""
    name: str = ""
    why: str = ""
    active_ms: int = 0
    elapsed_ms: int = 0
    loops: int = 0
    efforts: tuple[Number | None, ...] = ()
    session_effort: Number | None = None
    done_work_ms: int = 0
    plan_work_ms: int = 0
    scripted: bool = False
    problems: int = 0
    finished: bool = False


class LogIndex:
    """Lists the sessions of one log folder; opens the index for each question."""

    def __init__(self, cache_folder: Path, log_folder: Path) -> None:
        """Prepare; nothing is read or made yet."""
        self._file = cache_folder / FILE_NAME
        self._log = log_folder
        self.was_used = False

    def sessions(
        self, *, scripted: bool = False, limit: int | None = None
    ) -> list[SessionLine]:
        """List the sessions, newest first, after looking for changed journals.

        Args:
            scripted: Whether scripted sessions are listed among the others.
            limit: The most to list; all, where it is None.

        Raises:
            StoreError: The log folder is there and cannot be listed.
        """
        lines = self._all()
        if not scripted:
            lines = [line for line in lines if not line.scripted]
        lines.sort(key=lambda line: line.id, reverse=True)
        return lines if limit is None else lines[: max(0, limit)]

    def _all(self) -> list[SessionLine]:
        paths = list_journals(self._log).journals
        self.was_used = False
        try:
            import sqlite3
        except ImportError:
            return [summarise_file(path) for path in paths]
        for _ in range(2):
            try:
                with self._open(sqlite3) as index:
                    lines = _refreshed(index, self._log, paths)
                self.was_used = True
            except sqlite3.Error as error:
                if not _is_broken(sqlite3, error) or not self._remove():
                    break
            except OSError:
                break
            else:
                return lines
        return [summarise_file(path) for path in paths]

    @contextmanager
    def _open(self, sqlite: Any) -> Iterator[sqlite3.Connection]:
        self._file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        index = sqlite.connect(
            self._file, timeout=_BUSY_TIMEOUT_S, isolation_level=None
        )
        try:
            # Of another schema, or none: made anew, in one transaction.
            index.execute("PRAGMA journal_mode=DELETE")
            index.execute("PRAGMA synchronous=OFF")
            index.execute("BEGIN IMMEDIATE")
            (version,) = index.execute("PRAGMA user_version").fetchone()
            if version != SCHEMA:
                _make_anew(index)
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


def summarise(journal: Journal) -> SessionLine:
    """Make the line of one journal. Never raises for what is in it."""
    start = journal.start.fields if journal.start else {}
    plan = start.get("plan")
    plan = plan if isinstance(plan, dict) else {}
    given: dict[str, Any] = {} if journal.end is None else {**journal.end.fields}
    given |= _fold(journal, plan) if journal.sum is None else journal.sum.fields
    efforts = given.get("efforts")
    return SessionLine(
        id=journal.id,
        path=journal.path,
        wall=_text(start.get("wall")),
        circuit=_text(plan.get("circuit")),
        name=_text(plan.get("name")),
        why=_text(given.get("why")),
        active_ms=_whole(given.get("active_ms")),
        elapsed_ms=_whole(given.get("elapsed_ms")),
        loops=_whole(given.get("loops_done")),
        efforts=tuple(map(_number, efforts[:_MOST_LOOPS]))
        if isinstance(efforts, list)
        else (),
        session_effort=_number(given.get("session_effort")),
        done_work_ms=_whole(given.get("work_ms")),
        plan_work_ms=_whole(given.get("plan_work_ms")),
        scripted=start.get("scripted") is True,
        problems=len(journal.problems) + (journal.start is None),
        finished=journal.is_finished,
    )


def _fold(journal: Journal, plan: Mapping[str, Any]) -> dict[str, Any]:
    totals = {"elapsed_ms": 0, "active_ms": 0, "work_ms": 0}
    whole_loops: dict[int, bool] = {}
    efforts: dict[int, Any] = {}
    session_effort = None
    for line in journal.lines:
        values = line.fields
        totals["elapsed_ms"] = max(totals["elapsed_ms"], _whole(values.get("t")))
        loop = _whole(values.get("loop"))
        if line.kind == "done":
            spent_ms = _whole(values.get("ms"))
            totals["active_ms"] += spent_ms
            totals["work_ms"] += spent_ms if values.get("kind") == Kind.WORK else 0
        elif line.kind == "loop":
            whole = values.get("worked") is True and values.get("partial") is False
            whole_loops[loop] = whole
        elif line.kind == "effort":
            efforts[loop] = values.get("v")
        elif line.kind == "session_effort":
            session_effort = values.get("v")
    loops = min(_whole(plan.get("loops")), _MOST_LOOPS)
    return {
        **totals,
        "loops_done": sum(whole_loops.values()),
        "plan_work_ms": _plan_work_ms(plan),
        "efforts": [efforts.get(loop) for loop in range(1, loops + 1)],
        "session_effort": session_effort,
    }


def _plan_work_ms(plan: Mapping[str, Any]) -> int:
    try:
        return Plan.from_json(dict(plan)).work_ms
    except ValueError:
        return 0


def _refreshed(
    index: sqlite3.Connection, log: Path, paths: tuple[Path, ...]
) -> list[SessionLine]:
    """Bring the index up to date and give every line, in no order."""
    known = {
        path: (size, mtime_ns, body)
        for path, size, mtime_ns, body in index.execute(
            "SELECT path, size, mtime_ns, body FROM session"
        )
    }
    lines = []
    for path in paths:
        key = path.relative_to(log).as_posix()
        # Taken before reading: what is appended meanwhile is found next time.
        stamp = _stamp(path)
        row = known.pop(key, None)
        line = None if row is None or row[:2] != stamp else _unpacked(row[2], path)
        if line is None:
            line = summarise_file(path)
            # What could not be read at all may be readable next time, unchanged.
            if stamp is not None and (line.wall or not line.problems):
                index.execute(
                    "REPLACE INTO session VALUES (?, ?, ?, ?)",
                    (key, *stamp, _packed(line)),
                )
        lines.append(line)
    index.executemany("DELETE FROM session WHERE path = ?", [(key,) for key in known])
    return lines


def _stamp(path: Path) -> tuple[int, int] | None:
    try:
        status = path.stat()
    except OSError:
        return None
    return status.st_size, status.st_mtime_ns


def _packed(line: SessionLine) -> bytes:
    """Pack a line as a journal line is: a flipped bit in the index is noticed."""
    values = asdict(line)
    del values["path"]
    return encode({"k": "session", "line": values})


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
    return SessionLine(path=path, **(values | {"efforts": tuple(values["efforts"])}))


def _make_anew(index: sqlite3.Connection) -> None:
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


def _text(value: object) -> str:
    # Journals come from synced folders too: nothing in a list may be hostile.
    return shown(value, _TEXT_LIMIT) if isinstance(value, str) else ""


def _whole(value: object) -> int:
    is_whole = isinstance(value, int) and not isinstance(value, bool)
    return value if is_whole and 0 <= value < 2**53 else 0  # type: ignore[operator,return-value]


def _number(value: object) -> Number | None:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return None
    return value if math.isfinite(value) and 0 <= value <= 10 else None
