"""A player that lets go of the device when nothing is to be heard for a while.

For those who do not want the stream to idle with silence (the setting
`stay_awake = false`). Waking takes about two seconds, which a count-in covers.
"""

from __future__ import annotations

import threading
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final

from whistlestop.sound.port import PlannedCue, SoundPort, SoundReport, SoundStatus

REST_AFTER_S: Final = 30.0
_ASLEEP: Final = SoundStatus("starting", detail="The player rests until it is needed.")


class RestingSound:
    """Wraps a player; opens it when something is planned, closes it after 30 s idle."""

    def __init__(
        self, wake: Callable[[], SoundPort], clock: Callable[[], float]
    ) -> None:
        """Stand ready, with the player open.

        Args:
            wake: Opens a player; called again after each rest.
            clock: `time.monotonic`, or one like it.
        """
        self._wake = wake
        self._clock = clock
        self._inner: SoundPort | None = wake()
        self._needed_until_s = clock()
        self._epoch = 0
        self._loaded: dict[str, Path] = {}
        self._volume: int | None = None
        self._offset_ms: int | None = None
        self._muted: bool | None = None
        self._closed = False

    def plan(self, epoch: int, cues: Sequence[PlannedCue]) -> None:
        """Hand cues on, and stay awake until the last of them."""
        if not cues or self._closed:
            return
        self._needed_until_s = max(self._needed_until_s, *(c.at_s for c in cues))
        self._awake().plan(epoch, cues)

    def clear(self, epoch: int) -> None:
        """Withdraw what is older; with nothing planned again the rest begins."""
        self._epoch = epoch
        self._needed_until_s = self._clock()
        if self._inner is not None:
            self._inner.clear(epoch)

    def now(self, cue: str) -> None:
        """Play at once; asleep, only wake: it would come too late to answer a key."""
        was_asleep = self._inner is None
        self._needed_until_s = max(self._needed_until_s, self._clock())
        player = self._awake()
        if not was_asleep:
            player.now(cue)

    def load(self, cue: str, path: Path) -> None:
        """Add a sound, also to every player that is woken later."""
        self._loaded[cue] = path
        if self._inner is not None:
            self._inner.load(cue, path)

    def offset(self, offset_ms: int) -> None:
        """Set the offset, now and after each rest."""
        self._offset_ms = offset_ms
        if self._inner is not None:
            self._inner.offset(offset_ms)

    def volume(self, percent: int) -> None:
        """Set the level, now and after each rest."""
        self._volume = percent
        if self._inner is not None:
            self._inner.volume(percent)

    def mute(self, on: bool) -> None:  # noqa: FBT001 - as in the port
        """Silence everything or undo it, now and after each rest."""
        self._muted = on
        if self._inner is not None:
            self._inner.mute(on)

    def status(self) -> SoundStatus:
        """How the player stands; also where a rest begins that is due."""
        if self._inner is None:
            return _ASLEEP
        if self._clock() - self._needed_until_s > REST_AFTER_S:
            self._rest()
            return _ASLEEP
        return self._inner.status()

    def reports(self) -> list[SoundReport]:
        """What the player reported."""
        return [] if self._inner is None else self._inner.reports()

    def close(self) -> None:
        """End it for good."""
        self._closed = True
        inner, self._inner = self._inner, None
        if inner is not None:
            inner.close()

    def _rest(self) -> None:
        inner, self._inner = self._inner, None
        if inner is not None:
            # Closing may take two seconds, and nobody may wait for sound.
            threading.Thread(target=inner.close, name="sound-rest", daemon=True).start()

    def _awake(self) -> SoundPort:
        if self._inner is None:
            self._inner = self._wake()
            for cue, path in self._loaded.items():
                self._inner.load(cue, path)
            if self._volume is not None:
                self._inner.volume(self._volume)
            if self._offset_ms is not None:
                self._inner.offset(self._offset_ms)
            if self._muted is not None:
                self._inner.mute(self._muted)
            self._inner.clear(self._epoch)
        return self._inner
