"""What the helper needs of an audio library, whichever it is.

Owns the shape of an engine. Imports no audio library.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from whistlestop.sound.helper.player import Player

Clock = Callable[[], float]
"""Seconds of CLOCK_MONOTONIC."""


class StreamEngine(Protocol):
    """One audio library. At most one stream is open at a time."""

    player: Player
    backend: str
    latency_ms: int
    period_s: float

    def open(self) -> None:
        """Start the stream, which then asks `player` for blocks. DeviceError."""
        ...

    def close(self) -> None:
        """End the stream, if there is one. Never raises."""
        ...
