"""Orders in, samples out: placement, lateness, epochs, and no exception ever."""

from __future__ import annotations

from array import array

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.support.examples import examples

from whistlestop.sound.helper.lines import (
    At,
    Clear,
    CueDropped,
    CuePlayed,
    Late,
    Now,
    Offset,
    Volume,
)
from whistlestop.sound.helper.player import Player, gain_of

RATE_HZ = 44_100
BLOCK = 4410
START_S = 50.0
LATENCY_S = 0.066


class Rig:
    """A player on a perfect device: block n is asked for at START + n periods."""

    def __init__(self):
        self.sounds = {"tick": array("h", [1000] * 20), "go": array("h", [2000] * 40)}
        self.player = Player(self.sounds, RATE_HZ)
        self.player.begin_stream(0.1, LATENCY_S)
        self.asked = 0
        self.heard: list[int] = []

    @property
    def now_s(self):
        return START_S + self.asked * BLOCK / RATE_HZ

    def post(self, order):
        self.player.post(order, self.now_s)

    def run(self, blocks=1):
        for _ in range(blocks):
            self.heard.extend(self.player.block(BLOCK, self.now_s))
            self.asked += 1

    def onsets(self):
        loud = [i for i, v in enumerate(self.heard) if v]
        return [i for i in loud if i == 0 or self.heard[i - 1] == 0]

    def answers(self):
        found = list(self.player.answers)
        self.player.answers.clear()
        return found


def frame_of(at_s):
    """Where a cue belongs on the perfect device."""
    return round((at_s - LATENCY_S - START_S) * RATE_HZ)


def test_a_cue_is_heard_at_its_time_less_the_latency():
    rig = Rig()
    rig.post(At("a", START_S + 1.2345, "tick", 1))
    rig.run(20)
    assert rig.onsets() == [pytest.approx(frame_of(START_S + 1.2345), abs=1)]
    assert rig.answers() == [CuePlayed("a", rig.onsets()[0])]


@settings(max_examples=examples(50), deadline=None)
@given(st.lists(st.integers(200, 4000), min_size=1, max_size=12, unique=True))
def test_every_cue_sounds_once_and_spacing_is_exact(times_ms):
    rig = Rig()
    spaced = sorted(times_ms)
    for number, ms in enumerate(spaced):
        rig.post(At(str(number), START_S + ms / 1000, "tick", 1))
    rig.run(45)
    played = [a for a in rig.answers() if isinstance(a, CuePlayed)]
    assert [a.id for a in played] == [str(n) for n in range(len(spaced))]
    for answer, ms in zip(played, spaced, strict=True):
        assert abs(answer.frame - frame_of(START_S + ms / 1000)) <= 1
        assert rig.heard[answer.frame] != 0


def test_the_same_cue_sent_twice_sounds_once_even_after_it_was_played():
    rig = Rig()
    cue = At("a", START_S + 0.3, "tick", 1)
    rig.post(cue)
    rig.post(cue)
    rig.run(4)
    rig.post(At("a", START_S + 0.6, "tick", 1))
    rig.run(10)
    assert len(rig.onsets()) == 1


def test_clear_withdraws_old_epochs_and_refuses_more_of_them():
    rig = Rig()
    rig.post(At("a", START_S + 0.8, "tick", 1))
    rig.run(2)
    rig.post(Clear(2))
    rig.post(At("b", START_S + 0.9, "tick", 1))
    rig.post(At("c", START_S + 1.0, "go", 2))
    rig.run(15)
    assert [a.id for a in rig.answers()] == ["c"]
    assert len(rig.onsets()) == 1


def test_an_id_may_come_again_in_a_new_epoch():
    rig = Rig()
    rig.post(At("a", START_S + 0.3, "tick", 1))
    rig.run(5)
    rig.post(Clear(2))
    rig.post(At("a", START_S + 0.8, "tick", 2))
    rig.run(10)
    assert len(rig.onsets()) == 2


