"""The helper's loop with a made-up engine and clock: when it believes, gives up,
tries again, and what it says.
"""

from __future__ import annotations

from array import array
from pathlib import Path

import pytest

from whistlestop.errors import DeviceError
from whistlestop.sound.cues import CUES
from whistlestop.sound.helper.device import latency_ms
from whistlestop.sound.helper.lines import (
    Back,
    CuePlayed,
    CueRefused,
    Health,
    Lost,
    Ready,
)
from whistlestop.sound.helper.player import Player
from whistlestop.sound.helper.service import EXIT_HELLO, EXIT_RESTART, Service
from whistlestop.sound.helper.watchdog import Watchdog
from whistlestop.sound.synth import RATE_HZ, render, write_wav

SOUNDS = Path(__file__).resolve().parents[2] / "sounds"


class FakeEngine:
    """A device that is there or not, and asks for blocks or not."""

    def __init__(self, player):
        self.player = player
        self.backend = "Fake"
        self.latency_ms = 66
        self.period_s = 0.1
        self.there = True
        self.running = True
        self.opened = 0
        self.is_open = False

    def open(self):
        self.opened += 1
        if not self.there:
            raise DeviceError("No sound device could be opened (x -401).")
        self.player.begin_stream(0.1, 0.066)
        self.is_open = True

    def close(self):
        self.is_open = False


class Rig:
    def __init__(self):
        self.now_s = 1000.0
        self.said = []
        self.sounds: dict[str, array] = {}
        self.engine = FakeEngine(Player(self.sounds, RATE_HZ))
        self.service = Service(
            self.engine, self.sounds, self.said.append, lambda: self.now_s
        )
        assert self.service.order("hello 1\n") is None

    def run(self, seconds):
        """Step ten times a second until then; the first exit code, if any."""
        for _ in range(round(seconds * 10)):
            if self.engine.is_open and self.engine.running:
                self.engine.player.block(4410, self.now_s)
            code = self.service.step()
            if code is not None:
                return code
            self.now_s += 0.1
        return None

    def told(self, *kinds):
        return [answer for answer in self.said if isinstance(answer, kinds)]


def test_ready_is_said_once_the_stream_has_asked_three_times():
    rig = Rig()
    rig.run(0.3)
    assert rig.told(Ready) == []
    rig.run(5)
    assert rig.told(Ready) == [Ready("Fake", RATE_HZ, 66)]
    assert rig.told(Lost, Back) == []


def test_health_comes_each_second_with_the_age_of_the_last_block():
    rig = Rig()
    rig.run(5.05)
    health = rig.told(Health)
    assert len(health) == 5
    assert 0 <= health[-1].age_ms <= 100


def test_a_stream_that_stops_is_lost_reopened_and_back():
    """Every measured way of losing a device looks like this: no more blocks."""
    rig = Rig()
    rig.run(5)
    rig.engine.running = False
    rig.engine.there = False
    rig.run(2)
    assert rig.told(Lost)[0] == Lost("The sound device has stopped.")
    rig.run(10)
    assert len(rig.told(Lost)) == 2
    rig.engine.running = rig.engine.there = True
    rig.run(4)
    assert rig.told(Back) == [Back()]
    assert len(rig.told(Ready)) == 2


def test_without_a_device_it_tries_every_two_seconds_and_says_so_once():
    rig = Rig()
    rig.engine.there = False
    rig.run(20)
    assert rig.engine.opened == pytest.approx(10, abs=1)
    assert rig.told(Lost) == [Lost("No sound device could be opened (x -401).")]
    assert rig.told(Health)[-1] == Health(-1, 0)


def test_a_stream_that_opens_and_never_runs_is_lost_and_not_reopened_in_haste():
    rig = Rig()
    rig.engine.running = False
    rig.run(16)
    assert rig.told(Ready) == []
    assert rig.told(Lost) == [Lost("The sound device has stopped.")]
    assert rig.engine.opened == pytest.approx(3, abs=1)


def test_forty_openings_ask_for_a_fresh_process():
    rig = Rig()
    rig.engine.there = False
    assert rig.run(200) == EXIT_RESTART
    assert rig.engine.opened == 40


