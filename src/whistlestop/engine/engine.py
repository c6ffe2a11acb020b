"""The engine: a session that is given the time and reports what happened.

What happens by itself: segments are entered, cues fire, counts run down, rows and
loops close, each at the moment it was due (`advance`). What is asked for: a command,
an automatic pause, a swap or an entry (`handle`). Times are integer milliseconds of
elapsed session time, and passed in, never read: it knows no clock, opens no file, and
never pauses by itself.
"""

from __future__ import annotations

import copy
from dataclasses import replace
from typing import Final, Self

from whistlestop.domain.owner import OWNER
from whistlestop.domain.plan.cues import Cue, CueName, collide
from whistlestop.domain.plan.pairing import ALONE, Company
from whistlestop.domain.plan.plan import Plan, Segment, SegmentKind
from whistlestop.engine import changes
from whistlestop.engine.changes import COUNT_MS
from whistlestop.engine.commands import (
    AthleteEntry,
    Command,
    Do,
    Gap,
    SwapExercise,
)
from whistlestop.engine.entries import judge_entry, judge_swap
from whistlestop.engine.events import (
    ClockAnswered,
    CountedIn,
    CueDue,
    Ending,
    EntryTaken,
    Event,
    LoopEnded,
    PlanChanged,
    Row,
    RowClosed,
    SessionEnded,
    SessionReopened,
    VisitBegan,
    Why,
)
from whistlestop.engine.loops import ended_loop, settled
from whistlestop.engine.navigation import closed_row, navigation_target
from whistlestop.engine.so_far import SessionSoFar, own_row
from whistlestop.engine.states import (
    ACTS,
    GATES,
    MODE_WORDS,
    MODES,
    Act,
    Mode,
    SegmentPlace,
    place_of,
)
from whistlestop.engine.track import Track
from whistlestop.errors import CommandRejected

STEP_MS: Final = 10_000
UNDO_WINDOW_MS: Final = 3_000
COUNT_IN_MS: Final = 3_000
COUNT_IN_AFTER_GAP_MS: Final = 5_000


