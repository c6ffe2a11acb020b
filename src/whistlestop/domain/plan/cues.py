"""Which cue sounds where: a pure function of a segment and its neighbours.

A cue stands in the segment in which it sounds. Where two would sound over each
other the lesser one is left out. Voice and pacing are not known here.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from enum import StrEnum
from typing import Final

from whistlestop.dataclass import dataclass
from whistlestop.domain.plan.plan import AT_STATION, Segment, SegmentKind


class CueName(StrEnum):
    """The cues of a plan, and the two that answer a key."""

    COUNT = "count"
    GO = "go"
    SWITCH = "switch"
    TEN = "ten"
    STATION_END = "station_end"
    LOOP_END = "loop_end"
    SESSION_END = "session_end"
    PAUSE = "pause"
    RESUME = "resume"
    EFFORT = "effort"


# How long each cue sounds, in ms: what a collision is judged by. The sound
# package proves its tones against this table.
LENGTH_MS: Final = {
    CueName.COUNT: 90,
    CueName.GO: 520,
    CueName.SWITCH: 660,
    CueName.TEN: 230,
    CueName.STATION_END: 630,
    CueName.LOOP_END: 660,
    CueName.SESSION_END: 1030,
    CueName.PAUSE: 470,
    CueName.RESUME: 600,
    CueName.EFFORT: 600,
}

# Greater first. Ends and starts tell what to do now, so they win over warnings.
_RANK: Final = (
    CueName.SESSION_END,
    CueName.SWITCH,
    CueName.GO,
    CueName.LOOP_END,
    CueName.STATION_END,
    CueName.COUNT,
    CueName.TEN,
    CueName.EFFORT,
)

COUNT_MS: Final = (3000, 2000, 1000)
TEN_MS: Final = 10_000
TEN_FROM_MS: Final = 15_000
EFFORT_AFTER_MS: Final = 2_000
EFFORT_FROM_MS: Final = 10_000

_BEFORE_WORK: Final = frozenset(
    {
        SegmentKind.GET_READY,
        SegmentKind.WARM_UP,
        SegmentKind.RECOVER,
        SegmentKind.LOOP_BREAK,
    }
)
_RESTS: Final = frozenset({SegmentKind.RECOVER, SegmentKind.LOOP_BREAK})


@dataclass(frozen=True, slots=True, order=True)
class Cue:
    """A cue at `at_ms` after the start of its segment."""

    at_ms: int
    cue: CueName


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What a segment needs to know of its neighbours to place its cues.

    `ends_loop`: this work segment is the last of its loop. `after_loop`: the
    work before this segment was. `asks_effort`: this rest is where the effort
    of the loop is asked.
    """

    before: Segment | None = None
    after: Segment | None = None
    ends_loop: bool = False
    after_loop: bool = False
    asks_effort: bool = False


def surroundings(segments: Sequence[Segment], index: int) -> Surroundings:
    """Look round one segment of a timeline."""
    segment = segments[index]
    before = segments[index - 1] if index else None
    after = segments[index + 1] if index + 1 < len(segments) else None
    return Surroundings(
        before=before,
        after=after,
        ends_loop=segment.kind is SegmentKind.WORK and _ends_loop(segments, index),
        after_loop=before is not None
        and before.kind is SegmentKind.WORK
        and _ends_loop(segments, index - 1),
        asks_effort=_asks_effort(segments, index),
    )


def _ends_loop(segments: Sequence[Segment], index: int) -> bool:
    loop = segments[index].loop
    for later in segments[index + 1 :]:
        if later.loop != loop:
            return True
        if later.kind is SegmentKind.WORK:
            return False
    return True


def _asks_effort(segments: Sequence[Segment], index: int) -> bool:
    segment = segments[index]
    if segment.kind not in _RESTS or segment.until_key:
        return False
    if segment.duration_ms < EFFORT_FROM_MS:
        return False
    for back in range(index - 1, -1, -1):
        earlier = segments[back]
        if earlier.kind is SegmentKind.WORK:
            return earlier.loop == segment.loop and _ends_loop(segments, back)
        asked = earlier.kind in _RESTS and not earlier.until_key
        if asked and earlier.duration_ms >= EFFORT_FROM_MS:
            return False
    return False


def segment_cues(
    segment: Segment, near: Surroundings, duration_ms: int | None = None
) -> tuple[Cue, ...]:
    """List the cues of one segment, in order of time.

    Args:
        segment: The segment; a gate never has a cue.
        near: What stands round it.
        duration_ms: Its length now, where it differs from the plan.
    """
    if segment.until_key:
        return ()
    length = segment.duration_ms if duration_ms is None else duration_ms
    wanted = list(_opening(segment, near))
    wanted += _warnings(segment, near, length)
    wanted += _closing(segment, near, length)
    return _without_collisions(cue for cue in wanted if 0 <= cue.at_ms <= length)


def _opening(segment: Segment, near: Surroundings) -> Iterable[Cue]:
    before = near.before.kind if near.before else None
    from_work = before is SegmentKind.WORK
    if segment.kind is SegmentKind.WORK:
        same = near.before is not None and near.before.place == segment.place
        switched = same and before in AT_STATION and not _has_own_switch(near.before)
        yield Cue(0, CueName.SWITCH if switched else CueName.GO)
    elif segment.kind is SegmentKind.CHANGEOVER:
        if _has_own_switch(segment):
            yield Cue(0, CueName.SWITCH)
    elif from_work:
        yield Cue(0, CueName.LOOP_END if near.after_loop else CueName.STATION_END)
    elif before is segment.kind or segment.kind is SegmentKind.COOL_DOWN:
        if before is not None:
            yield Cue(0, CueName.SWITCH)
    elif before is SegmentKind.WARM_UP:
        yield Cue(0, CueName.STATION_END)


def _has_own_switch(segment: Segment | None) -> bool:
    """A changeover of a few ms is only a rounding: the next part takes the cue."""
    return (
        segment is not None
        and segment.kind is SegmentKind.CHANGEOVER
        and segment.duration_ms >= 1000
    )


def _warnings(segment: Segment, near: Surroundings, length: int) -> Iterable[Cue]:
    if segment.kind is SegmentKind.WORK and length >= TEN_FROM_MS:
        yield Cue(length - TEN_MS, CueName.TEN)
    counts = segment.kind in _BEFORE_WORK
    if counts and near.after is not None and near.after.kind is SegmentKind.WORK:
        for left in COUNT_MS:
            yield Cue(length - left, CueName.COUNT)
    if near.asks_effort and length >= EFFORT_FROM_MS:
        yield Cue(EFFORT_AFTER_MS, CueName.EFFORT)


def _closing(segment: Segment, near: Surroundings, length: int) -> Iterable[Cue]:
    if near.after is None:
        yield Cue(length, CueName.SESSION_END)
    elif segment.kind is SegmentKind.WORK and near.after.until_key:
        # Nothing sounds while a gate is open, so the end is announced before it.
        end = CueName.LOOP_END if near.ends_loop else CueName.STATION_END
        yield Cue(length, end)


def _without_collisions(wanted: Iterable[Cue]) -> tuple[Cue, ...]:
    kept: list[Cue] = []
    for cue in sorted(wanted, key=lambda cue: (_RANK.index(cue.cue), cue.at_ms)):
        if not any(collide(cue, other) for other in kept):
            kept.append(cue)
    return tuple(sorted(kept))


def collide(one: Cue, other: Cue) -> bool:
    """Whether two cues of one segment would sound over each other."""
    first, second = (one, other) if one.at_ms <= other.at_ms else (other, one)
    return second.at_ms < first.at_ms + LENGTH_MS[first.cue]
