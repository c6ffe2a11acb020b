"""Gaps: noticed by the driver, stored with a pause, and never counted."""

from __future__ import annotations

import pytest
from tests.support.clock import Drive
from tests.support.plans import every_place, plan, station

from whistlestop.driver.session import Options
from whistlestop.engine.commands import Do
from whistlestop.engine.events import CountedIn, Event, RowClosed
from whistlestop.engine.states import Mode


def gaps(drive: Drive) -> list[tuple[int, int, str]]:
    return [
        (line["t"], line["gap_ms"], line["cause"]) for line in drive.journal.of("gap")
    ]


def counts(events: list[Event]) -> list[tuple[int, int]]:
    return [(e.t_ms, e.seconds_left) for e in events if isinstance(e, CountedIn)]


@pytest.mark.parametrize(("slept_ms", "is_gap"), [(500, False), (501, True)])
def test_sleep_beyond_half_a_second_is_a_gap(slept_ms: int, is_gap: bool) -> None:
    """The two clocks part by more than 0.5 s."""
    drive = Drive(plan()).begin()
    drive.go(12_000)
    drive.clock.sleep(slept_ms)
    drive.clock.go(100)
    drive.tick()
    expected = [(12_000, slept_ms + 100, "sleep")] if is_gap else []
    assert gaps(drive) == expected
    assert drive.engine.mode is (Mode.PAUSED if is_gap else Mode.RUNNING)


@pytest.mark.parametrize(("late_ms", "is_gap"), [(3_000, False), (3_001, True)])
def test_a_tick_more_than_three_seconds_late_is_a_gap(
    late_ms: int, is_gap: bool
) -> None:
    """A stopped process: no clock counts its sleep, only the tick is late."""
    drive = Drive(plan()).begin()
    drive.go(12_000)
    drive.clock.go(late_ms)
    drive.tick()
    assert gaps(drive) == ([(12_000, late_ms, "stopped")] if is_gap else [])
    assert drive.engine.t_ms == (12_000 if is_gap else 12_000 + late_ms)


def test_the_pause_stands_at_the_last_instant_seen() -> None:
    """Work would have ended in the gap: no row is closed, nothing is lost of it."""
    drive = Drive(plan()).begin()
    drive.go(10_000 + 39_900)
    drive.clock.sleep(3_600_000)
    drive.clock.go(250)
    happened = drive.tick()
    assert not [event for event in happened if isinstance(event, RowClosed)]
    assert drive.engine.t_ms == 49_900
    assert drive.engine.visit_length_ms - drive.engine.offset_ms == 100
    assert drive.session.last_gap_ms == 3_600_250


def test_a_gap_is_never_part_of_elapsed_paused_or_active_time() -> None:
    """The same session with and without an hour of sleep differs in one line."""
    plain, slept = Drive(plan()).begin(), Drive(plan()).begin()
    for drive in (plain, slept):
        drive.go(20_000)
    slept.clock.sleep(3_600_000)
    slept.tick()
    plain.do(Do.PAUSE)
    for drive in (plain, slept):
        drive.go(4_000)
    assert slept.session.now_ms == plain.session.now_ms == 24_000
    for name in ("t_ms", "active_ms", "paused_ms", "gated_ms", "offset_ms"):
        assert getattr(slept.engine, name) == getattr(plain.engine, name), name
    assert slept.engine.paused_ms == 4_000


def test_no_backlog_fires_after_a_gap() -> None:
    """Waking up late in the evening sounds nothing of what would have been."""
    drive = Drive(plan(station(1), station(2), loops=3)).begin()
    drive.go(15_000)
    before = len(drive.sound.acknowledged)
    drive.clock.sleep(600_000)
    assert drive.tick() == []
    drive.go(30_000)
    assert drive.sound.acknowledged[before:] == []
    assert drive.sound.planned() == []
    assert drive.engine.t_ms == 45_000


