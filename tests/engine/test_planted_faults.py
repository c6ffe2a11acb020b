"""Are the checks any good? Faults planted in the engine must all be caught.

Each fault is a subclass that errs in one way. It is driven through a fixed
session, and `violations`, the function that the random sessions rest on, must
name the invariant it breaks. The engine as it is must pass the same session.
"""

from __future__ import annotations

import pytest
from tests.engine.invariants import violations
from tests.engine.record import Run
from tests.support.plans import every_place

from whistlestop.engine.commands import Do, Gap
from whistlestop.engine.engine import Engine
from whistlestop.engine.events import CueDue, RowClosed
from whistlestop.engine.states import Act, Mode
from whistlestop.errors import CommandRejected


def session(engine_class: type[Engine]) -> Run:
    """A session that meets every rule once: see `every_place` for its plan."""
    run = Run(every_place(), engine_class=engine_class)
    run.wait(30_000)  # to the very end of the first item
    run.wait(34_000)  # 4 s into the first work
    run.do(Do.PAUSE)
    run.wait(40_000)
    run.do(Do.PAUSE)  # refused
    run.do(Do.RESUME)
    run.wait(3_000 + 17_300)
    run.do(Gap(60_000))
    run.wait(2_000)
    run.do(Do.RESUME)
    run.wait(5_000 + 30_000)  # into the recover, past the end of the work
    run.do(Do.NEXT)
    run.wait(10_000)
    run.do(Do.LONGER)
    run.do(Do.RESTART)
    run.wait(2_000)
    run.do(Do.SKIP)
    run.wait(60_000)  # through the recover into the hold
    run.do(Do.NEXT)
    run.wait(100_000)  # work, recover, break until a key
    run.do(Do.NEXT)
    run.wait(90_000)
    run.until(run.now_ms - 5_000)  # a clock that runs backwards
    run.do(Do.BACK)
    run.wait(20_000)
    run.do(Do.DROP_LOOP)
    run.wait(90_000)  # the last recover, the cool-down
    return run


class BurstAfterGap(Engine):
    """What would have sounded in the gap sounds at the resume."""

    def _gap(self):
        self.lost_ms = 25_000
        return super()._gap()

    def _resume(self):
        self.offset_ms += getattr(self, "lost_ms", 0)
        self.lost_ms = 0
        return super()._resume()


class DuplicateCue(Engine):
    """The tenth cue is told twice."""

    def _fire(self):
        events = super()._fire()
        return events * 2 if self.visit == 10 else events


class StartsAtTimerTime(Engine):
    """A segment begins when the timer looks, not when it was due."""

    def advance(self, now_ms):
        events = []
        while (due := self.next_due()) is not None and due <= now_ms:
            self._pass(max(0, now_ms - self.t_ms))
            events += self._happen()
        return events + super().advance(now_ms)


class StampsObservedTime(Engine):
    """Events carry the time at which somebody looked."""

    def advance(self, now_ms):
        events = super().advance(now_ms)
        return [
            CueDue(now_ms, e.cue, e.visit, e.at_ms) if isinstance(e, CueDue) else e
            for e in events
        ]


class ResumeResetsOffset(Engine):
    """A resumed segment begins anew, in the same visit."""

    def _resume(self):
        self.offset_ms = 0
        return super()._resume()


class SkipWithoutRow(Engine):
    """Skipping leaves no row."""

    def _navigate(self, act):
        if act is Act.LEAVE_STATION:
            return self._enter(self.track.past_station(self.index))
        return super()._navigate(act)


class PauseCountsAsActive(Engine):
    """Paused time is not kept apart."""

    def _pass(self, ms):
        paused = self.paused_ms
        super()._pass(ms)
        self.paused_ms = paused


class GateCountsAsPaused(Engine):
    """Waiting at a gate is booked as a pause."""

    def _pass(self, ms):
        gated = self.gated_ms
        super()._pass(ms)
        self.paused_ms += self.gated_ms - gated
        self.gated_ms = gated


class CueDroppedAtBoundary(Engine):
    """A cue at the very start of a visit gets lost."""

    def _enter(self, index):
        self.losing = True
        events = super()._enter(index)
        self.losing = False
        return events

    def _fire(self):
        events = super()._fire()
        return [] if getattr(self, "losing", False) else events


class LastCueDropped(Engine):
    """A cue at the very end of a visit gets lost."""

    def _happen(self):
        if self.mode is Mode.RUNNING and self.offset_ms >= self.visit_length_ms:
            self.pending = ()
        return super()._happen()


