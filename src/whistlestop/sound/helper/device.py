"""The miniaudio binding, and nothing else: open, start, close, leak nothing.

The only module that imports it. Knows no cues; it asks a player for blocks.
"""

from __future__ import annotations

import importlib
import sys
from array import array
from collections.abc import Generator, Sequence
from contextlib import suppress
from typing import Any, Protocol, TypeAlias, cast

from whistlestop.errors import AudioLibraryError, DeviceError
from whistlestop.sound.helper.engine import Clock
from whistlestop.sound.helper.player import Player

PERIOD_MS = 100
"""Below 20 ms cues are lost on two busy cores; 200 ms gains nothing here."""
PULSE_SHARE = 0.66
"""Request to ear in periods with PulseAudio, measured; others hold two periods."""
BACKENDS = ("pulse", "alsa", "jack", "coreaudio", "wasapi")
"""What may be asked for by name; usually none is, and the library chooses."""

Blocks: TypeAlias = "Generator[array[int], int, None]"


class _Device(Protocol):
    """The part of the binding's PlaybackDevice used here."""

    backend: str

    def start(self, callback_generator: Blocks) -> None: ...

    def close(self) -> None: ...


def latency_ms(backend: str, period_ms: int) -> int:
    """Milliseconds from the device asking for a block to hearing it begin."""
    if backend == "PulseAudio":
        return round(PULSE_SHARE * period_ms)
    return 2 * period_ms


def _library() -> Any:
    """Return the binding; AudioLibraryError if it cannot be imported."""
    # The binding imports numpy where it finds it, for 16 MB and no use here.
    sys.modules.setdefault("numpy", cast(Any, None))
    try:
        return importlib.import_module("miniaudio")
    except (ImportError, OSError) as problem:
        raise AudioLibraryError(
            f"The audio library cannot be used: {problem}"
        ) from problem


def _blocks(player: Player, clock: Clock) -> Blocks:
    """Answer the frame counts the binding sends with samples."""
    frames = yield array("h")
    while True:
        frames = yield player.block(frames, clock())


class MiniaudioEngine:
    """An Engine on miniaudio with the default output, or a named backend's."""

    def __init__(
        self, player: Player, rate_hz: int, clock: Clock, backend: str = ""
    ) -> None:
        self.player = player
        self.backend = ""
        self.latency_ms = 0
        self.period_s = PERIOD_MS / 1000
        self._rate_hz = rate_hz
        self._clock = clock
        self._wanted = backend
        self._binding = _library()
        self._device: _Device | None = None

    def _backends(self) -> Sequence[object]:
        if not self._wanted:
            return []
        name = {"pulse": "PULSEAUDIO"}.get(self._wanted, self._wanted.upper())
        try:
            return [getattr(self._binding.Backend, name)]
        except AttributeError:
            raise DeviceError(f"There is no sound system {self._wanted}.") from None

    def open(self) -> None:
        """Start a stream on the system's default output. DeviceError if it fails."""
        binding = self._binding
        # Made without its constructor so that a context can be given back
        # even when the constructor fails half-way.
        device = binding.PlaybackDevice.__new__(binding.PlaybackDevice)
        try:
            device.__init__(
                binding.SampleFormat.SIGNED16,
                nchannels=1,
                sample_rate=self._rate_hz,
                buffersize_msec=PERIOD_MS,
                backends=self._backends(),
                app_name="whistlestop",
            )
            # Without any sound system the library plays into nothing, and
            # calls it success.
            if device.backend == "Null":
                raise DeviceError("No sound system was found.")
            self.backend = device.backend.replace(" ", "_")
            self.latency_ms = latency_ms(self.backend, PERIOD_MS)
            self.player.begin_stream(self.period_s, self.latency_ms / 1000)
            blocks = _blocks(self.player, self._clock)
            next(blocks)
            device.start(blocks)
        except binding.MiniaudioError as problem:
            self._release(device)
            text = " ".join(str(part) for part in problem.args)
            raise DeviceError(f"No sound device could be opened ({text}).") from problem
        except DeviceError:
            self._release(device)
            raise
        self._device = device

    def close(self) -> None:
        """End the stream; an open one would keep the interpreter from leaving."""
        device, self._device = self._device, None
        if device is not None:
            self._release(device)

    def _release(self, device: Any) -> None:
        with suppress(Exception):
            device.close()
        # The binding keeps its context: five descriptors an opening, and the
        # 64th opening fails. A private name, so its absence is no error.
        with suppress(Exception):
            self._binding.lib.ma_context_uninit(device._context)  # noqa: SLF001
