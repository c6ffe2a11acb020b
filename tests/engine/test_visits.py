"""Visits and rows: what was really done, to the millisecond."""

from __future__ import annotations

import pytest
from hypothesis import given
from tests.engine.invariants import violations
from tests.engine.record import Run
from tests.support.plans import FEW, LEFT_RIGHT, plan, session_plans, station

from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.domain.plan.timeline import plan_document
from whistlestop.engine.commands import Do
from whistlestop.engine.events import CueDue, Ending, SessionEnded, Why
from whistlestop.engine.states import Mode


def told(run):
    """Rows as (segment, visit, ms, why)."""
    return [(r.segment, r.visit, r.ms, r.why.value) for r in run.engine.rows]


def two_stations(**changes):
    """0 get ready 10 s, 1 work 40 s, 2 recover 20 s, 3 work 40 s, 4 recover 20 s."""
    return Run(plan(station(1), station(2), **changes))


def sided():
    """0 get ready, 1 left 21 s, 2 changeover 3 s, 3 right 21 s, 4 recover 20 s."""
    return Run(
        plan(
            station(1, parts=LEFT_RIGHT, changeover_ms=3_000, work_ms=45_000),
            station(2),
        )
    )


def test_a_session_left_alone_is_one_full_visit_each():
    run = two_stations()
    run.wait(130_000)
    assert told(run) == [
        (0, 1, 10_000, "full"),
        (1, 2, 40_000, "full"),
        (2, 3, 20_000, "full"),
        (3, 4, 40_000, "full"),
        (4, 5, 20_000, "full"),
    ]
    assert run.engine.ending is Ending.COMPLETE
    assert run.events[-1] == SessionEnded(130_000, Ending.COMPLETE)


def test_a_row_says_everything_of_its_segment():
    run = sided()
    run.wait(10_000 + 21_000)
    row = run.engine.rows[-1]
    assert (row.kind, row.loop, row.station, row.part) == (
        SegmentKind.WORK,
        1,
        1,
        "left",
    )
    assert row.exercise == "exercise-1"
    assert (row.t_ms, row.ms, row.plan_ms, row.set_ms) == (
        31_000,
        21_000,
        21_000,
        21_000,
    )


def test_next_in_work_goes_part_by_part_and_then_to_the_recover():
    run = sided()
    run.wait(10_000)
    for ms in (4_321, 1, 7):
        run.wait(ms)
        assert run.do(Do.NEXT)
    assert told(run)[1:] == [
        (1, 2, 4_321, "left"),
        (2, 3, 1, "left"),
        (3, 4, 7, "left"),
    ]
    assert run.engine.segment.kind is SegmentKind.RECOVER
    assert violations(run) == []


def test_skip_in_the_first_part_goes_to_the_recover_after_the_station():
    run = sided()
    run.wait(15_000)
    assert run.do(Do.SKIP)
    assert told(run)[1:] == [(1, 2, 5_000, "skipped")]
    assert run.engine.index == 4


def test_skipping_the_last_station_without_a_recover_ends_the_session():
    run = Run(plan(last_recover="drop"))
    run.wait(20_000)
    assert run.do(Do.SKIP)
    assert told(run)[-1] == (1, 2, 10_000, "skipped")
    assert run.engine.ending is Ending.COMPLETE
    assert violations(run) == []


def test_restart_is_a_new_visit_and_overwrites_nothing():
    run = two_stations()
    run.wait(10_000 + 12_345)
    assert run.do(Do.RESTART)
    run.wait(40_000)
    assert told(run)[1:] == [(1, 2, 12_345, "restarted"), (1, 3, 40_000, "full")]
    work = sum(r.ms for r in run.engine.rows if r.kind is SegmentKind.WORK)
    assert work == 52_345


def test_restart_in_a_changeover_is_the_station_from_its_first_part():
    run = sided()
    run.wait(10_000 + 21_000 + 500)
    assert run.do(Do.RESTART)
    assert told(run)[-1] == (2, 3, 500, "restarted")
    assert run.engine.segment.part == "left"


