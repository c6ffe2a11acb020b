"""The two weighted means: published factors, pandas, breaks and drift."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE

from whistlestop.review.days import DayBook, DayKind, DaySpan, Mark, Training, day_book
from whistlestop.review.trends import (
    TrendDay,
    alpha,
    drifts,
    ewma,
    line_name,
    trend_days,
)

FIRST = date(2031, 3, 3)  # the clock-change night of 30 March lies within
STEP_AU = [100.0] * 21 + [200.0] * 7


def book_of(loads: list[float | None]) -> DayBook:
    """Loads day by day; 0 is a marked rest day, None a blank one."""
    days = [FIRST + timedelta(days=n) for n in range(len(loads))]
    pairs = list(zip(days, loads, strict=True))
    return day_book(
        [
            Training(d, round(au * 12_000), 5.0, DayKind.OTHER, "ride", "x")
            for d, au in pairs
            if au
        ],
        [(Mark.REST, DaySpan(d, d)) for d, au in pairs if au == 0],
    )


def line_of(loads: list[float | None]) -> tuple[TrendDay, ...]:
    last = FIRST + timedelta(days=len(loads) - 1)
    return trend_days(book_of(loads).days(DaySpan(FIRST, last)))


def test_the_factors_of_the_means() -> None:
    """Williams 2017, Br J Sports Med 51:209: 2 / (N + 1)."""
    assert alpha(7) == Fraction(1, 4)
    assert float(alpha(28)) == pytest.approx(0.0689655, abs=5e-8)
    with pytest.raises(ValueError, match="1 day or more"):
        alpha(0)


@pytest.mark.parametrize("length", [1, 7, 28, 365])
def test_a_constant_load_gives_two_equal_lines(length: int) -> None:
    """Algebra on Williams 2017, seeded with the first day."""
    line = line_of([100.0] * length)
    assert all(day.short_au == pytest.approx(100) for day in line)
    assert all(day.long_au == pytest.approx(100) for day in line)


def test_a_step_after_three_weeks() -> None:
    """Williams 2017, formula; the values are arithmetic. The quotient of 1.33935
    that goes with them is formed here and nowhere in the program."""
    last = line_of([*STEP_AU])[-1]
    assert last.short_au == pytest.approx(186.6516, abs=5e-5)
    assert last.long_au == pytest.approx(139.3598, abs=5e-5)
    assert last.short_au is not None
    assert last.long_au is not None
    assert last.short_au / last.long_au == pytest.approx(1.33935, abs=5e-6)


@pytest.mark.parametrize(("n_days", "expected"), [(7, 0.866516), (28, 0.864780)])
def test_a_unit_step_from_nothing(n_days: int, expected: float) -> None:
    """Algebra: 1 - (1 - a)^n."""
    line = ewma([1.0] * n_days, n_days, seed_au=0.0)
    assert line[-1] == pytest.approx(expected, abs=5e-7)


@MODERATE
@given(
    st.lists(st.floats(0, 3_000), min_size=1, max_size=200), st.sampled_from([7, 28])
)
def test_the_lines_agree_with_pandas(loads: list[float], n_days: int) -> None:
    """pandas `ewm(span=N, adjust=False)` is the same recursion, written by others."""
    theirs = pd.Series(loads, dtype=float).ewm(span=n_days, adjust=False).mean()
    assert ewma(loads, n_days) == pytest.approx(list(theirs), rel=1e-9, abs=1e-9)


def test_rest_days_pull_the_line_down() -> None:
    line = line_of([400.0, 0.0, 0.0])
    assert [day.short_au for day in line] == pytest.approx([400, 300, 225])


def test_the_first_28_days_are_warming_up() -> None:
    line = line_of([100.0] * 40)
    assert [day.warming_up for day in line] == [True] * 28 + [False] * 12


def test_a_day_that_is_not_known_breaks_the_lines_and_they_begin_anew() -> None:
    line = line_of([100.0] * 30 + [None] + [500.0] * 3)
    gap, after = line[30], line[31]
    assert (gap.load_au, gap.short_au, gap.long_au) == (None, None, None)
    assert (after.short_au, after.long_au) == (500, 500)
    assert not line[29].warming_up
    assert after.warming_up


def test_a_blank_in_a_fully_logged_period_is_a_zero_that_is_counted() -> None:
    span = DaySpan(FIRST, FIRST + timedelta(days=2))
    book = day_book(
        [Training(FIRST, 1_200_000, 5.0, DayKind.OTHER, "ride", "x")], [], [span]
    )
    line = trend_days(book.days(span))
    assert [day.short_au for day in line] == [100, 75, 56.25]
    assert [day.blanks for day in line] == [0, 1, 2]


def test_the_line_runs_over_calendar_days_and_not_over_sessions() -> None:
    days = book_of([100.0] * 3).days(DaySpan(FIRST, FIRST + timedelta(days=2)))
    with pytest.raises(ValueError, match="calendar days in a row"):
        trend_days((days[0], days[2]))


def test_drift_is_the_change_of_each_line_over_its_own_length() -> None:
    loads: list[float | None] = [100.0] * 40 + [200.0] * 10
    line = line_of(loads)
    week, month = drifts(line)
    assert (week.over_days, month.over_days) == (7, 28)
    assert line[-1].short_au is not None
    assert line[-8].short_au is not None
    assert week.change.value == pytest.approx(line[-1].short_au - line[-8].short_au)
    assert month.before.value == pytest.approx(100)
    # 50 days: the month begins on day 22, when the lines were still warming up.
    assert not week.warming_up
    assert month.warming_up


def test_drift_in_words_names_the_line_for_what_it_is() -> None:
    week, month = drifts(line_of([100.0] * 60))
    assert week.words() == (
        "7-day exponentially weighted mean of daily load, AU a day: "
        "100 7 days ago, 100 now"
    )
    assert month.name == line_name(28)


def test_without_an_unbroken_line_there_is_no_drift_and_a_reason() -> None:
    for loads, why in (
        ([100.0] * 7, "known since 3 Mar 2031, and its change shows from 10 Mar 2031"),
        ([100.0] * 20 + [None] + [100.0] * 5, "known since 24 Mar 2031"),
        ([100.0, None], "no line: 4 Mar 2031 is not known"),
    ):
        week, month = drifts(line_of(loads))
        assert week.change.value is None
        assert why in week.change.reason
        assert month.change.value is None
        assert why in week.words()
    with pytest.raises(ValueError, match="a day to end on"):
        drifts(())


def test_eight_known_days_are_enough_for_the_week() -> None:
    week, month = drifts(line_of([100.0] * 8))
    assert week.change.value == pytest.approx(0)
    assert week.warming_up
    assert week.words().endswith("; warming up")
    assert month.change.value is None
