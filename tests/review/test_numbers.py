"""Loads, monotony and strain: published formulas, and pandas beside them."""

from __future__ import annotations

import math
import statistics
from datetime import date, timedelta

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE

from whistlestop.domain.effort import Effort, derived_effort
from whistlestop.review import numbers, trends
from whistlestop.review.days import (
    Day,
    DayBook,
    DayKind,
    DaySpan,
    Mark,
    Training,
    day_book,
)
from whistlestop.review.numbers import (
    NO_VARIATION,
    NOT_ENTERED,
    ONLY_CIRCUITS,
    Figure,
    day_load,
    monotony,
    personal_range,
    session_load,
    week,
    week_load,
    weeks,
)

MONDAY = date(2031, 1, 6)
WEEK = DaySpan(MONDAY, MONDAY + timedelta(days=6))
# A made-up week; formula Foster 1998, Med Sci Sports Exerc 30:1164.
DIARY_AU = (300, 0, 420, 180, 0, 540, 240)


def one(
    day: date, au: float, kind: DayKind = DayKind.OTHER, **changes: object
) -> Training:
    """A training of a given load: effort 6, so au / 6 minutes."""
    values: dict[str, object] = {"effort": 6.0, **changes}
    length_ms = round(au / 6 * 60_000)
    return Training(day, length_ms, kind=kind, sport="ride", source_id="x", **values)  # type: ignore[arg-type]


def book_of(loads: tuple[float, ...], kind: DayKind = DayKind.OTHER) -> DayBook:
    """Loads day by day from the first Monday; 0 is a day marked as rest."""
    days = [MONDAY + timedelta(days=n) for n in range(len(loads))]
    return day_book(
        [one(d, au, kind) for d, au in zip(days, loads, strict=True) if au],
        [
            (Mark.REST, DaySpan(d, d))
            for d, au in zip(days, loads, strict=True)
            if not au
        ],
    )


def test_session_load() -> None:
    """Effort 6 for 45 min is 270 AU (Foster 2001, J Strength Cond Res 15:109)."""
    training = Training(MONDAY, 45 * 60_000, 6.0, DayKind.CIRCUIT, "x", "x")
    assert session_load(training) == Figure(270.0)


def test_a_week_in_figures() -> None:
    """Foster 1998, formula; the values are arithmetic on it."""
    found = week(book_of(DIARY_AU), WEEK)
    assert found.load.value == 1680
    assert found.mean.value == 240
    assert found.monotony.value == pytest.approx(1.1882, abs=5e-5)
    assert found.strain.value == pytest.approx(1996.14, abs=5e-3)


def test_the_population_form_is_not_the_one_used() -> None:
    """Algebra: sample / population = sqrt(6/7) = 0.92582."""
    ours = monotony(DIARY_AU).value
    population = statistics.fmean(DIARY_AU) / statistics.pstdev(DIARY_AU)
    assert population == pytest.approx(1.2834, abs=5e-5)
    assert ours is not None
    assert ours / population == pytest.approx(math.sqrt(6 / 7))


def test_one_day_of_seven() -> None:
    """Algebra: 1 / sqrt(7) = 0.37796."""
    assert monotony([0, 0, 0, 500, 0, 0, 0]).value == pytest.approx(0.37796, abs=5e-6)


@pytest.mark.parametrize(
    ("sessions", "expected"),
    [(1, 0.378), (2, 0.586), (3, 0.802), (4, 1.069), (5, 1.464), (6, 2.268)],
)
def test_equal_sessions_depend_on_their_number_alone(
    sessions: int, expected: float
) -> None:
    """Algebra: sqrt(6 k / (7 (7 - k))), the reason for hiding it."""
    loads = [270.0] * sessions + [0.0] * (7 - sessions)
    assert monotony(loads).value == pytest.approx(expected, abs=5e-4)
    closed = math.sqrt(6 * sessions / (7 * (7 - sessions)))
    assert monotony(loads).value == pytest.approx(closed)


