"""The loudest eighth of a second of a signal, K-weighted.

Owns one measure, used to level the cues. Knows nothing of cues or files.
Source: ITU-R BS.1770, Annex 1. The recommendation prints its two filters for
48 kHz only; the analogue figures behind them, needed at 44.1 kHz, are common
practice among loudness meters (no source). The tests hold the result against
the printed 48 kHz table.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

Biquad = tuple[float, float, float, float, float]
"""b0, b1, b2, a1, a2 with a0 = 1."""

WINDOW_MS = 125
"""'Fast' time weighting of a sound level meter; a 400 ms block hides a short tick."""


def _shelf(rate_hz: int) -> Biquad:
    """High shelf of about +4 dB: the head in front of the ear."""
    centre_hz, gain_db, quality = 1681.974450955533, 3.999843853973347, 0.7071752369554
    k = math.tan(math.pi * centre_hz / rate_hz)
    high = 10 ** (gain_db / 20)
    band = high**0.4996667741545416
    a0 = 1 + k / quality + k * k
    return (
        (high + band * k / quality + k * k) / a0,
        2 * (k * k - high) / a0,
        (high - band * k / quality + k * k) / a0,
        2 * (k * k - 1) / a0,
        (1 - k / quality + k * k) / a0,
    )


def _high_pass(rate_hz: int) -> Biquad:
    """High pass near 38 Hz; its gain of b0 = 1 follows the printed table."""
    centre_hz, quality = 38.13547087602444, 0.5003270373238773
    k = math.tan(math.pi * centre_hz / rate_hz)
    a0 = 1 + k / quality + k * k
    return (1.0, -2.0, 1.0, 2 * (k * k - 1) / a0, (1 - k / quality + k * k) / a0)


def _run(biquad: Biquad, signal: Sequence[float]) -> list[float]:
    b0, b1, b2, a1, a2 = biquad
    s1 = s2 = 0.0
    out: list[float] = []
    for x in signal:
        y = b0 * x + s1
        s1 = b1 * x - a1 * y + s2
        s2 = b2 * x - a2 * y
        out.append(y)
    return out


def loudest_window_lkfs(signal: Sequence[float], rate_hz: int) -> float:
    """Level of the loudest 125 ms in LKFS, for one channel scaled to ±1.

    A signal shorter than the window is measured as if silence followed it.
    Minus infinity for silence.
    """
    window = rate_hz * WINDOW_MS // 1000
    padded = [*signal, *([0.0] * window)]
    weighted = _run(_high_pass(rate_hz), _run(_shelf(rate_hz), padded))
    total = best = 0.0
    for index, value in enumerate(weighted):
        total += value * value
        if index >= window:
            total -= weighted[index - window] ** 2
        best = max(best, total)
    if best <= 0.0:
        return -math.inf
    return -0.691 + 10 * math.log10(best / window)
