"""A player that rests: awake while cues are planned, let go of after 30 s idle."""

from __future__ import annotations

import threading

from tests.support.recording_sound import RecordingSound

from whistlestop.sound.port import PlannedCue
from whistlestop.sound.resting import REST_AFTER_S, RestingSound


class Bench:
    """A resting player on a clock of its own, and all players it woke."""

    def __init__(self) -> None:
        self.now_s = 100.0
        self.woken: list[RecordingSound] = []
        self.port = RestingSound(self._wake, lambda: self.now_s)

    def _wake(self) -> RecordingSound:
        self.woken.append(RecordingSound())
        return self.woken[-1]

    def plan(self, at_s: float, epoch: int = 1) -> None:
        self.port.plan(epoch, [PlannedCue(f"{epoch}.{at_s}", at_s, "go")])

    def settle(self) -> None:
        for thread in threading.enumerate():
            if thread.name == "sound-rest":
                thread.join(5)


def test_it_stays_awake_as_long_as_something_is_planned():
    bench = Bench()
    bench.plan(150.0)
    bench.now_s = 150.0 + REST_AFTER_S
    bench.port.status()
    assert len(bench.woken) == 1
    assert not bench.woken[0].closed


def test_it_lets_go_after_the_idle_time_and_wakes_for_the_next_plan():
    bench = Bench()
    bench.port.load("say-1", __file__)
    bench.port.volume(30)
    bench.plan(101.0)
    bench.port.clear(2)
    bench.now_s += REST_AFTER_S + 1
    assert bench.port.status().state == "starting"
    bench.settle()
    assert bench.woken[0].closed
    bench.plan(bench.now_s + 3, epoch=2)
    assert len(bench.woken) == 2
    told = [call[0] for call in bench.woken[1].calls]
    assert told == ["load", "volume", "clear", "plan"]


def test_a_key_wakes_it_but_is_not_answered_late():
    bench = Bench()
    bench.now_s += REST_AFTER_S + 1
    bench.port.status()
    bench.settle()
    bench.port.now("pause")
    assert len(bench.woken) == 2
    assert "now" not in [call[0] for call in bench.woken[1].calls]
    bench.port.now("pause")
    assert "now" in [call[0] for call in bench.woken[1].calls]


def test_closed_it_stays_closed():
    bench = Bench()
    bench.port.close()
    bench.plan(200.0)
    assert bench.woken[0].closed
    assert len(bench.woken) == 1