@pytest.mark.parametrize("au", [0, 270, 0.1])
def test_seven_equal_days_say_no_variation(au: float) -> None:
    """Algebra: SD 0; a word, no infinity, no crash."""
    assert monotony([au] * 7) == Figure(None, NO_VARIATION)
    found = week(book_of((270,) * 7), WEEK)
    assert found.load.value == 1890
    assert (found.monotony.value, found.monotony.reason) == (None, NO_VARIATION)
    assert (found.strain.value, found.strain.reason) == (None, NO_VARIATION)


def test_a_derived_effort_stays_marked_in_every_sum() -> None:
    """Loops 4, 6, 8 of ten minutes each: 6.0 (reasoning Foster 2021)."""
    effort = derived_effort([Effort(8), Effort(12), Effort(16)], [600_000] * 3)
    assert effort == 6.0
    derived = Training(
        MONDAY,
        1_800_000,
        effort,
        DayKind.OTHER,
        "x",
        "x",
        effort_is_derived=True,
    )
    assert session_load(derived) == Figure(180.0, derived=1)
    rest = DaySpan(MONDAY + timedelta(days=1), MONDAY + timedelta(days=6))
    found = week(day_book([derived], [(Mark.REST, rest)]), WEEK)
    figures = (found.entered, found.load, found.mean, found.monotony, found.strain)
    assert all(figure.derived == 1 for figure in figures)
    assert found.load.words(unit="AU") == "180 AU (averaged)"


def test_a_clock_change_week_divides_by_seven() -> None:
    """Arithmetic: the week of 30 March 2031 has 167 hours and 7 days."""
    first = date(2031, 3, 24)
    span = DaySpan(first, date(2031, 3, 30))
    book = day_book([one(first, 700)], [(Mark.REST, span)])
    found = week(book, span)
    assert found.mean.value == 100
    assert found.monotony.value == pytest.approx(1 / math.sqrt(7))


def test_monotony_is_hidden_with_the_reason_where_only_circuits_are_logged() -> None:
    found = week(book_of(DIARY_AU, DayKind.CIRCUIT), WEEK)
    assert found.load.value == 1680
    assert found.monotony == Figure(None, ONLY_CIRCUITS)
    assert found.strain == Figure(None, ONLY_CIRCUITS)


@pytest.mark.parametrize(("ago", "hidden"), [(21, False), (22, True)])
def test_other_training_counts_for_28_days(ago: int, hidden: bool) -> None:
    """The week's last day and the 27 before it: a ride on the first still counts."""
    circuits = book_of(DIARY_AU, DayKind.CIRCUIT)
    ride = one(WEEK.first - timedelta(days=ago), 100)
    trainings = [t for found in circuits.trainings.values() for t in found]
    marks = [(m, DaySpan(d, d)) for d, found in circuits.marks.items() for m in found]
    found = week(day_book([*trainings, ride], marks), WEEK)
    assert (found.monotony.reason == ONLY_CIRCUITS) is hidden


def test_a_blank_day_is_not_zero() -> None:
    """Outside a fully logged period the week has no load, and a least one."""
    book = day_book([one(MONDAY, 300)], [], [])
    found = week(book, WEEK)
    assert found.load == Figure(None, "not known: 6 days blank")
    assert found.entered == Figure(300.0)
    assert found.monotony.reason == found.strain.reason == found.load.reason


def test_the_blanks_of_a_fully_logged_week_stand_beside_every_figure() -> None:
    book = day_book([one(MONDAY, 300)], [], [WEEK])
    found = week(book, WEEK)
    assert found.load == Figure(300.0, blanks=6)
    figures = (found.mean, found.monotony, found.strain)
    assert all(figure.blanks == 6 for figure in figures)
    assert found.load.words(unit="AU") == "300 AU (6 days blank, counted as rest)"


def test_a_training_without_effort_is_never_guessed() -> None:
    day = Day(MONDAY, (one(MONDAY, 300), one(MONDAY, 60, effort=None)))
    assert session_load(day.trainings[1]) == Figure(None, NOT_ENTERED)
    assert day_load(day) == Figure(None, NOT_ENTERED)
    trainings = [*day.trainings]
    found = week(day_book(trainings, [(Mark.REST, WEEK)]), WEEK)
    assert found.load == Figure(None, "not known: 1 without effort")
    assert found.entered.value == 300


@pytest.mark.parametrize("mark", list(Mark))
def test_a_marked_day_without_training_is_zero(mark: Mark) -> None:
    assert day_load(Day(MONDAY, (), (mark,))) == Figure(0.0)


