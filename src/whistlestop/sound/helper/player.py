"""Fills one block of the stream: orders in, samples and answers out.

Joins schedule, clock estimate and mixer. Runs on the device's thread and is given
the time; knows no device, no pipe and no file.
"""

from __future__ import annotations

from array import array
from collections import deque
from collections.abc import Mapping

from whistlestop.sound.helper.clock_fit import ClockFit
from whistlestop.sound.helper.lines import (
    Answer,
    At,
    Clear,
    CueDropped,
    CuePlayed,
    Late,
    Now,
    Offset,
    Order,
    Volume,
)
from whistlestop.sound.helper.mixer import Mixer
from whistlestop.sound.helper.schedule import Schedule

LATEST_MS = 150
"""A cue found later than this misleads more than its absence does."""
STALE_NOW_S = 0.5
"""An acknowledgement that could not be played by then is forgotten."""
WIDEST_OFFSET_MS = 300


def gain_of(percent: int) -> float:
    """Amplitude for a volume in percent: the square, so 50 is -12 dB."""
    return (max(0, min(100, percent)) / 100) ** 2


class Player:
    """The sounding half of the helper. `post` may be called from any thread."""

    def __init__(self, sounds: Mapping[str, array[int]], rate_hz: int) -> None:
        self._sounds = sounds
        self._rate_hz = rate_hz
        self._inbox: deque[tuple[Order, float]] = deque()
        self._schedule = Schedule()
        self._offset_s = 0.0
        self.gain = 1.0
        self.answers: deque[Answer] = deque()
        self.failure: BaseException | None = None
        self.begin_stream(0.1, 0.0)

    def begin_stream(self, period_s: float, latency_s: float) -> None:
        """Prepare for a new stream from frame 0; the plan stays.

        Only while no device is asking for blocks. `latency_s` is from the
        device's request to the ear.
        """
        self._latency_s = latency_s
        self._fit = ClockFit(self._rate_hz, period_s)
        self._mixer = Mixer()
        self._mixer.gain = self.gain
        self.blocks = 0
        self.last_block_s: float | None = None

    @property
    def resets(self) -> int:
        """Fresh starts of the clock estimate in this stream."""
        return self._fit.resets

    def post(self, order: Order, t_s: float) -> None:
        """Leave an order, with the time it came, for the next block."""
        self._inbox.append((order, t_s))

    def block(self, frames: int, t_s: float) -> array[int]:
        """Return the next samples, asked for at `t_s`. Never raises: silence instead.

        The binding would otherwise print a trace and play silence for ever.
        """
        try:
            return self._block(frames, t_s)
        except Exception as problem:  # noqa: BLE001 - see the docstring
            self.failure = problem
            return array("h", bytes(2 * frames))
        finally:
            self.blocks += 1
            self.last_block_s = t_s

    def _block(self, frames: int, t_s: float) -> array[int]:
        self._fit.saw(t_s, self._mixer.frame)
        if self.blocks == 0:
            # The start of a stream was heard to lose its first 30 ms.
            return self._mixer.fill(frames)
        while self._inbox:
            order, came_s = self._inbox.popleft()
            self._obey(order, came_s, t_s)
        self._place(self._mixer.frame + frames)
        return self._mixer.fill(frames)

    def _obey(self, order: Order, came_s: float, t_s: float) -> None:
        match order:
            case At():
                self._schedule.add(order)
            case Clear(epoch):
                self._schedule.clear(epoch)
                self._mixer.cut(epoch)
            case Now(cue) if t_s - came_s <= STALE_NOW_S:
                samples = self._sounds.get(cue)
                if samples is not None:
                    self._sound(samples, self._mixer.frame, None)
            case Volume(percent):
                self.gain = self._mixer.gain = gain_of(percent)
            case Offset(offset_ms):
                ms = max(-WIDEST_OFFSET_MS, min(WIDEST_OFFSET_MS, offset_ms))
                self._offset_s = ms / 1000
            case _:
                pass

    def _place(self, end_frame: int) -> None:
        lead_s = self._latency_s + self._offset_s
        while (cue := self._schedule.next()) is not None:
            exact = self._fit.frame_at(cue.at_s - lead_s)
            if exact is None or round(exact) >= end_frame:
                return
            self._schedule.take()
            self._begin(cue, round(exact))

    def _begin(self, cue: At, frame: int) -> None:
        samples = self._sounds.get(cue.cue)
        late_ms = (self._mixer.frame - frame) * 1000 // self._rate_hz
        if samples is None or late_ms > LATEST_MS:
            self.answers.append(CueDropped(cue.id))
            return
        begun = self._sound(samples, frame, cue.epoch)
        if late_ms > 0:
            self.answers.append(Late(cue.id, late_ms))
        self.answers.append(CuePlayed(cue.id, begun))

    def _sound(self, samples: array[int], frame: int, epoch: int | None) -> int:
        """Begin a sound; the place for an engine that cannot mix to step in."""
        return self._mixer.start(samples, frame, epoch)
