"""Sounds land on their exact frame, whatever the blocks; silence is cheap."""

from __future__ import annotations

from array import array
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from whistlestop.sound.helper.mixer import FADE_FRAMES, Mixer


def play(mixer, blocks):
    out = []
    for size in blocks:
        block = mixer.fill(size)
        assert len(block) == size
        out.extend(block)
    return out


def samples(*values):
    return array("h", values)


@given(
    frame=st.integers(0, 300),
    blocks=st.lists(st.integers(0, 97), min_size=1, max_size=12),
)
def test_one_sound_is_placed_to_the_frame_however_blocks_fall(frame, blocks):
    sound = samples(*range(1, 60))
    mixer = Mixer()
    mixer.start(sound, frame, 1)
    heard = play(mixer, blocks)
    expected = ([0] * frame + list(sound) + [0] * 2000)[: len(heard)]
    assert heard == expected


@given(
    starts=st.lists(st.integers(0, 200), max_size=2),
    blocks=st.lists(st.integers(1, 64), min_size=1, max_size=10),
)
def test_overlapping_sounds_add_up_and_clip(starts, blocks):
    sound = samples(*([20_000, -20_000] * 15))
    mixer = Mixer()
    for frame in starts:
        mixer.start(sound, frame, 1)
    heard = play(mixer, blocks)
    sums = [0] * 3000
    for frame in starts:
        for index, value in enumerate(sound):
            sums[frame + index] += value
    clipped = [max(-32768, min(32767, value)) for value in sums]
    assert heard == clipped[: len(heard)]


def test_a_start_in_the_past_is_a_start_now():
    mixer = Mixer()
    mixer.fill(100)
    assert mixer.start(samples(5, 6), 40, 1) == 100
    assert list(mixer.fill(3)) == [5, 6, 0]


def test_nothing_sounds_twice():
    mixer = Mixer()
    mixer.start(samples(7), 1, 1)
    assert play(mixer, [3, 3, 3]) == [0, 7, 0, 0, 0, 0, 0, 0, 0]


def test_cut_withdraws_older_epochs_that_have_not_begun():
    mixer = Mixer()
    mixer.start(samples(1), 2, 1)
    mixer.start(samples(2), 3, 2)
    mixer.cut(2)
    assert list(mixer.fill(5)) == [0, 0, 0, 2, 0]


def test_cut_fades_what_is_sounding_without_a_click():
    mixer = Mixer()
    mixer.start(samples(*[10_000] * 5000), 0, 1)
    mixer.fill(100)
    mixer.cut(2)
    tail = play(mixer, [300, 300, 300])
    assert tail[0] == 10_000
    steps = [abs(b - a) for a, b in pairwise(tail)]
    assert max(steps) <= 10_000 // FADE_FRAMES + 1
    assert set(tail[FADE_FRAMES:]) == {0}


def test_cut_spares_acknowledgements():
    mixer = Mixer()
    mixer.start(samples(9), 0, None)
    mixer.cut(100)
    assert list(mixer.fill(1)) == [9]


def test_gain_scales_and_zero_silences():
    mixer = Mixer()
    mixer.start(samples(1000, 1000), 0, 1)
    mixer.gain = 0.25
    assert list(mixer.fill(1)) == [250]
    mixer.gain = 0.0
    assert list(mixer.fill(1)) == [0]


def test_silence_is_one_block_used_again():
    mixer = Mixer()
    assert mixer.fill(50) is mixer.fill(50)
    assert mixer.frame == 100