def test_a_week_is_seven_days_in_a_row() -> None:
    book = book_of(DIARY_AU)
    for days in (book.days(WEEK)[:6], tuple(reversed(book.days(WEEK)))):
        with pytest.raises(ValueError, match="seven calendar days"):
            week_load(days)
    with pytest.raises(ValueError, match="seven calendar days"):
        week(book, DaySpan(MONDAY, MONDAY))


def test_a_figure_is_a_finite_number_or_a_reason() -> None:
    for bad in (math.inf, math.nan):
        with pytest.raises(ValueError, match="finite"):
            Figure(bad)
    with pytest.raises(ValueError, match="reason"):
        Figure(None)


LOADS = st.lists(
    st.one_of(st.just(0), st.integers(1, 200).map(lambda n: n * 6)),
    min_size=7,
    max_size=70,
)


@MODERATE
@given(LOADS)
def test_weeks_agree_with_pandas(loads: list[int]) -> None:
    """Weekly sum, mean and SD of an independent library (pandas resample)."""
    book = book_of(tuple(loads))
    whole = len(loads) // 7
    series = pd.Series(
        [float(au) for au in loads], pd.date_range(MONDAY, periods=len(loads))
    )
    theirs = series.resample("W-SUN")
    sums, means, deviations = theirs.sum(), theirs.mean(), theirs.std(ddof=1)
    for index in range(whole):
        first = MONDAY + timedelta(weeks=index)
        found = week(book, DaySpan(first, first + timedelta(days=6)))
        assert found.load.value == pytest.approx(sums.iloc[index])
        if deviations.iloc[index] < 1e-6:
            assert found.monotony.reason == NO_VARIATION
        else:
            expected = means.iloc[index] / deviations.iloc[index]
            assert found.monotony.value == pytest.approx(expected)
            strained = sums.iloc[index] * expected
            assert found.strain.value == pytest.approx(strained)


@MODERATE
@given(st.permutations(range(5)))
def test_no_order_of_a_days_trainings_changes_its_load(order: list[int]) -> None:
    """Loads are summed exactly: odd lengths and derived efforts included."""
    odd = [
        Training(MONDAY, 1_000_003 + 7_777 * n, 5 + n / 3, DayKind.OTHER, "x", str(n))
        for n in range(5)
    ]
    expected = day_load(Day(MONDAY, tuple(odd)))
    assert day_load(Day(MONDAY, tuple(odd[n] for n in order))) == expected


def test_weeks_cover_the_span_from_monday_to_sunday() -> None:
    span = DaySpan(MONDAY + timedelta(days=3), MONDAY + timedelta(days=8))
    found = weeks(book_of(DIARY_AU * 2), span)
    assert [w.span.first for w in found] == [MONDAY, MONDAY + timedelta(days=7)]
    assert [w.load.value for w in found] == [1680, 1680]


def test_the_personal_range_is_the_middle_half_of_the_last_twelve_weeks() -> None:
    """Quartiles as numpy's default (linear) has them."""
    loads = [[float(60 * n)] + [0.0] * 6 for n in range(1, 16)]
    book = book_of(tuple(au for one_week in loads for au in one_week))
    found = weeks(book, DaySpan(MONDAY, MONDAY + timedelta(days=7 * 15 - 1)))
    own = personal_range(found)
    assert own is not None
    expected = np.percentile([60 * n for n in range(4, 16)], [25, 75])
    assert [own.low_au, own.high_au] == pytest.approx(list(expected))
    assert own.weeks == 12


def test_there_is_no_personal_range_of_fewer_than_four_known_weeks() -> None:
    book = book_of(DIARY_AU * 3)
    found = weeks(book, DaySpan(MONDAY, MONDAY + timedelta(days=34)))
    assert [w.load.value for w in found] == [1680, 1680, 1680, None, None]
    assert personal_range(found) is None


def test_every_public_formula_names_its_source() -> None:
    for function in (session_load, day_load, week_load, monotony, numbers.strain, week):
        assert "Foster" in (function.__doc__ or "")
    for function in (trends.alpha, trends.ewma, trends.trend_days):
        assert "Williams" in (function.__doc__ or "")
