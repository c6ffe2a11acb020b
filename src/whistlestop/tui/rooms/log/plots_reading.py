"""What the plots are drawn from, read in two steps: the days, then the sessions.

The days come from the index and the diary and are quick at any length of log; the
sessions are replayed, so only the newest of them are read, and the number is shown.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Final

from whistlestop.driver.services import Services
from whistlestop.driver.week_targets import fixed_days
from whistlestop.errors import WhistlestopError
from whistlestop.review.amended import local_day
from whistlestop.review.charts import SessionEfforts, session_efforts
from whistlestop.review.days import NOTHING_FIXED, DayBook, DaySpan, FixedDays
from whistlestop.review.items import Filter
from whistlestop.review.numbers import Week, weeks
from whistlestop.review.stations import Bout, bouts_of

MOST_SESSIONS: Final = 200


@dataclass(frozen=True)
class Days:
    """Every day of the log up to today, its weeks in order, and what is fixed."""

    book: DayBook
    weeks: tuple[Week, ...]
    today: date
    first: date
    fixed: FixedDays = NOTHING_FIXED


@dataclass(frozen=True)
class Sessions:
    """The newest recorded sessions, oldest first, and their stations by most work.

    `left_out` counts the older ones, `unread` those that cannot be read.
    """

    efforts: tuple[SessionEfforts, ...]
    stations: tuple[tuple[Bout, ...], ...]
    bouts: tuple[Bout, ...]
    left_out: int = 0
    unread: int = 0


def read_days(services: Services) -> Days:
    """Read the index and the diary.

    Raises:
        StoreError: The log or the diary cannot be read.
    """
    book = services.logbook().book()
    today = services.clock.wall().date()
    known = [*book.trainings, *book.marks, *(s.first for s in book.fully_logged)]
    first = min([*known, today])
    found = weeks(book, DaySpan(first, today)) if known else ()
    return Days(book, found, today, first, fixed_days(services.places))


def read_sessions(
    services: Services, wanted: Filter | None = None, most: int = MOST_SESSIONS
) -> Sessions:
    """Replay the newest sessions that a filter lets through.

    Raises:
        StoreError: The log or the diary cannot be read.
    """
    logbook = services.logbook()
    lines = logbook.done(wanted)
    places = services.library.station_places()
    efforts: list[SessionEfforts] = []
    bouts: list[Bout] = []
    unread = 0
    for line in reversed(lines[:most]):
        try:
            record = logbook.record(line.id)
            day = local_day(record.wall)
        except (WhistlestopError, ValueError):
            unread += 1
            continue
        if any(loop.worked for loop in record.loops):
            efforts.append(session_efforts(record, day))
            bouts += bouts_of(record, day, places)
    return Sessions(
        tuple(efforts),
        stations_of(bouts),
        tuple(bouts),
        left_out=max(0, len(lines) - most),
        unread=unread,
    )


def stations_of(bouts: list[Bout]) -> tuple[tuple[Bout, ...], ...]:
    """The bouts of each exercise that was worked at, most work first."""
    groups: dict[str, list[Bout]] = {}
    for bout in bouts:
        if bout.done_ms:
            groups.setdefault(bout.exercise, []).append(bout)
    ranked = sorted(groups.items(), key=lambda g: (-sum(b.done_ms for b in g[1]), g[0]))
    return tuple(tuple(found) for _, found in ranked)
