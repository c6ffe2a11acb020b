"""A whole session's sound as one WAV file, by the mixer that plays it live."""

from __future__ import annotations

import sys
import wave
from array import array
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Final

from whistlestop.errors import StoreError
from whistlestop.files import private
from whistlestop.sound.helper.mixer import Mixer
from whistlestop.sound.soundtrack import Heard
from whistlestop.sound.synth import RATE_HZ

BLOCK_FRAMES: Final = RATE_HZ // 10
TAIL_MS: Final = 1_500


def frame_of(at_ms: int) -> int:
    """The frame of a moment, at 44.1 kHz, to the nearest below."""
    return at_ms * RATE_HZ // 1000


def render_wav(
    path: Path,
    heard: Sequence[Heard],
    samples: Mapping[str, array[int]],
    *,
    length_ms: int,
) -> int:
    """Write what is heard to a WAV file: mono, 16 bit, 44.1 kHz.

    Args:
        path: The file; one that is there is replaced.
        heard: The sounds in order of time, in ms from the start.
        samples: The samples of each sound, by its name in the player.
        length_ms: Length of the session; a short tail of silence follows.

    Returns:
        How many sounds were written.

    Raises:
        StoreError: The file cannot be written.
    """
    mixer = Mixer()
    waiting = [one for one in heard if one.player_name in samples]
    total = frame_of(length_ms + TAIL_MS)
    try:
        # Given a path it cannot open, the writer would complain to the terminal.
        with (
            open(path, "wb", opener=private) as raw,
            wave.open(raw, "wb") as file,
        ):
            file.setnchannels(1)
            file.setsampwidth(2)
            file.setframerate(RATE_HZ)
            for end in range(BLOCK_FRAMES, total + BLOCK_FRAMES, BLOCK_FRAMES):
                while waiting and frame_of(waiting[0].at_ms) < end:
                    one = waiting.pop(0)
                    mixer.start(samples[one.player_name], frame_of(one.at_ms), None)
                block = mixer.fill(min(BLOCK_FRAMES, total - mixer.frame))
                if sys.byteorder == "big":
                    block = array("h", block)
                    block.byteswap()
                file.writeframes(block.tobytes())
    except OSError as error:
        reason = error.strerror or "the disk refused"
        raise StoreError(f"cannot write {path.name}: {reason}") from None
    return sum(one.player_name in samples for one in heard)
