"""The ten cues and the soft tones as files: what they measure, and their recipes.

Limits are those agreed for this project; where a standard stands behind one it
is named. ISO 7731:2003 (danger signals) is quoted from memory.
"""

from __future__ import annotations

import itertools
import subprocess
import sys
from array import array
from pathlib import Path

import numpy as np
import pytest
from tests.sound import measuring as m

from whistlestop.sound import synth
from whistlestop.sound.cues import ALL_TONES, CUES, PACE, TONES, CueSound, Tone
from whistlestop.sound.loudness import loudest_window_lkfs

FOLDER = Path(__file__).resolve().parents[2] / "sounds"
LOUD = [
    "count",
    "go",
    "switch",
    "ten",
    "station_end",
    "loop_end",
    "session_end",
    "pause",
    "resume",
    "effort",
]
SOFT = [
    "pace_down",
    "pace_hold",
    "pace_up",
    "beat",
    "step_left",
    "step_right",
    "step_front",
    "step_back",
]
SIGNALS = {name: m.read(FOLDER / f"{name}.wav") for name in LOUD}
WITH_SOFT = SIGNALS | {name: m.read(FOLDER / f"{name}.wav") for name in SOFT}

each_cue = pytest.mark.parametrize("name", LOUD)
each_soft = pytest.mark.parametrize("name", SOFT)
each_tone = pytest.mark.parametrize("name", [*LOUD, *SOFT])


def test_the_names_are_those_agreed():
    assert list(CUES) == LOUD
    assert list(PACE) == SOFT
    assert list(ALL_TONES) == list(TONES) == [*LOUD, *SOFT]
    assert sorted(p.name for p in FOLDER.iterdir()) == sorted(
        f"{name}.wav" for name in ALL_TONES
    )


def test_the_measure_finds_the_reference_level_of_the_recommendation():
    """BS.1770-5: a 997 Hz sine at full scale in one channel reads -3.01 LKFS."""
    sine = np.sin(2 * np.pi * 997 / m.RATE_HZ * np.arange(m.RATE_HZ))
    assert m.loudest_125_ms(sine) == pytest.approx(-3.01, abs=0.05)
    assert loudest_window_lkfs(sine.tolist(), m.RATE_HZ) == pytest.approx(
        -3.01, abs=0.05
    )