class SoundsWhilePaused(Engine):
    """The clock of the segment runs on through a pause, and so do its cues."""

    def next_due(self):
        if self.mode is Mode.PAUSED and self.pending:
            return self.t_ms + max(1, self.pending[0].at_ms - self.offset_ms)
        return super().next_due()

    def _happen(self):
        return self._fire() if self.mode is Mode.PAUSED else super()._happen()


class RefusalLeavesATrace(Engine):
    """A refused command moves something all the same."""

    def handle(self, command, now_ms):
        try:
            return super().handle(command, now_ms)
        except CommandRejected:
            self.after_gap = not self.after_gap
            raise


class FullRowLosesAMillisecond(Engine):
    """A row is a millisecond short."""

    def _close(self, why):
        self.offset_ms -= 1 if self.offset_ms and self.visit == 4 else 0
        return super()._close(why)


class RowsRewritten(Engine):
    """Going on forgets the rows before a restart."""

    def _navigate(self, act):
        if act is Act.RESTART:
            self.rows = self.rows[1:]
        return super()._navigate(act)


class TicksMatter(Engine):
    """Every look at a running clock costs a millisecond."""

    def advance(self, now_ms):
        if self.mode is Mode.RUNNING and not self.at_gate and now_ms > self.t_ms:
            self.paused_ms += 1
        return super().advance(now_ms)


class CountInNotCounted(Engine):
    """The count-in after a pause is left out of the elapsed time."""

    def _pass(self, ms):
        counting = self.mode is Mode.COUNT_IN and not self.at_gate
        super()._pass(ms)
        if counting:
            self.paused_ms -= ms


class RowSaysFullWhenLeft(Engine):
    """A row of a segment that was left is marked full."""

    def _close(self, why):
        events = super()._close(why)
        row = events[0].row
        if why != "left":
            return events
        full = type(row)(
            **{s: getattr(row, s) for s in row.__slots__} | {"why": "full"}
        )
        self.rows = (*self.rows[:-1], full)
        return [RowClosed(self.t_ms, full)]


class NeverEnds(Engine):
    """After the last segment comes the last segment."""

    def _move(self, index, why):
        return super()._move(self.index if index is None else index, why)


class TimeRunsBackwards(Engine):
    """An earlier time is taken at its word."""

    def advance(self, now_ms):
        if now_ms < self.t_ms and self.mode is Mode.RUNNING:
            self.t_ms = now_ms
        return super().advance(now_ms)


class DueRemains(Engine):
    """What is due in this very millisecond waits for the next look."""

    def advance(self, now_ms):
        events = super().advance(now_ms - 1)
        if now_ms > self.t_ms and self.mode is not Mode.ENDED:
            self._pass(now_ms - self.t_ms)
        return events


class ReplayDiffers(Engine):
    """Something that is not in the journal decides the count-in."""

    made = 0

    def __init__(self, plan, *, count_in_ms=3_000):
        super().__init__(plan, count_in_ms=count_in_ms)
        type(self).made += 1
        self.count_in_ms += 1_000 * (type(self).made > 1)


FAULTS = {
    TimeRunsBackwards: {"13"},
    DueRemains: {"5"},
    ReplayDiffers: {"11", "12"},
    BurstAfterGap: {"7", "14"},
    DuplicateCue: {"2"},
    StartsAtTimerTime: {"6", "7", "9"},
    StampsObservedTime: {"6", "7"},
    ResumeResetsOffset: {"7"},
    SkipWithoutRow: {"9"},
    PauseCountsAsActive: {"1"},
    GateCountsAsPaused: {"1"},
    CueDroppedAtBoundary: {"2"},
    LastCueDropped: {"2"},
    SoundsWhilePaused: {"4"},
    RefusalLeavesATrace: {"8"},
    FullRowLosesAMillisecond: {"9", "7"},
    RowsRewritten: {"10"},
    TicksMatter: {"1", "6"},
    CountInNotCounted: {"1"},
    RowSaysFullWhenLeft: {"9"},
    NeverEnds: {"15"},
}


def numbers(run):
    return {text.partition(":")[0] for text in violations(run)}


def test_the_engine_as_it_is_passes_the_session_that_catches_the_faults():
    run = session(Engine)
    assert violations(run) == []
    assert len(run.inputs) == 12
    assert run.engine.ending == "complete"


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: fault.__name__)
def test_a_planted_fault_is_caught_by_the_invariant_it_breaks(fault):
    assert FAULTS[fault] <= numbers(session(fault))
