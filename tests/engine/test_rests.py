"""In a rest: on to the count, dropping the coming station, taking it back."""

from __future__ import annotations

import pytest
from tests.engine.invariants import violations
from tests.engine.record import Run
from tests.support.plans import plan, station

from whistlestop.domain.circuit.circuit import TimedItem
from whistlestop.domain.plan.cues import CueName
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.engine.commands import Do
from whistlestop.engine.events import CueDue


def three(**changes):
    """0 get ready 10, then work 40 and recover 20 three times: 1-2, 3-4, 5-6."""
    return Run(plan(station(1), station(2), station(3), **changes))


def cues_from(run, t_ms):
    return [
        (e.t_ms, e.cue.value)
        for e in run.events
        if isinstance(e, CueDue) and e.t_ms >= t_ms
    ]


def stations_worked(run):
    return [r.station for r in run.engine.rows if r.kind is SegmentKind.WORK]


def test_next_in_a_recover_gives_a_count_of_three_that_belongs_to_the_recover():
    run = three()
    run.wait(50_000 + 6_500)
    assert run.do(Do.NEXT)
    assert run.engine.segment.kind is SegmentKind.RECOVER
    run.wait(3_000)
    assert cues_from(run, 56_000) == [
        (56_500, "count"),
        (57_500, "count"),
        (58_500, "count"),
        (59_500, "go"),
    ]
    row = run.engine.rows[-1]
    assert (row.kind, row.ms, row.set_ms) == (SegmentKind.RECOVER, 9_500, 20_000)
    assert row.why == "left"
    assert run.engine.segment.station == 2
    assert violations(run) == []


@pytest.mark.parametrize(("offset_ms", "taken"), [(16_999, True), (17_000, False)])
def test_next_is_refused_once_the_count_is_on(offset_ms, taken):
    run = three()
    run.wait(50_000 + offset_ms)
    assert run.do(Do.NEXT) is taken
    assert not run.do(Do.NEXT)


def test_next_in_get_ready_and_in_a_timed_break_counts_as_well():
    run = three(loops=2, loop_break_ms=60_000)
    run.wait(2_000)
    assert run.do(Do.NEXT)
    run.wait(3_000)
    assert run.engine.segment.kind is SegmentKind.WORK
    assert run.engine.rows[-1].ms == 5_000
    while run.engine.segment.kind is not SegmentKind.LOOP_BREAK:
        run.wait(1_000)
    run.wait(5_000)
    offset = run.engine.offset_ms
    assert run.do(Do.NEXT)
    run.wait(3_000)
    assert run.engine.rows[-1].kind is SegmentKind.LOOP_BREAK
    assert run.engine.rows[-1].ms == offset + 3_000
    assert run.engine.segment.loop == 2


def test_next_in_a_warm_up_goes_to_the_next_work_after_a_count():
    """In a recovery, a break or a warm-up it leads to the next work."""
    items = (TimedItem("Walk", 60_000), TimedItem("Swing", 60_000))
    run = Run(plan(warm_up=items, cool_down=(TimedItem("Rest", 60_000),)))
    run.wait(5_000)
    assert run.do(Do.NEXT)
    assert run.engine.segment.kind is SegmentKind.WARM_UP
    run.wait(3_000)
    assert run.engine.segment.kind is SegmentKind.WORK
    assert [row.ms for row in run.engine.rows] == [8_000]
    assert [cue.value for cue in (e.cue for e in run.events if hasattr(e, "cue"))] == [
        "count",
        "count",
        "count",
        "go",
    ]
    assert violations(run) == []


def test_next_before_a_hold_and_with_no_work_left_goes_on_at_once():
    run = Run(plan(station(1), station(2, hold=True), recover_ms=20_000))
    run.wait(10_000 + 40_000 + 1_000)
    assert run.do(Do.NEXT)
    assert run.engine.segment.kind is SegmentKind.HOLD
    run = Run(plan(cool_down=(TimedItem("Rest", 60_000),)))
    run.wait(10_000 + 40_000 + 1_000)
    assert run.engine.segment.kind is SegmentKind.RECOVER
    assert run.do(Do.NEXT)
    assert run.engine.segment.kind is SegmentKind.COOL_DOWN
    assert run.do(Do.NEXT)
    assert run.engine.ending == "complete"
    assert violations(run) == []


