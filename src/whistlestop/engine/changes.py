"""What commands make of the way ahead: pure functions from track to track.

Each refuses what would leave the ranges of a circuit; none knows the time or the
mode.
"""

from __future__ import annotations

from typing import Final

from whistlestop.domain.circuit.circuit import MAX_REST_MS, MAX_WORK_MS, MIN_PART_MS
from whistlestop.domain.plan.plan import SegmentKind
from whistlestop.engine.commands import SwapExercise
from whistlestop.engine.track import Track
from whistlestop.errors import CommandRejected

COUNT_MS: Final = 3_000
MIN_LEFT_MS: Final = 1_000


def resize_rest(track: Track, index: int, offset_ms: int, step_ms: int) -> Track:
    """Make one rest longer or shorter; a whole count must still fit.

    Raises:
        CommandRejected: There is no room.
    """
    return _resized(track, (index,), step_ms, offset_ms + COUNT_MS, MAX_REST_MS)


def resize_station(track: Track, index: int, offset_ms: int, step_ms: int) -> Track:
    """Make every part of a station longer or shorter, so that they stay equal.

    Raises:
        CommandRejected: The first part is over, or there is no room.
    """
    parts = track.work_of_station(index)
    if index != parts[0]:
        raise CommandRejected(
            "too late: the first side is done, and both must be equal"
        )
    least = max(MIN_PART_MS, offset_ms + MIN_LEFT_MS)
    return _resized(track, parts, step_ms, least, MAX_WORK_MS)


def _resized(
    track: Track, parts: tuple[int, ...], step_ms: int, least_ms: int, most_ms: int
) -> Track:
    lengths = {i: track.length_ms(i) + step_ms for i in parts}
    if any(not least_ms <= length <= most_ms for length in lengths.values()):
        raise CommandRejected("no room for 10 s less or more")
    return track.resized(lengths)


def to_next_work(track: Track, index: int) -> Track:
    """Leave out what lies between a rest and the next work, or the hold before it."""
    coming = track.next_work(index)
    if coming is None:
        return track
    station = track.of_station(coming)
    return track.without(
        i for i in track.after(index) if i < coming and i not in station
    )


def drop_coming(track: Track, index: int) -> tuple[Track, tuple[int, ...]]:
    """Take the coming station out of its loop; also what was taken.

    Raises:
        CommandRejected: None is coming, or it is the last of its loop.
    """
    coming = track.next_work(index)
    if coming is None:
        raise CommandRejected("no station is coming")
    station = track.of_station(coming)
    others = [
        i
        for i in track.of_loop(track.segment(coming).loop or 0)
        if i not in station and track.segment(i).kind is SegmentKind.WORK
    ]
    if not others:
        raise CommandRejected("it is the only station left in its loop")
    return track.without(station), station


def drop_loop(track: Track, index: int, loop: int) -> Track:
    """Take out the rest of a loop up to its break.

    Without a break the last recovery of the loop serves as one.
    """
    later = [i for i in track.of_loop(loop) if i > index]
    kept = [i for i in later if track.segment(i).kind is SegmentKind.LOOP_BREAK]
    if not kept and later and track.segment(later[-1]).kind is SegmentKind.RECOVER:
        kept = [later[-1]]
    return track.without(i for i in later if i not in kept)


def drop_next_loop(track: Track, index: int) -> tuple[Track, int]:
    """Take out the whole loop that comes; also its number.

    Raises:
        CommandRejected: None comes.
    """
    coming = track.next_work(index)
    loop = None if coming is None else track.segment(coming).loop
    if loop is None:
        raise CommandRejected("no loop is left to drop")
    return track.without(track.of_loop(loop)), loop


def swap_ahead(track: Track, index: int, swap: SwapExercise) -> Track:
    """Let a station be done as something else from where it comes next.

    Raises:
        CommandRejected: It does not come any more.
    """
    for ahead in (index, *track.after(index)):
        segment = track.segment(ahead)
        if segment.kind is SegmentKind.WORK and segment.station == swap.station:
            # A hold waits for the station, so it shows the new name as well.
            return track.swapped(min(track.of_station(ahead)), swap)
    raise CommandRejected("that station does not come up again")
