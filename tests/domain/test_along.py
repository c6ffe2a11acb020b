"""What goes along: no more than the factor, a third above the last, or the first."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from whistlestop.domain.along import MOST_BEYOND_LAST, goes_along

BELLS = (8.0, 12.0, 16.0, 24.0)
KG = st.floats(0.5, 80).map(lambda kg: round(kg, 1))
OWNED = st.lists(KG, max_size=8)


# What happened before there were factors, and what a coach would have done.
@pytest.mark.parametrize(
    ("load", "factor", "owned", "after"),
    [
        (24, 0.4, BELLS, 8),  # deadlift to Romanian: not two of 24
        (16, 0.5, BELLS, 8),  # goblet to two racked: half in each hand
        (24, 0.5, (24.0,), None),  # one bell alone: nothing is light enough
        (12, 0.5, BELLS, None),  # clean and press: 6 is not owned
        (16, 0, BELLS, None),  # begin without
        (12, 1.0, BELLS, 12),  # the weight by the side instead of overhead
    ],
)
def test_worked_by_hand(load, factor, owned, after):
    assert goes_along(load, factor, owned) == after


def test_a_first_load_is_the_lightest_owned_or_none():
    assert goes_along(0, None, BELLS, first_kg=10) == 8
    assert goes_along(0, None, (16.0, 24.0), first_kg=10) is None
    assert goes_along(0, None, BELLS, first_kg=24) == 8
    assert goes_along(0, None, BELLS) is None


@given(KG, st.floats(0, 1.25), OWNED, st.none() | KG)
def test_never_more_than_the_factor_nor_a_third_above_the_last(
    load, factor, owned, last
):
    after = goes_along(load, factor, owned, last_kg=last)
    if after is not None:
        assert after in owned
        assert after <= load * factor + 1e-5
        assert last is None or after <= last * MOST_BEYOND_LAST + 1e-5


@given(KG, st.floats(0, 1.25), OWNED, KG)
def test_owning_more_never_leaves_one_with_less(load, factor, owned, another):
    before = goes_along(load, factor, owned) or 0
    assert (goes_along(load, factor, [*owned, another]) or 0) >= before


@given(OWNED, st.none() | KG, st.none() | KG)
def test_a_first_load_is_never_above_the_first_load(owned, first, last):
    after = goes_along(0, None, owned, first_kg=first, last_kg=last)
    if after is not None:
        assert after == min(owned)
        assert first is not None
        assert after <= first + 1e-5
