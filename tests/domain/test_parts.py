"""Sharing a work interval, and who leads."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import LEFT_RIGHT, MODERATE, THREE_PARTS

from whistlestop.domain.plan.parts import order_in_loop, share_ms


def test_45_seconds_one_sided_with_a_changeover_of_three_are_21_3_21():
    # Common practice for one-sided work; the arithmetic is exact.
    assert share_ms(45_000, 2, 3_000) == (21_000, [3_000])


def test_the_remainder_goes_whole_to_the_first_changeover():
    assert share_ms(40_001, 2, 0) == (20_000, [1])
    assert share_ms(40_000, 3, 0) == (13_333, [1, 0])
    assert share_ms(40_001, 3, 2_000) == (12_000, [2_001, 2_000])


def test_a_changeover_of_nothing_is_a_silent_one():
    assert share_ms(40_000, 2, 0) == (20_000, [0])


def test_one_part_has_the_whole_and_no_changeover():
    assert share_ms(40_000, 1, 0) == (40_000, [])


def test_changeovers_that_leave_nothing_are_refused():
    with pytest.raises(ValueError, match="no time for the parts"):
        share_ms(6_000, 3, 3_000)


@MODERATE
@given(st.integers(1, 10), st.integers(0, 10_000), st.integers(1, 600_000))
def test_parts_are_equal_and_everything_adds_up_exactly(parts, changeover_ms, work_ms):
    try:
        part_ms, changeovers = share_ms(work_ms, parts, changeover_ms)
    except ValueError:
        assert work_ms - (parts - 1) * changeover_ms < parts
        return
    assert part_ms * parts + sum(changeovers) == work_ms
    assert part_ms == (work_ms - (parts - 1) * changeover_ms) // parts
    assert len(changeovers) == parts - 1
    assert all(ms == changeover_ms for ms in changeovers[1:])
    if changeovers:
        assert 0 <= changeovers[0] - changeover_ms < parts


@pytest.mark.parametrize(
    ("parts", "loop", "lead", "order"),
    [
        (LEFT_RIGHT, 1, "alternate", ("left", "right")),
        (LEFT_RIGHT, 2, "alternate", ("right", "left")),
        (LEFT_RIGHT, 3, "alternate", ("left", "right")),
        (LEFT_RIGHT, 2, "fixed", ("left", "right")),
        (THREE_PARTS, 1, "alternate", ("left", "right", "together")),
        (THREE_PARTS, 2, "alternate", ("right", "left", "together")),
        (THREE_PARTS, 4, "fixed", ("left", "right", "together")),
        (("both",), 2, "alternate", ("both",)),
        ((), 2, "alternate", ()),
    ],
)
def test_even_loops_swap_the_first_two_parts_unless_the_lead_is_fixed(
    parts, loop, lead, order
):
    assert order_in_loop(parts, loop, lead) == order
