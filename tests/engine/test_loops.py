"""Loops: dropping one, when one has ended, and what partial means."""

from __future__ import annotations

from tests.engine.invariants import violations
from tests.engine.record import Run
from tests.support.plans import LEFT_RIGHT, plan, station

from whistlestop.domain.circuit.circuit import TimedItem
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.engine.commands import Do
from whistlestop.engine.events import LoopEnded


def told(run):
    """Loop ends as (loop, partial, worked)."""
    return [
        (e.loop, e.partial, e.worked) for e in run.events if isinstance(e, LoopEnded)
    ]


def three_loops(**changes):
    return Run(plan(station(1), station(2), loops=3, **changes))


def test_a_loop_ends_with_its_last_work_and_is_whole():
    run = three_loops(loop_break_ms=60_000)
    run.wait(10_000 + 40_000 + 20_000 + 40_000 - 1)
    assert told(run) == []
    run.wait(1)
    assert told(run) == [(1, False, True)]
    ended = [e for e in run.events if isinstance(e, LoopEnded)]
    assert ended[0].t_ms == 110_000


def test_dropping_a_loop_goes_to_its_break_and_marks_it_partial():
    run = three_loops(loop_break_ms=60_000)
    run.wait(10_000 + 15_000)
    assert run.do(Do.DROP_LOOP)
    assert run.engine.segment.kind is SegmentKind.LOOP_BREAK
    assert run.engine.segment.loop == 1
    row = run.engine.rows[-1]
    assert (row.ms, row.why) == (15_000, "dropped")
    assert told(run) == [(1, True, True)]
    run.wait(60_000)
    assert (run.engine.segment.loop, run.engine.segment.station) == (2, 1)
    run.wait(2_000_000)
    assert told(run) == [(1, True, True), (2, False, True), (3, False, True)]
    assert violations(run) == []


def test_without_a_break_the_last_recovery_of_the_loop_serves_as_one():
    run = three_loops()
    run.wait(10_000 + 15_000)
    assert run.do(Do.DROP_LOOP)
    assert run.engine.segment.kind is SegmentKind.RECOVER
    assert run.engine.segment.place == (1, 2)
    run.wait(20_000)
    assert run.engine.segment.place == (2, 1)
    assert violations(run) == []


def test_without_break_and_last_recovery_the_next_loop_begins_at_once():
    run = three_loops(last_recover="drop")
    run.wait(10_000 + 15_000)
    assert run.do(Do.DROP_LOOP)
    assert run.engine.segment.place == (2, 1)
    assert told(run) == [(1, True, True)]


def test_dropping_in_a_recover_with_work_left_ends_this_loop():
    run = three_loops(loop_break_ms=60_000)
    run.wait(10_000 + 40_000 + 5_000)
    assert run.do(Do.DROP_LOOP)
    assert run.engine.segment.kind is SegmentKind.LOOP_BREAK
    assert run.engine.rows[-1].why == "dropped"
    assert told(run) == [(1, True, True)]


def test_dropping_in_the_break_drops_the_loop_that_comes():
    run = three_loops(loop_break_ms=60_000)
    run.wait(10_000 + 100_000 + 5_000)
    assert run.engine.segment.kind is SegmentKind.LOOP_BREAK
    assert run.do(Do.DROP_LOOP)
    assert run.engine.segment.loop == 1
    assert told(run) == [(1, False, True), (2, True, False)]
    run.wait(55_000)
    assert run.engine.segment.place == (3, 1)
    assert violations(run) == []


def test_dropping_again_in_the_break_drops_the_loop_after_that():
    run = three_loops(loop_break_ms=60_000)
    run.wait(10_000 + 100_000 + 5_000)
    assert run.do(Do.DROP_LOOP)
    assert run.engine.segment.loop == 1
    assert run.do(Do.DROP_LOOP)
    assert run.engine.ending == "complete"
    assert told(run) == [(1, False, True), (2, True, False), (3, True, False)]
    assert violations(run) == []


