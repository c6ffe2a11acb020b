"""What features ask of the sites, and what limits let through."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from whistlestop.domain.demands import (
    DEMANDS,
    MOST,
    WEIGHT_ADDS,
    SiteLimit,
    allowed,
    asked,
    asks,
)
from whistlestop.domain.sites import BODY_SITES


@dataclass(frozen=True)
class Movement:
    features: tuple[str, ...] = ()
    exceptions: tuple[tuple[str, int], ...] = ()


FEATURES = st.lists(st.sampled_from(sorted(DEMANDS)), max_size=5).map(tuple)
EXCEPTIONS = st.dictionaries(
    st.sampled_from(BODY_SITES), st.sampled_from([0, 1, 2]), max_size=3
).map(lambda found: tuple(found.items()))
MOVEMENTS = st.builds(Movement, FEATURES, EXCEPTIONS)
LIMITS = st.lists(
    st.builds(
        SiteLimit,
        st.sampled_from(BODY_SITES),
        st.sampled_from(["easy", "out"]),
        st.sampled_from(["", "left", "right"]),
    ),
    max_size=4,
)


def test_the_table_names_sites_and_every_site_is_asked_for_by_some_feature():
    sites = {site for one in DEMANDS.values() for site in one.asks}
    assert sites == set(BODY_SITES)
    for one in DEMANDS.values():
        assert one.asks, one.feature
        assert set(one.asks.values()) <= {1, 2}


@pytest.mark.parametrize(
    ("features", "site", "value"),
    [
        ((), "knee", 0),
        (("squat",), "knee", 2),
        (("squat",), "ankle", 1),
        (("squat",), "lower-back", 0),
        (("squat", "loaded"), "lower-back", 1),
        (("bridge", "squat"), "hip", 1),
        (("row", "grip"), "wrist-hand", 2),
    ],
)
def test_a_movement_asks_the_most_that_one_of_its_features_does(features, site, value):
    assert asks(Movement(features), site) == value


def test_an_exception_goes_before_the_features_and_not_before_what_comes_on_top():
    flat = Movement(("squat",), (("knee", 0),))
    assert asks(flat, "knee") == 0
    assert asks(flat, "knee", extra=("jump",)) == 2
    assert asks(Movement((), (("foot", 2),)), "foot") == 2


def test_an_unknown_feature_is_refused():
    with pytest.raises(KeyError):
        asks(Movement(("flight",)), "knee")


def test_going_easy_lets_something_through_and_leaving_out_nothing():
    calf_on_a_bridge = Movement(("curl-leg",))
    assert allowed(calf_on_a_bridge, [SiteLimit("calf", "easy")])
    assert not allowed(calf_on_a_bridge, [SiteLimit("calf", "out")])
    assert not allowed(calf_on_a_bridge, [SiteLimit("hamstring", "easy")])
    assert allowed(calf_on_a_bridge, [SiteLimit("neck", "out")])


def test_a_side_lets_nothing_in():
    assert not allowed(Movement(("row",)), [SiteLimit("elbow", "out", "left")])


def test_a_weight_in_the_hands_asks_the_hands():
    assert not allowed(
        Movement(("lunge",)), [SiteLimit("wrist-hand")], extra=WEIGHT_ADDS
    )
    assert allowed(Movement(("lunge",)), [SiteLimit("wrist-hand")])


@given(MOVEMENTS, LIMITS, FEATURES)
def test_whatever_is_allowed_asks_no_limited_site_for_more_than_it_may(
    movement, limits, extra
):
    if allowed(movement, limits, extra=extra):
        found = asked(movement, extra=extra)
        for limit in limits:
            assert found.get(limit.site, 0) <= MOST[limit.strength]


@given(MOVEMENTS, LIMITS, LIMITS)
def test_one_more_limit_never_lets_more_through(movement, limits, more):
    if allowed(movement, [*limits, *more]):
        assert allowed(movement, limits)


@given(MOVEMENTS, LIMITS)
def test_leaving_out_is_the_stricter_of_the_two(movement, limits):
    out = [SiteLimit(one.site, "out", one.side) for one in limits]
    easy = [SiteLimit(one.site, "easy", one.side) for one in limits]
    if allowed(movement, out):
        assert allowed(movement, limits)
    if allowed(movement, limits):
        assert allowed(movement, easy)


@given(MOVEMENTS, FEATURES, st.sampled_from(BODY_SITES))
def test_more_features_never_ask_less(movement, extra, site):
    assert asks(movement, site, extra=extra) >= asks(movement, site)


@given(MOVEMENTS)
def test_without_limits_everything_is_allowed(movement):
    assert allowed(movement, [])