@pytest.mark.parametrize(
    ("ms", "to", "why"),
    [(0, 1, "left"), (3_000, 1, "left"), (3_001, 3, "restarted")],
)
def test_back_within_three_seconds_is_the_work_before_later_this_one_anew(ms, to, why):
    run = two_stations()
    run.wait(70_000 + ms)
    assert run.do(Do.BACK)
    assert told(run)[-1] == (3, 4, ms, why)
    assert run.engine.index == to
    assert run.engine.visit == 5


def test_back_early_in_the_second_part_is_the_first_part():
    run = sided()
    run.wait(10_000 + 24_000 + 2_000)
    assert run.do(Do.BACK)
    assert run.engine.segment.part == "left"
    assert told(run)[-1] == (3, 4, 2_000, "left")


def test_back_in_a_changeover_is_the_part_before():
    run = sided()
    run.wait(10_000 + 21_000 + 2_900)
    assert run.do(Do.BACK)
    assert run.engine.index == 1
    assert told(run)[-1] == (2, 3, 2_900, "left")


def test_back_in_a_recover_is_the_last_work_anew_and_both_visits_stay():
    run = two_stations()
    run.wait(10_000 + 40_000 + 7_000)
    assert run.do(Do.BACK)
    run.wait(40_000)
    assert told(run)[1:] == [
        (1, 2, 40_000, "full"),
        (2, 3, 7_000, "left"),
        (1, 4, 40_000, "full"),
    ]
    assert violations(run) == []


def test_back_before_any_work_is_the_item_before_or_this_one_anew():
    run = two_stations()
    run.wait(4_000)
    assert run.do(Do.BACK)
    assert told(run) == [(0, 1, 4_000, "restarted")]
    assert run.engine.index == 0
    run.wait(10_000)
    run.wait(1_000)
    assert run.do(Do.BACK)
    assert told(run)[-1] == (1, 3, 1_000, "restarted")


def test_back_twice_goes_on_backwards():
    run = two_stations()
    run.wait(70_000 + 1_000)
    assert run.do(Do.BACK)
    assert run.engine.index == 1
    assert run.do(Do.BACK)
    assert told(run)[-2:] == [(3, 4, 1_000, "left"), (1, 5, 0, "restarted")]


def test_a_stop_closes_the_row_and_the_session():
    run = two_stations()
    run.wait(11_111)
    assert run.do(Do.STOP)
    assert told(run)[-1] == (1, 2, 1_111, "stopped")
    assert run.engine.mode is Mode.ENDED
    assert run.engine.ending is Ending.STOPPED
    run.wait(100_000)
    assert run.engine.t_ms == 11_111
    assert violations(run) == []


def test_moves_while_paused_keep_the_pause_and_the_exact_milliseconds():
    run = two_stations()
    run.wait(10_000 + 5_000)
    run.do(Do.PAUSE)
    run.wait(60_000)
    assert run.do(Do.NEXT)
    assert run.engine.mode is Mode.PAUSED
    assert told(run)[-1] == (1, 2, 5_000, "left")
    run.wait(60_000)
    assert run.engine.offset_ms == 0
    run.do(Do.RESUME)
    run.wait(3_000 + 20_000)
    assert told(run)[-1] == (2, 3, 20_000, "full")
    assert violations(run) == []


@FEW
@given(session_plans())
def test_a_session_played_through_sounds_exactly_the_printed_plan(made):
    """With every gate answered: same cues, same places, full rows, exact total."""
    run = Run(made)
    while run.engine.mode is not Mode.ENDED:
        due = run.engine.next_due()
        if due is not None:
            run.until(due)
        else:
            run.wait(1_234)
            assert run.do(Do.NEXT)
    engine = run.engine
    assert [row.segment for row in engine.rows] == list(range(len(made.segments)))
    assert {row.why for row in engine.rows} == {Why.FULL}
    assert [row.ms for row in engine.rows] == [s.duration_ms for s in made.segments]
    assert engine.active_ms == made.total_ms
    assert engine.paused_ms == 0
    assert engine.gated_ms == made.open_gates * (1_234 + 3_000)
    printed = [c["cue"] for s in plan_document(made)["segments"] for c in s["cues"]]
    sounded = [e for e in run.events if isinstance(e, CueDue)]
    assert [e.cue.value for e in sounded] == printed
    if not made.open_gates:
        at_ms = [c["at_ms"] for s in plan_document(made)["segments"] for c in s["cues"]]
        assert [e.t_ms for e in sounded] == at_ms
    assert violations(run) == []
