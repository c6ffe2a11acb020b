"""What can be seen of a session at one moment: a frozen value for any screen.

It holds facts, not words or colours; two equal views need no repaint.
"""

from __future__ import annotations

from dataclasses import dataclass

from whistlestop.domain.effort import Effort
from whistlestop.domain.plan.plan import AT_STATION, Segment, SegmentKind, StationCard
from whistlestop.engine.engine import Engine
from whistlestop.engine.events import Ending
from whistlestop.engine.states import Mode


@dataclass(frozen=True, slots=True)
class Next:
    """The station that comes: its card, first part, load, and loop."""

    card: StationCard
    loop: int
    part: str | None
    load: str | None
    load_changes: bool


@dataclass(frozen=True, slots=True)
class View:
    """A session at one moment. Times in ms.

    `left_ms` is what is left of the present segment, `plan_left_ms` of all that
    comes, gates as nothing; `waited_ms` is how long it has stood at this gate. `part`
    is the side or share being worked, in a changeover the one that comes; `parts` are
    all of this station in order.
    """

    mode: Mode
    kind: SegmentKind
    at_gate: bool
    visit: int
    left_ms: int
    length_ms: int
    count_left_ms: int
    waited_ms: int
    loop: int | None
    loops: int
    station: int | None
    stations: tuple[int, ...]
    done: frozenset[int]
    card: StationCard | None
    item_name: str | None
    part: str | None
    parts: tuple[str, ...]
    load: str | None
    drill: str | None
    drill_name: str | None
    coming: Next | None
    elapsed_ms: int
    paused_ms: int
    plan_left_ms: int
    plan_done_permille: int
    effort_loop: int | None
    effort: Effort | None
    effort_partial: bool
    ending: Ending | None
    after_gap: bool


def view(engine: Engine, now_ms: int | None = None) -> View:
    """Look at a session at `now_ms` elapsed, or where it stands."""
    if now_ms is not None and now_ms > engine.t_ms:
        engine = engine.fork()
        engine.advance(now_ms)
    segment, index, track = engine.segment, engine.index, engine.track
    ended = engine.mode is Mode.ENDED
    length = engine.visit_length_ms
    left = 0 if ended else max(0, length - engine.offset_ms)
    plan_left = 0 if ended else left + track.left_after_ms(index)
    total = max(1, plan_left + engine.active_ms)
    rated = [event for event in engine.loops_ended if event.worked]
    text = engine.effort_of(rated[-1].loop) if rated else None
    return View(
        mode=engine.mode,
        kind=segment.kind,
        at_gate=engine.at_gate,
        visit=engine.visit,
        left_ms=left,
        length_ms=length,
        count_left_ms=engine.count_left_ms if engine.mode is Mode.COUNT_IN else 0,
        waited_ms=engine.waited_ms,
        loop=segment.loop,
        loops=engine.plan.loops,
        station=segment.station,
        stations=tuple(card.number for card in engine.plan.stations),
        done=_done(engine),
        card=track.card(index) if segment.station else None,
        item_name=segment.exercise_name,
        part=_part(engine, segment),
        parts=_parts(engine, segment),
        load=segment.load,
        drill=segment.drill,
        drill_name=segment.drill_name,
        coming=_coming(engine),
        elapsed_ms=engine.t_ms,
        paused_ms=engine.paused_ms,
        plan_left_ms=plan_left,
        plan_done_permille=1000 * (total - plan_left) // total,
        effort_loop=rated[-1].loop if rated else None,
        effort=text.effort if text else None,
        effort_partial=bool(rated) and rated[-1].partial,
        ending=engine.ending,
        after_gap=engine.after_gap,
    )


def _done(engine: Engine) -> frozenset[int]:
    """Stations of the present loop with some work behind them."""
    loop, here = engine.segment.loop, engine.segment
    present = here.station if here.kind in AT_STATION else None
    return frozenset(
        row.station
        for row in engine.rows
        if row.loop == loop
        and row.kind is SegmentKind.WORK
        and row.ms > 0
        and row.station is not None
        and row.station != present
    )


def _part(engine: Engine, segment: Segment) -> str | None:
    if segment.kind is SegmentKind.CHANGEOVER:
        coming = engine.track.next_work(engine.index)
        return None if coming is None else engine.track.segment(coming).part
    return segment.part


def _parts(engine: Engine, segment: Segment) -> tuple[str, ...]:
    if segment.kind not in AT_STATION:
        return ()
    parts = (
        engine.track.segment(i).part for i in engine.track.work_of_station(engine.index)
    )
    return tuple(part for part in parts if part is not None)


def _coming(engine: Engine) -> Next | None:
    """The next station; while at one, the one after it."""
    track, index = engine.track, engine.index
    here = engine.segment.place if engine.segment.kind in AT_STATION else None
    for i in track.after(index):
        segment = engine.track.segment(i)
        if segment.kind is SegmentKind.WORK and segment.place != here:
            assert segment.station is not None
            assert segment.loop is not None
            card = track.card(i)
            return Next(
                card=card,
                loop=segment.loop,
                part=segment.part,
                load=segment.load,
                load_changes=segment.load != _load_before(engine, i),
            )
    return None


def _load_before(engine: Engine, index: int) -> str | None:
    """The load of the same station in an earlier loop; else the card's own."""
    coming = engine.track.segment(index)
    for i in engine.track.before(index):
        segment = engine.track.segment(i)
        same = segment.kind is SegmentKind.WORK and segment.station == coming.station
        if same and segment.loop != coming.loop:
            return segment.load
    return coming.load