def test_a_cue_up_to_150_ms_late_plays_at_once_and_says_so():
    rig = Rig()
    rig.run(10)
    due_s = rig.now_s + LATENCY_S - 0.120
    rig.post(At("a", due_s, "tick", 1))
    rig.run(2)
    assert rig.onsets() == [10 * BLOCK]
    assert rig.answers() == [Late("a", 120), CuePlayed("a", 10 * BLOCK)]


def test_a_cue_later_than_that_is_dropped_and_says_so():
    rig = Rig()
    rig.run(10)
    rig.post(At("a", rig.now_s + LATENCY_S - 0.160, "tick", 1))
    rig.run(2)
    assert rig.onsets() == []
    assert rig.answers() == [CueDropped("a")]


def test_the_first_block_of_a_stream_stays_silent():
    """Its first 30 ms were seen to be lost; a cue due in it comes a block later."""
    rig = Rig()
    rig.post(At("a", START_S + LATENCY_S + 0.02, "tick", 1))
    rig.post(Now("go"))
    rig.run(3)
    assert rig.onsets() == [BLOCK]
    assert rig.answers() == [Late("a", 80), CuePlayed("a", BLOCK)]


def test_a_cue_without_a_sound_is_dropped_and_says_so():
    rig = Rig()
    rig.post(At("a", START_S + 0.3, "nothing", 1))
    rig.run(5)
    assert rig.answers() == [CueDropped("a")]


def test_a_sound_added_later_can_be_played():
    """Spoken phrases come this way."""
    rig = Rig()
    rig.post(At("a", START_S + 1, "phrase-1", 1))
    rig.run(3)
    rig.sounds["phrase-1"] = array("h", [3, 3])
    rig.run(10)
    assert len(rig.onsets()) == 1


def test_now_plays_in_the_next_block_and_an_old_one_is_forgotten():
    rig = Rig()
    rig.run(3)
    rig.post(Now("tick"))
    rig.run(1)
    assert rig.onsets() == [3 * BLOCK]
    rig.player.post(Now("tick"), rig.now_s - 0.6)
    rig.run(2)
    assert rig.onsets() == [3 * BLOCK]


def test_offset_moves_cues_earlier_and_is_held_to_300_ms():
    rig = Rig()
    rig.post(Offset(100))
    rig.post(At("a", START_S + 1.0, "tick", 1))
    rig.run(15)
    assert rig.onsets() == [pytest.approx(frame_of(START_S + 0.9), abs=1)]
    other = Rig()
    other.post(Offset(5000))
    other.post(At("a", START_S + 1.0, "tick", 1))
    other.run(15)
    assert other.onsets() == [pytest.approx(frame_of(START_S + 0.7), abs=1)]


def test_a_new_stream_keeps_the_plan_and_the_volume_and_drops_the_past():
    rig = Rig()
    rig.post(Volume(50))
    rig.post(At("past", START_S + 1.0, "tick", 1))
    rig.post(At("future", START_S + 4.0, "tick", 1))
    rig.run(5)
    rig.player.begin_stream(0.1, LATENCY_S)
    rig.heard.clear()
    # Two seconds without a device.
    rig.asked += 20
    rig.run(30)
    assert rig.answers()[0] == CueDropped("past")
    assert len(rig.onsets()) == 1
    assert max(rig.heard) == 250


def test_a_fault_inside_becomes_silence_and_is_kept_for_the_log():
    rig = Rig()
    rig.sounds["tick"] = None
    rig.sounds["bad"] = ["x"]
    rig.post(At("a", START_S + 0.3, "bad", 1))
    rig.run(6)
    assert set(rig.heard) == {0}
    assert isinstance(rig.player.failure, TypeError)
    assert rig.player.blocks == 6


@pytest.mark.parametrize(
    ("percent", "gain"), [(0, 0), (50, 0.25), (100, 1), (-5, 0), (900, 1)]
)
def test_volume_is_the_square_of_the_percentage(percent, gain):
    assert gain_of(percent) == gain
