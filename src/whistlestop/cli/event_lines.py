"""One line of plain words for each event: for readers, pipes and bare terminals."""

from __future__ import annotations

from whistlestop.domain.duration import clock, exact
from whistlestop.domain.plan.cues import CueName
from whistlestop.domain.plan.plan import Segment, SegmentKind
from whistlestop.domain.sites import side_and_site
from whistlestop.engine.commands import (
    EnterCount,
    EnterDiscomfort,
    EnterEffort,
    EnterLoad,
    EnterNote,
    EnterSessionEffort,
    EnterSkipReason,
    EnterVariant,
)
from whistlestop.engine.events import (
    ClockAnswered,
    CountedIn,
    CueDue,
    Ending,
    EntryTaken,
    Event,
    LoopEnded,
    SessionEnded,
    SessionReopened,
    VisitBegan,
)
from whistlestop.engine.so_far import SessionSoFar

_CUE_WORDS = {
    CueName.TEN: "ten seconds left",
    CueName.EFFORT: "how hard was that loop? 0 to 10",
    CueName.PAUSE: "paused",
    CueName.RESUME: "the clock runs again",
}
_ENDINGS = {
    Ending.COMPLETE: "done",
    Ending.STOPPED: "stopped",
    Ending.HEALTH: "ended by health stop",
}


def tell(session: SessionSoFar, event: Event) -> str | None:
    """Say one event, with its elapsed time in front; None if it needs no line."""
    words = _wording(session, event)
    return None if words is None else f"{clock(event.t_ms)} {words}"


def _wording(session: SessionSoFar, event: Event) -> str | None:
    match event:
        case VisitBegan(segment=index):
            return _entered(session, index)
        case CueDue(cue=CueName.COUNT):
            return None
        case CueDue(cue=cue) | ClockAnswered(cue=cue):
            return _CUE_WORDS.get(cue)
        case CountedIn(seconds_left=left):
            return f"{left}"
        case LoopEnded(loop=loop, partial=partial, worked=worked):
            mark = " (partial)" if partial and worked else ""
            none = "" if worked else " without work"
            return f"loop {loop} over{mark}{none}"
        case EntryTaken():
            return taken_text(event)
        case SessionEnded(why=why):
            return _ENDINGS[why]
        case SessionReopened():
            return "reopened, paused"
        case _:
            return None


def _entered(session: SessionSoFar, index: int) -> str | None:
    segment = session.track.segment(index)
    length = exact(session.track.length_ms(index))
    match segment.kind:
        case SegmentKind.WORK:
            return f"work: {_station(session, segment)}, {length}"
        case SegmentKind.CHANGEOVER:
            if segment.duration_ms < 1000:
                return None
            coming = session.track.next_work(index)
            part = session.track.segment(coming).part if coming is not None else None
            return f"switch, {length}: {part or 'next part'} next"
        case SegmentKind.HOLD:
            return f"wait before {_station(session, segment)}: press Enter when ready"
        case SegmentKind.LOOP_BREAK if segment.until_key:
            return "loop break until a key: press Enter to go on"
        case SegmentKind.GET_READY:
            return f"get ready, {length}{_coming(session, index)}"
        case SegmentKind.RECOVER | SegmentKind.LOOP_BREAK:
            word = "recover" if segment.kind is SegmentKind.RECOVER else "loop break"
            drill = f": {segment.drill_name}" if segment.drill_name else ""
            return f"{word}, {length}{drill}{_coming(session, index)}"
        case _:
            word = "warm-up" if segment.kind is SegmentKind.WARM_UP else "cool-down"
            return f"{word}: {segment.exercise_name}, {length}"


def _station(session: SessionSoFar, segment: Segment) -> str:
    count = len(session.plan.stations)
    words = [
        f"{segment.exercise_name}",
        f"station {segment.station} of {count}",
        f"loop {segment.loop} of {session.plan.loops}",
    ]
    if segment.part:
        words.insert(1, segment.part)
    if segment.load:
        words.insert(1, segment.load)
    return ", ".join(words)


def _coming(session: SessionSoFar, index: int) -> str:
    coming = session.track.next_work(index)
    if coming is None:
        return ""
    segment = session.track.segment(coming)
    side = f", {segment.part} first" if segment.part else ""
    load = f", {segment.load}" if segment.load else ""
    return f"; next: {segment.exercise_name}{side}{load}"


def taken_text(taken: EntryTaken) -> str:
    """Say what was typed in, and of what."""
    match taken.entry:
        case EnterEffort(loop, effort):
            text = f"{effort} ({effort.word})" if effort else "removed"
            return f"effort for loop {loop}: {text}"
        case EnterSessionEffort(effort):
            text = f"{effort} ({effort.word})" if effort else "removed"
            return f"effort for the session: {text}"
        case EnterNote():
            return "note saved"
        case EnterDiscomfort(site, side, level):
            where = side_and_site(site, side)
            return f"discomfort noted: {where}, {level}: saved"
        case EnterCount(count):
            drill = "the drill after " if taken.entry.drill else ""
            return f"count {count} for {drill}station {taken.station}"
        case EnterLoad(load):
            return f"load {load} for station {taken.station}"
        case EnterVariant(variant):
            return f"station {taken.station}: {variant} version"
        case EnterSkipReason(reason):
            return f"station {taken.station} skipped: {reason}"
