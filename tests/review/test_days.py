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
from whistlestop.review.amended import instant, local_day
from whistlestop.review.days import (
    Day,
    DayKind,
    DaySpan,
    Mark,
    Training,
    day_book,
    week_of,
    weeks_in,
)
from whistlestop.review.record import read_record

BERLIN = ZoneInfo("Europe/Berlin")
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


# Last Sunday of March and of October: directive 2000/84/EC on summer time.
@pytest.mark.parametrize(
    ("change", "hours"), [(date(2031, 3, 30), 23), (date(2031, 10, 26), 25)]
)
def test_every_hour_of_a_clock_change_day_is_of_that_one_day(
    change: date, hours: int
) -> None:
    begin = datetime(change.year, change.month, change.day, tzinfo=BERLIN)
    begin = begin.astimezone(UTC)
    moments = [begin + timedelta(hours=n) for n in range(-1, hours + 1)]
    days = [local_day(one.astimezone(BERLIN).isoformat()) for one in moments]
    one_day = timedelta(days=1)
    assert days == [change - one_day, *[change] * hours, change + one_day]
    assert {len(week_of(day)) for day in days} == {7}


def test_the_day_is_that_of_the_place_where_it_was_done() -> None:
    """One moment: late on Saturday in New York, Sunday and its week in Tokyo."""
    moment = datetime(2031, 4, 13, 15, 30, tzinfo=UTC)
    walls = [
        moment.astimezone(ZoneInfo(name)).isoformat()
        for name in ("Asia/Tokyo", "America/New_York", "Pacific/Kiritimati")
    ]
    days = [date(2031, 4, 14), date(2031, 4, 13), date(2031, 4, 14)]
    assert [local_day(wall) for wall in walls] == days
    assert len({instant(wall) for wall in walls}) == 1
    weeks = [week_of(day).first for day in days]
    assert weeks == [date(2031, 4, 14), date(2031, 4, 7), date(2031, 4, 14)]


def test_a_wall_time_without_offset_is_the_place_s_own() -> None:
    assert local_day("2031-04-12T23:30:00") == date(2031, 4, 12)
    assert instant("2031-04-12") == "2031-04-12"


@pytest.mark.parametrize("wall", ["", "soon", "2031-13-01T00:00:00+00:00"])
def test_what_is_no_time_is_named(wall: str) -> None:
    with pytest.raises(ValueError, match="not a date and time"):
        local_day(wall)
    assert instant(wall) == wall


def test_a_time_at_the_edge_of_the_calendar_is_an_error_and_no_overflow() -> None:
    with pytest.raises(ValueError):
        local_day("1600-01-01T00:00:00+00:00")
    assert instant("9999-12-31T23:59:59-12:00") == "9999-12-31T23:59:59-12:00"


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
    found = training_of(record)
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
    found = training_of(record)
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
        assert training_of(record) is None
