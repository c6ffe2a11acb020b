"""The only reader of clocks. Everything else is handed the time.

Two monotonic clocks are read: one that counts the laptop's sleep and one that
does not. Where they part, the laptop slept.
"""

from __future__ import annotations

import sys
import time
from datetime import UTC, datetime
from typing import Protocol

from whistlestop.dataclass import dataclass


@dataclass(frozen=True, slots=True)
class ClockReading:
    """One look at the clocks, in ms. `slept_ms` grows only while asleep."""

    awake_ms: int
    slept_ms: int


class Clock(Protocol):
    """What a driver needs of time."""

    def read(self) -> ClockReading:
        """Look at the monotonic clocks."""
        ...

    def wall(self) -> datetime:
        """The time of day, with its offset."""
        ...


class SystemClock:
    """The clocks of this machine."""

    def read(self) -> ClockReading:
        """Look at the monotonic clocks; integer ms since an unknown moment."""
        awake = time.monotonic_ns()
        return ClockReading(awake // 1_000_000, (_with_sleep_ns() - awake) // 1_000_000)

    def wall(self) -> datetime:
        """The local time of day with its offset."""
        return datetime.now(UTC).astimezone()


def _with_sleep_ns() -> int:
    """A monotonic clock that counts sleep, where the system has one.

    Linux: boot time. macOS: clock_gettime(CLOCK_MONOTONIC) counts sleep while
    time.monotonic() does not. Elsewhere the two are the same and only the
    watch on late ticks notices a gap.
    """
    if sys.platform.startswith("linux"):
        return time.clock_gettime_ns(time.CLOCK_BOOTTIME)
    if sys.platform == "darwin":
        return time.clock_gettime_ns(time.CLOCK_MONOTONIC)
    return time.monotonic_ns()
