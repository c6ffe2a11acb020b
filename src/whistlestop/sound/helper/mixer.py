"""Adds sounds to a stream of silence, each at its exact frame.

Owns samples in flight. Reads no clock: frames are resolved before they get here.
"""

from __future__ import annotations

from array import array
from dataclasses import dataclass

FADE_FRAMES = 512
"""About 12 ms at 44.1 kHz: what is withdrawn while sounding ends without a click."""


@dataclass
class _Voice:
    samples: array[int]
    first_frame: int
    epoch: int | None


class Mixer:
    """A mono 16-bit stream. `frame` is the number of frames handed out so far."""

    def __init__(self) -> None:
        self.frame = 0
        self.gain = 1.0
        self._voices: list[_Voice] = []
        self._silence = array("h")

    def start(self, samples: array[int], frame: int, epoch: int | None) -> int:
        """Let a sound begin at `frame`, or at once if that has passed.

        Returns the frame it begins at. Epoch None: `cut` leaves it alone.
        """
        first = max(frame, self.frame)
        self._voices.append(_Voice(samples, first, epoch))
        return first

    def cut(self, before_epoch: int) -> None:
        """Withdraw sounds of older epochs; one that is sounding fades in 12 ms."""
        kept: list[_Voice] = []
        for voice in self._voices:
            if voice.epoch is None or voice.epoch >= before_epoch:
                kept.append(voice)
            elif voice.first_frame < self.frame:
                done = self.frame - voice.first_frame
                tail = voice.samples[done : done + FADE_FRAMES]
                faded = (
                    s * (FADE_FRAMES - i) // FADE_FRAMES for i, s in enumerate(tail)
                )
                kept.append(_Voice(array("h", faded), self.frame, before_epoch))
        self._voices = kept

    def fill(self, frames: int) -> array[int]:
        """Hand out `frames` samples; the caller must not keep or change them."""
        begin, end = self.frame, self.frame + frames
        self.frame = end
        if not any(voice.first_frame < end for voice in self._voices):
            return self._quiet(frames)
        out = array("h", bytes(2 * frames))
        kept: list[_Voice] = []
        for voice in self._voices:
            if voice.first_frame < end:
                self._add(out, voice, begin)
            if voice.first_frame + len(voice.samples) > end:
                kept.append(voice)
        self._voices = kept
        return out

    def _quiet(self, frames: int) -> array[int]:
        if len(self._silence) != frames:
            self._silence = array("h", bytes(2 * frames))
        return self._silence

    def _add(self, out: array[int], voice: _Voice, begin: int) -> None:
        offset = max(0, voice.first_frame - begin)
        done = max(0, begin - voice.first_frame)
        gain = self.gain
        piece = voice.samples[done : done + len(out) - offset]
        for index, sample in enumerate(piece, start=offset):
            mixed = out[index] + int(sample * gain)
            out[index] = max(-32768, min(32767, mixed))
