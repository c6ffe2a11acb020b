"""What a session hands to the sound port, and when."""

from __future__ import annotations

import pytest
from tests.support.clock import Drive
from tests.support.plans import every_place, plan, station

from whistlestop.domain.plan.timeline import plan_document
from whistlestop.driver.session import Options
from whistlestop.engine.commands import Do, EnterCount, EnterEffort, EnterNote

AHEAD_S = 10.0


def clears(drive: Drive) -> list[int]:
    return [args[0] for name, args in drive.sound.calls if name == "clear"]  # type: ignore[misc]


def planned_ms(drive: Drive) -> list[tuple[int, str]]:
    """What would still sound, as elapsed time and name."""
    origin_ms = drive.clock.awake_ms - drive.session.now_ms
    return [
        (round(cue.at_s * 1000) - origin_ms, cue.cue) for cue in drive.sound.planned()
    ]


def of_plan(drive: Drive) -> list[tuple[int, str]]:
    """Cues as `plan --json` lists them: an account that knows no engine."""
    document = plan_document(drive.plan)
    return [
        (cue["at_ms"], cue["cue"])
        for segment in document["segments"]  # type: ignore[attr-defined]
        for cue in segment["cues"]
    ]


def test_undisturbed_every_cue_of_the_plan_sounds_once_at_its_time() -> None:
    """What was planned or sounded at once is exactly what `plan --json` lists."""
    drive = Drive(plan(station(1), station(2, parts=("left", "right")), loops=2))
    drive.begin()
    at_once = [(0, name) for name in drive.sound.acknowledged]
    drive.go(drive.plan.total_ms)
    assert drive.session.is_over
    assert at_once + planned_ms(drive) == of_plan(drive)


def test_a_cue_at_the_very_start_sounds_at_once() -> None:
    """Without get ready the first `go` is due at 0: nothing can be planned for it."""
    drive = Drive(plan(get_ready_ms=0)).begin()
    assert of_plan(drive)[0] == (0, "go")
    assert drive.sound.acknowledged == ["go"]


@pytest.mark.parametrize("step_ms", [1, 37, 100, 999])
def test_at_least_ten_seconds_are_always_planned(step_ms: int) -> None:
    """A stalled program cannot silence what is due in the next 10 s."""
    drive = Drive(plan(station(1), station(2), loops=2)).begin()
    expected = of_plan(drive)
    for _ in range(0, 60_000, step_ms * 7):
        drive.go(step_ms * 7, step_ms)
        now = drive.session.now_ms
        known = set(planned_ms(drive))
        due = {c for c in expected if now < c[0] <= now + AHEAD_S * 1000}
        assert due <= known, now


def test_times_are_those_of_the_clock_that_stops_in_sleep() -> None:
    """at_s = origin + t, on the clock the sound process reads as well."""
    drive = Drive(plan()).begin()
    origin_s = drive.clock.awake_ms / 1000
    go = next(cue for cue in drive.sound.planned() if cue.cue == "go")
    assert go.at_s == pytest.approx(origin_s + 10.0, abs=1e-9)


def test_each_command_begins_a_new_epoch_and_plans_at_once() -> None:
    drive = Drive(plan(station(1), station(2), work_ms=20_000)).begin()
    drive.go(15_000)
    for command in (Do.PAUSE, Do.RESUME):
        before = clears(drive)
        drive.do(command)
        assert clears(drive) == [*before, before[-1] + 1]
    drive.go(3_000)
    for command in (Do.LONGER, Do.NEXT, Do.SKIP, Do.BACK, Do.RESTART):
        before = clears(drive)
        drive.do(command)
        assert clears(drive) == [*before, before[-1] + 1]
        epochs = {cue.id.split(".")[0] for cue in drive.sound.planned()}
        assert epochs <= {str(before[-1] + 1)}
    drive.go(10_000)
    assert drive.sound.planned()


def test_a_tick_alone_begins_no_epoch_and_plans_no_cue_twice() -> None:
    drive = Drive(plan()).begin()
    epochs = clears(drive)
    drive.go(30_000)
    assert clears(drive) == epochs
    ids = [cue.id for cue in drive.sound.planned()]
    assert len(ids) == len(set(ids))


def test_pausing_withdraws_everything_and_is_answered() -> None:
    drive = Drive(plan()).begin()
    drive.go(15_000)
    drive.do(Do.PAUSE)
    assert drive.sound.planned() == []
    assert drive.sound.acknowledged == ["pause"]
    drive.go(60_000)
    assert drive.sound.planned() == []