def test_a_loop_that_was_begun_and_left_backwards_is_dropped_with_its_work():
    """What is asked after the end is every loop with any work in it."""
    run = three_loops(loop_break_ms=60_000)
    run.wait(10_000 + 100_000 + 60_000 + 2_000)
    assert run.engine.segment.place == (2, 1)
    assert run.do(Do.BACK)
    run.wait(40_000 + 1_000)
    assert run.engine.segment.kind is SegmentKind.LOOP_BREAK
    assert run.do(Do.DROP_LOOP)
    assert told(run)[-1] == (2, True, True)
    assert violations(run) == []


def test_dropping_the_last_loop_from_the_break_before_it_goes_to_the_cool_down():
    run = Run(
        plan(
            station(1),
            loops=2,
            loop_break_ms=60_000,
            cool_down=(TimedItem("Breathe", 30_000),),
        )
    )
    run.wait(10_000 + 40_000 + 5_000)
    assert run.do(Do.DROP_LOOP)
    assert run.engine.segment.kind is SegmentKind.COOL_DOWN
    run.wait(30_000)
    assert run.engine.ending == "complete"
    assert told(run) == [(1, False, True), (2, True, False)]
    assert violations(run) == []


def test_dropping_the_last_loop_while_in_it_goes_on_to_the_end():
    run = Run(plan(station(1), station(2), loops=1, last_recover="drop"))
    run.wait(20_000)
    assert run.do(Do.DROP_LOOP)
    assert run.engine.ending == "complete"
    assert run.engine.rows[-1].why == "dropped"


def test_before_the_first_loop_and_after_the_last_nothing_is_dropped():
    run = Run(plan(cool_down=(TimedItem("Breathe", 30_000),)))
    run.wait(5_000)
    assert not run.do(Do.DROP_LOOP)
    run.wait(70_000)
    assert run.engine.segment.kind is SegmentKind.COOL_DOWN
    assert not run.do(Do.DROP_LOOP)


def test_a_loop_dropped_at_its_first_hold_has_no_work():
    run = Run(plan(station(1, hold=True), loops=2, loop_break_ms=60_000))
    run.wait(12_000)
    assert run.engine.at_gate
    assert run.do(Do.DROP_LOOP)
    assert told(run) == [(1, True, False)]
    assert run.engine.segment.kind is SegmentKind.LOOP_BREAK
    assert violations(run) == []


def test_dropping_in_the_first_part_leaves_the_other_part_out():
    run = Run(plan(station(1, parts=LEFT_RIGHT), loops=2, loop_break_ms=60_000))
    run.wait(15_000)
    assert run.do(Do.DROP_LOOP)
    run.wait(60_000)
    parts = [(r.part, r.ms) for r in run.engine.rows if r.kind is SegmentKind.WORK]
    assert parts == [("left", 5_000)]


def test_a_skipped_station_makes_its_loop_partial_and_a_repeat_makes_it_whole():
    """Completion of a station is its best visit."""
    run = Run(plan(station(1), station(2)))
    run.wait(15_000)
    run.do(Do.SKIP)
    run.do(Do.BACK)
    run.wait(40_000 + 20_000 + 40_000)
    assert told(run) == [(1, False, True)]
    other = Run(plan(station(1), station(2)))
    other.wait(15_000)
    other.do(Do.SKIP)
    other.wait(20_000 + 40_000)
    assert told(other) == [(1, True, True)]


def test_going_back_into_a_loop_takes_its_end_back():
    run = three_loops(loop_break_ms=60_000)
    run.wait(10_000 + 100_000 + 5_000)
    assert [e.loop for e in run.engine.loops_ended] == [1]
    run.do(Do.BACK)
    assert run.engine.loops_ended == ()
    run.wait(40_000)
    assert told(run) == [(1, False, True), (1, False, True)]
    assert [e.loop for e in run.engine.loops_ended] == [1]
    assert violations(run) == []
