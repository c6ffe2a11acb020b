"""Sound that is switched off, or could not be had: takes every call, plays nothing.

Knows nothing of devices. Its status says why it is silent.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from whistlestop.sound.port import PlannedCue, SoundReport, SoundStatus

OFF = SoundStatus("off", detail="Sound is switched off.")


class SilentSound:
    """A SoundPort with a fixed status, by default 'off'."""

    def __init__(self, status: SoundStatus = OFF) -> None:
        self._status = status

    def plan(self, epoch: int, cues: Sequence[PlannedCue]) -> None:
        """Nothing is planned."""

    def clear(self, epoch: int) -> None:
        """There is nothing to withdraw."""

    def now(self, cue: str) -> None:
        """Nothing is played."""

    def load(self, cue: str, path: Path) -> None:
        """Nothing is loaded."""

    def offset(self, offset_ms: int) -> None:
        """There is nothing to shift."""

    def volume(self, percent: int) -> None:
        """There is no level."""

    def mute(self, on: bool) -> None:  # noqa: FBT001 - as in the port
        """Only noted, so that a bell rung in place of sound is quiet too."""
        self._status = replace(self._status, muted=on)

    def status(self) -> SoundStatus:
        """Return the fixed status."""
        return self._status

    def reports(self) -> list[SoundReport]:
        """Return nothing, always."""
        return []

    def close(self) -> None:
        """There is nothing to end."""
