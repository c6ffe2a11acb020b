"""Estimates which frame the device will take at a given moment.

Owns the line from monotonic seconds to frames. Reads no clock and no device: it
gets what each callback saw, so it can be tested with made-up jitter.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass

BIN_S = 1.0
BINS = 12
"""Seconds the line looks back: after a real 2.4 ms step it settles within them."""
FEWEST_BINS = 6
"""Below this many a slope would be mostly noise."""
STEEPEST = 0.002
"""2000 ppm; no working sound card is further from its nominal rate."""
SETTLE_S = 0.3
SETTLE_CALLBACKS = 4
BELOW_S = 0.020
ABOVE_S = 0.012
ABOVE_FOR_S = 0.7
"""Callbacks that are all so late for so long mean an underrun. On two loaded cores
sleepers were seen to wake up to 19 ms late, one in a hundred more than 7 ms."""
GAP_S = 0.25
GAP_PERIODS = 2.5


@dataclass
class _Bin:
    number: int
    t_s: float
    excess_s: float


@dataclass(frozen=True)
class _FittedLine:
    """excess(t) = level + slope * (t - centre)."""

    centre_s: float
    level_s: float
    slope: float

    def at(self, t_s: float) -> float:
        return self.level_s + self.slope * (t_s - self.centre_s)


class ClockFit:
    """A robust line through callback times: they can be late, never early.

    At a callback, excess = time - frames / rate. The smallest excess of each
    second is the honest one; a least-squares line through those of the last
    twelve seconds gives epoch and drift. With fewer than six seconds the
    smallest excess alone is used. `resets` counts fresh starts.
    """

    def __init__(self, rate_hz: int, period_s: float) -> None:
        self._rate_hz = rate_hz
        self._period_s = period_s
        self._line: _FittedLine | None = None
        self._last_s: float | None = None
        self._high_since_s: float | None = None
        self.resets = 0
        self._begin(0.0)
        self._begun = False

    def _begin(self, t_s: float) -> None:
        """Forget the bins; the old line serves until the new start has settled."""
        self._start_s = t_s
        self._callbacks = 0
        self._settled = False
        self._bins: deque[_Bin] = deque(maxlen=BINS + 1)
        self._provisional_s: float | None = None
        self._high_since_s = None
        self._begun = True

    def saw(self, t_s: float, frames: int) -> None:
        """Take in one callback at `t_s`, `frames` handed over before its block."""
        excess_s = t_s - frames / self._rate_hz
        if not self._begun:
            self._begin(t_s)
        elif self._is_gap(t_s):
            # The old line says nothing about a stream that stood still.
            self.resets += 1
            self._line = None
            self._begin(t_s)
        elif self._is_step(t_s, excess_s):
            self.resets += 1
            self._begin(t_s)
        self._last_s = t_s
        self._callbacks += 1
        if self._provisional_s is None or excess_s < self._provisional_s:
            self._provisional_s = excess_s
        early = t_s - self._start_s < SETTLE_S or self._callbacks <= SETTLE_CALLBACKS
        if not early:
            self._add(t_s, excess_s)

    def _is_gap(self, t_s: float) -> bool:
        allowed_s = GAP_S + GAP_PERIODS * self._period_s
        return self._last_s is not None and t_s - self._last_s > allowed_s

    def _is_step(self, t_s: float, excess_s: float) -> bool:
        """Notice an underrun (late for long) or a device that took frames ahead."""
        if not self._settled or self._line is None:
            return False
        off_s = excess_s - self._line.at(t_s)
        if off_s < -BELOW_S:
            return True
        if off_s <= ABOVE_S:
            self._high_since_s = None
            return False
        if self._high_since_s is None:
            self._high_since_s = t_s
        return t_s - self._high_since_s >= ABOVE_FOR_S

    def _add(self, t_s: float, excess_s: float) -> None:
        number = int((t_s - self._start_s) / BIN_S)
        last = self._bins[-1] if self._bins else None
        if last is None or number > last.number:
            self._bins.append(_Bin(number, t_s, excess_s))
        elif excess_s < last.excess_s:
            last.t_s, last.excess_s = t_s, excess_s
        else:
            return
        self._settled = True
        self._fit(number)

    def _fit(self, number: int) -> None:
        # The second still running may not hold an honest sample yet.
        full = [b for b in self._bins if number - BINS <= b.number < number]
        if len(full) < FEWEST_BINS:
            lowest = min(self._bins, key=lambda b: b.excess_s)
            self._line = _FittedLine(lowest.t_s, lowest.excess_s, 0.0)
            return
        centre_s = sum(b.t_s for b in full) / len(full)
        level_s = sum(b.excess_s for b in full) / len(full)
        spread = sum((b.t_s - centre_s) ** 2 for b in full)
        lean = sum((b.t_s - centre_s) * (b.excess_s - level_s) for b in full)
        slope = max(-STEEPEST, min(STEEPEST, lean / spread))
        self._line = _FittedLine(centre_s, level_s, slope)

    def frame_at(self, t_s: float) -> float | None:
        """Return the frame the device takes at `t_s`; None before the first callback.

        Right after a start the smallest excess so far stands in for the line.
        """
        if self._line is not None:
            return (t_s - self._line.at(t_s)) * self._rate_hz
        if self._provisional_s is None:
            return None
        return (t_s - self._provisional_s) * self._rate_hz
