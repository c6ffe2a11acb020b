"""Durations: what people type, and what is shown."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE

from whistlestop.domain.duration import clock, countdown, exact, parse_duration_ms


@pytest.mark.parametrize(
    ("typed", "ms"),
    [
        (0, 0),
        (40, 40_000),
        ("0", 0),
        ("60", 60_000),
        ("60 s", 60_000),
        ("60s", 60_000),
        ("45 sec", 45_000),
        ("1 second", 1_000),
        ("2 min", 120_000),
        ("1 minute", 60_000),
        ("10 minutes", 600_000),
        ("1:30", 90_000),
        ("0:05", 5_000),
        ("90:00", 5_400_000),
        ("1:02:30", 3_750_000),
        ("  1:30  ", 90_000),
    ],
)
def test_what_people_type_is_read_as_milliseconds(typed, ms):
    assert parse_duration_ms(typed) == ms


@pytest.mark.parametrize(
    "typed",
    [
        "",
        "s",
        "-5",
        "1.5",
        "1:60",
        "1:2",
        ":30",
        "1:02:60",
        "40 h",
        "1:30 min",
        "1:02:03:04",
        "9999999",
        "forty",
        "40;50",
        "4 0",
        "1\n:30",
    ],
)
def test_anything_else_is_refused_and_the_message_says_what_is_expected(typed):
    with pytest.raises(ValueError, match="expected seconds as 60"):
        parse_duration_ms(typed)


def test_a_negative_number_and_a_truth_value_are_no_durations():
    with pytest.raises(ValueError, match="0 s or more"):
        parse_duration_ms(-1)
    with pytest.raises(ValueError, match="expected"):
        parse_duration_ms(True)


@pytest.mark.parametrize(
    ("ms", "shown"),
    [
        (0, "0:00"),
        (999, "0:00"),
        (1_000, "0:01"),
        (59_999, "0:59"),
        (90_000, "1:30"),
        (3_599_999, "59:59"),
        (3_750_000, "1:02:30"),
    ],
)
def test_a_clock_shows_the_second_below(ms, shown):
    assert clock(ms) == shown


@pytest.mark.parametrize(
    ("ms", "shown"),
    [
        (90_000, "1:30"),
        (60_000, "1:00"),
        (59_999, "1:00"),
        (59_000, "59"),
        (40_000, "40"),
        (39_999, "40"),
        (39_000, "39"),
        (1, "1"),
        (0, "0"),
    ],
)
def test_a_countdown_shows_the_second_being_used_up(ms, shown):
    assert countdown(ms) == shown


def test_exact_shows_milliseconds_only_where_there_are_any():
    assert exact(21_000) == "21 s"
    assert exact(21_003) == "21.003 s"
    assert exact(7) == "0.007 s"


@MODERATE
@given(st.integers(0, 14_400))
def test_what_a_clock_shows_is_read_back_as_the_same_time(seconds):
    assert parse_duration_ms(clock(seconds * 1000)) == seconds * 1000


@MODERATE
@given(st.text(max_size=12))
def test_no_text_does_more_than_be_read_or_refused(text):
    try:
        ms = parse_duration_ms(text)
    except ValueError:
        return
    assert ms >= 0
    assert ms % 1000 == 0
