"""Whether an activity is in the log already: the rules, by hand, one by one."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from whistlestop.review.activities.activity import Activity
from whistlestop.review.activities.matching import (
    LoggedActivities,
    LoggedActivity,
    Verdict,
    judge,
)

DAY = date(2031, 5, 12)
NINE = datetime(2031, 5, 12, 9, tzinfo=UTC)
MINUTE = 60_000


def activity(start=NINE, minutes=60, moving=None, sport="cycling", **more):
    moving_ms = None if moving is None else moving * MINUTE
    return Activity(
        more.pop("key", "k1-1"), start, sport, minutes * MINUTE, None, moving_ms, **more
    )


def logged(begin=0, minutes=60, **more):
    """An entry that began so many minutes after nine."""
    start = NINE + timedelta(minutes=begin)
    return LoggedActivity(
        "d1", "cycling", DAY, minutes * MINUTE, start, minutes * MINUTE, **more
    )


def typed(minutes, name="ride", day=DAY, **more):
    return LoggedActivity("d2", name, day, minutes * MINUTE, None, 0, **more)


def verdict(one, *others):
    found = LoggedActivities(others).near(one, DAY)
    return judge(one, DAY, found)[0]


@pytest.mark.parametrize(
    ("begin", "minutes", "expected"),
    [
        (0, 60, Verdict.SAME),
        (5, 60, Verdict.SAME),  # a second device, started 5 minutes later
        (30, 30, Verdict.SAME),  # exactly half of the longer one
        (20, 60, Verdict.SAME),  # 40 of 60 minutes
        (35, 60, Verdict.OVERLAPS),  # 25 of 60
        (0, 200, Verdict.OVERLAPS),  # a part of something long
        (61, 50, Verdict.NEW),  # the run right after the ride
        (-15, 15, Verdict.NEW),  # the warm-up right before it
    ],
)
def test_half_of_the_longer_one_in_common_is_the_same(begin, minutes, expected):
    assert verdict(activity(), logged(begin, minutes)) is expected


@pytest.mark.parametrize(
    ("begin", "expected"),
    [
        (120, Verdict.SHIFTED),  # summer time and the zone west of it
        (-75, Verdict.SHIFTED),  # a quarter hour is in some zones
        (121, Verdict.NEW),
        (27 * 60, Verdict.NEW),
    ],
)
def test_equal_lengths_whole_quarter_hours_apart_are_asked(begin, expected):
    assert verdict(activity(), logged(begin)) is expected


def test_another_length_at_quarter_hours_is_new():
    assert verdict(activity(), logged(120, 61)) is Verdict.NEW


@pytest.mark.parametrize(
    ("entry", "expected"),
    [
        (typed(60), Verdict.TYPED),
        (typed(55), Verdict.TYPED),  # 5 minutes
        (typed(54), Verdict.NEW),
        (typed(200), Verdict.NEW),
        (typed(60, name="Rad"), Verdict.TYPED),
        (typed(60, name="run"), Verdict.NEW),
        (typed(60, day=DAY - timedelta(days=1)), Verdict.NEW),
        (typed(60, name="Goods shed", is_circuit=True), Verdict.NEW),
    ],
)
def test_what_was_typed_on_the_day_with_sport_and_length_is_asked(entry, expected):
    assert verdict(activity(), entry) is expected


def test_a_tenth_of_what_was_typed_is_as_long():
    """Moving or elapsed: people type either."""
    assert verdict(activity(minutes=215, moving=180), typed(200)) is Verdict.TYPED
    assert verdict(activity(minutes=260, moving=181), typed(200)) is Verdict.TYPED
    assert verdict(activity(minutes=260, moving=179), typed(200)) is Verdict.NEW


def test_a_circuit_done_without_the_laptop_is_asked_of_strength():
    entry = typed(60, name="Goods shed", is_circuit=True)
    assert verdict(activity(sport="strength"), entry) is Verdict.TYPED


def test_a_circuit_recorded_here_takes_one_file():
    ours = logged(is_recorded=True, is_circuit=True)
    assert verdict(activity(), ours) is Verdict.CIRCUIT
    ours.files.add("other-1")
    assert verdict(activity(), ours) is Verdict.SAME


def test_a_key_is_known_wherever_it_stands_and_what_is_deleted_only_by_it():
    gone = logged(files={"k1-1"}, is_removed=True)
    assert verdict(activity(), gone) is Verdict.KNOWN
    assert verdict(activity(key="k2-1"), gone) is Verdict.NEW
    assert verdict(activity(session_id="d1"), logged(600)) is Verdict.KNOWN


def test_what_lasts_for_days_is_found_from_its_last_day():
    long = LoggedActivity(
        "d3",
        "hiking",
        DAY - timedelta(days=6),
        1,
        NINE - timedelta(days=6),
        7 * 24 * 60 * MINUTE,
    )
    assert verdict(activity(), long) is Verdict.OVERLAPS
