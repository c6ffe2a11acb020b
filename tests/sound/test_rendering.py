"""A session written as one WAV file: every sound at its exact frame."""

from __future__ import annotations

import wave
from array import array

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.support.plans import FEW

from whistlestop.errors import StoreError
from whistlestop.sound.rendering import frame_of, render_wav
from whistlestop.sound.soundtrack import Heard, Layer

SAMPLES = {"one": array("h", [100, 200, 300]), "long": array("h", [7] * 9_000)}


def read(path):
    with wave.open(str(path), "rb") as file:
        assert file.getparams()[:3] == (1, 2, 44_100)
        return np.frombuffer(file.readframes(file.getnframes()), dtype="<i2")


def at(ms, name="one", sound=""):
    return Heard(ms, Layer.CUE, name, 1, sound)


@pytest.mark.parametrize(
    ("at_ms", "frame"), [(0, 0), (1, 44), (10, 441), (1_000, 44_100), (999, 44_055)]
)
def test_a_moment_is_the_frame_that_runs_then(at_ms, frame):
    """44.1 frames a ms, cut to whole ones (arithmetic)."""
    assert frame_of(at_ms) == frame


@pytest.mark.parametrize("at_ms", [0, 1, 99, 100, 101, 4_321])
def test_each_sound_begins_at_its_frame_and_nothing_else_sounds(tmp_path, at_ms):
    path = tmp_path / "out.wav"
    assert render_wav(path, [at(at_ms)], SAMPLES, length_ms=5_000) == 1
    heard = read(path)
    frame = at_ms * 44_100 // 1000
    assert list(heard[frame : frame + 3]) == [100, 200, 300]
    assert np.count_nonzero(heard) == 3


def test_the_file_is_as_long_as_the_session_and_a_short_tail(tmp_path):
    path = tmp_path / "out.wav"
    render_wav(path, [], SAMPLES, length_ms=12_345)
    assert read(path).size == (12_345 + 1_500) * 44_100 // 1000


@FEW
@given(
    st.lists(
        st.tuples(st.integers(0, 3_000), st.sampled_from(["one", "long"])), max_size=20
    )
)
def test_the_file_is_the_sum_of_its_sounds(tmp_path_factory, wanted):
    """Against plain addition, wherever blocks of the mixer fall."""
    path = tmp_path_factory.mktemp("sum") / "out.wav"
    heard = sorted(at(ms, name) for ms, name in wanted)
    assert render_wav(path, heard, SAMPLES, length_ms=3_000) == len(wanted)
    expected = np.zeros(4_500 * 44_100 // 1000, dtype=int)
    for ms, name in wanted:
        frame = ms * 44_100 // 1000
        expected[frame : frame + len(SAMPLES[name])] += SAMPLES[name]
    assert np.array_equal(read(path), expected)


def test_a_sentence_is_found_by_its_name_in_the_player(tmp_path):
    path = tmp_path / "out.wav"
    text = Heard(0, Layer.VOICE, "Next: row.", 1, "one")
    assert render_wav(path, [text], SAMPLES, length_ms=100) == 1
    assert list(read(path)[:3]) == [100, 200, 300]


def test_what_has_no_samples_is_not_counted(tmp_path):
    path = tmp_path / "out.wav"
    heard = [at(0), at(10, "unknown"), at(20)]
    assert render_wav(path, heard, SAMPLES, length_ms=100) == 2


def test_a_file_that_is_there_is_replaced(tmp_path):
    path = tmp_path / "out.wav"
    path.write_bytes(b"x" * 10**6)
    render_wav(path, [], SAMPLES, length_ms=0)
    assert read(path).size == 1_500 * 44_100 // 1000


@pytest.mark.parametrize("name", ["no/such/folder.wav", "."])
def test_a_place_that_cannot_be_written_is_told(tmp_path, name):
    with pytest.raises(StoreError, match="cannot write"):
        render_wav(tmp_path / name, [], SAMPLES, length_ms=0)
