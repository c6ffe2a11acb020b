"""Speech as it comes from an engine, shaped to stand beside the cue tones.

Loudness and true peak are measured apart from the program, with numpy, as ITU-R
BS.1770-5 prints them; the speech here is made up of harmonics in syllables.
"""

from __future__ import annotations

from array import array
from itertools import pairwise

import numpy as np
import pytest
from tests.sound.measuring import RATE_HZ, k_weighted, resample, true_peak_db

from whistlestop.sound.voice.shape import shaped

RAW_HZ = 22_050


def integrated_lufs(signal: np.ndarray) -> float:
    """Gated loudness of one channel at 44.1 kHz (BS.1770-5, Annex 1).

    A sound shorter than one 400 ms block is measured as if silence followed.
    """
    weighted = k_weighted(resample(signal, 160, 147))[: signal.size * 160 // 147]
    weighted = np.r_[weighted, np.zeros(max(0, 19_200 - weighted.size))]
    begins = range(0, weighted.size - 19_200 + 1, 4_800)
    power = np.array([np.mean(weighted[b : b + 19_200] ** 2) for b in begins])

    def level(mean):
        return -0.691 + 10 * np.log10(mean)

    power = power[level(power + 1e-12) > -70]
    return float(level(np.mean(power[level(power) > level(np.mean(power)) - 10])))


def scaled(samples: array[int]) -> np.ndarray:
    return np.array(samples, dtype=float) / 32768


def speech(seconds: float, peak: float, pitch_hz: float = 110.0) -> np.ndarray:
    """A voice-like buzz: two formants, four syllables a second, a slow fall."""
    time = np.arange(int(seconds * RAW_HZ)) / RAW_HZ
    buzz = np.zeros(time.size)
    for hz in np.arange(pitch_hz, 5000, pitch_hz):
        first, second = (np.exp(-(((hz - f) / 250) ** 2)) for f in (500, 1500))
        strength = 1.0 * first + 0.75 * second + 0.1 * 500 / hz
        buzz += strength * np.sin(2 * np.pi * hz * time + hz)
    syllables = np.sin(np.pi * 4 * time) ** 2 * (1 - 0.5 * time / seconds)
    wave = buzz * syllables
    return peak * wave / np.max(np.abs(wave))


def raw(signal: np.ndarray) -> array[int]:
    return array("h", np.round(signal * 32767).astype(int).tolist())


def test_the_meter_of_these_tests_reads_a_full_scale_sine_as_published():
    """BS.1770-5, Annex 1: 0 dBFS at 997 Hz in one channel reads -3.01 LKFS."""
    time = np.arange(3 * RATE_HZ) / RATE_HZ
    assert integrated_lufs(np.sin(2 * np.pi * 997 * time)) == pytest.approx(
        -3.01, abs=0.03
    )


@pytest.mark.parametrize("pitch_hz", [85.0, 110.0, 210.0])
def test_the_made_up_speech_spreads_its_energy_like_the_engine_does(pitch_hz):
    """64 % lay between 500 and 3000 Hz in the engine's own speech (measured)."""
    wave = speech(1.0, 1.0, pitch_hz)
    power = np.abs(np.fft.rfft(wave)) ** 2
    hz = np.fft.rfftfreq(wave.size, 1 / RAW_HZ)
    share = np.sum(power[(hz >= 500) & (hz <= 3000)]) / np.sum(power)
    assert 0.54 <= share <= 0.74


@pytest.mark.parametrize("seconds", [0.35, 1.0, 2.9])
@pytest.mark.parametrize("peak", [0.02, 0.4, 1.0])
@pytest.mark.parametrize("pitch_hz", [85.0, 210.0])
def test_any_sentence_comes_out_as_loud_as_the_others(seconds, peak, pitch_hz):
    """-13 to -11 LUFS beside the tones, whatever level the engine gave."""
    out = scaled(shaped(raw(speech(seconds, peak, pitch_hz)), RAW_HZ))
    assert -13.0 <= integrated_lufs(out) <= -11.0
    assert -2.0 < true_peak_db(out) <= -1.0


def test_the_true_peak_holds_for_a_wave_that_peaks_between_its_samples():
    """A quarter-rate sine caught at 45 degrees shows only 0.707 of its height."""
    time = np.arange(RATE_HZ) / RATE_HZ
    caught = 0.7 * np.sin(2 * np.pi * (RATE_HZ / 4) * time + np.pi / 4)
    out = scaled(shaped(raw(caught), RATE_HZ))
    assert true_peak_db(out) <= -1.0


def test_silence_at_both_ends_is_cut_to_20_ms():
    inner = speech(1.0, 0.5)
    quiet = np.zeros(RAW_HZ // 2)
    out = scaled(shaped(raw(np.r_[quiet, inner, quiet]), RAW_HZ))
    loud = np.flatnonzero(np.abs(out) > 0.01)
    # The buzz itself starts and ends softly, over some milliseconds.
    assert 20 <= loud[0] / RATE_HZ * 1000 <= 40
    assert 20 <= (out.size - loud[-1]) / RATE_HZ * 1000 <= 40
    assert abs(out.size / RATE_HZ - 1.04) < 0.03


def test_speech_that_begins_and_ends_at_once_gets_its_20_ms_all_the_same():
    out = shaped(raw(np.full(RAW_HZ, 0.5)), RAW_HZ)
    assert len(out) == 2 * (RAW_HZ + 2 * 441)
    assert not any(out[: 2 * 441 - 8])
    assert not any(out[-2 * 441 + 8 :])


def test_a_click_at_the_very_end_is_faded():
    """Both ends start from nothing even where the kept 20 ms hold hum."""
    hum = 0.003 * np.ones(RAW_HZ // 4)
    out = shaped(raw(np.r_[hum, speech(1.0, 1.0), hum]), RAW_HZ)
    assert out[0] == out[-1] == 0
    assert max(abs(a - b) for a, b in pairwise(out[:220])) < 60


def test_doubling_the_rate_keeps_pitch_and_length():
    time = np.arange(RAW_HZ) / RAW_HZ
    out = scaled(shaped(raw(0.9 * np.sin(2 * np.pi * 440 * time)), RAW_HZ))
    spectrum = np.abs(np.fft.rfft(out * np.hanning(out.size)))
    found_hz = np.argmax(spectrum) * RATE_HZ / out.size
    assert abs(found_hz - 440) < 2
    assert abs(out.size / RATE_HZ - 1.04) < 0.002


@pytest.mark.parametrize("tone_hz", [300, 2000, 5000])
def test_doubling_leaves_no_image_above_half_the_old_rate(tone_hz):
    """A tone's mirror at 22,050 Hz less its own lies 40 dB under it."""
    time = np.arange(RAW_HZ) / RAW_HZ
    out = scaled(shaped(raw(0.9 * np.sin(2 * np.pi * tone_hz * time)), RAW_HZ))
    spectrum = np.abs(np.fft.rfft(out * np.hanning(out.size)))

    def strength(hz):
        place = round(hz * out.size / RATE_HZ)
        return np.max(spectrum[place - 3 : place + 4])

    assert strength(tone_hz) > 100 * strength(RAW_HZ - tone_hz)


@pytest.mark.parametrize(
    ("samples", "rate_hz", "words"),
    [
        (array("h"), RAW_HZ, "silence"),
        (array("h", [0] * 5000), RAW_HZ, "silence"),
        (array("h", [9] * 100), 16_000, "16000 Hz"),
        (array("h", [9] * (15 * RAW_HZ + 1)), RAW_HZ, "more than 15 s"),
    ],
)
def test_what_cannot_be_shaped_is_said_in_text(samples, rate_hz, words):
    with pytest.raises(ValueError, match=words):
        shaped(samples, rate_hz)


@pytest.mark.parametrize("samples", [[30_000], [-32_768], [1, -2, 3], [32_767] * 9])
def test_a_few_samples_are_shaped_too(samples):
    out = shaped(array("h", samples), RAW_HZ)
    assert max(map(abs, out)) <= 32767 * 10 ** (-1 / 20) + 1
