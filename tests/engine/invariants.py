"""Every rule that a recorded session must keep.

`violations` judges the record of a `Run` against a clock of its own (`_Clock`),
which knows commands and gates and asks the engine nothing. Numbers are those
of this list of fifteen:

 1 active + paused + gated = elapsed        9 rows = visits - 1, exact lengths
 2 cues exactly once, those before leaving  10 rows and entries only grow
 3 plan order, stamps never decrease        11 replay = live
 4 no cue while paused, gated, or over      12 every prefix is an earlier state
 5 nothing due remains                      13 time running backwards: nothing
 6 ticks do not matter                      14 a gap moves nothing
 7 a pause shifts dues and no duration      15 gates answered: it always ends
 8 a refused command changes nothing
"""

from __future__ import annotations

from dataclasses import dataclass, field

from tests.engine.record import Run, Step, state

from whistlestop.domain.plan.cues import LENGTH_MS, Cue
from whistlestop.domain.plan.plan import Plan, SegmentKind
from whistlestop.engine.commands import Command, Do, Gap
from whistlestop.engine.events import (
    CountedIn,
    CueDue,
    Event,
    LoopEnded,
    PlanChanged,
    RowClosed,
    SessionEnded,
    VisitBegan,
    Why,
)
from whistlestop.engine.states import Mode
from whistlestop.engine.track import Track

MOST_STEPS_TO_THE_END = 2_000


def violations(run: Run) -> list[str]:
    """Every rule that a recorded session breaks, with its number first."""
    audit = _Audit(run.plan, run.count_in_ms)
    for step in run.steps:
        audit.step(step)
    audit.end()
    return audit.found + _again(run) + _ending(run)


def _again(run: Run) -> list[str]:
    found = []
    recorded = [s.after for s in run.steps if s.command is not None and s.accepted]
    engine, events, states = run.again()
    if events != run.events or state(engine) != state(run.engine):
        found.append("11: a replay of the inputs differs from the live session")
    if states != recorded:
        found.append("12: a prefix of the inputs leads to another state")
    for ticks in (1, 5):
        engine, events, _ = run.again(ticks)
        if events != run.events or state(engine) != state(run.engine):
            found.append(f"6: {ticks} ticks before each input change the session")
    return found


def _ending(run: Run) -> list[str]:
    engine, plan = run.engine.fork(), run.plan
    for _ in range(MOST_STEPS_TO_THE_END):
        if not 0 <= engine.index < len(plan.segments):
            return ["15: the session stands outside its plan"]
        if engine.mode is Mode.ENDED:
            break
        due = engine.next_due()
        if due is not None:
            engine.advance(due)
        elif engine.mode is Mode.PAUSED:
            engine.handle(Do.RESUME, engine.t_ms)
        else:
            engine.handle(Do.NEXT, engine.t_ms)
    else:
        return ["15: the session does not end"]
    at_end = state(engine)
    if engine.advance(engine.t_ms + 1_000_000) or state(engine) != at_end:
        return ["15: something happens after the end"]
    return []


@dataclass
class _Visit:
    number: int
    index: int
    start_active_ms: int
    track: Track
    cut_ms: int | None
    from_ms: int = 0
    fired: list[Cue] = field(default_factory=list)
    fired_before: tuple[Cue, ...] = ()

    def cues(self) -> tuple[Cue, ...]:
        length = self.length_ms if self.cut_ms is None else self.cut_ms
        return self.track.cues(self.index, length)

    @property
    def length_ms(self) -> int:
        planned = self.track.plan.segments[self.index].duration_ms
        return self.track.lengths_ms.get(self.index, planned)


class _Clock:
    """Which time counts as what, told from commands, gates and count-ins alone."""

    def __init__(self, count_in_ms: int) -> None:
        self.count_in_ms = count_in_ms
        self.state = "running"
        self.gate = False
        self.t_ms = self.active_ms = self.paused_ms = self.gated_ms = 0
        self.count_ends_ms = 0
        self.after_gap = False

    @property
    def runs(self) -> bool:
        return self.state == "running" and not self.gate

    def move(self, to_ms: int) -> None:
        if self.state == "count_in" and to_ms >= self.count_ends_ms:
            self._add(self.count_ends_ms)
            self.state = "running"
        self._add(to_ms)

    def _add(self, to_ms: int) -> None:
        ms = max(0, to_ms - self.t_ms)
        if self.state == "ended":
            return
        self.t_ms += ms
        if self.state != "paused" and self.gate:
            self.gated_ms += ms
        elif self.state == "running":
            self.active_ms += ms
        else:
            self.paused_ms += ms

    def take(self, command: Command, now_ms: int) -> None:
        if isinstance(command, Gap):
            self.state, self.after_gap = "paused", True
        elif command is Do.PAUSE:
            self.state = "paused"
        elif command is Do.RESUME:
            length = 5_000 if self.after_gap else self.count_in_ms
            self._count_in(0 if self.gate else length)
        elif command is Do.NEXT and self.gate:
            self._count_in(5_000 if self.after_gap else self.count_in_ms)
        elif command is Do.REOPEN:
            self.state = "paused"
            self._add(now_ms)

    def _count_in(self, length_ms: int) -> None:
        self.after_gap = False
        self.count_ends_ms = self.t_ms + length_ms
        self.state = "count_in" if length_ms else "running"