def test_a_cue_is_answered_for():
    rig = Rig()
    rig.service.order(f"load tick {SOUNDS / 'count.wav'}\n")
    rig.service.order(f"at 1:a {rig.now_s + 2} tick 1\n")
    rig.run(4)
    assert [a.id for a in rig.told(CuePlayed)] == ["1:a"]


@pytest.mark.parametrize("line", ["garbage\n", "at a b c d\n", "\n", "\x00\xff\n"])
def test_garbage_is_refused_and_the_helper_goes_on(line):
    rig = Rig()
    assert rig.service.order(line) is None
    assert len(rig.told(CueRefused)) == 1
    assert rig.run(1) is None


@pytest.mark.parametrize("line", ["hello 2\n", "volume 5\n", "rubbish\n"])
def test_another_version_or_none_ends_it(line):
    rig = Rig()
    fresh = Service(rig.engine, {}, rig.said.append, lambda: 0.0)
    assert fresh.order(line) == EXIT_HELLO
    assert rig.told(CueRefused)[-1].reason == "this helper speaks version 1"


def test_a_file_with_a_space_in_its_path_loads(tmp_path):
    folder = tmp_path / "my sounds"
    folder.mkdir()
    write_wav(folder / "a b.wav", array("h", [1, 2, 3]))
    rig = Rig()
    rig.service.order(f"load phrase-7 {folder / 'a b.wav'}\n")
    assert rig.sounds["phrase-7"] == array("h", [1, 2, 3])


def test_a_missing_cue_file_is_told_and_made_up_for(tmp_path):
    rig = Rig()
    rig.service.order(f"load go {tmp_path / 'go.wav'}\n")
    assert rig.told(CueRefused) == [
        CueRefused("go", "go.wav: No such file or directory")
    ]
    assert rig.sounds["go"] == render(CUES["go"])


def test_a_file_of_another_kind_is_told(tmp_path):
    (tmp_path / "p.wav").write_text("hello")
    rig = Rig()
    rig.service.order(f"load phrase-1 {tmp_path / 'p.wav'}\n")
    assert "p.wav is not a WAV file" in rig.told(CueRefused)[0].reason
    assert "phrase-1" not in rig.sounds


def test_a_fault_while_mixing_is_told_once():
    rig = Rig()
    rig.sounds["bad"] = ["x"]
    rig.service.order(f"at 1:a {rig.now_s + 0.5} bad 1\n")
    rig.run(3)
    assert [a.word for a in rig.told(CueRefused)] == ["block"]


class TestWatchdog:
    def test_waits_three_seconds_for_an_idle_sink(self):
        dog = Watchdog(10.0, 0.1)
        assert not any(dog.is_dead(10 + t / 10, 10.0, 1) for t in range(30))

    def test_needs_two_judgements(self):
        dog = Watchdog(0.0, 0.1)
        assert not dog.is_dead(20.0, 18.9, 100)
        assert dog.is_dead(20.1, 18.9, 100)

    def test_a_block_in_between_clears_the_doubt(self):
        dog = Watchdog(0.0, 0.1)
        assert not dog.is_dead(20.0, 18.9, 100)
        assert not dog.is_dead(20.1, 20.05, 101)
        assert not dog.is_dead(22.0, 20.05, 101)

    def test_long_periods_are_allowed_five_of_them(self):
        dog = Watchdog(0.0, 1.0)
        assert not any(dog.is_dead(t, 10.0, 50) for t in (14.0, 14.5, 15.0))
        assert not dog.is_dead(15.1, 10.0, 50)
        assert dog.is_dead(15.2, 10.0, 50)


@pytest.mark.parametrize(
    ("backend", "expected_ms"), [("PulseAudio", 66), ("ALSA", 200), ("Core_Audio", 200)]
)
def test_latency_is_the_measured_constant_or_two_periods(backend, expected_ms):
    """66 ms measured at a period of 100 ms; two periods for the others."""
    assert latency_ms(backend, 100) == expected_ms