@pytest.mark.parametrize("freq_hz", [60, 200, 659, 1500, 3000, 6000])
def test_the_programs_own_meter_agrees_with_the_printed_filters(freq_hz):
    """Filters at 44.1 kHz against the 48 kHz tables, over the cues' band."""
    tone = 0.5 * np.sin(2 * np.pi * freq_hz / m.RATE_HZ * np.arange(m.RATE_HZ // 2))
    tone *= np.hanning(tone.size)
    ours = loudest_window_lkfs(tone.tolist(), m.RATE_HZ)
    assert ours == pytest.approx(m.loudest_125_ms(tone), abs=0.1)


def test_silence_has_no_level():
    assert loudest_window_lkfs([0.0] * 100, m.RATE_HZ) == -np.inf


@each_tone
def test_files_are_what_the_recipes_make(name, tmp_path):
    synth.write_wav(tmp_path / "made.wav", synth.render(TONES[name]))
    made = (tmp_path / "made.wav").read_bytes()
    assert made == (FOLDER / f"{name}.wav").read_bytes()


@each_cue
def test_loudest_eighth_of_a_second_is_equal(name):
    assert m.loudest_125_ms(SIGNALS[name]) == pytest.approx(-7.5, abs=0.5)


@each_cue
def test_true_peak_leaves_one_decibel(name):
    assert m.true_peak_db(SIGNALS[name]) <= -1.0


@each_cue
def test_energy_lies_where_it_is_heard(name):
    """Main energy 500 to 2500 Hz, and some below 1500 Hz (ISO 7731, memory)."""
    freqs, power = m.power_spectrum(SIGNALS[name])
    whole = np.sum(power)
    assert 500 <= freqs[np.argmax(power)] <= 2500
    assert np.sum(power[(freqs >= 500) & (freqs <= 3000)]) >= 0.75 * whole
    assert np.sum(power[freqs < 1500]) >= 0.25 * whole


@each_cue
def test_length_is_the_nominal_one(name):
    length_ms = SIGNALS[name].size * 1000 / m.RATE_HZ
    assert 60 <= length_ms <= 1100
    assert length_ms == pytest.approx(CUES[name].length_ms, abs=1)


@each_tone
def test_begins_at_once_without_a_click(name):
    """Sound within 1 ms, full strength after 3 to 10 ms, no step anywhere."""
    signal = WITH_SOFT[name]
    assert np.flatnonzero(signal)[0] <= m.RATE_HZ // 1000
    assert abs(signal[0]) < 0.001
    assert abs(signal[-1]) < 0.001
    period = m.RATE_HZ // TONES[name].tones[0].freq_hz + 1
    tops = np.array(
        [np.max(np.abs(signal[i : i + period])) for i in range(m.RATE_HZ // 50)]
    )
    steady = tops[-1]
    reach_90_ms = np.argmax(tops >= 0.9 * steady) * 1000 / m.RATE_HZ
    assert 2 <= reach_90_ms <= 10
    assert np.max(np.abs(np.diff(signal))) < 0.6


@each_tone
def test_carries_no_constant_part(name):
    """DC under -60 dBFS."""
    assert abs(np.mean(WITH_SOFT[name])) < 0.001


@each_soft
def test_soft_tones_lie_12_db_under_the_cues(name):
    assert m.loudest_125_ms(WITH_SOFT[name]) == pytest.approx(-19.5, abs=0.5)
    assert m.true_peak_db(WITH_SOFT[name]) <= -9.0


@each_soft
def test_soft_tones_lie_in_the_band_of_the_cues(name):
    freqs, power = m.power_spectrum(WITH_SOFT[name])
    assert 500 <= freqs[np.argmax(power)] <= 2500
    assert np.sum(power[(freqs >= 500) & (freqs <= 3000)]) >= 0.7 * np.sum(power)


@each_soft
def test_soft_tones_are_short(name):
    """They come between others: pacing 120 ms at most, a called step 400."""
    length_ms = WITH_SOFT[name].size * 1000 / m.RATE_HZ
    assert length_ms <= (400 if name.startswith("step_") else 120)
    assert length_ms == pytest.approx(PACE[name].length_ms, abs=1)


@pytest.mark.parametrize(
    ("a", "b"),
    [pair for pair in itertools.combinations([*LOUD, *SOFT], 2) if pair[1] in SOFT],
)
def test_no_soft_tone_is_taken_for_another_or_for_a_cue(a, b):
    """By the same score as the cues, which does not know loudness at all."""
    assert m.similarity(WITH_SOFT[a], WITH_SOFT[b]) <= 0.45
    assert m.difference(WITH_SOFT[a], WITH_SOFT[b]) >= 0.35


def test_contours_say_which_way():
    """Down and left fall, up and right rise, front is the highest, back the lowest."""

    def ends(name):
        tones = PACE[name].tones
        return tones[0].freq_hz, tones[-1].freq_hz

    for name in ("pace_down", "step_left"):
        first, last = ends(name)
        assert first > 1.4 * last
    for name in ("pace_up", "step_right"):
        first, last = ends(name)
        assert last > 1.4 * first
    courses = {n: m.pitch_course(WITH_SOFT[n]) for n in SOFT if n.startswith("step_")}
    others = [courses["step_left"], courses["step_right"]]
    assert np.min(courses["step_front"]) > max(np.max(c) for c in others)
    assert np.max(courses["step_back"]) < min(np.min(c) for c in others)


@pytest.mark.parametrize(("a", "b"), list(itertools.combinations(LOUD, 2)))
def test_every_pair_is_told_apart(a, b):
    assert m.similarity(SIGNALS[a], SIGNALS[b]) <= 0.45
    assert m.difference(SIGNALS[a], SIGNALS[b]) >= 0.35


@pytest.mark.parametrize(
    ("a", "b"),
    list(itertools.combinations(["count", "go", "switch", "station_end"], 2)),
)
def test_the_four_heard_most_differ_in_rhythm_and_in_pitch(a, b):
    """Without either, one deaf to the other would still know them."""
    tones_a, tones_b = CUES[a].tones, CUES[b].tones
    rhythm_a = [(t.ms, t.gap_ms) for t in tones_a]
    rhythm_b = [(t.ms, t.gap_ms) for t in tones_b]
    assert rhythm_a != rhythm_b
    assert [t.freq_hz for t in tones_a] != [t.freq_hz for t in tones_b]
    longest = max(SIGNALS[a].size, SIGNALS[b].size)
    padded = [np.pad(SIGNALS[n], (0, longest - SIGNALS[n].size)) for n in (a, b)]
    env_a, env_b = (m.envelope(p) > 0.1 for p in padded)
    assert np.mean(env_a != env_b) > 0.15


def test_none_is_an_evacuation_signal():
    """ISO 8201: three pulses of half a second and a long gap (memory)."""
    for cue in TONES.values():
        half_seconds = [t for t in cue.tones if 400 <= t.ms <= 600]
        assert len(half_seconds) < 3


def test_none_is_a_burst_of_a_medical_alarm():
    """IEC 60601-1-8, from memory: pulses and the spaces between them, in ms.

    Medium priority: three of 125 to 250, spaces of 125 to 250; high priority: five
    of 75 to 200, spaces of 50 to 125.
    """

    def is_burst(tones, count, pulse, space):
        return len(tones) >= count and all(
            pulse[0] <= one.ms <= pulse[1] and space[0] <= one.gap_ms <= space[1]
            for one in tones[: count - 1]
        )

    medium = (Tone(660, 150, 150), Tone(660, 150, 150), Tone(660, 150))
    assert is_burst(medium, 3, (125, 250), (125, 250))
    for cue in TONES.values():
        assert not is_burst(cue.tones, 3, (125, 250), (125, 250)), cue.name
        assert not is_burst(cue.tones, 5, (75, 200), (50, 125)), cue.name


@pytest.mark.slow
def test_found_and_named_in_noise_as_loud_as_four_times_the_cue():
    """A matched-filter listener at -6 dB in pink noise: an upper bound for people.

    Whitened filter bank, threshold at 1 % false alarms, fixed seed.
    """
    rng = np.random.default_rng(20250)
    size = 1 << 16
    white = np.sqrt(np.arange(size // 2 + 1))
    spectra = {}
    for name, signal in SIGNALS.items():
        spectrum = np.fft.rfft(signal, size) * white
        spectra[name] = spectrum / np.sqrt(np.sum(np.abs(spectrum) ** 2))

    def scores(heard):
        seen = np.fft.rfft(heard) * white
        return {
            name: np.max(np.abs(np.fft.irfft(seen * np.conj(s), size)))
            for name, s in spectra.items()
        }

    alarms = [max(scores(m.pink(rng, size)).values()) for _ in range(100)]
    threshold = np.quantile(alarms, 0.99)
    found = named = 0
    for name, signal in SIGNALS.items():
        for _ in range(20):
            noise = m.pink(rng, size) * np.sqrt(np.mean(signal**2)) * 10 ** (6 / 20)
            begin = int(rng.integers(0, size - signal.size))
            noise[begin : begin + signal.size] += signal
            scale = np.sqrt(np.mean(signal**2)) * 10 ** (6 / 20)
            marks = scores(noise / scale)
            found += max(marks.values()) > threshold
            named += max(marks, key=marks.get) == name
    assert found >= 198
    assert named >= 198


def test_a_recipe_that_cannot_be_that_loud_is_refused():
    with pytest.raises(ValueError, match=r"too_low.*limit"):
        synth.render(CueSound("too_low", "Cannot be.", (Tone(40, 60),)))


class TestReading:
    def test_gives_back_what_was_written(self, tmp_path):
        samples = array("h", [0, 1, -1, 32767, -32768])
        synth.write_wav(tmp_path / "a.wav", samples)
        assert synth.read_wav(tmp_path / "a.wav") == samples

    def test_refuses_what_is_no_wav(self, tmp_path):
        (tmp_path / "a.wav").write_bytes(b"hello")
        with pytest.raises(ValueError, match=r"a\.wav is not a WAV file"):
            synth.read_wav(tmp_path / "a.wav")

    def test_refuses_another_rate(self, tmp_path):
        data = (FOLDER / "go.wav").read_bytes()
        other = data.replace((44_100).to_bytes(4, "little"), b"\x22\x56\x00\x00", 1)
        (tmp_path / "a.wav").write_bytes(other)
        with pytest.raises(ValueError, match="22050 Hz; 1 channel, 16 bit, 44100"):
            synth.read_wav(tmp_path / "a.wav")

    def test_refuses_an_empty_one(self, tmp_path):
        synth.write_wav(tmp_path / "a.wav", array("h"))
        with pytest.raises(ValueError, match="holds no sound"):
            synth.read_wav(tmp_path / "a.wav")


class TestCommand:
    def run(self, *arguments):
        return subprocess.run(
            [sys.executable, "-m", "whistlestop.sound.synth", *arguments],
            capture_output=True,
            text=True,
            check=False,
            env={"PYTHONPATH": str(FOLDER.parent / "src")},
        )

    def test_writes_all_tones(self, tmp_path):
        done = self.run(str(tmp_path / "new"))
        assert (done.returncode, done.stderr) == (0, "")
        assert len(list((tmp_path / "new").glob("*.wav"))) == 18

    def test_says_why_it_cannot_write(self, tmp_path):
        (tmp_path / "file").touch()
        done = self.run(str(tmp_path / "file"))
        assert done.returncode == 1
        assert done.stderr.startswith("cannot write to ")
        assert "Traceback" not in done.stderr

    def test_explains_its_use(self):
        assert self.run("--help").returncode == 2
