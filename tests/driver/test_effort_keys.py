"""Effort by single keys, as README has it under "Keys"."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import MODERATE

from whistlestop.domain.effort import Effort
from whistlestop.driver.effort_keys import EffortKeys, EffortTyped


def type_in(*presses: tuple[str, int]) -> Effort | None:
    """Press keys at their times; return the effort that stands afterwards."""
    keys, present = EffortKeys(), None
    for key, at_ms in presses:
        typed = keys.press(key, at_ms, present)
        if typed is not None:
            present = typed.effort
    return present


def quickly(*keys: str) -> Effort | None:
    return type_in(*((key, 100 * place) for place, key in enumerate(keys)))


@pytest.mark.parametrize("digit", range(10))
def test_one_digit_is_that_effort(digit: int) -> None:
    assert quickly(str(digit)) == Effort(2 * digit)


@pytest.mark.parametrize(
    ("later_ms", "halves"), [(0, 20), (1_500, 20), (1_501, 0), (60_000, 0)]
)
def test_one_then_nought_is_ten_within_a_second_and_a_half(
    later_ms: int, halves: int
) -> None:
    """Later than that the nought is a new effort of its own."""
    assert type_in(("1", 7_000), ("0", 7_000 + later_ms)) == Effort(halves)


def test_only_a_one_just_before_makes_ten_of_a_nought() -> None:
    assert quickly("2", "0") == Effort(0)
    assert quickly("1", "2", "0") == Effort(0)
    assert quickly("1", "x", "0") == Effort(0)
    assert quickly("1", "0", "0") == Effort(0)


@pytest.mark.parametrize("half", ["comma", "full_stop", ",", ".", "period"])
def test_comma_or_full_stop_adds_a_half(half: str) -> None:
    assert quickly("6", half) == Effort(13)


def test_a_half_is_added_once_and_never_beyond_ten() -> None:
    assert quickly("6", "comma", "comma") == Effort(13)
    assert quickly("1", "0", "comma") == Effort(20)
    assert quickly("1", "comma", "0") == Effort(0)


def test_half_a_point_alone_is_nought_and_a_half() -> None:
    assert quickly("comma") is None
    assert quickly("0", "comma") == Effort(1)


def test_backspace_clears_and_says_so() -> None:
    keys = EffortKeys()
    assert keys.press("backspace", 0, Effort(14)) == EffortTyped(None)
    assert keys.press("backspace", 100, None) is None


def test_the_last_digit_stands() -> None:
    assert quickly("7", "6") == Effort(12)


@pytest.mark.parametrize("key", ["n", "space", "f1", "²", "١", "10", ""])
def test_other_keys_have_nothing_to_do_with_effort(key: str) -> None:
    """Digits of other scripts are no effort keys: they are named otherwise."""
    assert EffortKeys().press(key, 0, Effort(10)) is None


@MODERATE
@given(
    st.lists(
        st.tuples(
            st.sampled_from([*"0123456789", "comma", "full_stop", "backspace", "n"]),
            st.integers(0, 4_000),
        ),
        max_size=20,
    )
)
def test_whatever_is_typed_is_an_effort_or_none(presses: list[tuple[str, int]]) -> None:
    """And a digit key pressed alone, long after, always sets its own effort."""
    present = type_in(*presses)
    assert present is None or 0 <= present.halves <= 20
    keys = EffortKeys()
    assert keys.press("8", 100_000, present) == EffortTyped(Effort(16))