class Engine:
    """One session of one plan: `advance(a); advance(b)` is `advance(b)`.

    All its values are immutable, so a fork costs nothing.
    """

    def __init__(
        self, plan: Plan, *, count_in_ms: int = COUNT_IN_MS, company: Company = ALONE
    ) -> None:
        """Stand ready before the first segment.

        Args:
            plan: What is to be done, by the owner.
            count_in_ms: Length of the count-in after a pause: 0, 3000 or 5000.
            company: Who trains along on this clock.
        """
        if not plan.segments:
            raise ValueError("a plan needs at least one segment")
        self.plan = plan
        self.company = company
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
        self.count_in_ms = count_in_ms
        self.after_gap = False
        self.entries: tuple[EntryTaken, ...] = ()
        self.drops: tuple[tuple[int, tuple[int, ...]], ...] = ()

    # Reading

    @property
    def segment(self) -> Segment:
        """The segment the session stands at; the last one when it has ended."""
        return self.track.segment(self.index)

    @property
    def place(self) -> SegmentPlace:
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

    def at(self, t_ms: int) -> Self:
        """A session of its own, as this one is then if nothing is asked of it."""
        ahead = self.fork()
        ahead.advance(t_ms)
        return ahead

    def upcoming(
        self, horizon_ms: int
    ) -> tuple[CueDue | CountedIn | ClockAnswered, ...]:
        """What will sound in the coming stretch if no key is pressed, in order."""
        events = self.fork().advance(self.t_ms + horizon_ms)
        heard = (CueDue, CountedIn, ClockAnswered)
        return tuple(event for event in events if isinstance(event, heard))

    def for_athlete(self, athlete: str = OWNER) -> SessionSoFar:
        """The session as it stands for one athlete: own plan, rows and entries."""
        track, rows = self.track, self.rows
        if (own := self.company.plan_of(athlete)) is not None:
            # Swaps are the owner's: in company none is possible.
            track = replace(track, plan=own, swaps=(), cuts=())
            rows = tuple(own_row(row, own) for row in rows)
        return SessionSoFar(
            athlete=athlete,
            track=track,
            rows=rows,
            entries=tuple(e for e in self.entries if e.entry.athlete == athlete),
            mode=self.mode,
            ending=self.ending,
            t_ms=self.t_ms,
            paused_ms=self.paused_ms,
            gated_ms=self.gated_ms,
            index=self.index,
            visit=self.visit,
            visit_length_ms=self.visit_length_ms,
            offset_ms=self.offset_ms,
            count_left_ms=self.count_left_ms,
            waited_ms=self.waited_ms,
            after_gap=self.after_gap,
            loops_ended=self.loops_ended,
            drops=self.drops,
        )

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

    def handle(self, command: Command, now_ms: int) -> list[Event]:
        """Let time pass until `now_ms`, then do what is asked.

        An automatic pause may carry a time that lies before what a clock says;
        one before the last time given counts as that time.

        Raises:
            CommandRejected: It is not legal now; nothing is changed by it, and
                what came due meanwhile is returned by the next `advance`.
        """
        events = self.advance(now_ms)
        try:
            if isinstance(command, Do):
                return events + self._do(command, now_ms)
            if isinstance(command, Gap):
                return events + self._gap()
            if isinstance(command, SwapExercise):
                return events + self._swap(command)
            return events + self._entry(command)
        except CommandRejected:
            self.unreported = events
            raise

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
        return self._fire_due() or [ClockAnswered(self.t_ms, CueName.RESUME)]

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
        events: list[Event] = [VisitBegan(self.t_ms, index, self.visit)]
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
        """Place the cues of the present visit again after a change.

        What has sounded has sounded: nothing is reported twice.
        """
        self.pending = tuple(
            cue
            for cue in self.track.cues(self.index, self.visit_length_ms)
            if cue.at_ms >= self.offset_ms
            and not any(collide(cue, heard) for heard in self.fired)
        )

    # Commands

    def _do(self, do: Do, now_ms: int) -> list[Event]:  # noqa: PLR0911, PLR0912 - a row an act
        if self.mode not in MODES[do]:
            raise CommandRejected(
                f"{do.value} is not possible while {MODE_WORDS[self.mode]}"
            )
        act = ACTS[do].get(self.place)
        if act is None:
            raise CommandRejected(f"{do.value}: nothing to do here")
        match act:
            case Act.PAUSE:
                return self._pause()
            case Act.RESUME:
                return self._resume()
            case Act.STOP:
                return self._end(Why.STOPPED, Ending.STOPPED)
            case Act.HEALTH:
                return self._end(Why.HEALTH, Ending.HEALTH)
            case Act.REOPEN:
                return self._reopen(now_ms)
            case Act.RESIZE | Act.RESIZE_STATION:
                return self._resize(act, STEP_MS if do is Do.LONGER else -STEP_MS)
            case Act.DROP_COMING:
                return self._drop_coming()
            case Act.UNDO_DROP:
                return self._undo_drop()
            case Act.DROP_LOOP | Act.DROP_THIS_OR_NEXT:
                return self._drop_loop(act)
            case Act.RELEASE:
                return self._release()
            case Act.TO_COUNT:
                return self._to_count()
            case _:
                return self._navigate(act)

    def _navigate(self, act: Act) -> list[Event]:
        leads = navigation_target(self.track, self.index, act, self.offset_ms)
        return self._move(*leads)

    def _pause(self) -> list[Event]:
        self.mode = Mode.PAUSED
        return [ClockAnswered(self.t_ms, CueName.PAUSE)]

    def _resume(self) -> list[Event]:
        length = COUNT_IN_AFTER_GAP_MS if self.after_gap else self.count_in_ms
        self.after_gap = False
        if self.at_gate:
            self.mode = Mode.RUNNING
            return [ClockAnswered(self.t_ms, CueName.RESUME)]
        return self._begin_count_in(length)

    def _release(self) -> list[Event]:
        length = COUNT_IN_AFTER_GAP_MS if self.after_gap else self.count_in_ms
        self.after_gap = False
        return self._begin_count_in(length)

    def _begin_count_in(self, length_ms: int) -> list[Event]:
        self.mode = Mode.COUNT_IN
        self.count_left_ms = length_ms
        if length_ms:
            return [CountedIn(self.t_ms, length_ms // 1000)]
        return self._count()

    def _gap(self) -> list[Event]:
        if self.mode in (Mode.READY, Mode.ENDED):
            raise CommandRejected("there is nothing to pause")
        self.mode = Mode.PAUSED
        self.after_gap = True
        return []

    def _reopen(self, now_ms: int) -> list[Event]:
        if self.ending is not Ending.HEALTH:
            raise CommandRejected(
                "only a session ended by a health stop can be reopened"
            )
        self.mode = Mode.PAUSED
        self.ending = None
        if now_ms > self.t_ms:
            self._pass(now_ms - self.t_ms)
        return [SessionReopened(self.t_ms), *self._enter(self.index)]

    def _to_count(self) -> list[Event]:
        if self.cut_ms is not None:
            raise CommandRejected("the count-in is already running")
        track = changes.to_next_work(self.track, self.index)
        coming = track.next_index(self.index)
        at_work = coming is not None and track.segment(coming).kind is SegmentKind.WORK
        end = self.offset_ms + COUNT_MS
        if at_work and end >= self.visit_length_ms and track == self.track:
            raise CommandRejected("the count-in is already running")
        self.track = track
        if not at_work:
            return self._move(coming, Why.LEFT)
        self.cut_ms = min(end, self.visit_length_ms)
        return self._changed()

    def _resize(self, act: Act, step_ms: int) -> list[Event]:
        if self.cut_ms is not None:
            raise CommandRejected("the count-in is already running")
        is_station = act is Act.RESIZE_STATION
        resize = changes.resize_station if is_station else changes.resize_rest
        self.track = resize(self.track, self.index, self.offset_ms, step_ms)
        self._recue()
        return [PlanChanged(self.t_ms), *self._fire_due()]

    def _drop_coming(self) -> list[Event]:
        self.track, station = changes.drop_coming(self.track, self.index)
        self.drops += ((self.t_ms, station),)
        return self._changed()

    def _undo_drop(self) -> list[Event]:
        if not self.drops or self.t_ms - self.drops[-1][0] > UNDO_WINDOW_MS:
            raise CommandRejected("nothing was dropped in the last 3 s")
        *earlier, (_, station) = self.drops
        if station[0] < self.index:
            raise CommandRejected("that station is already behind you")
        self.drops = tuple(earlier)
        self.track = self.track.with_again(station)
        return self._changed()

    def _changed(self) -> list[Event]:
        """After stations came or went while resting: count and loops again."""
        self._recue()
        events: list[Event] = [PlanChanged(self.t_ms)]
        return events + self._settle_loops() + self._fire_due()

    def _drop_loop(self, act: Act) -> list[Event]:
        loop = self.segment.loop
        if loop is None:
            raise CommandRejected("no loop has begun")
        work_left = self.track.work_left_in_loop(loop, self.index)
        if act is Act.DROP_THIS_OR_NEXT and not work_left:
            return self._drop_next_loop()
        self.drops = ()
        self.track = changes.drop_loop(self.track, self.index, loop)
        return self._move(self.track.next_index(self.index), Why.DROPPED)

    def _drop_next_loop(self) -> list[Event]:
        self.track, loop = changes.drop_next_loop(self.track, self.index)
        self.drops = ()
        # It may hold work all the same: begun, then left backwards.
        dropped = ended_loop(self.plan, self.rows, loop, self.t_ms)
        self.loops_ended += (dropped,)
        if self.track.next_work(self.index) is None:
            return [dropped, *self._move(self.track.next_index(self.index), Why.LEFT)]
        return [dropped, *self._changed()]

    def _swap(self, swap: SwapExercise) -> list[Event]:
        if self.mode in (Mode.READY, Mode.ENDED):
            raise CommandRejected("there is nothing to swap")
        judge_swap(swap)
        after = changes.swap_ahead(self.track, self.index, swap)
        self.track = after.cut(self.index, self.track, self.visit, self.offset_ms)
        return [PlanChanged(self.t_ms)]

    def _entry(self, entry: AthleteEntry) -> list[Event]:
        place = judge_entry(self.for_athlete(entry.athlete), entry)
        taken = EntryTaken(self.t_ms, entry, *place)
        self.entries += (taken,)
        return [taken]
