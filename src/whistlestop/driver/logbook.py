"""The log as it stands now: journals, with the diary laid over them.

Owns which sessions are read from the index and which are replayed, and what is left
out because it was deleted. Refuses to write, to print, and to do sums.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from functools import cached_property
from typing import TYPE_CHECKING, Final

from whistlestop.dataclass import dataclass
from whistlestop.errors import StoreError, UsageError
from whistlestop.review.amended import (
    amended_line,
    amended_record,
    instant,
    line_of,
    local_day,
    training_of_line,
    version_lines,
)
from whistlestop.review.days import DayBook, DaySpan, Training
from whistlestop.review.diary import Diary, DiaryEntry, book_of
from whistlestop.review.entered import line_of_entry, record_of_entry
from whistlestop.review.items import Filter, LogItem, item_of_entry, item_of_line
from whistlestop.store.diary.copies import DiaryWithCopies
from whistlestop.store.journal.index import SessionLine

if TYPE_CHECKING:
    from whistlestop.driver.library import LibraryService
    from whistlestop.driver.log import LogService
    from whistlestop.review.record import SessionRecord
    from whistlestop.review.stations import Bout

LEAST_SHOWN: Final = 10
LEAST_BLANKS: Final = 7
LOOK_BACK_DAYS: Final = 28
MONTH_DAYS: Final = 31
_WINDOWS_DAYS: Final = (MONTH_DAYS, 4 * MONTH_DAYS, 16 * MONTH_DAYS)


@dataclass(frozen=True, slots=True)
class AmendedSession:
    """A session as it stands, as it was recorded, and how the one became the other.

    `versions` are sentences, one an amendment, those undone among them.
    """

    record: SessionRecord
    recorded: SessionRecord
    versions: tuple[str, ...]
    is_removed: bool


class Logbook:
    """The log at one moment: the diary is read once, when it is first needed."""

    def __init__(self, log: LogService, library: LibraryService) -> None:
        """Prepare; nothing is read yet."""
        self._log = log
        self._library = library

    @cached_property
    def lines(self) -> DiaryWithCopies:
        """The lines of the diary as found, those of its conflict copies among them.

        Raises:
            StoreError: It cannot be read.
        """
        return self._log.diary_cache.lines()

    @cached_property
    def diary(self) -> Diary:
        """The state of the diary.

        Raises:
            StoreError: It cannot be read, or is of a later format.
        """
        return self._log.diary_cache.diary(self.lines)

    @property
    def problems(self) -> tuple[str, ...]:
        """What is wrong with the diary, in sentences."""
        of_file = self.lines.problems
        return tuple(f"diary, {each}" for each in (*of_file, *self.diary.problems))

    @property
    def today(self) -> date:
        """The present day, where the athlete is."""
        return self._log.clock.wall().date()

    def sessions(
        self,
        *,
        scripted: bool = False,
        removed: bool = False,
        since: date | None = None,
    ) -> list[SessionLine]:
        """Recorded sessions as they stand, newest first.

        Args:
            scripted: Whether scripted ones are among them.
            removed: Whether deleted ones are among them.
            since: The first day wanted.

        Raises:
            StoreError: The log cannot be listed, or the diary cannot be read.
        """
        found = self._log.sessions(scripted=scripted, since=since)
        kept = [
            line
            for line in found
            if (removed or line.id not in self.diary.removed)
            and (since is None or _is_since(line, since))
        ]
        return [amended_line(line, self.diary) for line in self._exact(kept)]

    def done(
        self, wanted: Filter | None = None, *, since: date | None = None
    ) -> list[SessionLine]:
        """Every session that counts, newest first: recorded, or entered afterwards.

        Try-outs do not count. Figures of sessions and the coach rest on this.

        Args:
            wanted: Which of them; all, where it is None.
            since: The first day wanted, where the filter has none.

        Raises:
            StoreError: As `sessions`.
        """
        wanted = wanted or Filter()
        since = wanted.since or since
        entered = [
            line_of_entry(entry.id, entry.values)
            for entry in self._entries(since=since, removed=False)
            if entry.kind == "session"
        ]
        recorded = [x for x in self.sessions(since=since) if not x.is_try_out]
        found = [*recorded, *entered]
        if not wanted.is_empty:
            found = [x for x in found if wanted.takes(item_of_line(x, self.diary))]
        return sorted(found, key=_moment_and_id, reverse=True)

    def items(
        self,
        wanted: Filter | None = None,
        *,
        scripted: bool = False,
        removed: bool = False,
    ) -> list[LogItem]:
        """All that stands in the log and passes the filter, newest first.

        Raises:
            StoreError: As `sessions`.
        """
        wanted = wanted or Filter()
        lines = self.sessions(scripted=scripted, removed=removed, since=wanted.since)
        entries = self._entries(since=wanted.since, removed=removed)
        every = [
            *(item_of_line(line, self.diary) for line in lines),
            *(item_of_entry(entry) for entry in entries),
        ]
        kept = [item for item in every if wanted.takes(item)]
        return sorted(kept, key=lambda item: item.order, reverse=True)

    def recent(
        self, *, scripted: bool = False, removed: bool = False
    ) -> tuple[list[LogItem], bool]:
        """The items of the last month, or the newest ten where they are fewer.

        Returns:
            The items, newest first, and whether there may be earlier ones. Only as
            much of the log is looked at as that takes.
        """
        for days in _WINDOWS_DAYS:
            since = self.today - timedelta(days=days - 1)
            found = self.items(Filter(since=since), scripted=scripted, removed=removed)
            if len(found) >= LEAST_SHOWN:
                month = self.today - timedelta(days=MONTH_DAYS - 1)
                return found[: newest(found, month)], True
        found = self.items(scripted=scripted, removed=removed)
        month = self.today - timedelta(days=MONTH_DAYS - 1)
        count = newest(found, month)
        return found[:count], count < len(found)

    def _entries(self, *, since: date | None, removed: bool) -> list[DiaryEntry]:
        every = self.diary.entries.values() if removed else self.diary.present
        if since is None:
            return list(every)
        first = since.isoformat()
        return [entry for entry in every if _last_day(entry) >= first]

    def entry(self, entry_id: str) -> DiaryEntry | None:
        """An entry of the diary by its id; removed ones too."""
        return self.diary.entries.get(entry_id)

    def last_id(self, *, scripted: bool = False) -> str:
        """The id of the newest session that is not deleted.

        Raises:
            UsageError: There is none.
        """
        for line in self._log.sessions(scripted=scripted):
            if line.id not in self.diary.removed:
                return line.id
        raise UsageError("no sessions yet")

    def shown(self, session_id: str, *, scripted: bool = False) -> AmendedSession:
        """One session as it stands, with every version; `last` is the newest.

        Raises:
            UsageError: There is no such session.
            StoreError: Its journal cannot be read.
        """
        if session_id == "last":
            session_id = self.last_id(scripted=scripted)
        if (entered := self._entered(session_id)) is not None:
            return entered
        recorded = self._log.record(session_id)
        versions = self.diary.amendments.get(session_id, ())
        return AmendedSession(
            amended_record(recorded, self.diary),
            recorded,
            tuple(version_lines(versions)),
            session_id in self.diary.removed,
        )

    def _entered(self, entry_id: str) -> AmendedSession | None:
        """An entered session as one; None where it is none, or has no plan."""
        entry = self.entry(entry_id)
        if entry is None or entry.kind != "session":
            return None
        try:
            record = record_of_entry(entry.id, entry.values)
            first = record_of_entry(entry.id, entry.versions[0].values)
        except ValueError as error:
            raise StoreError(f"entry {entry_id} cannot be read: {error}") from None
        if record is None or first is None:
            return None
        versions = tuple(version_lines(entry.versions, made=True))
        return AmendedSession(record, first, versions, not entry.is_present)

    def record(self, session_id: str, *, scripted: bool = False) -> SessionRecord:
        """One session as it stands; `last` is the newest.

        Raises:
            UsageError, StoreError: As `shown`.
        """
        return self.shown(session_id, scripted=scripted).record

    def trainings(self, *, since: date | None = None) -> tuple[Training, ...]:
        """Recorded sessions as trainings, newest first; no entries of the diary.

        Those without any work, scripted, deleted, or of an unknown day are not
        among them.
        """
        found = []
        for line in self.sessions(since=since):
            try:
                training = training_of_line(line)
            except ValueError:
                continue
            if training is not None:
                found.append(training)
        return tuple(found)

    def book(self, *, since: date | None = None) -> DayBook:
        """All that is known by day, from a day on; the diary's part is always whole.

        Raises:
            StoreError: As `sessions`.
        """
        return book_of(self.diary, self.trainings(since=since), self.today)

    def has_years_before(self, day: date) -> bool:
        """Whether sessions of a year before a day's are there, by the folders alone."""
        log = self._log.places.log
        years = [path.name for path in log.iterdir()] if log.is_dir() else []
        return any(len(name) == 4 and name < f"{day.year}" for name in years)

    def asks_of_blanks(self) -> bool:
        """Whether to ask how blank days count: some are, and nothing is stated yet.

        Looked at are the four weeks before today, from the log's first day on; a week
        of them has to be blank, so that a log that was just begun is left in peace.
        """
        if any(entry.kind == "blanks" for entry in self.diary.present):
            return False
        since = self.today - timedelta(days=LOOK_BACK_DAYS)
        book = self.book(since=since)
        first = max(since, book.first_day or self.today)
        span = DaySpan(first, max(first, self.today - timedelta(days=1)))
        return sum(day.is_open for day in book.days(span)) >= LEAST_BLANKS

    def bouts(self, lines: Iterable[SessionLine]) -> tuple[Bout, ...]:
        """Every station of some sessions as done, by replay: some 10 ms a session.

        A journal that cannot be replayed is left out; `verify` names it.
        """
        from whistlestop.review.stations import bouts_of

        places = self._library.station_places()
        found: list[Bout] = []
        for line in lines:
            try:
                record = self.record(line.id)
                found += bouts_of(record, local_day(record.wall), places)
            except (StoreError, UsageError, ValueError):
                continue
        return tuple(found)

    def _exact(self, lines: Sequence[SessionLine]) -> list[SessionLine]:
        """The lines, by replay where a journal has no sum or is damaged.

        What a replay gave is kept in the index: neither the journal nor its
        heartbeat says anything else.
        """
        replayed = {
            line.id: self._replayed(line)
            for line in lines
            if not line.is_exact and line.wall
        }
        if made := [line for line in replayed.values() if line.is_exact]:
            self._log.save_lines(made)
        return [replayed.get(line.id, line) for line in lines]

    def _replayed(self, line: SessionLine) -> SessionLine:
        try:
            return line_of(self._log.record(line.id), line)
        except StoreError:
            return line


def _moment_and_id(line: SessionLine) -> tuple[str, str]:
    return instant(line.wall), line.id


def _last_day(entry: DiaryEntry) -> str:
    values = entry.values
    # How blank days count has no last day: it is of the day it begins on.
    return str(values.get("day") or values.get("last") or values["first"])


def _is_since(line: SessionLine, since: date) -> bool:
    try:
        return local_day(line.wall) >= since
    except ValueError:
        return True  # to be named to a person, wherever it belongs


def newest(items: Sequence[LogItem], since: date, least: int = LEAST_SHOWN) -> int:
    """How many of some items, newest first, are of a day on, or `least` if more."""
    recent = sum(item.last_day is not None and item.last_day >= since for item in items)
    return min(len(items), max(recent, least))
