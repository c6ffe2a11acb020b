"""One line of plain words for each event of a session that several do together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from whistlestop.cli.event_lines import taken_text, tell
from whistlestop.domain.duration import clock, exact
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.engine.events import EntryTaken, Event, VisitBegan
from whistlestop.engine.so_far import SessionSoFar

_TOGETHER = frozenset({SegmentKind.WARM_UP, SegmentKind.COOL_DOWN})
_WORDS = {
    SegmentKind.WORK: "work",
    SegmentKind.CHANGEOVER: "switch",
    SegmentKind.RECOVER: "recover",
    SegmentKind.LOOP_BREAK: "loop break",
    SegmentKind.GET_READY: "get ready",
    SegmentKind.HOLD: "wait",
}


@dataclass(frozen=True, slots=True)
class AthleteInLines:
    """One of them: what to call them, and the session as it is for them."""

    name: str
    session: SessionSoFar


def tell_pair(people: Sequence[AthleteInLines], event: Event) -> str | None:
    """Say one event for all of them; None if it needs no line."""
    owner = people[0].session
    if isinstance(event, EntryTaken):
        athlete = event.entry.athlete
        name = next(p.name for p in people if p.session.athlete == athlete)
        return f"{clock(event.t_ms)} {name}: {taken_text(event)}"
    if not isinstance(event, VisitBegan):
        return tell(owner, event)
    segment = owner.track.segment(event.segment)
    if segment.kind in _TOGETHER:
        return tell(owner, event)
    length = owner.track.length_ms(event.segment)
    if segment.kind is SegmentKind.CHANGEOVER and length < 1000:
        return None
    head = _WORDS[segment.kind]
    head += " until a key: press Enter" if segment.until_key else f", {exact(length)}"
    if segment.kind is SegmentKind.WORK:
        head += f", loop {segment.loop} of {owner.plan.loops}"
    details = [
        f"{p.name}: {words}" for p in people if (words := _own(p, event.segment))
    ]
    return f"{clock(event.t_ms)} {'. '.join([head, *details])}"


def _own(person: AthleteInLines, index: int) -> str:
    """What one does in a segment, or what comes for them."""
    track = person.session.track
    segment = track.segment(index)
    if segment.kind in (SegmentKind.WORK, SegmentKind.HOLD):
        here = f"station {segment.station}"
        words = [segment.exercise_name, segment.part, segment.load, here]
        return ", ".join(filter(None, words))
    coming = track.next_work(index)
    after = None if coming is None else track.segment(coming)
    if segment.kind is SegmentKind.CHANGEOVER:
        return after.part or "the same again" if after else ""
    side = f"{after.part} first" if after and after.part else ""
    ahead = [f"next {after.exercise_name}", side, after.load or ""] if after else []
    drill = [segment.drill_name] if segment.drill_name else []
    return "; ".join(filter(None, [*drill, ", ".join(filter(None, ahead))]))
