"""A built warm-up: 6 to 8 minutes, raise first, for exactly these patterns."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from whistlestop.domain.circuit.warm_up import (
    LEAST_MS,
    MOST_MS,
    built_warm_up,
)
from whistlestop.library import exercises

PATTERNS = sorted({exercise.pattern for exercise in exercises().values()})


@given(
    st.lists(st.sampled_from([*PATTERNS, "unheard-of"]), max_size=30),
    st.sets(st.sampled_from(["Wr", "Kn", "Bk", "Sh"])),
)
def test_it_lasts_6_to_8_minutes_whatever_the_circuit_is(patterns, spared):
    items = built_warm_up(patterns, spared)
    assert LEAST_MS <= sum(item.duration_ms for item in items) <= MOST_MS
    assert all(item.duration_ms % 5_000 == 0 for item in items)
    assert all(item.duration_ms >= 30_000 for item in items)
    # Raise in two, then as many to mobilise as to activate.
    assert len(items) % 2 == 0
    assert [item.duration_ms for item in items[:2]] == [60_000, 60_000]


@pytest.mark.parametrize("pattern", PATTERNS)
def test_every_pattern_of_the_library_has_movements_of_its_own(pattern):
    assert built_warm_up([pattern]) != built_warm_up(["unheard-of"])


def test_it_is_about_these_patterns_and_no_others():
    told = " ".join(item.name for item in built_warm_up(["squat", "horizontal-push"]))
    assert "squats" in told
    assert "Push off the wall" in told
    assert "Leg swings" not in told


def test_what_is_spared_is_not_loaded_and_the_rest_stays():
    patterns = ["squat", "horizontal-push"]
    usual = built_warm_up(patterns)
    gentle = built_warm_up(patterns, {"Wr"})
    changed = [(a.name, b.name) for a, b in zip(usual, gentle, strict=True) if a != b]
    assert changed == [
        ("Push off the wall, slow", "Slow presses forwards with loose fists")
    ]


def test_the_four_most_frequent_groups_are_taken_in_a_fixed_order():
    many = [
        *["horizontal-pull"] * 3, *["squat"] * 2, "hinge", "jump", *["grip"] * 2,
        *["horizontal-push"] * 2,
    ]  # fmt: skip
    names = [item.name for item in built_warm_up(many)]
    assert len(names) == 2 + 2 * 4
    assert not any("Calf" in name or "Hip hinge" in name for name in names)
    assert built_warm_up(reversed(many)) == built_warm_up(many)
