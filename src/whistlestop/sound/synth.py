"""Turns the recipes of the cues into samples and WAV files.

Owns how a cue sounds: harmonics, edges, level. Knows nothing of devices or times.
Run `python -m whistlestop.sound.synth [FOLDER]` to write every cue as a WAV file.
"""

from __future__ import annotations

import math
import sys
import wave
from array import array
from pathlib import Path

from whistlestop.sound.cues import TONES, CueSound, Tone
from whistlestop.sound.loudness import loudest_window_lkfs

RATE_HZ = 44_100
HARMONICS = (1.0, 0.5, 0.33, 0.2)
"""Strengths of the fundamental and what lies above it."""
HIGHEST_HZ = 7_000
"""Harmonics from here up are left out: small loudspeakers only hiss there."""
ATTACK_MS = 5
RELEASE_MS = 12
LEVEL_LKFS = -7.5
"""Loudest 125 ms of every cue, K-weighted (ITU-R BS.1770)."""
SOFT_LKFS = LEVEL_LKFS - 12.0
"""The same of every soft tone: about half as loud to the ear (common practice)."""
PEAK_LIMIT = 10 ** (-1.0 / 20)
"""-1 dB below full scale, the headroom usual in broadcast (EBU R 128, from memory)."""


def _edge(step: int, steps: int) -> float:
    """Rise as a raised cosine from 0 to 1: no click at either end of a note."""
    return 0.5 - 0.5 * math.cos(math.pi * step / steps)


def _note(tone: Tone) -> list[float]:
    length = RATE_HZ * tone.ms // 1000
    attack = RATE_HZ * ATTACK_MS // 1000
    release = RATE_HZ * RELEASE_MS // 1000
    partials = [
        (2 * math.pi * tone.freq_hz * number / RATE_HZ, strength)
        for number, strength in enumerate(HARMONICS, start=1)
        if tone.freq_hz * number < HIGHEST_HZ
    ]
    samples: list[float] = []
    for index in range(length):
        value = 0.0
        for step, strength in partials:
            value += strength * math.sin(step * index)
        if index < attack:
            value *= _edge(index, attack)
        if index >= length - release:
            value *= _edge(length - 1 - index, release)
        samples.append(value)
    return samples


def render(cue: CueSound) -> array[int]:
    """Synthesise a cue: mono, 16 bit, 44.1 kHz, at LEVEL_LKFS or, if soft, SOFT_LKFS.

    ValueError if the recipe would have to pass PEAK_LIMIT to be that loud.
    """
    raw: list[float] = []
    for position, tone in enumerate(cue.tones, start=1):
        raw.extend(_note(tone))
        if position < len(cue.tones):
            raw.extend([0.0] * (RATE_HZ * tone.gap_ms // 1000))
    level = SOFT_LKFS if cue.soft else LEVEL_LKFS
    gain = 10 ** ((level - loudest_window_lkfs(raw, RATE_HZ)) / 20)
    peak = gain * max(abs(value) for value in raw)
    if peak > PEAK_LIMIT:
        raise ValueError(
            f"cue {cue.name}: needs a peak of {peak:.3f} to be as loud as the "
            f"others, and {PEAK_LIMIT:.3f} is the limit"
        )
    return array("h", (round(value * gain * 32767) for value in raw))


def write_wav(path: Path, samples: array[int]) -> None:
    """Write mono 16-bit samples at 44.1 kHz to a WAV file. OSError as raised."""
    data = array("h", samples)
    if sys.byteorder == "big":
        data.byteswap()
    with path.open("wb") as raw, wave.open(raw, "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(RATE_HZ)
        file.writeframes(data.tobytes())


def read_wav(path: Path) -> array[int]:
    """Read a mono 16-bit WAV file at 44.1 kHz.

    ValueError, in words for people, for any other kind of file or content;
    OSError if it cannot be read.
    """
    try:
        with wave.open(str(path), "rb") as file:
            shape = (file.getnchannels(), file.getsampwidth(), file.getframerate())
            data = file.readframes(file.getnframes())
    except (wave.Error, EOFError) as problem:
        raise ValueError(f"{path.name} is not a WAV file: {problem}") from problem
    if shape != (1, 2, RATE_HZ):
        raise ValueError(
            f"{path.name} has {shape[0]} channel(s), {8 * shape[1]} bit, "
            f"{shape[2]} Hz; 1 channel, 16 bit, {RATE_HZ} Hz is needed"
        )
    samples = array("h")
    samples.frombytes(data[: len(data) // 2 * 2])
    if not samples:
        raise ValueError(f"{path.name} holds no sound")
    if sys.byteorder == "big":
        samples.byteswap()
    return samples


def write_all(folder: Path) -> list[Path]:
    """Write each tone to `<name>.wav` in the folder, which is made if missing."""
    folder.mkdir(parents=True, exist_ok=True)
    paths: list[Path] = []
    for cue in TONES.values():
        path = folder / f"{cue.name}.wav"
        write_wav(path, render(cue))
        paths.append(path)
    return paths


def main(arguments: list[str]) -> int:
    """Entry for `python -m`: 0 done, 1 the folder cannot be written, 2 usage."""
    if len(arguments) > 1 or any(word.startswith("-") for word in arguments):
        print("usage: python -m whistlestop.sound.synth [FOLDER]", file=sys.stderr)
        return 2
    folder = Path(arguments[0] if arguments else "sounds")
    try:
        paths = write_all(folder)
    except OSError as problem:
        print(f"cannot write to {folder}: {problem.strerror}", file=sys.stderr)
        return 1
    print(f"{len(paths)} sounds written to {folder}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
