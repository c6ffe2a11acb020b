"""What changed over a period, read from the log; and what a change is measured by."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from contextlib import suppress
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, Final

from whistlestop.coach.context import TARGET, DayWishes
from whistlestop.coach.history import asked_of
from whistlestop.driver.week_targets import day_wishes, own_targets
from whistlestop.errors import ProblemsFound, WhistlestopError
from whistlestop.review.amended import local_day
from whistlestop.review.days import DaySpan
from whistlestop.review.items import Filter
from whistlestop.review.what_changed import (
    PeriodChanges,
    SessionDone,
    days_before,
    session_done,
    what_changed,
)

if TYPE_CHECKING:
    from whistlestop.driver.services import Services
    from whistlestop.review.record import SessionRecord

CHANGE_DAYS: Final = 84


def change_span(today: date, wanted: Filter) -> DaySpan:
    """The period asked for: up to today, and twelve weeks, where a filter has none."""
    last = wanted.until or today
    first = wanted.since or last - timedelta(days=CHANGE_DAYS - 1)
    return DaySpan(min(first, last), last)


def read_changes(services: Services, wanted: Filter, span: DaySpan) -> PeriodChanges:
    """Compare the sessions of a period that a filter lets through.

    Sessions that cannot be read are left out; `log verify` names them.

    Raises:
        StoreError: The log or the diary cannot be read.
    """
    logbook = services.logbook()
    reach = replace(wanted, since=days_before(span).first, until=span.last)
    records: list[SessionRecord] = []
    for line in logbook.done(reach):
        try:
            records.append(logbook.record(line.id))
        except WhistlestopError:
            continue
    return changes_of(services, records, span)


def changes_of(
    services: Services, records: Iterable[SessionRecord], span: DaySpan
) -> PeriodChanges:
    """Compare records as they stand: those of a period and of as many days before."""
    places, drills = services.library.station_places(), services.library.drills()
    sessions: list[SessionDone] = []
    for record in records:
        with suppress(ValueError):  # a day that cannot be read
            day = local_day(record.wall)
            sessions.append(session_done(record, day, places, drills))
    asked = asked_by(services, sessions)
    target = target_effort(services, span.last)
    return what_changed(sessions, span, target, asked, log_first(services))


def log_first(services: Services) -> date | None:
    """The day of the first session in the log; None where there is none."""
    for line in reversed(services.logbook().done()):
        with suppress(ValueError):
            return local_day(line.wall)
    return None


def asked_by(
    services: Services, sessions: Iterable[SessionDone]
) -> Mapping[str, Mapping[str, int]]:
    """What each exercise that was done asks of each site, 1 or 2."""
    own = services.library.own_stations()
    done = {bout.exercise for session in sessions for bout in session.bouts}
    return {key: asked_of((key,), own) for key in done}


def target_effort(services: Services, on: date) -> float:
    """The effort that still is at target on a day, as the weeks have it; else 7.

    A file of the weeks that has problems is named where the weeks are planned.
    """
    try:
        targets = own_targets(services.places)
    except ProblemsFound:
        targets = None
    wishes = DayWishes() if targets is None else day_wishes(targets, on)
    return TARGET[wishes.emphasis]