def test_resume_after_a_gap_counts_in_five_seconds_then_three_again() -> None:
    """A count-in of 3 s, after a gap 5, counted as paused."""
    drive = Drive(plan()).begin()
    drive.go(20_000)
    drive.clock.sleep(60_000)
    drive.tick()
    assert drive.engine.after_gap
    happened = drive.do(Do.RESUME) + drive.go(5_000)
    assert counts(happened) == [
        (20_000, 5),
        (21_000, 4),
        (22_000, 3),
        (23_000, 2),
        (24_000, 1),
    ]
    assert drive.engine.mode is Mode.RUNNING
    assert drive.engine.paused_ms == 5_000
    drive.do(Do.PAUSE)
    happened = drive.do(Do.RESUME) + drive.go(3_000)
    assert [left for _, left in counts(happened)] == [3, 2, 1]


def test_five_seconds_after_a_gap_even_with_no_count_in_set() -> None:
    """A setting of 0 is for a pause one asked for."""
    drive = Drive(plan(), Options(count_in_ms=0)).begin()
    drive.go(20_000)
    drive.clock.sleep(60_000)
    drive.tick()
    happened = drive.do(Do.RESUME) + drive.go(5_000)
    assert len(counts(happened)) == 5


@pytest.mark.parametrize("place", ["paused", "counting in", "gate"])
def test_a_gap_anywhere_ends_in_a_pause_at_that_place(place: str) -> None:
    """Paused already, in a count-in, or waiting at a gate: the same rule."""
    drive = Drive(every_place()).begin()
    drive.go(70_000)
    if place == "gate":
        drive.go(125_000)
        assert drive.engine.at_gate
    else:
        drive.do(Do.PAUSE)
        if place == "counting in":
            drive.do(Do.RESUME)
            drive.go(1_500)
    t_ms, index = drive.engine.t_ms, drive.engine.index
    drive.clock.sleep(10_000)
    drive.tick()
    assert gaps(drive) == [(t_ms, 10_000, "sleep")]
    assert drive.engine.mode is Mode.PAUSED
    assert (drive.engine.t_ms, drive.engine.index) == (t_ms, index)


def test_a_key_pressed_on_waking_meets_the_gap_first() -> None:
    """The command comes before the next tick: it still acts on a paused session."""
    drive = Drive(plan(station(1), station(2))).begin()
    drive.go(20_000)
    drive.clock.sleep(10_000)
    drive.do(Do.NEXT)
    kinds = [line["k"] for line in drive.journal.lines if line["k"] != "seen"]
    assert kinds[-3:] == ["gap", "cmd", "done"]
    assert drive.engine.mode is Mode.PAUSED


def test_two_gaps_are_two_lines() -> None:
    drive = Drive(plan()).begin()
    drive.go(12_000)
    drive.clock.sleep(2_000)
    drive.tick()
    drive.clock.go(4_000)
    drive.tick()
    assert [gap_ms for _, gap_ms, _ in gaps(drive)] == [2_000, 4_000]
    assert drive.engine.t_ms == 12_000


def test_a_simulated_run_watches_no_gaps() -> None:
    """--speed steps a minute at a time; that is no interruption."""
    drive = Drive(plan(), Options(watch_gaps=False)).begin()
    drive.clock.go(30_000)
    drive.tick()
    assert gaps(drive) == []
    assert drive.engine.t_ms == 30_000


def test_after_the_end_nothing_is_a_gap() -> None:
    drive = Drive(plan()).begin()
    drive.do(Do.STOP)
    lines = len(drive.journal.lines)
    drive.clock.sleep(60_000)
    drive.clock.go(60_000)
    drive.tick()
    assert len(drive.journal.lines) == lines


def test_carrying_on_an_interrupted_session_is_a_gap_too() -> None:
    """After a kill the lost stretch is a gap line, and the count-in is 5 s."""
    drive = Drive(plan()).begin()
    drive.go(20_000)
    drive.session.carry_on(90_000)
    assert gaps(drive) == [(20_000, 90_000, "ended")]
    assert drive.session.last_gap_ms == 90_000
    drive.clock.go(10)
    happened = drive.do(Do.RESUME)
    assert counts(happened) == [(20_010, 5)]
