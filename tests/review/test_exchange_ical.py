"""The calendar, read back by a parser that did not write it (vobject)."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from typing import Any

import pytest
import vobject

from whistlestop.review.exchange.ical import CalendarSession, calendar_text
from whistlestop.review.items import ItemKind, LogItem

DAY = date(2031, 4, 12)
SHED = LogItem(
    "20310412T061502Z-3f9a",
    ItemKind.SESSION,
    DAY,
    DAY,
    "Shed, wet; slow\\",
    wall="2031-04-12T08:15:02.123+02:00",
    length_ms=1_800_000,
    elapsed_ms=1_860_000,
    load_effort=6.0,
    load_au=180.0,
    best_work_ms=300,
    plan_work_ms=400,
    note="private",
)
RIDE = LogItem(
    "d-1", ItemKind.TRAINING, DAY, DAY, "ride", wall="", length_ms=60_000, load_au=5.0
)
ILL = LogItem("d-2", ItemKind.MARK, DAY, DAY + timedelta(days=2), "illness")


def events(text: str) -> list[Any]:
    return list(vobject.readOne(text).vevent_list)


def test_a_session_comes_back_with_its_beginning_its_end_and_its_text() -> None:
    (event,) = events(calendar_text([SHED]))
    assert event.dtstart.value == datetime(2031, 4, 12, 6, 15, 2, tzinfo=UTC)
    assert event.dtend.value - event.dtstart.value == timedelta(minutes=31)
    assert event.summary.value == SHED.name
    text = event.description.value
    assert text.split("; ") == [
        "30 min",
        "75 % of the planned work done",
        "effort 6",
        "session load 180 AU",
    ]
    assert event.uid.value == "20310412T061502Z-3f9a@whistlestop"


def test_what_has_only_days_is_of_whole_days() -> None:
    """RFC 5545, 3.6.1: the end of an event of whole days is the day after it."""
    ride, ill = events(calendar_text([RIDE, ILL]))
    assert (ride.dtstart.value, ride.dtend.value) == (DAY, DAY + timedelta(days=1))
    assert (ill.dtstart.value, ill.dtend.value) == (DAY, DAY + timedelta(days=3))
    assert (ride.transp.value, ill.transp.value) == ("OPAQUE", "TRANSPARENT")


def test_notes_stay_out_unless_they_are_asked_for() -> None:
    assert "private" not in calendar_text([SHED])
    assert "private" in calendar_text([SHED], notes=True)


def test_what_was_deleted_and_what_has_no_day_is_no_event() -> None:
    deleted = replace(SHED, is_removed=True)
    unknown = replace(SHED, day=None, last_day=None)
    logged = replace(ILL, kind=ItemKind.LOGGED)
    assert "VEVENT" not in calendar_text([deleted, unknown, logged])


def test_a_planned_session_is_tentative() -> None:
    zone = timezone(timedelta(hours=2))
    begin = datetime(2031, 4, 20, 18, tzinfo=zone)
    (event,) = events(
        calendar_text([], [CalendarSession("shed", "Shed", begin, 1_800_000)])
    )
    assert event.status.value == "TENTATIVE"
    assert event.dtstart.value == begin
    assert event.dtend.value == begin + timedelta(minutes=30)
    with pytest.raises(ValueError, match="time zone"):
        CalendarSession("shed", "Shed", begin.replace(tzinfo=None), 1)


def test_lines_are_folded_ended_and_stamped_as_rfc_5545_says() -> None:
    """RFC 5545, 3.1 (75 octets, CRLF) and 3.8.7.2 (a stamp in UTC)."""
    text = calendar_text([replace(SHED, name="Ü" * 200)])
    lines = text.split("\r\n")
    assert lines[-1] == ""
    assert "\n" not in "".join(lines)
    assert max(len(line.encode()) for line in lines) <= 75
    assert "DTSTAMP:20310412T061502Z" in lines
    (event,) = events(text)
    assert event.summary.value == "Ü" * 200


def test_the_same_log_gives_the_same_text() -> None:
    assert calendar_text([SHED, RIDE]) == calendar_text([SHED, RIDE])


def test_a_hostile_name_stays_a_name() -> None:
    hostile = "x\r\nEND:VEVENT\r\nBEGIN:VALARM\x1b[31m"
    (event,) = events(calendar_text([replace(SHED, name=hostile)]))
    assert "BEGIN:VALARM" in event.summary.value
    assert not hasattr(event, "valarm")
    assert "\x1b" not in calendar_text([replace(SHED, name=hostile)])
