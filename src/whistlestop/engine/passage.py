"""A session passing: where it stands, and what happens there by itself.

Segments are entered, cues fire, counts run down, rows and loops close, each at
the moment it was due. Times are integer milliseconds of elapsed session time,
and told, never read. What may be asked of a session stands in `engine.py`.
"""

from __future__ import annotations

import copy
from typing import Self

from whistlestop.domain.cues import Cue, CueName, collide
from whistlestop.domain.plan import Plan, Segment
from whistlestop.engine.events import (
    Answered,
    CountedIn,
    CueDue,
    Ending,
    Entered,
    Event,
    LoopEnded,
    Row,
    RowClosed,
    SessionEnded,
    Why,
)
from whistlestop.engine.loops import settled
from whistlestop.engine.states import GATES, Mode, Place, place_of
from whistlestop.engine.track import Track
from whistlestop.engine.ways import closed_row
from whistlestop.errors import CommandRejected


class Passage:
    """One session of one plan, as it goes if nobody touches it.

    All its values are immutable, so a fork costs nothing.
    """

    def __init__(self, plan: Plan) -> None:
        """Stand ready before the first segment."""
        if not plan.segments:
            raise ValueError("a plan needs at least one segment")
        self.plan = plan
        self.track = Track(plan)
        self.mode = Mode.READY
        self.t_ms = 0
        self.index = 0
        self.visit = 0
        self.offset_ms = 0
        self.cut_ms: int | None = None
        self.pending: tuple[Cue, ...] = ()
        self.fired: tuple[Cue, ...] = ()
        self.count_left_ms = 0
        self.paused_ms = 0
        self.gated_ms = 0
        self.gated_before_ms = 0
        self.rows: tuple[Row, ...] = ()
        self.loops_ended: tuple[LoopEnded, ...] = ()
        self.ending: Ending | None = None
        self.unreported: list[Event] = []

    # Reading

    @property
    def segment(self) -> Segment:
        """The segment the session stands at; the last one when it has ended."""
        return self.track.segment(self.index)

    @property
    def place(self) -> Place:
        """What kind of place that is."""
        return place_of(self.segment)

    @property
    def at_gate(self) -> bool:
        """Whether the session stands at a gate."""
        return self.place in GATES

    @property
    def active_ms(self) -> int:
        """Elapsed without pauses and gates."""
        return self.t_ms - self.paused_ms - self.gated_ms

    @property
    def waited_ms(self) -> int:
        """How long the present visit has stood at its gate, pauses left out."""
        return self.gated_ms - self.gated_before_ms

    @property
    def visit_length_ms(self) -> int:
        """Where the present visit ends, from its start."""
        if self.cut_ms is not None:
            return self.cut_ms
        return self.track.length_ms(self.index)

    def next_due(self) -> int | None:
        """When something will happen by itself, in elapsed ms; None if nothing."""
        if self.mode is Mode.COUNT_IN:
            return self.t_ms + (self.count_left_ms - 1) % 1000 + 1
        if self.mode is not Mode.RUNNING or self.at_gate:
            return None
        end = self.visit_length_ms
        nearest = min([end, *(cue.at_ms for cue in self.pending)])
        return self.t_ms + nearest - self.offset_ms

    def fork(self) -> Self:
        """A session of its own that stands where this one does."""
        ahead = copy.copy(self)
        ahead.unreported = []
        return ahead

    def upcoming(self, horizon_ms: int) -> tuple[CueDue | CountedIn | Answered, ...]:
        """What will sound in the coming stretch if no key is pressed, in order."""
        events = self.fork().advance(self.t_ms + horizon_ms)
        heard = (CueDue, CountedIn, Answered)
        return tuple(event for event in events if isinstance(event, heard))

    # Going

    def start(self) -> list[Event]:
        """Begin at elapsed 0.

        Raises:
            CommandRejected: It has begun already.
        """
        if self.mode is not Mode.READY:
            raise CommandRejected("the session has begun already")
        self.mode = Mode.RUNNING
        return self._enter(0)

    def advance(self, now_ms: int) -> list[Event]:
        """Let time pass until `now_ms`; an earlier time changes nothing.

        Afterwards nothing due at or before `now_ms` remains.
        """
        events, self.unreported = self.unreported, []
        while True:
            due = self.next_due()
            if due is None or due > now_ms:
                break
            self._pass(due - self.t_ms)
            events += self._happen()
        if now_ms > self.t_ms and self.mode not in (Mode.READY, Mode.ENDED):
            self._pass(now_ms - self.t_ms)
        return events

    # Time

    def _pass(self, ms: int) -> None:
        self.t_ms += ms
        if self.mode is Mode.RUNNING and not self.at_gate:
            self.offset_ms += ms
            return
        if self.at_gate and self.mode is not Mode.PAUSED:
            self.gated_ms += ms
        else:
            self.paused_ms += ms
        if self.mode is Mode.COUNT_IN:
            self.count_left_ms -= ms

    def _happen(self) -> list[Event]:
        """Do the one thing that is due now."""
        if self.mode is Mode.COUNT_IN:
            return self._count()
        if self.pending and self.pending[0].at_ms <= self.offset_ms:
            return self._fire()
        why = Why.FULL if self.cut_ms is None else Why.LEFT
        return self._move(self.track.next_index(self.index), why)

    def _fire(self) -> list[Event]:
        cue, *rest = self.pending
        self.pending = tuple(rest)
        self.fired += (cue,)
        return [CueDue(self.t_ms, cue.cue, self.visit, cue.at_ms)]

    def _count(self) -> list[Event]:
        if self.count_left_ms > 0:
            return [CountedIn(self.t_ms, self.count_left_ms // 1000)]
        self.mode = Mode.RUNNING
        if self.at_gate:
            return self._move(self.track.next_index(self.index), Why.FULL)
        # A cue of the plan at this very moment says more than the resume tone.
        return self._fire_due() or [Answered(self.t_ms, CueName.RESUME)]

    def _fire_due(self) -> list[Event]:
        """Cues that stand exactly at this moment belong to it."""
        events: list[Event] = []
        while (
            self.mode is Mode.RUNNING
            and self.pending
            and self.pending[0].at_ms <= self.offset_ms
        ):
            events += self._fire()
        return events

    # Moving

    def _enter(self, index: int) -> list[Event]:
        self.index = index
        self.visit += 1
        self.offset_ms = 0
        self.gated_before_ms = self.gated_ms
        self.cut_ms = None
        self.fired = ()
        self.pending = self.track.cues(index)
        events: list[Event] = [Entered(self.t_ms, index, self.visit)]
        return events + self._settle_loops() + self._fire_due()

    def _close(self, why: Why) -> list[Event]:
        row = closed_row(
            self.track,
            self.index,
            t_ms=self.t_ms,
            visit=self.visit,
            ms=self.offset_ms,
            why=why,
        )
        self.rows += (row,)
        return [RowClosed(self.t_ms, row)]

    def _move(self, index: int | None, why: Why) -> list[Event]:
        if index is None:
            return self._end(why, Ending.COMPLETE)
        return self._close(why) + self._enter(index)

    def _end(self, why: Why, ending: Ending) -> list[Event]:
        events = self._close(why)
        self.mode = Mode.ENDED
        self.ending = ending
        self.pending = ()
        events += self._settle_loops()
        return [*events, SessionEnded(self.t_ms, ending)]

    def _settle_loops(self) -> list[Event]:
        """Say which loops are over now; one that is entered again is not."""
        over = self.mode is Mode.ENDED
        here = len(self.plan.segments) if over else self.index
        self.loops_ended, fresh = settled(
            self.track, self.rows, self.loops_ended, here=here, t_ms=self.t_ms
        )
        return list(fresh)

    def _recue(self) -> None:
        """Place the cues of the present visit anew after a change.

        What has sounded has sounded: nothing is told twice, or over it.
        """
        self.pending = tuple(
            cue
            for cue in self.track.cues(self.index, self.visit_length_ms)
            if cue.at_ms >= self.offset_ms
            and not any(collide(cue, heard) for heard in self.fired)
        )