def test_next_in_a_paused_recover_counts_after_the_resume():
    run = three()
    run.wait(55_000)
    run.do(Do.PAUSE)
    assert run.do(Do.NEXT)
    run.wait(30_000)
    assert cues_from(run, 55_000) == []
    run.do(Do.RESUME)
    run.wait(3_000 + 3_000)
    start = 55_000 + 30_000 + 3_000
    assert cues_from(run, 55_000) == [
        (start, "count"),
        (start + 1_000, "count"),
        (start + 2_000, "count"),
        (start + 3_000, "go"),
    ]
    assert violations(run) == []


def test_skip_in_a_recover_drops_the_coming_station_from_this_loop_only():
    run = three(loops=2)
    run.wait(55_000)
    assert run.do(Do.SKIP)
    assert run.engine.segment.kind is SegmentKind.RECOVER
    run.wait(15_000)
    assert run.engine.segment.station == 3
    run.wait(2_000_000)
    assert stations_worked(run) == [1, 3, 1, 2, 3]
    assert violations(run) == []


def test_one_press_drops_one_station():
    run = three()
    run.wait(55_000)
    assert run.do(Do.SKIP)
    assert run.do(Do.SKIP)
    run.wait(2_000_000)
    assert stations_worked(run) == [1]
    assert run.engine.loops_ended[-1].partial
    assert violations(run) == []


def test_the_last_station_left_in_a_loop_cannot_be_dropped():
    run = three()
    run.wait(5_000)
    assert run.do(Do.SKIP)
    assert run.do(Do.SKIP)
    assert not run.do(Do.SKIP)
    run.wait(2_000_000)
    assert stations_worked(run) == [3]


def test_where_no_station_comes_nothing_is_dropped():
    run = Run(plan(cool_down=(TimedItem("Rest", 60_000),)))
    run.wait(10_000 + 40_000 + 1_000)
    assert not run.do(Do.SKIP)
    run.wait(20_000)
    assert run.engine.segment.kind is SegmentKind.COOL_DOWN
    assert not run.do(Do.SKIP)


@pytest.mark.parametrize(
    ("later_ms", "taken"), [(0, True), (3_000, True), (3_001, False)]
)
def test_a_drop_can_be_undone_for_three_seconds(later_ms, taken):
    run = three()
    run.wait(55_000)
    run.do(Do.SKIP)
    run.wait(later_ms)
    assert run.do(Do.UNDO) is taken
    run.wait(2_000_000)
    assert stations_worked(run) == ([1, 2, 3] if taken else [1, 3])
    assert violations(run) == []


def test_the_three_seconds_count_elapsed_time_pauses_included():
    run = three()
    run.wait(55_000)
    run.do(Do.SKIP)
    run.do(Do.PAUSE)
    run.wait(3_001)
    assert not run.do(Do.UNDO)


def test_two_drops_are_undone_last_first():
    run = three()
    run.wait(55_000)
    run.do(Do.SKIP)
    run.do(Do.SKIP)
    assert run.do(Do.UNDO)
    assert run.engine.track.dropped == {3, 4}
    assert run.do(Do.UNDO)
    assert run.engine.track.dropped == frozenset()
    run.wait(2_000_000)
    assert stations_worked(run) == [1, 2, 3]
    loops = [event for event in run.engine.loops_ended if event.loop == 1]
    assert [event.partial for event in loops] == [False]


def test_dropping_the_last_station_makes_this_recover_the_end_of_the_session():
    run = Run(plan(station(1), station(2)))
    run.wait(51_000)
    assert run.do(Do.SKIP)
    run.wait(19_000)
    assert cues_from(run, 51_000) == [(52_000, "effort"), (70_000, "session_end")]
    assert run.engine.ending == "complete"
    assert violations(run) == []


def test_dropping_the_last_station_while_the_count_is_on_stops_the_count():
    """The count would lead to nothing; the session still ends with its tone."""
    run = Run(plan(station(1), station(2)))
    run.wait(55_000)
    assert run.do(Do.NEXT)
    assert run.do(Do.SKIP)
    run.wait(3_000)
    assert cues_from(run, 55_001) == [(58_000, "session_end")]
    assert violations(run) == []


def test_nothing_sounds_over_what_has_sounded_when_a_station_is_dropped_at_once():
    run = Run(plan(station(1), station(2)))
    run.wait(50_000)
    assert run.do(Do.SKIP)
    run.wait(1_000)
    assert cues_from(run, 50_000) == [(50_000, CueName.STATION_END.value)]
    assert violations(run) == []
