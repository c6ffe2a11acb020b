"""Measures for cue sounds, written apart from the program's own, with numpy.

K-weighting: ITU-R BS.1770-5, Annex 1, tables 1 and 2 as printed for 48 kHz; the
44.1 kHz signal is brought to 48 kHz rather than the filters to 44.1 kHz.
True peak: four-fold oversampling, as Annex 2 asks.
"""

from __future__ import annotations

import wave
from pathlib import Path

import numpy as np

RATE_HZ = 44_100

# BS.1770 Annex 1: (b0, b1, b2), (a0, a1, a2) at 48 kHz.
SHELF_48K = (
    (1.53512485958697, -2.69169618940638, 1.19839281085285),
    (1.0, -1.69065929318241, 0.73248077421585),
)
HIGH_PASS_48K = ((1.0, -2.0, 1.0), (1.0, -1.99004745483398, 0.99007225036621))


def read(path: Path) -> np.ndarray:
    """Samples scaled to +-1, straight from the file."""
    with wave.open(str(path), "rb") as file:
        assert file.getparams()[:3] == (1, 2, RATE_HZ)
        raw = file.readframes(file.getnframes())
    return np.frombuffer(raw, dtype="<i2").astype(float) / 32768


def resample(signal: np.ndarray, up: int, down: int) -> np.ndarray:
    """Band-limited change of rate by up/down, by zero-padding the spectrum."""
    length = -(-signal.size // down) * down
    padded = np.concatenate([signal, np.zeros(length - signal.size)])
    spectrum = np.fft.rfft(padded)
    return np.fft.irfft(spectrum, length * up // down) * up / down


def k_weighted(signal_48k: np.ndarray) -> np.ndarray:
    """Filter at 48 kHz, in the frequency domain with room for the ringing."""
    size = signal_48k.size + 48_000
    z = np.exp(-1j * 2 * np.pi * np.fft.rfftfreq(size))
    response = np.ones_like(z)
    for b, a in (SHELF_48K, HIGH_PASS_48K):
        response *= (b[0] + b[1] * z + b[2] * z**2) / (a[0] + a[1] * z + a[2] * z**2)
    return np.fft.irfft(np.fft.rfft(signal_48k, size) * response, size)


def loudest_125_ms(signal: np.ndarray) -> float:
    """LKFS of the loudest 125 ms of a 44.1 kHz signal in one channel."""
    at_48k = resample(np.concatenate([signal, np.zeros(RATE_HZ // 2)]), 160, 147)
    power = np.cumsum(k_weighted(at_48k) ** 2)
    window = 6000
    best = np.max(power[window:] - power[:-window])
    return float(-0.691 + 10 * np.log10(max(best, power[window - 1]) / window))


def true_peak_db(signal: np.ndarray) -> float:
    """dBTP."""
    quiet = np.zeros(RATE_HZ // 10)
    return float(
        20 * np.log10(np.max(np.abs(resample(np.r_[quiet, signal, quiet], 4, 1))))
    )


def power_spectrum(signal: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Frequencies in Hz and power, 1 Hz apart."""
    size = 2 * RATE_HZ
    power = np.abs(np.fft.rfft(signal, size)) ** 2
    return np.fft.rfftfreq(size, 1 / RATE_HZ), power


def envelope(signal: np.ndarray, step: int = 220) -> np.ndarray:
    """RMS in steps of 5 ms."""
    whole = signal[: signal.size // step * step].reshape(-1, step)
    return np.sqrt(np.mean(whole**2, axis=1))


def similarity(a: np.ndarray, b: np.ndarray) -> float:
    """Largest normalised cross-correlation over all shifts, 0 to 1."""
    size = 1 << int(np.ceil(np.log2(a.size + b.size)))
    product = np.fft.rfft(a, size) * np.conj(np.fft.rfft(b, size))
    peak = np.max(np.abs(np.fft.irfft(product, size)))
    return float(peak / np.sqrt(np.sum(a**2) * np.sum(b**2)))


def pitch_course(signal: np.ndarray, points: int = 50) -> np.ndarray:
    """Strongest frequency below 2 kHz along the sounding frames, as `points` values."""
    step, window = 441, 1764
    found = []
    floor = 0.25 * np.max(envelope(signal))
    for begin in range(0, max(1, signal.size - window + step), step):
        piece = signal[begin : begin + window]
        if np.sqrt(np.mean(piece**2)) < floor:
            continue
        power = np.abs(np.fft.rfft(piece * np.hanning(piece.size), 16_384))
        limit = 2000 * 16_384 // RATE_HZ
        found.append(np.argmax(power[:limit]) * RATE_HZ / 16_384)
    places = np.linspace(0, len(found) - 1, points)
    return np.array(found)[np.round(places).astype(int)]


def difference(a: np.ndarray, b: np.ndarray) -> float:
    """How unlike two cues are: rhythm, pitch course and length together.

    The root of the sum of squares of (1 - envelope correlation), mean pitch
    difference in octaves and half the length ratio in octaves. Our own score;
    common practice offers none.
    """
    rhythm = 1 - similarity(envelope(a), envelope(b))
    pitch = np.mean(np.abs(np.log2(pitch_course(a) / pitch_course(b))))
    length = 0.5 * np.log2(a.size / b.size)
    return float(np.sqrt(rhythm**2 + pitch**2 + length**2))


def pink(rng: np.random.Generator, size: int) -> np.ndarray:
    """Noise with equal power in each octave, unit variance."""
    spectrum = np.fft.rfft(rng.standard_normal(size))
    spectrum[1:] /= np.sqrt(np.arange(1, spectrum.size))
    spectrum[0] = 0
    noise = np.fft.irfft(spectrum, size)
    return noise / np.std(noise)
