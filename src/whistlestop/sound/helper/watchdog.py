"""Decides from the age of the last block whether a stream is alive.

Owns that judgement alone: measured devices vanish without any other sign.
"""

from __future__ import annotations

GRACE_S = 3.0
"""An idle sink was seen to wait 1.8 s between its first and second request."""
CONFIRMING_BLOCKS = 3


class Watchdog:
    """Judges one stream from its opening at `opened_s`."""

    def __init__(self, opened_s: float, period_s: float) -> None:
        self._opened_s = opened_s
        self._limit_s = max(1.0, 5 * period_s)
        self._doubts = 0

    def is_dead(self, now_s: float, last_block_s: float | None, blocks: int) -> bool:
        """Tell that blocks have stopped, on two judgements in a row.

        Two, because after the whole process was stopped and goes on, this
        thread may run before the device's.
        """
        if now_s - self._opened_s <= GRACE_S:
            return False
        age_s = now_s - (self._opened_s if last_block_s is None else last_block_s)
        never_ran = blocks < CONFIRMING_BLOCKS
        self._doubts = self._doubts + 1 if age_s > self._limit_s or never_ran else 0
        return self._doubts >= 2
