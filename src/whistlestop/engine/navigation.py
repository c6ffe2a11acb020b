"""Where a command leads on a track, and why the visit before it ends there."""

from __future__ import annotations

from typing import Final

from whistlestop.engine.events import Row, Why
from whistlestop.engine.states import Act
from whistlestop.engine.track import Track

BACK_WINDOW_MS: Final = 3_000


def navigation_target(
    track: Track, here: int, act: Act, offset_ms: int
) -> tuple[int | None, Why]:
    """The segment a command leads to, None for the end, and why this visit ends.

    Args:
        track: The way as it is now.
        here: Where the session stands.
        act: An act that moves.
        offset_ms: How long it has stood there, pauses left out.
    """
    match act:
        case Act.LEAVE:
            return track.next_index(here), Why.LEFT
        case Act.LEAVE_STATION:
            return track.past_station(here), Why.SKIPPED
        case Act.RESTART:
            return here, Why.RESTARTED
        case Act.RESTART_STATION:
            return track.work_of_station(here)[0], Why.RESTARTED
        case Act.PART_BEFORE:
            return track.last_work(here), Why.LEFT
        case Act.BACK_OR_RESTART:
            earlier = track.last_work(here)
            if offset_ms > BACK_WINDOW_MS or earlier is None:
                return here, Why.RESTARTED
            return earlier, Why.LEFT
        case _:
            earlier = track.last_work(here)
            if earlier is None:
                earlier = next(track.before(here), here)
            return earlier, Why.RESTARTED if earlier == here else Why.LEFT


def closed_row(
    track: Track, here: int, *, t_ms: int, visit: int, ms: int, why: Why
) -> Row:
    """The row of a visit that ends now, after `ms` without pauses."""
    segment = track.segment(here)
    return Row(
        t_ms=t_ms,
        segment=here,
        visit=visit,
        kind=segment.kind,
        loop=segment.loop,
        station=segment.station,
        part=segment.part,
        exercise=segment.exercise,
        load=segment.load,
        ms=ms,
        plan_ms=segment.duration_ms,
        set_ms=track.length_ms(here),
        why=why,
    )
