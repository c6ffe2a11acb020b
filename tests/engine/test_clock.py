"""The one reader of clocks: it gives whole ms that never run backwards."""

from __future__ import annotations

import itertools
import time

from whistlestop.engine import clock
from whistlestop.engine.clock import SystemClock


def test_readings_are_whole_milliseconds_and_never_decrease():
    readings = [SystemClock().read() for _ in range(200)]
    assert all(type(r.awake_ms) is int and type(r.slept_ms) is int for r in readings)
    for one, other in itertools.pairwise(readings):
        assert one.awake_ms <= other.awake_ms


def test_the_time_of_day_carries_its_offset():
    assert SystemClock().wall().utcoffset() is not None


def test_sleep_is_what_one_clock_counts_and_the_other_does_not(monkeypatch):
    """Ten minutes asleep after 5 s awake; the clocks are given, not read."""
    monkeypatch.setattr(time, "monotonic_ns", lambda: 5_000_000_000)
    monkeypatch.setattr(clock, "_with_sleep_ns", lambda: 605_000_000_000)
    reading = SystemClock().read()
    assert (reading.awake_ms, reading.slept_ms) == (5_000, 600_000)
