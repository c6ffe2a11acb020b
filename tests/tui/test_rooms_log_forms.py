"""What is typed in the log: read as meant, or refused with a sentence."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE

from whistlestop.domain.effort import Effort
from whistlestop.review.days import DaySpan, Mark
from whistlestop.review.items import Filter
from whistlestop.tui.rooms.log.forms import (
    filter_text,
    mark_text,
    parse_filter,
    parse_mark,
    parse_training,
    training_text,
)

TODAY = date(2031, 5, 12)
WORDS = st.lists(
    st.sampled_from(["shed", "Goblet", "squat", "two", "weights", "9"]), max_size=3
).map(" ".join)
DAYS = st.dates(date(2020, 1, 1), date(2031, 12, 31))


def test_a_filter_names_circuit_station_kit_and_days():
    wanted = parse_filter("rainy shed station goblet squat from 2031-05-01 kit box")
    assert wanted == Filter("rainy shed", "goblet squat", "box", date(2031, 5, 1), None)
    assert parse_filter("") == Filter()
    assert parse_filter("to 2031-05-31").until == date(2031, 5, 31)


@MODERATE
@given(WORDS, WORDS, WORDS, st.none() | DAYS, st.integers(-1, 400))
def test_a_filter_is_written_as_it_would_be_typed(circuit, station, kit, first, days):
    last = first + timedelta(days=days) if first and days >= 0 else None
    wanted = Filter(circuit, station, kit, first, last)
    assert parse_filter(filter_text(wanted)) == wanted


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("station", 'something is missing after "station"'),
        ("from", 'something is missing after "from"'),
        ("from yesterday", "expected a day such as 2031-05-12"),
        ("from 2031-02-30", "there is no day 2031-02-30"),
        ("from 2031-05-01 2031-05-02", 'expected one day after "from"'),
        ("kit box kit mat", '"kit" is given twice'),
        ("from 2031-05-02 to 2031-05-01", "the last day is before the first"),
    ],
)
def test_a_filter_that_means_nothing_is_refused(typed, why):
    with pytest.raises(ValueError, match=why):
        parse_filter(typed)


@pytest.mark.parametrize(
    ("typed", "name", "length_ms", "effort", "day"),
    [
        ("cycling 90", "cycling", 5_400_000, None, TODAY),
        ("cycling 90 5.5", "cycling", 5_400_000, Effort(11), TODAY),
        ("cycling 90 5,5", "cycling", 5_400_000, Effort(11), TODAY),
        ("trail run 45 6 2031-05-10", "trail run", 2_700_000, Effort(12), None),
        ("zone 2 ride 60 3", "zone 2 ride", 3_600_000, Effort(6), TODAY),
        ("swim 32.5", "swim", 1_950_000, None, TODAY),
    ],
)
def test_other_training_is_read_from_its_end(typed, name, length_ms, effort, day):
    done = parse_training(typed, TODAY)
    assert (done.name, done.length_ms, done.effort) == (name, length_ms, effort)
    assert done.day == (day or date(2031, 5, 10))


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("", "expected a sport"),
        ("90 5", "expected a sport"),
        ("cycling", "expected minutes"),
        ("cycling 0", "more than 0 minutes"),
        ("cycling 90 11", "0 to 10"),
        ("cycling 90 5.3", "whole or half point"),
        ("cycling 90 5 2031-13-01", "no day"),
        ("cycling 90 5 2031-5-1", "such as 2031-05-12"),
    ],
)
def test_a_training_without_its_numbers_is_refused(typed, why):
    with pytest.raises(ValueError, match=why):
        parse_training(typed, TODAY)


def test_what_was_understood_is_said_back():
    done = parse_training("cycling 90 2031-05-10", TODAY)
    assert training_text(done) == "cycling, 90 min, effort not entered, 10 May 2031"
    marked = parse_mark("full 2031-05-01..2031-05-10", TODAY)
    assert mark_text(marked) == "fully logged, 1 May 2031 to 10 May 2031"
    assert mark_text(parse_mark("rest", TODAY)) == "rest, 12 May 2031"


def test_marks_take_a_day_or_two():
    assert parse_mark("illness", TODAY).span == DaySpan(TODAY, TODAY)
    two = parse_mark("Travel 2031-05-01..2031-05-03", TODAY)
    assert two.mark is Mark.TRAVEL
    assert two.span == DaySpan(date(2031, 5, 1), date(2031, 5, 3))
    assert parse_mark("full 2031-05-01..2031-05-03", TODAY).mark is None


@pytest.mark.parametrize(
    ("typed", "why"),
    [
        ("", "expected one of rest, illness, travel, off or full"),
        ("tired", "expected one of rest, illness, travel, off or full"),
        ("rest 2031-05-01 2031-05-02", "expected one day"),
        ("rest 2031-05-03..2031-05-01", "ends on its first day or later"),
        ("rest 2031-05-03..", "expected a day"),
    ],
)
def test_a_mark_that_means_nothing_is_refused(typed, why):
    with pytest.raises(ValueError, match=why):
        parse_mark(typed, TODAY)
