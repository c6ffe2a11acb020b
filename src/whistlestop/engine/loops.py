"""Which loops are over, and what was done in them: a fold over rows."""

from __future__ import annotations

from collections.abc import Sequence

from whistlestop.domain.plan.plan import Plan, SegmentKind
from whistlestop.engine.events import LoopEnded, Row
from whistlestop.engine.totals import totals
from whistlestop.engine.track import Track


def settled(
    track: Track,
    rows: Sequence[Row],
    known: Sequence[LoopEnded],
    *,
    here: int,
    t_ms: int,
) -> tuple[tuple[LoopEnded, ...], tuple[LoopEnded, ...]]:
    """Say which loops are over when the session stands at `here`, and which newly.

    A loop is over when it has begun and none of its live work lies at `here` or
    after; one that is entered again is not over any more. An index past the last
    segment stands for the end.
    """
    ended = [e for e in known if not track.work_left_in_loop(e.loop, here)]
    numbers = {event.loop for event in ended}
    fresh = [
        ended_loop(track.plan, rows, loop, t_ms)
        for loop in _begun(track.plan, rows, here)
        if loop not in numbers and not track.work_left_in_loop(loop, here)
    ]
    return (*ended, *fresh), tuple(fresh)


def ended_loop(plan: Plan, rows: Sequence[Row], loop: int, t_ms: int) -> LoopEnded:
    """The end of a loop: whether it is partial, and whether any work was done."""
    done_ms = totals(row for row in rows if row.loop == loop).best_work_ms
    planned_ms = sum(
        s.duration_ms
        for s in plan.segments
        if s.loop == loop and s.kind is SegmentKind.WORK
    )
    return LoopEnded(t_ms, loop, partial=done_ms < planned_ms, worked=done_ms > 0)


def _begun(plan: Plan, rows: Sequence[Row], here: int) -> list[int]:
    begun = {row.loop for row in rows if row.loop is not None}
    present = plan.segments[here].loop if here < len(plan.segments) else None
    return sorted(begun if present is None else begun | {present})
