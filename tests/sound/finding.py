"""Where in a recording a sound is, and how often, by normalised matched filter."""

from __future__ import annotations

from functools import cache

import numpy as np

from whistlestop.sound.cues import TONES
from whistlestop.sound.synth import render


@cache
def tone_wave(name: str) -> np.ndarray:
    """A tone as it is sent; made when a test asks, since most runs hear nothing."""
    return np.array(render(TONES[name]), dtype=float)


def find(
    heard: np.ndarray, wave: np.ndarray, near: int, reach: int = 11_025
) -> tuple[int, float]:
    """Frame and correlation of a sound within `reach` frames of `near`."""
    begin = max(0, near - reach)
    part = heard[begin : near + reach + wave.size]
    size = 1 << (part.size + wave.size).bit_length()
    spectrum = np.fft.rfft(part, size) * np.conj(np.fft.rfft(wave, size))
    products = np.fft.irfft(spectrum, size)[: part.size - wave.size + 1]
    energy = np.cumsum(np.r_[0.0, part**2])
    norms = np.sqrt((energy[wave.size :] - energy[: -wave.size]) * np.sum(wave**2))
    scores = products / np.maximum(norms, 1)
    best = int(np.argmax(scores))
    return begin + best, float(scores[best])


def heard_times(heard: np.ndarray, wave: np.ndarray) -> int:
    """How often a sound is heard whole."""
    count = 0
    loud = np.flatnonzero(np.abs(heard) > 50)
    while loud.size:
        _, score = find(heard, wave, int(loud[0]), 600)
        count += score >= 0.98
        loud = loud[loud > loud[0] + wave.size]
    return count
