"""What may be typed in when, and which station or loop it belongs to."""

from __future__ import annotations

from whistlestop.domain.load import parse_load
from whistlestop.domain.plan.plan import AT_STATION, Segment, SegmentKind
from whistlestop.domain.tempo import parse_tempo
from whistlestop.domain.text import CALL_NAME_LIMIT, first_hostile, is_drawable
from whistlestop.engine.commands import (
    VARIANTS,
    AthleteEntry,
    EnterCount,
    EnterDiscomfort,
    EnterEffort,
    EnterLoad,
    EnterNote,
    EnterSessionEffort,
    EnterSkipReason,
    EnterVariant,
    SwapExercise,
)
from whistlestop.engine.events import Why
from whistlestop.engine.so_far import SessionSoFar
from whistlestop.engine.states import Mode
from whistlestop.errors import CommandRejected

NOTE_LIMIT = 400
SITE_LIMIT = 40
TEXT_LIMIT = 80

Place = tuple[int | None, int | None]
"""The loop and the station that an entry belongs to; None where it has none."""


def judge_entry(session: SessionSoFar, entry: AthleteEntry) -> Place:
    """Say where an entry of this athlete belongs, or refuse it.

    Raises:
        CommandRejected: It is not legal now, or its text may not be kept.
    """
    if session.mode is Mode.READY:
        raise CommandRejected("the session has not begun")
    match entry:
        case EnterEffort(loop):
            _judge_effort(session, loop)
        case EnterSessionEffort():
            if session.mode is not Mode.ENDED:
                raise CommandRejected("the effort of the session is asked at its end")
        case EnterNote(text):
            _judge_text(text, NOTE_LIMIT)
        case EnterDiscomfort(site, side):
            _judge_text(site, SITE_LIMIT)
            _judge_text(side, SITE_LIMIT)
        case EnterLoad(load):
            _judge_text(load, SITE_LIMIT)
        case EnterVariant(variant):
            if variant not in VARIANTS:
                raise CommandRejected("a variant is easier or harder")
        case EnterSkipReason(reason):
            _judge_text(reason, SITE_LIMIT)
        case EnterCount():
            pass
    return _belongs_to(session, entry)


def judge_swap(swap: SwapExercise) -> None:
    """Let a swap pass or refuse it, by its texts alone.

    Raises:
        CommandRejected: A text is too long or may not be kept.
    """
    if not 0 < len(swap.call_name) <= CALL_NAME_LIMIT:
        raise CommandRejected("a call-name has 1 to 14 letters")
    if not is_drawable(swap.call_name):
        raise CommandRejected("a call-name is made of block letters")
    single = (swap.exercise, swap.name, swap.load or "", swap.tempo or "", swap.why)
    for text in (*single, *swap.cautions, *swap.kit):
        _judge_text(text, TEXT_LIMIT)
    try:
        if swap.load is not None:
            parse_load(swap.load)
        if swap.tempo is not None:
            parse_tempo(swap.tempo)
    except ValueError as error:
        raise CommandRejected(f"{error}") from None


def _judge_effort(session: SessionSoFar, loop: int) -> None:
    ended = [event for event in session.loops_ended if event.worked]
    if session.mode is Mode.ENDED:
        if loop not in {event.loop for event in ended}:
            raise CommandRejected(f"loop {loop} has no work in it")
    elif not ended or loop != ended[-1].loop:
        raise CommandRejected("only the loop that ended last can be rated now")


def _judge_text(text: str, limit: int) -> None:
    if len(text) > limit:
        raise CommandRejected(f"at most {limit} characters")
    if first_hostile(text):
        raise CommandRejected("control characters cannot be saved")


def _belongs_to(session: SessionSoFar, entry: AthleteEntry) -> Place:
    """Loop and station that an entry belongs to.

    A count belongs to the station just done, or to the drill of the recovery behind
    it; a load and a variant to the present station, or in a rest to the one just done.

    Raises:
        CommandRejected: No station, or no drill, has been done yet.
    """
    if isinstance(entry, EnterEffort):
        return entry.loop, None
    here = session.segment
    at_station = session.mode is not Mode.ENDED and here.kind in AT_STATION
    if isinstance(entry, EnterSkipReason):
        return _skipped_last(session)
    if isinstance(entry, EnterDiscomfort):
        return (here.loop, here.station) if at_station else (None, None)
    if not isinstance(entry, (EnterCount, EnterLoad, EnterVariant)):
        return None, None
    if isinstance(entry, EnterCount) and entry.drill:
        return _drill_last(session)
    if at_station and not isinstance(entry, EnterCount):
        return here.loop, here.station
    present = (here.loop, here.station) if at_station else None
    for row in reversed(session.rows):
        place = (row.loop, row.station)
        if row.kind is SegmentKind.WORK and row.ms > 0 and place != present:
            return place
    raise CommandRejected("no station has been done yet")


def drill_counted(session: SessionSoFar) -> Segment | None:
    """The recovery whose drill is being done, or else was done last, if any."""
    here = session.segment
    if session.mode is not Mode.ENDED and here.drill:
        return here
    done = (session.plan.segments[r.segment] for r in reversed(session.rows) if r.ms)
    return next((segment for segment in done if segment.drill), None)


def _drill_last(session: SessionSoFar) -> Place:
    if (segment := drill_counted(session)) is None:
        raise CommandRejected("no drill has been done yet")
    return segment.loop, segment.station


def _skipped_last(session: SessionSoFar) -> Place:
    """The station skipped last, on it or before it came.

    Raises:
        CommandRejected: None was skipped.
    """
    skipped = [row for row in session.rows if row.why is Why.SKIPPED]
    dropped_ms = session.drops[-1][0] if session.drops else -1
    if session.drops and (not skipped or dropped_ms >= skipped[-1].t_ms):
        segment = session.plan.segments[session.drops[-1][1][0]]
        return segment.loop, segment.station
    if not skipped:
        raise CommandRejected("no station has been skipped")
    return skipped[-1].loop, skipped[-1].station
