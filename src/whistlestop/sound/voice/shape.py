"""From an engine's raw speech to samples that stand beside the cue tones.

Pure, standard library only. Trims, drives, levels, doubles the rate, fades. Knows
nothing of engines and files.
"""

from __future__ import annotations

import math
from array import array
from collections.abc import Sequence
from itertools import accumulate
from typing import Final

from whistlestop.sound.synth import RATE_HZ

LONGEST_MS: Final = 15_000
SILENCE_LEFT_MS: Final = 20
FADE_MS: Final = 5
SILENCE: Final = 1 / 300
"""Below this share of the peak, about -50 dB, both ends count as silent."""
FIRST_DRIVE_DB: Final = 9.0
"""Into the tanh curve, for speech whose peak is 1; adjusted from there."""
DRIVE_RANGE_DB: Final = (0.0, 16.0)
DB_FOR_DB: Final = 0.75
"""A decibel of drive makes driven speech this much louder (measured)."""
POWER_TARGET_DB: Final = -11.25
"""Gated power, peak at 1, that meets -12 LUFS at the true peak below.

K-weighting is left out for speed: over 13 sentences, 5 languages and 3 rates,
192 of 195 came within 1 LU of -12; a bare hiss was up to 2 LU louder (measured).
"""
PEAK_TARGET: Final = 10 ** (-1.1 / 20)
"""True peak; a tenth of a decibel is left for the error of the estimate."""
PEAK_WATCH: Final = 0.85
"""Between samples lower than this the wave was never seen to pass the highest."""

_TAPS: Final = 4


def shaped(samples: Sequence[int], rate_hz: int) -> array[int]:
    """Turn 16-bit speech at 22.05 or 44.1 kHz into mono 16 bit at 44.1 kHz.

    About -12 LUFS, true peak at most -1 dBTP (ITU-R BS.1770), 20 ms of silence
    left at each end. ValueError, in words for people, for another rate, for
    silence and for more than 15 s.
    """
    if rate_hz not in (RATE_HZ, RATE_HZ // 2):
        raise ValueError(f"the engine speaks at {rate_hz} Hz, which is not supported")
    if len(samples) * 1000 > LONGEST_MS * rate_hz:
        raise ValueError(f"the sentence takes more than {LONGEST_MS // 1000} s")
    speech = _trimmed(samples, rate_hz)
    gain = _drive(speech, rate_hz)
    if rate_hz != RATE_HZ:
        speech = _doubled(speech)
    driven = [math.tanh(gain * value) for value in speech]
    scale = 32767 * PEAK_TARGET / _true_peak(driven)
    _fade(driven)
    return array("h", (round(value * scale) for value in driven))


def _trimmed(samples: Sequence[int], rate_hz: int) -> list[float]:
    """Cut silent ends, and bring the peak to 1."""
    peak = max(map(abs, samples), default=0)
    floor = max(1.0, peak * SILENCE)
    first = next((i for i, value in enumerate(samples) if abs(value) > floor), None)
    if first is None:
        raise ValueError("the engine gave silence")
    last = len(samples)
    while abs(samples[last - 1]) <= floor:
        last -= 1
    kept = rate_hz * SILENCE_LEFT_MS // 1000
    before, after = max(0, first - kept), last + kept
    # Speech that begins at once gets its silence all the same.
    quiet = [0.0] * max(0, kept - first)
    tail = [0.0] * max(0, after - len(samples))
    return [*quiet, *(value / peak for value in samples[before:after]), *tail]


def _drive(speech: Sequence[float], rate_hz: int) -> float:
    """Find the gain into tanh that makes this sentence as loud as the others."""
    drive_db = FIRST_DRIVE_DB
    low, high = DRIVE_RANGE_DB
    for _ in range(2):
        gain = 10 ** (drive_db / 20)
        driven = [math.tanh(gain * value) for value in speech]
        power_db = _gated_power_db(driven, rate_hz) - 20 * math.log10(math.tanh(gain))
        drive_db += (POWER_TARGET_DB - power_db) / DB_FOR_DB
        drive_db = min(high, max(low, drive_db))
    return 10 ** (drive_db / 20)


def _gated_power_db(signal: Sequence[float], rate_hz: int) -> float:
    """Mean power of 400 ms blocks 100 ms apart, those 10 dB under it left out.

    The gate of ITU-R BS.1770, without its weighting.
    """
    block, step = rate_hz * 2 // 5, rate_hz // 10
    sums = [0.0, *accumulate(value * value for value in signal)]
    whole = len(signal)
    blocks = [
        (sums[begin + block] - sums[begin]) / block
        for begin in range(0, whole - block + 1, step)
    ] or [sums[whole] / block]
    gate = sum(blocks) / len(blocks) / 10
    loud = [power for power in blocks if power > gate]
    return 10 * math.log10(sum(loud) / len(loud))


def _weights(shift: float) -> list[float]:
    """Weigh 2 x _TAPS neighbours to read a wave at `shift` between two samples.

    A sinc under a raised-cosine window, made to sum to one.
    """
    weights: list[float] = []
    for tap in range(1 - _TAPS, _TAPS + 1):
        distance = tap - shift
        window = 0.5 + 0.5 * math.cos(math.pi * distance / (_TAPS + 0.5))
        weights.append(window * math.sin(math.pi * distance) / (math.pi * distance))
    total = sum(weights)
    return [weight / total for weight in weights]


def _doubled(signal: Sequence[float]) -> list[float]:
    """Put a sample between each two, read from the wave through their neighbours."""
    c4, c3, c2, c1 = _weights(0.5)[:_TAPS]
    padded = [*([0.0] * (_TAPS - 1)), *signal, *([0.0] * _TAPS)]
    shifted = (padded[place:] for place in range(2 * _TAPS))
    doubled = [0.0] * (2 * len(signal))
    doubled[::2] = signal
    doubled[1::2] = [
        c4 * (a + h) + c3 * (b + g) + c2 * (c + f) + c1 * (d + e)
        for a, b, c, d, e, f, g, h in zip(*shifted, strict=False)
    ]
    return doubled


def _true_peak(signal: Sequence[float]) -> float:
    """Highest point of the wave, read four times as finely near high samples."""
    peak = max(map(abs, signal))
    watch = peak * PEAK_WATCH
    phases = [_weights(shift) for shift in (0.25, 0.5, 0.75)]
    edge = [0.0] * _TAPS
    padded = [*edge, *signal, *edge]
    near: set[int] = set()
    for place, value in enumerate(signal):
        if value > watch or value < -watch:
            near.update((place - 1, place))
    for place in near:
        around = padded[place + 1 : place + 1 + 2 * _TAPS]
        for weights in phases:
            between = sum(map(float.__mul__, weights, around))
            peak = max(peak, abs(between))
    return peak


def _fade(signal: list[float]) -> None:
    """Raise and lower both ends as raised cosines, in place."""
    steps = min(RATE_HZ * FADE_MS // 1000, len(signal) // 2)
    for step in range(steps):
        factor = 0.5 - 0.5 * math.cos(math.pi * step / steps)
        signal[step] *= factor
        signal[-1 - step] *= factor
