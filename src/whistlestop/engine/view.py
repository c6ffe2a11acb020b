"""What can be seen of a session at one moment: a frozen value for any screen.

It holds facts, not words or colours; two equal views need no repaint.
"""

from __future__ import annotations

from whistlestop.dataclass import dataclass
from whistlestop.domain.effort import Effort
from whistlestop.domain.plan.plan import AT_STATION, Segment, SegmentKind, StationCard
from whistlestop.engine.events import Ending
from whistlestop.engine.so_far import SessionSoFar
from whistlestop.engine.states import GATES, Mode, place_of
from whistlestop.engine.totals import totals


@dataclass(frozen=True, slots=True)
class Next:
    """The station that comes: its card, first part, load, and loop.

    `is_new` is whether it has not been done in this session, as it now is.
    """

    card: StationCard
    loop: int
    part: str | None
    load: str | None
    load_changes: bool
    is_new: bool = False


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


def view(session: SessionSoFar) -> View:
    """What can be seen of a session where it stands."""
    segment, index, track = session.segment, session.index, session.track
    ended = session.mode is Mode.ENDED
    length = session.visit_length_ms
    left = 0 if ended else max(0, length - session.offset_ms)
    plan_left = 0 if ended else left + track.left_after_ms(index)
    total = max(1, plan_left + session.active_ms)
    rated = [event for event in session.loops_ended if event.worked]
    loop = rated[-1].loop if rated else None
    efforts = totals(entries=session.entries).efforts
    return View(
        mode=session.mode,
        kind=segment.kind,
        at_gate=place_of(segment) in GATES,
        visit=session.visit,
        left_ms=left,
        length_ms=length,
        count_left_ms=session.count_left_ms if session.mode is Mode.COUNT_IN else 0,
        waited_ms=session.waited_ms,
        loop=segment.loop,
        loops=session.plan.loops,
        station=segment.station,
        stations=tuple(card.number for card in session.plan.stations),
        done=_done(session),
        card=track.card(index) if segment.station else None,
        item_name=segment.exercise_name,
        part=_part(session, segment),
        parts=_parts(session, segment),
        load=segment.load,
        drill=segment.drill,
        drill_name=segment.drill_name,
        coming=_coming(session),
        elapsed_ms=session.t_ms,
        paused_ms=session.paused_ms,
        plan_left_ms=plan_left,
        plan_done_permille=1000 * (total - plan_left) // total,
        effort_loop=loop,
        effort=None if loop is None else efforts.get(loop),
        effort_partial=bool(rated) and rated[-1].partial,
        ending=session.ending,
        after_gap=session.after_gap,
    )


def _done(session: SessionSoFar) -> frozenset[int]:
    """Stations of the present loop with some work behind them."""
    loop, here = session.segment.loop, session.segment
    present = here.station if here.kind in AT_STATION else None
    return frozenset(
        row.station
        for row in session.rows
        if row.loop == loop
        and row.kind is SegmentKind.WORK
        and row.ms > 0
        and row.station is not None
        and row.station != present
    )


def _part(session: SessionSoFar, segment: Segment) -> str | None:
    if segment.kind is SegmentKind.CHANGEOVER:
        coming = session.track.next_work(session.index)
        return None if coming is None else session.track.segment(coming).part
    return segment.part


def _parts(session: SessionSoFar, segment: Segment) -> tuple[str, ...]:
    if segment.kind not in AT_STATION:
        return ()
    parts = (
        session.track.segment(i).part
        for i in session.track.work_of_station(session.index)
    )
    return tuple(part for part in parts if part is not None)


def _coming(session: SessionSoFar) -> Next | None:
    """The next station; while at one, the one after it."""
    track, index = session.track, session.index
    here = session.segment.place if session.segment.kind in AT_STATION else None
    for i in track.after(index):
        segment = session.track.segment(i)
        if segment.kind is SegmentKind.WORK and segment.place != here:
            assert segment.station is not None
            assert segment.loop is not None
            card = track.card(i)
            return Next(
                card=card,
                loop=segment.loop,
                part=segment.part,
                load=segment.load,
                load_changes=segment.load != _load_before(session, i),
                is_new=track.is_new(i),
            )
    return None


def _load_before(session: SessionSoFar, index: int) -> str | None:
    """The load of the same station in an earlier loop; else the card's own."""
    coming = session.track.segment(index)
    for i in session.track.before(index):
        segment = session.track.segment(i)
        same = segment.kind is SegmentKind.WORK and segment.station == coming.station
        if same and segment.loop != coming.loop:
            return segment.load
    return coming.load