def test_resuming_counts_three_two_one_then_the_clock_runs() -> None:
    """The first count sounds at the key, the others and the tone are planned."""
    drive = Drive(plan()).begin()
    drive.go(15_000)
    drive.do(Do.PAUSE)
    drive.go(5_000)
    drive.do(Do.RESUME)
    assert drive.sound.acknowledged == ["pause", "count"]
    assert planned_ms(drive)[:3] == [
        (21_000, "count"),
        (22_000, "count"),
        (23_000, "resume"),
    ]


def test_after_a_gap_five_seconds_of_which_three_are_heard() -> None:
    """The count is 3-2-1, whatever the length of the count-in."""
    drive = Drive(plan()).begin()
    drive.go(15_000)
    drive.clock.sleep(60_000)
    drive.tick()
    drive.do(Do.RESUME)
    assert [c for c in planned_ms(drive) if c[0] <= 20_000] == [
        (17_000, "count"),
        (18_000, "count"),
        (19_000, "count"),
        (20_000, "resume"),
    ]


def test_with_no_count_in_the_clock_runs_at_once_with_its_tone() -> None:
    drive = Drive(plan(), Options(count_in_ms=0)).begin()
    drive.go(15_000)
    drive.do(Do.PAUSE)
    drive.do(Do.RESUME)
    assert drive.sound.acknowledged == ["pause", "resume"]


def test_a_pause_moves_every_later_cue_by_exactly_its_length() -> None:
    plain, paused = Drive(plan()).begin(), Drive(plan()).begin()
    for drive in (plain, paused):
        drive.go(38_000)
    paused.do(Do.PAUSE)
    paused.go(7_321)
    paused.do(Do.RESUME)
    paused.go(3_000)
    later = [(t, cue) for t, cue in planned_ms(plain) if t > 38_000]
    moved = [
        (t - 10_321, cue)
        for t, cue in planned_ms(paused)
        if t > 38_000 + 10_321 and cue != "resume"
    ]
    assert later
    assert moved[: len(later)] == later


def test_after_a_gap_cues_are_planned_anew_on_the_shifted_clock() -> None:
    """The lost hour is in no due time: they follow the clock as it is now."""
    drive = Drive(plan()).begin()
    drive.go(35_000)
    before = clears(drive)
    drive.clock.go(50_000)
    drive.tick()
    assert clears(drive) == [*before, before[-1] + 1]
    drive.do(Do.RESUME)
    drive.go(5_000)
    ten = next(cue for cue in drive.sound.planned() if cue.cue == "ten")
    # Due at plan time 40 s, of which 35 s were done when the gap came.
    assert round(ten.at_s * 1000) - drive.clock.awake_ms == 5_000


@pytest.mark.parametrize(
    ("command", "cue"),
    [(Do.NEXT, "station_end"), (Do.RESTART, "go"), (Do.SKIP, "station_end")],
)
def test_what_a_command_leads_to_is_heard_at_once(command: Do, cue: str) -> None:
    """With eyes shut: leaving a station sounds as its end does."""
    drive = Drive(plan(station(1), station(2))).begin()
    drive.go(15_000)
    drive.do(command)
    assert drive.sound.acknowledged == [cue]


def test_next_in_a_rest_sounds_the_first_count_at_the_key() -> None:
    drive = Drive(plan(station(1), station(2))).begin()
    drive.go(52_000)
    drive.do(Do.NEXT)
    assert drive.sound.acknowledged == ["count"]
    assert planned_ms(drive)[:3] == [
        (53_000, "count"),
        (54_000, "count"),
        (55_000, "go"),
    ]


def test_an_entry_begins_no_epoch_so_it_cuts_no_tone() -> None:
    """A new epoch fades what is sounding: an effort key must not do that."""
    drive = Drive(plan(loops=2, loop_break_ms=60_000)).begin()
    drive.go(50_100)
    before, text = clears(drive), list(drive.sound.acknowledged)
    for entry in (EnterEffort(1, None), EnterNote("so so"), EnterCount(12)):
        drive.do(entry)
    assert clears(drive) == before
    assert drive.sound.acknowledged == text


def test_nothing_is_planned_at_a_gate_or_past_it() -> None:
    """Nobody knows when it opens."""
    drive = Drive(every_place()).begin()
    drive.go(195_000)
    assert drive.engine.at_gate
    assert not [c for c in planned_ms(drive) if c[0] > drive.engine.t_ms]


def test_stopping_leaves_nothing_to_sound() -> None:
    drive = Drive(plan()).begin()
    drive.go(15_000)
    drive.do(Do.STOP)
    assert drive.sound.planned() == []
