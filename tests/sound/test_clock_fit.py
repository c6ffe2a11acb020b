"""The estimate of device frames from callback times, against made-up devices.

The simulated device takes blocks at true times; the callback sees them late by
random amounts, never early. What is known exactly is then compared.
"""

from __future__ import annotations

import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.support.examples import examples

from whistlestop.sound.helper.clock_fit import ClockFit

RATE_HZ = 44_100
PERIOD_S = 0.1
BLOCK = 4410


class Device:
    """Takes a block each period by its own clock; the callback is late at random."""

    def __init__(self, *, drift=0.0, late_s=0.002, seed=1, start_s=100.0):
        self.fit = ClockFit(RATE_HZ, PERIOD_S)
        self.random = random.Random(seed)
        self.drift = drift
        self.late_s = late_s
        self.frames = 0
        self.origin_s = start_s

    def true_time(self, frame):
        """When the device takes this frame."""
        return self.origin_s + frame / RATE_HZ / (1 + self.drift)

    def true_frame(self, t_s):
        return (t_s - self.origin_s) * RATE_HZ * (1 + self.drift)

    def run(self, seconds):
        for _ in range(round(seconds / PERIOD_S)):
            late_s = self.random.expovariate(1 / self.late_s) if self.late_s else 0
            self.fit.saw(self.true_time(self.frames) + late_s, self.frames)
            self.frames += BLOCK

    def error_ms(self, ahead_s=0.05):
        """Estimate against truth, a moment after the last block."""
        t_s = self.true_time(self.frames) + ahead_s
        return (self.fit.frame_at(t_s) - self.true_frame(t_s)) * 1000 / RATE_HZ


def test_knows_nothing_before_the_first_callback():
    assert ClockFit(RATE_HZ, PERIOD_S).frame_at(5.0) is None


def test_one_callback_is_enough_for_a_first_answer():
    fit = ClockFit(RATE_HZ, PERIOD_S)
    fit.saw(100.0, 0)
    assert fit.frame_at(100.5) == pytest.approx(RATE_HZ / 2)


@pytest.mark.parametrize("ppm", [-300, 0, 192, 300])
def test_follows_the_drift_of_a_real_card_within_a_millisecond(ppm):
    """192 ppm, uncorrected, is 115 ms in ten minutes."""
    device = Device(drift=ppm / 1e6)
    device.run(600)
    assert abs(device.error_ms()) < 1
    assert device.fit.resets == 0


def test_late_callbacks_do_not_pull_the_line():
    """Lateness of 8 ms on the mean leaves under 3 ms, an average would leave 8."""
    device = Device(late_s=0.008)
    device.run(60)
    assert abs(device.error_ms()) < 3


def test_a_single_very_late_callback_changes_nothing():
    device = Device(late_s=0)
    device.run(30)
    device.fit.saw(device.true_time(device.frames) + 0.2, device.frames)
    device.frames += BLOCK
    assert abs(device.error_ms()) < 0.01
    assert device.fit.resets == 0


def test_slope_is_held_to_2000_ppm():
    """5000 ppm cannot be a sound card: followed at 2000, no further."""
    device = Device(drift=0.005, late_s=0)
    device.run(11)
    t_s = device.true_time(device.frames)
    over_a_second = device.fit.frame_at(t_s + 1) - device.fit.frame_at(t_s)
    assert over_a_second == pytest.approx(RATE_HZ * 1.002, rel=1e-6)


def test_without_six_full_seconds_no_drift_is_assumed():
    device = Device(drift=0.001, late_s=0)
    device.run(4)
    t_s = device.true_time(device.frames)
    assert device.fit.frame_at(t_s + 1) - device.fit.frame_at(t_s) == pytest.approx(
        RATE_HZ
    )


def test_a_stop_of_the_stream_begins_anew():
    """An idle sink waits 1.8 s between its first and second request."""
    device = Device(late_s=0)
    device.run(0.1)
    device.origin_s += 1.8
    device.run(0.1)
    assert device.fit.resets == 1
    assert abs(device.error_ms()) < 0.01


def test_an_underrun_is_believed_within_a_second_and_not_at_once():
    """The old line serves while it may still be mere lateness."""
    device = Device(late_s=0)
    device.run(20)
    device.origin_s += 0.2
    device.run(0.4)
    assert device.fit.resets == 0
    assert device.error_ms() == pytest.approx(200, abs=0.1)
    device.run(1.5)
    assert device.fit.resets == 1
    assert abs(device.error_ms()) < 0.01


@pytest.mark.parametrize("step_s", [0.025, 0.04, 0.06, 0.1, 0.13, 0.2])
@pytest.mark.parametrize("late_s", [0.0005, 0.002, 0.005])
def test_an_underrun_of_any_length_misplaces_cues_for_a_second_at_most(step_s, late_s):
    """Also one shorter than a period, which must not bend the line for long."""
    device = Device(late_s=late_s)
    device.run(30)
    device.origin_s += step_s
    device.run(1.2)
    for _ in range(150):
        assert abs(device.error_ms()) < 10
        device.run(0.1)


def test_callbacks_that_are_late_now_and_then_are_no_underrun():
    """Lateness of 6 ms on the mean, worse than on two loaded cores, for 10 minutes."""
    device = Device(late_s=0.006)
    device.run(600)
    assert device.fit.resets == 0


def test_a_device_that_took_frames_ahead_is_believed_at_once():
    device = Device(late_s=0)
    device.run(20)
    device.origin_s -= 0.05
    device.run(0.1)
    assert device.fit.resets == 1
    device.run(0.5)
    assert abs(device.error_ms()) < 0.01


def test_a_small_step_is_absorbed_within_the_window():
    """A real step of 2.4 ms was seen; twelve seconds later nothing is left of it."""
    device = Device(late_s=0)
    device.run(20)
    device.origin_s += 0.0024
    device.run(14)
    assert device.fit.resets == 0
    assert abs(device.error_ms()) < 0.1


@settings(max_examples=examples(60), deadline=None)
@given(
    seed=st.integers(0, 10_000),
    ppm=st.integers(-400, 400),
    late_ms=st.floats(0, 5),
    gaps_s=st.lists(st.floats(0.02, 3), max_size=3),
)
def test_whatever_happened_it_is_right_again_after_twenty_seconds(
    seed, ppm, late_ms, gaps_s
):
    device = Device(drift=ppm / 1e6, late_s=late_ms / 1000, seed=seed)
    device.run(5)
    for gap_s in gaps_s:
        device.origin_s += gap_s
        device.run(3)
    device.run(20)
    assert abs(device.error_ms()) < 3


@settings(max_examples=examples(60), deadline=None)
@given(
    seed=st.integers(0, 10_000),
    times=st.lists(st.floats(0, 30), min_size=2, max_size=20),
)
def test_later_moments_never_get_earlier_frames(seed, times):
    """So cues taken in order of time are in order of frame."""
    device = Device(seed=seed, late_s=0.01)
    device.run(15)
    frames = [device.fit.frame_at(100 + t) for t in sorted(times)]
    assert frames == sorted(frames)
