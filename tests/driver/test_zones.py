"""A journey round the world and both clock changes: each session keeps its own zone.

Offsets are those of the machine's own zone files (IANA); the days of the clock changes
are those of directive 2000/84/EC.
"""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from tests.support.services import SHED, ServicesForTests, do_session, make_services
from tests.support.travel import ClockThatTravels

from whistlestop.review.days import DaySpan
from whistlestop.review.items import Filter
from whistlestop.review.numbers import weeks

# Where and when (on the clock there), in the order in which it was done.
DONE = (
    ("Europe/Berlin", "2031-03-29T22:30"),  # a Saturday
    ("Europe/Berlin", "2031-03-30T01:55"),  # over the change: 02:00 is 03:00
    ("Asia/Tokyo", "2031-04-06T23:50"),  # a Sunday there, over midnight
    ("America/Los_Angeles", "2031-04-06T16:00"),  # later, and still that Sunday
    ("Pacific/Kiritimati", "2031-04-14T00:20"),  # a Monday there, Sunday elsewhere
    ("Europe/Berlin", "2031-10-26T02:40"),  # the second time that it is 02:40
    ("Europe/Berlin", "2031-10-26T23:30"),
)
SECOND_TIME = "2031-10-26T02:40"


@pytest.fixture(scope="module")
def journey(
    tmp_path_factory: pytest.TempPathFactory,
) -> tuple[ServicesForTests, list[str]]:
    home = tmp_path_factory.mktemp("journey") / "home"
    make_services(home, {"rainy-shed": SHED})
    clock = ClockThatTravels(datetime(2031, 1, 1, tzinfo=UTC))
    services = ServicesForTests(home, clock=clock)
    ids = []
    for zone, text in DONE:
        clock.put(zone, text, second_time=text == SECOND_TIME)
        shed = services.circuits.read("rainy-shed")
        ids.append(do_session(services, shed, efforts=(5, 6), session_effort=6))
    clock.put("Europe/Berlin", "2031-11-03T12:00")
    return services, ids


def test_a_session_is_of_the_day_and_the_week_of_the_place_where_it_was_done(
    journey: tuple[ServicesForTests, list[str]],
) -> None:
    services, ids = journey
    logbook = services.logbook()
    days = {one.source_id: one.day for one in logbook.trainings()}
    assert [days[one] for one in ids] == [
        date.fromisoformat(text[:10]) for _, text in DONE
    ]
    by_week = {
        week.span.first: round((week.entered.value or 0) / 10)
        for week in weeks(logbook.book(), DaySpan(date(2031, 3, 24), date(2031, 4, 20)))
    }
    each = round((logbook.trainings()[0].load_au or 0) / 10)
    assert by_week == {
        date(2031, 3, 24): 2 * each,
        date(2031, 3, 31): 2 * each,
        date(2031, 4, 7): 0,
        date(2031, 4, 14): each,
    }


def test_sessions_stand_in_the_order_in_which_they_were_done(
    journey: tuple[ServicesForTests, list[str]],
) -> None:
    services, ids = journey
    assert [line.id for line in services.logbook().done()] == ids[::-1]
    assert services.logbook().last_id() == ids[-1]
    wanted = Filter(since=date(2031, 4, 6), until=date(2031, 4, 6))
    found = [item.id for item in services.logbook().items(wanted)]
    assert found == [ids[3], ids[2]]


def test_a_change_of_the_clock_makes_no_session_longer_or_shorter(
    journey: tuple[ServicesForTests, list[str]],
) -> None:
    services, ids = journey
    lengths = {services.log.record(one).elapsed_ms for one in ids}
    assert len(lengths) == 1
    walls = [services.log.record(one).wall[:16] for one in ids]
    assert walls == [text for _, text in DONE]
    offsets = [services.log.record(one).wall[-6:] for one in ids]
    assert offsets == [
        *("+01:00", "+01:00", "+09:00", "-07:00", "+14:00", "+01:00", "+01:00"),
    ]
    assert all(services.log.record(one).problems == () for one in ids)
