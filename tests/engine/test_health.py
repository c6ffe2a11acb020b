"""Stopping on health grounds: the clock freezes, the record stays, it can go on."""

from __future__ import annotations

import pytest
from tests.engine.invariants import violations
from tests.engine.record import Run
from tests.support.plans import plan, station

from whistlestop.engine.commands import Do, EnterNote, Gap
from whistlestop.engine.events import Ending, SessionEnded, SessionReopened
from whistlestop.engine.states import Mode


def stopped():
    """Stopped 7 s into the work of 40 s that begins at 10 s."""
    run = Run(plan(station(1), station(2)))
    run.wait(17_000)
    assert run.do(Do.HEALTH)
    return run


def test_one_press_freezes_the_clock_and_silences_everything():
    run = stopped()
    assert run.events[-1] == SessionEnded(17_000, Ending.HEALTH)
    heard = len(run.events)
    run.wait(3_600_000)
    assert len(run.events) == heard
    assert run.engine.t_ms == 17_000
    assert run.engine.next_due() is None
    assert run.engine.upcoming(3_600_000) == ()


def test_the_record_is_kept():
    run = stopped()
    row = run.engine.rows[-1]
    assert (row.ms, row.why) == (7_000, "health")
    assert run.engine.ending is Ending.HEALTH
    (loop,) = run.engine.loops_ended
    assert (loop.loop, loop.partial, loop.worked) == (1, True, True)


@pytest.mark.parametrize("do", [d for d in Do if d is not Do.REOPEN])
def test_nothing_but_reopening_moves_it(do):
    run = stopped()
    assert not run.do(do)
    assert not run.do(Gap(1_000))
    assert violations(run) == []


def test_notes_are_still_taken():
    run = stopped()
    run.wait(60_000)
    assert run.do(EnterNote("calf felt tight"))
    assert run.engine.t_ms == 17_000


def test_it_goes_on_paused_with_the_same_segment_anew_and_the_wait_is_paused_time():
    run = stopped()
    run.wait(60_000)
    assert run.do(Do.REOPEN)
    engine = run.engine
    assert SessionReopened(77_000) in run.events
    assert (engine.mode, engine.index, engine.offset_ms) == (Mode.PAUSED, 1, 0)
    assert (engine.t_ms, engine.active_ms, engine.paused_ms) == (77_000, 17_000, 60_000)
    assert engine.loops_ended == ()
    run.do(Do.RESUME)
    run.wait(3_000 + 40_000)
    rows = [(r.segment, r.ms, r.why.value) for r in engine.rows]
    assert rows[-2:] == [(1, 7_000, "health"), (1, 40_000, "full")]
    assert violations(run) == []


def test_it_can_be_stopped_again_and_reopened_again():
    run = stopped()
    run.do(Do.REOPEN)
    assert run.do(Do.HEALTH)
    assert run.do(Do.REOPEN)
    assert run.do(Do.STOP)
    assert not run.do(Do.REOPEN)
    assert violations(run) == []
