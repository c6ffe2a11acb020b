"""From recorded sessions to runs: what is judged is what was really done."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, timedelta
from fractions import Fraction

from tests.coach.making import REGIONS, shed
from tests.support.clock import SESSION_ID, Drive
from tests.support.plans import plan, station

from whistlestop.coach.changes import settings_of
from whistlestop.coach.history import (
    history_of,
    regions_of,
    run_of,
    share_a_region,
)
from whistlestop.domain.effort import Effort
from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.timeline import compile_plan
from whistlestop.engine.commands import (
    Do,
    EnterDiscomfort,
    EnterEffort,
    EnterLoad,
    EnterSessionEffort,
)
from whistlestop.review.days import DayKind, Training
from whistlestop.review.record import SessionRecord, read_record


def driven() -> SessionRecord:
    """Two loops of two stations, 40/20; the second station of loop 2 left at 10 s."""
    drive = Drive(
        plan(
            station(1, load=parse_load("16 kg")),
            station(2),
            loops=2,
            get_ready_ms=5_000,
            last_recover="keep",
        )
    ).begin()
    drive.go(5_000 + 30_000, 500)
    drive.do(EnterLoad("12 kg"))
    drive.go(10_000 + 20_000 + 40_000 + 20_000, 500)
    drive.do(EnterEffort(1, Effort(12)))
    drive.go(40_000 + 20_000 + 10_000, 500)
    drive.do(Do.NEXT)
    drive.go(20_000, 500)
    drive.do(EnterEffort(2, Effort(15)))
    drive.do(EnterSessionEffort(Effort(14)))
    drive.do(EnterDiscomfort("knee", "left", 3))
    return read_record(drive.journal.lines, session_id=SESSION_ID)


def test_a_driven_session_becomes_a_run_with_what_was_done() -> None:
    run = run_of(driven(), UTC)
    assert run is not None
    assert run.day == date(2031, 4, 12)
    assert run.efforts == (6.0, 7.5)
    assert (run.session_effort, run.hardness, run.rise) == (7.0, 7.5, 1.5)
    assert run.discomforts == (("knee", 3),)
    one, two = run.stations
    assert (one.plan_ms, one.best_ms, one.load) == (80_000, 80_000, "16 kg")
    assert one.other_load
    assert (two.plan_ms, two.best_ms) == (80_000, 50_000)
    assert two.missed == Fraction(3, 8)
    assert run.completion == Fraction(130, 160)
    assert (run.interval_ms, run.recover_ms, run.loops_done) == (40_000, 20_000, 2)


def test_scripted_sessions_and_empty_ones_are_no_runs() -> None:
    record = driven()
    assert run_of(replace(record, scripted=True), UTC) is None
    idle = tuple(replace(loop, worked=False) for loop in record.loops)
    assert run_of(replace(record, loops=idle), UTC) is None


def test_the_diary_has_the_last_word_on_effort_and_on_what_is_deleted() -> None:
    record = driven()
    day = date(2031, 4, 12)
    amended = Training(day, 240_000, 8.5, DayKind.CIRCUIT, "Test", SESSION_ID)
    told = history_of("test", [record], [amended], UTC, {})
    assert told.runs[0].session_effort == 8.5
    assert told.runs[0].highest == 8.5
    assert history_of("test", [record], [], UTC, {}).runs == ()
    by_hand = Training(
        day + timedelta(days=2), 600_000, 5, DayKind.CIRCUIT, "Hand", "e1"
    )
    ride = Training(day + timedelta(days=3), 600_000, 5, DayKind.OTHER, "Ride", "e2")
    told = history_of("other", [record], [amended, by_hand, ride], UTC, {})
    assert told.runs == ()
    assert [o.day.day for o in told.outings] == [12, 14]
    assert told.outings[1].began is None


def test_an_unknown_exercise_counts_as_the_whole_body() -> None:
    assert regions_of(driven().plan, {}) == {"whole"}
    found = regions_of(compile_plan(shed()), REGIONS)
    assert found == {"legs", "arms", "core"}
    assert share_a_region(frozenset({"whole"}), frozenset({"arms"}))
    assert not share_a_region(frozenset({"legs"}), frozenset({"arms"}))
    assert not share_a_region(frozenset({"whole"}), frozenset())


def test_settings_are_alike_whatever_names_say_and_differ_in_all_that_counts() -> None:
    base = settings_of(compile_plan(shed()))
    assert settings_of(compile_plan(shed(name="Other", note="x"))) == base
    for changes in (
        {"work_ms": 45_000},
        {"loops": 3},
        {"recover_ms": 15_000},
        {"load": "20 kg"},
    ):
        assert settings_of(compile_plan(shed(**changes))) != base
