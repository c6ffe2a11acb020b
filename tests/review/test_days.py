"""Calendar days: clock changes, blanks, marks, and whose day a moment is."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.clock import SESSION_ID, Drive
from tests.support.plans import MODERATE, plan
from tests.support.trainings import training_of

from whistlestop.domain.day import parse_day
from whistlestop.domain.effort import Effort
from whistlestop.driver.session import Options
from whistlestop.engine.commands import Do, EnterEffort, EnterSessionEffort
from whistlestop.review.days import (
    Day,
    DayKind,
    DaySpan,
    Mark,
    Training,
    day_book,
    day_of,
    week_of,
    weeks_in,
)
from whistlestop.review.record import read_record

BERLIN = ZoneInfo("Europe/Berlin")
HOUR_MS = 3_600_000
DAYS = st.dates(date(1970, 1, 1), date(2100, 1, 1))


def day_length_ms(day: date, zone: ZoneInfo) -> int:
    """How long a calendar day is in a zone, in ms: 23, 24 or 25 hours mostly."""
    begin = datetime.combine(day, time(), zone)
    end = datetime.combine(day + timedelta(days=1), time(), zone)
    return (end.astimezone(UTC) - begin.astimezone(UTC)) // timedelta(milliseconds=1)


def training(day: date, **changes: object) -> Training:
    values: dict[str, object] = {
        "length_ms": 45 * 60_000,
        "effort": 6.0,
        "kind": DayKind.CIRCUIT,
        "sport": "Garage ten",
        "source_id": "s1",
    }
    return Training(day, **{**values, **changes})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("inside", "short_or_long", "hours"),
    [
        # A day an hour short or long is still a day. The dates are those of the
        # directive on summer time, 2000/84/EC: last Sunday of March and of October.
        (date(2031, 3, 26), date(2031, 3, 30), 23),
        (date(2031, 10, 22), date(2031, 10, 26), 25),
    ],
)
def test_a_clock_change_week_has_seven_days_and_the_odd_one_is_one_day(
    inside: date, short_or_long: date, hours: int
) -> None:
    week = week_of(inside)
    assert len(list(week)) == 7
    lengths = {day: day_length_ms(day, BERLIN) for day in week}
    assert lengths.pop(short_or_long) == hours * HOUR_MS
    assert set(lengths.values()) == {24 * HOUR_MS}


@pytest.mark.parametrize("change", [date(2031, 3, 30), date(2031, 10, 26)])
def test_every_hour_of_a_clock_change_day_is_of_that_one_day(change: date) -> None:
    begin = datetime(change.year, change.month, change.day, tzinfo=BERLIN)
    hours = day_length_ms(change, BERLIN) // HOUR_MS
    moments = [begin.astimezone(UTC) + timedelta(hours=n) for n in range(hours)]
    assert {day_of(moment.isoformat(), BERLIN) for moment in moments} == {change}
    after = begin.astimezone(UTC) + timedelta(hours=hours)
    assert day_of(after.isoformat(), BERLIN) == change + timedelta(days=1)


def test_the_day_is_that_of_the_athletes_zone_and_not_of_the_journals_offset() -> None:
    late = "2031-04-12T23:30:00+00:00"
    assert day_of(late, BERLIN) == date(2031, 4, 13)
    assert day_of(late, ZoneInfo("America/New_York")) == date(2031, 4, 12)


def test_a_wall_time_without_offset_is_the_zones_own() -> None:
    assert day_of("2031-04-12T23:30:00", BERLIN) == date(2031, 4, 12)


@pytest.mark.parametrize("wall", ["", "soon", "2031-13-01T00:00:00+00:00"])
def test_what_is_no_time_is_named(wall: str) -> None:
    with pytest.raises(ValueError, match="not a date and time"):
        day_of(wall, BERLIN)


def test_a_time_at_the_edge_of_the_calendar_is_an_error_and_no_overflow() -> None:
    with pytest.raises(ValueError):
        day_of("9999-12-31T23:59:59-12:00", BERLIN)
    with pytest.raises(ValueError, match="year 1600"):
        day_of("1600-01-01T00:00:00+00:00", BERLIN)


@pytest.mark.parametrize("text", ["2031-02-29", "20310212", "2031-2-3", "٢٠٣١-٠١-٠١"])
def test_a_day_is_read_in_one_form_only(text: str) -> None:
    with pytest.raises(ValueError, match=r"expected a day|there is no day"):
        parse_day(text)
    assert parse_day("2032-02-29") == date(2032, 2, 29)


@MODERATE
@given(DAYS, st.integers(0, 400))
def test_weeks_are_those_of_the_iso_calendar(first: date, more: int) -> None:
    """ISO 8601, as the standard library's `isocalendar` has it."""
    span = DaySpan(first, first + timedelta(days=more))
    found = weeks_in(span)
    assert [tuple(week.first.isocalendar())[:2] for week in found] == list(
        dict.fromkeys(tuple(day.isocalendar())[:2] for day in span)
    )
    assert all(week.first.isoweekday() == 1 and len(week) == 7 for week in found)


