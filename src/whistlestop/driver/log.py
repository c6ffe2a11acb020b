"""The log of one home as recorded: the list of sessions, and one read back."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from functools import cached_property
from typing import TYPE_CHECKING

from whistlestop.domain.owner import OWNER
from whistlestop.engine.clock import Clock
from whistlestop.errors import StoreError, UsageError
from whistlestop.store.places import Places

if TYPE_CHECKING:
    from whistlestop.domain.plan.pairing import Company
    from whistlestop.domain.plan.plan import Plan
    from whistlestop.driver.diary_cache import DiaryCache
    from whistlestop.review.record import SessionRecord
    from whistlestop.store.journal.heartbeat import Beat
    from whistlestop.store.journal.index import LogIndex, SessionLine


class LogService:
    """Sessions as recorded. What the diary says of them is laid on by a logbook."""

    def __init__(self, places: Places, clock: Clock) -> None:
        """Prepare; nothing is read yet."""
        self.places = places
        self.clock = clock

    @cached_property
    def _index(self) -> LogIndex:
        from whistlestop.store.journal.index import LogIndex

        return LogIndex(self.places.cache, self.places.log, self.places.state)

    @cached_property
    def diary_cache(self) -> DiaryCache:
        """The diary as last read; a logbook looks whether that still stands."""
        from whistlestop.driver.diary_cache import DiaryCache
        from whistlestop.store.diary.file import diary_path

        return DiaryCache(diary_path(self.places.log))

    def sessions(
        self,
        *,
        scripted: bool = False,
        limit: int | None = None,
        since: date | None = None,
    ) -> list[SessionLine]:
        """Sessions in the log as recorded, newest first; see `LogIndex.sessions`."""
        return self._index.sessions(scripted=scripted, limit=limit, since=since)

    def is_free_of(self, ending: str, since: date) -> bool:
        """Whether no session since a day ended in this way; scripted ones do not count.

        A start asks this, so what was read before is not read again: see `stop_free`.

        Raises:
            StoreError: The log folder is there and cannot be listed.
        """
        from whistlestop.store.journal.file import least_name
        from whistlestop.store.journal.stop_free import StopFreeJournals, may_name

        known = StopFreeJournals(self.places.cache, self.places.log)
        # Taken before reading: what is appended meanwhile is found next time.
        stamps = known.stamps(least_name(since))
        new = known.not_covered(stamps)
        if any(may_name(path, ending) for path in new):
            lines = self.sessions(scripted=True, since=since)
            if any(line.why == ending and not line.scripted for line in lines):
                return False
            read = {line.path for line in lines if line.is_readable}
            stamps = {path: stamps[path] for path in stamps if path in read}
        if new:
            known.save(stamps.values())
        return True

    def save_lines(self, lines: Sequence[SessionLine]) -> None:
        """Save what replays gave, so that they need not be made again."""
        self._index.save(lines)

    def record(
        self, session_id: str, *, scripted: bool = False, athlete: str = OWNER
    ) -> SessionRecord:
        """Read one session back, as one athlete's; `last` is the newest.

        Raises:
            UsageError: There is no such session.
            StoreError: Its journal cannot be read.
        """
        from whistlestop.review.record import read_record
        from whistlestop.store.journal.file import (
            is_session_id,
            journal_path,
            read_journal,
        )

        if session_id == "last":
            newest = self.sessions(scripted=scripted, limit=1)
            if not newest:
                raise UsageError("the log holds no session yet")
            path, session_id = newest[0].path, newest[0].id
        else:
            if not is_session_id(session_id):
                raise UsageError(
                    "that is no session id", "`log` lists them; `last` is the newest"
                )
            path = journal_path(self.places.log, session_id)
        journal = read_journal(path)
        beat = None if journal.is_finished else self.last_beat(session_id)
        try:
            return read_record(
                [line.fields for line in journal.lines],
                session_id=session_id,
                problems=journal.problems,
                athlete=athlete,
                beat=beat,
            )
        except ValueError as error:
            raise StoreError(f"session {session_id} cannot be read: {error}") from None

    def as_fit(self, session_id: str) -> tuple[str, bytes]:
        """One session as recorded, as FIT; `last` is the newest.

        Returns:
            Its id and the contents of the file.

        Raises:
            UsageError: There is no such session, it is not over, or nothing was done.
            StoreError: Its journal cannot be read.
        """
        from whistlestop.review.exchange.fit import fit_bytes
        from whistlestop.review.record import replay_lines
        from whistlestop.store.journal.file import journal_path, read_journal

        record = self.record(session_id)
        if not record.finished:
            raise UsageError("that session is not over", "resume it, or end it first")
        try:
            begin = datetime.fromisoformat(record.wall)
        except ValueError:
            raise StoreError(f"session {record.id} has no time of its start") from None
        begin = begin if begin.tzinfo else begin.astimezone()
        journal = read_journal(journal_path(self.places.log, record.id))
        replayed = replay_lines([line.fields for line in journal.lines])
        session = replayed.engine.for_athlete(OWNER)
        return record.id, fit_bytes(session, session_id=record.id, begin=begin)

    def last_beat(self, session_id: str) -> Beat | None:
        """Until when a session was seen on this machine; None where none is known.

        Only of one that runs or was interrupted: the end takes its heartbeat away.
        """
        from whistlestop.store.journal.heartbeat import read_heartbeat

        return read_heartbeat(self.places.state, session_id)

    def last_plan(self) -> tuple[Plan, Company]:
        """The plan of the last session that was no script, and who trained along.

        Raises:
            UsageError: There is none.
        """
        last = self.record("last")
        return last.plan, last.company
