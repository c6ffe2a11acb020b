"""Effort and session load."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE

from whistlestop.domain.effort import WORDS, Effort, derived_effort, session_load_au


def test_an_effort_of_six_for_45_minutes_is_270_au():
    # Session-RPE method of Foster et al. 2001: effort times minutes.
    assert session_load_au(Effort.parse("6"), 45 * 60_000) == 270


def test_half_points_and_part_minutes_count():
    assert session_load_au(Effort.parse("6.5"), 30 * 60_000) == 195
    assert session_load_au(Effort.parse("5"), 90_000) == 7.5
    assert session_load_au(Effort(0), 45 * 60_000) == 0


def test_efforts_of_four_six_eight_over_equal_loops_derive_six():
    # Common practice, no source: a mean weighted by the length of each loop.
    efforts = [Effort.parse(text) for text in ("4", "6", "8")]
    assert derived_effort(efforts, [600_000] * 3) == 6.0


def test_a_longer_loop_weighs_more():
    efforts = [Effort.parse("4"), Effort.parse("8")]
    assert derived_effort(efforts, [100_000, 300_000]) == 7.0


def test_nothing_is_derived_where_a_loop_is_missing_or_has_no_length():
    six = Effort.parse("6")
    assert derived_effort([six, None], [1, 1]) is None
    assert derived_effort([], []) is None
    assert derived_effort([six], [0]) is None


@pytest.mark.parametrize(
    ("typed", "halves", "number"),
    [
        ("0", 0, 0),
        ("7", 14, 7),
        ("6.5", 13, 6.5),
        ("6,5", 13, 6.5),
        ("10", 20, 10),
        (" 3 ", 6, 3),
        ("3.0", 6, 3),
    ],
)
def test_efforts_are_read_in_half_points(typed, halves, number):
    effort = Effort.parse(typed)
    assert effort.halves == halves
    assert effort.number == number
    assert Effort.parse(str(effort)) == effort


@pytest.mark.parametrize(
    "typed", ["", "11", "10.5", "-1", "6.3", "6.", ".5", "x", "6.50", "٣", "1e1"]
)
def test_what_is_no_half_point_from_0_to_10_is_refused(typed):
    with pytest.raises(ValueError, match=r"effort|half point"):
        Effort.parse(typed)


def test_every_whole_point_has_a_word_of_its_own_and_a_half_takes_the_one_below():
    assert len(set(WORDS)) == 11
    assert Effort.parse("6.5").word == Effort.parse("6").word == WORDS[6]
    assert Effort.parse("10").word == WORDS[10]


@MODERATE
@given(
    st.lists(st.tuples(st.integers(0, 20), st.integers(1, 10**6)), min_size=1),
)
def test_a_derived_effort_lies_between_the_least_and_the_greatest(loops):
    efforts = [Effort(halves) for halves, _ in loops]
    derived = derived_effort(efforts, [ms for _, ms in loops])
    low, high = min(efforts).halves / 2, max(efforts).halves / 2
    assert low - 1e-9 <= derived <= high + 1e-9