def test_a_period_does_not_end_before_it_begins() -> None:
    with pytest.raises(ValueError, match="first day or later"):
        DaySpan(date(2031, 1, 2), date(2031, 1, 1))


def test_a_blank_day_counts_as_rest_only_where_it_is_fully_logged() -> None:
    first = date(2031, 1, 6)
    book = day_book(
        [training(first)],
        [(Mark.TRAVEL, DaySpan(first + timedelta(days=1), first + timedelta(days=1)))],
        [DaySpan(first, first + timedelta(days=2))],
    )
    days = book.days(DaySpan(first, first + timedelta(days=3)))
    assert [day.is_blank for day in days] == [False, False, True, True]
    assert [day.is_blank_as_rest for day in days] == [False, False, True, False]
    assert [day.is_open for day in days] == [False, False, False, True]


def test_a_day_keeps_every_mark_and_training_once_and_in_order() -> None:
    day = date(2031, 1, 6)
    span = DaySpan(day, day)
    first, second = training(day), training(day, source_id="s2", effort=None)
    book = day_book(
        [first, second], [(Mark.OFF, span), (Mark.TRAVEL, span), (Mark.OFF, span)]
    )
    assert book.day(day) == Day(day, (first, second), (Mark.OFF, Mark.TRAVEL))
    assert book.day(day).without_effort == 1


@pytest.mark.parametrize("changes", [{"effort": 10.5}, {"effort": -1.0}])
def test_an_effort_outside_the_scale_is_refused(changes: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="0 to 10"):
        training(date(2031, 1, 6), **changes)


def test_a_recorded_session_is_a_training_without_its_pauses() -> None:
    """One loop of 70 s with the count-in; 17 s of pause do not lengthen it."""
    drive = Drive(plan()).begin()
    drive.go(20_000)
    drive.do(Do.PAUSE)
    drive.go(17_000)
    drive.do(Do.RESUME)
    drive.go(60_000)
    drive.do(EnterSessionEffort(Effort(13)))
    record = read_record(drive.journal.lines, session_id=SESSION_ID)
    found = training_of(record, BERLIN)
    assert found is not None
    assert found.length_ms == record.elapsed_ms - record.paused_ms
    assert record.paused_ms >= 17_000
    assert (found.effort, found.effort_is_derived) == (6.5, False)
    assert (found.day, found.source_id) == (date(2031, 4, 12), SESSION_ID)


def test_a_session_rated_by_loops_only_is_marked_derived() -> None:
    drive = Drive(plan(loops=2, loop_break_ms=30_000)).begin()
    drive.go(55_000)
    drive.do(EnterEffort(1, Effort(8)))
    drive.go(90_000)
    drive.do(EnterEffort(2, Effort(16)))
    record = read_record(drive.journal.lines, session_id=SESSION_ID)
    found = training_of(record, BERLIN)
    assert found is not None
    assert found.effort_is_derived
    assert found.effort == record.derived_effort
    assert found.effort is not None
    assert 4 < found.effort < 8


def test_a_scripted_session_and_one_without_work_are_no_training() -> None:
    scripted = Drive(plan(), Options(scripted=True)).begin()
    scripted.go(70_000)
    idle = Drive(plan()).begin()
    idle.go(2_000)
    for drive in (scripted, idle):
        record = read_record(drive.journal.lines, session_id=SESSION_ID)
        assert training_of(record, BERLIN) is None
