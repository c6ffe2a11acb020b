"""Pauses, count-ins, gaps and gates: what counts as what, and what sounds."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from tests.engine.invariants import violations
from tests.engine.record import Run, state
from tests.support.plans import MODERATE, plan, session_plans, station

from whistlestop.domain.plan.cues import CueName
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.engine.commands import Do, Gap
from whistlestop.engine.engine import Engine
from whistlestop.engine.events import ClockAnswered, CountedIn, CueDue, RowClosed
from whistlestop.engine.states import Mode


def sounds_from(run, t_ms):
    """What is heard from a moment on, as (ms, what)."""
    found = []
    for event in run.events:
        if event.t_ms < t_ms:
            continue
        if isinstance(event, (CueDue, ClockAnswered)):
            found.append((event.t_ms, event.cue.value))
        elif isinstance(event, CountedIn):
            found.append((event.t_ms, event.seconds_left))
    return found


def buckets(run):
    engine = run.engine
    return engine.t_ms, engine.active_ms, engine.paused_ms, engine.gated_ms


def paused_in_work(count_in_ms=3_000):
    """Paused 5 s into the work of 40 s that begins at 10 s."""
    run = Run(plan(station(1), station(2)), count_in_ms=count_in_ms)
    run.wait(15_000)
    run.do(Do.PAUSE)
    return run


def test_a_pause_counts_as_paused_and_moves_nothing():
    run = paused_in_work()
    run.wait(100_000)
    assert buckets(run) == (115_000, 15_000, 100_000, 0)
    assert run.engine.offset_ms == 5_000
    assert sounds_from(run, 15_000) == [(15_000, "pause")]


def test_a_resume_counts_three_in_and_that_is_paused_time():
    run = paused_in_work()
    run.wait(100_000)
    run.do(Do.RESUME)
    run.wait(3_000)
    assert buckets(run) == (118_000, 15_000, 103_000, 0)
    assert sounds_from(run, 115_000) == [
        (115_000, 3),
        (116_000, 2),
        (117_000, 1),
        (118_000, "resume"),
    ]
    assert run.engine.mode is Mode.RUNNING
    run.wait(35_000)
    row = run.engine.rows[-1]
    assert (row.t_ms, row.ms, row.why) == (153_000, 40_000, "full")
    assert violations(run) == []


@pytest.mark.parametrize(("count_in_ms", "counts"), [(0, []), (5_000, [5, 4, 3, 2, 1])])
def test_the_count_in_can_be_none_or_five(count_in_ms, counts):
    run = paused_in_work(count_in_ms)
    run.wait(10_000)
    run.do(Do.RESUME)
    run.wait(count_in_ms)
    heard = [what for _, what in sounds_from(run, 25_000)]
    assert heard == [*counts, "resume"]
    assert buckets(run) == (25_000 + count_in_ms, 15_000, 10_000 + count_in_ms, 0)


@pytest.mark.parametrize("count_in_ms", [0, 3_000, 5_000])
def test_after_a_gap_the_count_in_is_five_whatever_the_setting(count_in_ms):
    run = Run(plan(), count_in_ms=count_in_ms)
    run.wait(15_000)
    run.do(Gap(3_600_000))
    run.wait(2_000)
    run.do(Do.RESUME)
    assert run.engine.count_left_ms == 5_000
    run.wait(5_000)
    assert buckets(run) == (22_000, 15_000, 7_000, 0)
    run.do(Do.PAUSE)
    run.do(Do.RESUME)
    assert run.engine.count_left_ms == count_in_ms


def test_pausing_the_count_in_begins_it_anew():
    run = paused_in_work()
    run.do(Do.RESUME)
    run.wait(1_500)
    assert run.do(Do.PAUSE)
    run.wait(10_000)
    assert run.do(Do.RESUME)
    assert run.engine.count_left_ms == 3_000
    run.wait(3_000)
    assert run.engine.mode is Mode.RUNNING
    assert buckets(run) == (29_500, 15_000, 14_500, 0)
    assert violations(run) == []


def test_a_planned_cue_at_the_moment_of_resuming_speaks_for_the_resume():
    run = Run(plan(station(1), station(2)))
    run.wait(15_000)
    run.do(Do.PAUSE)
    run.do(Do.RESTART)
    run.do(Do.RESUME)
    run.wait(3_000)
    assert sounds_from(run, 16_000) == [(16_000, 2), (17_000, 1), (18_000, "go")]


def test_a_cue_due_in_the_millisecond_of_the_pause_has_sounded():
    run = Run(plan())
    run.wait(10_000)
    run.do(Do.PAUSE)
    assert sounds_from(run, 10_000) == [(10_000, "go"), (10_000, "pause")]
    run.do(Do.RESUME)
    run.wait(3_000)
    assert sounds_from(run, 13_000) == [(13_000, "resume")]


@pytest.mark.parametrize("earlier_ms", [0, 1, 700])
def test_a_gap_moves_nothing_and_counts_as_nothing(earlier_ms):
    """Told for the last instant seen; the lost time is stored beside it."""
    run = Run(plan())
    run.wait(15_000)
    before = state(run.engine)
    assert run.do(Gap(8 * 3_600_000), at_ms=15_000 - earlier_ms)
    changed = {k for k, v in state(run.engine).items() if v != before[k]}
    assert changed == {"mode", "after_gap"}
    assert run.inputs == [(15_000, Gap(8 * 3_600_000))]
    run.wait(60_000)
    assert sounds_from(run, 15_000) == []
    assert violations(run) == []


def test_the_break_can_be_paused_and_is_held():
    run = Run(plan(loops=2, loop_break_ms=60_000))
    run.wait(50_000 + 10_000)
    assert run.engine.segment.kind is SegmentKind.LOOP_BREAK
    run.do(Do.PAUSE)
    run.wait(600_000)
    assert run.engine.segment.kind is SegmentKind.LOOP_BREAK
    assert run.engine.offset_ms == 10_000


def held():
    """0 get ready 10 s, 1 hold, 2 work 40 s, 3 recover: stands at the hold."""
    run = Run(plan(station(1, hold=True)))
    run.wait(10_000)
    assert run.engine.at_gate
    return run


def test_a_gate_waits_in_silence_and_its_time_is_gated():
    run = held()
    run.wait(3_600_000)
    assert buckets(run) == (3_610_000, 10_000, 0, 3_600_000)
    assert run.engine.next_due() is None
    assert sounds_from(run, 10_000) == []


def test_a_key_opens_a_gate_after_a_count_in_that_is_gated_too():
    run = held()
    run.wait(60_000)
    run.do(Do.NEXT)
    run.wait(3_000)
    assert sounds_from(run, 10_000) == [
        (70_000, 3),
        (71_000, 2),
        (72_000, 1),
        (73_000, "go"),
    ]
    assert buckets(run) == (73_000, 10_000, 0, 63_000)
    row = run.engine.rows[-1]
    assert (row.kind, row.ms, row.plan_ms, row.why) == (SegmentKind.HOLD, 0, 0, "full")
    assert run.engine.segment.kind is SegmentKind.WORK
    assert violations(run) == []


def test_a_gate_cannot_be_paused_but_a_gap_pauses_it():
    run = held()
    assert not run.do(Do.PAUSE)
    assert run.do(Gap(5_000))
    run.wait(4_000)
    assert buckets(run) == (14_000, 10_000, 4_000, 0)
    assert run.do(Do.RESUME)
    run.wait(4_000)
    assert run.engine.at_gate
    assert buckets(run) == (18_000, 10_000, 4_000, 4_000)
    assert violations(run) == []


def test_a_break_until_a_key_waits_between_the_loops():
    run = Run(plan(loops=2, break_until_key=True))
    run.wait(10_000 + 40_000 + 500_000)
    assert run.engine.segment.kind is SegmentKind.LOOP_BREAK
    run.do(Do.NEXT)
    run.wait(3_000)
    assert run.engine.segment.place == (2, 1)
    assert buckets(run)[3] == 503_000


def test_time_running_backwards_changes_nothing():
    run = Run(plan())
    run.wait(15_000)
    before = state(run.engine)
    assert run.engine.advance(14_999) == []
    assert run.engine.advance(0) == []
    assert state(run.engine) == before


def test_nothing_passes_before_the_start_and_it_starts_once():
    engine = Engine(plan())
    assert engine.advance(50_000) == []
    assert engine.t_ms == 0
    assert engine.next_due() is None
    engine.start()
    with pytest.raises(Exception, match="begun already"):
        engine.start()


def _played(engine, to_ms):
    return engine.start() + engine.advance(to_ms)


def _moved(event, shift_ms):
    moved = replace(event, t_ms=event.t_ms + shift_ms)
    if isinstance(event, RowClosed):
        return RowClosed(moved.t_ms, replace(event.row, t_ms=moved.t_ms))
    return moved


@MODERATE
@given(
    session_plans(),
    st.floats(0, 1),
    st.integers(0, 600_000),
    st.sampled_from([0, 3_000, 5_000]),
)
def test_a_pause_at_any_millisecond_shifts_all_later_dues_by_exactly_the_pause(
    made, where, length_ms, count_in_ms
):
    """7: against the same session without the pause, up to the first gate."""
    at_ms = int(where * made.total_ms)
    plain = Engine(made, count_in_ms=count_in_ms)
    expected = _played(plain, made.total_ms)
    engine = Engine(made, count_in_ms=count_in_ms)
    events = _played(engine, at_ms)
    assume(engine.mode is Mode.RUNNING and not engine.at_gate)
    events += engine.handle(Do.PAUSE, at_ms)
    events += engine.handle(Do.RESUME, at_ms + length_ms)
    events += engine.advance(made.total_ms + length_ms + count_in_ms)
    shift = length_ms + count_in_ms
    kept = [e for e in events if not isinstance(e, (ClockAnswered, CountedIn))]
    assert kept == [e if e.t_ms <= at_ms else _moved(e, shift) for e in expected]
    assert [e.cue for e in events if isinstance(e, ClockAnswered)] == [
        CueName.PAUSE,
        CueName.RESUME,
    ]


@MODERATE
@given(session_plans(), st.lists(st.integers(0, 30_000), max_size=40))
def test_ticks_at_any_moments_give_the_same_session_as_one_look_at_the_end(made, steps):
    """6: two engines, one of them advanced in random small steps."""
    one, other = Engine(made), Engine(made)
    events = other.start()
    now_ms = 0
    for step in steps:
        now_ms += step
        events += other.advance(now_ms)
    assert _played(one, now_ms) == events
    assert state(one) == state(other)


@MODERATE
@given(session_plans(), st.integers(0, 300_000), st.integers(0, 120_000))
def test_what_is_announced_is_what_then_sounds(made, at_ms, horizon_ms):
    engine = Engine(made)
    _played(engine, at_ms)
    before = state(engine)
    announced = engine.upcoming(horizon_ms)
    assert state(engine) == before
    events = engine.advance(at_ms + horizon_ms)
    assert list(announced) == [e for e in events if isinstance(e, CueDue)]
    assert all(at_ms < e.t_ms <= at_ms + horizon_ms for e in announced)
