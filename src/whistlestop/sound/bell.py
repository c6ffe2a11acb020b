"""The terminal's bell in place of sound: one ring for each `now`.

Plans nothing: the owner of the terminal calls `now` when a cue is due. Knows
nothing of terminals, only of the callable that rings.
"""

from __future__ import annotations

from collections.abc import Callable

from whistlestop.sound.port import SoundStatus
from whistlestop.sound.silent import SilentSound

BELL = SoundStatus(
    "bell", backend="bell", detail="The terminal's bell rings for each cue."
)


class BellSound(SilentSound):
    """A SoundPort that can only ring. `ring` is never called while muted."""

    def __init__(self, ring: Callable[[], None]) -> None:
        super().__init__(BELL)
        self._ring = ring

    def now(self, cue: str) -> None:  # noqa: ARG002 - all cues ring alike
        """Ring once; all cues sound alike. Does nothing at volume 0 or muted."""
        if not self.status().muted:
            self._ring()

    def volume(self, percent: int) -> None:
        """Mute at 0; a bell knows no other levels."""
        self.mute(percent <= 0)

    def close(self) -> None:
        """Ring no more."""
        self._ring = _nothing


def _nothing() -> None:
    """Stands in for the ring after close."""