_WHYS = {
    Do.NEXT: {Why.LEFT, Why.FULL},  # full: a gate released without a count-in
    Do.SKIP: {Why.SKIPPED},
    Do.BACK: {Why.LEFT, Why.RESTARTED},
    Do.RESTART: {Why.RESTARTED},
    Do.DROP_LOOP: {Why.DROPPED, Why.LEFT},
    Do.STOP: {Why.STOPPED},
    Do.HEALTH: {Why.HEALTH},
}


class _Audit:
    """Walks through a record in order and notes what is wrong."""

    def __init__(self, plan: Plan, count_in_ms: int) -> None:
        self.plan = plan
        self.clock = _Clock(count_in_ms)
        self.visit: _Visit | None = None
        self.visits = 0
        self.closed = 0
        self.open = False
        self.stamp_ms = 0
        self.found: list[str] = []

    def wrong(self, text: str) -> None:
        self.found.append(f"{text} (at {self.clock.t_ms} ms, visit {self.visits})")

    def step(self, step: Step) -> None:
        if step.command is not None and not step.accepted:
            if step.events or step.before != step.after:
                self.wrong(f"8: {step.command} was refused and changed something")
            return
        if step.command is None and step.now_ms < step.before["t_ms"]:
            if step.events or step.before != step.after:
                self.wrong("13: an earlier time changed something")
            return
        self._legal(step)
        if step.command is not None:
            self.clock.take(step.command, step.now_ms)
        for event in step.events:
            self._event(event, step)
        if step.command is None:
            self.clock.move(step.now_ms)
        self._after(step)

    def _legal(self, step: Step) -> None:
        clock, command = self.clock, step.command
        moving = isinstance(command, (Do, Gap)) and command is not Do.REOPEN
        if clock.state == "ended" and moving:
            self.wrong(f"8: {command} was taken after the end")
        if command is Do.PAUSE and (clock.state == "paused" or clock.gate):
            self.wrong("8: a pause was taken while paused or at a gate")
        if command is Do.RESUME and clock.state != "paused":
            self.wrong("8: a resume was taken while not paused")

    # Events

    def _event(self, event: Event, step: Step) -> None:
        if event.t_ms < self.stamp_ms:
            self.wrong(f"3: the stamp of {event} lies before the one before it")
        if event.t_ms > max(step.now_ms, step.before["t_ms"]):
            self.wrong(f"3: {event} lies in the future")
        self.stamp_ms = event.t_ms
        self.clock.move(event.t_ms)
        match event:
            case VisitBegan(_, index, number):
                self._entered(index, number, step)
            case CueDue():
                self._cue(event)
            case RowClosed():
                self._row(event, step)
            case CountedIn(t_ms, seconds):
                due = self.clock.count_ends_ms - 1000 * seconds
                if self.clock.state != "count_in" or t_ms != due:
                    self.wrong("4: a count-in sounds where none runs")
            case LoopEnded():
                self._loop(event, step)
            case SessionEnded():
                self.clock.state = "ended"
            case PlanChanged():
                self._layout(step)

    def _entered(self, index: int, number: int, step: Step) -> None:
        if self.open:
            self.wrong("9: a visit began while another was open")
        self.open = True
        self.visits += 1
        if number != self.visits:
            self.wrong("9: a visit has the wrong number")
        track = step.before["track"] if step.command is None else step.after["track"]
        self.clock.gate = self.plan.segments[index].until_key
        self.visit = _Visit(number, index, self.clock.active_ms, track, None)

    def _offset_ms(self) -> int:
        return self.clock.active_ms - self.visit.start_active_ms

    def _cue(self, event: CueDue) -> None:
        visit, cue = self.visit, Cue(event.at_ms, event.cue)
        if not self.clock.runs or not self.open:
            self.wrong(f"4: {cue} sounds while paused, at a gate, or outside a visit")
        if event.at_ms != self._offset_ms():
            self.wrong(f"7: {cue} sounds {self._offset_ms()} ms into its visit")
        if cue in visit.fired:
            self.wrong(f"2: {cue} sounds twice in one visit")
        if cue not in visit.cues() or event.visit != visit.number:
            self.wrong(f"2: {cue} is no cue of this visit")
        if visit.fired:
            last = visit.fired[-1]
            if cue.at_ms < last.at_ms:
                self.wrong(f"3: {cue} sounds after {last}")
            elif cue.at_ms < last.at_ms + LENGTH_MS[last.cue]:
                self.wrong(f"3: {cue} sounds over {last}")
        visit.fired.append(cue)

    def _missing(self, *, to_the_end: bool) -> None:
        """Cues of the present layout that should have sounded by now."""
        visit, now_ms = self.visit, self._offset_ms()
        for cue in visit.cues():
            due = visit.from_ms <= cue.at_ms < now_ms
            due = due or (to_the_end and visit.from_ms <= cue.at_ms == now_ms)
            if due and cue not in visit.fired and not _covered(cue, visit.fired_before):
                self.wrong(f"2: {cue} did not sound")

    def _row(self, event: RowClosed, step: Step) -> None:
        row, visit = event.row, self.visit
        segment = self.plan.segments[visit.index]
        by_itself = step.command is None
        self._missing(to_the_end=by_itself)
        self.open = False
        self.closed += 1
        if (row.t_ms, row.visit, row.segment) != (
            event.t_ms,
            visit.number,
            visit.index,
        ):
            self.wrong("9: a row does not belong to its visit")
        if (row.kind, row.loop, row.station, row.part) != (
            segment.kind,
            segment.loop,
            segment.station,
            segment.part,
        ):
            self.wrong("9: a row does not belong to its segment")
        if row.ms != self._offset_ms():
            self.wrong(f"7: a row says {row.ms} ms, the clock {self._offset_ms()} ms")
        if row.plan_ms != segment.duration_ms or row.set_ms != visit.length_ms:
            self.wrong("9: a row has the wrong planned or set length")
        if row.ms > row.set_ms or (row.why is Why.FULL and row.ms != row.set_ms):
            self.wrong(f"9: a row of {row.ms} ms in a segment of {row.set_ms} ms")
        wanted = {Why.LEFT if visit.cut_ms is not None else Why.FULL}
        if not by_itself:
            wanted = _WHYS.get(step.command, set())
        if row.why not in wanted:
            self.wrong(f"9: a row is marked {row.why}")

    def _loop(self, event: LoopEnded, step: Step) -> None:
        rows = [
            r
            for r in step.after["rows"]
            if r.t_ms <= event.t_ms
            and r.loop == event.loop
            and r.kind is SegmentKind.WORK
        ]
        best: dict[int, int] = {}
        for row in rows:
            best[row.segment] = max(best.get(row.segment, 0), min(row.ms, row.plan_ms))
        planned = sum(
            s.duration_ms
            for s in self.plan.segments
            if s.loop == event.loop and s.kind is SegmentKind.WORK
        )
        if event.worked != any(best.values()):
            self.wrong("9: a loop says wrongly whether there was work in it")
        if event.partial != (sum(best.values()) < planned):
            self.wrong("9: a loop says wrongly whether it is partial")

    # After each step

    def _after(self, step: Step) -> None:
        clock, after, before = self.clock, step.after, step.before
        active = after["t_ms"] - after["paused_ms"] - after["gated_ms"]
        told = (after["t_ms"], active, after["paused_ms"], after["gated_ms"])
        if told != (clock.t_ms, clock.active_ms, clock.paused_ms, clock.gated_ms):
            self.wrong(f"1: elapsed, active, paused, gated are {told}")
        if clock.active_ms + clock.paused_ms + clock.gated_ms != clock.t_ms:
            self.wrong("1: the buckets do not add up to the elapsed time")
        if step.next_due is not None and step.next_due <= after["t_ms"]:
            self.wrong("5: something due remains")
        if clock.state == "ended" and step.next_due is not None:
            self.wrong("15: something is due after the end")
        expected = after["visit"] - (after["mode"] is not Mode.ENDED)
        if len(after["rows"]) != self.closed or self.closed != expected:
            self.wrong("9: rows are not visits - 1")
        for grown in ("rows", "entries"):
            if after[grown][: len(before[grown])] != before[grown]:
                self.wrong(f"10: {grown} were rewritten")
        if isinstance(step.command, Gap):
            self._gap(step)
        told = after["track"], after["cut_ms"]
        if self.open and told != (self.visit.track, self.visit.cut_ms):
            self.wrong("3: the plan changed and nobody was told")

    def _gap(self, step: Step) -> None:
        moved = {k for k, v in step.after.items() if v != step.before[k]}
        if step.events or moved - {"mode", "after_gap"}:
            self.wrong(f"14: a gap moved {sorted(moved)}")

    def _layout(self, step: Step) -> None:
        """Note that the cues of the open visit are others from here on."""
        visit = self.visit
        self._missing(to_the_end=False)
        visit.fired_before = tuple(visit.fired)
        visit.from_ms = self._offset_ms()
        visit.track, visit.cut_ms = step.after["track"], step.after["cut_ms"]

    def end(self) -> None:
        if self.open:
            self._missing(to_the_end=self.clock.runs)


def _covered(cue: Cue, fired: tuple[Cue, ...]) -> bool:
    """Whether a tone that sounds already leaves no room for this one."""
    return any(
        other.at_ms <= cue.at_ms < other.at_ms + LENGTH_MS[other.cue] for other in fired
    )
