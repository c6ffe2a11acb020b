"""simpleaudio as an engine inside the helper, for CPython below 3.12 and on request.

It opens the device again for each sound and cannot plan, so a cue is as exact as
this thread's waking (about 10 ms). On later CPythons it ends the process with a
segmentation fault after the first sound, hence the refusal.
"""

from __future__ import annotations

import importlib
import sys
import threading
from array import array
from collections.abc import Mapping
from typing import Any

from whistlestop.errors import AudioLibraryError
from whistlestop.sound.helper.engine import Clock
from whistlestop.sound.helper.player import Player

STEP_S = 0.01


class _OneShotPlayer(Player):
    """Places cues like any player, but hands each to the library whole."""

    def __init__(
        self, library: Any, sounds: Mapping[str, array[int]], rate_hz: int
    ) -> None:
        super().__init__(sounds, rate_hz)
        self._library = library

    def _sound(
        self,
        samples: array[int],
        frame: int,
        epoch: int | None,  # noqa: ARG002 - what has begun cannot be withdrawn
    ) -> int:
        loud = array("h", (int(sample * self.gain) for sample in samples))
        self._library.play_buffer(loud.tobytes(), 1, 2, self._rate_hz)
        return max(frame, self._mixer.frame)


class SimpleaudioEngine:
    """An Engine that asks its player for 10 ms at a time and mixes nothing."""

    def __init__(
        self, sounds: Mapping[str, array[int]], rate_hz: int, clock: Clock
    ) -> None:
        if sys.version_info >= (3, 12):
            raise AudioLibraryError(
                "simpleaudio cannot be used with Python 3.12 or later."
            )
        try:
            library = importlib.import_module("simpleaudio")
        except (ImportError, OSError) as problem:
            raise AudioLibraryError(
                f"simpleaudio cannot be used: {problem}"
            ) from problem
        self.player: Player = _OneShotPlayer(library, sounds, rate_hz)
        self.backend = "simpleaudio"
        self.latency_ms = 0
        self.period_s = STEP_S
        self._rate_hz = rate_hz
        self._clock = clock
        self._library = library
        self._ended: threading.Event | None = None

    def open(self) -> None:
        """Start the thread. The library itself opens a device only per sound."""
        self.player.begin_stream(STEP_S, 0.0)
        self._ended = threading.Event()
        threading.Thread(target=self._run, args=(self._ended,), daemon=True).start()

    def _run(self, ended: threading.Event) -> None:
        begun_s, handed = self._clock(), 0
        while not ended.wait(STEP_S):
            now_s = self._clock()
            due = int((now_s - begun_s) * self._rate_hz) - handed
            self.player.block(due, now_s)
            handed += due

    def close(self) -> None:
        """End the thread and what sounds."""
        if self._ended is not None:
            self._ended.set()
            self._library.stop_all()
            self._ended = None
