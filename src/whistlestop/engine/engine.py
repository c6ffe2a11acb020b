"""The engine: a session that is told the time and says what happened.

What may be asked of a session: `handle` takes a command, an automatic pause, a
swap or an entry, and returns events stamped with the moment they were due. It
reads no clock, opens no file, and never pauses by itself; what happens without
being asked stands in `passage.py`.
"""

from __future__ import annotations

from typing import Final

from whistlestop.domain.cues import CueName
from whistlestop.domain.plan import Kind, Plan
from whistlestop.engine import changes
from whistlestop.engine.changes import COUNT_MS
from whistlestop.engine.commands import Command, Do, EnterEffort, Entry, Gap, Swap
from whistlestop.engine.entries import belongs_to, judge_entry, judge_swap
from whistlestop.engine.events import (
    Answered,
    CountedIn,
    Ending,
    EntryTaken,
    Event,
    PlanChanged,
    SessionReopened,
    Why,
)
from whistlestop.engine.loops import ended_loop
from whistlestop.engine.passage import Passage
from whistlestop.engine.states import ACTS, MODE_WORDS, MODES, Act, Mode
from whistlestop.engine.ways import where_to
from whistlestop.errors import CommandRejected

STEP_MS: Final = 10_000
UNDO_WINDOW_MS: Final = 3_000
COUNT_IN_MS: Final = 3_000
COUNT_IN_AFTER_GAP_MS: Final = 5_000


class Engine(Passage):
    """One session of one plan: `advance(a); advance(b)` is `advance(b)`."""

    def __init__(self, plan: Plan, *, count_in_ms: int = COUNT_IN_MS) -> None:
        """Stand ready before the first segment.

        Args:
            plan: What is to be done.
            count_in_ms: Length of the count-in after a pause: 0, 3000 or 5000.
        """
        super().__init__(plan)
        self.count_in_ms = count_in_ms
        self.after_gap = False
        self.entries: tuple[EntryTaken, ...] = ()
        self.drops: tuple[tuple[int, tuple[int, ...]], ...] = ()

    def effort_of(self, loop: int) -> EnterEffort | None:
        """The last thing said of a loop's effort."""
        said = [
            taken.entry
            for taken in self.entries
            if isinstance(taken.entry, EnterEffort) and taken.entry.loop == loop
        ]
        return said[-1] if said else None

    def handle(self, command: Command, now_ms: int) -> list[Event]:
        """Let time pass until `now_ms`, then do what is asked.

        An automatic pause may carry a time that lies before what a clock says;
        one before the last time told counts as that time.

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
            if isinstance(command, Swap):
                return events + self._swap(command)
            return events + self._entry(command)
        except CommandRejected:
            self.unreported = events
            raise

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
        leads = where_to(self.track, self.index, act, self.offset_ms)
        return self._move(*leads)

    def _pause(self) -> list[Event]:
        self.mode = Mode.PAUSED
        return [Answered(self.t_ms, CueName.PAUSE)]

    def _resume(self) -> list[Event]:
        length = COUNT_IN_AFTER_GAP_MS if self.after_gap else self.count_in_ms
        self.after_gap = False
        if self.at_gate:
            self.mode = Mode.RUNNING
            return [Answered(self.t_ms, CueName.RESUME)]
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
        at_work = coming is not None and track.segment(coming).kind is Kind.WORK
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
        """After stations came or went while resting: count and loops anew."""
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

    def _swap(self, swap: Swap) -> list[Event]:
        if self.mode in (Mode.READY, Mode.ENDED):
            raise CommandRejected("there is nothing to swap")
        judge_swap(swap)
        self.track = changes.swap_ahead(self.track, self.index, swap)
        return [PlanChanged(self.t_ms)]

    def _entry(self, entry: Entry) -> list[Event]:
        judge_entry(self, entry)
        taken = EntryTaken(self.t_ms, entry, *belongs_to(self, entry))
        self.entries += (taken,)
        return [taken]
